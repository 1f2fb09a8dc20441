//! Magnetisation of a string from one energy.
//!
//! Unknown: the magnetisation M_i at the nodes (three components), V_i their volumes.
//!
//! ```text
//! U / mu_0 = sum V_i [w*(M_i) - M_i . H0_i] + 1/2 M.D.M - 1/2 M.R.M      dw*/dM = H(M)
//! dU = 0:    V_i (H_i - H0_i) + (D M)_i - (R M)_i = 0                    M_i = M(H_i)
//! ```
//!
//! D is the string's own field ([`crate::strings::demagnetising`]), R the reaction of the poles. U
//! is convex. Newton's method takes the field strength H_i inside the string as the variable, since
//! M(H) is defined for all H: dM = -(V dH/dM + D - R)^-1 r, dH = dH/dM dM, with a line search on
//! the slope of U along the step. The last matrix stays factored for the derivatives.

use crate::field::linear_solve::{DenseCholesky, LinearSolveError};
use crate::strings::body::StringBody;
use crate::strings::coupled::CouplingError;
use crate::strings::law::VectorResponse;
use crate::strings::placed_reaction::PlacedReaction;
use crate::strings::section_mean::MeanField;

/// What the solve needs to know of the place.
pub(crate) struct System<'a> {
    pub body: &'a StringBody,
    /// Volume of each node, m3, `[n]`.
    pub volume: &'a [f64],
    /// Outer field at each node, `[n]`.
    pub outer: &'a [MeanField],
    pub reaction: Option<&'a PlacedReaction>,
}

/// The magnetised string. Vectors over the nodes are component-major: `[c * n + i]`.
pub(crate) struct Magnetised {
    /// Magnetisation, A/m.
    pub m: Vec<f64>,
    /// Field strength inside, A/m.
    pub h: Vec<f64>,
    /// The law at each node.
    pub response: Vec<VectorResponse>,
    /// V dH/dM + D - R, factored.
    pub factor: DenseCholesky,
    /// Newton steps taken.
    pub iterations: usize,
    /// Last residual relative to the outer field.
    pub residual: f64,
}

const MAX_ITERATIONS: usize = 60;
/// Relative residual at which the iteration stops; one step of quadratic convergence away from
/// round-off.
const TARGET: f64 = 1e-12;

impl System<'_> {
    fn n(&self) -> usize {
        self.volume.len()
    }

    /// Solves for the magnetisation.
    pub(crate) fn solve(&self) -> Result<Magnetised, CouplingError> {
        let n = self.n();
        let scale = (0..3 * n).map(|i| self.load(i).powi(2)).sum::<f64>().sqrt();
        let mut h = vec![0.0; 3 * n];
        let (mut response, mut m) = self.respond(&h);
        let mut residual = self.residual(&h, &m);
        for iterations in 0..=MAX_ITERATIONS {
            let factor = self.factor(&response)?;
            let size = residual.iter().map(|r| r * r).sum::<f64>().sqrt();
            let relative = if scale > 0.0 { size / scale } else { 0.0 };
            if relative <= TARGET {
                return Ok(Magnetised { m, h, response, factor, iterations, residual: relative });
            }
            if !relative.is_finite() {
                break;
            }
            let mut step: Vec<f64> = residual.iter().map(|r| -r).collect();
            factor.solve(&mut step);
            let slope = dot(&residual, &step);
            let dh = self.per_node(&step, |i| response[i].inverse_tangent());
            let mut s = 1.0;
            for _ in 0..30 {
                let trial: Vec<f64> = h.iter().zip(&dh).map(|(h, d)| h + s * d).collect();
                (response, m) = self.respond(&trial);
                residual = self.residual(&trial, &m);
                let dm = self.per_node(&dh, |i| response[i].tangent);
                let here = dot(&residual, &dm);
                // Past the minimum along the step by no more than half of the first slope.
                if here <= -0.5 * slope || s < 1e-6 {
                    h = trial;
                    break;
                }
                s *= (slope / (slope - here)).clamp(0.1, 0.6);
            }
        }
        let size = residual.iter().map(|r| r * r).sum::<f64>().sqrt();
        Err(CouplingError::NotConverged {
            iterations: MAX_ITERATIONS,
            residual: size / scale,
            target: TARGET,
        })
    }

    fn load(&self, index: usize) -> f64 {
        let (c, i) = (index / self.n(), index % self.n());
        self.volume[i] * self.outer[i].h[c]
    }

    fn respond(&self, h: &[f64]) -> (Vec<VectorResponse>, Vec<f64>) {
        let n = self.n();
        let response: Vec<VectorResponse> =
            (0..n).map(|i| self.body.law.at([h[i], h[n + i], h[2 * n + i]])).collect();
        let m = (0..3 * n).map(|j| response[j % n].m[j / n]).collect();
        (response, m)
    }

    /// V (H - H0) + D M - R M.
    fn residual(&self, h: &[f64], m: &[f64]) -> Vec<f64> {
        let n = self.n();
        let mut r: Vec<f64> =
            (0..3 * n).map(|j| self.volume[j % n] * h[j] - self.load(j)).collect();
        for (sum, own) in r.iter_mut().zip(self.own_field(m)) {
            *sum += own;
        }
        if let Some(reaction) = self.reaction {
            for (sum, back) in r.iter_mut().zip(reaction.apply(m)) {
                *sum -= back;
            }
        }
        r
    }

    /// D M: minus the demagnetising field times the volume.
    pub(crate) fn own_field(&self, m: &[f64]) -> Vec<f64> {
        let n = self.n();
        (0..3 * n)
            .map(|j| {
                let (c, i) = (j / n, j % n);
                let d = if c == 0 { &self.body.axial } else { &self.body.transverse };
                dot(&d[i * n..(i + 1) * n], &m[c * n..(c + 1) * n])
            })
            .collect()
    }

    /// A 3 x 3 matrix per node times a vector over the nodes.
    pub(crate) fn per_node(&self, v: &[f64], matrix: impl Fn(usize) -> [[f64; 3]; 3]) -> Vec<f64> {
        let n = self.n();
        let mut result = vec![0.0; 3 * n];
        for i in 0..n {
            let a = matrix(i);
            for c in 0..3 {
                result[c * n + i] = a[c][0] * v[i] + a[c][1] * v[n + i] + a[c][2] * v[2 * n + i];
            }
        }
        result
    }

    /// V dH/dM + D - R, factored.
    fn factor(&self, response: &[VectorResponse]) -> Result<DenseCholesky, CouplingError> {
        let n = self.n();
        let size = 3 * n;
        let mut a = vec![0.0; size * size];
        for c in 0..3 {
            let d = if c == 0 { &self.body.axial } else { &self.body.transverse };
            for i in 0..n {
                let row = (c * n + i) * size + c * n;
                a[row..row + n].copy_from_slice(&d[i * n..(i + 1) * n]);
            }
        }
        if let Some(reaction) = self.reaction {
            reaction.subtract_from(&mut a);
        }
        for (i, response) in response.iter().enumerate() {
            let inverse = response.inverse_tangent();
            for c in 0..3 {
                for e in 0..3 {
                    a[(c * n + i) * size + e * n + i] += self.volume[i] * inverse[c][e];
                }
            }
        }
        DenseCholesky::new(&a, size).map_err(|e| match e {
            LinearSolveError::NotPositiveDefinite { .. } => CouplingError::Unstable,
            LinearSolveError::OutOfMemory { unknowns } => CouplingError::OutOfMemory { unknowns },
        })
    }
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
