//! Magnetisation law of a string's section.
//!
//! In: the field strength inside the string, H in A/m. Out: the mean magnetisation of the magnetic
//! section, M in A/m parallel to H, with its first two derivatives. A plain string has one
//! component; a wound string has two (see [`crate::strings::wound`]).

use crate::material::SoftLaw;

/// M(H) of the section of a string.
#[derive(Clone, Debug, PartialEq)]
pub struct StringLaw {
    pub(crate) components: Vec<Component>,
}

/// A part of the section.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Component {
    /// Its share of the magnetic section, 0 to 1.
    pub share: f64,
    /// Demagnetising factor of its own grain or turns: inside it H is less by this times its M.
    pub own_factor: f64,
    pub curve: Curve,
}

/// M(H) of one material.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Curve {
    /// M = chi H.
    Linear { chi: f64 },
    /// A law that saturates.
    Soft(SoftLaw),
}

/// M, dM/dH and d2M/dH2 at |H|: A/m, 1, m/A.
pub(crate) type Magnetisation = [f64; 3];

impl StringLaw {
    /// M = (mu_r - 1) H: for comparisons only, a real string saturates.
    pub fn linear(mu_r: f64) -> Self {
        Self::plain(Curve::Linear { chi: mu_r - 1.0 })
    }

    /// A plain string of one saturating material.
    pub fn soft(law: SoftLaw) -> Self {
        Self::plain(Curve::Soft(law))
    }

    fn plain(curve: Curve) -> Self {
        Self { components: vec![Component { share: 1.0, own_factor: 0.0, curve }] }
    }

    /// M and its derivatives at the field strength `h` >= 0, A/m.
    pub(crate) fn magnetisation(&self, h: f64) -> Magnetisation {
        let mut sum = [0.0; 3];
        for component in &self.components {
            let own = component.magnetisation(h);
            for (s, m) in sum.iter_mut().zip(own) {
                *s += component.share * m;
            }
        }
        sum
    }

    /// M, its derivative dM/dH (symmetric 3 x 3) and what the second derivative needs, at the
    /// vector H.
    pub(crate) fn at(&self, h: [f64; 3]) -> VectorResponse {
        let size = h.iter().map(|c| c * c).sum::<f64>().sqrt().max(SMALLEST_H);
        let [m, slope, curvature] = self.magnetisation(size);
        let secant = m / size;
        let unit = h.map(|c| c / size);
        let secant_slope = (slope - secant) / size;
        let secant_curvature = (curvature - 2.0 * secant_slope) / size;
        let mut tangent = [[0.0; 3]; 3];
        for i in 0..3 {
            for j in 0..3 {
                tangent[i][j] = (slope - secant) * unit[i] * unit[j];
            }
            tangent[i][i] += secant;
        }
        VectorResponse {
            m: h.map(|c| secant * c),
            tangent,
            slope: slope.max(SMALLEST_SLOPE),
            secant: secant.max(SMALLEST_SLOPE),
            unit,
            h,
            secant_slope,
            secant_curvature,
            size,
        }
    }
}

/// Below this |H| (A/m) the law is taken as linear: far under any coercivity.
const SMALLEST_H: f64 = 1e-6;
/// Least dM/dH, so that a fully saturated node keeps a finite dH/dM.
const SMALLEST_SLOPE: f64 = 1e-9;

/// An isotropic law at one vector H.
#[derive(Clone, Copy, Debug)]
pub(crate) struct VectorResponse {
    /// M, A/m.
    pub m: [f64; 3],
    /// dM/dH.
    pub tangent: [[f64; 3]; 3],
    slope: f64,
    secant: f64,
    unit: [f64; 3],
    h: [f64; 3],
    secant_slope: f64,
    secant_curvature: f64,
    size: f64,
}

impl VectorResponse {
    /// dH/dM, the inverse of the tangent.
    pub(crate) fn inverse_tangent(&self) -> [[f64; 3]; 3] {
        let mut inverse = [[0.0; 3]; 3];
        for i in 0..3 {
            for j in 0..3 {
                inverse[i][j] =
                    (1.0 / self.slope - 1.0 / self.secant) * self.unit[i] * self.unit[j];
            }
            inverse[i][i] += 1.0 / self.secant;
        }
        inverse
    }

    /// d2M/dH2 applied to two changes of H: with M = c(|H|) H,
    /// c' [(e.u) v + (e.v) u + (u.v - (e.u)(e.v)) e] + c'' (e.u)(e.v) H, e = H / |H|.
    pub(crate) fn second(&self, u: [f64; 3], v: [f64; 3]) -> [f64; 3] {
        let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        let (eu, ev, uv) = (dot(self.unit, u), dot(self.unit, v), dot(u, v));
        std::array::from_fn(|i| {
            self.secant_slope * (eu * v[i] + ev * u[i])
                + (self.secant_slope * (uv - eu * ev) / self.size + self.secant_curvature * eu * ev)
                    * self.h[i]
        })
    }
}

impl Component {
    /// M(h): with its own factor N, M = f(h - N M).
    fn magnetisation(&self, h: f64) -> Magnetisation {
        let n = self.own_factor;
        if n == 0.0 {
            return self.curve.magnetisation(h);
        }
        // g(u) = u + N f(u) - h rises from -h at 0 to a positive value at h: Newton's method inside
        // a shrinking bracket.
        let (mut low, mut high, mut inside) = (0.0, h, 0.5 * h);
        for _ in 0..200 {
            let [m, slope, _] = self.curve.magnetisation(inside);
            let excess = inside + n * m - h;
            if excess > 0.0 {
                high = inside;
            } else {
                low = inside;
            }
            let newton = inside - excess / (1.0 + n * slope);
            let next = if newton >= low && newton <= high { newton } else { 0.5 * (low + high) };
            let done = (next - inside).abs() <= 4e-16 * h;
            inside = next;
            if done {
                break;
            }
        }
        let [m, slope, curvature] = self.curve.magnetisation(inside);
        let ratio = 1.0 / (1.0 + n * slope);
        [m, slope * ratio, curvature * ratio.powi(3)]
    }
}

impl Curve {
    fn magnetisation(&self, h: f64) -> Magnetisation {
        match self {
            Self::Linear { chi } => [chi * h, *chi, 0.0],
            Self::Soft(law) => {
                let (m, slope) = law.magnetisation(h);
                [m, slope, law.magnetisation_curvature(h)]
            }
        }
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::section::SaturatingCurve;

    /// The public benchmark steel of the section files' table, thinned.
    const H: [f64; 9] = [0.0, 54.0, 191.0, 258.0, 377.0, 933.0, 2913.0, 7189.0, 9423.0];
    const B: [f64; 9] = [0.0, 0.0125, 0.1, 0.6, 1.1, 1.5, 1.65, 1.75, 1.8];

    fn laws() -> Vec<StringLaw> {
        let mut soft = vec![SoftLaw::through_points(&H, &B).unwrap()];
        for kind in
            [SaturatingCurve::Froehlich, SaturatingCurve::Langevin, SaturatingCurve::Arctangent]
        {
            soft.push(SoftLaw::saturating(kind, 2.0, 150.0).unwrap());
        }
        let mut laws = vec![StringLaw::linear(200.0)];
        for law in soft {
            let mut layered = StringLaw::soft(law.clone());
            layered.components[0].share = 0.4;
            let curve = Curve::Soft(law.clone());
            layered.components.push(Component { share: 0.6, own_factor: 0.09, curve });
            laws.extend([StringLaw::soft(law), layered]);
        }
        laws
    }

    #[test]
    fn slopes_and_curvatures_equal_differences() {
        for law in laws() {
            for h in [30.0, 900.0, 3e3, 1.2e4, 9e4, 7e5, 4e6] {
                let step = 1e-4 * h;
                let [_, slope, curvature] = law.magnetisation(h);
                let [up, slope_up, _] = law.magnetisation(h + step);
                let [down, slope_down, _] = law.magnetisation(h - step);
                let d = (up - down) / (2.0 * step);
                let dd = (slope_up - slope_down) / (2.0 * step);
                // Truncation 1e-8 of the scale, round-off of the difference up to M / h 1e-11.
                assert!((d - slope).abs() < 1e-6 * slope + 1e-11 * up / h, "{law:?} {h}");
                let scale = curvature.abs() + 1e-7 * slope / h;
                assert!((dd - curvature).abs() < 1e-5 * scale, "{law:?} {h}: {dd} {curvature}");
            }
        }
    }

    #[test]
    fn vector_law_equals_differences() {
        for law in laws() {
            let (h, u, v) = ([2e3, -300.0, 5e3], [20.0, 30.0, -10.0], [-5.0, 40.0, 25.0]);
            let at = |s: f64, t: f64| -> VectorResponse {
                law.at(std::array::from_fn(|i| h[i] + s * u[i] + t * v[i]))
            };
            let here = at(0.0, 0.0);
            let second = here.second(u, v);
            let e = 0.1;
            let (pp, pm, mp, mm) = (at(e, e), at(e, -e), at(-e, e), at(-e, -e));
            for i in 0..3 {
                let first = (at(e, 0.0).m[i] - at(-e, 0.0).m[i]) / (2.0 * e);
                let exact: f64 = (0..3).map(|j| here.tangent[i][j] * u[j]).sum();
                assert!((first - exact).abs() < 1e-5 * exact.abs().max(1.0), "{law:?}");
                let d = (pp.m[i] - pm.m[i] - mp.m[i] + mm.m[i]) / (4.0 * e * e);
                // Round-off M 1e-16 / e^2 = 1e-8 of M at most 1e6; truncation 1e-4 relative.
                assert!((d - second[i]).abs() < 1e-3 * second[i].abs() + 1e-7, "{law:?} {i}");
                let product: f64 =
                    (0..3).map(|j| here.inverse_tangent()[i][j] * here.tangent[j][i]).sum();
                assert!((product - 1.0).abs() < 1e-12);
            }
        }
    }
}
