//! The section as understood: names resolved, defaults applied, repeats written out, lengths in
//! metres. What the later stages are built from.

use std::ops::Range;

use crate::point::Point;

/// How the two-dimensional section stands for a three-dimensional thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symmetry {
    /// The same in every plane parallel to the section; unknown A_z.
    Planar,
    /// The section turned about the line x = 0; unknown v = A_phi / r.
    Axisymmetric,
}

/// How strings lie in a planar section. In an axisymmetric section a string always crosses the
/// axis at right angles and [`StringRun::InPlane`] is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StringRun {
    /// Along the x axis of the section.
    InPlane,
    /// Through the plane: the section shows the string as a circle.
    Through,
}

/// A whole pickup section.
#[derive(Clone, Debug)]
pub struct Section {
    /// What the file calls itself.
    pub title: String,
    /// Planar or axisymmetric.
    pub symmetry: Symmetry,
    /// How strings lie.
    pub string_run: StringRun,
    /// Planar only: length of the pickup through the plane, m. Totals per piece use it.
    pub depth: Option<f64>,
    /// Solid parts, repeats written out. Does not hold strings and coils.
    pub parts: Vec<Part>,
    /// Coils.
    pub coils: Vec<Coil>,
    /// Strings.
    pub strings: Vec<StringSpec>,
    /// Axisymmetric only: the section's pole stands in a row with others like it.
    pub row: Option<Row>,
    /// Places where the field is asked for.
    pub probes: Vec<Probe>,
    /// Materials the file defines itself; they come before the library's of the same name.
    pub materials: Vec<MaterialSpec>,
    /// Temperature of the magnets, degrees Celsius. Default 20.
    pub temperature: f64,
    /// What has happened to the magnets: at least one state, the last being the one that is asked for
    /// (never [`PickupState::Alone`]). In the first they are charged. Default: in place.
    pub history: Vec<PickupState>,
    /// Uniform flux density laid on from far away, T (planar: B_x, B_y; axisymmetric: 0, B_z).
    pub applied_field: [f64; 2],
    /// Radius of the outer boundary, m; `None` lets the geometry stage choose.
    pub outer_radius: Option<f64>,
    /// Multiplies every mesh size; 1 is the default, 0.5 halves them.
    pub mesh_scale: f64,
}

/// A state of the pickup, as far as its magnets feel it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PickupState {
    /// Everything as drawn, keepers on.
    InPlace,
    /// Every magnet by itself, with nothing else near.
    Alone,
    /// Everything but the keepers.
    KeepersOff,
}

impl PickupState {
    /// The state in the words of the section file.
    pub fn word(self) -> &'static str {
        match self {
            Self::InPlace => "in place",
            Self::Alone => "alone",
            Self::KeepersOff => "keepers off",
        }
    }
}

impl Section {
    /// The state that is asked for.
    pub fn state(&self) -> PickupState {
        self.history.last().copied().unwrap_or(PickupState::InPlace)
    }

    /// Whether parts of this role are away in the state that is asked for.
    pub fn is_taken_off(&self, role: Role) -> bool {
        role == Role::Keeper && self.state() == PickupState::KeepersOff
    }
}

/// What a part is for. Decides how the report speaks of it, not how it is solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// A permanent magnet.
    Magnet,
    /// Soft iron that carries flux to a string.
    PolePiece,
    /// A plate under magnets or poles.
    BasePlate,
    /// A cover or shield.
    Cover,
    /// A bar laid over poles while they are charged or stored.
    Keeper,
    /// A coil window.
    Coil,
    /// A string.
    String,
    /// Anything else.
    Body,
}

impl Role {
    /// The role in the words of the section file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Magnet => "magnet",
            Self::PolePiece => "pole piece",
            Self::BasePlate => "base plate",
            Self::Cover => "cover",
            Self::Keeper => "keeper",
            Self::Coil => "coil",
            Self::String => "string",
            Self::Body => "body",
        }
    }
}

/// A name used in the file, with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// The name.
    pub name: String,
    /// Byte range in the section text.
    pub span: Range<usize>,
}

/// One solid part.
#[derive(Clone, Debug)]
pub struct Part {
    /// Unique name; copies of a repeated part are `rod 1`, `rod 2`, ...
    pub name: String,
    /// Place of the part in the file.
    pub span: Range<usize>,
    /// What it is for.
    pub role: Role,
    /// Its material, by name.
    pub material: Named,
    /// Its shape.
    pub shape: Shape,
    /// Where the origin of the shape stands, m.
    pub at: Point,
    /// Turn about `at`, radian, counter-clockwise.
    pub rotation: f64,
    /// Magnets: direction of magnetisation.
    pub charge: Option<Charge>,
    /// Names of parts that this one passes through; it displaces them where they overlap.
    pub passes_through: Vec<Named>,
    /// Planar: steady current through the section, A, positive out of the page. Spread evenly.
    pub current: f64,
}

/// Direction in which a magnet is charged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Charge {
    /// The same direction everywhere: angle in radian from the x axis, counter-clockwise.
    /// Axisymmetric: only +-pi/2 (along the axis).
    Angle(f64),
    /// Axisymmetric: outward (+1) or inward (-1).
    Radial(f64),
}

/// A shape about its own origin, m.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Centred on the origin.
    Rectangle {
        /// Full width, m.
        width: f64,
        /// Full height, m.
        height: f64,
        /// How each corner is finished: bottom left, bottom right, top right, top left.
        corners: [Corner; 4],
    },
    /// Centred on the origin.
    Circle {
        /// Radius, m.
        radius: f64,
    },
    /// Closed, either sense.
    Polygon {
        /// Corners, m.
        corners: Vec<Point>,
        /// `sides[i]` joins corner i and corner i + 1.
        sides: Vec<PolygonSide>,
    },
}

/// How a rectangle's corner is finished.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Corner {
    /// Left as it is.
    Sharp,
    /// Rounded with this radius, m.
    Round(f64),
    /// Cut at 45 degrees, this far along both sides, m.
    Bevel(f64),
}

/// A side of a polygon.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PolygonSide {
    /// A straight line.
    Straight,
    /// The arc through this point, m.
    ArcThrough(Point),
}

/// A coil.
#[derive(Clone, Debug)]
pub struct Coil {
    /// Unique name.
    pub name: String,
    /// Place in the file.
    pub span: Range<usize>,
    /// Number of turns; every window with the same sense shares them by area.
    pub turns: f64,
    /// Bare wire diameter, m, where given (for the resistance).
    pub wire_diameter: Option<f64>,
    /// Where the wire crosses the section. Planar: at least one going and one returning.
    /// Axisymmetric: one or more, usually one.
    pub windows: Vec<Window>,
}

/// A place where a coil's wire crosses the section.
#[derive(Clone, Debug)]
pub struct Window {
    /// Its outline.
    pub shape: Shape,
    /// Where the origin of the shape stands, m.
    pub at: Point,
    /// +1 where a positive coil current comes out of the page (axisymmetric: goes round in the
    /// sense of phi, counter-clockwise seen from above), -1 where it goes in.
    pub sense: f64,
    /// Turns in this window.
    pub turns: f64,
    /// Place in the file.
    pub span: Range<usize>,
}

/// A string.
#[derive(Clone, Debug)]
pub struct StringSpec {
    /// Unique name.
    pub name: String,
    /// Place in the file.
    pub span: Range<usize>,
    /// Outer diameter, m.
    pub gauge: f64,
    /// Diameter of the magnetic core, m: of a wound string across the flats of its hexagon; the gauge for a
    /// plain one.
    pub core_diameter: f64,
    /// Material of the core.
    pub core: Named,
    /// Material of the wrap, for a wound string.
    pub wrap: Option<Named>,
    /// Where the string's axis passes, m. `Through`: its centre in the section. `InPlane` and
    /// axisymmetric: `y` is the height of the axis and `x` is 0.
    pub axis: Point,
    /// `InPlane` and axisymmetric: how far the string stands sideways, out of the plane or off
    /// the axis of symmetry, m.
    pub offset: f64,
    /// Index into [`Section::parts`] of the pole whose face the gap is measured from.
    pub over: Option<usize>,
    /// Clear distance from that face to the string's underside, m.
    pub gap: Option<f64>,
    /// Over a row: the pole it stands over, from 0. `axis` is then measured where the highest pole
    /// of the row stands as the section draws it, and `offset` from this pole's axis.
    pub pole: Option<usize>,
    /// Over a row: further offsets at which the string is asked for, as in a bend, m.
    pub bends: Vec<f64>,
}

/// A row of round poles, each as the section draws it, at the same pitch.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// How many.
    pub count: usize,
    /// From one axis to the next, m.
    pub pitch: f64,
    /// How much higher than drawn each one stands, m, `[count]`.
    pub heights: Vec<f64>,
    /// Whether every second pole is charged the other way round.
    pub alternating: bool,
    /// Length of the straight sides of the coils, m.
    pub straight: f64,
}

impl Row {
    /// Place of pole `k` along the row, from its middle, m.
    pub fn place(&self, k: usize) -> f64 {
        (k as f64 - 0.5 * (self.count - 1) as f64) * self.pitch
    }

    /// +1, or -1 for a pole that is charged the other way round.
    pub fn sense(&self, k: usize) -> f64 {
        if self.alternating && k % 2 == 1 { -1.0 } else { 1.0 }
    }

    /// How much higher than drawn the highest pole stands, m.
    pub fn highest(&self) -> f64 {
        self.heights.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// How much lower than the highest pole `k` stands, m.
    pub fn below_highest(&self, k: usize) -> f64 {
        self.heights.get(k).map_or(0.0, |own| self.highest() - own)
    }
}

/// A place where the field is asked for.
#[derive(Clone, Debug)]
pub struct Probe {
    /// Unique name.
    pub name: String,
    /// Place in the file.
    pub span: Range<usize>,
    /// The points asked for, m: one, or the samples of a straight line in order.
    pub points: Vec<Point>,
}

/// A material defined in the file.
#[derive(Clone, Debug)]
pub struct MaterialSpec {
    /// Its name.
    pub name: String,
    /// Place in the file.
    pub span: Range<usize>,
    /// Its magnetic law.
    pub law: LawSpec,
}

/// A magnetic law as stated, before it is checked and fitted.
#[derive(Clone, Debug, PartialEq)]
pub enum LawSpec {
    /// B = mu_0 mu_r H.
    Linear {
        /// Relative permeability, >= 1.
        mu_r: f64,
    },
    /// Initial magnetisation curve through the points, monotone.
    Table {
        /// Field strength, A/m, from 0.
        h: Vec<f64>,
        /// Flux density, T, from 0.
        b: Vec<f64>,
    },
    /// Analytic law that saturates.
    Saturating {
        /// Saturation polarisation J_s, T.
        saturation: f64,
        /// Initial relative permeability.
        mu_initial: f64,
        /// Which curve joins the two.
        curve: SaturatingCurve,
    },
    /// Straight demagnetisation line B = B_r + mu_0 mu_rec H.
    StraightMagnet {
        /// Remanence, T.
        remanence: f64,
        /// Recoil permeability, relative, >= 1.
        recoil: f64,
    },
    /// Demagnetisation curve fitted to four data.
    Magnet {
        /// Remanence, T.
        remanence: f64,
        /// Coercivity of B, A/m, positive.
        coercivity: f64,
        /// Coercivity of J, A/m, positive, where known.
        intrinsic_coercivity: Option<f64>,
        /// Maximum energy product, J/m3.
        energy_product: f64,
        /// Recoil permeability, relative.
        recoil: f64,
        /// Permeability across the direction of charge, relative; the recoil permeability if `None`.
        transverse: Option<f64>,
        /// Change of remanence, 1/K.
        remanence_per_kelvin: f64,
        /// Change of coercivity of J, 1/K.
        coercivity_per_kelvin: f64,
    },
    /// Straight line with a knee at the coercivity of J.
    KneeMagnet {
        /// Remanence, T.
        remanence: f64,
        /// Coercivity of J, A/m, positive.
        intrinsic_coercivity: f64,
        /// Recoil permeability, relative.
        recoil: f64,
        /// Permeability across the direction of charge, relative; the recoil permeability if `None`.
        transverse: Option<f64>,
        /// Change of remanence, 1/K.
        remanence_per_kelvin: f64,
        /// Change of coercivity of J, 1/K.
        coercivity_per_kelvin: f64,
    },
    /// Measured demagnetisation curve: points of B(H) from the second quadrant.
    MagnetTable {
        /// Field strength, A/m, rising from -H_c to 0.
        h: Vec<f64>,
        /// Flux density, T.
        b: Vec<f64>,
        /// Recoil permeability, relative.
        recoil: f64,
        /// Permeability across the direction of charge, relative; the recoil permeability if `None`.
        transverse: Option<f64>,
    },
}

/// Analytic saturating curves J(H); chi_0 = mu_initial - 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SaturatingCurve {
    /// J = J_s chi_0 H / (J_s/mu_0 + chi_0 H).
    Froehlich,
    /// J = J_s (coth(H/h_0) - h_0/H), chi_0 = J_s / (3 mu_0 h_0).
    Langevin,
    /// J = (2 J_s/pi) atan(pi mu_0 chi_0 H / (2 J_s)).
    Arctangent,
}
