//! Newton's method on the discrete energy.
//!
//! The energy is convex in the unknowns (every law rises), so each Newton direction goes downhill
//! and the step along it is chosen on the slope of the energy. Convergence is measured as the
//! gradient in the norm of the first matrix's diagonal, |R|^2 = sum R_i^2 / K_ii, against its
//! value at the start.

use serde::Serialize;

use crate::field::assembly::Assembly;
use crate::field::linear_solve::{Factor, LinearSolveError};

/// Relative gradient at which the iteration stops.
pub const TARGET: f64 = 1e-10;

/// Most factorisations before giving up.
pub const MAX_STEPS: usize = 40;

/// A step may end where the slope has fallen to this part of its start.
const SLOPE_LEFT: f64 = 0.3;

/// What happened in one step.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Relative gradient after the step.
    pub residual: f64,
    /// Length of the step in units of the Newton step.
    pub length: f64,
}

/// How a solve went.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SolveInfo {
    /// Number of unknowns.
    pub unknowns: usize,
    /// Entries of the factor.
    pub factor_entries: usize,
    /// The steps, one factorisation each.
    pub steps: Vec<Step>,
}

impl SolveInfo {
    /// Number of factorisations.
    pub fn iterations(&self) -> usize {
        self.steps.len()
    }

    /// Relative gradient at the end.
    pub fn residual(&self) -> f64 {
        self.steps.last().map_or(0.0, |s| s.residual)
    }
}

/// Why there is no field.
#[derive(Clone, Debug, thiserror::Error)]
pub enum FieldError {
    /// Newton's method did not reach its target.
    #[error(
        "the field did not converge: relative residual {residual:.1e} after {iterations} \
         iterations (target {target:.0e}), worst in `{worst_region}`"
    )]
    NotConverged {
        /// Steps taken.
        iterations: usize,
        /// Relative gradient reached.
        residual: f64,
        /// Relative gradient wanted.
        target: f64,
        /// Region with the largest gradient.
        worst_region: String,
        /// Relative gradient after each step.
        history: Vec<f64>,
    },
    /// The linear system could not be solved.
    #[error(transparent)]
    Linear(#[from] LinearSolveError),
}

/// Finds the unknowns that make the energy least; `start` is the first guess, zero if `None`.
///
/// # Errors
/// [`FieldError::NotConverged`] with the history, or a failed factorisation.
pub fn minimise(
    assembly: &Assembly,
    start: Option<Vec<f64>>,
) -> Result<(Vec<f64>, SolveInfo), FieldError> {
    let space = &assembly.space;
    let n = space.n_unknowns();
    let mut info = SolveInfo {
        unknowns: n,
        factor_entries: space.analysis.factor_entries(),
        steps: Vec::new(),
    };
    let first = assembly.initial_matrix();
    let norm = {
        let diagonal = first.diagonal();
        move |r: &[f64]| r.iter().zip(&diagonal).map(|(r, d)| r * r / d).sum::<f64>().sqrt()
    };
    let zero = vec![0.0; n];
    let mut gradient = assembly.gradient(&zero);
    let scale = norm(&gradient);
    if scale == 0.0 {
        return Ok((zero, info));
    }
    let warm = start.is_some();
    let mut u = start.unwrap_or(zero);
    if warm {
        gradient = assembly.gradient(&u);
        if norm(&gradient) <= TARGET * scale {
            info.steps.push(Step { residual: norm(&gradient) / scale, length: 0.0 });
            return Ok((u, info));
        }
    }
    let mut matrix = if warm { assembly.tangent(&u) } else { first };
    let mut factor: Option<Factor> = None;
    loop {
        let current = match factor.take() {
            Some(old) => space.analysis.refactor(&matrix, old)?,
            None => space.analysis.factor(&matrix)?,
        };
        let mut step: Vec<f64> = gradient.iter().map(|r| -r).collect();
        current.solve(&mut step);
        factor = Some(current);
        let length = search(assembly, &mut u, &step, &mut gradient);
        let residual = norm(&gradient) / scale;
        info.steps.push(Step { residual, length });
        if residual <= TARGET {
            return Ok((u, info));
        }
        if info.steps.len() >= MAX_STEPS || !residual.is_finite() {
            return Err(FieldError::NotConverged {
                iterations: info.steps.len(),
                residual,
                target: TARGET,
                worst_region: worst_region(assembly, &gradient),
                history: info.steps.iter().map(|s| s.residual).collect(),
            });
        }
        matrix = assembly.tangent(&u);
    }
}

/// Walks along `step` until the slope of the energy is a small part of what it was; leaves `u`
/// and `gradient` at the end and returns the length.
fn search(assembly: &Assembly, u: &mut [f64], step: &[f64], gradient: &mut Vec<f64>) -> f64 {
    let dot = |r: &[f64]| r.iter().zip(step).map(|(r, s)| r * s).sum::<f64>();
    let slope_0 = dot(gradient);
    let (mut low, mut slope_low) = (0.0, slope_0);
    let mut high: Option<(f64, f64)> = None;
    let mut t = 1.0;
    let origin = u.to_owned();
    for trial in 0..10 {
        for i in 0..u.len() {
            u[i] = origin[i] + t * step[i];
        }
        *gradient = assembly.gradient(u);
        let slope = dot(gradient);
        if slope.abs() <= SLOPE_LEFT * slope_0.abs() || trial == 9 || assembly.is_linear() {
            break;
        }
        if slope < 0.0 {
            // Still going down at a full step: that is progress enough.
            if t >= 1.0 {
                break;
            }
            (low, slope_low) = (t, slope);
        } else {
            high = Some((t, slope));
        }
        if let Some((t_high, slope_high)) = high {
            let secant = low - slope_low * (t_high - low) / (slope_high - slope_low);
            let margin = 0.1 * (t_high - low);
            t = secant.clamp(low + margin, t_high - margin);
        }
    }
    t
}

fn worst_region(assembly: &Assembly, gradient: &[f64]) -> String {
    let space = &assembly.space;
    let mut worst = (0.0, 0);
    for (unknown, r) in gradient.iter().enumerate() {
        if r.abs() > worst.0 {
            worst = (r.abs(), space.node_of[unknown]);
        }
    }
    let mesh = &space.mesh;
    mesh.triangles
        .iter()
        .position(|t| t.contains(&worst.1))
        .map(|t| mesh.regions[mesh.region_of[t] as usize].name.clone())
        .unwrap_or_default()
}
