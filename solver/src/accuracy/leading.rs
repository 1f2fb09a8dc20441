//! Where the leading numbers stand in a report.

use crate::accuracy::expected::{Leading, size_of_kind};
use crate::pipeline::Prepared;
use crate::quantity::Quantities;
use crate::quantity::goals::Number as Goal;
use crate::report::record::{Item, Number, Report};
use crate::section::{Section, Symmetry};

/// Names of the leading numbers, by group; those of one line are of one kind. Up and across are one kind: a
/// pull that is all but vertical has a small other part.
pub const LEADING: [(&str, &[&str]); 5] = [
    ("strings", &["pull_up", "pull_across"]),
    ("strings", &["flux_density_without_up", "flux_density_without_across"]),
    ("linkage_changes", &["linkage_change_up", "linkage_change_across"]),
    ("coils", &["linkage", "linkage_without"]),
    ("coils", &["inductance"]),
];

/// A share of an error that is none: Newton's method stops at 1e-10 of what drives the field.
const ROUNDING: f64 = 1e-9;

/// Whether a section has any.
pub fn are_in(prepared: &Prepared) -> bool {
    !(prepared.section.coils.is_empty() && prepared.section.strings.is_empty())
}

/// The largest error of a leading number, as a share of the largest number of its kind.
pub fn largest_error(report: &Report) -> f64 {
    let mut worst: f64 = 0.0;
    for (group, names) in LEADING {
        let alike = report.items(group).iter().flat_map(|item| &item.numbers);
        let alike: Vec<&Number> = alike.filter(|n| names.contains(&n.name)).collect();
        // A coupled string's numbers are of the whole and a meshed one's are per metre.
        for number in &alike {
            let Some(error) = number.error else { continue };
            let same = alike.iter().filter(|n| n.unit == number.unit).filter_map(|n| n.value);
            worst = worst.max(error / same.map(f64::abs).fold(0.0, f64::max));
        }
    }
    worst
}

/// Gives the leading numbers of `report` the errors estimated for them: `shares[i]` is that of `leading[i]`
/// over the largest size of its kind. Over a row of poles a string without an estimate of its own has the
/// largest of the others, and none has less than three meshes tell.
pub fn put_errors(
    report: &mut Report,
    section: &Section,
    quantities: &Quantities,
    leading: &[Leading],
    shares: &[f64],
) {
    let share = |of: Goal| {
        let own = leading.iter().position(|l| l.number == of).map(|i| shares[i]);
        own.or_else(|| {
            let alike = leading.iter().zip(shares).filter(|(l, _)| l.number.is_like(of));
            alike.map(|(_, share)| *share).reduce(f64::max)
        })
    };
    let string = |item: &Item| {
        section.strings.iter().position(|string| string.name == item.get_word("name"))
    };
    let n_coils = section.coils.len().max(1);
    // From what a coil's goal is in to what is reported. Over a row the coil is another than round the
    // pole by itself: there the share holds, not the size.
    let depth = quantities.depth.unwrap_or(1.0);
    let coil_size = |of: Goal, value: f64| match (&section.row, section.symmetry) {
        (Some(_), _) => value.abs(),
        (None, Symmetry::Planar) => depth * size_of_kind(leading, of),
        (None, Symmetry::Axisymmetric) => size_of_kind(leading, of),
    };
    for group in &mut report.groups {
        for (kind, (_, names)) in LEADING.iter().enumerate().filter(|(_, l)| l.0 == group.key) {
            let sizes = sizes(&group.items, names);
            for (i, item) in group.items.iter_mut().enumerate() {
                let of = match kind {
                    0 => string(item).map(Goal::Pull),
                    1 => string(item).map(Goal::FluxDensity),
                    2 => string(item).map(|s| Goal::LinkageChange(s, i % n_coils)),
                    3 => Some(Goal::Linkage(i)),
                    _ => Some(Goal::Inductance(i)),
                };
                let Some((of, share)) = of.and_then(|of| share(of).map(|share| (of, share))) else {
                    continue;
                };
                // Across parts have no estimates.
                let up = |n: &&mut Number| names.contains(&n.name) && !n.name.ends_with("across");
                for number in item.numbers.iter_mut().filter(up) {
                    let Some(value) = number.value else { continue };
                    let size = if group.key == "coils" {
                        Some(coil_size(of, value))
                    } else {
                        sizes.iter().find(|(unit, _)| *unit == number.unit.key).map(|s| s.1)
                    };
                    let own = size.filter(|_| share > ROUNDING).map(|size| share * size);
                    let own = own.filter(|e| !e.is_nan() && *e > 0.0);
                    number.error = match (own, number.error) {
                        // The estimate is that of a pole by itself.
                        (Some(own), Some(of_meshes)) if section.row.is_some() => {
                            Some(own.max(of_meshes))
                        }
                        (own, _) => own,
                    };
                }
            }
        }
    }
    forces_as_pulls(report, section);
}

/// Gives the forces on strings the errors of the strings' own pulls. Three meshes tell of forces together, as if
/// all were read as those on bodies are, whose scatter may be hundreds of times that of a pull. Over a row of
/// poles they stay: there the estimate is that of a pole by itself, and may leave out a tenth of the error.
pub fn forces_as_pulls(report: &mut Report, section: &Section) {
    if section.row.is_some() {
        return;
    }
    let strings = report.items("strings").to_vec();
    let forces = report.groups.iter_mut().filter(|group| group.key == "forces");
    for force in forces.flat_map(|group| &mut group.items) {
        if force.get_word("kind") != "string" {
            continue;
        }
        let Some(string) = strings.iter().find(|s| s.get_word("name") == force.get_word("name"))
        else {
            continue;
        };
        for number in &mut force.numbers {
            let pull = string.get(number.name).filter(|pull| pull.unit == number.unit);
            if let Some(pull) = pull.filter(|pull| pull.value == number.value) {
                number.error = pull.error;
            }
        }
    }
}

/// The largest length of the vectors that the items' numbers called `names` make up, by unit.
fn sizes(items: &[Item], names: &[&str]) -> Vec<(&'static str, f64)> {
    let mut sizes: Vec<(&'static str, f64)> = Vec::new();
    for item in items {
        let own = || item.numbers.iter().filter(|n| names.contains(&n.name));
        for number in own() {
            let alike = own().filter(|n| n.unit == number.unit).filter_map(|n| n.value);
            let size = alike.map(|v| v * v).sum::<f64>().sqrt();
            match sizes.iter_mut().find(|(unit, _)| *unit == number.unit.key) {
                Some((_, largest)) => *largest = largest.max(size),
                None => sizes.push((number.unit.key, size)),
            }
        }
    }
    sizes
}
