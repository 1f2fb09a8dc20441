//! From the parts that the triangles have in the errors of the goals to the sizes of the next mesh.
//!
//! In: the parts eta_T of every goal, what each goal's error may be. Out: a size at the middle of every
//! triangle. Cut to size h, a triangle of size h_T makes (h_T / h)^2 new ones, whose parts add up to
//! eta_T (h / h_T)^4 for elements of second order. The fewest triangles with a given sum of parts have, with
//! Lagrange's multiplier,
//!
//! h / h_T = (mu / eta_T)^(1/6),   mu = (most / sum eta_T^(1/3))^(3/2)
//!
//! (Rannacher and Becker, Acta Numerica 10 (2001) 1, section 5.2, for this order). Of several goals the
//! smallest size holds. Next to corners errors fall more slowly: another round sees to that.

use crate::mesh::{Mesh, SizeMap};
use crate::point::Point;

/// Bounds of the change of a size in one round.
const CHANGE: (f64, f64) = (1.0 / 6.0, 6.0);

/// Triangles per area over the wanted size squared, as [`crate::mesh`] makes them.
const PER_SIZE2: f64 = 2.6;

/// The sizes of the next mesh. `parts[g]` are those of goal g ([`crate::quantity::weighted`]), `most[g]` is
/// the largest sum of them that it may have. No size is more than `coarsest` times what the section asks for.
pub fn wanted(mesh: &Mesh, parts: &[Vec<f64>], most: &[f64], coarsest: f64) -> SizeMap {
    let mut change = vec![CHANGE.1; mesh.triangles.len()];
    for (parts, &most) in parts.iter().zip(most) {
        let sum: f64 = parts.iter().map(|eta| eta.cbrt()).sum();
        // Nothing to be gained, or nothing known.
        if !(sum > 0.0 && sum.is_finite() && most > 0.0) {
            continue;
        }
        let mu = (most / sum).powf(1.5);
        for (change, eta) in change.iter_mut().zip(parts) {
            *change = change.min((mu / eta).powf(1.0 / 6.0));
        }
    }
    let wanted = change
        .iter()
        .enumerate()
        .map(|(t, change)| {
            let [a, b, c, ..] = mesh.triangles[t].map(|node| mesh.nodes[node as usize]);
            let (u, v) = (b - a, c - a);
            let area = 0.5 * (u.x * v.y - u.y * v.x).abs();
            let middle: Point = (a + b + c) * (1.0 / 3.0);
            (middle, rounded(change.max(CHANGE.0)) * (PER_SIZE2 * area).sqrt())
        })
        .collect();
    SizeMap { wanted, most: coarsest }
}

/// To quarters of an octave: the last bits of a solve, which a mirrored file has otherwise, must not
/// make another mesh.
fn rounded(change: f64) -> f64 {
    (0.25 * (4.0 * change.log2()).round()).exp2()
}
