//! A row of poles as it stands: seen along the strings, pole beside pole.
//!
//! The section of a row draws one pole, turned about its axis. Here every pole has its own place and
//! height, the coils show their two ends, and the strings are seen end on. It is for the eye alone:
//! nothing is solved on it.

use crate::geometry::{ArrangeOptions, Regions, arrange_with};
use crate::point::Point;
use crate::section::{Charge, Coil, Part, Section, Shape, StringRun, StringSpec, Symmetry, Window};

/// The row of `section` as a planar section, and where everything is; `None` where it has no row, or
/// parts that are more than a rectangle about the axis.
pub(super) fn elevation(section: &Section) -> Option<(Section, Regions)> {
    let row = section.row.as_ref()?;
    let simple = |part: &Part| part.at.x == 0.0 && matches!(part.shape, Shape::Rectangle { .. });
    if !section.parts.iter().all(simple) {
        return None;
    }
    let numbered = |name: &str, k: usize| format!("{name} {}", k + 1);
    let copy = |part: &Part, k: usize| {
        let mut own = part.clone();
        own.name = numbered(&part.name, k);
        own.at = Point::new(row.place(k), part.at.y + row.heights.get(k).copied().unwrap_or(0.0));
        own.passes_through.iter_mut().for_each(|other| other.name = numbered(&other.name, k));
        if let Some(Charge::Angle(angle)) = &mut own.charge {
            *angle += if row.sense(k) < 0.0 { std::f64::consts::PI } else { 0.0 };
        }
        own
    };
    let copies = |part| (0..row.count).map(move |k| copy(part, k));
    let ends = |window: &Window| {
        [-1.0, 1.0].map(|side| Window {
            at: Point::new(side * (0.5 * row.straight + window.at.x), window.at.y),
            // A current that goes round counter-clockwise seen from above goes into the page on the
            // right.
            sense: -window.sense * side,
            ..window.clone()
        })
    };
    let coil = |coil: &Coil| Coil {
        windows: coil.windows.iter().flat_map(ends).collect(),
        ..coil.clone()
    };
    let string = |string: &StringSpec| {
        let pole = string.pole?;
        Some(StringSpec {
            axis: Point::new(row.place(pole) + string.offset, string.axis.y + row.highest()),
            offset: 0.0,
            over: string.over.map(|part| part * row.count + pole),
            ..string.clone()
        })
    };
    let elevation = Section {
        symmetry: Symmetry::Planar,
        string_run: StringRun::Through,
        parts: section.parts.iter().flat_map(copies).collect(),
        coils: section.coils.iter().map(coil).collect(),
        strings: section.strings.iter().filter_map(string).collect(),
        row: None,
        probes: Vec::new(),
        ..section.clone()
    };
    let wraps = (0..elevation.strings.len()).collect();
    let options = ArrangeOptions { mesh_in_plane_strings: false, wraps };
    let regions = arrange_with(&elevation, &options).regions?;
    Some((elevation, regions))
}
