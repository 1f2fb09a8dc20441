//! How many triangles a size field will ask for, before any is made.

use super::plan::Plan;
use super::size::SizeField;
use crate::point::Point;

/// Triangles per area over size squared: equilateral ones of side h would give 2.31; those that
/// the refinement makes are a little smaller than wanted (measured on sections of many kinds).
const PER_SIZE2: f64 = 2.6;

/// About how many triangles the plan will take; stops counting beyond `limit`.
///
/// Integral of the triangle density over a tree of squares, split until they are no wider than
/// one and a half times the size in their middle (sizes grow by up to 0.45 of the distance: a
/// larger square could hide something fine in its corner).
pub(crate) fn predict(plan: &Plan, sizes: &SizeField, limit: usize) -> usize {
    let r = plan.outer_radius;
    let mut count = 0.0;
    let mut open = vec![(Point::default(), r)];
    while let Some((middle, half)) = open.pop() {
        // Outside the circle by more than the square's own reach.
        if middle.norm() - 1.5 * half > r {
            continue;
        }
        let h = sizes.at(middle);
        if 2.0 * half > 1.5 * h {
            let q = 0.5 * half;
            for (x, y) in [(-q, -q), (q, -q), (-q, q), (q, q)] {
                open.push((middle + Point::new(x, y), q));
            }
        } else if middle.norm() < r && middle.x > -plan.left_reach() {
            count += PER_SIZE2 * 4.0 * half * half / (h * h);
        }
        // Squares waiting to be split will each count for several triangles.
        if count > limit as f64 || open.len() > limit {
            return (count as usize).max(limit + 1);
        }
    }
    count as usize
}

impl Plan {
    /// How far the domain reaches to the left of the origin.
    fn left_reach(&self) -> f64 {
        match self.symmetry {
            crate::section::Symmetry::Planar => self.outer_radius,
            crate::section::Symmetry::Axisymmetric => 0.0,
        }
    }
}
