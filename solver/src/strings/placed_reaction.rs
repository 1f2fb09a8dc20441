//! The reaction matrix of a string in its place.
//!
//! R = F^T F with one row of F for each way in which the poles can be magnetised: the string's
//! magnetisation M lays F M on the poles, and their field does work F M on it. Derivatives of R by
//! the string's place follow from those of F by the product rule.

use crate::field::linear_solve::gram;

/// F and its derivatives for a string in its place. Components of M are component-major.
#[derive(Clone, Debug, Default)]
pub(crate) struct PlacedReaction {
    /// Number of magnetisation components.
    pub size: usize,
    /// F, `[n_rows][size]`, m^(3/2).
    pub f: Vec<f64>,
    /// R, lower triangle, `[size][size]`, m3.
    pub r: Vec<f64>,
    /// dF/dp for p = x, y, z; empty, as the next, where they are not wanted.
    pub d: [Vec<f64>; 3],
    /// d2F/dpdq for (p, q) = yy, yz, zz.
    pub dd: [Vec<f64>; 3],
}

impl PlacedReaction {
    /// R M: the poles' field at the nodes times the volume of each.
    pub(crate) fn apply(&self, m: &[f64]) -> Vec<f64> {
        self.transposed(&self.f, &self.modes(&self.f, m))
    }

    /// Derivative of the poles' field at the nodes (times volume) by the place where it is felt,
    /// the magnetisation that causes it held.
    pub(crate) fn field_derivative(&self, p: usize, m: &[f64]) -> Vec<f64> {
        self.transposed(&self.d[p], &self.modes(&self.f, m))
    }

    /// dR/dp M.
    pub(crate) fn apply_derivative(&self, p: usize, m: &[f64]) -> Vec<f64> {
        let mut sum = self.field_derivative(p, m);
        add(&mut sum, &self.transposed(&self.f, &self.modes(&self.d[p], m)));
        sum
    }

    /// d2R/dpdq M, for p and q = 1 or 2 (y or z).
    pub(crate) fn apply_second(&self, p: usize, q: usize, m: &[f64]) -> Vec<f64> {
        let curved = &self.dd[p + q - 2];
        let mut sum = self.transposed(curved, &self.modes(&self.f, m));
        add(&mut sum, &self.transposed(&self.f, &self.modes(curved, m)));
        add(&mut sum, &self.transposed(&self.d[p], &self.modes(&self.d[q], m)));
        add(&mut sum, &self.transposed(&self.d[q], &self.modes(&self.d[p], m)));
        sum
    }

    /// R = F^T F, lower triangle.
    pub(crate) fn multiply(&mut self) {
        self.r = gram(&self.f, self.size);
    }

    /// Takes R from the lower triangle of a square matrix of the same size.
    pub(crate) fn subtract_from(&self, a: &mut [f64]) {
        for (a, r) in a.iter_mut().zip(&self.r) {
            *a -= r;
        }
    }

    fn modes(&self, f: &[f64], m: &[f64]) -> Vec<f64> {
        f.chunks_exact(self.size).map(|row| row.iter().zip(m).map(|(f, m)| f * m).sum()).collect()
    }

    fn transposed(&self, f: &[f64], modes: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.size];
        for (row, mode) in f.chunks_exact(self.size).zip(modes) {
            for (s, f) in sum.iter_mut().zip(row) {
                *s += f * mode;
            }
        }
        sum
    }
}

fn add(sum: &mut [f64], terms: &[f64]) {
    for (s, t) in sum.iter_mut().zip(terms) {
        *s += t;
    }
}
