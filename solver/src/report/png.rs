//! A picture as pixels: the very SVG text, drawn with an embedded typeface. The only file that
//! names `resvg` and `dejavu`.
//!
//! No file is opened and no installed typeface is looked for, so the pixels are the same on every
//! machine.

use std::sync::{Arc, OnceLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb::Database};
use thiserror::Error;

use crate::report::picture::Picture;

/// Most pixels of a picture.
pub const MOST_PIXELS: u64 = 100_000_000;

/// Why a picture could not be turned into pixels.
#[derive(Debug, Error)]
pub enum PngError {
    /// More pixels than [`MOST_PIXELS`], or none.
    #[error("a picture of {width} x {height} pixels is out of range")]
    Size {
        /// Pixels across.
        width: f64,
        /// Pixels down.
        height: f64,
    },
    /// The SVG could not be read.
    #[error("could not draw the picture: {0}")]
    Draw(String),
}

/// The picture as PNG, `enlarge` pixels for every px of the SVG.
///
/// # Errors
/// [`PngError::Size`] where `enlarge` makes it too large, [`PngError::Draw`] for text that is not
/// an SVG.
pub fn png(picture: &Picture, enlarge: f64) -> Result<Vec<u8>, PngError> {
    let width = (f64::from(picture.width) * enlarge).round();
    let height = (f64::from(picture.height) * enlarge).round();
    if !(width >= 1.0 && height >= 1.0 && width * height <= MOST_PIXELS as f64) {
        return Err(PngError::Size { width, height });
    }
    let options =
        Options { font_family: "DejaVu Sans".into(), fontdb: typefaces(), ..Options::default() };
    let tree = Tree::from_str(&picture.svg, &options).map_err(|e| PngError::Draw(e.to_string()))?;
    let mut pixels =
        Pixmap::new(width as u32, height as u32).ok_or(PngError::Size { width, height })?;
    let scale = Transform::from_scale(enlarge as f32, enlarge as f32);
    resvg::render(&tree, scale, &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| PngError::Draw(e.to_string()))
}

fn typefaces() -> Arc<Database> {
    static TYPEFACES: OnceLock<Arc<Database>> = OnceLock::new();
    Arc::clone(TYPEFACES.get_or_init(|| {
        let mut faces = Database::new();
        faces.load_font_source(resvg::usvg::fontdb::Source::Binary(Arc::new(
            dejavu::sans::regular(),
        )));
        faces.load_font_source(resvg::usvg::fontdb::Source::Binary(Arc::new(dejavu::sans::bold())));
        faces.set_sans_serif_family("DejaVu Sans");
        Arc::new(faces)
    }))
}
