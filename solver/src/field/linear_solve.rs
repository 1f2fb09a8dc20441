//! Symmetric positive definite systems: the only file that names nalgebra-sparse and faer.
//!
//! A [`Pattern`] is made once from the elements' unknowns; it knows where each element entry goes
//! and, after [`Pattern::analyse`], in which order to eliminate. A [`SymmetricMatrix`] holds the
//! lower triangle in compressed columns. [`Analysis::factor`] gives a [`Factor`] A = L L^T that
//! solves for as many right-hand sides as wanted.
//!
//! Supernodal factorisation after an approximate-minimum-degree ordering, one thread: the same
//! bytes whatever the number of cores.

use std::sync::Arc;

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::LltRegularization;
use faer::linalg::solvers::Solve as _;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Accum, Conj, MatMut, MatRef, Par, Side, Spec};
use nalgebra_sparse::CscMatrix;

/// Stands for an element's node that carries no unknown (its value is prescribed).
pub const FIXED: u32 = u32::MAX;

/// What can go wrong in a factorisation.
#[derive(Debug, Clone, thiserror::Error)]
pub enum LinearSolveError {
    /// The matrix is not positive definite.
    #[error("the matrix of {unknowns} unknowns is not positive definite (pivot {pivot})")]
    NotPositiveDefinite {
        /// Number of unknowns.
        unknowns: usize,
        /// Which pivot failed, in elimination order.
        pivot: usize,
    },
    /// Not enough memory for the factor.
    #[error("not enough memory to factor a matrix of {unknowns} unknowns")]
    OutOfMemory {
        /// Number of unknowns.
        unknowns: usize,
    },
}

/// Where the entries of element matrices go in the lower triangle of the assembled matrix.
#[derive(Clone, Debug)]
pub struct Pattern {
    n_unknowns: usize,
    column_starts: Vec<usize>,
    rows: Vec<usize>,
    /// For each element, the place of entry (i, j <= i) in row order; `FIXED` where there is none.
    scatter: Vec<u32>,
    entries_per_element: usize,
}

impl Pattern {
    /// The pattern of elements with `N` nodes each; `elements[e][i]` is the unknown of node i or
    /// [`FIXED`].
    pub fn new<const N: usize>(n_unknowns: usize, elements: &[[u32; N]]) -> Self {
        // Every element entry as (column, row), gathered by column with a counting sort.
        let mut starts = vec![0usize; n_unknowns + 1];
        let for_pairs = |visit: &mut dyn FnMut(u32, u32)| {
            for unknowns in elements {
                for i in 0..N {
                    for j in 0..=i {
                        let (a, b) = (unknowns[i], unknowns[j]);
                        if a != FIXED && b != FIXED {
                            visit(a.min(b), a.max(b));
                        }
                    }
                }
            }
        };
        for_pairs(&mut |column, _| starts[column as usize + 1] += 1);
        for c in 0..n_unknowns {
            starts[c + 1] += starts[c];
        }
        let mut next = starts.clone();
        let mut gathered = vec![0u32; starts[n_unknowns]];
        for_pairs(&mut |column, row| {
            gathered[next[column as usize]] = row;
            next[column as usize] += 1;
        });
        let mut column_starts = Vec::with_capacity(n_unknowns + 1);
        let mut rows = Vec::with_capacity(gathered.len() / 2);
        column_starts.push(0);
        for c in 0..n_unknowns {
            let column = &mut gathered[starts[c]..starts[c + 1]];
            column.sort_unstable();
            let mut last = None;
            for &row in column.iter() {
                if last != Some(row) {
                    rows.push(row as usize);
                    last = Some(row);
                }
            }
            column_starts.push(rows.len());
        }
        let mut scatter = Vec::with_capacity(elements.len() * N * (N + 1) / 2);
        for unknowns in elements {
            for i in 0..N {
                for j in 0..=i {
                    let (a, b) = (unknowns[i], unknowns[j]);
                    if a == FIXED || b == FIXED {
                        scatter.push(FIXED);
                        continue;
                    }
                    let (column, row) = (a.min(b) as usize, a.max(b) as usize);
                    let range = column_starts[column]..column_starts[column + 1];
                    let offset = rows[range.clone()].partition_point(|&r| r < row);
                    scatter.push((range.start + offset) as u32);
                }
            }
        }
        Self { n_unknowns, column_starts, rows, scatter, entries_per_element: N * (N + 1) / 2 }
    }

    /// Number of unknowns.
    pub fn n_unknowns(&self) -> usize {
        self.n_unknowns
    }

    /// A matrix of this pattern, all zero.
    pub fn zeros(&self) -> SymmetricMatrix {
        let values = vec![0.0; self.rows.len()];
        // The pattern was built sorted and in range, which is all this can reject.
        let csc = CscMatrix::try_from_csc_data(
            self.n_unknowns,
            self.n_unknowns,
            self.column_starts.clone(),
            self.rows.clone(),
            values,
        );
        #[expect(clippy::expect_used, reason = "sorted, in-range indices by construction")]
        SymmetricMatrix { csc: csc.expect("a sorted pattern makes a valid matrix") }
    }

    /// Chooses the order of elimination: once for all matrices of this pattern.
    pub fn analyse(&self) -> Result<Analysis, LinearSolveError> {
        let structure = SymbolicSparseColMatRef::new_checked(
            self.n_unknowns,
            self.n_unknowns,
            &self.column_starts,
            None,
            &self.rows,
        );
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
            ..Default::default()
        };
        factorize_symbolic_cholesky(structure, Side::Lower, SymmetricOrdering::Amd, params)
            .map(|symbolic| Analysis { symbolic: Arc::new(symbolic) })
            .map_err(|_| LinearSolveError::OutOfMemory { unknowns: self.n_unknowns })
    }
}

/// The lower triangle of a symmetric matrix.
#[derive(Clone, Debug)]
pub struct SymmetricMatrix {
    csc: CscMatrix<f64>,
}

impl SymmetricMatrix {
    /// Adds an element matrix: `entries` is its lower triangle in row order, `[N (N + 1) / 2]`.
    pub fn add_element(&mut self, pattern: &Pattern, element: usize, entries: &[f64]) {
        let n = pattern.entries_per_element;
        let places = &pattern.scatter[element * n..(element + 1) * n];
        let values = self.csc.values_mut();
        for (&place, &entry) in places.iter().zip(entries) {
            if place != FIXED {
                values[place as usize] += entry;
            }
        }
    }

    /// Takes over the values of another matrix of the same pattern.
    pub fn copy_from(&mut self, other: &Self) {
        self.csc.values_mut().copy_from_slice(other.csc.values());
    }

    /// The lower triangle in compressed columns: where each column starts, `[n_unknowns + 1]`, the rows of
    /// its entries in rising order, and their values.
    pub fn columns(&self) -> (&[usize], &[usize], &[f64]) {
        self.csc.csc_data()
    }

    /// The diagonal.
    pub fn diagonal(&self) -> Vec<f64> {
        // In the lower triangle with sorted rows the first entry of a column is the diagonal.
        let (starts, _, values) = self.csc.csc_data();
        starts[..starts.len() - 1].iter().map(|&k| values[k]).collect()
    }

    /// y = A x.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut y = vec![0.0; x.len()];
        let (starts, rows, values) = self.csc.csc_data();
        for column in 0..x.len() {
            let mut sum = 0.0;
            for k in starts[column]..starts[column + 1] {
                let row = rows[k];
                y[row] += values[k] * x[column];
                if row != column {
                    sum += values[k] * x[row];
                }
            }
            y[column] += sum;
        }
        y
    }
}

/// An order of elimination, shared by all factors of one pattern.
#[derive(Clone, Debug)]
pub struct Analysis {
    symbolic: Arc<SymbolicCholesky<usize>>,
}

impl Analysis {
    /// Number of entries of the factor.
    pub fn factor_entries(&self) -> usize {
        self.symbolic.len_val()
    }

    /// A = L L^T. The matrix must have the pattern that was analysed.
    pub fn factor(&self, matrix: &SymmetricMatrix) -> Result<Factor, LinearSolveError> {
        let mut values = Vec::new();
        self.factor_into(matrix, &mut values)?;
        Ok(Factor { analysis: self.clone(), values })
    }

    /// As [`Analysis::factor`], reusing the memory of an earlier factor.
    pub fn refactor(
        &self,
        matrix: &SymmetricMatrix,
        old: Factor,
    ) -> Result<Factor, LinearSolveError> {
        let mut values = old.values;
        self.factor_into(matrix, &mut values)?;
        Ok(Factor { analysis: self.clone(), values })
    }

    fn factor_into(
        &self,
        matrix: &SymmetricMatrix,
        values: &mut Vec<f64>,
    ) -> Result<(), LinearSolveError> {
        let unknowns = self.symbolic.nrows();
        let out_of_memory = || LinearSolveError::OutOfMemory { unknowns };
        values.clear();
        values.try_reserve_exact(self.symbolic.len_val()).map_err(|_| out_of_memory())?;
        values.resize(self.symbolic.len_val(), 0.0);
        let (starts, rows, entries) = matrix.csc.csc_data();
        let structure =
            SymbolicSparseColMatRef::new_checked(unknowns, unknowns, starts, None, rows);
        let a = SparseColMatRef::new(structure, entries);
        let scratch = self.symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Spec::default());
        let mut memory = MemBuffer::try_new(scratch).map_err(|_| out_of_memory())?;
        self.symbolic
            .factorize_numeric_llt(
                values,
                a,
                Side::Lower,
                LltRegularization::default(),
                Par::Seq,
                MemStack::new(&mut memory),
                Spec::default(),
            )
            .map(|_| ())
            .map_err(|e| match e {
                faer::linalg::cholesky::llt::factor::LltError::NonPositivePivot { index } => {
                    LinearSolveError::NotPositiveDefinite { unknowns, pivot: index }
                }
            })
    }
}

/// A factored matrix.
#[derive(Clone, Debug)]
pub struct Factor {
    analysis: Analysis,
    values: Vec<f64>,
}

impl Factor {
    /// Solves A x = b in place.
    pub fn solve(&self, b: &mut [f64]) {
        self.solve_many(b, 1);
    }

    /// Solves A X = B in place for `n_columns` right-hand sides, one after the other in `b`.
    pub fn solve_many(&self, b: &mut [f64], n_columns: usize) {
        let symbolic = &*self.analysis.symbolic;
        let n = symbolic.nrows();
        if n == 0 || n_columns == 0 {
            return;
        }
        let scratch = symbolic.solve_in_place_scratch::<f64>(n_columns, Par::Seq);
        let mut memory = MemBuffer::new(scratch);
        LltRef::new(symbolic, &self.values).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(b, n, n_columns),
            Par::Seq,
            MemStack::new(&mut memory),
        );
    }
}

/// A factored dense square matrix, LU with partial pivoting.
#[derive(Clone, Debug)]
pub struct DenseFactor {
    lu: faer::linalg::solvers::PartialPivLu<f64>,
    n: usize,
}

impl DenseFactor {
    /// Factors the matrix with entries `a[row * n + column]`.
    pub fn new(a: &[f64], n: usize) -> Self {
        let lu = faer::Mat::from_fn(n, n, |i, j| a[i * n + j]).partial_piv_lu();
        Self { lu, n }
    }

    /// Solves A x = b.
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let x = self.lu.solve(faer::Mat::from_fn(self.n, 1, |i, _| b[i]));
        (0..self.n).map(|i| x[(i, 0)]).collect()
    }
}

/// A factored dense symmetric positive definite matrix, A = L L^T, one thread.
#[derive(Clone, Debug)]
pub struct DenseCholesky {
    l: faer::Mat<f64>,
}

impl DenseCholesky {
    /// Factors the matrix with entries `a[row * n + column]`; only row >= column is read.
    pub fn new(a: &[f64], n: usize) -> Result<Self, LinearSolveError> {
        use faer::linalg::cholesky::llt::factor;
        let mut l = faer::Mat::from_fn(n, n, |i, j| a[i.max(j) * n + i.min(j)]);
        let scratch = factor::cholesky_in_place_scratch::<f64>(n, Par::Seq, Spec::default());
        let mut memory = MemBuffer::try_new(scratch)
            .map_err(|_| LinearSolveError::OutOfMemory { unknowns: n })?;
        factor::cholesky_in_place(
            l.as_mut(),
            LltRegularization::default(),
            Par::Seq,
            MemStack::new(&mut memory),
            Spec::default(),
        )
        .map_err(|e| match e {
            factor::LltError::NonPositivePivot { index } => {
                LinearSolveError::NotPositiveDefinite { unknowns: n, pivot: index }
            }
        })?;
        Ok(Self { l })
    }

    /// Solves A X = B in place for the `b.len() / n` columns of B, one after the other in `b`.
    pub fn solve(&self, b: &mut [f64]) {
        let n = self.l.nrows();
        if n == 0 {
            return;
        }
        let columns = b.len() / n;
        let mut memory = MemBuffer::new(
            faer::linalg::cholesky::llt::solve::solve_in_place_scratch::<f64>(n, columns, Par::Seq),
        );
        faer::linalg::cholesky::llt::solve::solve_in_place_with_conj(
            self.l.as_ref(),
            Conj::No,
            MatMut::from_column_major_slice_mut(&mut b[..n * columns], n, columns),
            Par::Seq,
            MemStack::new(&mut memory),
        );
    }
}

/// F^T F, lower triangle, `[n * n]` by rows with zeros above, of the matrix with rows of length `n`
/// one after the other in `f`. One thread.
pub fn gram(f: &[f64], n: usize) -> Vec<f64> {
    use faer::linalg::matmul::triangular::{BlockStructure, matmul};
    let mut product = vec![0.0; n * n];
    if n == 0 {
        return product;
    }
    let rows = f.len() / n;
    let f = MatRef::from_row_major_slice(&f[..rows * n], rows, n);
    matmul(
        MatMut::from_row_major_slice_mut(&mut product, n, n),
        BlockStructure::TriangularLower,
        Accum::Replace,
        f.transpose(),
        BlockStructure::Rectangular,
        f,
        BlockStructure::Rectangular,
        1.0,
        Par::Seq,
    );
    product
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gram_is_the_sum_over_rows() {
        let (rows, n) = (37, 21);
        let f: Vec<f64> = (0..rows * n).map(|i| ((i * i) as f64 * 0.37).sin()).collect();
        let product = gram(&f, n);
        for i in 0..n {
            for j in 0..n {
                let sum: f64 = f.chunks_exact(n).map(|row| row[i] * row[j]).sum();
                let want = if j <= i { sum } else { 0.0 };
                // Rounding of 37 products below one.
                assert!((product[i * n + j] - want).abs() < 1e-13, "{i} {j}");
            }
        }
        assert!(gram(&[], 0).is_empty() && gram(&[], 2) == [0.0; 4]);
    }

    /// Three springs in a row between two walls: K = [2 -1; -1 2].
    #[test]
    fn assembles_and_solves_springs() {
        let pattern = Pattern::new(2, &[[FIXED, 0], [0, 1], [1, FIXED]]);
        let mut k = pattern.zeros();
        for e in 0..3 {
            k.add_element(&pattern, e, &[1.0, -1.0, 1.0]);
        }
        assert_eq!(k.times(&[1.0, 0.0]), vec![2.0, -1.0]);
        let factor = pattern.analyse().and_then(|a| a.factor(&k)).expect("positive definite");
        let mut x = vec![3.0, 0.0];
        factor.solve(&mut x);
        // Exact in a handful of roundings.
        assert!((x[0] - 2.0).abs() < 1e-15 && (x[1] - 1.0).abs() < 1e-15, "{x:?}");
    }

    #[test]
    fn refuses_an_indefinite_matrix() {
        let pattern = Pattern::new(2, &[[0, 1]]);
        let mut k = pattern.zeros();
        k.add_element(&pattern, 0, &[1.0, 2.0, 1.0]);
        let outcome = pattern.analyse().and_then(|a| a.factor(&k));
        assert!(matches!(outcome, Err(LinearSolveError::NotPositiveDefinite { .. })));
    }

    #[test]
    fn dense_solve_inverts() {
        let x = DenseFactor::new(&[0.0, 2.0, 1.0, 0.0], 2).solve(&[4.0, 3.0]);
        assert_eq!(x, vec![3.0, 2.0]);
    }

    #[test]
    fn dense_cholesky_solves_two_sides_and_refuses_an_indefinite_matrix() {
        let factor = DenseCholesky::new(&[4.0, f64::NAN, 2.0, 3.0], 2).expect("positive definite");
        let mut b = vec![8.0, 7.0, 4.0, 2.0];
        factor.solve(&mut b);
        for (x, exact) in b.iter().zip([1.25, 1.5, 1.0, 0.0]) {
            // Exact in a handful of roundings.
            assert!((x - exact).abs() < 1e-15, "{b:?}");
        }
        let refused = DenseCholesky::new(&[1.0, 2.0, 2.0, 1.0], 2);
        assert!(matches!(refused, Err(LinearSolveError::NotPositiveDefinite { .. })));
    }
}
