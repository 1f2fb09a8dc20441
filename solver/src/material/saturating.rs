//! Analytic saturating curves J(H), odd in H.
//!
//! Each gives, for H >= 0, the polarisation J, its slope dJ/dH and its integral from 0 to H. With
//! c or h_0 chosen so that dJ/dH = mu_0 chi_0 at the origin, chi_0 = mu_initial - 1:
//!
//! | curve | J(H) | scale |
//! |---|---|---|
//! | Froehlich | J_s H / (c + H) | c = J_s / (mu_0 chi_0) |
//! | Langevin | J_s (coth(H/h_0) - h_0/H) | h_0 = J_s / (3 mu_0 chi_0) |
//! | arctangent | (2 J_s/pi) atan(H/c) | c = 2 J_s / (pi mu_0 chi_0) |
//!
//! T, A/m. Textbook laws: [FroehlichKennelly1891], [Langevin1905].

use std::f64::consts::{FRAC_2_PI, LN_2};

use crate::section::SaturatingCurve;
use crate::units::MU_0;

/// A saturating curve with its two constants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Saturating {
    curve: SaturatingCurve,
    /// Saturation polarisation J_s, T.
    saturation: f64,
    /// c or h_0, A/m.
    scale: f64,
}

/// J (T), dJ/dH (H/m) and the integral of J dH (J/m3).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Polarisation {
    pub j: f64,
    pub slope: f64,
    pub integral: f64,
}

impl Saturating {
    /// The curve with saturation `saturation` (T) and initial relative permeability
    /// `mu_initial` > 1.
    pub fn new(curve: SaturatingCurve, saturation: f64, mu_initial: f64) -> Self {
        let c = saturation / (MU_0 * (mu_initial - 1.0));
        let scale = match curve {
            SaturatingCurve::Froehlich => c,
            SaturatingCurve::Langevin => c / 3.0,
            SaturatingCurve::Arctangent => c * FRAC_2_PI,
        };
        Self { curve, saturation, scale }
    }

    /// The curve of `share` times this polarisation.
    pub fn share(&self, share: f64) -> Self {
        Self { saturation: share * self.saturation, ..*self }
    }

    /// J, its slope and its integral at `h` >= 0 (A/m); the integral is not a number where it is not asked
    /// for (`INTEGRAL` false).
    pub fn at<const INTEGRAL: bool>(&self, h: f64) -> Polarisation {
        let (js, c) = (self.saturation, self.scale);
        let x = h / c;
        let (j, slope, integral) = match self.curve {
            SaturatingCurve::Froehlich => {
                let integral = if INTEGRAL { x_minus_ln_1p(x) } else { f64::NAN };
                (x / (1.0 + x), 1.0 / ((1.0 + x) * (1.0 + x)), integral)
            }
            SaturatingCurve::Langevin => langevin(x),
            SaturatingCurve::Arctangent => {
                let atan = libm::atan(x);
                let integral =
                    if INTEGRAL { x * atan - 0.5 * libm::log1p(x * x) } else { f64::NAN };
                (FRAC_2_PI * atan, FRAC_2_PI / (1.0 + x * x), FRAC_2_PI * integral)
            }
        };
        Polarisation { j: js * j, slope: js / c * slope, integral: js * c * integral }
    }

    /// d2J/dH2 (T m2/A2) at `h` >= 0 (A/m).
    pub fn curvature(&self, h: f64) -> f64 {
        let x = h / self.scale;
        let curvature = match self.curve {
            SaturatingCurve::Froehlich => -2.0 / (1.0 + x).powi(3),
            SaturatingCurve::Langevin => langevin_curvature(x),
            SaturatingCurve::Arctangent => -2.0 * FRAC_2_PI * x / (1.0 + x * x).powi(2),
        };
        self.saturation / (self.scale * self.scale) * curvature
    }

    /// Field strength (A/m) at flux density `b` >= 0 (T): the root of mu_0 H + J(H) = b.
    pub fn field_strength(&self, b: f64) -> f64 {
        if self.curve == SaturatingCurve::Froehlich {
            return froehlich_field_strength(b, self.saturation, self.scale);
        }
        // B(H) lies below both its asymptotes and is concave: Newton from their larger root
        // approaches the solution from the left without passing it.
        let mut h = (b / (MU_0 + self.at::<false>(0.0).slope)).max((b - self.saturation) / MU_0);
        for _ in 0..200 {
            let p = self.at::<false>(h);
            let step = (b - MU_0 * h - p.j) / (MU_0 + p.slope);
            h += step;
            if step.abs() <= 4e-16 * h || step < 0.0 {
                break;
            }
        }
        h
    }
}

/// Root H of mu_0 H + J_s H/(c + H) = b, b >= 0; the form of the quadratic's root that does not
/// cancel.
pub(super) fn froehlich_field_strength(b: f64, js: f64, c: f64) -> f64 {
    let p = MU_0 * c + js - b;
    let root = (p * p + 4.0 * MU_0 * b * c).sqrt();
    if p > 0.0 { 2.0 * b * c / (p + root) } else { (root - p) / (2.0 * MU_0) }
}

/// x - ln(1 + x) for x >= 0, without cancellation at small x.
pub(super) fn x_minus_ln_1p(x: f64) -> f64 {
    if x < 0.5 {
        // ln(1 + x) = 2 (s + s^3/3 + s^5/5 + ...), s = x/(2 + x) <= 0.2, and x - 2 s = s x.
        // The terms left out are below 1e-16 of the sum.
        let s = x / (2.0 + x);
        let q = s * s;
        let odd = [19.0, 17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0];
        let series = odd.iter().fold(1.0 / 21.0, |rest, &n| 1.0 / n + q * rest);
        s * x - 2.0 * s * q * series
    } else {
        x - libm::log1p(x)
    }
}

/// L''(x), x >= 0.
fn langevin_curvature(x: f64) -> f64 {
    if x < 1.0 {
        // From L' = 1 - L^2 - 2 L/x with L = x l(q), q = x^2: L' = 1 - q l^2 - 2 l, hence
        // L'' = -2 x (l^2 + 2 q l l' + 2 l'), l' = dl/dq carried along the continued fraction.
        let q = x * x;
        let odd = [17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0];
        let (mut below, mut slope) = (19.0, 0.0);
        for n in odd {
            (below, slope) = (n + q / below, 1.0 / below - q / (below * below) * slope);
        }
        let l = 1.0 / below;
        let dl = -slope * l * l;
        return -2.0 * x * (l * l + 2.0 * (q * l + 1.0) * dl);
    }
    let e = libm::exp(-2.0 * x);
    let coth = (1.0 + e) / (1.0 - e);
    let sinh2_inverse = 4.0 * e / ((1.0 - e) * (1.0 - e));
    2.0 * coth * sinh2_inverse - 2.0 / (x * x * x)
}

/// L(x) = coth x - 1/x, L'(x), and the integral ln(sinh x / x), x >= 0.
fn langevin(x: f64) -> (f64, f64, f64) {
    if x < 1.0 {
        // Lambert's continued fraction x/(3 + x^2/(5 + ...)); L' = 1 - L^2 - 2 L/x; and
        // sinh x / x = 1 + x^2/(2 3) (1 + x^2/(4 5) (1 + ...)). Terms left out: below 1e-16.
        let q = x * x;
        let odd = [17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0];
        let over_x = 1.0 / odd.iter().fold(19.0, |below, &n| n + q / below);
        let even = [14.0, 12.0, 10.0, 8.0, 6.0, 4.0, 2.0];
        let more = even.iter().fold(0.0, |more, &n| q / (n * (n + 1.0)) * (1.0 + more));
        return (x * over_x, 1.0 - q * over_x * over_x - 2.0 * over_x, libm::log1p(more));
    }
    let e = libm::exp(-2.0 * x);
    let coth = (1.0 + e) / (1.0 - e);
    let inverse = 1.0 / x;
    let sinh2_inverse = 4.0 * e / ((1.0 - e) * (1.0 - e));
    let ln = x - LN_2 + libm::log1p(-e) - libm::log(x);
    (coth - inverse, inverse * inverse - sinh2_inverse, ln)
}
