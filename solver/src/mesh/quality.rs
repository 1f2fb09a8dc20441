//! How good a mesh is, in numbers for the report.

use super::model::Mesh;
use crate::point::Point;

/// Measures of a mesh's quality.
#[derive(Clone, Debug, PartialEq)]
pub struct Quality {
    /// Number of triangles.
    pub triangles: usize,
    /// Number of nodes: unknowns before the boundary is fixed.
    pub nodes: usize,
    /// Smallest angle between straight sides, degrees.
    pub least_angle: f64,
    /// Number of triangles with a smallest angle below 25 degrees: the input is sharper there.
    pub sharp_triangles: usize,
    /// Triangles by their smallest angle: 0-10, 10-20, ... 50-60 degrees.
    pub by_least_angle: [usize; 6],
    /// Shortest side, m.
    pub shortest_side: f64,
    /// Longest side, m.
    pub longest_side: f64,
    /// Largest ratio of the longest to the shortest side that meet at a vertex.
    pub steepest_grading: f64,
}

impl Mesh {
    /// Measures the mesh.
    pub fn quality(&self) -> Quality {
        let mut q = Quality {
            triangles: self.triangles.len(),
            nodes: self.nodes.len(),
            least_angle: f64::INFINITY,
            sharp_triangles: 0,
            by_least_angle: [0; 6],
            shortest_side: f64::INFINITY,
            longest_side: 0.0,
            steepest_grading: 0.0,
        };
        let mut reach = vec![(f64::INFINITY, 0.0f64); self.n_vertices];
        for t in &self.triangles {
            let p = [t[0], t[1], t[2]].map(|v| self.nodes[v as usize]);
            let angle = least_angle(p).to_degrees();
            q.least_angle = q.least_angle.min(angle);
            q.sharp_triangles += usize::from(angle < 25.0);
            q.by_least_angle[((angle / 10.0) as usize).min(5)] += 1;
            for k in 0..3 {
                let side = p[k].distance(p[(k + 1) % 3]);
                q.shortest_side = q.shortest_side.min(side);
                q.longest_side = q.longest_side.max(side);
                for v in [t[k], t[(k + 1) % 3]] {
                    let r = &mut reach[v as usize];
                    *r = (r.0.min(side), r.1.max(side));
                }
            }
        }
        q.steepest_grading = reach.iter().map(|r| r.1 / r.0).fold(0.0, f64::max);
        q
    }
}

/// Smallest angle of a triangle, radian.
fn least_angle(p: [Point; 3]) -> f64 {
    (0..3)
        .map(|k| {
            let (u, v) = (p[(k + 1) % 3] - p[k], p[(k + 2) % 3] - p[k]);
            u.cross(v).abs().atan2(u.dot(v))
        })
        .fold(f64::INFINITY, f64::min)
}
