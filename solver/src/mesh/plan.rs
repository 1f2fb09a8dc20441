//! The arrangement as the mesh generator sees it: moved to the origin, scaled to about one,
//! rounded to a grid.
//!
//! The grid is 2^-40 of the unit, about 1e-12 of the section. It makes a section and its mirror
//! image, whose numbers may differ in the last bit, the same to the generator.

use crate::geometry::{
    Edge, FineLine, OUTSIDE, Outline, Piece, Region, RegionId, Regions, Side, Source,
};
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
    /// Fewest sides to a full circle.
    pub fewest_sides: f64,
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
        let centre = regions.centre;
        let place = |p: Point| placed(p, centre, unit);
        let side = |s: Side| match s {
            Side::Straight => Side::Straight,
            Side::Arc { centre, counter_clockwise } => {
                Side::Arc { centre: place(centre), counter_clockwise }
            }
        };
        let outline = |o: &Outline| Outline {
            corners: o.corners.iter().map(|&c| place(c)).collect(),
            sides: o.sides.iter().map(|&s| side(s)).collect(),
        };
        let region = |r: &Region| PlanRegion {
            outline: r.outline.as_ref().map(outline),
            role: r.role,
            source: r.source,
        };
        let line =
            |l: &FineLine| FineLine { from: place(l.from), to: place(l.to), size: l.size / unit };
        Self {
            unit,
            centre,
            symmetry: regions.symmetry,
            vertices: regions.vertices.iter().map(|&v| place(v)).collect(),
            edges: regions.edges.iter().map(|e| Edge { side: side(e.side), ..*e }).collect(),
            regions: regions.regions.iter().map(region).collect(),
            fine_lines: regions.fine_lines.iter().map(line).collect(),
            outer_radius: regions.outer_radius / unit,
            inner_radius: regions.inner_radius / unit,
            mesh_scale: regions.mesh_scale,
            fewest_sides: regions.fewest_sides,
        }
    }

    /// A place of the section in the plan.
    pub fn placed(&self, p: Point) -> Point {
        placed(p, self.centre, self.unit)
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

/// The nearest point of the grid, in plan units.
pub(crate) const GRID: f64 = 1.0 / (1u64 << 40) as f64;

fn placed(p: Point, centre: Point, unit: f64) -> Point {
    let q = (p - centre) * (1.0 / unit);
    Point::new(snapped(q.x), snapped(q.y))
}

fn snapped(v: f64) -> f64 {
    // The sum turns -0 into 0, so that mirror images sort alike.
    (v / GRID).round() * GRID + 0.0
}
