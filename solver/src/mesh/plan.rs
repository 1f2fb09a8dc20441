//! The arrangement as the mesh generator sees it: moved to the origin, scaled to about one,
//! rounded to a grid.
//!
//! The grid is 2^-40 of the unit, about 1e-12 of the section. It makes a section and its mirror
//! image, whose numbers may differ in the last bit, the same to the generator.

use crate::geometry::{Edge, FineLine, OUTSIDE, Outline, Piece, RegionId, Regions, Side, Source};
use crate::point::Point;
use crate::section::{Role, Symmetry};

/// What the mesh generator works on; all lengths in units of `unit`, about `centre`.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    /// Metres per unit, a power of two near the radius of the section.
    pub unit: f64,
    /// Origin of the plan in the section, m.
    pub centre: Point,
    /// Planar or axisymmetric.
    pub symmetry: Symmetry,
    /// Vertices.
    pub vertices: Vec<Point>,
    /// Edges.
    pub edges: Vec<Edge>,
    /// Regions, the index is the [`RegionId`].
    pub regions: Vec<PlanRegion>,
    /// Lines along which the mesh is to be fine.
    pub fine_lines: Vec<FineLine>,
    /// Radius of the outer boundary.
    pub outer_radius: f64,
    /// Radius that holds everything solid.
    pub inner_radius: f64,
    /// Factor on all sizes.
    pub mesh_scale: f64,
}

/// What the sizes inside a region depend on.
#[derive(Clone, Debug)]
pub(crate) struct PlanRegion {
    /// Its outline; `None` for air.
    pub outline: Option<Outline>,
    /// What it is for.
    pub role: Role,
    /// Where it comes from.
    pub source: Source,
}

impl Plan {
    pub fn new(regions: &Regions) -> Self {
        let unit = regions.inner_radius.log2().round().exp2();
        let grid = (-40f64).exp2();
        let centre = regions.centre;
        let free = |p: Point| (p - centre) * (1.0 / unit);
        let snap = |v: f64| (v / grid).round() * grid;
        let place = |p: Point| {
            let q = free(p);
            Point::new(snap(q.x), snap(q.y))
        };
        let vertices: Vec<Point> = regions.vertices.iter().map(|&v| place(v)).collect();
        let edges = regions
            .edges
            .iter()
            .map(|e| {
                let [a, b] = e.ends.map(|v| v as usize);
                let old =
                    Piece { from: regions.vertices[a], to: regions.vertices[b], side: e.side };
                // In plan units before the ends are rounded, then moved along with them.
                let side = placed_side(old.side, free);
                let piece = Piece { from: free(old.from), to: free(old.to), side };
                Edge { side: piece.moved(vertices[a], vertices[b]).side, ..*e }
            })
            .collect();
        let outline = |o: &Outline| Outline {
            corners: o.corners.iter().map(|&c| free(c)).collect(),
            sides: o.sides.iter().map(|&s| placed_side(s, free)).collect(),
        };
        Self {
            unit,
            centre,
            symmetry: regions.symmetry,
            vertices,
            edges,
            regions: regions
                .regions
                .iter()
                .map(|r| PlanRegion {
                    outline: r.outline.as_ref().map(outline),
                    role: r.role,
                    source: r.source,
                })
                .collect(),
            fine_lines: regions
                .fine_lines
                .iter()
                .map(|l| FineLine { from: free(l.from), to: free(l.to), size: l.size / unit })
                .collect(),
            outer_radius: regions.outer_radius / unit,
            inner_radius: regions.inner_radius / unit,
            mesh_scale: regions.mesh_scale,
        }
    }

    /// A place of the plan in the section, m.
    pub fn metres(&self, p: Point) -> Point {
        self.centre + p * self.unit
    }

    /// A place of the plan in the section, mm.
    pub fn millimetres(&self, p: Point) -> Point {
        self.metres(p) * 1e3
    }

    /// Edge `e` with its ends.
    pub fn piece(&self, e: usize) -> Piece {
        let Edge { ends: [a, b], side, .. } = self.edges[e];
        Piece { from: self.vertices[a as usize], to: self.vertices[b as usize], side }
    }

    /// Whether the two sides of the edge differ and neither is outside.
    pub fn parts_regions(&self, e: usize) -> bool {
        let Edge { left, right, .. } = self.edges[e];
        left != right && left != OUTSIDE && right != OUTSIDE
    }

    /// Whether a region is solid: neither air nor a coil window.
    pub fn is_solid(&self, region: RegionId) -> bool {
        self.regions
            .get(region as usize)
            .is_some_and(|r| r.source != Source::Air && r.role != Role::Coil)
    }
}

fn placed_side(side: Side, place: impl Fn(Point) -> Point) -> Side {
    match side {
        Side::Straight => Side::Straight,
        Side::Arc { centre, counter_clockwise } => {
            Side::Arc { centre: place(centre), counter_clockwise }
        }
    }
}
