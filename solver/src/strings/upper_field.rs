//! The field above the pickup, where the strings are, smooth and with all its derivatives.
//!
//! All sources (magnets, poles, coils) lie below the sampling plane z = z0. Above it H = -grad phi
//! with a harmonic phi that is written as waves decaying upward (see [`crate::strings::plane`]),
//! so that H and its derivatives are exact derivatives of one potential. Coordinates: x along the
//! string, y sideways, z up, m; H in A/m, B = mu_0 H.

use std::sync::Arc;

use crate::strings::fourier::PlaneWaves;
use crate::strings::jet::{FieldJet, PotentialJet};
use crate::strings::plane::{self, PlaneSampling, Sample};
use crate::strings::racetrack::Racetrack;
use crate::strings::spectral::{Order, SpectralField};

/// A field whose sources lie below the strings: one section's, or several placed side by side.
#[derive(Clone, Debug, Default)]
pub struct UpperField {
    sources: Vec<Placed>,
    /// Uniform field strength that goes with them, A/m.
    uniform: [f64; 3],
}

#[derive(Clone, Debug)]
struct Placed {
    waves: Waves,
    /// Where the section's origin stands, m.
    at: [f64; 3],
    factor: f64,
    /// Height over `at` below which the field is continued from above, m, and the step of the heights it
    /// is continued from; `None`: never.
    afar: Option<[f64; 2]>,
}

/// Heights from which a field is continued downward.
const RUNGS: usize = 4;
/// Distance between them against that to the source.
const RUNG: f64 = 0.03;

impl Placed {
    fn new(waves: Waves) -> Self {
        Self { waves, at: [0.0; 3], factor: 1.0, afar: None }
    }

    /// Jets at points in its own coordinates.
    fn jets(&self, points: &[[f64; 3]], order: usize) -> Vec<PotentialJet> {
        match &self.waves {
            Waves::Bessel(waves) => waves.jets(points, order),
            Waves::Plane(waves) => waves.jets(points, order),
            Waves::Racetrack(coil) => coil.jets(points, order),
        }
    }

    /// As [`Self::jets`], those below `floor` by the polynomial through the jets at [`RUNGS`] heights from
    /// `floor` upward, `step` apart.
    fn continued(
        &self,
        points: &[[f64; 3]],
        order: usize,
        [floor, step]: [f64; 2],
    ) -> Vec<PotentialJet> {
        let mut laid = Vec::new();
        let mut weights = Vec::new();
        for (i, p) in points.iter().enumerate() {
            if p[2] >= floor {
                laid.push(*p);
                weights.push((i, 1.0));
                continue;
            }
            let t = (p[2] - floor) / step;
            for rung in 0..RUNGS {
                laid.push([p[0], p[1], floor + step * rung as f64]);
                let others = (0..RUNGS).filter(|other| *other != rung);
                let share = |other: usize| (t - other as f64) / (rung as f64 - other as f64);
                weights.push((i, others.map(share).product()));
            }
        }
        let mut jets = vec![PotentialJet::ZERO; points.len()];
        for (jet, (i, weight)) in self.jets(&laid, order).iter().zip(weights) {
            jets[i].add(weight, jet);
        }
        jets
    }
}

#[derive(Clone, Debug)]
enum Waves {
    Bessel(Arc<SpectralField>),
    Plane(Arc<PlaneWaves>),
    /// Per ampere; not waves, but as good a source.
    Racetrack(Racetrack),
}

impl Waves {
    /// `own` of these and `theirs` of others in one, where both are written in the same waves; what
    /// azimuthal orders each has does not matter.
    fn sum(&self, own: f64, other: &Self, theirs: f64) -> Option<Self> {
        let (Self::Bessel(a), Self::Bessel(b)) = (self, other) else { return None };
        if a.z0 != b.z0 || a.k != b.k || a.fade != b.fade {
            return None;
        }
        let mut sum = SpectralField { orders: Vec::new(), ..SpectralField::clone(a) };
        for (field, factor) in [(a, own), (b, theirs)] {
            for order in &field.orders {
                let scaled = order.amplitude.iter().map(|a| factor * a);
                match sum.orders.iter_mut().find(|o| (o.m, o.part) == (order.m, order.part)) {
                    Some(there) => {
                        there.amplitude.iter_mut().zip(scaled).for_each(|(sum, a)| *sum += a);
                    }
                    None => sum.orders.push(Order {
                        m: order.m,
                        part: order.part,
                        amplitude: scaled.collect(),
                    }),
                }
            }
        }
        Some(Self::Bessel(Arc::new(sum)))
    }
}

impl UpperField {
    /// The field above an axisymmetric section, from its vector potential A_phi(r) in T m on
    /// z = `sampling.z0`, r from 0 to `sampling.extent`. The axis of symmetry is x = y = 0.
    ///
    /// Give the potential per ampere of a coil to get that coil's field per ampere.
    pub fn axisymmetric(a_phi: impl Fn(f64) -> f64 + Sync, sampling: &PlaneSampling) -> Self {
        let sample = |r: f64, a: &mut [f64]| a.iter_mut().for_each(|a| *a = a_phi(r));
        Self::all_axisymmetric(&sample, 1, sampling).pop().unwrap_or_default()
    }

    /// As [`UpperField::axisymmetric`], of `n` fields at once.
    pub(crate) fn all_axisymmetric(
        a_phi: Sample<'_>,
        n: usize,
        sampling: &PlaneSampling,
    ) -> Vec<Self> {
        let of = |(waves, h_z)| Self::of(Waves::Bessel(Arc::new(waves)), [0.0, 0.0, h_z]);
        plane::axisymmetric(a_phi, n, sampling).into_iter().map(of).collect()
    }

    /// Waves of other azimuthal orders that go with those of this field, which comes from one section.
    pub(crate) fn with_orders(&self, orders: Vec<Order>) -> Option<Self> {
        let Waves::Bessel(waves) = &self.sources.first()?.waves else { return None };
        let waves = SpectralField { orders, ..SpectralField::clone(waves) };
        Some(Self::of(Waves::Bessel(Arc::new(waves)), [0.0; 3]))
    }

    fn of(waves: Waves, uniform: [f64; 3]) -> Self {
        Self { sources: vec![Placed::new(waves)], uniform }
    }

    /// The field above a planar section, the same for all y, from its vector potential A(x) in T m
    /// on z = `sampling.z0`, |x| up to `sampling.extent`.
    ///
    /// Sign: B_x = dA/dz and B_z = -dA/dx. A uniform B_x does not show in A on one line; add it
    /// with [`UpperField::with_uniform`].
    pub fn planar(a: impl Fn(f64) -> f64 + Sync, sampling: &PlaneSampling) -> Self {
        let sample = |x: f64, values: &mut [f64]| values.iter_mut().for_each(|v| *v = a(x));
        Self::all_planar(&sample, 1, sampling).pop().unwrap_or_default()
    }

    /// As [`UpperField::planar`], of `n` fields at once.
    pub(crate) fn all_planar(a: Sample<'_>, n: usize, sampling: &PlaneSampling) -> Vec<Self> {
        let of = |(waves, h_z)| Self::of(Waves::Plane(Arc::new(waves)), [0.0, 0.0, h_z]);
        plane::planar(a, n, sampling).into_iter().map(of).collect()
    }

    /// The field of a racetrack coil per ampere, without any metal. Holds at every place outside the
    /// coil.
    pub fn racetrack(coil: Racetrack) -> Self {
        Self::of(Waves::Racetrack(coil), [0.0; 3])
    }

    /// The same field with a uniform field strength (A/m) added.
    #[must_use]
    pub fn with_uniform(mut self, h: [f64; 3]) -> Self {
        for (own, added) in self.uniform.iter_mut().zip(h) {
            *own += added;
        }
        self
    }

    /// The same field moved by (`dx`, `dy`), m.
    #[must_use]
    pub fn moved(mut self, dx: f64, dy: f64) -> Self {
        for source in &mut self.sources {
            source.at[0] += dx;
            source.at[1] += dy;
        }
        self
    }

    /// The same field raised by `dz`, m.
    #[must_use]
    pub fn raised(mut self, dz: f64) -> Self {
        for source in &mut self.sources {
            source.at[2] += dz;
        }
        self
    }

    /// The same field `factor` times as strong.
    #[must_use]
    pub fn scaled(mut self, factor: f64) -> Self {
        for source in &mut self.sources {
            source.factor *= factor;
        }
        for h in &mut self.uniform {
            *h *= factor;
        }
        self
    }

    /// The same field for places that lie `away` (m) or farther to the side of its sources: lower than
    /// `floor` (m) over them it is continued from there upward, since the waves hold only above the line
    /// they were sampled on. The field itself goes on evenly: some millimetres down and ten to the side
    /// it is good to a thousandth or so.
    #[must_use]
    pub fn from_afar(mut self, floor: f64, away: f64) -> Self {
        for source in &mut self.sources {
            source.afar = Some([floor, RUNG * away]);
        }
        self
    }

    /// The sum of two fields.
    #[must_use]
    pub fn plus(mut self, other: &Self) -> Self {
        self.sources.extend_from_slice(&other.sources);
        self.with_uniform(other.uniform)
    }

    /// The same field with sources that stand at the same place and are written in the same waves added
    /// up, so that it costs no more than one of them.
    #[must_use]
    pub(crate) fn merged(mut self) -> Self {
        let mut kept: Vec<Placed> = Vec::new();
        for source in self.sources {
            let like = kept.iter_mut().find(|k| k.at == source.at);
            match like.and_then(|k| Some((k.waves.sum(k.factor, &source.waves, source.factor)?, k)))
            {
                Some((waves, k)) => (k.waves, k.factor) = (waves, 1.0),
                None => kept.push(source),
            }
        }
        self.sources = kept;
        self
    }

    /// Height above which the field holds: the highest sampled line among its sources but those seen from
    /// afar, m.
    pub fn line(&self) -> f64 {
        let line = |s: &Placed| match &s.waves {
            Waves::Bessel(waves) => waves.z0 + s.at[2],
            Waves::Plane(waves) => waves.z0 + s.at[2],
            Waves::Racetrack(coil) => coil.top + s.at[2],
        };
        let near = self.sources.iter().filter(|s| s.afar.is_none());
        near.map(line).fold(f64::NEG_INFINITY, f64::max)
    }

    /// H and its derivatives at the point (x, y, z), m, above the sampling plane.
    pub fn eval(&self, p: [f64; 3]) -> FieldJet {
        self.jets(&[p], 3)[0].field()
    }

    /// Jets of the potential at many points, with derivatives up to `order`.
    pub(crate) fn jets(&self, points: &[[f64; 3]], order: usize) -> Vec<PotentialJet> {
        let mut sum = vec![PotentialJet::ZERO; points.len()];
        for (jet, p) in sum.iter_mut().zip(points) {
            let h = self.uniform;
            jet.set(0, 0, 0, -(h[0] * p[0] + h[1] * p[1] + h[2] * p[2]));
            jet.set(1, 0, 0, -h[0]);
            jet.set(0, 1, 0, -h[1]);
            jet.set(0, 0, 1, -h[2]);
        }
        for source in &self.sources {
            let own: Vec<[f64; 3]> =
                points.iter().map(|p| std::array::from_fn(|i| p[i] - source.at[i])).collect();
            let jets = match source.afar {
                Some(afar) => source.continued(&own, order, afar),
                None => source.jets(&own, order),
            };
            for (jet, part) in sum.iter_mut().zip(&jets) {
                jet.add(source.factor, part);
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strings::test_fields::{bar_a, bar_b, rod_a_phi};
    use crate::units::{MM, MU_0};

    fn sampling() -> PlaneSampling {
        PlaneSampling {
            z0: 0.8 * MM,
            lowest: 1.5 * MM,
            reach: 45.0 * MM,
            rough: 2.5 * MM,
            extent: 300.0 * MM,
            depth: 9.0 * MM,
        }
    }

    /// Largest relative error of gradient and second gradient against central differences.
    fn derivative_error(field: &UpperField, p: [f64; 3]) -> f64 {
        let step = 2e-6;
        let here = field.eval(p);
        let mut worst: f64 = 0.0;
        for axis in 0..3 {
            let (mut up, mut down) = (p, p);
            up[axis] += step;
            down[axis] -= step;
            let (up, down) = (field.eval(up), field.eval(down));
            for i in 0..3 {
                let d = (up.h[i] - down.h[i]) / (2.0 * step);
                worst = worst.max((d - here.gradient[i][axis]).abs() / here.gradient[2][2].abs());
                for j in 0..3 {
                    let d = (up.gradient[i][j] - down.gradient[i][j]) / (2.0 * step);
                    let scale = here.second[2][2][2].abs();
                    worst = worst.max((d - here.second[i][j][axis]).abs() / scale);
                }
            }
        }
        worst
    }

    #[test]
    fn derivatives_of_a_moved_pair_equal_central_differences() {
        let rod = UpperField::axisymmetric(
            |r| rod_a_phi(2.5 * MM, 17.0 * MM, 1.0, r, 0.8 * MM),
            &sampling(),
        );
        let pair = rod.clone().plus(&rod.scaled(-0.5).moved(1.0 * MM, 10.5 * MM));
        // Truncation: step^2/6 times (1/0.5 mm)^2 is 3e-6; round-off about 1e-9.
        assert!(derivative_error(&pair, [1.1 * MM, -0.7 * MM, 2.5 * MM]) < 1e-5);
        assert!(derivative_error(&pair, [0.0, 0.0, 2.0 * MM]) < 1e-5);
    }

    #[test]
    fn planar_bar_above_its_top() {
        // Bar 5 x 17 mm, Br 1 T, top at z = 0; closed form of the rectangular bar.
        let field =
            UpperField::planar(|x| bar_a(2.5 * MM, 17.0 * MM, 1.0, x, 0.8 * MM), &sampling());
        for (x, z) in [(0.0, 1.5), (0.0, 3.0), (-2.5, 2.0), (5.0, 2.0), (10.0, 3.0), (-30.0, 5.0)] {
            let h = field.eval([x * MM, 3.0, z * MM]).h;
            let exact = bar_b(2.5 * MM, 17.0 * MM, 1.0, x * MM, z * MM);
            // Cutting the samples at 300 mm, after the fitted tail, leaves less than 1e-6 T.
            assert!((MU_0 * h[0] - exact[0]).abs() < 1e-6, "{x} {z}: {} {exact:?}", MU_0 * h[0]);
            assert!((MU_0 * h[2] - exact[1]).abs() < 1e-6, "{x} {z}: {} {exact:?}", MU_0 * h[2]);
            assert_eq!(h[1], 0.0);
        }
        assert!(derivative_error(&field, [1.1 * MM, 0.0, 2.5 * MM]) < 1e-5);
    }

    /// What is continued from 2.5 mm upward against the waves themselves, which hold from 0.8 mm on.
    #[test]
    fn a_distant_field_goes_on_below_its_floor() {
        let rod = UpperField::axisymmetric(
            |r| rod_a_phi(2.5 * MM, 17.0 * MM, 1.0, r, 0.8 * MM),
            &sampling(),
        );
        let rod = rod.moved(0.0, 10.5 * MM).raised(0.5 * MM);
        let afar = rod.clone().from_afar(2.5 * MM, 10.5 * MM);
        for x in [0.0, 4.0, 15.0] {
            let at = |z: f64| (rod.eval([x * MM, 0.0, z * MM]), afar.eval([x * MM, 0.0, z * MM]));
            let (own, same) = at(3.1);
            assert_eq!(own, same);
            for z in [2.9, 2.4, 1.6] {
                let (own, other) = at(z);
                let size = |h: [f64; 3]| h.iter().map(|h| h * h).sum::<f64>().sqrt();
                let off = std::array::from_fn(|i| own.h[i] - other.h[i]);
                // Of the fourth order: 1.4 (1.7) (2.0) (2.3) / 8^4, the edge of the rod being 8 mm away.
                assert!(size(off) < 3e-3 * size(own.h), "{x} {z}: {off:?} of {:?}", own.h);
                let down: [f64; 3] = std::array::from_fn(|i| own.gradient[i][2]);
                let off = std::array::from_fn(|i| down[i] - other.gradient[i][2]);
                // The same over the distance; derivatives lose another order or so.
                assert!(size(off) < 1e-2 * size(down), "{x} {z}: {off:?} of {down:?}");
            }
        }
    }

    #[test]
    fn a_uniform_field_is_kept() {
        let field = UpperField::axisymmetric(
            |r| rod_a_phi(2.5 * MM, 17.0 * MM, 1.0, r, 0.8 * MM) + 0.5 * 0.01 * r,
            &sampling(),
        );
        let b = MU_0 * field.eval([0.0, 0.0, 2.0 * MM]).h[2];
        // Derby and Olbert's value plus 10 mT; the fit of the uniform part is good to 1e-7 T.
        assert!((b - 0.1833796 - 0.01).abs() < 3e-7, "{b}");
    }
}
