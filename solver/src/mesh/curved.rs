//! Mid-side nodes: on the true arc for sides that are part of one, else in the middle.
//!
//! A six-node triangle maps the reference triangle by its quadratic shape functions. Its Jacobian
//! determinant is a quadratic polynomial, so it is positive everywhere when its Bernstein
//! coefficients are: the values at the corners, and twice the values at the middles less the mean
//! of the corners. With sides that turn by at most 15 degrees and angles above 25 degrees it
//! always is; where an arc meets a line at a sharper angle the bulge is halved until it is, and at
//! a cusp the side may end up straight.

use super::reference::map;
use crate::point::Point;

/// The nodes of a triangle: three corners, then the middles of the sides 01, 12, 20.
pub(crate) type Nodes = [Point; 6];

/// Determinant of the Jacobian at a reference point: twice the area for straight sides, m2.
pub(crate) fn determinant(nodes: &Nodes, xi: f64, eta: f64) -> f64 {
    let [[a, b], [c, d]] = map(nodes, xi, eta).jacobian;
    a * d - b * c
}

/// A lower bound of the Jacobian determinant over the triangle, attained when negative values
/// occur at a corner; twice the area for straight sides.
pub(crate) fn least_determinant(nodes: &Nodes) -> f64 {
    let at = |xi: f64, eta: f64| determinant(nodes, xi, eta);
    let corner = [at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0)];
    let middle = [at(0.5, 0.0), at(0.5, 0.5), at(0.0, 0.5)];
    let mut least = corner[0].min(corner[1]).min(corner[2]);
    for k in 0..3 {
        least = least.min(2.0 * middle[k] - 0.5 * (corner[k] + corner[(k + 1) % 3]));
    }
    least
}

/// The middle of a side from `a` to `b` on the circle about `centre`, drawn towards the chord by
/// `1 - bulge`.
pub(crate) fn middle_on_arc(a: Point, b: Point, centre: Point, bulge: f64) -> Point {
    let chord = (a + b) * 0.5;
    let out = chord - centre;
    let radius = 0.5 * (a.distance(centre) + b.distance(centre));
    let on_arc = centre + out * (radius / out.norm());
    chord + (on_arc - chord) * bulge
}
