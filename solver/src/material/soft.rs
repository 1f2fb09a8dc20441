//! Soft materials: B(H) rising from zero and saturating, the same in every direction.
//!
//! In: H in A/m or B in T. Out: the other, the slope, and the energy density w(B), the integral of
//! H dB from zero, in J/m3. All curves are odd in H, have a continuous slope, and dB/dH >= mu_0
//! everywhere. No hysteresis: the curve is the initial or the anhysteretic one.

use crate::material::error::LawError;
use crate::material::points::PointCurve;
use crate::material::saturating::Saturating;
use crate::material::turns::Turns;
use crate::section::SaturatingCurve;
use crate::units::MU_0;

/// A saturating law B(H) of an isotropic soft material.
#[derive(Clone, Debug, PartialEq)]
pub struct SoftLaw {
    curve: Curve,
    /// Least H/B on the curve, m/H.
    least_reluctivity: f64,
}

#[derive(Clone, Debug, PartialEq)]
enum Curve {
    Points(PointCurve),
    Analytic(Saturating),
    Turns(Box<Turns>),
}

/// What a scalar law answers to a flux density: H (A/m), dH/dB (m/H), w (J/m3); w is not a number where it
/// was not asked for (`ENERGY` false).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Along {
    pub h: f64,
    pub slope: f64,
    pub energy: f64,
}

impl SoftLaw {
    /// A smooth monotone curve through the points (`h` in A/m, `b` in T), both from zero and
    /// rising, B nowhere by less than mu_0 times the rise of H.
    ///
    /// # Errors
    /// [`LawError`] that names the first points that can't belong to such a curve.
    pub fn through_points(h: &[f64], b: &[f64]) -> Result<Self, LawError> {
        let curve = PointCurve::new(h, b)?;
        let least_reluctivity = curve.least_reluctivity();
        Ok(Self { curve: Curve::Points(curve), least_reluctivity })
    }

    /// The analytic law with saturation polarisation `saturation` (T) and initial relative
    /// permeability `mu_initial`.
    ///
    /// # Errors
    /// [`LawError`] unless 0 < saturation <= 3 T and 1 < mu_initial <= 1e6.
    pub fn saturating(
        curve: SaturatingCurve,
        saturation: f64,
        mu_initial: f64,
    ) -> Result<Self, LawError> {
        LawError::check_range("the saturation polarisation", saturation, 1e-6, 3.0, "T")?;
        LawError::check_range("the initial permeability", mu_initial, 1.0 + 1e-9, 1e6, "")?;
        let law = Saturating::new(curve, saturation, mu_initial);
        Ok(Self { curve: Curve::Analytic(law), least_reluctivity: 1.0 / (MU_0 * mu_initial) })
    }

    /// The law of a layer of close turns of wire of this law: `share` of the layer is wire, `factor` is the
    /// demagnetising factor of a turn ([`crate::material::turns`]).
    #[must_use]
    pub fn of_turns(&self, share: f64, factor: f64) -> Self {
        let turns = Turns { wire: self.clone(), share, factor };
        let least_reluctivity = turns.least_reluctivity();
        Self { curve: Curve::Turns(Box::new(turns)), least_reluctivity }
    }

    /// B (T) and dB/dH (H/m) at field strength `h` (A/m).
    pub fn b_of_h(&self, h: f64) -> (f64, f64) {
        let (j, slope) = self.polarisation(h);
        (MU_0 * h + j, MU_0 + slope)
    }

    /// H (A/m) and dH/dB (m/H) at flux density `b` (T).
    pub fn h_of_b(&self, b: f64) -> (f64, f64) {
        let along = self.along::<false>(b);
        (along.h, along.slope)
    }

    /// Energy density w(B), J/m3: the integral of H dB from 0 to `b` (T).
    pub fn energy(&self, b: f64) -> f64 {
        self.along::<true>(b).energy
    }

    /// M = B/mu_0 - H (A/m) and dM/dH (dimensionless) at field strength `h` (A/m).
    pub fn magnetisation(&self, h: f64) -> (f64, f64) {
        let (j, slope) = self.polarisation(h);
        (j / MU_0, slope / MU_0)
    }

    /// d2M/dH2 (m/A) at field strength `h` (A/m), odd in `h`. Curves through points have a
    /// curvature that jumps at the points.
    pub fn magnetisation_curvature(&self, h: f64) -> f64 {
        let curvature = match &self.curve {
            Curve::Points(points) => points.curvature(h.abs()),
            Curve::Analytic(law) => law.curvature(h.abs()),
            Curve::Turns(turns) => turns.curvature(h.abs()),
        };
        curvature / MU_0 * h.signum()
    }

    /// Least H/B anywhere on the curve, m/H: where the material is most permeable.
    pub fn least_reluctivity(&self) -> f64 {
        self.least_reluctivity
    }

    /// For a curve through points that end well before saturation: their last flux density and the
    /// saturation polarisation guessed beyond them, both T.
    pub fn guessed_saturation(&self) -> Option<(f64, f64)> {
        let Curve::Points(points) = &self.curve else { return None };
        let (end, saturation) = points.end_and_saturation();
        // 3 %: as much as saturation values of one material differ by anyway.
        (saturation > 1.03 * end).then_some((end, saturation))
    }

    /// J (T) and dJ/dH (H/m), odd in `h` (A/m).
    fn polarisation(&self, h: f64) -> (f64, f64) {
        let (j, slope) = match &self.curve {
            Curve::Points(points) => points.polarisation(h.abs()),
            Curve::Analytic(law) => {
                let p = law.at::<false>(h.abs());
                (p.j, p.slope)
            }
            Curve::Turns(turns) => turns.polarisation(h.abs()),
        };
        (j.copysign(h), slope)
    }

    /// For an analytic law the field strength (A/m) at which mu_0 H and `share` of J make `b` >= 0 (T).
    pub(super) fn strength_at_share(&self, share: f64, b: f64) -> Option<f64> {
        match &self.curve {
            Curve::Analytic(law) => Some(law.share(share).field_strength(b)),
            Curve::Points(_) | Curve::Turns(_) => None,
        }
    }

    /// H, dH/dB and w at flux density `b` (T), either sign.
    pub(super) fn along<const ENERGY: bool>(&self, b: f64) -> Along {
        let size = b.abs();
        let mut along = match &self.curve {
            Curve::Points(points) => points.along::<ENERGY>(size),
            Curve::Analytic(law) => {
                let h = law.field_strength(size);
                let p = law.at::<ENERGY>(h);
                // w = integral of H dB = H J - integral of J dH + mu_0 H^2 / 2.
                let energy = 0.5 * MU_0 * h * h + (h * p.j - p.integral);
                Along { h, slope: 1.0 / (MU_0 + p.slope), energy }
            }
            Curve::Turns(turns) => turns.along::<ENERGY>(size),
        };
        along.h = along.h.copysign(b);
        along
    }
}
