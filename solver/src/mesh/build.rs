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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Edge, OUTSIDE, Region, Side, Source};
    use crate::section::{Role, Symmetry};

    const MM: f64 = 1e-3;

    fn circle(regions: &mut Regions, centre: Point, radius: f64, inside: u32, outside: u32) {
        let first = regions.vertices.len() as u32;
        for [x, y] in [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]] {
            regions.vertices.push(centre + Point::new(x, y) * radius);
        }
        for i in 0..4 {
            regions.edges.push(Edge {
                ends: [first + i, first + (i + 1) % 4],
                side: Side::Arc { centre, counter_clockwise: true },
                left: inside,
                right: outside,
            });
        }
    }

    fn region(name: &str, source: Source, area: f64) -> Region {
        Region { name: name.into(), role: Role::Body, source, outline: None, area }
    }

    /// A 4.8 x 17 mm bar, its face at y = 0, a string of radius `r` at a gap of 2 mm.
    fn bar_and_string(r: f64) -> Regions {
        let centre = Point::new(0.0, -8.5 * MM);
        let mut regions = Regions {
            symmetry: Symmetry::Planar,
            vertices: Vec::new(),
            edges: Vec::new(),
            regions: vec![
                region("air", Source::Air, f64::INFINITY),
                region("bar", Source::Part(0), 4.8 * MM * 17.0 * MM),
                region("string", Source::String(0), std::f64::consts::PI * r * r),
            ],
            displaced_by: vec![Vec::new(); 3],
            centre,
            outer_radius: 8.0,
            inner_radius: 12.0 * MM,
            fine_lines: Vec::new(),
            sampling_height: None,
            mesh_scale: 1.0,
        };
        circle(&mut regions, centre, 8.0, 0, OUTSIDE);
        circle(&mut regions, Point::new(0.0, 2.0 * MM + r), r, 2, 0);
        let first = regions.vertices.len() as u32;
        for [x, y] in [[-2.4, -17.0], [2.4, -17.0], [2.4, 0.0], [-2.4, 0.0]] {
            regions.vertices.push(Point::new(x, y) * MM);
        }
        for i in 0..4 {
            let ends = [first + i, first + (i + 1) % 4];
            regions.edges.push(Edge { ends, side: Side::Straight, left: 1, right: 0 });
        }
        regions
    }

    fn area_of(mesh: &Mesh, region: u32) -> f64 {
        (0..mesh.triangles.len())
            .filter(|&t| mesh.region_of[t] == region)
            .map(|t| {
                // Exact for the quadratic map: integral of the Jacobian, degree 2.
                let nodes = mesh.triangles[t].map(|n| mesh.nodes[n as usize]);
                [[0.5, 0.0], [0.5, 0.5], [0.0, 0.5]]
                    .map(|[xi, eta]| {
                        let [[a, b], [c, d]] =
                            crate::mesh::reference::map(&nodes, xi, eta).jacobian;
                        (a * d - b * c) / 6.0
                    })
                    .iter()
                    .sum::<f64>()
            })
            .sum()
    }

    fn smallest_angle(mesh: &Mesh) -> f64 {
        mesh.triangles
            .iter()
            .flat_map(|t| {
                let p = [0, 1, 2].map(|i| mesh.nodes[t[i] as usize]);
                [0, 1, 2].map(|i| {
                    let (u, v) = (p[(i + 1) % 3] - p[i], p[(i + 2) % 3] - p[i]);
                    (u.x * v.y - u.y * v.x).atan2(u.x * v.x + u.y * v.y).to_degrees()
                })
            })
            .fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn meshes_a_bar_under_a_thin_string() {
        let regions = bar_and_string(0.115 * MM);
        let mesh = mesh(&regions).expect("meshes");
        println!("{} triangles {} nodes", mesh.triangles.len(), mesh.nodes.len());
        // Straight edges are kept exactly.
        let bar = area_of(&mesh, 1);
        assert!((bar / regions.regions[1].area - 1.0).abs() < 1e-12, "{bar:e}");
        // Sides of about a third of the radius: the quadratic arc is off by (h/r)^4 / 5760 in
        // radius, some 2e-6 in area.
        let string = area_of(&mesh, 2);
        assert!((string / regions.regions[2].area - 1.0).abs() < 1e-5, "{string:e}");
        assert!(smallest_angle(&mesh) > 25.0, "{}", smallest_angle(&mesh));
        assert!(mesh.triangles.len() < 6000, "{}", mesh.triangles.len());
    }

    #[test]
    fn finds_every_triangle_by_its_middle() {
        let mesh = mesh(&bar_and_string(0.2 * MM)).expect("meshes");
        let locator = crate::mesh::Locator::new(&mesh);
        for t in 0..mesh.triangles.len() {
            let nodes = mesh.triangles[t].map(|n| mesh.nodes[n as usize]);
            let p = crate::mesh::reference::map(&nodes, 0.2, 0.3).place;
            let (found, [xi, eta]) = locator.locate(p).expect("inside");
            assert_eq!(found, t);
            // Newton ends at rounding.
            assert!((xi - 0.2).abs() + (eta - 0.3).abs() < 1e-9, "{xi} {eta}");
        }
        assert!(locator.locate(Point::new(9.0, 0.0)).is_none());
    }
}
