//! Which region each triangle belongs to: told by the plan's edges, carried on across sides that
//! belong to none. Edges whose label is [`UNTOLD`] only separate.

use super::error::MeshError;
use super::plan::Plan;
use super::triangulate::{NO_EDGE, NO_TRIANGLE, Triangulation};
use crate::geometry::RegionId;

/// Label of the side of an edge that tells nothing of the region there.
pub(crate) const UNTOLD: RegionId = RegionId::MAX - 1;

/// The region of every triangle.
///
/// # Errors
///
/// [`MeshError::Leak`] where edges disagree, or tell nothing.
pub(crate) fn regions_of(plan: &Plan, mesh: &Triangulation) -> Result<Vec<RegionId>, MeshError> {
    let mut region: Vec<Option<RegionId>> = vec![None; mesh.triangles.len()];
    let mut open = Vec::new();
    for side in mesh.sides.iter().filter(|s| s.edge != NO_EDGE) {
        let edge = &plan.edges[side.edge as usize];
        let [a, b] = side.ends.map(|v| mesh.points[v as usize]);
        let [from, to] = edge.ends.map(|v| plan.vertices[v as usize]);
        // Edges turn by at most a quarter, so their chord tells the sense of every part.
        let along = (b - a).dot(to - from) > 0.0;
        let labels = if along { [edge.left, edge.right] } else { [edge.right, edge.left] };
        for (t, label) in side.triangles.into_iter().zip(labels) {
            if t == NO_TRIANGLE || label == UNTOLD {
                continue;
            }
            match region[t as usize] {
                None => {
                    region[t as usize] = Some(label);
                    open.push(t);
                }
                Some(known) if known != label => return Err(leak(plan, mesh, t)),
                Some(_) => {}
            }
        }
    }
    while let Some(t) = open.pop() {
        for s in mesh.sides_of[t as usize] {
            let side = &mesh.sides[s as usize];
            if side.edge != NO_EDGE {
                continue;
            }
            for u in side.triangles.into_iter().filter(|u| *u != t && *u != NO_TRIANGLE) {
                match region[u as usize] {
                    None => {
                        region[u as usize] = region[t as usize];
                        open.push(u);
                    }
                    known if known != region[t as usize] => return Err(leak(plan, mesh, u)),
                    _ => {}
                }
            }
        }
    }
    region
        .into_iter()
        .enumerate()
        .map(|(t, r)| r.ok_or_else(|| leak(plan, mesh, t as u32)))
        .collect()
}

fn leak(plan: &Plan, mesh: &Triangulation, t: u32) -> MeshError {
    let [a, b, c] = mesh.triangles[t as usize].map(|v| mesh.points[v as usize]);
    let p = plan.millimetres((a + b + c) * (1.0 / 3.0));
    MeshError::Leak { x_mm: p.x, y_mm: p.y }
}
