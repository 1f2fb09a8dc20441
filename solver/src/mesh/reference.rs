//! The quadratic map from the reference triangle (0,0), (1,0), (0,1) to a six-node triangle.

use crate::point::Point;

/// A place on a triangle.
#[derive(Clone, Copy, Debug)]
pub struct Mapped {
    /// Place in the section, m.
    pub place: Point,
    /// Rows d(x, y)/d xi and d(x, y)/d eta, m.
    pub jacobian: [[f64; 2]; 2],
}

/// Shape functions at (xi, eta), nodes v0 v1 v2 m01 m12 m20.
pub const fn shape(xi: f64, eta: f64) -> [f64; 6] {
    let l0 = 1.0 - xi - eta;
    [
        l0 * (2.0 * l0 - 1.0),
        xi * (2.0 * xi - 1.0),
        eta * (2.0 * eta - 1.0),
        4.0 * l0 * xi,
        4.0 * xi * eta,
        4.0 * eta * l0,
    ]
}

/// Their derivatives with respect to (xi, eta).
pub const fn shape_gradient(xi: f64, eta: f64) -> [[f64; 2]; 6] {
    let l0 = 1.0 - xi - eta;
    [
        [1.0 - 4.0 * l0, 1.0 - 4.0 * l0],
        [4.0 * xi - 1.0, 0.0],
        [0.0, 4.0 * eta - 1.0],
        [4.0 * (l0 - xi), -4.0 * xi],
        [4.0 * eta, 4.0 * xi],
        [-4.0 * eta, 4.0 * (l0 - eta)],
    ]
}

/// Place and Jacobian at (xi, eta).
pub fn map(nodes: &[Point; 6], xi: f64, eta: f64) -> Mapped {
    let n = shape(xi, eta);
    let d = shape_gradient(xi, eta);
    let (mut place, mut j) = (Point::default(), [[0.0f64; 2]; 2]);
    for i in 0..6 {
        place = place + nodes[i] * n[i];
        j[0][0] += d[i][0] * nodes[i].x;
        j[0][1] += d[i][0] * nodes[i].y;
        j[1][0] += d[i][1] * nodes[i].x;
        j[1][1] += d[i][1] * nodes[i].y;
    }
    Mapped { place, jacobian: j }
}
