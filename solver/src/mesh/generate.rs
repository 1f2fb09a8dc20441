//! Regions to a mesh, the whole way.

use super::curved::{Nodes, least_determinant, middle_on_arc};
use super::cut::cut;
use super::error::MeshError;
use super::label::regions_of;
use super::model::Mesh;
use super::plan::Plan;
use super::predict::predict;
use super::size::SizeField;
use super::triangulate::{NO_EDGE, NO_TRIANGLE, Triangulation, triangulate};
use crate::geometry::{RegionId, Regions, Side};
use crate::point::Point;

/// Most triangles a mesh may have.
const MOST_TRIANGLES: usize = 3_000_000;

/// Meshes the regions: graded triangles of second order, sides on true arcs.
///
/// # Errors
///
/// [`MeshError::TooLarge`] when it would take more than three million triangles, told before the
/// memory is spent; [`MeshError::Crossing`] and the others where the arrangement cannot be
/// triangulated.
pub fn mesh(regions: &Regions) -> Result<Mesh, MeshError> {
    let scale = regions.mesh_scale;
    if !(0.01..=100.0).contains(&scale) {
        return Err(MeshError::Scale(scale));
    }
    let plan = Plan::new(regions);
    let sizes = SizeField::new(&plan);
    let triangles = predict(&plan, &sizes, MOST_TRIANGLES);
    if triangles > MOST_TRIANGLES {
        return Err(MeshError::TooLarge { triangles, limit: MOST_TRIANGLES });
    }
    let flat = flat_mesh(&plan, &sizes)?;
    let labels = regions_of(&plan, &flat)?;
    Ok(finished(regions, &plan, &flat, &labels))
}

/// Straight-sided triangles. Where the chords of an arc cross a neighbour, the arcs are cut more
/// finely and it is tried again.
fn flat_mesh(plan: &Plan, sizes: &SizeField) -> Result<Triangulation, MeshError> {
    let most = MOST_TRIANGLES / 2;
    let mut outcome = Err(MeshError::TooLarge { triangles: 0, limit: MOST_TRIANGLES });
    for finer in [1.0, 3.0, 9.0, 27.0] {
        let cut = cut(plan, sizes, finer, most);
        if cut.points.len() > most {
            return Err(MeshError::TooLarge {
                triangles: 2 * cut.points.len(),
                limit: MOST_TRIANGLES,
            });
        }
        outcome = triangulate(plan, &cut, sizes, most);
        if !matches!(outcome, Err(MeshError::Crossing { .. })) {
            break;
        }
    }
    outcome
}

fn finished(regions: &Regions, plan: &Plan, flat: &Triangulation, labels: &[RegionId]) -> Mesh {
    let middles = middles(plan, flat);
    let n = flat.points.len() as u32;
    let triangles = flat
        .triangles
        .iter()
        .zip(&flat.sides_of)
        .map(|(v, s)| [v[0], v[1], v[2], n + s[0], n + s[1], n + s[2]])
        .collect();
    let on_boundary = |s: &&super::triangulate::SideOfMesh| {
        s.edge != NO_EDGE
            && s.triangles.contains(&NO_TRIANGLE)
            && plan.edges[s.edge as usize].side != Side::Straight
    };
    let mut outer_nodes: Vec<u32> = Vec::new();
    for (k, side) in flat.sides.iter().enumerate() {
        if on_boundary(&side) {
            outer_nodes.extend(side.ends);
            outer_nodes.push(n + k as u32);
        }
    }
    outer_nodes.sort_unstable();
    outer_nodes.dedup();
    Mesh {
        symmetry: plan.symmetry,
        nodes: flat.points.iter().chain(&middles).map(|p| plan.metres(*p)).collect(),
        n_vertices: flat.points.len(),
        triangles,
        region_of: labels.to_vec(),
        regions: regions.regions.clone(),
        outer_nodes,
        outer_radius: regions.outer_radius,
        centre: regions.centre,
    }
}

/// The middle node of every side.
fn middles(plan: &Plan, flat: &Triangulation) -> Vec<Point> {
    let middle = |s: usize, bulge: f64| {
        let side = &flat.sides[s];
        let [a, b] = side.ends.map(|v| flat.points[v as usize]);
        match plan.edges.get(side.edge as usize).map(|e| e.side) {
            Some(Side::Arc { centre, .. }) => middle_on_arc(a, b, centre, bulge),
            _ => (a + b) * 0.5,
        }
    };
    let mut middles: Vec<Point> = (0..flat.sides.len()).map(|s| middle(s, 1.0)).collect();
    for s in 0..flat.sides.len() {
        let side = &flat.sides[s];
        let curved = side.edge != NO_EDGE && plan.edges[side.edge as usize].side != Side::Straight;
        if !curved {
            continue;
        }
        // Down to a sixteenth, then straight.
        for bulge in [0.5, 0.25, 0.125, 0.0625, 0.0] {
            let sound = side.triangles.iter().filter(|t| **t != NO_TRIANGLE).all(|&t| {
                let [a, b, c] = flat.triangles[t as usize].map(|v| flat.points[v as usize]);
                let [d, e, f] = flat.sides_of[t as usize].map(|s| middles[s as usize]);
                let nodes: Nodes = [a, b, c, d, e, f];
                least_determinant(&nodes) > 0.0
            });
            if sound {
                break;
            }
            middles[s] = middle(s, bulge);
        }
    }
    middles
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::samples::{lone_rod, regions, six_rods};

    fn checked(section: &crate::section::Section) -> Mesh {
        let mesh = mesh(&regions(section)).expect("a sample can be meshed");
        assert_eq!(mesh.check(), Ok(()));
        mesh
    }

    #[test]
    fn six_rods_are_economical_and_well_shaped() {
        let q = checked(&six_rods()).quality();
        // The budget of the default mesh; below it the strings are not resolved.
        assert!((20_000..55_000).contains(&q.nodes), "{q:?}");
        assert!(q.least_angle >= 25.0, "{q:?}");
    }

    #[test]
    fn lone_rod_is_economical_and_well_shaped() {
        let q = checked(&lone_rod()).quality();
        assert!((4_000..14_000).contains(&q.nodes), "{q:?}");
        assert!(q.least_angle >= 25.0, "{q:?}");
    }
}
