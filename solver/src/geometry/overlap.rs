//! Parts that overlap, and which of two may displace the other.

use std::collections::BTreeMap;

use super::items::Item;
use super::model::{RegionId, Source};
use super::words::area;
use crate::problem::Problem;
use crate::section::{Named, Role, Section};

/// For each region, the regions that lie on top of it. Region k + 1 is item k; region 0 is air.
pub(crate) fn displaced_by(
    section: &Section,
    items: &[Item],
    problems: &mut Vec<Problem>,
) -> Vec<Vec<RegionId>> {
    let mut displaced = vec![Vec::new(); items.len() + 1];
    for (k, item) in items.iter().enumerate() {
        let Source::Part(p) = item.source else { continue };
        for name in &section.parts[p].passes_through {
            let under = named(section, items, name);
            if under.is_empty() && !drawn_or_known(section, name) {
                problems.push(
                    Problem::at(
                        name.span.clone(),
                        format!(
                            "`{}` passes through `{}`, which is not there",
                            item.name, name.name
                        ),
                    )
                    .help("give the name of a part or a coil"),
                );
            }
            for j in under.into_iter().filter(|&j| j != k) {
                let list: &mut Vec<RegionId> = &mut displaced[j + 1];
                if !list.contains(&(k as RegionId + 1)) {
                    list.push(k as RegionId + 1);
                }
            }
        }
    }
    // The core lies on the disc that its wrap is drawn as.
    for (k, item) in items.iter().enumerate() {
        let Source::Wrap(string) = item.source else { continue };
        let core = items.iter().position(|other| other.source == Source::String(string));
        displaced[k + 1].extend(core.map(|core| core as RegionId + 1));
    }
    report_circles(items, &displaced, problems);
    displaced
}

/// Items meant by a name: a part, all copies of a repeated part, or all windows of a coil.
fn named(section: &Section, items: &[Item], name: &Named) -> Vec<usize> {
    let is_copy = |full: &str| {
        full.strip_prefix(&name.name)
            .and_then(|rest| rest.strip_prefix(' '))
            .is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
    };
    let pick = |test: &dyn Fn(&Item) -> bool| -> Vec<usize> {
        (0..items.len()).filter(|&k| test(&items[k])).collect()
    };
    let exact = pick(&|i| match i.source {
        Source::Part(p) => section.parts[p].name == name.name,
        Source::Window(c, _) => section.coils[c].name == name.name,
        _ => false,
    });
    if exact.is_empty() {
        pick(&|i| matches!(i.source, Source::Part(p) if is_copy(&section.parts[p].name)))
    } else {
        exact
    }
}

/// Whether the section names it although it could not be drawn (which has been reported).
fn drawn_or_known(section: &Section, name: &Named) -> bool {
    section
        .parts
        .iter()
        .any(|p| p.name == name.name || p.name.starts_with(&format!("{} ", name.name)))
        || section.coils.iter().any(|c| c.name == name.name)
}

/// Parts that pass through each other in a circle leave open which one is on top.
fn report_circles(items: &[Item], displaced: &[Vec<RegionId>], problems: &mut Vec<Problem>) {
    // Peel off what nothing left displaces; a circle never gets peeled.
    let mut left: Vec<bool> = vec![true; displaced.len()];
    loop {
        let free = (0..displaced.len())
            .find(|&r| left[r] && displaced[r].iter().all(|&d| !left[d as usize]));
        match free {
            Some(r) => left[r] = false,
            None => break,
        }
    }
    if let Some(r) = left.iter().position(|l| *l) {
        let item = &items[r - 1];
        problems.push(
            Problem::at(
                item.span.clone(),
                format!("`{}` and others pass through each other in a circle", item.name),
            )
            .help("let only one of two parts pass through the other"),
        );
    }
}

/// A problem for every pair that overlaps without leave. Strings are judged by their clearance.
pub(crate) fn report_overlaps(
    items: &[Item],
    overlaps: &BTreeMap<(u32, u32), f64>,
    displaced: &[Vec<RegionId>],
    least: f64,
    problems: &mut Vec<Problem>,
) {
    for (&(i, j), &size) in overlaps {
        let (a, b) = (&items[i as usize], &items[j as usize]);
        let allowed = displaced[i as usize + 1].contains(&(j + 1))
            || displaced[j as usize + 1].contains(&(i + 1));
        if size <= least || allowed || a.role == Role::String || b.role == Role::String {
            continue;
        }
        problems.push(
            Problem::at(
                b.span.clone(),
                format!("`{}` and `{}` overlap by {}", a.name, b.name, area(size)),
            )
            .help(format!(
                "move one of them, or say that one passes through the other: passes_through = [\"{}\"]",
                a.name
            )),
        );
    }
}
