//! What every mesh must keep: positive Jacobians, sides shared by two triangles with the same
//! middle node, areas that agree with the regions, nothing unused, the outer nodes on the circle.

use super::curved::{Nodes, determinant, least_determinant};
use super::error::MeshError;
use super::model::Mesh;
use super::plan::GRID;
use crate::geometry::AIR;
use crate::point::Point;
use crate::section::Symmetry;

impl Mesh {
    /// Checks the mesh against the rules above.
    ///
    /// # Errors
    ///
    /// [`MeshError::Unsound`] naming every rule that is broken.
    pub fn check(&self) -> Result<(), MeshError> {
        let mut faults = Vec::new();
        if self.ids_are_wrong() {
            faults.push("a triangle names a node or region that is not there".to_owned());
        } else {
            self.check_jacobians(&mut faults);
            self.check_sides(&mut faults);
            self.check_areas(&mut faults);
        }
        if faults.is_empty() { Ok(()) } else { Err(MeshError::Unsound(faults.join("; "))) }
    }

    /// The six nodes of triangle `t`, m.
    pub fn triangle_nodes(&self, t: usize) -> [Point; 6] {
        self.triangles[t].map(|n| self.nodes[n as usize])
    }

    fn ids_are_wrong(&self) -> bool {
        let n = self.nodes.len() as u32;
        let corners = self.n_vertices as u32;
        self.n_vertices > self.nodes.len()
            || self.region_of.len() != self.triangles.len()
            || self.triangles.iter().any(|t| {
                t[..3].iter().any(|v| *v >= corners)
                    || t[3..].iter().any(|m| !(corners..n).contains(m))
            })
            || self.region_of.iter().any(|r| *r as usize >= self.regions.len())
    }

    fn check_jacobians(&self, faults: &mut Vec<String>) {
        let folded = (0..self.triangles.len())
            .filter(|&t| !is_positive(least_determinant(&self.triangle_nodes(t))))
            .collect::<Vec<_>>();
        if let Some(&t) = folded.first() {
            let p = self.triangle_nodes(t)[0];
            faults.push(format!(
                "{} triangles are folded over, the first near ({:.4}, {:.4}) mm",
                folded.len(),
                p.x * 1e3,
                p.y * 1e3
            ));
        }
    }

    fn check_sides(&self, faults: &mut Vec<String>) {
        // (ends ascending, middle node), once per triangle.
        let mut sides: Vec<[u32; 3]> = self
            .triangles
            .iter()
            .flat_map(|t| [[t[0], t[1], t[3]], [t[1], t[2], t[4]], [t[2], t[0], t[5]]])
            .map(|[a, b, m]| [a.min(b), a.max(b), m])
            .collect();
        sides.sort_unstable();
        let mut used = vec![false; self.nodes.len()];
        let mut outer = Vec::new();
        let (mut torn, mut open) = (0usize, 0usize);
        for group in sides.chunk_by(|a, b| a[..2] == b[..2]) {
            group[0].iter().for_each(|&n| used[n as usize] = true);
            match group {
                [a, b] if a == b => {}
                [side] => {
                    let ends = side.map(|n| self.nodes[n as usize]);
                    // The axis holds its nodes exactly.
                    if self.symmetry == Symmetry::Axisymmetric && ends.iter().all(|p| p.x == 0.0) {
                        continue;
                    }
                    // A boundary node off the circle: rounding of coordinates of this size.
                    let off = |p: &Point| {
                        (p.distance(self.centre) - self.outer_radius).abs()
                            > 1e-9 * self.outer_radius
                    };
                    open += usize::from(ends.iter().any(off));
                    outer.extend_from_slice(side);
                }
                _ => torn += 1,
            }
        }
        outer.sort_unstable();
        outer.dedup();
        if torn > 0 {
            faults
                .push(format!("{torn} sides do not join just two triangles with one middle node"));
        }
        if open > 0 {
            faults.push(format!(
                "{open} sides without a second triangle are not on the outer boundary"
            ));
        }
        if outer != self.outer_nodes {
            faults.push("the outer nodes are not those on the outer boundary".to_owned());
        }
        let unused = used.iter().filter(|u| !**u).count();
        if unused > 0 {
            faults.push(format!("{unused} nodes belong to no triangle"));
        }
    }

    fn check_areas(&self, faults: &mut Vec<String>) {
        let n = self.regions.len();
        let (mut area, mut slack) = (vec![0.0; n], vec![0.0; n]);
        let perimeter = self.perimeters();
        // At most the step of the plan's grid, for no section reaches less far than a third of the
        // plan's unit.
        let step = 3.0 * GRID * self.reach();
        for t in 0..self.triangles.len() {
            let nodes = self.triangle_nodes(t);
            let r = self.region_of[t] as usize;
            area[r] += area_of(&nodes);
            slack[r] += (0..3).map(|k| arc_error(&nodes, k)).sum::<f64>();
        }
        for (k, region) in self.regions.iter().enumerate().filter(|(k, _)| *k != AIR as usize) {
            // Beyond the known error of parabolas for arcs: rounding of sums, and the plan's grid,
            // which moves the whole rim by up to a step.
            let allowed = slack[k] + self.flattened_area + 1e-9 * region.area + step * perimeter[k];
            if !is_positive(allowed - (area[k] - region.area).abs()) {
                faults.push(format!(
                    "`{}` has an area of {:.9e} m2 in the mesh and {:.9e} m2 in the section",
                    region.name, area[k], region.area
                ));
            }
        }
        let half = if self.symmetry == Symmetry::Axisymmetric { 0.5 } else { 1.0 };
        let whole = half * std::f64::consts::PI * self.outer_radius.powi(2);
        let (total, slack) =
            (area.iter().sum::<f64>(), slack.iter().sum::<f64>() + self.flattened_area);
        if !is_positive(slack + 1e-9 * whole - (total - whole).abs()) {
            faults.push(format!("the mesh covers {total:.9e} m2 of {whole:.9e} m2"));
        }
    }

    /// Length of the rim of each region, m, along chords.
    fn perimeters(&self) -> Vec<f64> {
        let mut sides: Vec<([u32; 2], u32)> = self
            .triangles
            .iter()
            .zip(&self.region_of)
            .flat_map(|(t, &r)| [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]].map(|ends| (ends, r)))
            .map(|([a, b], r)| ([a.min(b), a.max(b)], r))
            .collect();
        sides.sort_unstable();
        let mut perimeter = vec![0.0; self.regions.len()];
        for group in sides.chunk_by(|a, b| a.0 == b.0) {
            if group.iter().any(|side| side.1 != group[0].1) {
                let [a, b] = group[0].0.map(|v| self.nodes[v as usize]);
                group.iter().for_each(|side| perimeter[side.1 as usize] += a.distance(b));
            }
        }
        perimeter
    }

    /// Distance from the centre to the farthest corner of an outline, m.
    fn reach(&self) -> f64 {
        let corners = self.regions.iter().filter_map(|r| r.outline.as_ref());
        corners
            .flat_map(|outline| &outline.corners)
            .map(|corner| corner.distance(self.centre))
            .fold(0.0, f64::max)
    }
}

/// False for NaN too.
fn is_positive(value: f64) -> bool {
    value > 0.0
}

/// Area of a six-node triangle, m2: the determinant is quadratic, so that the rule of the side
/// middles is exact.
pub(crate) fn area_of(nodes: &Nodes) -> f64 {
    [(0.5, 0.0), (0.5, 0.5), (0.0, 0.5)]
        .iter()
        .map(|&(xi, eta)| determinant(nodes, xi, eta) / 6.0)
        .sum()
}

/// Bound on the area between side `k`, a parabola through its three nodes, and the arc through
/// them, m2: r^2 (phi^5 / 30 + O(phi^7)) with phi half the angle the arc turns through.
fn arc_error(nodes: &Nodes, k: usize) -> f64 {
    let (a, b, m) = (nodes[k], nodes[(k + 1) % 3], nodes[3 + k]);
    let half_chord = 0.5 * a.distance(b);
    let sagitta = m.distance((a + b) * 0.5);
    // Straight up to rounding.
    if sagitta < 1e-12 * half_chord {
        return 0.0;
    }
    let radius = (half_chord * half_chord + sagitta * sagitta) / (2.0 * sagitta);
    let phi = 2.0 * (sagitta / half_chord).atan();
    // A tenth more covers the higher terms: phi is at most 0.14.
    1.1 * radius * radius * phi.powi(5) / 30.0
}
