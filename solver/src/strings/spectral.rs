//! Potentials written as Bessel waves that decay upward.
//!
//! ```text
//! phi(r, phi, z) = sum_m int a_m(k) J_m(k r) cos(m phi) exp(-k (z - z0)) dk     (or sin)
//! ```
//!
//! A field whose sources all lie below z0 has this form above z0, and every derivative of it is
//! the same integral with another Bessel function and a power of k, so derivatives are exact and
//! smooth. Amplitudes hold the quadrature weight of their k: phi in A, k in 1/m, lengths in m.

use std::collections::BTreeMap;

use crate::strings::bessel::bessel_j;
use crate::strings::fade::Fade;
use crate::strings::jet::{LadderTable, Moments, ORDER, Orders, Part, PotentialJet, Turns};

/// One azimuthal order of a potential.
#[derive(Clone, Debug)]
pub(crate) struct Order {
    /// m >= 0.
    pub m: usize,
    /// cos(m phi) or sin(m phi).
    pub part: Part,
    /// a_m(k) times the quadrature weight, `[n_k]`, A.
    pub amplitude: Vec<f64>,
}

/// A potential in Bessel waves about the z axis.
#[derive(Clone, Debug)]
pub(crate) struct SpectralField {
    /// Height where the waves have their amplitude, m; all sources lie below.
    pub z0: f64,
    /// Wave numbers, `[n_k]`, ascending, 1/m.
    pub k: Vec<f64>,
    /// Where short waves are left out.
    pub fade: Fade,
    /// Its azimuthal orders.
    pub orders: Vec<Order>,
}

/// Waves weaker than this (of their amplitude at z0) are not summed.
const NEGLIGIBLE: f64 = 1e-19;

impl SpectralField {
    /// Jets at points (x, y, z), with derivatives up to `order`; in the order of `points`.
    ///
    /// Points with the same radius and height share their Bessel functions.
    pub(crate) fn jets(&self, points: &[[f64; 3]], order: usize) -> Vec<PotentialJet> {
        let ladder = LadderTable::new();
        let highest = self.highest_m() + order;
        let mut jets = vec![PotentialJet::ZERO; points.len()];
        for ((r, z), members) in by_radius(points) {
            let moments = self.moments(r, z, order);
            for index in members {
                let turns = Turns::new(points[index][0], points[index][1], highest);
                for (one, moments) in self.orders.iter().zip(&moments) {
                    let [cosine, sine] = ladder.jets(one.m, &turns, order, moments);
                    let jet = if one.part == Part::Cosine { cosine } else { sine };
                    jets[index].add(1.0, &jet);
                }
            }
        }
        jets
    }

    fn highest_m(&self) -> usize {
        self.orders.iter().map(|o| o.m).max().unwrap_or(0)
    }

    /// The moments of each azimuthal order.
    fn moments(&self, r: f64, z: f64, order: usize) -> Vec<Moments> {
        let highest = self.highest_m() + order;
        let mut bessel = vec![0.0; highest + 1];
        let mut all = vec![Moments::ZERO; self.orders.len()];
        let greatest = self.fade.greatest(r);
        for (index, &k) in self.k.iter().enumerate() {
            let decay = (-k * (z - self.z0)).exp();
            if decay < NEGLIGIBLE || k > greatest {
                break;
            }
            let decay = decay * self.fade.share(k, r);
            bessel_j(k * r, &mut bessel);
            let around = Orders::new(&bessel);
            for (one, moments) in self.orders.iter().zip(&mut all) {
                moments.add_wave(one.m, one.amplitude[index] * decay, k, &around, order);
            }
        }
        all
    }
}

/// Points grouped by radius and height.
pub(crate) fn by_radius(points: &[[f64; 3]]) -> Vec<((f64, f64), Vec<usize>)> {
    let mut groups: BTreeMap<(u64, u64), Vec<usize>> = BTreeMap::new();
    for (index, p) in points.iter().enumerate() {
        let key = (p[0].hypot(p[1]).to_bits(), p[2].to_bits());
        groups.entry(key).or_default().push(index);
    }
    groups
        .into_iter()
        .map(|((r, z), members)| ((f64::from_bits(r), f64::from_bits(z)), members))
        .collect()
}

// `ORDER` bounds what a jet can hold.
const _: () = assert!(ORDER >= 3);

#[cfg(test)]
mod tests {
    use super::*;

    /// Two waves, off the axis, all orders: derivatives against central differences of the jet one
    /// order below.
    #[test]
    fn jets_are_their_own_derivatives() {
        let orders = vec![
            Order { m: 0, part: Part::Cosine, amplitude: vec![1.0, -0.4] },
            Order { m: 1, part: Part::Sine, amplitude: vec![0.3, 0.2] },
            Order { m: 3, part: Part::Cosine, amplitude: vec![-0.7, 0.5] },
            Order { m: 9, part: Part::Sine, amplitude: vec![5.0, 8.0] },
        ];
        let field = SpectralField { z0: 0.1, k: vec![0.9, 1.7], fade: Fade::NEVER, orders };
        let at = [0.8, -0.6, 0.4];
        let h = 1e-4;
        let jet = |p: [f64; 3]| field.jets(&[p], ORDER)[0];
        let here = jet(at);
        for axis in 0..3 {
            let (mut up, mut down) = (at, at);
            up[axis] += h;
            down[axis] -= h;
            let (up, down) = (jet(up), jet(down));
            for a in 0..ORDER {
                for b in 0..ORDER - a {
                    for c in 0..ORDER - a - b {
                        let mut n = [a, b, c];
                        let difference = (up.d(a, b, c) - down.d(a, b, c)) / (2.0 * h);
                        n[axis] += 1;
                        let exact = here.d(n[0], n[1], n[2]);
                        // Truncation of the difference: h^2/6 times a third derivative (up to
                        // 1.7^10 here) of the value.
                        let scale = 1.0 + 1.7_f64.powi((a + b + c) as i32 + 3) * 10.0;
                        assert!(
                            (difference - exact).abs() < 2e-9 * scale,
                            "{n:?}: {difference} {exact}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn regular_on_the_axis() {
        let orders = vec![Order { m: 0, part: Part::Cosine, amplitude: vec![1.0] }];
        let field = SpectralField { z0: 0.0, k: vec![2.0], fade: Fade::NEVER, orders };
        let jets = field.jets(&[[0.0, 0.0, 0.3], [1e-7, 1e-7, 0.3]], 3);
        for (a, b, c) in [(0, 0, 0), (0, 0, 1), (1, 0, 0), (2, 0, 0), (1, 1, 0), (2, 0, 1)] {
            // The two points differ by 1e-7, the derivatives by at most k^4 times that.
            assert!((jets[0].d(a, b, c) - jets[1].d(a, b, c)).abs() < 2e-6);
        }
        assert!((jets[0].d(2, 0, 0) + 0.5 * 4.0 * (-0.6_f64).exp()).abs() < 1e-14);
    }
}
