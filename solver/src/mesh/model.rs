//! The mesh: triangles of second order whose sides follow the arcs.

use crate::geometry::{Region, RegionId};
use crate::point::Point;
use crate::section::Symmetry;

/// A conforming mesh of six-node triangles over the whole domain.
///
/// On a triangle (v0 v1 v2 m01 m12 m20) the map from the reference triangle is the quadratic
/// isoparametric one; a triangle is straight-sided when its mid-side nodes are midpoints.
#[derive(Clone, Debug)]
pub struct Mesh {
    /// Planar or axisymmetric.
    pub symmetry: Symmetry,
    /// Node places, m, `[n_nodes]`: the vertices first, then the mid-side nodes.
    pub nodes: Vec<Point>,
    /// How many of the nodes are vertices.
    pub n_vertices: usize,
    /// Node ids, `[n_triangles][6]`: v0 v1 v2 m01 m12 m20, counter-clockwise.
    pub triangles: Vec<[u32; 6]>,
    /// Region of each triangle, `[n_triangles]`.
    pub region_of: Vec<RegionId>,
    /// All regions; the index is the [`RegionId`].
    pub regions: Vec<Region>,
    /// Nodes on the outer boundary, ascending.
    pub outer_nodes: Vec<u32>,
    /// Area between arcs and the flatter sides drawn in their place, m2: where an arc leaves
    /// another edge at a grazing angle a side that followed it would fold a triangle over. Zero for
    /// most sections, and falls with the cube of the size.
    pub flattened_area: f64,
    /// Radius of the outer boundary, m.
    pub outer_radius: f64,
    /// Centre of the outer boundary, m.
    pub centre: Point,
}
