//! Which triangle holds a point, and where in it.
//!
//! Candidates come from a tree of boxes; in each the six-node map is inverted by Newton's method.
//! A point on a side, or within rounding of one, gets the triangle in which it lies deepest, the
//! lowest index where that is equal.

use super::curved::Nodes;
use super::model::Mesh;
use super::reference::map;
use super::tree::Tree;
use crate::geometry::Bounds;
use crate::point::Point;

/// Finds triangles by place.
#[derive(Clone, Debug)]
pub struct Locator<'a> {
    mesh: &'a Mesh,
    tree: Tree,
}

/// How far outside the reference triangle a point may come to lie and still be taken in: Newton's
/// last step and the rounding of nodes leave some 1e-12; the outer boundary is a parabola instead
/// of an arc there, off by 1e-5 of a side.
const SLACK: f64 = 1e-9;

impl<'a> Locator<'a> {
    /// Makes ready to locate points in `mesh`.
    pub fn new(mesh: &'a Mesh) -> Self {
        let boxes: Vec<Bounds> = (0..mesh.triangles.len())
            .map(|t| {
                let nodes = mesh.triangle_nodes(t);
                let all = nodes.iter().fold(Bounds::EMPTY, |b, p| b.with(*p));
                // A parabola stays within the box of its ends and its control point, which lies
                // as far beyond the middle node as that lies off the chord.
                let control =
                    (0..3).map(|k| nodes[3 + k] * 2.0 - (nodes[k] + nodes[(k + 1) % 3]) * 0.5);
                let all = control.fold(all, |b, p| b.with(p));
                all.grown(SLACK * (all.size().x + all.size().y))
            })
            .collect();
        let tree = Tree::new(&boxes, &vec![0.0; boxes.len()]);
        Self { mesh, tree }
    }

    /// The triangle that holds `p` and the reference coordinates [xi, eta] of `p` in it; `None`
    /// outside the mesh.
    ///
    /// Corner 0 is at xi = eta = 0, corner 1 at xi = 1, corner 2 at eta = 1.
    pub fn locate(&self, p: Point) -> Option<(usize, [f64; 2])> {
        let mut best: Option<(f64, usize, [f64; 2])> = None;
        self.tree.holding(p, |t| {
            let t = t as usize;
            let Some([xi, eta]) = invert(&self.mesh.triangle_nodes(t), p) else { return };
            let depth = xi.min(eta).min(1.0 - xi - eta);
            if depth < -SLACK {
                return;
            }
            // Depths within rounding of a side count as zero, so that the lowest index decides.
            let depth = if depth < SLACK { 0.0 } else { depth };
            let better = best.is_none_or(|(d, u, _)| depth > d || (depth == d && t < u));
            if better {
                best = Some((depth, t, [xi, eta]));
            }
        });
        best.map(|(_, t, at)| (t, at))
    }
}

/// Whether the middle nodes lie in the middle of straight sides, to rounding.
fn is_straight(nodes: &Nodes) -> bool {
    (0..3).all(|k| {
        let (a, b) = (nodes[k], nodes[(k + 1) % 3]);
        let off = nodes[3 + k] * 2.0 - a - b;
        off.x.abs().max(off.y.abs()) <= 1e-15 * (a.x.abs() + b.x.abs()).max(a.y.abs() + b.y.abs())
    })
}

/// Reference coordinates of `p`: those of the straight-sided triangle, and where sides are curved, Newton's
/// method from there.
fn invert(nodes: &Nodes, p: Point) -> Option<[f64; 2]> {
    let (u, v) = (nodes[1] - nodes[0], nodes[2] - nodes[0]);
    let q = p - nodes[0];
    let area = u.cross(v);
    let mut at = [q.cross(v) / area, u.cross(q) / area];
    if is_straight(nodes) {
        return area.is_normal().then_some(at);
    }
    let size = u.dot(u).max(v.dot(v)).sqrt();
    // Quadratic convergence from a start that is off by the bulge of a side: four steps are usual.
    for _ in 0..20 {
        let here = map(nodes, at[0], at[1]);
        let off = p - here.place;
        if off.dot(off) <= (1e-14 * size) * (1e-14 * size) {
            break;
        }
        let [[a, b], [c, d]] = here.jacobian;
        let det = a * d - b * c;
        // Far outside a curved triangle the map may fold; such a point is not in it.
        if det.is_nan() || det <= 0.0 {
            return None;
        }
        at = [at[0] + (off.x * d - off.y * c) / det, at[1] + (a * off.y - b * off.x) / det];
    }
    let reached = map(nodes, at[0], at[1]).place;
    // Newton stagnates at rounding of the coordinates themselves.
    let rounding = 1e-12 * size + 1e-15 * p.norm();
    (p.distance(reached) <= rounding).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::samples::{lone_rod, regions, six_rods};
    use crate::mesh::mesh;

    /// Every triangle finds its own inner points, and brings them back to where they were.
    #[test]
    fn inner_points_are_found_in_their_triangle() {
        for section in [six_rods(), lone_rod()] {
            let mesh = mesh(&regions(&section)).expect("a sample can be meshed");
            let locator = Locator::new(&mesh);
            for t in 0..mesh.triangles.len() {
                let nodes = mesh.triangle_nodes(t);
                for at in [[0.2, 0.3], [0.02, 0.96], [0.9, 0.05], [0.01, 0.01]] {
                    let p = map(&nodes, at[0], at[1]).place;
                    let (found, [xi, eta]) = locator.locate(p).expect("inside the mesh");
                    assert_eq!(found, t);
                    // Ten times the stopping rule of Newton's method.
                    assert!((xi - at[0]).abs() + (eta - at[1]).abs() < 1e-11);
                }
            }
        }
    }

    #[test]
    fn points_on_sides_and_nodes_are_found_and_outside_is_not() {
        let mesh = mesh(&regions(&six_rods())).expect("a sample can be meshed");
        let locator = Locator::new(&mesh);
        for (n, &p) in mesh.nodes.iter().enumerate() {
            let (t, at) = locator.locate(p).expect("a node lies in the mesh");
            assert!(mesh.triangles[t].contains(&(n as u32)));
            let nodes = mesh.triangle_nodes(t);
            assert!(map(&nodes, at[0], at[1]).place.distance(p) < 1e-12 * mesh.outer_radius);
        }
        let beyond = mesh.centre + Point::new(1.001 * mesh.outer_radius, 0.0);
        assert_eq!(locator.locate(beyond), None);
        assert_eq!(locator.locate(Point::new(f64::NAN, 0.0)), None);
    }
}
