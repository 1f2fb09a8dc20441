//! What must hold for every text: each function panics where it does not.
//!
//! Work is bounded by counts, not by a clock: the section file's own limits, and
//! [`MOST_TRIANGLES`] for the mesh.

use crate::geometry::{ArrangeOptions, Regions, arrange_with};
use crate::mesh::{MeshError, mesh_within};
use crate::problem::{Problem, render};
use crate::section::{Parsed, Section, parse};

/// Larger meshes are refused here, so that a fuzzer sees many sections.
pub const MOST_TRIANGLES: usize = 12_000;

/// Reads a text: every problem has a place inside the text and a way out, and what is read is finite
/// and within the limits of the format.
pub fn text_holds(text: &str) -> Parsed {
    let parsed = parse(text);
    told_well(&parsed.problems, text);
    let section = &parsed.section;
    assert!(section.parts.len() <= 2_000, "{} parts", section.parts.len());
    let points: usize = section.probes.iter().map(|p| p.points.len()).sum();
    assert!(points <= 100_000, "{points} points");
    for part in &section.parts {
        let finite = part.at.x.is_finite() && part.at.y.is_finite() && part.rotation.is_finite();
        assert!(finite, "a part nowhere: {part:?}");
    }
    for string in &section.strings {
        let sound = string.gauge > 0.0 && string.axis.x.is_finite() && string.axis.y.is_finite();
        assert!(sound, "a string of no size or nowhere: {string:?}");
    }
    for window in section.coils.iter().flat_map(|c| &c.windows) {
        assert!(window.turns > 0.0 && window.turns.is_finite(), "turns: {window:?}");
    }
    parsed
}

/// Reads, arranges and meshes: refused in words, or a sound mesh.
pub fn section_holds(text: &str) {
    let parsed = text_holds(text);
    if parsed.problems.is_empty() {
        for mesh_in_plane_strings in [false, true] {
            if let Some(regions) = arranged(&parsed.section, text, mesh_in_plane_strings) {
                meshed(&regions);
            }
            // The choice makes a difference to strings in a planar section only.
            if parsed.section.strings.is_empty() {
                break;
            }
        }
    }
}

fn arranged(section: &Section, text: &str, mesh_in_plane_strings: bool) -> Option<Regions> {
    // The same choice, so that strings through the plane are tried with and without their wraps.
    let all = if mesh_in_plane_strings { section.strings.len() } else { 0 };
    let wraps = (0..all).collect();
    let arranged = arrange_with(section, &ArrangeOptions { mesh_in_plane_strings, wraps });
    told_well(&arranged.problems, text);
    assert_eq!(arranged.regions.is_some(), arranged.problems.is_empty(), "regions or problems");
    for clearance in &arranged.clearances {
        assert!(clearance.distance.is_finite(), "{clearance:?}");
    }
    let regions = arranged.regions?;
    assert!(regions.vertices.iter().all(|p| p.x.is_finite() && p.y.is_finite()), "vertices");
    assert!(regions.regions.iter().skip(1).all(|r| r.area > 0.0), "a region of no area");
    Some(regions)
}

fn meshed(regions: &Regions) {
    match mesh_within(regions, MOST_TRIANGLES) {
        Ok(mesh) => {
            assert_eq!(mesh.check(), Ok(()), "the mesh");
            // A vertex stands for two triangles, and the last ones made may pass the limit a little;
            // a section that is its own mirror image is made of two halves.
            assert!(mesh.triangles.len() <= 3 * MOST_TRIANGLES, "{}", mesh.triangles.len());
        }
        Err(MeshError::TooLarge { triangles, .. }) => assert!(triangles > MOST_TRIANGLES / 2),
        // Told in words, with the place.
        Err(MeshError::Crossing { x_mm, y_mm }) => assert!(x_mm.is_finite() && y_mm.is_finite()),
        Err(other) => panic!("{other}"),
    }
}

/// Problems say where and what to do, in one line, and can be shown.
pub(crate) fn told_well(problems: &[Problem], text: &str) {
    for problem in problems {
        assert!(problem.help.is_some(), "no way out of: {}", problem.message);
        assert!(problem.message.len() < 600, "too long: {}", problem.message);
        assert!(!problem.message.ends_with('.'), "not a fragment: {}", problem.message);
        if let Some(span) = &problem.span {
            assert!(span.start <= span.end && span.end <= text.len(), "no such place: {problem:?}");
        }
    }
    let shown = render(problems, text, "any.toml");
    assert_eq!(shown.is_empty(), problems.is_empty(), "shown: {shown}");
}
