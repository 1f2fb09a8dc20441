//! The numbers that are taken from a field. SI throughout.
//!
//! In planar sections extensive numbers are per metre of depth; [`Quantities::depth`] turns them
//! into totals where the file gives one.

use crate::field::SolveInfo;
use crate::point::Point;
use crate::quantity::working_point::WorkingPoint;
use crate::section::{Role, Symmetry};
use crate::strings::CoupledString;

/// Everything a solve has to say.
#[derive(Clone, Debug)]
pub struct Quantities {
    /// Planar or axisymmetric.
    pub symmetry: Symmetry,
    /// Planar: length through the plane, m, where the file gives it.
    pub depth: Option<f64>,
    /// Field energy, integral of the energy density, J/m or J. Strings in.
    pub energy: f64,
    /// Flux density at the asked places.
    pub probes: Vec<ProbeReading>,
    /// Every solid part.
    pub parts: Vec<PartReading>,
    /// Pull on every set of touching parts, coil windows and strings.
    pub pulls: Vec<BodyPull>,
    /// Every coil.
    pub coils: Vec<CoilReading>,
    /// Every string.
    pub strings: Vec<StringReading>,
    /// Over a row of poles: what else there is to say of it.
    pub row: Option<RowReading>,
    /// How the solve without strings went.
    pub solve_without: SolveInfo,
    /// How the solve with strings in place went, where they are meshed.
    pub solve_with: Option<SolveInfo>,
}

/// A row of round poles.
#[derive(Clone, Debug)]
pub struct RowReading {
    /// Mean flux density that the others lay on each pole, along its own charge, T, `[n_poles]`.
    pub laid_on: Vec<f64>,
    /// Strings pushed sideways, in the order of the file.
    pub bends: Vec<BendReading>,
}

/// A string pushed sideways.
#[derive(Clone, Debug)]
pub struct BendReading {
    /// The string.
    pub name: String,
    /// How far from the axis of its pole, m.
    pub offset: f64,
    /// Pull (sideways, upward), N.
    pub pull: [f64; 2],
    /// For each coil, change of linkage with place (sideways, upward), Wb/m.
    pub linkage_change: Vec<[f64; 2]>,
    /// Upward change of linkage of all coils in series over that of the string where it stands at rest.
    pub level: f64,
}

/// Flux density along a probe, strings in and out.
#[derive(Clone, Debug)]
pub struct ProbeReading {
    /// Its name.
    pub name: String,
    /// The points, m.
    pub points: Vec<Point>,
    /// Flux density with the strings in place, T; `None` outside the meshed domain.
    pub with_strings: Vec<Option<[f64; 2]>>,
    /// Flux density with the strings taken out, T.
    pub without_strings: Vec<Option<[f64; 2]>>,
    /// The room of each point: see [`crate::quantity::enclosed`].
    pub rooms: Vec<Option<u32>>,
}

/// A solid part.
#[derive(Clone, Debug)]
pub struct PartReading {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Mean flux density over its section, T.
    pub flux_density: [f64; 2],
    /// Largest magnitude, T.
    pub largest: f64,
    /// Upward flux averaged over its height, Wb/m or Wb.
    pub upward_flux: f64,
    /// Magnets: where on the demagnetisation curve it works.
    pub working_point: Option<WorkingPoint>,
}

/// Pull on a rigid body.
#[derive(Clone, Debug)]
pub struct BodyPull {
    /// Names of the touching regions that make it up.
    pub members: Vec<String>,
    /// Pull (x, y), N/m or N. Axisymmetric: x is 0.
    pub pull: [f64; 2],
}

/// A coil.
#[derive(Clone, Debug)]
pub struct CoilReading {
    /// Its name.
    pub name: String,
    /// Turns.
    pub turns: f64,
    /// Flux linkage with the strings in place, Wb/m or Wb.
    pub linkage: f64,
    /// Flux linkage with the strings taken out, Wb/m or Wb.
    pub linkage_without: f64,
    /// Inductance for small currents at the working point, H/m or H, strings in.
    pub inductance: f64,
    /// Resistance of the wire at 20 degrees Celsius, ohm, where wire and mean turn are known.
    pub resistance: Option<f64>,
}

/// Which model a string's numbers come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StringModel {
    /// Meshed in the plane as an endless thing through it. Numbers are per metre of that endless
    /// string and miss what the string does along itself. A magnetic wrap is the ring from core to gauge.
    MeshedThrough,
    /// Meshed in the plane as an endless sheet of the string's thickness. Per metre of depth.
    MeshedSheet,
    /// Coupled in three dimensions. Whole newtons and webers.
    Coupled,
}

impl StringModel {
    /// True where extensive numbers are per metre of depth.
    pub fn per_metre(self) -> bool {
        self != Self::Coupled
    }
}

/// A string.
#[derive(Clone, Debug)]
pub struct StringReading {
    /// Its name.
    pub name: String,
    /// Where the numbers come from.
    pub model: StringModel,
    /// Its axis, m.
    pub axis: Point,
    /// Gauge, m.
    pub gauge: f64,
    /// Clear distance from the pole face to its underside, m.
    pub gap: Option<f64>,
    /// Flux density at its axis with all strings taken out, T.
    pub flux_density_without: [f64; 2],
    /// Whether a ring that stands for its wrap is part of what is meshed of it.
    pub wrap_is_meshed: bool,
    /// Mean flux density in it, T.
    pub flux_density: [f64; 2],
    /// Largest flux density in it, T.
    pub largest: f64,
    /// Pull (sideways, upward), N/m or N.
    pub pull: [f64; 2],
    /// Change of pull with place: `pull_gradient[i][k]` is d pull_i / d place_k, N/m2 or N/m.
    pub pull_gradient: [[f64; 2]; 2],
    /// For each coil, change of linkage with place (sideways, upward), Wb/m2 or Wb/m.
    pub linkage_change: Vec<[f64; 2]>,
    /// [`StringModel::Coupled`] only: everything else the coupled string tells.
    pub coupled: Option<CoupledString>,
}
