//! The whole of meshing in one function.

use crate::geometry::Regions;
use crate::mesh::curve::Curve;
use crate::mesh::curved::second_order;
use crate::mesh::error::MeshError;
use crate::mesh::model::Mesh;
use crate::mesh::size::{GROWTH, SizeField};
use crate::mesh::triangulate::{Piece, triangulate};
use crate::point::Point;

/// Most vertices of a mesh: about four times as many nodes, a factor of some gigabytes.
pub const MAX_VERTICES: usize = 1_500_000;

/// Meshes an arrangement.
///
/// # Errors
/// Too fine for [`MAX_VERTICES`], or outlines that cannot be told apart.
pub fn mesh(regions: &Regions) -> Result<Mesh, MeshError> {
    let curves: Vec<Curve> =
        regions.edges.iter().map(|edge| Curve::new(&regions.vertices, edge)).collect();
    let size = SizeField::new(regions, &curves);
    let (points, pieces) = cut(regions, &curves, &size)?;
    let sides: Vec<[u32; 2]> = regions.edges.iter().map(|e| [e.left, e.right]).collect();
    let flat = triangulate(&points, &pieces, &curves, &sides, &size, MAX_VERTICES)?;
    Ok(second_order(regions, &curves, &flat))
}

/// Cuts every edge into pieces of about the wanted size.
fn cut(
    regions: &Regions,
    curves: &[Curve],
    size: &SizeField,
) -> Result<(Vec<Point>, Vec<Piece>), MeshError> {
    let mut points = regions.vertices.clone();
    let mut pieces = Vec::new();
    for (e, (edge, curve)) in regions.edges.iter().zip(curves).enumerate() {
        let ts = cuts(curve, size, MAX_VERTICES)?;
        let mut last = (edge.ends[0], 0.0);
        for &t in &ts {
            points.push(curve.at(t));
            let next = (points.len() as u32 - 1, t);
            pieces.push(Piece { ends: [last.0, next.0], edge: e as u32, t: [last.1, t] });
            last = next;
        }
        let ends = [last.0, edge.ends[1]];
        pieces.push(Piece { ends, edge: e as u32, t: [last.1, 1.0] });
        if points.len() > MAX_VERTICES {
            return Err(too_fine(size));
        }
    }
    Ok((points, pieces))
}

fn too_fine(size: &SizeField) -> MeshError {
    let (place, h) = size.finest();
    MeshError::TooFine {
        limit: MAX_VERTICES,
        x_mm: place.x * 1e3,
        y_mm: place.y * 1e3,
        size_um: h * 1e6,
    }
}

/// Parameters strictly between 0 and 1 that cut a curve into pieces holding one unit of
/// integral ds / h each.
fn cuts(curve: &Curve, size: &SizeField, limit: usize) -> Result<Vec<f64>, MeshError> {
    let length = curve.length();
    // Walk with steps well below the local size; the size field cannot change faster than GROWTH.
    let mut walked = vec![(0.0, 0.0)];
    let (mut s, mut sum) = (0.0, 0.0);
    while s < length {
        let h = size.at(curve.at(s / length));
        let step = (0.25 * h / (1.0 + GROWTH)).min(length - s).max(length * 1e-9);
        let middle = size.at(curve.at(((s + 0.5 * step) / length).min(1.0)));
        s += step;
        sum += step / middle;
        walked.push((s / length, sum));
        if walked.len() > 8 * limit {
            return Err(too_fine(size));
        }
    }
    let n = sum.ceil().max(1.0);
    let mut cuts = Vec::with_capacity(n as usize);
    let mut at = 1;
    for k in 1..n as usize {
        let wanted = sum * k as f64 / n;
        while walked[at].1 < wanted {
            at += 1;
        }
        let ((t0, w0), (t1, w1)) = (walked[at - 1], walked[at]);
        cuts.push(t0 + (t1 - t0) * (wanted - w0) / (w1 - w0));
    }
    Ok(cuts)
}
