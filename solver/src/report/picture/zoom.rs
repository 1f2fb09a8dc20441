//! Which piece of the section a person asked for: by the name of something in it, or by lengths.

use crate::geometry::Source;
use crate::point::Point;
use crate::report::picture::scene::Scene;
use crate::report::picture::view::Window;
use crate::section::{metres, nearest_name};

/// Smallest and largest width and height of a window, m: no section has anything beyond.
const SIZES: [f64; 2] = [1e-7, 100.0];

/// Why a window was not understood.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ZoomError {
    /// Nothing has this name.
    #[error("nothing in the section is called `{name}`{}", hint(.nearest.as_deref(), .known))]
    UnknownName {
        /// What was asked for.
        name: String,
        /// The name that comes nearest.
        nearest: Option<String>,
        /// The names there are.
        known: Vec<String>,
    },
    /// One of four lengths is none.
    #[error("{which} of the window {what} ({help})")]
    BadLength {
        /// Which: left, bottom, right, top.
        which: &'static str,
        /// What is wrong with it.
        what: String,
        /// A way out.
        help: String,
    },
    /// The window is turned round, or too small or too large.
    #[error(
        "the window has no sensible size: left, bottom, right, top must rise from left to right \
         and from bottom to top, by 0.1 um to 100 m"
    )]
    Size,
}

fn hint(nearest: Option<&str>, known: &[String]) -> String {
    match nearest {
        Some(name) => format!("; did you mean `{name}`?"),
        None if known.is_empty() => String::new(),
        None => {
            let shown: Vec<String> = known.iter().take(12).map(|n| format!("`{n}`")).collect();
            let more = if known.len() > 12 { ", ..." } else { "" };
            format!("; there are {}{more}", shown.join(", "))
        }
    }
}

impl Scene<'_> {
    /// The window that `what` asks for: the name of a part, coil, string or probe, with some room
    /// around it, or four lengths `left, bottom, right, top` ("-5 mm, -2 mm, 5 mm, 6 mm").
    ///
    /// # Errors
    /// [`ZoomError`] with a way out.
    pub fn window_of(&self, what: &str) -> Result<Window, ZoomError> {
        let what = what.trim();
        if let Some(window) = self.named(what) {
            let size = window.width().max(window.height());
            // A point, or something flat, still needs something around it.
            return Ok(window.grown(if size > 0.0 { 0.3 * size } else { 2e-3 }));
        }
        let lengths: Vec<&str> = what.split(',').map(str::trim).collect();
        if let [left, bottom, right, top] = lengths.as_slice() {
            let read = |which, text: &str| {
                metres(text).map_err(|(what, help)| ZoomError::BadLength { which, what, help })
            };
            let window = Window {
                left: read("left", left)?,
                bottom: read("bottom", bottom)?,
                right: read("right", right)?,
                top: read("top", top)?,
            };
            let sensible = |size: f64| (SIZES[0]..=SIZES[1]).contains(&size);
            if !sensible(window.width()) || !sensible(window.height()) {
                return Err(ZoomError::Size);
            }
            return Ok(window);
        }
        let known = self.names();
        let nearest = nearest_name(what, known.iter().map(String::as_str)).map(str::to_owned);
        let name = what.chars().take(60).collect();
        Err(ZoomError::UnknownName { name, nearest, known })
    }

    fn names(&self) -> Vec<String> {
        let section = self.section;
        let mut names: Vec<String> = section.parts.iter().map(|p| p.name.clone()).collect();
        names.extend(section.coils.iter().map(|c| c.name.clone()));
        names.extend(section.strings.iter().map(|s| s.name.clone()));
        names.extend(section.probes.iter().map(|p| p.name.clone()));
        names
    }

    fn named(&self, name: &str) -> Option<Window> {
        let section = self.section;
        let mut window = Window::EMPTY;
        for region in self.solids() {
            let meant = &self.regions.regions[region as usize];
            let whole = match meant.source {
                Source::Window(c, _) => section.coils.get(c).map(|coil| coil.name.as_str()),
                Source::Wrap(s) => section.strings.get(s).map(|string| string.name.as_str()),
                _ => None,
            };
            if meant.name == name || whole == Some(name) {
                let part = self.bounds(region)?;
                window = window.and(part);
                if self.is_round() {
                    window = window.and(part.mirrored());
                }
            }
        }
        if self.strings_lie()
            && let Some(string) = section.strings.iter().find(|string| string.name == name)
        {
            // A piece of it above the middle, down to the pole.
            let half = string.gap.unwrap_or(string.gauge).max(string.gauge);
            window = window
                .with(Point::new(-2.0 * half, string.axis.y - half))
                .with(Point::new(2.0 * half, string.axis.y + half));
        }
        if let Some(probe) = section.probes.iter().find(|probe| probe.name == name) {
            window = probe.points.iter().fold(window, |window, p| window.with(*p));
        }
        (window.left <= window.right).then_some(window)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::arrange;
    use crate::section::parse;

    fn asked(what: &str) -> Result<Window, ZoomError> {
        let parsed = parse(include_str!("../../../../meshes/six-rods.toml"));
        let regions = arrange(&parsed.section).regions.expect("a shipped section");
        Scene { section: &parsed.section, regions: &regions }.window_of(what)
    }

    #[test]
    fn a_name_gives_its_part_with_room() {
        let window = asked("rod 1").expect("is there");
        // 4.8 x 17 mm with 0.3 of the larger around it.
        assert!((window.width() - 15.0e-3).abs() < 1e-9, "{window:?}");
        assert!((window.height() - 27.2e-3).abs() < 1e-9, "{window:?}");
        assert!(asked("coil").is_ok_and(|w| w.width() > 60e-3), "both windows");
    }

    #[test]
    fn four_lengths_give_a_box() {
        let window = asked(" -5 mm, -0.2 cm, 0.25 in, 6 mm").expect("is a box");
        let wanted = [-5e-3, -2e-3, 6.35e-3, 6e-3];
        for (got, wanted) in
            [window.left, window.bottom, window.right, window.top].iter().zip(wanted)
        {
            assert!((got - wanted).abs() < 1e-12, "{window:?}");
        }
    }

    #[test]
    fn mistakes_get_a_way_out() {
        let said = |what: &str| asked(what).map_err(|e| e.to_string()).expect_err("is wrong");
        assert_eq!(
            said("rodd 1"),
            "nothing in the section is called `rodd 1`; did you mean `rod 1`?"
        );
        assert!(said("-5, 0 mm, 5 mm, 6 mm").starts_with("left of the window has no unit"));
        assert!(said("5 mm, 0 mm, 1 mm, 6 mm").contains("rise from left to right"));
        assert!(said("0 mm, 0 mm, 1e300 mm, 6 mm").contains("window"));
    }
}
