//! Triangles of second order cut into small straight ones, with a value at every corner.
//!
//! Each triangle becomes n x n. Points on a shared vertex or side are made once, so that the
//! pieces fit without gaps and the value is one continuous, piecewise linear function. Points on
//! curved sides lie on the curve.

use crate::mesh::Mesh;
use crate::mesh::reference::{map, shape};
use crate::point::Point;

/// Small triangles with values at their corners.
#[derive(Clone, Debug, Default)]
pub struct Refined {
    /// Places of the corners, m.
    pub places: Vec<Point>,
    /// Value at each corner.
    pub values: Vec<f64>,
    /// Corners of each small triangle, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// Small sides that only one triangle has, with the inside on the left.
    pub border: Vec<[u32; 2]>,
}

/// Where a value is asked for.
#[derive(Clone, Copy, Debug)]
pub struct At<'a> {
    /// The triangle.
    pub triangle: u32,
    /// Its barycentric coordinates.
    pub barycentric: [f64; 3],
    /// Node ids of the triangle.
    pub nodes: &'a [u32; 6],
    /// Shape functions there.
    pub shape: &'a [f64; 6],
    /// Place, m.
    pub place: Point,
}

impl At<'_> {
    /// Interpolates nodal values.
    pub fn interpolate(&self, nodal: &[f64]) -> f64 {
        self.nodes.iter().zip(self.shape).map(|(&node, n)| nodal[node as usize] * n).sum()
    }
}

/// Cuts the chosen triangles of `mesh` into `n` x `n` each.
pub fn refine(mesh: &Mesh, chosen: &[u32], n: u32, value: impl Fn(At<'_>) -> f64) -> Refined {
    const NONE: u32 = u32::MAX;
    let n = n.max(1);
    let mut refined = Refined::default();
    // A vertex's point; for a mid-side node the first of its side's n - 1 points.
    let mut point_of = vec![NONE; mesh.nodes.len()];
    let mut uses = vec![0u8; mesh.nodes.len()];
    for &t in chosen {
        for &middle in &mesh.triangles[t as usize][3..] {
            uses[middle as usize] = uses[middle as usize].saturating_add(1);
        }
    }
    let row = n as usize + 1;
    let mut grid = vec![NONE; row * row];
    for &t in chosen {
        let nodes = &mesh.triangles[t as usize];
        let corners = nodes.map(|node| mesh.nodes[node as usize]);
        let add = |refined: &mut Refined, i: u32, j: u32| {
            let (xi, eta) = (f64::from(i) / f64::from(n), f64::from(j) / f64::from(n));
            let (shape, place) = (shape(xi, eta), map(&corners, xi, eta).place);
            refined.places.push(place);
            refined.values.push(value(At {
                triangle: t,
                barycentric: [1.0 - xi - eta, xi, eta],
                nodes,
                shape: &shape,
                place,
            }));
            refined.places.len() as u32 - 1
        };
        for (node, [i, j]) in nodes[..3].iter().zip([[0, 0], [n, 0], [0, n]]) {
            if point_of[*node as usize] == NONE {
                point_of[*node as usize] = add(&mut refined, i, j);
            }
            grid[j as usize * row + i as usize] = point_of[*node as usize];
        }
        for side in 0..3 {
            let (a, b, middle) = (nodes[side], nodes[(side + 1) % 3], nodes[3 + side]);
            // Steps run from the lower to the higher vertex number.
            let step = |k: u32| {
                let k = if a < b { k } else { n - k };
                [[k, 0], [n - k, k], [0, n - k]][side]
            };
            if n > 1 && point_of[middle as usize] == NONE {
                point_of[middle as usize] = refined.places.len() as u32;
                for k in 1..n {
                    let [i, j] = step(k);
                    add(&mut refined, i, j);
                }
            }
            for k in 1..n {
                let [i, j] = step(k);
                grid[j as usize * row + i as usize] = point_of[middle as usize] + k - 1;
            }
        }
        for j in 1..n {
            for i in 1..n - j {
                grid[j as usize * row + i as usize] = add(&mut refined, i, j);
            }
        }
        let at = |i: u32, j: u32| grid[j as usize * row + i as usize];
        for j in 0..n {
            for i in 0..n - j {
                refined.triangles.push([at(i, j), at(i + 1, j), at(i, j + 1)]);
                if i + j + 1 < n {
                    refined.triangles.push([at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)]);
                }
            }
        }
        for side in 0..3 {
            if uses[nodes[3 + side] as usize] == 1 {
                let along = |k: u32| match side {
                    0 => at(k, 0),
                    1 => at(n - k, k),
                    _ => at(0, n - k),
                };
                refined.border.extend((0..n).map(|k| [along(k), along(k + 1)]));
            }
        }
    }
    refined
}

/// The unit square in n x n cells, for tests.
#[cfg(test)]
pub(super) fn square(n: usize) -> Mesh {
    use crate::mesh::structured::rectangle;
    use crate::section::Symmetry;
    rectangle(Symmetry::Planar, Point::default(), Point::new(1.0, 1.0), n, &[], |_| 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_fit_and_cover_the_square() {
        let mesh = square(3);
        let all: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
        for n in [1, 2, 5] {
            let refined = refine(&mesh, &all, n, |at| at.place.x);
            let area: f64 = refined
                .triangles
                .iter()
                .map(|t| {
                    let [a, b, c] = t.map(|p| refined.places[p as usize]);
                    let double = (b - a).cross(c - a);
                    assert!(double > 0.0);
                    0.5 * double
                })
                .sum();
            // Sums of roundings.
            assert!((area - 1.0).abs() < 1e-12, "{area}");
            // Euler: points + triangles = edges + 1, edges = (3 triangles + border) / 2.
            let (p, t, b) = (refined.places.len(), refined.triangles.len(), refined.border.len());
            assert_eq!(2 * (p + t), 3 * t + b + 2, "n = {n}");
            assert_eq!(b, 4 * 3 * n as usize);
            for [a, b] in &refined.border {
                let (a, b) = (refined.places[*a as usize], refined.places[*b as usize]);
                assert!((b - a).cross(Point::new(0.5, 0.5) - a) > 0.0, "inside is on the left");
            }
        }
    }
}
