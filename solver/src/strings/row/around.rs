//! What changes round a pole of a row: the fields that come from one side.
//!
//! Its neighbours and a coil that is not round lay on a pole a field that changes round its axis. With the
//! angle phi from the row,
//!
//! ```text
//! H = sum over m of (H_r,m cos m phi, H_z,m cos m phi, H_phi,m sin m phi)
//! ```
//!
//! (all of them lie mirrored on both sides of the row). The order m = 0 acts on magnets along their curve
//! and is taken by its mean ([`crate::strings::row`]); m = 1, 2, 3 are answered along the recoil lines, each
//! with one more solve on the pole's mesh ([`crate::strings::laid_field`]). They pull a string sideways and
//! change what moves it sideways brings; of the pull downwards they make less than a hundredth.

use std::f64::consts::{FRAC_PI_2, PI};

use rayon::prelude::*;

use crate::field::linear_solve::LinearSolveError;
use crate::field::{Field, Space, element};
use crate::mesh::Locator;
use crate::point::Point;
use crate::strings::gauss::{gauss_legendre, lagrange};
use crate::strings::jet::Part;
use crate::strings::plane::{PlaneSampling, around};
use crate::strings::reaction_fe::{Parts, Problem};
use crate::strings::spectral::Order;
use crate::units::MU_0;

/// Orders that are answered.
const ORDERS: [usize; 3] = [1, 2, 3];

/// Nodes across a pole, up it, and round half of it.
const ACROSS: usize = 3;
const UP: usize = 16;
const ROUND: usize = 6;

/// A pole and the places where a field that is laid on it is asked for.
pub(super) struct Around<'a> {
    parts: Parts<'a>,
    space: &'a Space,
    /// Nodes in r and z, m.
    r: Vec<f64>,
    z: Vec<f64>,
    /// Angles from the row.
    angles: Vec<f64>,
}

/// What a pole answers to one field.
pub(super) struct Answer {
    /// Waves of the azimuthal orders answered, about the pole's axis, the row along y.
    pub orders: Vec<Order>,
    /// Work integral (mu - mu_0) H . (H + H_r), J.
    pub work: f64,
}

/// Order, amplitudes and work of an answer.
type OfOrder = (usize, Vec<f64>, f64);

impl<'a> Around<'a> {
    /// `None` where the pole has nothing that answers.
    pub(super) fn new(field: &'a Field) -> Option<Self> {
        let parts = Parts::new(field);
        let places = parts.at_vertices(|p| p);
        let span = |pick: &dyn Fn(&Point) -> f64| {
            let ends = (f64::INFINITY, f64::NEG_INFINITY);
            places.iter().map(pick).fold(ends, |(low, high), v| (low.min(v), high.max(v)))
        };
        let (low, high) = span(&|p| p.y);
        let (_, radius) = span(&|p| p.x);
        if !(high > low && radius > 0.0) {
            return None;
        }
        let nodes = |n: usize, from: f64, to: f64| -> Vec<f64> {
            gauss_legendre(n).0.iter().map(|u| 0.5 * (from + to) + 0.5 * (to - from) * u).collect()
        };
        Some(Self {
            parts,
            space: &field.assembly.space,
            r: nodes(ACROSS, 0.0, radius),
            z: nodes(UP, low, high),
            angles: (0..ROUND).map(|i| PI * (i as f64 + 0.5) / ROUND as f64).collect(),
        })
    }

    /// Places all over the pole: along the row, across it, up.
    pub(super) fn places(&self) -> Vec<[f64; 3]> {
        let mut places = Vec::with_capacity(self.z.len() * self.r.len() * ROUND);
        for z in &self.z {
            for r in &self.r {
                places.extend(self.angles.iter().map(|a| [r * a.cos(), r * a.sin(), *z]));
            }
        }
        places
    }

    /// Answers to fields, each the field strength at all [`Around::places`]: along the row, across it, up,
    /// A/m. Their waves go with those of fields sampled as `sampling` says.
    ///
    /// # Errors
    /// A matrix could not be factored.
    pub(super) fn answers(
        &self,
        locator: &Locator,
        fields: &[Vec<[f64; 3]>],
        sampling: &PlaneSampling,
    ) -> Result<Vec<Answer>, LinearSolveError> {
        let space = self.space.corners(true)?;
        let shares = self.shares();
        let one_order = |&m: &usize| {
            let problem =
                Problem { parts: &self.parts, space: &space, weight: PI, across: (m * m) as f64 };
            let laid: Vec<Vec<[f64; 3]>> = fields
                .iter()
                .map(|field| self.at_vertices(&shares, &self.order(m, field)))
                .collect();
            let answers = problem.laid_on(&laid, m as f64)?;
            let mesh = self.parts.mesh;
            let potentials = |r: f64, values: &mut [f64]| {
                let Some((t, [xi, eta])) = locator.locate(Point::new(r, sampling.z0)) else {
                    return values.fill(0.0);
                };
                let n = [1.0 - xi - eta, xi, eta];
                for (value, (potential, _)) in values.iter_mut().zip(&answers) {
                    let corners = mesh.triangles[t][..3].iter().zip(n);
                    *value = corners.map(|(&node, n)| n * potential[node as usize]).sum();
                }
            };
            let amplitudes = around(m, &potentials, fields.len(), sampling);
            Ok(amplitudes
                .into_iter()
                .zip(answers)
                .map(move |(a, (_, work))| (m, a, work))
                .collect())
        };
        let solved: Result<Vec<Vec<OfOrder>>, LinearSolveError> =
            ORDERS.par_iter().map(one_order).collect();
        let mut answers: Vec<Answer> =
            fields.iter().map(|_| Answer { orders: Vec::new(), work: 0.0 }).collect();
        for order in solved? {
            for (answer, (m, amplitude, work)) in answers.iter_mut().zip(order) {
                answer.orders.push(along_y(m, amplitude));
                answer.work += work;
            }
        }
        Ok(answers)
    }

    /// (H_r, H_z, H_phi) of order `m` at the nodes in r and z, `[UP * ACROSS]`.
    fn order(&self, m: usize, field: &[[f64; 3]]) -> Vec<[f64; 3]> {
        let scale = 2.0 / ROUND as f64;
        let ring = |values: &[[f64; 3]]| {
            let mut sum = [0.0; 3];
            for (angle, [along, across, up]) in self.angles.iter().zip(values) {
                let (sin, cos) = angle.sin_cos();
                let (sin_m, cos_m) = (m as f64 * angle).sin_cos();
                sum[0] += scale * (along * cos + across * sin) * cos_m;
                sum[1] += scale * up * cos_m;
                sum[2] += scale * (across * cos - along * sin) * sin_m;
            }
            sum
        };
        field.chunks_exact(ROUND).map(ring).collect()
    }

    /// Share of each node in r and z at each vertex of the parts, `[n_vertices][UP * ACROSS]`.
    fn shares(&self) -> Vec<Vec<f64>> {
        self.parts.at_vertices(|p| {
            let (in_z, _) = lagrange(&self.z, p.y);
            let (in_r, _) = lagrange(&self.r, p.x);
            in_z.iter().flat_map(|z| in_r.iter().map(move |r| z * r)).collect()
        })
    }

    fn at_vertices(&self, shares: &[Vec<f64>], nodes: &[[f64; 3]]) -> Vec<[f64; 3]> {
        let at = |shares: &Vec<f64>| {
            std::array::from_fn(|c| shares.iter().zip(nodes).map(|(share, h)| share * h[c]).sum())
        };
        shares.iter().map(at).collect()
    }
}

/// cos m phi with phi from the y axis, in sines and cosines from the x axis.
fn along_y(m: usize, mut amplitude: Vec<f64>) -> Order {
    // cos m (phi - pi/2) = cos m phi cos(m pi/2) + sin m phi sin(m pi/2), of which one is nothing.
    let (sin, cos) = (m as f64 * FRAC_PI_2).sin_cos();
    let (part, sign) =
        if m.is_multiple_of(2) { (Part::Cosine, cos.signum()) } else { (Part::Sine, sin.signum()) };
    amplitude.iter_mut().for_each(|a| *a *= sign);
    Order { m, part, amplitude }
}

/// Field strength of nodal unknowns at `places` beside the axis of their pole (along the row, across it,
/// up), `[n_nodal][n_places]`, A/m.
pub(super) fn field_strengths(
    field: &Field,
    locator: &Locator,
    nodal: &[&[f64]],
    places: &[[f64; 3]],
) -> Vec<Vec<[f64; 3]>> {
    let mesh = field.mesh();
    let mut all = vec![Vec::with_capacity(places.len()); nodal.len()];
    for [along, across, up] in places {
        let r = along.hypot(*across);
        let located = locator.locate(Point::new(r, *up));
        let basis = located.map(|(t, [xi, eta])| {
            let at = element::evaluate(&element::corners(mesh, t), xi, eta);
            (t, at.flux_density_basis(mesh.symmetry))
        });
        for (nodal, values) in nodal.iter().zip(&mut all) {
            let [b_r, b_z] = basis.as_ref().map_or([0.0; 2], |(t, basis)| {
                let u = mesh.triangles[*t].map(|node| nodal[node as usize]);
                element::flux_density(basis, &u)
            });
            values.push([b_r * along / r, b_r * across / r, b_z].map(|b| b / MU_0));
        }
    }
    all
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::material::Library;
    use crate::pipeline::{Fields, fields, prepare};
    use crate::strings::Above;
    use crate::units::MM;

    const BALL: &str = "format = 1\nsymmetry = \"axisymmetric\"\n\
        [[material]]\nname = \"iron\"\nlaw = \"linear\"\npermeability = 200\n\
        [[part]]\nname = \"ball\"\nrole = \"pole piece\"\nmaterial = \"iron\"\n\
        circle = { diameter = \"6 mm\" }\nat = [\"0 mm\", \"-3 mm\"]\n\
        [[string]]\nname = \"s\"\ngauge = \"0.4 mm\"\nover = \"ball\"\ngap = \"2 mm\"\n";

    /// A field of 1 A/m across the axis of an iron ball makes it a dipole of 4 pi R^3 (mu - 1)/(mu + 2)
    /// [Jackson1998, 5.115]; the work is mu_0 times that.
    #[test]
    fn a_ball_in_a_field_along_the_row_is_a_dipole() {
        let prepared = prepare(BALL, &Library::built_in()).unwrap();
        let Fields { without, .. } = fields(&prepared).unwrap();
        let z0 = prepared.regions.sampling_height.unwrap();
        let above = Above::new(&prepared.regions, &without, &[], z0, 2.0 * MM, 5.0 * MM).unwrap();
        let around = Around::new(&without).unwrap();
        let uniform = vec![[1.0, 0.0, 0.0]; around.places().len()];
        let locator = Locator::new(without.mesh());
        let answers = around.answers(&locator, &[uniform], &above.sampling).unwrap();
        let moment = 4.0 * PI * (3.0 * MM).powi(3) * 199.0 / 202.0;
        // Linear elements with straight sides, as fine as the gap asks for, leave some 0.5 %.
        assert!((answers[0].work / (MU_0 * moment) - 1.0).abs() < 0.01, "{}", answers[0].work);
        let field = above.upper.with_orders(answers[0].orders.clone()).unwrap();
        let top = moment / (4.0 * PI * (5.0 * MM).powi(3));
        for p in [[0.0, 0.0, 2.0], [1.0, 2.0, 2.2], [-6.0, 1.0, 2.5], [0.0, -9.0, 3.0]] {
            let r = [p[0] * MM, p[1] * MM, (p[2] + 3.0) * MM];
            let square: f64 = r.iter().map(|c| c * c).sum();
            let h = field.eval(p.map(|c| c * MM)).h;
            for c in 0..3 {
                let along = if c == 1 { 1.0 } else { 0.0 };
                let exact = moment / (4.0 * PI * square * square.sqrt())
                    * (3.0 * r[1] * r[c] / square - along);
                assert!((h[c] - exact).abs() < 0.01 * top, "{p:?} {c}: {} {exact}", h[c]);
            }
        }
    }
}
