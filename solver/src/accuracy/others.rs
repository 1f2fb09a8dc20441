//! Errors of the numbers that no mesh is made for.
//!
//! In: a report whose numbers have errors from three meshes. Out: the same, where more is known:
//!
//! - Means, working points and forces of parts: what the cubic space would change in them
//!   ([`crate::quantity::seen_readings`]), with the same margin as for the leading numbers. The last refinement
//!   may have left their places alone, and then three meshes agree on what is wrong.
//! - The largest flux density in a part that is drawn sharp has no bound; nor has the field strength that
//!   weakens a sharp magnet most where it touches another part, whose corner then lies on its face. By itself
//!   a magnet has a logarithm across its charge only.
//! - What is made of the field at a coupled string, as the second change of a linkage or the force on a row of
//!   poles, may differ little between two meshes by chance: no such number has an error of less than the worst share among the
//!   leading numbers of the strings.

use crate::accuracy::expected::{Leading, UNSEEN};
use crate::accuracy::leading::LEADING;
use crate::quantity::goals::Number as Goal;
use crate::quantity::{BodyPull, Quantities};
use crate::report::error::pool;
use crate::report::limits::is_sharp;
use crate::report::record::{Number, Report};
use crate::section::Section;

/// Groups of what is told of parts, and of strings.
const OF_PARTS: [&str; 2] = ["parts", "forces"];
const OF_STRINGS: [&str; 5] = ["strings", "linkage_changes", "apertures", "bends", "forces"];

/// Peaks, and those that only a body of several parts leaves without bound.
const PEAK: &str = "largest_flux_density";
const PEAKS_OF_BODIES: [&str; 2] = ["lowest_field_strength", "margin_to_knee"];

/// Gives peaks at sharp corners infinite errors.
pub fn peaks_without_bound(report: &mut Report, section: &Section, quantities: &Quantities) {
    let touches_another = |name: &str| {
        let of_parts = |pull: &BodyPull| {
            pull.members.iter().filter(|m| section.parts.iter().any(|p| p.name == **m)).count()
        };
        let pulls = &quantities.pulls;
        pulls.iter().any(|p| p.members.iter().any(|m| m == name) && of_parts(p) > 1)
    };
    for part in report.groups.iter_mut().filter(|g| g.key == "parts").flat_map(|g| &mut g.items) {
        let name = part.get_word("name").to_owned();
        if !is_sharp(section, &name) {
            continue;
        }
        let in_body = touches_another(&name);
        for number in part.numbers.iter_mut().filter(|n| n.value.is_some()) {
            if number.name == PEAK || in_body && PEAKS_OF_BODIES.contains(&number.name) {
                number.error = Some(f64::INFINITY);
            }
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
        let leading =
            |n: &Number| LEADING.iter().any(|l| l.0 == group.key && l.1.contains(&n.name));
        let others = group.items.iter_mut().flat_map(|item| &mut item.numbers);
        for number in others.filter(|n| !leading(n)) {
            let own = |number: &Number| number.value.map_or(0.0, |v| worst * v.abs());
            number.error = number.error.map(|error| error.max(own(number)));
        }
        pool(&mut group.items);
    }
}
