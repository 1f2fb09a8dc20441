//! Everything in the section that covers area, as outlines with names: parts, coil windows, and
//! strings where the section shows them.

use std::ops::Range;

use super::axis::cut_at_axis;
use super::model::{Outline, Source};
use super::outline::{Fault, outline_of};
use super::piece::Bounds;
use super::strings::{string_outline, wrap_outline};
use super::words::length;
use super::{ArrangeOptions, Scale};
use crate::problem::Problem;
use crate::section::{Role, Section, Symmetry};

/// Something that covers area.
#[derive(Clone, Debug)]
pub(crate) struct Item {
    pub name: String,
    pub span: Range<usize>,
    pub role: Role,
    pub source: Source,
    pub outline: Outline,
    pub bounds: Bounds,
}

/// More sides than this are refused: a section of that many is a slip in a repeat count.
const MOST_SIDES: usize = 20_000;

/// All items in the order parts, coil windows, strings; what cannot be drawn becomes a problem.
///
/// Returns the scale they are judged by; `None` where there is nothing to judge.
pub(crate) fn items(
    section: &Section,
    options: &ArrangeOptions,
    problems: &mut Vec<Problem>,
) -> (Vec<Item>, Option<Scale>) {
    let mut drawn = Vec::new();
    let mut draw = |name: &str, span: &Range<usize>, role, source, outline| match outline {
        Ok(outline) => {
            let outline: Outline = outline;
            let bounds = outline.bounds();
            drawn.push(Item {
                name: name.to_owned(),
                span: span.clone(),
                role,
                source,
                outline,
                bounds,
            });
        }
        Err(faults) => problems.extend(told(name, span, faults)),
    };
    for (i, p) in section.parts.iter().enumerate() {
        let outline = outline_of(&p.shape, p.at, p.rotation);
        draw(&p.name, &p.span, p.role, Source::Part(i), outline);
    }
    for (i, c) in section.coils.iter().enumerate() {
        for (k, w) in c.windows.iter().enumerate() {
            let name = if c.windows.len() == 1 {
                c.name.clone()
            } else {
                format!("{} window {}", c.name, k + 1)
            };
            let outline = outline_of(&w.shape, w.at, 0.0);
            draw(&name, &w.span, Role::Coil, Source::Window(i, k), outline);
        }
    }
    for (i, s) in section.strings.iter().enumerate() {
        if let Some(outline) = string_outline(section, i, options) {
            draw(&s.name, &s.span, Role::String, Source::String(i), outline);
        }
        if let Some(outline) = wrap_outline(section, i, options) {
            draw(&format!("{} wrap", s.name), &s.span, Role::String, Source::Wrap(i), outline);
        }
    }
    let sides: usize = drawn.iter().map(|i| i.outline.sides.len()).sum();
    if sides > MOST_SIDES {
        let message = format!("the section has {sides} sides, more than {MOST_SIDES}");
        problems.push(Problem::general(message).help("use smaller repeat counts"));
        return (Vec::new(), None);
    }
    let Some(scale) = scale_of(&drawn, problems) else { return (Vec::new(), None) };
    if section.symmetry == Symmetry::Axisymmetric {
        drawn = drawn
            .into_iter()
            .filter_map(|item| match cut_at_axis(item.outline, scale.tolerance) {
                Ok(outline) => {
                    let bounds = outline.bounds();
                    Some(Item { outline, bounds, ..item })
                }
                Err(fault) => {
                    problems.extend(told(&item.name, &item.span, vec![fault]));
                    None
                }
            })
            .collect();
    }
    (drawn, Some(scale))
}

fn told(name: &str, span: &Range<usize>, faults: Vec<Fault>) -> Vec<Problem> {
    faults
        .into_iter()
        .map(|f| Problem::at(span.clone(), format!("`{name}` {}", f.message)).help(f.help))
        .collect()
}

fn scale_of(items: &[Item], problems: &mut Vec<Problem>) -> Option<Scale> {
    let all = items.iter().fold(Bounds::EMPTY, |b, i| b.union(i.bounds));
    if items.is_empty() {
        if problems.is_empty() {
            problems.push(
                Problem::general("the section holds nothing to solve for")
                    .help("add a part, a coil or a string"),
            );
        }
        return None;
    }
    let scale = Scale::of_size(all.size().norm());
    // Coordinates must resolve the tolerance with digits to spare.
    let reach = all.low.norm().max(all.high.norm());
    if !reach.is_finite() || reach * 1e-13 >= scale.tolerance {
        problems.push(
            Problem::general(format!(
                "the section reaches {} from the origin, too far for its parts to be told apart",
                length(reach)
            ))
            .help("bring the parts nearer to the origin, and check the units of the lengths"),
        );
        return None;
    }
    Some(scale)
}
