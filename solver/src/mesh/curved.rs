//! Triangles to a [`Mesh`]: mid-side nodes, on the true arc where a side belongs to one.

use std::collections::BTreeMap;

use crate::geometry::{OUTSIDE, Regions};
use crate::mesh::curve::Curve;
use crate::mesh::model::Mesh;
use crate::mesh::triangulate::Triangulation;
use crate::point::Point;

/// Numbers the nodes, vertices first, and puts the mid-side nodes in place.
pub fn second_order(regions: &Regions, curves: &[Curve], flat: &Triangulation) -> Mesh {
    let on_arc: BTreeMap<[u32; 2], Point> = flat
        .pieces
        .iter()
        .filter(|piece| curves[piece.edge as usize].is_arc())
        .map(|piece| {
            let [a, b] = piece.ends;
            let middle = curves[piece.edge as usize].at(0.5 * (piece.t[0] + piece.t[1]));
            ([a.min(b), a.max(b)], middle)
        })
        .collect();
    let mut number = vec![u32::MAX; flat.points.len()];
    let mut nodes: Vec<Point> = Vec::with_capacity(4 * flat.points.len());
    for triangle in &flat.triangles {
        for &v in triangle {
            if number[v as usize] == u32::MAX {
                number[v as usize] = nodes.len() as u32;
                nodes.push(flat.points[v as usize]);
            }
        }
    }
    let n_vertices = nodes.len();
    let mut middles: BTreeMap<[u32; 2], u32> = BTreeMap::new();
    let mut triangles = Vec::with_capacity(flat.triangles.len());
    for triangle in &flat.triangles {
        let mut six = [0u32; 6];
        for i in 0..3 {
            six[i] = number[triangle[i] as usize];
            let (a, b) = (triangle[i], triangle[(i + 1) % 3]);
            let key = [a.min(b), a.max(b)];
            six[3 + i] = *middles.entry(key).or_insert_with(|| {
                let straight = (flat.points[a as usize] + flat.points[b as usize]) * 0.5;
                nodes.push(on_arc.get(&key).copied().unwrap_or(straight));
                nodes.len() as u32 - 1
            });
        }
        triangles.push(six);
    }
    // Outer nodes: on pieces of edges that have nothing beyond and are not the axis.
    let mut outer_nodes = Vec::new();
    for piece in &flat.pieces {
        let edge = &regions.edges[piece.edge as usize];
        let bounds = edge.left == OUTSIDE || edge.right == OUTSIDE;
        if !bounds || !curves[piece.edge as usize].is_arc() {
            continue;
        }
        let [a, b] = piece.ends;
        outer_nodes.extend([number[a as usize], number[b as usize]]);
        outer_nodes.extend(middles.get(&[a.min(b), a.max(b)]));
    }
    outer_nodes.sort_unstable();
    outer_nodes.dedup();
    Mesh {
        symmetry: regions.symmetry,
        nodes,
        n_vertices,
        triangles,
        region_of: flat.region_of.clone(),
        regions: regions.regions.clone(),
        outer_nodes,
        outer_radius: regions.outer_radius,
        centre: regions.centre,
    }
}
