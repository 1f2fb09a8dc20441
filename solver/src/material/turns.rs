//! A layer of close turns of soft wire as one smooth material.
//!
//! In: the wire's law M_w(H_w), the share f of the layer that is wire, and the demagnetising factor N of a
//! turn among its neighbours. Out: the layer's law,
//!
//! ```text
//! M = f M_w(H_w)     H = H_w + N M_w(H_w)     B = mu_0 (H + M) = mu_0 H_w + (f + N) J_w(H_w)
//! ```
//!
//! found at a B from the flux density x in the wire: with s = f + N and h(x) the wire's H,
//! B = s x + (1 - s) mu_0 h(x) and H = (1 - c) h(x) + c B/mu_0, c = N/s. The energy density is its exact
//! integral, (1 - c) (s w_w(x) + (1 - s) mu_0 h^2/2) + c B^2/(2 mu_0).
//!
//! N = 0.042 is that of a row of round wires in a field along the row, for turns 1 % of their diameter apart
//! and a susceptibility from 50 up (exact sum over multipoles of a periodic row: 0.01 for turns that touch,
//! 0.074 at 3 %). The gap is not known better than that; N is the least certain figure of a wound string.
//!
//! Across the string the flux runs around in the turns and crosses from turn to core and from turn to turn at
//! their lines of contact. Against turns one by one about a round core in a weak field across it
//! (`validation/crosscheck/wrap_across.py`), 1 % of their diameter apart, for susceptibilities from 59 to 149
//! and gauges from 0.026 to 0.046 in, a ring of this law answers up to 1.6 % more strongly; one of the wire's
//! own law 7 to 10 %, one of that law diluted to the wire's share (N = 0) 6 to 9 %. Turns 0.3 % apart answer
//! by up to 0.5 % more than at 1 %, 3 % apart by up to 0.9 % less.

use crate::material::assign::StringMaterial;
use crate::material::model::Law;
use crate::material::soft::{Along, SoftLaw};
use crate::section::StringSpec;
use crate::units::MU_0;

/// Demagnetising factor of a row of round turns along the row.
pub const ROW_FACTOR: f64 = 0.042;

/// Susceptibility below which a wrap is not magnetic (bronze, silver-plated copper): that of such metals is
/// 1e-5.
const MAGNETIC: f64 = 1e-2;

impl StringMaterial {
    /// Whether there is a wrap that the field sees.
    pub fn has_magnetic_wrap(&self) -> bool {
        self.wrap.as_ref().is_some_and(|wrap| is_magnetic(&wrap.law))
    }

    /// Law of the ring between core and gauge in the plane across the string `spec`; `None` where the wrap
    /// is not magnetic.
    pub fn ring(&self, spec: &StringSpec) -> Option<Law> {
        let wrap = self.wrap.as_ref().filter(|wrap| is_magnetic(&wrap.law))?;
        Some(of_turns(&wrap.law, spec.share_of_wrap(), ROW_FACTOR))
    }
}

/// Whether a wrap of this law is magnetic.
pub fn is_magnetic(wrap: &Law) -> bool {
    wrap.magnetisation(0.0).1 >= MAGNETIC
}

/// The law of a layer of turns, `share` of it wire of this law, `factor` the demagnetising factor of a turn.
pub fn of_turns(wire: &Law, share: f64, factor: f64) -> Law {
    match wire {
        Law::Soft(soft) => Law::Soft(soft.of_turns(share, factor)),
        // A magnet is refused as a string's material; its recoil line is what it would answer with.
        Law::Linear { .. } | Law::Magnet(_) => {
            let chi = wire.magnetisation(0.0).1;
            Law::Linear { mu_r: 1.0 + share * chi / (1.0 + factor * chi) }
        }
    }
}

/// A layer of turns; see the file's head.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Turns {
    /// Law of the wire.
    pub wire: SoftLaw,
    /// Share f of the layer that is wire.
    pub share: f64,
    /// Demagnetising factor N of a turn.
    pub factor: f64,
}

impl Turns {
    /// H, dH/dB and w at `b` >= 0 (T).
    pub fn along<const ENERGY: bool>(&self, b: f64) -> Along {
        let s = self.share + self.factor;
        let c = self.factor / s;
        let wire = self.wire.along::<ENERGY>(self.in_wire(b));
        // dB/dx and dH/dB = (1 - c) (dh/dx)/(dB/dx) + c/mu_0.
        let rise = s + (1.0 - s) * MU_0 * wire.slope;
        let inner = s * wire.energy + 0.5 * (1.0 - s) * MU_0 * wire.h * wire.h;
        Along {
            h: (1.0 - c) * wire.h + c * b / MU_0,
            slope: (1.0 - c) * wire.slope / rise + c / MU_0,
            energy: (1.0 - c) * inner + 0.5 * c * b * b / MU_0,
        }
    }

    /// Flux density in the wire, T, where that of the layer is `b` >= 0.
    fn in_wire(&self, b: f64) -> f64 {
        let s = self.share + self.factor;
        if let Some(h) = self.wire.strength_at_share(s, b) {
            return self.wire.b_of_h(h).0;
        }
        // 0 <= mu_0 h <= x, so that b lies between s x and x.
        root([b / s.max(1.0), b / s.min(1.0)], b / s, |x| {
            let wire = self.wire.along::<false>(x);
            let excess = s * x + (1.0 - s) * MU_0 * wire.h - b;
            (excess, s + (1.0 - s) * MU_0 * wire.slope)
        })
    }

    /// Field strength in the wire, A/m, where that of the layer is `h` >= 0.
    fn strength_in_wire(&self, h: f64) -> f64 {
        let (_, slope) = self.wire.magnetisation(0.0);
        root([0.0, h], h / (1.0 + self.factor * slope), |y| {
            let (m, slope) = self.wire.magnetisation(y);
            (y + self.factor * m - h, 1.0 + self.factor * slope)
        })
    }

    /// J (T) and dJ/dH (H/m) at `h` >= 0 (A/m).
    pub fn polarisation(&self, h: f64) -> (f64, f64) {
        let (m, slope) = self.wire.magnetisation(self.strength_in_wire(h));
        (MU_0 * self.share * m, MU_0 * self.share * slope / (1.0 + self.factor * slope))
    }

    /// d2J/dH2 (T m2/A2) at `h` >= 0 (A/m).
    pub fn curvature(&self, h: f64) -> f64 {
        let y = self.strength_in_wire(h);
        let (_, slope) = self.wire.magnetisation(y);
        let curvature = self.wire.magnetisation_curvature(y);
        MU_0 * self.share * curvature / (1.0 + self.factor * slope).powi(3)
    }

    /// Least H/B, m/H: where the wire is most permeable.
    pub fn least_reluctivity(&self) -> f64 {
        let chi = 1.0 / (MU_0 * self.wire.least_reluctivity()) - 1.0;
        1.0 / (MU_0 * (1.0 + self.share * chi / (1.0 + self.factor * chi)))
    }
}

/// Root of a rising function in `bracket`, which gives its value and slope: Newton's method from `start`,
/// halving the bracket where it would leave it.
fn root([mut low, mut high]: [f64; 2], start: f64, function: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut x = start;
    for _ in 0..200 {
        let (value, slope) = function(x);
        if value > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let newton = x - value / slope;
        let next = if newton >= low && newton <= high { newton } else { 0.5 * (low + high) };
        let step = (next - x).abs();
        x = next;
        if step <= 4e-16 * x.abs() {
            break;
        }
    }
    x
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::material::Library;
    use crate::section::SaturatingCurve;

    fn wires() -> Vec<SoftLaw> {
        let library = Library::built_in();
        let law = |name| match Law::from_spec(&library.find(name).expect("shipped").law, 20.0) {
            Ok(fit) => match fit.law {
                Law::Soft(law) => law,
                other => unreachable!("{other:?}"),
            },
            Err(error) => unreachable!("{error:?}"),
        };
        let langevin = SoftLaw::saturating(SaturatingCurve::Langevin, 0.61, 60.0);
        vec![law("nickel wrap"), law("mild steel"), langevin.expect("sound")]
    }

    /// What the head of the file says, at fields of the wire from weak to far beyond saturation.
    #[test]
    fn the_layer_does_what_its_wire_says() {
        for wire in wires() {
            for (share, factor) in [(0.8, ROW_FACTOR), (0.8, 0.0), (1.0, ROW_FACTOR), (0.5, 0.3)] {
                let layer = wire.of_turns(share, factor);
                for h_w in [1e-3, 10.0, 400.0, 2e3, 1e4, 3e5, 1e7] {
                    let (m_w, _) = wire.magnetisation(h_w);
                    let (h, m) = (h_w + factor * m_w, share * m_w);
                    let b = MU_0 * (h + m);
                    // Round-off of a root, and of curves through points where J is B less mu_0 H.
                    let close = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-8, "{a:e} {b:e}");
                    close(layer.h_of_b(b).0, h);
                    close(layer.h_of_b(-b).0, -h);
                    close(layer.b_of_h(h).0, b);
                    close(layer.magnetisation(h).0, m);
                    // Slopes and the energy by differences of second order over a thousandth.
                    let d = 1e-3;
                    let [less, more] = [1.0 - d, 1.0 + d].map(|k| layer.h_of_b(k * b).0);
                    let slope = layer.h_of_b(b).1;
                    let difference = (more - less) / (2.0 * d * b);
                    assert!((slope / difference - 1.0).abs() < 0.02, "{slope:e} {difference:e}");
                    let [less, more] = [1.0 - d, 1.0 + d].map(|k| layer.energy(k * b));
                    assert!(((more - less) / (2.0 * d * b * h) - 1.0).abs() < 1e-3);
                    let [less, more] = [1.0 - d, 1.0 + d].map(|k| layer.magnetisation(k * h).1);
                    let (_, slope) = layer.magnetisation(h);
                    let other = (1.0 / layer.h_of_b(b).1) / MU_0 - 1.0;
                    // Far beyond saturation that is 1 - 1.
                    assert!((slope - other).abs() < 1e-8 * slope + 1e-12, "{slope:e} {other:e}");
                    let curvature = layer.magnetisation_curvature(h);
                    let difference = (more - less) / (2.0 * d * h);
                    let round_off = 1e-14 * slope / (d * h);
                    // Curves through points have a curvature that jumps.
                    let jumps = wire == wires()[1];
                    assert!(
                        jumps
                            || (curvature - difference).abs() < 0.02 * difference.abs() + round_off,
                        "{curvature:e} {difference:e}"
                    );
                }
            }
        }
    }

    #[test]
    fn wire_that_fills_the_layer_is_the_wire() {
        for wire in wires() {
            let layer = wire.of_turns(1.0, 0.0);
            for b in [0.01, 0.3, 1.0, 2.5] {
                // Round-off.
                assert!((layer.h_of_b(b).0 / wire.h_of_b(b).0 - 1.0).abs() < 1e-12);
                assert!((layer.energy(b) / wire.energy(b) - 1.0).abs() < 1e-12);
            }
        }
    }

    /// Nowhere is the layer more permeable than it says, and somewhere nearly as permeable.
    #[test]
    fn the_least_reluctivity_is_met() {
        for wire in wires() {
            let layer = wire.of_turns(0.8, ROW_FACTOR);
            let least = (1..4000).map(|i| 1e-3 * f64::from(i)).map(|b| layer.h_of_b(b).0 / b);
            let found = least.fold(f64::INFINITY, f64::min) / layer.least_reluctivity();
            // Points of the steel 0.1 T apart, between which the cubic may pass below them.
            assert!(found > 0.99 && found < 1.05, "{found}");
        }
    }
}
