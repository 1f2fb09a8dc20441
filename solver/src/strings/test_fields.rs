//! Closed-form fields of rods and coils in air, for tests.

use crate::strings::gauss::gauss_legendre;
use crate::units::MU_0;

/// A_phi (T m) at (r, h) of a loop of radius `a` at height 0 carrying 1 A (exact, elliptic).
pub(crate) fn loop_a_phi(a: f64, r: f64, h: f64) -> f64 {
    if r == 0.0 {
        return 0.0;
    }
    let m = 4.0 * a * r / ((a + r).powi(2) + h * h);
    let (k, e) = (ellip::ellipk(m).unwrap(), ellip::ellipe(m).unwrap());
    MU_0 / std::f64::consts::PI * (a / r / m).sqrt() * ((1.0 - 0.5 * m) * k - e)
}

/// A_phi of a cylinder of radius `a` with top at z = 0 and length `length`, magnetised along +z
/// with polarisation `br` (mu_r = 1): a current sheet br/mu_0.
pub(crate) fn rod_a_phi(a: f64, length: f64, br: f64, r: f64, z: f64) -> f64 {
    br / MU_0 * stack(0.0, length, z, |h| loop_a_phi(a, r, h))
}

/// A_phi per ampere of a round winding: radii r1..r2, depth below z = 0 from d1 to d2.
pub(crate) fn coil_a_phi(window: [f64; 4], turns: f64, r: f64, z: f64) -> f64 {
    let [r1, r2, d1, d2] = window;
    let (x, w) = gauss_legendre(12);
    let mut sum = 0.0;
    for i in 0..12 {
        let a = 0.5 * (r1 + r2) + 0.5 * (r2 - r1) * x[i];
        sum += 0.5 * w[i] * stack(d1, d2, z, |h| loop_a_phi(a, r, h));
    }
    turns / (d2 - d1) * sum
}

/// Integral over depth from `d1` to `d2` of f(z + depth), panels graded from the top.
fn stack(d1: f64, d2: f64, z: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (x, w) = gauss_legendre(12);
    let (mut sum, mut d) = (0.0, d1);
    while d < d2 {
        let next = (d + 0.7 * (z + d)).min(d2);
        for i in 0..12 {
            let depth = 0.5 * (d + next) + 0.5 * (next - d) * x[i];
            sum += 0.5 * (next - d) * w[i] * f(z + depth);
        }
        d = next;
    }
    sum
}

/// A (T m) of a bar of half-width `a`, top at z = 0, height `length`, polarisation `br` along +z,
/// the same for all y; B_x = dA/dz, B_z = -dA/dx. Two current sheets at x = +-a.
pub(crate) fn bar_a(a: f64, length: f64, br: f64, x: f64, z: f64) -> f64 {
    let sheet = |x: f64| {
        // Integral of ln(x^2 + h^2) over h from z to z + length.
        let f = |h: f64| h * (x * x + h * h).ln() - 2.0 * h + 2.0 * x * (h / x).atan();
        if x == 0.0 { 0.0 } else { f(z + length) - f(z) }
    };
    br / (4.0 * std::f64::consts::PI) * (sheet(x - a) - sheet(x + a))
}

/// B_x and B_z (T) of that bar outside of it.
pub(crate) fn bar_b(a: f64, length: f64, br: f64, x: f64, z: f64) -> [f64; 2] {
    let b = 0.5 * length;
    let y = z + b;
    let ratio = ((x + a).powi(2) + (y - b).powi(2)) * ((x - a).powi(2) + (y + b).powi(2))
        / (((x - a).powi(2) + (y - b).powi(2)) * ((x + a).powi(2) + (y + b).powi(2)));
    let angle = |p: f64, q: f64| (p / q).atan();
    let sum = angle(x + a, y - b) - angle(x - a, y - b) - angle(x + a, y + b) + angle(x - a, y + b);
    let pi = std::f64::consts::PI;
    [br / (4.0 * pi) * ratio.ln(), br / (2.0 * pi) * sum]
}
