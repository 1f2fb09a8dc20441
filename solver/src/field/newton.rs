//! Newton's method on the discrete energy, with few factorisations.
//!
//! The energy is convex in the unknowns (every law rises), so each direction goes downhill and the
//! step along it is chosen on the slope of the energy. Convergence is measured as the gradient in
//! the norm of the first matrix's diagonal, |R|^2 = sum R_i^2 / K_ii, against its value at the
//! start.
//!
//! A tangent is factored and kept for as long as it serves. Between factorisations the steps are
//! those of the quasi-Newton method of Broyden, Fletcher, Goldfarb and Shanno: what the gradients of
//! the last steps have taught of the tangent corrects the factored one (two-loop recursion, Nocedal,
//! Math. Comp. 35 (1980) 773). Such a step costs a back-substitution, about a fifth of a
//! factorisation. Where one does not shorten the gradient to [`SLOW`] of what it was, the tangent is
//! factored anew. The solution is the same: only the gradient decides where to stop.

use std::collections::VecDeque;

use serde::Serialize;

use crate::field::assembly::Assembly;
use crate::field::linear_solve::{Factor, LinearSolveError};

/// Relative gradient at which the iteration stops.
pub const TARGET: f64 = 1e-10;

/// Most factorisations before giving up.
pub const MAX_STEPS: usize = 40;

/// A step may end where the slope has fallen to this part of its start.
const SLOPE_LEFT: f64 = 0.1;

/// A step that leaves more than this of the gradient calls for a new factorisation, unless no more than `FEW` are left
/// at its pace. A factor costs as much as some five steps; where magnets go over the kink between recoil line and
/// major curve a new one leaves a fifth, an old one half. Found over the shipped sections.
const SLOW: f64 = 0.03;
const FEW: f64 = 2.0;

/// After so many factorisations steps may be slow, as long as they are steps at all (`STALLED`): what is left is
/// little, and costs no more in slow steps.
const MANY: usize = 7;
const STALLED: f64 = 0.7;

/// Steps remembered between factorisations: each holds two vectors.
const REMEMBERED: usize = 8;

/// What happened in one step.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Relative gradient after the step.
    pub residual: f64,
    /// Length of the step in units of the whole step.
    pub length: f64,
    /// Whether the tangent was factored anew for it: a step of Newton's own.
    pub factored: bool,
}

/// How a solve went.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SolveInfo {
    /// Number of unknowns.
    pub unknowns: usize,
    /// Entries of the factor.
    pub factor_entries: usize,
    /// The steps.
    pub steps: Vec<Step>,
}

impl SolveInfo {
    /// Number of factorisations.
    pub fn iterations(&self) -> usize {
        self.steps.iter().filter(|step| step.factored).count()
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

/// Where the iteration begins.
#[derive(Clone, Copy, Debug)]
pub enum Begin<'a> {
    /// Nothing is known of the field.
    Nowhere,
    /// Near the field, `[n_nodes]`.
    Near(&'a [f64]),
    /// At the field in which every magnet was at its lowest, `[n_nodes]`: what has been put there since
    /// moves the magnets along their recoil lines first.
    Before(&'a [f64]),
}

/// Finds the unknowns that make the energy least.
///
/// # Errors
/// [`FieldError::NotConverged`] with the history, or a failed factorisation.
pub fn minimise(
    assembly: &Assembly,
    begin: Begin<'_>,
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
    let mut u = match begin {
        Begin::Nowhere => zero,
        Begin::Near(nodal) | Begin::Before(nodal) => space.restrict(nodal),
    };
    if !matches!(begin, Begin::Nowhere) {
        gradient = assembly.gradient(&u);
        if norm(&gradient) <= TARGET * scale {
            info.steps.push(Step {
                residual: norm(&gradient) / scale,
                length: 0.0,
                factored: false,
            });
            return Ok((u, info));
        }
    }
    let mut matrix = match begin {
        Begin::Nowhere => first,
        Begin::Near(_) => assembly.tangent(&u),
        Begin::Before(_) => assembly.small_change(&u),
    };
    let mut residual = norm(&gradient) / scale;
    let mut factor: Option<Factor> = None;
    loop {
        let current = match factor.take() {
            Some(old) => space.analysis.refactor(&matrix, old)?,
            None => space.analysis.factor(&matrix)?,
        };
        let mut learnt: VecDeque<Learnt> = VecDeque::new();
        let mut factored = true;
        loop {
            let step = direction(&current, &learnt, &gradient);
            let before = gradient.clone();
            let length = search(assembly, &mut u, &step, &mut gradient);
            let last = std::mem::replace(&mut residual, norm(&gradient) / scale);
            info.steps.push(Step { residual, length, factored });
            if residual <= TARGET {
                return Ok((u, info));
            }
            if info.iterations() >= MAX_STEPS || !residual.is_finite() {
                return Err(FieldError::NotConverged {
                    iterations: info.iterations(),
                    residual,
                    target: TARGET,
                    worst_region: worst_region(assembly, &gradient),
                    history: info.steps.iter().map(|s| s.residual).collect(),
                });
            }
            let left = (residual / TARGET).ln() / (last / residual).ln();
            let slow = if info.iterations() < MANY { SLOW } else { STALLED };
            if residual > slow * last && (residual >= last || left > FEW) {
                break;
            }
            if learnt.len() == REMEMBERED {
                learnt.pop_front();
            }
            learnt.extend(Learnt::new(step, length, &before, &gradient));
            factored = false;
        }
        factor = Some(current);
        matrix = assembly.tangent(&u);
    }
}

/// What one step taught of the tangent: the change of the gradient along it.
struct Learnt {
    step: Vec<f64>,
    change: Vec<f64>,
    /// 1 / (step . change).
    weight: f64,
}

impl Learnt {
    /// `None` where the gradient did not rise along the step by more than rounding.
    fn new(mut step: Vec<f64>, length: f64, before: &[f64], after: &[f64]) -> Option<Self> {
        for value in &mut step {
            *value *= length;
        }
        let change: Vec<f64> = after.iter().zip(before).map(|(a, b)| a - b).collect();
        let rise = dot(&step, &change);
        (rise > 1e-12 * dot(&step, before).abs()).then(|| Self { step, change, weight: 1.0 / rise })
    }
}

/// The step down from `gradient`: that of the factored tangent corrected by what was learnt since.
fn direction(factor: &Factor, learnt: &VecDeque<Learnt>, gradient: &[f64]) -> Vec<f64> {
    let mut step: Vec<f64> = gradient.iter().map(|r| -r).collect();
    let mut shares = Vec::with_capacity(learnt.len());
    for one in learnt.iter().rev() {
        let share = one.weight * dot(&one.step, &step);
        add(&mut step, -share, &one.change);
        shares.push(share);
    }
    factor.solve(&mut step);
    for (one, share) in learnt.iter().zip(shares.into_iter().rev()) {
        let back = one.weight * dot(&one.change, &step);
        add(&mut step, share - back, &one.step);
    }
    step
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// sum += factor * more.
fn add(sum: &mut [f64], factor: f64, more: &[f64]) {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum += factor * more;
    }
}

/// Walks along `step` until the slope of the energy is a small part of what it was; leaves `u`
/// and `gradient` at the end and returns the length.
fn search(assembly: &Assembly, u: &mut [f64], step: &[f64], gradient: &mut Vec<f64>) -> f64 {
    let slope_0 = dot(gradient, step);
    let (mut low, mut slope_low) = (0.0, slope_0);
    let mut high: Option<(f64, f64)> = None;
    let mut t = 1.0;
    let origin = u.to_owned();
    for trial in 0..10 {
        for i in 0..u.len() {
            u[i] = origin[i] + t * step[i];
        }
        *gradient = assembly.gradient(u);
        let slope = dot(gradient, step);
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
