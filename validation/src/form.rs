//! The exact solution a case is held against, as `case.toml` names it, and what it answers.
//!
//! Keys carry their units. A form answers what its problem has an exact solution for and `None`
//! to the rest, so that a check without a reference is an error and not a pass.

#![expect(non_snake_case, reason = "the keys of case.toml end in their units, T and A among them")]

use lodestring::point::Point;
use lodestring::units::MM;
use serde::Deserialize;

use crate::closed_form::coil::RoundCoil;
use crate::closed_form::cylinder_magnet::CylinderMagnet;
use crate::closed_form::cylindrical_shell::CylindricalShell;
use crate::closed_form::demagnetisation::FourDataCurve;
use crate::closed_form::line_current::LineCurrent;
use crate::closed_form::load_line::{self, CYLINDER, SPHERE};
use crate::closed_form::magnetised_cylinder::{self, MagnetisedCylinder};
use crate::closed_form::magnetised_sphere::MagnetisedSphere;
use crate::closed_form::permeable_cylinder::{PermeableCylinder, line_dipole};
use crate::closed_form::rectangular_bar::RectangularBar;
use crate::closed_form::spherical_shell::{SphericalShell, point_dipole};
use crate::closed_form::{halbach_cylinder, iron_half_space, steel, wire_beside_cylinder};

/// A problem with an exact solution.
#[derive(Clone, Debug, Deserialize)]
#[serde(tag = "form", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Form {
    /// Long permeable cylinder across a uniform field.
    PermeableCylinder {
        /// Radius, mm.
        radius_mm: f64,
        /// Relative permeability.
        mu_r: f64,
        /// Flux density far away, T.
        applied_T: [f64; 2],
    },
    /// Long cylinder of the benchmark steel across a uniform field along y.
    SteelCylinder {
        /// Radius, mm.
        radius_mm: f64,
        /// Flux density far away, along y, T.
        applied_T: f64,
    },
    /// Ball of the benchmark steel in a uniform axial field.
    SteelSphere {
        /// Radius, mm.
        radius_mm: f64,
        /// Flux density far away, T.
        applied_T: f64,
    },
    /// Long cylinder magnetised across its axis, straight line.
    MagnetisedCylinder {
        /// Radius, mm.
        radius_mm: f64,
        /// Remanence, T.
        remanence_T: [f64; 2],
        /// Recoil permeability.
        mu_r: f64,
    },
    /// Long cylinder magnetised along y, on the demagnetisation curve of four data.
    CurvedMagnetCylinder {
        /// Radius, mm.
        radius_mm: f64,
        /// The curve.
        curve: FourData,
    },
    /// Ball magnetised along the axis, on the demagnetisation curve of four data.
    CurvedMagnetSphere {
        /// Radius, mm.
        radius_mm: f64,
        /// The curve.
        curve: FourData,
    },
    /// Two long cylinders magnetised along y, one above the other, permeability 1.
    TwoMagnetisedCylinders {
        /// Radii of the lower and the upper one, mm.
        radius_mm: [f64; 2],
        /// Remanence of the lower and the upper one, T.
        remanence_T: [f64; 2],
        /// Distance of their centres, mm.
        distance_mm: f64,
    },
    /// Long permeable tube across a uniform field.
    CylindricalShell {
        /// Inner radius, mm.
        inner_mm: f64,
        /// Outer radius, mm.
        outer_mm: f64,
        /// Relative permeability.
        mu_r: f64,
        /// Flux density far away, T.
        applied_T: [f64; 2],
    },
    /// Segmented tube whose magnetisation turns twice as fast as the angle.
    HalbachCylinder {
        /// Inner radius, mm.
        inner_mm: f64,
        /// Outer radius, mm.
        outer_mm: f64,
        /// Remanence, T.
        remanence_T: f64,
        /// Number of segments.
        segments: u32,
    },
    /// Long bar of rectangular section, centred on the origin, magnetised along y.
    RectangularBar {
        /// Width, mm.
        width_mm: f64,
        /// Height, mm.
        height_mm: f64,
        /// Remanence, T.
        remanence_T: f64,
        /// Straight currents beside it, which it pushes.
        #[serde(default)]
        wires: Vec<Wire>,
    },
    /// Straight currents in air.
    Wires {
        /// The currents.
        wires: Vec<Wire>,
    },
    /// Straight currents above an iron half-space y < 0.
    WiresOverIron {
        /// The currents.
        wires: Vec<Wire>,
        /// Relative permeability of the iron.
        mu_r: f64,
    },
    /// A straight current beside a permeable cylinder about the origin.
    WireBesideCylinder {
        /// The current.
        wire: Wire,
        /// Radius of the cylinder, mm.
        radius_mm: f64,
        /// Relative permeability of the cylinder.
        mu_r: f64,
    },
    /// Round rod centred on the origin, magnetised along the axis, permeability 1.
    CylinderMagnet {
        /// Radius, mm.
        radius_mm: f64,
        /// Length, mm.
        length_mm: f64,
        /// Remanence, T.
        remanence_T: f64,
    },
    /// Hollow (or full) permeable ball in a uniform axial field.
    SphericalShell {
        /// Inner radius, mm; 0 for a full ball.
        inner_mm: f64,
        /// Outer radius, mm.
        outer_mm: f64,
        /// Relative permeability.
        mu_r: f64,
        /// Flux density far away, T.
        applied_T: f64,
    },
    /// Ball magnetised along the axis in a uniform axial field.
    MagnetisedSphere {
        /// Radius, mm.
        radius_mm: f64,
        /// Remanence, T.
        remanence_T: f64,
        /// Recoil permeability.
        mu_r: f64,
        /// Flux density far away, T.
        applied_T: f64,
    },
    /// Coaxial round coils in air.
    RoundCoils {
        /// The coils.
        coils: Vec<NamedCoil>,
    },
    /// No closed form: the figures stand with each check.
    Figures {},
}

/// Four data of a demagnetisation curve.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FourData {
    /// Remanence, T.
    pub remanence_T: f64,
    /// Coercivity of B, kA/m.
    pub coercivity_kA_per_m: f64,
    /// Maximum energy product, kJ/m3.
    pub energy_product_kJ_per_m3: f64,
    /// Recoil permeability, relative.
    pub recoil: f64,
}

impl FourData {
    /// Working point of a body of the demagnetising factor `n` without any applied field.
    fn alone(self, n: f64) -> load_line::WorkingPoint {
        let coercivity = self.coercivity_kA_per_m * 1e3;
        let curve = FourDataCurve::through(
            self.remanence_T,
            coercivity,
            self.energy_product_kJ_per_m3 * 1e3,
            self.recoil,
        );
        load_line::working_point(|h| curve.flux_density(h), n, 0.0, -coercivity, 0.0)
    }
}

/// A straight current with the name of the part that carries it.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wire {
    /// Name of the part.
    pub name: String,
    /// Its place, mm.
    pub at_mm: [f64; 2],
    /// Current, A, positive out of the page.
    pub current_A: f64,
}

impl Wire {
    fn line(&self) -> LineCurrent {
        LineCurrent {
            current: self.current_A,
            at: Point::new(self.at_mm[0] * MM, self.at_mm[1] * MM),
        }
    }
}

/// A round coil with its name.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NamedCoil {
    /// Name of the coil.
    pub name: String,
    /// Inner and outer radius, mm.
    pub radius_mm: [f64; 2],
    /// Lower and upper end, mm.
    pub height_mm: [f64; 2],
    /// Number of turns.
    pub turns: f64,
}

impl NamedCoil {
    fn coil(&self) -> RoundCoil {
        RoundCoil {
            inner: self.radius_mm[0] * MM,
            outer: self.radius_mm[1] * MM,
            lower: self.height_mm[0] * MM,
            upper: self.height_mm[1] * MM,
            turns: self.turns,
        }
    }
}

impl Form {
    /// Flux density at `p` (x, y) or (r, z), T.
    pub fn flux_density(&self, p: Point) -> Option<[f64; 2]> {
        let inside = |radius_mm: f64| p.distance(Point::default()) < radius_mm * MM;
        Some(match self {
            &Self::PermeableCylinder { radius_mm, mu_r, applied_T: applied } => {
                PermeableCylinder { radius: radius_mm * MM, mu_r, applied }.flux_density(p)
            }
            &Self::SteelCylinder { radius_mm, applied_T } => {
                let b = load_line::working_point(
                    steel::flux_density,
                    CYLINDER,
                    applied_T,
                    0.0,
                    STRONGEST_FIELD,
                )
                .b;
                if inside(radius_mm) {
                    return Some([0.0, b]);
                }
                let dipole = line_dipole([0.0, b - applied_T], radius_mm * MM, p);
                [dipole[0], applied_T + dipole[1]]
            }
            &Self::SteelSphere { radius_mm, applied_T } => {
                let b = load_line::working_point(
                    steel::flux_density,
                    SPHERE,
                    applied_T,
                    0.0,
                    STRONGEST_FIELD,
                )
                .b;
                if inside(radius_mm) {
                    return Some([0.0, b]);
                }
                let dipole = point_dipole(0.5 * (b - applied_T), radius_mm * MM, p.x, p.y);
                [dipole[0], applied_T + dipole[1]]
            }
            &Self::MagnetisedCylinder { radius_mm, remanence_T: remanence, mu_r } => {
                MagnetisedCylinder { radius: radius_mm * MM, remanence, mu_r }.flux_density(p)
            }
            &Self::CurvedMagnetCylinder { radius_mm, curve } => {
                let b = [0.0, curve.alone(CYLINDER).b];
                if inside(radius_mm) { b } else { line_dipole(b, radius_mm * MM, p) }
            }
            &Self::CurvedMagnetSphere { radius_mm, curve } => {
                let b = curve.alone(SPHERE).b;
                if inside(radius_mm) {
                    [0.0, b]
                } else {
                    point_dipole(0.5 * b, radius_mm * MM, p.x, p.y)
                }
            }
            &Self::CylindricalShell { inner_mm, outer_mm, mu_r, applied_T: applied } => {
                let (inner, outer) = (inner_mm * MM, outer_mm * MM);
                CylindricalShell { inner, outer, mu_r, applied }.flux_density(p)
            }
            &Self::HalbachCylinder { inner_mm, outer_mm, remanence_T, segments } => {
                // Exact at the centre only.
                if p != Point::default() {
                    return None;
                }
                let b = halbach_cylinder::segmented_bore_field(
                    remanence_T,
                    inner_mm,
                    outer_mm,
                    segments,
                );
                [0.0, b]
            }
            Self::RectangularBar { wires, .. } if wires.is_empty() => self.bar()?.flux_density(p),
            Self::Wires { wires } => sum(wires.iter().map(|wire| wire.line().flux_density(p))),
            Self::WiresOverIron { wires, mu_r } if p.y > 0.0 => {
                iron_half_space::flux_density(&lines(wires), *mu_r, p)
            }
            Self::WireBesideCylinder { wire, radius_mm, mu_r } if !inside(*radius_mm) => {
                wire_beside_cylinder::flux_density(wire.line(), radius_mm * MM, *mu_r, p)
            }
            &Self::CylinderMagnet { radius_mm, length_mm, remanence_T: remanence } => {
                let (radius, length) = (radius_mm * MM, length_mm * MM);
                CylinderMagnet { radius, length, remanence }.flux_density(p.x, p.y)
            }
            &Self::SphericalShell { inner_mm, outer_mm, mu_r, applied_T: applied } => {
                let (inner, outer) = (inner_mm * MM, outer_mm * MM);
                SphericalShell { inner, outer, mu_r, applied }.flux_density(p.x, p.y)
            }
            &Self::MagnetisedSphere {
                radius_mm,
                remanence_T: remanence,
                mu_r,
                applied_T: applied,
            } => MagnetisedSphere { radius: radius_mm * MM, remanence, mu_r, applied }
                .flux_density(p.x, p.y),
            _ => return None,
        })
    }

    /// Pull (x, y) on the part called `body`, N/m.
    pub fn pull(&self, body: &str) -> Option<[f64; 2]> {
        match self {
            Self::Wires { wires } => {
                let index = wires.iter().position(|wire| wire.name == body)?;
                let others = wires.iter().enumerate().filter(|&(i, _)| i != index);
                let target = wires[index].line();
                let b = sum(others.map(|(_, wire)| wire.line().flux_density(target.at)));
                Some(target.force_in(b))
            }
            Self::WiresOverIron { wires, mu_r } => {
                let index = wires.iter().position(|wire| wire.name == body)?;
                Some(iron_half_space::force(&lines(wires), index, *mu_r))
            }
            Self::WireBesideCylinder { wire, radius_mm, mu_r } => {
                let pull = wire_beside_cylinder::force(wire.line(), radius_mm * MM, *mu_r);
                Some(if wire.name == body { pull } else { pull.map(|f| -f) })
            }
            Self::RectangularBar { wires, .. } => {
                let bar = self.bar()?;
                let push = |wire: &Wire| {
                    let line = wire.line();
                    line.force_in(bar.flux_density(line.at))
                };
                match wires.as_slice() {
                    [wire] if wire.name == body => Some(push(wire)),
                    [wire] => Some(push(wire).map(|f| -f)),
                    _ => None,
                }
            }
            Self::TwoMagnetisedCylinders { radius_mm, remanence_T, distance_mm } => {
                let radius = radius_mm.map(|r| r * MM);
                let f = magnetised_cylinder::attraction(*remanence_T, radius, distance_mm * MM);
                match body {
                    "lower" => Some([0.0, f]),
                    "upper" => Some([0.0, -f]),
                    _ => None,
                }
            }
            _ => None,
        }
    }

    /// Inductance of a coil (`one` and `two` the same) or of a pair, H.
    pub fn inductance(&self, one: &str, two: &str) -> Option<f64> {
        let Self::RoundCoils { coils } = self else { return None };
        let find = |name: &str| coils.iter().find(|c| c.name == name).map(NamedCoil::coil);
        Some(find(one)?.mutual_inductance(&find(two)?))
    }

    fn bar(&self) -> Option<RectangularBar> {
        let &Self::RectangularBar { width_mm, height_mm, remanence_T: remanence, .. } = self else {
            return None;
        };
        let (half_width, half_height) = (0.5 * width_mm * MM, 0.5 * height_mm * MM);
        Some(RectangularBar { half_width, half_height, remanence })
    }
}

/// Beyond any field strength that steel meets in these cases, A/m.
const STRONGEST_FIELD: f64 = 1e7;

fn lines(wires: &[Wire]) -> Vec<LineCurrent> {
    wires.iter().map(Wire::line).collect()
}

fn sum(fields: impl Iterator<Item = [f64; 2]>) -> [f64; 2] {
    fields.fold([0.0; 2], |sum, b| [sum[0] + b[0], sum[1] + b[1]])
}
