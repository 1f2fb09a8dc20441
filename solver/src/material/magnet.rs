//! Demagnetisation curves: what a magnet answers along its direction of charge.
//!
//! In: B along the charge (T), and for a magnet with a history the lowest H it has seen (A/m).
//! Out: H, dH/dB and the energy density w, the integral of H dB from the remanence (J/m3).
//!
//! The major curve is one of four forms between the remanence and the coercivity of J. It goes on
//! above the remanence as the straight line of its slope there, and below the coercivity of J as
//! its own mirror image in the point (-H_cJ, -mu_0 H_cJ), so that J tends to -B_r. So dB/dH is
//! continuous and at least mu_0 everywhere.
//!
//! From the lowest point reached (H_k, B_k) the magnet answers on the recoil line
//! B = B_k + mu_0 mu_rec (H - H_k) for H > H_k, on the major curve for H <= H_k. No form's slope is
//! anywhere less than that of its recoil line, so the line stays under the major curve; a measured
//! curve whose points are flatter gets a flatter recoil line.

use crate::material::error::LawError;
use crate::material::hyperbola::Hyperbola;
use crate::material::knee::Knee;
use crate::material::magnet_points::MagnetPoints;
use crate::material::soft::Along;
use crate::units::MU_0;

/// The share of the remanence that recoil from the knee still gives back.
const KEPT_AT_KNEE: f64 = 0.9;

/// The demagnetisation curve of a magnet along its direction of charge.
#[derive(Clone, Debug, PartialEq)]
pub struct DemagnetisationCurve {
    /// `None`: one straight line.
    form: Option<Form>,
    remanence: f64,
    recoil: f64,
    transverse: f64,
    /// dH/dB at and above the remanence, m/H.
    top_slope: f64,
    /// Where J vanishes and the curve is mirrored: H (A/m) and B (T).
    centre: Option<(f64, f64)>,
    coercivity: f64,
    knee: Option<(f64, f64)>,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Form {
    Hyperbola(Hyperbola),
    Knee(Knee),
    Points(MagnetPoints),
}

impl DemagnetisationCurve {
    /// The straight line B = B_r + mu_0 `recoil` H, with no knee and no limit.
    ///
    /// # Errors
    /// [`LawError`] unless 0 < remanence <= 3 T and 1 <= recoil <= 10000.
    pub fn straight(remanence: f64, recoil: f64) -> Result<Self, LawError> {
        LawError::check_range("the remanence", remanence, 1e-3, 3.0, "T")?;
        LawError::check_range("the recoil permeability", recoil, 1.0, 1e4, "")?;
        Ok(Self::of_form(None, remanence, recoil, recoil))
    }

    /// Joins a form to its continuations and finds its named points.
    pub(super) fn of_form(
        form: Option<Form>,
        remanence: f64,
        recoil: f64,
        transverse: f64,
    ) -> Self {
        let (top_slope, centre) = match &form {
            None => (MU_0 * recoil, None),
            Some(Form::Hyperbola(form)) => {
                let h = form.coercivity_of_j();
                (form.b_of_h(0.0).1, Some((h, MU_0 * h)))
            }
            Some(Form::Knee(form)) => {
                let h = -form.coercivity_of_j;
                (form.b_of_h(0.0).1, Some((h, MU_0 * h)))
            }
            Some(Form::Points(form)) => (form.remanence().1, form.centre()),
        };
        let mut curve = Self {
            form,
            remanence,
            recoil,
            transverse,
            top_slope: 1.0 / top_slope,
            centre,
            coercivity: 0.0,
            knee: None,
        };
        curve.coercivity = -curve.major::<false>(0.0).h;
        curve.knee = curve.find_knee();
        curve
    }

    /// Remanence B_r, T.
    pub fn remanence(&self) -> f64 {
        self.remanence
    }

    /// Coercivity H_cB, A/m, positive: the field that brings B to zero.
    pub fn coercivity(&self) -> f64 {
        self.coercivity
    }

    /// Coercivity H_cJ, A/m, positive: the field that brings J to zero. `None` for a curve that has
    /// none.
    pub fn intrinsic_coercivity(&self) -> Option<f64> {
        self.centre.map(|(h, _)| -h)
    }

    /// Recoil permeability, relative.
    pub fn recoil(&self) -> f64 {
        self.recoil
    }

    /// Permeability across the direction of charge, relative.
    pub fn transverse(&self) -> f64 {
        self.transverse
    }

    /// Whether the curve is one straight line.
    pub fn is_straight(&self) -> bool {
        self.form.is_none()
    }

    /// The knee, (H, B) in A/m and T: the point from which recoil gives back only nine tenths of
    /// the remanence. `None` for a straight line.
    pub fn knee(&self) -> Option<(f64, f64)> {
        self.knee
    }

    /// What recoil from `lowest` (A/m) to H = 0 gives back, T: B_k - mu_0 mu_rec H_k.
    pub fn apparent_remanence(&self, lowest: f64) -> f64 {
        if lowest >= 0.0 {
            return self.remanence;
        }
        let (b, _) = self.b_of_h(lowest);
        b - lowest * self.recoil_slope(lowest, b)
    }

    /// Maximum energy product, J/m3: the greatest -B H on the major curve.
    pub fn energy_product(&self) -> f64 {
        // -B H is concave between the coercivity and the remanence: halve the bracket by the sign
        // of its derivative -(B + H dB/dH).
        let (mut low, mut high) = (-self.coercivity, 0.0);
        for _ in 0..100 {
            let h = 0.5 * (low + high);
            let (b, slope) = self.b_of_h(h);
            if b + h * slope > 0.0 { high = h } else { low = h }
        }
        let h = 0.5 * (low + high);
        -h * self.b_of_h(h).0
    }

    /// B (T) and dB/dH (H/m) on the major curve at `h` (A/m).
    pub fn b_of_h(&self, h: f64) -> (f64, f64) {
        let Some(form) = self.form.as_ref().filter(|_| h < 0.0) else {
            return (self.remanence + h / self.top_slope, 1.0 / self.top_slope);
        };
        if let Some((h_c, b_c)) = self.centre
            && h < h_c
        {
            let (b, slope) = self.b_of_h(2.0 * h_c - h);
            return (2.0 * b_c - b, slope);
        }
        match form {
            Form::Hyperbola(form) => form.b_of_h(h),
            Form::Knee(form) => form.b_of_h(h),
            Form::Points(form) => form.b_of_h(h),
        }
    }

    /// H (A/m) and dH/dB (m/H) on the major curve at `b` (T).
    pub fn h_of_b(&self, b: f64) -> (f64, f64) {
        let along = self.major::<false>(b);
        (along.h, along.slope)
    }

    /// The answer to `b` (T) along the charge; `lowest` is the lowest H reached before (A/m).
    pub(super) fn along<const ENERGY: bool>(&self, b: f64, lowest: Option<f64>) -> Along {
        let Some(h_k) = lowest.filter(|&h| h < 0.0 && !self.is_straight()) else {
            return self.major::<ENERGY>(b);
        };
        let (b_k, _) = self.b_of_h(h_k);
        let up = b - b_k;
        if up <= 0.0 {
            return self.major::<ENERGY>(b);
        }
        let slope = 1.0 / self.recoil_slope(h_k, b_k);
        let energy = if ENERGY {
            self.major::<true>(b_k).energy + up * (h_k + 0.5 * slope * up)
        } else {
            f64::NAN
        };
        Along { h: h_k + slope * up, slope, energy }
    }

    /// The answer on the major curve.
    fn major<const ENERGY: bool>(&self, b: f64) -> Along {
        let up = b - self.remanence;
        let Some(form) = self.form.as_ref().filter(|_| up < 0.0) else {
            let h = up * self.top_slope;
            return Along { h, slope: self.top_slope, energy: 0.5 * h * up };
        };
        if let Some((h_c, b_c)) = self.centre
            && b < b_c
        {
            let image = self.major::<ENERGY>(2.0 * b_c - b);
            let energy = image.energy + 2.0 * h_c * (b - b_c);
            return Along { h: 2.0 * h_c - image.h, slope: image.slope, energy };
        }
        match form {
            Form::Hyperbola(form) => form.along::<ENERGY>(b),
            Form::Knee(form) => form.along::<ENERGY>(b),
            Form::Points(form) => form.along(b),
        }
    }

    /// Slope dB/dH (H/m) of the recoil line from (`h`, `b`).
    fn recoil_slope(&self, h: f64, b: f64) -> f64 {
        let slope = MU_0 * self.recoil;
        match &self.form {
            Some(Form::Points(form)) => form.slope_under(h, b, slope.min(1.0 / self.top_slope)),
            _ => slope,
        }
    }

    /// The point where the apparent remanence falls to its share at the knee.
    fn find_knee(&self) -> Option<(f64, f64)> {
        let (mut low, mut high) = (self.centre?.0, 0.0);
        for _ in 0..100 {
            let h = 0.5 * (low + high);
            if self.apparent_remanence(h) > KEPT_AT_KNEE * self.remanence {
                high = h;
            } else {
                low = h;
            }
        }
        let h = 0.5 * (low + high);
        Some((h, self.b_of_h(h).0))
    }
}
