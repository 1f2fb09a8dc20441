//! How strings show in a section: their outlines, and the lines on which the field above the
//! poles is sampled for them. Lengths in metres.

use super::ArrangeOptions;
use super::items::Item;
use super::model::{FineLine, Outline};
use super::outline::{Fault, circle, outline_of};
use crate::point::Point;
use crate::section::{Corner, Role, Section, Shape, StringRun, StringSpec, Symmetry};
use crate::units::MM;

/// Length of string that matters on either side of the poles: shorter ones lose up to 9 % of the
/// flux change.
pub(crate) const REACH: f64 = 40.0 * MM;

/// The outline of string `i` without its wrap: its core as a circle where it runs through the plane, as a strip
/// where it runs in the plane and is meshed at all, `None` where the mesh knows nothing of it.
///
/// Of strings in the plane whose strips would overlap, or nearly, only the first has an outline:
/// they stand one behind the other.
pub(crate) fn string_outline(
    section: &Section,
    i: usize,
    options: &ArrangeOptions,
) -> Option<Result<Outline, Vec<Fault>>> {
    let string = &section.strings[i];
    match (section.symmetry, section.string_run) {
        (Symmetry::Planar, StringRun::Through) => Some(circle(string.axis, string.core_radius())),
        (Symmetry::Planar, StringRun::InPlane) if options.mesh_in_plane_strings => {
            let hidden = section.strings[..i].iter().any(|other| {
                (other.axis.y - string.axis.y).abs() < other.core_diameter + string.core_diameter
            });
            let strip = Shape::Rectangle {
                width: 2.0 * REACH,
                height: string.core_diameter,
                corners: [Corner::Sharp; 4],
            };
            (!hidden).then(|| outline_of(&strip, string.axis, 0.0))
        }
        _ => None,
    }
}

/// The outline of the wrap of string `i` with the core that lies on it: a circle of the gauge, where the
/// string runs through the plane, its wrap is to be meshed and there is room for one.
pub(crate) fn wrap_outline(
    section: &Section,
    i: usize,
    options: &ArrangeOptions,
) -> Option<Result<Outline, Vec<Fault>>> {
    let string = &section.strings[i];
    let through = section.symmetry == Symmetry::Planar && section.string_run == StringRun::Through;
    let is_there = through && options.wraps.contains(&i) && string.ring_thickness() > 0.0;
    is_there.then(|| circle(string.axis, 0.5 * string.gauge))
}

/// Whether strings cross the section lying in it, so that they are coupled in three dimensions.
pub(crate) fn lie_in_plane(section: &Section) -> bool {
    section.symmetry == Symmetry::Axisymmetric || section.string_run == StringRun::InPlane
}

/// Whether the item is away when strings of this section are there: a keeper that is taken off. Where
/// strings are meshed it keeps its place, for it is on the mesh that all states share.
pub(crate) fn is_away(section: &Section, item: &Item) -> bool {
    lie_in_plane(section) && section.is_taken_off(item.role)
}

/// Whether a string in the plane (or across the axis) passes over the item: within [`REACH`] and,
/// about an axis, not further in than the string ever comes.
pub(crate) fn passes_over(section: &Section, string: &StringSpec, item: &Item) -> bool {
    let (low, high) = (item.bounds.low.x, item.bounds.high.x);
    match section.symmetry {
        Symmetry::Planar => low <= string.axis.x + REACH && high >= string.axis.x - REACH,
        Symmetry::Axisymmetric => low <= REACH && high >= string.offset.abs() - 0.5 * string.gauge,
    }
}

/// Height of the sampling line and the fine lines along it: (height, lines).
///
/// The line runs 0.35 of the way from the highest thing under the strings to the underside of
/// the lowest string: clear of the corners' singular fields below, clear of the string above.
pub(crate) fn sampling(section: &Section, items: &[Item]) -> (Option<f64>, Vec<FineLine>) {
    let nothing = (None, Vec::new());
    if !lie_in_plane(section) {
        return nothing;
    }
    let underside =
        section.strings.iter().map(|s| s.axis.y - 0.5 * s.gauge).fold(f64::INFINITY, f64::min);
    let below: Vec<&Item> = items
        .iter()
        .filter(|i| i.role != Role::String && !is_away(section, i))
        .filter(|i| match section.symmetry {
            // Everything inside the radius that the line reaches to is a source below it, be the
            // strings beside it or not.
            Symmetry::Axisymmetric => i.bounds.low.x <= REACH,
            Symmetry::Planar => section.strings.iter().any(|s| passes_over(section, s, i)),
        })
        .collect();
    let top = below.iter().map(|i| i.bounds.high.y).fold(f64::NEG_INFINITY, f64::max);
    let gap = underside - top;
    if !(gap.is_finite() && gap > 0.0) {
        return nothing;
    }
    let height = top + 0.35 * gap;
    // What stands nearly as high as the highest thing shapes the field on the line.
    let poles = below.iter().filter(|i| i.role != Role::Coil && i.bounds.high.y > top - 3.0 * gap);
    let (low, high) = poles.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), i| {
        (low.min(i.bounds.low.x), high.max(i.bounds.high.x))
    });
    let middle = section.strings.first().map_or(0.0, |s| s.axis.x);
    let (start, end) = match section.symmetry {
        Symmetry::Planar => (middle - REACH, middle + REACH),
        Symmetry::Axisymmetric => (0.0, REACH),
    };
    let line = |x0: f64, x1: f64, size: f64| {
        let (x0, x1) = (x0.max(start), x1.min(end));
        (x0 < x1).then(|| FineLine {
            from: Point::new(x0, height),
            to: Point::new(x1, height),
            size,
        })
    };
    let margin = 4.0 * MM;
    let lines = [line(low - margin, high + margin, 0.12 * gap), line(start, end, 1.0 * MM)];
    (Some(height), lines.into_iter().flatten().collect())
}
