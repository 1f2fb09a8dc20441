//! A string in the field above the pickup: pull, linkage rise, and their exact derivatives.
//!
//! In: the upper field H0 of everything but the string, the coils' fields per ampere b, the
//! reaction of the poles, a string body and its place p. Out: numbers in SI. With M from the energy
//! U(M; p) of [`crate::strings::newton`],
//!
//! ```text
//! pull              F_p  = -dU/dp at fixed M = mu_0 (sum V M . dH0/dp + 1/2 M . dR/dp . M)
//! linkage rise      L    = sum V M . b
//! sensitivity       A dM/dp = V dH0/dp + dR/dp M                       A = V dH/dM + D - R
//! pull gradient     dF_p/dq = mu_0 (sum V M . d2H0/dpdq + 1/2 M . d2R/dpdq . M
//!                             + dM/dq . (V dH0/dp + dR/dp M))
//! linkage change    dL/dp   = sum V (dM/dp . b + M . db/dp)
//! ```
//!
//! and the second derivative of L with one more solve. All from the same factored matrix; no
//! differences are taken. x runs along the string, y sideways, z up; the pull is the force on the
//! string, negative z towards the pole.

use crate::strings::aperture;
use crate::strings::body::StringBody;
use crate::strings::jet::ORDER;
use crate::strings::newton::{Magnetised, System, dot};
use crate::strings::reaction::{Nodes, Reaction};
use crate::strings::section_mean::{MeanField, mean_strength, section_mean};
use crate::strings::upper_field::UpperField;
use crate::units::MU_0;

/// What can go wrong when a string is coupled.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CouplingError {
    /// The string has no section or no length.
    #[error("a string of radius {radius} m cannot be cut into segments")]
    BadString {
        /// Radius of its magnetic section, m.
        radius: f64,
    },
    /// The string reaches down to where the sources are.
    #[error("the string's underside at {underside} m is not above the sampled line at {line} m")]
    TooLow {
        /// Height of its underside, m.
        underside: f64,
        /// Height of the line below which the sources are, m.
        line: f64,
    },
    /// Newton's method ran out of steps.
    #[error(
        "the string's magnetisation did not settle: residual {residual:e} after {iterations} \
         steps, {target:e} wanted"
    )]
    NotConverged {
        /// Steps taken.
        iterations: usize,
        /// Relative residual reached.
        residual: f64,
        /// Relative residual wanted.
        target: f64,
    },
    /// The reaction of the poles outweighs the string's own demagnetisation.
    #[error("the poles' reaction is stronger than the string's own field: the gap is too small")]
    Unstable,
    /// Not enough memory.
    #[error("not enough memory for {unknowns} unknowns of a string")]
    OutOfMemory {
        /// Number of unknowns.
        unknowns: usize,
    },
}

/// What a change of the field above the pickup does to a number of the string: the sum over the inner
/// nodes of `field` . dB + `slope` . d(dB/dz). To be multiplied by 1 in its own unit where B is of the
/// magnets, in T; where it is of a coil, in T/A.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FieldWeights {
    /// At each inner node, A m2 (of a coil's flux change: Wb/T).
    pub field: Vec<[f64; 3]>,
    /// At each inner node, A m3.
    pub slope: Vec<[f64; 3]>,
}

/// A string's effect on one coil.
#[derive(Clone, Debug, PartialEq)]
pub struct CoilCoupling {
    /// Rise of the coil's linkage when the string is brought in, Wb-turns.
    pub rise: f64,
    /// Linkage change per metre of travel, sideways and up, Wb-turns/m.
    pub change: [f64; 2],
    /// Second derivative of the linkage, [yy, yz; zy, zz], Wb-turns/m2.
    pub second: [[f64; 2]; 2],
    /// Where the signal comes from: linkage change per metre of travel of a metre of string, for
    /// sideways and upward travel, at each node, Wb-turns/m2. Its integral along x is `change`.
    pub sensitivity: [Vec<f64>; 2],
    /// Full width at half height of the sensitivity, sideways and up, m: distance between the
    /// outermost places where it is half of its greatest value.
    pub aperture: [f64; 2],
    /// Middle between those places along the string, sideways and up, m.
    pub aperture_middle: [f64; 2],
    /// What a change of the magnets' field does to `change[1]`. A change of the coil's own field does
    /// to it what one of the magnets' does to the pull.
    pub change_weights: FieldWeights,
}

/// A magnetised string and what follows from it. Vectors over nodes run along x, ends included.
#[derive(Clone, Debug, PartialEq)]
pub struct CoupledString {
    /// Force on the string along x, sideways and up, N.
    pub pull: [f64; 3],
    /// Derivative of the sideways and upward pull by sideways and upward travel, N/m;
    /// [yy, yz; zy, zz], symmetric.
    pub pull_gradient: [[f64; 2]; 2],
    /// One for each coil, in order.
    pub coils: Vec<CoilCoupling>,
    /// Places of the nodes along the string, m.
    pub x: Vec<f64>,
    /// Magnetisation of the magnetic section at the nodes, A/m.
    pub magnetisation: Vec<[f64; 3]>,
    /// Field strength inside the string at the nodes, A/m.
    pub field_strength: Vec<[f64; 3]>,
    /// Flux density inside the string at the nodes, T.
    pub flux_density: Vec<[f64; 3]>,
    /// Greatest flux density in the string, T.
    pub greatest_flux_density: f64,
    /// Places of the inner nodes in the section's frame, m.
    pub places: Vec<[f64; 3]>,
    /// What a change of the magnets' field does to `pull[2]`.
    pub pull_weights: FieldWeights,
    /// Newton steps taken.
    pub iterations: usize,
    /// Relative residual reached.
    pub residual: f64,
}

/// Couples one string, its middle at `at` = (x, y, z) in metres, to the field `upper`.
///
/// `coils` are the coils' own fields per ampere with the poles present (permeability of every part
/// frozen at the working point). `reaction` is the answer of the poles to the string's own field.
///
/// # Errors
/// [`CouplingError::TooLow`] if the string is not above the sampled line, and the failures of the
/// solve.
pub fn couple(
    upper: &UpperField,
    coils: &[UpperField],
    reaction: Option<&Reaction>,
    body: &StringBody,
    at: [f64; 3],
) -> Result<CoupledString, CouplingError> {
    above_all(upper, coils, body, at)?;
    let (x, volume) = body.inner_nodes();
    let points: Vec<[f64; 3]> = x.iter().map(|x| [at[0] + x, at[1], at[2]]).collect();
    let means = |field: &UpperField| -> Vec<MeanField> {
        field.jets(&points, ORDER).iter().map(|jet| section_mean(jet, body.radius, ORDER)).collect()
    };
    let outer = means(upper);
    let spacing = body.segments.spacing();
    let nodes = Nodes {
        points: &points,
        volume: &volume,
        spacing: &spacing[1..spacing.len() - 1],
        radius: body.radius,
        derivatives: true,
    };
    let placed = reaction.map(|r| r.placed(&nodes));
    let system = System { body, volume: &volume, outer: &outer, reaction: placed.as_ref() };
    let solved = system.solve()?;
    let moved = Sensitivity::new(&system, &solved, at[0]);

    let coils = coils.iter().map(|coil| moved.coil(&means(coil))).collect();
    let ends = |inner: &[f64]| -> Vec<[f64; 3]> {
        let n = volume.len();
        let mut all = vec![[0.0; 3]; n + 2];
        for i in 0..n {
            all[i + 1] = [inner[i], inner[n + i], inner[2 * n + i]];
        }
        all
    };
    let magnetisation = ends(&solved.m);
    let field_strength = ends(&solved.h);
    let flux_density: Vec<[f64; 3]> = magnetisation
        .iter()
        .zip(&field_strength)
        .map(|(m, h)| std::array::from_fn(|c| MU_0 * (m[c] + h[c])))
        .collect();
    let size = |b: &[f64; 3]| b.iter().map(|c| c * c).sum::<f64>().sqrt();
    Ok(CoupledString {
        pull: moved.pull(),
        pull_gradient: moved.pull_gradient(),
        coils,
        x: body.segments.nodes().iter().map(|x| at[0] + x).collect(),
        magnetisation,
        field_strength,
        greatest_flux_density: flux_density.iter().map(size).fold(0.0, f64::max),
        flux_density,
        pull_weights: moved.weights(&solved.m, &moved.dm[1], 1.0),
        places: points,
        iterations: solved.iterations,
        residual: solved.residual,
    })
}

/// Rise of each coil's linkage when the string is brought in, Wb-turns: what [`couple`] tells of it at a
/// third of the cost.
///
/// # Errors
/// As [`couple`].
pub fn linkage_rises(
    upper: &UpperField,
    coils: &[UpperField],
    reaction: Option<&Reaction>,
    body: &StringBody,
    at: [f64; 3],
) -> Result<Vec<f64>, CouplingError> {
    above_all(upper, coils, body, at)?;
    let (x, volume) = body.inner_nodes();
    let points: Vec<[f64; 3]> = x.iter().map(|x| [at[0] + x, at[1], at[2]]).collect();
    let means = |field: &UpperField| -> Vec<MeanField> {
        let jets = field.jets(&points, STRENGTH_ORDER);
        let mean = |jet| MeanField {
            h: mean_strength(jet, body.radius, STRENGTH_ORDER),
            ..MeanField::default()
        };
        jets.iter().map(mean).collect()
    };
    let outer = means(upper);
    let spacing = body.segments.spacing();
    let nodes = Nodes {
        points: &points,
        volume: &volume,
        spacing: &spacing[1..spacing.len() - 1],
        radius: body.radius,
        derivatives: false,
    };
    let placed = reaction.map(|r| r.placed(&nodes));
    let system = System { body, volume: &volume, outer: &outer, reaction: placed.as_ref() };
    let solved = system.solve()?;
    let rise = |coil| MU_0 * dot(&solved.m, &weighted(&volume, &means(coil), |f| f.h));
    Ok(coils.iter().map(rise).collect())
}

/// Order of the jets that the mean field strength takes, its fourth-order term included.
const STRENGTH_ORDER: usize = ORDER - 2;

/// The string must be above what the fields were sampled on.
fn above_all(
    upper: &UpperField,
    coils: &[UpperField],
    body: &StringBody,
    at: [f64; 3],
) -> Result<(), CouplingError> {
    let underside = at[2] - body.radius;
    let line = coils.iter().map(UpperField::line).fold(upper.line(), f64::max);
    if underside.is_nan() || underside <= line {
        return Err(CouplingError::TooLow { underside, line });
    }
    Ok(())
}

/// The two directions of travel: y and z.
const TRAVEL: [usize; 2] = [1, 2];

/// The coupled system differentiated with respect to the string's place.
struct Sensitivity<'a> {
    system: &'a System<'a>,
    solved: &'a Magnetised,
    /// V dH0/dp + dR/dp M, for p = x, y, z.
    load: [Vec<f64>; 3],
    /// dM/dp for p = y, z.
    dm: [Vec<f64>; 2],
    /// Where the middle of the string is along x, m.
    at_x: f64,
}

impl<'a> Sensitivity<'a> {
    fn new(system: &'a System<'a>, solved: &'a Magnetised, at_x: f64) -> Self {
        let load: [Vec<f64>; 3] = std::array::from_fn(|p| {
            let mut load = weighted(system.volume, system.outer, |f| f.d[p]);
            if let Some(reaction) = system.reaction {
                add(&mut load, 1.0, &reaction.apply_derivative(p, &solved.m));
            }
            load
        });
        let dm = TRAVEL.map(|p| solve(solved, load[p].clone()));
        Self { system, solved, load, dm, at_x }
    }

    fn pull(&self) -> [f64; 3] {
        let m = &self.solved.m;
        std::array::from_fn(|p| {
            let outer = dot(m, &weighted(self.system.volume, self.system.outer, |f| f.d[p]));
            // load = V dH0/dp + dR/dp M, of which the reaction counts half.
            MU_0 * 0.5 * (outer + dot(m, &self.load[p]))
        })
    }

    /// With the magnetisation `m` and its change by upward travel: d/dz of sum V m . B / `unit`.
    fn weights(&self, m: &[f64], change: &[f64], unit: f64) -> FieldWeights {
        let volume = self.system.volume;
        let n = volume.len();
        let moments = |m: &[f64]| -> Vec<[f64; 3]> {
            (0..n).map(|i| [0, 1, 2].map(|c| volume[i] * m[c * n + i] / unit)).collect()
        };
        FieldWeights { field: moments(change), slope: moments(m) }
    }

    /// d/dz of the magnetisation `adjoint` = A^-1 V b that a coil's field would cause, with `slope` = V db/dz:
    /// A dM~ = V db/dz + dR/dz M~ - V d2H/dM2 (M~, dM/dz).
    fn adjoint_change(&self, adjoint: &[f64], slope: &[f64]) -> Vec<f64> {
        let n = self.system.volume.len();
        let mut load = slope.to_vec();
        if let Some(reaction) = self.system.reaction {
            add(&mut load, 1.0, &reaction.apply_derivative(2, adjoint));
        }
        self.add_bend(&mut load, adjoint, &self.dm[1], n);
        solve(self.solved, load)
    }

    /// load += V dH/dM M''(dH/dM one, dH/dM other), which is -V H''(one, other).
    fn add_bend(&self, load: &mut [f64], one: &[f64], other: &[f64], n: usize) {
        for k in 0..n {
            let response = &self.solved.response[k];
            let inverse = response.inverse_tangent();
            let times = |dm: &[f64]| -> [f64; 3] {
                let v = [dm[k], dm[n + k], dm[2 * n + k]];
                std::array::from_fn(|c| (0..3).map(|e| inverse[c][e] * v[e]).sum())
            };
            let bend = response.second(times(one), times(other));
            for c in 0..3 {
                let dh: f64 = (0..3).map(|e| inverse[c][e] * bend[e]).sum();
                load[c * n + k] += self.system.volume[k] * dh;
            }
        }
    }

    fn pull_gradient(&self) -> [[f64; 2]; 2] {
        let m = &self.solved.m;
        let mut gradient = [[0.0; 2]; 2];
        for (i, p) in TRAVEL.into_iter().enumerate() {
            for (j, q) in TRAVEL.into_iter().enumerate() {
                let outer = weighted(self.system.volume, self.system.outer, |f| f.dd[p][q]);
                let mut sum = dot(m, &outer) + dot(&self.dm[j], &self.load[p]);
                if let Some(reaction) = self.system.reaction {
                    sum += 0.5 * dot(m, &reaction.apply_second(p, q, m));
                }
                gradient[i][j] = MU_0 * sum;
            }
        }
        gradient
    }

    /// d2M/dpdq: the linear system differentiated once more,
    /// A d2M = V d2H0 + d2R M + dR_p dM_q + dR_q dM_p + V dH/dM M''(dH_p, dH_q).
    fn second(&self, i: usize, j: usize) -> Vec<f64> {
        let (p, q) = (TRAVEL[i], TRAVEL[j]);
        let n = self.system.volume.len();
        let mut load = weighted(self.system.volume, self.system.outer, |f| f.dd[p][q]);
        if let Some(reaction) = self.system.reaction {
            add(&mut load, 1.0, &reaction.apply_second(p, q, &self.solved.m));
            add(&mut load, 1.0, &reaction.apply_derivative(p, &self.dm[j]));
            add(&mut load, 1.0, &reaction.apply_derivative(q, &self.dm[i]));
        }
        self.add_bend(&mut load, &self.dm[i], &self.dm[j], n);
        solve(self.solved, load)
    }

    /// Everything about one coil; `field` is its H per ampere at the nodes.
    fn coil(&self, field: &[MeanField]) -> CoilCoupling {
        let m = &self.solved.m;
        let b = |pick: &dyn Fn(&MeanField) -> [f64; 3]| -> Vec<f64> {
            let mut b = weighted(self.system.volume, field, pick);
            b.iter_mut().for_each(|b| *b *= MU_0);
            b
        };
        let own = b(&|f| f.h);
        let slope = TRAVEL.map(|p| b(&|f| f.d[p]));
        let change = [0, 1].map(|i| dot(&self.dm[i], &own) + dot(m, &slope[i]));
        let mut second = [[0.0; 2]; 2];
        for i in 0..2 {
            for j in 0..=i {
                let curved = b(&|f| f.dd[TRAVEL[i]][TRAVEL[j]]);
                second[i][j] = dot(&self.second(i, j), &own)
                    + dot(&self.dm[i], &slope[j])
                    + dot(&self.dm[j], &slope[i])
                    + dot(m, &curved);
                second[j][i] = second[i][j];
            }
        }
        let adjoint = solve(self.solved, own.clone());
        let adjoint_change = self.adjoint_change(&adjoint, &slope[1]);
        let sensitivity = aperture::density(self.system, m, &adjoint, field);
        let x = self.system.body.segments.nodes();
        let ends = [0, 1].map(|i| aperture::half_height(x, &sensitivity[i]));
        CoilCoupling {
            rise: dot(m, &own),
            change,
            second,
            sensitivity,
            aperture: ends.map(|[left, right]| right - left),
            change_weights: self.weights(&adjoint, &adjoint_change, MU_0),
            aperture_middle: ends.map(|[left, right]| self.at_x + 0.5 * (left + right)),
        }
    }
}

fn solve(solved: &Magnetised, mut load: Vec<f64>) -> Vec<f64> {
    solved.factor.solve(&mut load);
    load
}

fn add(sum: &mut [f64], factor: f64, terms: &[f64]) {
    for (s, t) in sum.iter_mut().zip(terms) {
        *s += factor * t;
    }
}

/// Volume times a vector of the field at each node, component-major.
fn weighted(
    volume: &[f64],
    field: &[MeanField],
    pick: impl Fn(&MeanField) -> [f64; 3],
) -> Vec<f64> {
    let n = volume.len();
    let mut v = vec![0.0; 3 * n];
    for i in 0..n {
        let value = pick(&field[i]);
        for c in 0..3 {
            v[c * n + i] = volume[i] * value[c];
        }
    }
    v
}
