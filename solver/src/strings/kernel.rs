//! Field of rings of magnetic charge on a thin cylinder, averaged over its section.
//!
//! The flux that leaves a permeable string leaves through its lateral surface, so a change of the
//! axial magnetisation is a ring of charge of the string's radius, and a transverse magnetisation
//! is a ring of cos(theta) charge. With t = |x - x'| / a, the distance along the string in radii:
//!
//! ```text
//! potential of a ring, mean over the section    U   = q / (2 pi a) P(t)
//! its field                                     H_x = -dU/dx,  P' = -G
//! transverse field of a unit M_t, per length    H_t = -N(t) / a
//!
//! P(t) = int J0(k) J1(k) exp(-k t) / k dk  = sqrt(4 + t^2) E(m) / pi - t / 2
//! G(t) = int J0(k) J1(k) exp(-k t) dk      = 1/2 - t sqrt(m) K(m) / (2 pi)
//! N(t) = 1/2 int J1(k)^2 exp(-k t) dk      = [(1 + t^2/2) sqrt(m) K(m) - 2 E(m) / sqrt(m)] / (2 pi)
//! m    = 4 / (4 + t^2)
//! ```
//!
//! all integrals from 0 to infinity, K and E the complete elliptic integrals of parameter m. The
//! closed form of G follows from J0 J1 = -(J0^2)'/2 by parts, that of P from (J0 J1)' =
//! J0^2 - J1^2 - J0 J1 / k, with int J_n^2 exp(-k t) dk = Q_(n-1/2)(1 + t^2/2) / pi. The integral
//! of N over all t is 1/2, the demagnetising factor of a long cylinder across its axis.

use std::f64::consts::PI;

/// Beyond this distance (in radii) the closed forms lose digits and the series is used.
const FAR: f64 = 30.0;

/// P(t): mean potential of a charged ring, in units of q / (2 pi a). P(0) = 2/pi, P -> 1/(2 t).
pub fn ring_potential(t: f64) -> f64 {
    if t > FAR {
        return far_series(0, 1, 1, t);
    }
    let (_, e) = elliptic(4.0 / (4.0 + t * t));
    (4.0 + t * t).sqrt() * e / PI - 0.5 * t
}

/// G(t): mean field of a charged ring, in units of q / (2 pi a^2). G(0) = 1/2, G -> 1/(2 t^2).
pub fn ring_field(t: f64) -> f64 {
    if t > FAR {
        return far_series(0, 1, 0, t);
    }
    if t < 1e-12 {
        return 0.5;
    }
    let m = 4.0 / (4.0 + t * t);
    let (k, _) = elliptic(m);
    0.5 - t * m.sqrt() * k / (2.0 * PI)
}

/// N(t): transverse demagnetising kernel. Logarithmic at 0 (`t` must be positive), N -> 1/(4 t^3).
pub fn transverse_field(t: f64) -> f64 {
    if t > FAR {
        return 0.5 * far_series(1, 1, 0, t);
    }
    let m = 4.0 / (4.0 + t * t);
    let (k, e) = elliptic(m);
    ((1.0 + 0.5 * t * t) * m.sqrt() * k - 2.0 * e / m.sqrt()) / (2.0 * PI)
}

/// P(t) and N(t) together, for t > 0.
pub(crate) fn ring_and_transverse(t: f64) -> (f64, f64) {
    if t > FAR {
        return (ring_potential(t), transverse_field(t));
    }
    let m = 4.0 / (4.0 + t * t);
    let (k, e) = elliptic(m);
    let root = m.sqrt();
    let ring = 2.0 * e / (PI * root) - 0.5 * t;
    (ring, ((1.0 + 0.5 * t * t) * root * k - 2.0 * e / root) / (2.0 * PI))
}

/// K(m) and E(m) for 0 < m < 1. Arguments in that range are never refused.
fn elliptic(m: f64) -> (f64, f64) {
    let m = m.min(1.0 - f64::EPSILON);
    (ellip::ellipk(m).unwrap_or(f64::NAN), ellip::ellipe(m).unwrap_or(f64::NAN))
}

/// int J_mu J_nu exp(-k t) k^-power dk for large t: the power series of the product, term by term.
fn far_series(mu: usize, nu: usize, power: usize, t: f64) -> f64 {
    let factorial = |n: usize| (1..=n).map(|i| i as f64).product::<f64>();
    let mut sum = 0.0;
    for j in (0..5).rev() {
        let order = mu + nu + 2 * j;
        let coefficient = factorial(order)
            / (factorial(j) * factorial(mu + j) * factorial(nu + j) * factorial(mu + nu + j))
            * 0.5_f64.powi(order as i32);
        let sign = if j % 2 == 0 { 1.0 } else { -1.0 };
        let k_power = order - power;
        sum += sign * coefficient * factorial(k_power) / t.powi(k_power as i32 + 1);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strings::gauss::gauss_legendre;

    /// Composite quadrature of `f(k) exp(-k t)` in panels of length 2, far enough for 1e-12.
    fn integral(t: f64, f: impl Fn(f64) -> f64) -> f64 {
        let (nodes, weights) = gauss_legendre(16);
        let end = 32.0 / t;
        let panels = (end / 2.0).ceil() as usize;
        let half = 0.5 * end / panels as f64;
        let mut sum = 0.0;
        for panel in 0..panels {
            for (x, w) in nodes.iter().zip(&weights) {
                let k = half * (2.0 * panel as f64 + 1.0 + x);
                sum += w * half * f(k) * (-k * t).exp();
            }
        }
        sum
    }

    #[test]
    fn closed_forms_equal_their_integrals() {
        for t in [0.05, 0.2, 0.7, 1.0, 2.5, 8.0, 20.0, 29.9, 30.1, 80.0, 900.0] {
            let g = integral(t, |k| libm::j0(k) * libm::j1(k));
            let p = integral(t, |k| libm::j0(k) * libm::j1(k) / k);
            let n = 0.5 * integral(t, |k| libm::j1(k).powi(2));
            // The integral is cut where exp(-k t) = 1e-14; the closed forms lose t^2 (P, G) and
            // t^4 (N) times round-off up to t = 30, hence 1e-9 and 1e-8 relative.
            assert!((ring_field(t) / g - 1.0).abs() < 1e-9, "G({t})");
            assert!((ring_potential(t) / p - 1.0).abs() < 1e-9, "P({t})");
            assert!((transverse_field(t) / n - 1.0).abs() < 1e-8, "N({t})");
        }
    }

    #[test]
    fn limits() {
        assert!((ring_field(0.0) - 0.5).abs() < 1e-15);
        assert!((ring_field(1e-9) - 0.5).abs() < 1e-7);
        assert!((ring_potential(0.0) - 2.0 / PI).abs() < 1e-12);
        let t = 1e4;
        assert!((2.0 * t * t * ring_field(t) - 1.0).abs() < 1e-7);
    }
}
