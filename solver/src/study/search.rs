//! Values that make a set of smooth functions meet their targets. The only file that names the
//! optimisation library.
//!
//! In: functions L_i of n values x within bounds, with their exact derivatives, and targets; L_i is
//! above all that of x_i. Out: the x that makes sum (L_i - target_i)^2 least, left out those whose own
//! x_i is held at a bound. The search (the limited-memory method of Broyden, Fletcher,
//! Goldfarb and Shanno with the line search of More and Thuente) runs without bounds, the functions
//! going on in straight lines beyond them; what ends up outside is put on its bound and held there, and
//! the rest is searched again, until nothing more goes out.
//!
//! Values are told to the method in units of 1 / (sqrt 2 |dL_i/dx_i|): with these the sum curves alike in
//! all of them, by one, and its first step is that of Newton for each function by itself. What is left is
//! found in few steps, and every one of them may cost a solve.

use std::sync::{Mutex, PoisonError};

use argmin::core::{CostFunction, Error, Executor, Gradient, State};
use argmin::solver::linesearch::MoreThuenteLineSearch;
use argmin::solver::quasinewton::LBFGS;

/// Pairs of steps that are remembered.
const MEMORY: usize = 8;
/// Most steps of one search.
const MOST_STEPS: u64 = 60;
/// A search ends where the gradient, sqrt 2 times what is left of the functions less their targets, is
/// this small, in units of the functions.
const FLAT: f64 = 1e-9;
/// Least and greatest unit, as a share of the width of the bounds.
const UNITS: [f64; 2] = [1e-3, 1e3];

/// Functions at a place: their values and derivatives `slopes[i][k]` = d L_i / d x_k.
#[derive(Clone, Debug, PartialEq)]
pub struct At {
    /// Values, `[n]`.
    pub values: Vec<f64>,
    /// Derivatives, `[n][n]`.
    pub slopes: Vec<Vec<f64>>,
}

/// Where the search ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The values x.
    pub x: Vec<f64>,
    /// Which of them are held at a bound: -1 the lower, 1 the upper, 0 neither.
    pub held: Vec<i8>,
}

/// Searches from `start` within `bounds` (from and to of each value).
///
/// # Errors
/// Those of `functions`.
pub fn search<E: Send>(
    start: &[f64],
    bounds: &[[f64; 2]],
    targets: &[f64],
    functions: impl Fn(&[f64]) -> Result<At, E> + Sync,
) -> Result<Found, E> {
    let mut x: Vec<f64> =
        start.iter().zip(bounds).map(|(x, [from, to])| x.clamp(*from, *to)).collect();
    let mut held: Vec<i8> =
        bounds.iter().map(|[from, to]| if from < to { 0 } else { -1 }).collect();
    loop {
        let free: Vec<usize> = (0..x.len()).filter(|&k| held[k] == 0).collect();
        if free.is_empty() {
            return Ok(Found { x, held });
        }
        let here = functions(&x)?;
        let mut problem = Problem {
            x: &x,
            free: &free,
            units: &units(&free, &here, bounds),
            bounds,
            targets,
            functions: &functions,
            failure: Mutex::new(None),
            last: Mutex::new(None),
        };
        let y = problem.minimise(&here)?;
        let wanted: Vec<f64> =
            free.iter().zip(&y).zip(problem.units).map(|((&k, y), unit)| x[k] + y * unit).collect();
        let mut gone_out = false;
        for (&k, wanted) in free.iter().zip(wanted) {
            let [from, to] = bounds[k];
            x[k] = wanted.clamp(from, to);
            held[k] = if wanted < from { -1 } else { i8::from(wanted > to) };
            gone_out |= held[k] != 0;
        }
        if !gone_out {
            return Ok(Found { x, held });
        }
    }
}

/// Units of the free values, from the functions where the search begins.
fn units(free: &[usize], here: &At, bounds: &[[f64; 2]]) -> Vec<f64> {
    let unit = |&k: &usize| {
        let width = bounds[k][1] - bounds[k][0];
        let own = std::f64::consts::FRAC_1_SQRT_2 / here.slopes[k][k].abs();
        own.clamp(UNITS[0] * width, UNITS[1] * width)
    };
    free.iter().map(unit).collect()
}

/// The search over the values that are free, from where they are, each in units of its own.
struct Problem<'a, F, E> {
    x: &'a [f64],
    free: &'a [usize],
    units: &'a [f64],
    bounds: &'a [[f64; 2]],
    targets: &'a [f64],
    functions: &'a F,
    /// What went wrong in the functions, to be passed on.
    failure: Mutex<Option<E>>,
    /// Where they were told last: the library asks for sum and gradient apart.
    last: Mutex<Option<Last>>,
}

/// A place, the sum there and its gradient.
type Last = (Vec<f64>, f64, Vec<f64>);

impl<F: Fn(&[f64]) -> Result<At, E> + Sync, E: Send> Problem<'_, F, E> {
    fn minimise(&mut self, here: &At) -> Result<Vec<f64>, E> {
        let start = vec![0.0; self.free.len()];
        let (sum, gradient) = self.summed(here, &vec![0.0; self.x.len()]);
        self.last = Mutex::new(Some((start.clone(), sum, gradient)));
        let line: MoreThuenteLineSearch<Vec<f64>, Vec<f64>, f64> = MoreThuenteLineSearch::new();
        let solver: LBFGS<_, Vec<f64>, Vec<f64>, f64> = LBFGS::new(line, MEMORY);
        // Only a negative tolerance would be refused.
        let solver = solver.with_tolerance_grad(FLAT).and_then(|s| s.with_tolerance_cost(0.0));
        let best = solver.and_then(|solver| {
            Executor::new(Shared(&*self), solver)
                .configure(|state| state.param(start.clone()).max_iters(MOST_STEPS))
                .run()
        });
        if let Some(failure) = self.failure.lock().unwrap_or_else(PoisonError::into_inner).take() {
            return Err(failure);
        }
        // A line search that finds no better place has come as near as rounding lets it: what it
        // started from stands.
        Ok(match best {
            Ok(result) => result.state().get_best_param().cloned().unwrap_or(start),
            Err(_) => start,
        })
    }

    /// Sum of squares and its gradient, told before or now.
    fn at(&self, y: &[f64]) -> Result<(f64, Vec<f64>), Error> {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((at, sum, gradient)) = &*last
            && at == y
        {
            return Ok((*sum, gradient.clone()));
        }
        let (sum, gradient) = self.told(y)?;
        *last = Some((y.to_vec(), sum, gradient.clone()));
        Ok((sum, gradient))
    }

    fn told(&self, y: &[f64]) -> Result<(f64, Vec<f64>), Error> {
        let mut x = self.x.to_vec();
        let mut beyond = vec![0.0; x.len()];
        for ((&k, unit), y) in self.free.iter().zip(self.units).zip(y) {
            let [from, to] = self.bounds[k];
            let wanted = self.x[k] + y * unit;
            x[k] = wanted.clamp(from, to);
            beyond[k] = wanted - x[k];
        }
        match (self.functions)(&x) {
            Ok(at) => Ok(self.summed(&at, &beyond)),
            Err(failure) => {
                *self.failure.lock().unwrap_or_else(PoisonError::into_inner) = Some(failure);
                Err(Error::msg("the functions could not be told"))
            }
        }
    }

    /// Sum of squares and its gradient from the functions `at` a place within the bounds, `beyond` which
    /// they go straight on.
    fn summed(&self, at: &At, beyond: &[f64]) -> (f64, Vec<f64>) {
        let mut sum = 0.0;
        let mut gradient = vec![0.0; self.free.len()];
        for &i in self.free {
            let straight_on: f64 = at.slopes[i].iter().zip(beyond).map(|(s, b)| s * b).sum();
            let off = at.values[i] + straight_on - self.targets[i];
            sum += off * off;
            for ((g, &k), unit) in gradient.iter_mut().zip(self.free).zip(self.units) {
                *g += 2.0 * off * at.slopes[i][k] * unit;
            }
        }
        (sum, gradient)
    }
}

/// The problem as the library takes it: by value.
struct Shared<'a, 'b, F, E>(&'a Problem<'b, F, E>);

impl<F: Fn(&[f64]) -> Result<At, E> + Sync, E: Send> CostFunction for Shared<'_, '_, F, E> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, y: &Vec<f64>) -> Result<f64, Error> {
        self.0.at(y).map(|(sum, _)| sum)
    }
}

impl<F: Fn(&[f64]) -> Result<At, E> + Sync, E: Send> Gradient for Shared<'_, '_, F, E> {
    type Param = Vec<f64>;
    type Gradient = Vec<f64>;

    fn gradient(&self, y: &Vec<f64>) -> Result<Vec<f64>, Error> {
        self.0.at(y).map(|(_, gradient)| gradient)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Levels in dB that fall with the gap, each with a little of its neighbour's.
    fn levels(x: &[f64]) -> At {
        let n = x.len();
        let own = [-8.0, -6.0, -9.0];
        let values = (0..n)
            .map(|i| 5.0 * i as f64 + own[i] * x[i] + 0.2 * x[i] * x[i] + 0.5 * x[(i + 1) % n])
            .collect();
        let slopes = (0..n)
            .map(|i| {
                let mut row = vec![0.0; n];
                row[i] = own[i] + 0.4 * x[i];
                row[(i + 1) % n] += 0.5;
                row
            })
            .collect();
        At { values, slopes }
    }

    fn searched(bounds: [[f64; 2]; 3], target: f64) -> Found {
        let functions = |x: &[f64]| Ok::<At, ()>(levels(x));
        search(&[2.0; 3], &bounds, &[target; 3], functions).expect("works")
    }

    #[test]
    fn meets_targets_within_reach() {
        let found = searched([[0.5, 6.0]; 3], -10.0);
        assert_eq!(found.held, [0, 0, 0]);
        for value in levels(&found.x).values {
            // The gradient is sqrt 2 times this, and the search ends where it is below 1e-9.
            assert!((value + 10.0).abs() < 1e-9, "{value}");
        }
    }

    /// Nearly straight functions are met in hardly more steps than Newton's method takes.
    #[test]
    fn asks_for_the_functions_few_times() {
        let asked = std::sync::atomic::AtomicUsize::new(0);
        let functions = |x: &[f64]| {
            asked.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
            Ok::<At, ()>(levels(x))
        };
        search(&[2.0; 3], &[[0.5, 6.0]; 3], &[-10.0; 3], functions).expect("works");
        assert!(asked.into_inner() <= 20);
    }

    #[test]
    fn holds_at_its_bound_what_cannot_get_there() {
        // The first would have to come closer than 2, the last to go beyond 2.2.
        let bounds = [[2.0, 6.0], [0.5, 6.0], [0.5, 2.2]];
        let found = searched(bounds, -10.0);
        assert_eq!(found.held, [-1, 0, 1]);
        assert_eq!((found.x[0], found.x[2]), (2.0, 2.2));
        assert!((levels(&found.x).values[1] + 10.0).abs() < 1e-9);
        // No width, nothing to search.
        let none = searched([[2.0, 2.0]; 3], 0.0);
        assert_eq!((none.x, none.held), (vec![2.0; 3], vec![-1; 3]));
    }

    #[test]
    fn a_failure_is_passed_on() {
        let functions = |x: &[f64]| if x[0] > 2.5 { Err("too far") } else { Ok(levels(x)) };
        let failed = search(&[2.0; 3], &[[0.5, 9.0]; 3], &[-90.0; 3], functions);
        assert_eq!(failed, Err("too far"));
    }
}
