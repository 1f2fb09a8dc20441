//! `lodestring draw`: a section is prepared, meshed or solved as far as the picture needs, and
//! drawn.

use std::io::IsTerminal;

use lodestring::material::Library;
use lodestring::mesh::mesh;
use lodestring::pipeline::{self, Prepared, SolveError};
use lodestring::report::picture::{
    Look, Picture, Scene, Theme, Window, draw_density, draw_flux, draw_mesh, draw_saturation,
    draw_section,
};

use crate::args::Draw;
use crate::args::draw::Show;
use crate::destination::Destination;
use crate::error::CliError;
use crate::section_file;

/// Flux lines where they are the picture, and where they lie over it.
const LINES: [u16; 2] = [24, 10];

/// Draws what was asked for.
pub fn run(args: &Draw, library: &Library) -> Result<(), CliError> {
    let form = Form::of(args)?;
    let picture_to = Destination::prepare(Some(&args.out), &args.file)?;
    let file = section_file::read(&args.file)?;
    let prepared = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
    let scene = Scene { section: &prepared.section, regions: &prepared.regions };
    let window = args.zoom.as_deref().map(|zoom| scene.window_of(zoom)).transpose();
    let window = window.map_err(|e| CliError::Usage(e.to_string()))?;
    let picture = drawn(args, &prepared, &scene, window).map_err(|e| file.error(e))?;
    picture_to.write(form.bytes(picture, args))
}

fn drawn(
    args: &Draw,
    prepared: &Prepared,
    scene: &Scene<'_>,
    window: Option<Window>,
) -> Result<Picture, SolveError> {
    let theme = if args.dark { Theme::Dark } else { Theme::Light };
    let look = Look { theme, width: f64::from(args.width), ..Look::default() };
    let lines = |default| usize::from(args.lines.unwrap_or(default));
    let fields = || pipeline::fields(prepared);
    Ok(match args.show {
        Show::Section => draw_section(scene, window, &look),
        Show::Mesh => draw_mesh(scene, &mesh(&prepared.regions)?, window, &look),
        Show::Flux => draw_flux(scene, fields()?.field(), window, lines(LINES[0]), &look),
        Show::Density => draw_density(scene, fields()?.field(), window, lines(LINES[1]), &look),
        Show::Saturation => {
            let share = f64::from(args.share) / 100.0;
            draw_saturation(scene, fields()?.field(), window, share, &look)
        }
    })
}

/// The form of a picture.
enum Form {
    Svg,
    #[cfg(feature = "png")]
    Png,
}

impl Form {
    /// By the ending of the file it goes to.
    fn of(args: &Draw) -> Result<Self, CliError> {
        if args.out.as_os_str() == "-" {
            return match std::io::stdout().is_terminal() {
                true => Err(CliError::Usage(
                    "a picture is not for a terminal; name a file with --out".into(),
                )),
                false => Ok(Self::Svg),
            };
        }
        let ending = args.out.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
        match ending.as_deref() {
            Some("svg") => Ok(Self::Svg),
            #[cfg(feature = "png")]
            Some("png") => Ok(Self::Png),
            _ if cfg!(feature = "png") => Err(CliError::Usage(
                "a picture's name ends in .svg or .png, which says what it will be".into(),
            )),
            _ => Err(CliError::Usage("a picture's name ends in .svg".into())),
        }
    }

    #[cfg_attr(not(feature = "png"), expect(unused_variables, reason = "only pixels are enlarged"))]
    fn bytes(&self, picture: Picture, args: &Draw) -> std::io::Result<Vec<u8>> {
        match self {
            Self::Svg => Ok(picture.svg.into_bytes()),
            #[cfg(feature = "png")]
            Self::Png => lodestring::report::png::png(&picture, f64::from(args.enlarge))
                .map_err(std::io::Error::other),
        }
    }
}
