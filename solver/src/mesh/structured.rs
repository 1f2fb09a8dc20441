//! Regular meshes of a rectangle, for tests of the stages that come after the mesh.

use crate::geometry::{Region, RegionId, Source};
use crate::mesh::Mesh;
use crate::point::Point;
use crate::section::{Role, Symmetry};

/// A rectangle from `low` to `high` cut into `n` x `n` cells of two triangles each; the region of a
/// triangle is `region_of(centroid)`, 0 for air. The outer nodes are those on the rectangle's
/// sides, in axisymmetric meshes without the side on the axis.
pub fn rectangle(
    symmetry: Symmetry,
    low: Point,
    high: Point,
    n: usize,
    sources: &[Source],
    region_of: impl Fn(Point) -> RegionId,
) -> Mesh {
    let m = 2 * n + 1;
    let place = |i: usize, j: usize| {
        let at = |a: f64, b: f64, k: usize| a + (b - a) * k as f64 / (m - 1) as f64;
        Point::new(at(low.x, high.x, i), at(low.y, high.y, j))
    };
    // Vertices are the even grid points; they come first.
    let mut id = vec![u32::MAX; m * m];
    let mut nodes = Vec::new();
    for vertices_only in [true, false] {
        for j in 0..m {
            for i in 0..m {
                if (i % 2 == 0 && j % 2 == 0) == vertices_only {
                    id[j * m + i] = nodes.len() as u32;
                    nodes.push(place(i, j));
                }
            }
        }
    }
    let (mut triangles, mut regions_of) = (Vec::new(), Vec::new());
    for j in (0..m - 1).step_by(2) {
        for i in (0..m - 1).step_by(2) {
            let at = |di: usize, dj: usize| id[(j + dj) * m + i + di];
            for t in [
                [at(0, 0), at(2, 0), at(2, 2), at(1, 0), at(2, 1), at(1, 1)],
                [at(0, 0), at(2, 2), at(0, 2), at(1, 1), at(1, 2), at(0, 1)],
            ] {
                let p = |k: usize| nodes[t[k] as usize];
                let centroid: Point = (p(0) + p(1) + p(2)) * (1.0 / 3.0);
                triangles.push(t);
                regions_of.push(region_of(centroid));
            }
        }
    }
    let on_side = |p: Point| {
        let left_is_axis = symmetry == Symmetry::Axisymmetric && low.x == 0.0;
        p.x == high.x || p.y == low.y || p.y == high.y || (p.x == low.x && !left_is_axis)
    };
    let outer_nodes = (0..nodes.len() as u32).filter(|&i| on_side(nodes[i as usize])).collect();
    let n_vertices = (n + 1) * (n + 1);
    let region = |source: Source| Region {
        name: format!("{source:?}"),
        role: Role::Body,
        source,
        outline: None,
        area: f64::NAN,
    };
    Mesh {
        symmetry,
        nodes,
        n_vertices,
        triangles,
        region_of: regions_of,
        regions: std::iter::once(Source::Air).chain(sources.iter().copied()).map(region).collect(),
        outer_nodes,
        flattened_area: 0.0,
        outer_radius: f64::NAN,
        centre: Point::default(),
    }
}
