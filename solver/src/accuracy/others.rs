//! Errors of the numbers that no mesh is made for.
//!
//! In: a report whose numbers have errors from three meshes. Out: the same, where more is known:
//!
//! - Means, working points and forces of parts: what the cubic space would change in them
//!   ([`crate::quantity::seen_readings`]), with the same margin as for the leading numbers. The last refinement
//!   may have left their places alone, and then three meshes agree on what is wrong.
//! - The largest flux density in a part that is drawn sharp has no bound.
//! - What is made of the field at a coupled string, as the second change of a linkage, differs little
//!   between two meshes by chance: no such number has an error of less than the worst share among the
//!   leading numbers of the strings.

use crate::accuracy::expected::{Leading, UNSEEN};
use crate::quantity::goals::Number as Goal;
use crate::report::error::pool;
use crate::report::limits::is_sharp;
use crate::report::record::{Number, Report};
use crate::section::Section;

/// Groups of what is told of parts, and of strings.
const OF_PARTS: [&str; 2] = ["parts", "forces"];
const OF_STRINGS: [&str; 3] = ["strings", "linkage_changes", "apertures"];

/// What is known of a peak at a sharp corner.
pub fn peaks_without_bound(report: &mut Report, section: &Section) {
    for part in report.groups.iter_mut().filter(|g| g.key == "parts").flat_map(|g| &mut g.items) {
        if is_sharp(section, &part.get_word("name")) {
            let largest = part.numbers.iter_mut().filter(|n| n.name == "largest_flux_density");
            largest.for_each(|n| n.error = Some(f64::INFINITY));
        }
    }
}

/// Raises errors to what `seen`, the same report as the cubic space would have it, differs by.
pub fn add_seen(report: &mut Report, seen: &Report) {
    for group in report.groups.iter_mut().filter(|group| OF_PARTS.contains(&group.key)) {
        for (item, seen) in group.items.iter_mut().zip(seen.items(group.key)) {
            for (number, seen) in item.numbers.iter_mut().zip(&seen.numbers) {
                let (Some(value), Some(seen)) = (number.value, seen.value) else { continue };
                let error = UNSEEN * (value - seen).abs();
                // What is exact on three meshes is not known any better here.
                number.error = number.error.map(|of_meshes| of_meshes.max(error));
            }
        }
        pool(&mut group.items);
    }
}

/// Raises the errors of what is told of strings to the worst share among their leading numbers.
pub fn not_below_leading(report: &mut Report, leading: &[Leading], shares: &[f64]) {
    let of_strings =
        |of: Goal| matches!(of, Goal::Pull(_) | Goal::FluxDensity(_) | Goal::LinkageChange(..));
    let worst = leading.iter().zip(shares).filter(|(l, _)| of_strings(l.number));
    let worst = worst.map(|(_, share)| *share).fold(0.0, f64::max);
    for group in report.groups.iter_mut().filter(|group| OF_STRINGS.contains(&group.key)) {
        for number in group.items.iter_mut().flat_map(|item| &mut item.numbers) {
            let own = |number: &Number| number.value.map_or(0.0, |v| worst * v.abs());
            number.error = number.error.map(|error| error.max(own(number)));
        }
        pool(&mut group.items);
    }
}
