//! Outlines and the planar arrangement they form.

use crate::point::Point;
use crate::section::{Role, Symmetry};

/// A side of an outline or an edge of the arrangement, between two known points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Side {
    /// Straight.
    Straight,
    /// Part of a circle, less than a full turn.
    Arc {
        /// Centre of the circle, m.
        centre: Point,
        /// Sense in which the arc runs from its first to its second end.
        counter_clockwise: bool,
    },
}

/// A closed outline without self-crossings, counter-clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Corners, m.
    pub corners: Vec<Point>,
    /// `sides[i]` joins corner i and corner i + 1 (the last one joins the first).
    pub sides: Vec<Side>,
}

/// Which region of the arrangement; 0 is the air around everything.
pub type RegionId = u32;

/// The air around everything.
pub const AIR: RegionId = 0;

/// What lies beyond the outer boundary.
pub const OUTSIDE: RegionId = RegionId::MAX;

/// What belongs to a region.
#[derive(Clone, Debug)]
pub struct Region {
    /// Name of the part, string or coil window (`coil` with several windows: `coil window 2`).
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Where it comes from in the section.
    pub source: Source,
    /// Its full outline, before others that pass through it are taken out; `None` for air.
    pub outline: Option<Outline>,
    /// Area that is left of it, m2 (analytic, arcs exact). Infinite for air.
    pub area: f64,
}

/// Where a region comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// The air around everything.
    Air,
    /// Index into `Section::parts`.
    Part(usize),
    /// Index into `Section::coils` and into its windows.
    Window(usize, usize),
    /// Index into `Section::strings`: all that is meshed of a string but for its wrap.
    String(usize),
    /// Index into `Section::strings`: the ring that stands for its wrap. Core and ring share their edge.
    Wrap(usize),
}

impl Source {
    /// The string that it belongs to, if any.
    pub fn string(self) -> Option<usize> {
        match self {
            Self::String(string) | Self::Wrap(string) => Some(string),
            Self::Air | Self::Part(_) | Self::Window(..) => None,
        }
    }
}

/// An edge of the arrangement; edges meet only at vertices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// First and second vertex.
    pub ends: [u32; 2],
    /// Straight, or an arc of at most a quarter turn.
    pub side: Side,
    /// Region on the left when going from the first to the second end, [`OUTSIDE`] beyond the
    /// outer boundary.
    pub left: RegionId,
    /// Region on the right.
    pub right: RegionId,
}

/// The cleaned planar arrangement: what the mesh must respect.
///
/// Vertices closer than the tolerance are merged, crossings are split, duplicates dropped.
/// The outer boundary (a circle, or in axisymmetric sections a half circle closed along the
/// axis) is part of the edges.
#[derive(Clone, Debug)]
pub struct Regions {
    /// Planar or axisymmetric.
    pub symmetry: Symmetry,
    /// Vertices, m.
    pub vertices: Vec<Point>,
    /// Edges.
    pub edges: Vec<Edge>,
    /// All regions; the index is the [`RegionId`].
    pub regions: Vec<Region>,
    /// For each region, the regions that lie on top of it where both cover a point (those that
    /// pass through it). A point belongs to the region that covers it and is not displaced.
    pub displaced_by: Vec<Vec<RegionId>>,
    /// Centre of the outer boundary, m.
    pub centre: Point,
    /// Radius of the outer boundary, m.
    pub outer_radius: f64,
    /// Radius about `centre` that holds everything solid, m.
    pub inner_radius: f64,
    /// Lines along which a fine mesh is wanted though nothing is there.
    pub fine_lines: Vec<FineLine>,
    /// Height of the line y = const between the highest metal and the lowest in-plane string on
    /// which the field is sampled for strings coupled in three dimensions, m. `None` where no
    /// string runs in the plane.
    pub sampling_height: Option<f64>,
    /// Multiplies every mesh size.
    pub mesh_scale: f64,
    /// Fewest triangle sides to a full circle, however large the sizes: usually [`FEWEST_SIDES`].
    pub fewest_sides: f64,
}

/// Fewest triangle sides to a full circle of a mesh whose sizes are those asked for: the parabola through the
/// ends and the middle of such an arc leaves 1e-5 of the circle's area out.
pub const FEWEST_SIDES: f64 = 24.0;

/// A straight line (or a point, where both ends are the same) along which the mesh is fine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FineLine {
    /// First end, m.
    pub from: Point,
    /// Second end, m.
    pub to: Point,
    /// Wanted triangle size there, m.
    pub size: f64,
}
