//! Which triangle holds a point.

use crate::mesh::boxes::{Aabb, BoxTree};
use crate::mesh::model::Mesh;
use crate::point::Point;

/// Finds triangles by place.
#[derive(Clone, Debug)]
pub struct Locator<'a> {
    mesh: &'a Mesh,
    tree: BoxTree,
}

/// How far outside the reference triangle a point may come out and still count as inside.
const SLACK: f64 = 1e-9;

impl<'a> Locator<'a> {
    /// A locator for `mesh`.
    pub fn new(mesh: &'a Mesh) -> Self {
        let boxes: Vec<Aabb> = mesh
            .triangles
            .iter()
            .map(|t| {
                let p = t.map(|node| mesh.nodes[node as usize]);
                // A curved side bulges past its three nodes by less than its own bulge.
                let bulge = [(3, 0, 1), (4, 1, 2), (5, 2, 0)].into_iter().map(|(m, a, b)| {
                    let chord = (p[a] + p[b]) * 0.5;
                    p[m] + (p[m] - chord)
                });
                Aabb::about(p.into_iter().chain(bulge))
            })
            .collect();
        let tree = BoxTree::new(&boxes, &vec![0.0; boxes.len()]);
        Self { mesh, tree }
    }

    /// The triangle that holds `p`, and the place in its reference triangle. On a shared side or
    /// vertex, the triangle with the lowest number.
    pub fn locate(&self, p: Point) -> Option<(usize, [f64; 2])> {
        let mut found: Option<(usize, [f64; 2])> = None;
        self.tree.near(p, 0.0, |t| {
            if found.is_none_or(|(other, _)| t < other)
                && let Some(reference) = inverse_map(self.mesh, t, p)
            {
                found = Some((t, reference));
            }
        });
        found
    }
}

/// Reference place of `p` in triangle `t`, if it lies inside: Newton on the quadratic map.
fn inverse_map(mesh: &Mesh, t: usize, p: Point) -> Option<[f64; 2]> {
    let nodes = mesh.triangles[t].map(|node| mesh.nodes[node as usize]);
    let (e1, e2, d) = (nodes[1] - nodes[0], nodes[2] - nodes[0], p - nodes[0]);
    let det = e1.x * e2.y - e1.y * e2.x;
    let mut xi = (d.x * e2.y - d.y * e2.x) / det;
    let mut eta = (e1.x * d.y - e1.y * d.x) / det;
    for _ in 0..12 {
        let at = crate::mesh::reference::map(&nodes, xi, eta);
        let (rx, ry) = (p.x - at.place.x, p.y - at.place.y);
        let [[a, b], [c, d]] = at.jacobian;
        let det = a * d - b * c;
        let (dx, dy) = ((rx * d - ry * c) / det, (a * ry - b * rx) / det);
        xi += dx;
        eta += dy;
        let lost = xi.abs() + eta.abs() > 10.0 || xi.is_nan() || eta.is_nan();
        if dx.abs() + dy.abs() < 1e-14 || lost {
            break;
        }
    }
    let inside = xi >= -SLACK && eta >= -SLACK && xi + eta <= 1.0 + SLACK;
    inside.then_some([xi, eta])
}
