//! Plain and wound strings as one magnetic section.
//!
//! In: gauge, core diameter, the laws of core and wrap. Out: the radius and the law of an equivalent
//! homogeneous section for [`crate::strings::body`].
//!
//! - Plain, or a wrap that is not magnetic: the core alone. The core of a wound string is hexagonal,
//!   D_k across the flats, and stands for a round one of that area ([`crate::section`]).
//! - A magnetic wrap: the whole section of the gauge, with core and wrap side by side in the field
//!   that runs along the string, each by its share of the area. The wrap is one layer of round wire.
//! - Along the string the flux has to cross from turn to turn: a row of round wires of susceptibility
//!   chi in a field along the row is magnetised as chi / (1 + N chi) ([`crate::material::turns`]).
//! - Across the string the same mean law is used. A section as permeable as a string's is
//!   magnetised across by nearly twice the outer field whatever is inside it, so that the
//!   transverse part, a tenth of the pull, hardly sees the difference.
//!
//! Flux that runs round the helix is left out.

use std::f64::consts::PI;

use crate::material::turns::{ROW_FACTOR, is_magnetic};
use crate::material::{Law, StringMaterial};
use crate::section::StringSpec;
use crate::section::wound::{core_area, wrap_area};
use crate::strings::law::{Component, Curve, StringLaw};

/// The magnetic section of a string.
#[derive(Clone, Debug, PartialEq)]
pub struct MagneticSection {
    /// Radius, m.
    pub radius: f64,
    /// M(H) of the whole section.
    pub law: StringLaw,
}

impl MagneticSection {
    /// The section of a string as specified.
    pub fn of(spec: &StringSpec, material: &StringMaterial) -> Self {
        match &material.wrap {
            Some(wrap) if spec.core_diameter < spec.gauge => {
                Self::wound(spec.gauge, spec.core_diameter, &material.core.law, &wrap.law)
            }
            _ => Self::plain(spec.core_diameter, &material.core.law),
        }
    }

    /// A plain string of the given gauge (m).
    pub fn plain(gauge: f64, law: &Law) -> Self {
        Self { radius: 0.5 * gauge, law: StringLaw { components: vec![component(law, 1.0, 0.0)] } }
    }

    /// A wound string: `gauge` and `core_diameter` (across the flats) in m, `core_diameter` less
    /// than `gauge`.
    pub fn wound(gauge: f64, core_diameter: f64, core: &Law, wrap: &Law) -> Self {
        let core_area = core_area(core_diameter);
        if !is_magnetic(wrap) {
            let radius = (core_area / PI).sqrt();
            return Self { radius, law: StringLaw { components: vec![component(core, 1.0, 0.0)] } };
        }
        let wrap_area = wrap_area(gauge, core_diameter);
        let area = 0.25 * PI * gauge * gauge;
        let components = vec![
            component(core, core_area / area, 0.0),
            component(wrap, wrap_area / area, ROW_FACTOR),
        ];
        Self { radius: 0.5 * gauge, law: StringLaw { components } }
    }
}

fn component(law: &Law, share: f64, own_factor: f64) -> Component {
    let curve = match law {
        Law::Soft(soft) => Curve::Soft(soft.clone()),
        // A magnet is refused as a string's material; its recoil line is what it would answer with.
        Law::Linear { .. } | Law::Magnet(_) => Curve::Linear { chi: law.magnetisation(0.0).1 },
    };
    Component { share, own_factor, curve }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::material::SoftLaw;
    use crate::section::SaturatingCurve;
    use crate::units::{INCH, MU_0};

    fn steel() -> Law {
        Law::Soft(SoftLaw::saturating(SaturatingCurve::Froehlich, 2.0, 100.0).unwrap())
    }

    #[test]
    fn a_bronze_wrap_leaves_the_core() {
        let bronze = Law::Linear { mu_r: 1.0 };
        let section = MagneticSection::wound(0.042 * INCH, 0.016 * INCH, &steel(), &bronze);
        // Area of a hexagon 0.4064 mm across its flats: 0.14303 mm2.
        assert!((PI * section.radius.powi(2) - 0.14303e-6).abs() < 1e-11);
        let plain = MagneticSection::plain(1e-3, &steel());
        assert_eq!(section.law, plain.law);
    }

    #[test]
    fn a_magnetic_wrap_adds_its_share() {
        let nickel =
            Law::Soft(SoftLaw::saturating(SaturatingCurve::Langevin, 0.61, 150.0).unwrap());
        let section = MagneticSection::wound(0.046 * INCH, 0.017 * INCH, &steel(), &nickel);
        assert_eq!(section.radius, 0.023 * INCH);
        // Fill: hexagon 0.16147 mm2 and wrap 0.72709 mm2 of 1.07219 mm2.
        let [m, slope, _] = section.law.magnetisation(1e9);
        let full = (0.16147 * 2.0 + 0.72709 * 0.61) / 1.07219 / MU_0;
        // Froehlich at 1e9 A/m is 2e-5 short of saturation.
        assert!((m / full - 1.0).abs() < 1e-4, "{m} {full}");
        assert!(slope < 1e-4);
        // From rest: 99 by the core's share, 149 / (1 + 0.042 x 149) = 20.529 by the wrap's.
        let [_, slope, _] = section.law.magnetisation(0.0);
        let initial = (0.16147 * 99.0 + 0.72709 * 20.529) / 1.07219;
        assert!((slope / initial - 1.0).abs() < 1e-4, "{slope} {initial}");
    }
}
