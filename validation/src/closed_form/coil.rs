//! Coaxial coils with windows of finite section, turns spread evenly, in air.
//!
//! In: windows [inner radius, outer radius] x [lower, upper end]. Out: mutual and self inductance
//! from the Hankel transform of the loops' vector potential,
//!
//!   M_12 = pi mu_0 N_1 N_2 / (w_1 w_2 h_1 h_2) integral_0^inf I_1(k) I_2(k) Z(k) dk,
//!   I(k) = integral of r J1(k r) over the window's radii,
//!   Z(k) = double integral of exp(-k |z_1 - z_2|) over both windows' heights.
//!
//! For a coil with itself Z = 2 (k h - 1 + exp(-k h))/k^2. Source: `[DoddDeeds1968]`, coil impedance
//! in air. The integral over k is summed numerically.

use std::f64::consts::PI;

use lodestring::units::MU_0;

use crate::quadrature::integrate;

/// A winding of rectangular window about the axis.
#[derive(Clone, Copy, Debug)]
pub struct RoundCoil {
    /// Inner radius, m.
    pub inner: f64,
    /// Outer radius, m.
    pub outer: f64,
    /// Height of the lower end, m.
    pub lower: f64,
    /// Height of the upper end, m.
    pub upper: f64,
    /// Number of turns.
    pub turns: f64,
}

impl RoundCoil {
    /// Self inductance, H.
    pub fn inductance(&self) -> f64 {
        self.mutual_inductance(self)
    }

    /// Mutual inductance with `other`, H.
    pub fn mutual_inductance(&self, other: &Self) -> f64 {
        let density = |c: &Self| c.turns / ((c.outer - c.inner) * (c.upper - c.lower));
        // The unit of k is the reciprocal of the mean radius.
        let radius = 0.25 * (self.inner + self.outer + other.inner + other.outer);
        let integrand = |k: f64| self.radial(k) * other.radial(k) * axial(k, self, other);
        // From k = 1/width on the integrand falls as k^-4, so that a hundred times further a
        // millionth of width/radius is left. Sixteen points to two oscillations of J1^2.
        let width = (self.outer - self.inner).min(other.outer - other.inner);
        let end = (100.0 / width).max(20.0 / radius);
        let sum = integrate(integrand, 0.0, end, (end * radius / (2.0 * PI)) as usize + 1);
        PI * MU_0 * density(self) * density(other) * sum
    }

    /// Integral of r J1(k r) from the inner to the outer radius, m^2.
    fn radial(&self, k: f64) -> f64 {
        let panels = 1 + (k * (self.outer - self.inner) / 12.0) as usize;
        integrate(|r| r * libm::j1(k * r), self.inner, self.outer, panels)
    }
}

/// Double integral of exp(-k |z_1 - z_2|) over the heights of both, m^2.
fn axial(k: f64, one: &RoundCoil, two: &RoundCoil) -> f64 {
    // With the second antiderivative of exp(-k |s|): |s|/k + exp(-k |s|)/k^2, differenced over the
    // four distances of ends. Near k = 0 its series avoids the cancellation.
    let second = |s: f64| {
        let t = k * s.abs();
        if t < 1e-2 {
            // (t + exp(-t) - 1)/k^2 = s^2 (1/2 - t/6 + t^2/24 - t^3/120 + t^4/720)
            s * s * (0.5 - t / 6.0 + t * t / 24.0 - t.powi(3) / 120.0 + t.powi(4) / 720.0)
        } else {
            (t + libm::expm1(-t)) / (k * k)
        }
    };
    second(one.upper - two.lower) + second(one.lower - two.upper)
        - second(one.upper - two.upper)
        - second(one.lower - two.lower)
}

#[cfg(test)]
mod tests {
    use super::super::circular_loop::mutual_inductance;
    use super::super::closeness::assert_close;
    use super::super::solenoid;
    use super::*;
    use crate::quadrature::gauss_legendre;

    #[test]
    fn a_thin_winding_is_a_current_sheet() {
        let coil = |width: f64| RoundCoil {
            inner: 10e-3 - 0.5 * width,
            outer: 10e-3 + 0.5 * width,
            lower: 0.0,
            upper: 50e-3,
            turns: 1000.0,
        };
        // The thickness lowers the inductance by width/(3 radius) and a second order, about
        // (width/radius)^2 = 4e-4, that is left when the first is extrapolated away.
        let (thin, thick) = (coil(0.2e-3).inductance(), coil(0.4e-3).inductance());
        let sheet = solenoid::inductance(1000.0, 20e-3, 50e-3);
        assert_close(2.0 * thin - thick, sheet, 4e-4);
    }

    #[test]
    fn apart_the_mean_over_pairs_of_loops() {
        let one = RoundCoil { inner: 3e-3, outer: 7e-3, lower: 0.0, upper: 4e-3, turns: 10.0 };
        let two = RoundCoil { inner: 5e-3, outer: 8e-3, lower: 9e-3, upper: 12e-3, turns: 7.0 };
        let rule = gauss_legendre(8);
        let spread = |a: f64, b: f64| {
            rule.iter()
                .map(|&(x, w)| (0.5 * (a + b) + 0.5 * (b - a) * x, 0.5 * w))
                .collect::<Vec<_>>()
        };
        let mut mean = 0.0;
        for (a, wa) in spread(one.inner, one.outer) {
            for (za, wza) in spread(one.lower, one.upper) {
                for (b, wb) in spread(two.inner, two.outer) {
                    for (zb, wzb) in spread(two.lower, two.upper) {
                        mean += wa * wza * wb * wzb * mutual_inductance(a, b, za - zb);
                    }
                }
            }
        }
        // Eight Gauss points in each of four directions, 5 mm apart.
        assert_close(one.mutual_inductance(&two), 70.0 * mean, 1e-8);
    }
}
