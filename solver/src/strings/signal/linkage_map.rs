//! Linkage of a coil as a function of where the string is: both displacements, all orders.
//!
//! In: the linkage at the places of a [`Grid`]. Out: a polynomial through them and its exact
//! gradient. The places are Chebyshev's of the first kind in each direction, and
//!
//! ```text
//! Lambda(y, z) = sum_ij c_ij T_i(eta) T_j(zeta)        eta, zeta in [-1, 1] over the grid's box
//! ```
//!
//! so that a linkage that is smooth over the box (it is: the string stays above the poles) is met
//! with an error that falls geometrically with the number of places; the size of the last
//! coefficients tells it. Outside the box the polynomial means nothing: [`LinkageMap::holds`].
//! Source: L. N. Trefethen, Approximation Theory and Approximation Practice, ch. 3, 8.

use crate::strings::chebyshev::{Clenshaw, nodes, transform};

/// A box of string displacements and how many places of it are sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// From and to, sideways and up, m.
    pub range: [[f64; 2]; 2],
    /// Number of places, sideways and up.
    pub count: [usize; 2],
}

impl Grid {
    /// The places (sideways, up), m; the upward index runs fastest. Length: product of the counts.
    pub fn places(&self) -> Vec<[f64; 2]> {
        let axis = |d: usize| -> Vec<f64> {
            let [from, to] = self.range[d];
            let node = |t: f64| 0.5 * (from + to) + 0.5 * (to - from) * t;
            nodes(self.count[d]).into_iter().map(node).collect()
        };
        let (sideways, upward) = (axis(0), axis(1));
        sideways.iter().flat_map(|&y| upward.iter().map(move |&z| [y, z])).collect()
    }
}

/// Linkage over a box of displacements.
#[derive(Clone, Debug, PartialEq)]
pub struct LinkageMap {
    range: [[f64; 2]; 2],
    count: [usize; 2],
    /// c_ij, [sideways][up], Wb-turns.
    coefficients: Vec<f64>,
}

impl LinkageMap {
    /// Through `values` (Wb-turns) at [`Grid::places`], in that order.
    ///
    /// `None` where the number of values is wrong, one of them is not finite, or the box is empty.
    pub fn new(grid: Grid, values: &[f64]) -> Option<Self> {
        let [rows, columns] = grid.count;
        let full = grid.range.iter().all(|[from, to]| from < to && (to - from).is_finite());
        let good = full && rows > 0 && columns > 0 && values.len() == rows * columns;
        if !good || values.iter().any(|v| !v.is_finite()) {
            return None;
        }
        // One direction after the other.
        let mut half = vec![0.0; values.len()];
        for row in 0..rows {
            let line = transform(&values[row * columns..(row + 1) * columns]);
            half[row * columns..(row + 1) * columns].copy_from_slice(&line);
        }
        let mut coefficients = vec![0.0; values.len()];
        for column in 0..columns {
            let line: Vec<f64> = (0..rows).map(|row| half[row * columns + column]).collect();
            for (row, c) in transform(&line).into_iter().enumerate() {
                coefficients[row * columns + column] = c;
            }
        }
        Some(Self { range: grid.range, count: grid.count, coefficients })
    }

    /// Whether the displacement (sideways, up; m) lies in the box.
    pub fn holds(&self, displacement: [f64; 2]) -> bool {
        self.range.iter().zip(displacement).all(|([from, to], u)| (*from..=*to).contains(&u))
    }

    /// The box, from and to, sideways and up, m.
    pub fn range(&self) -> [[f64; 2]; 2] {
        self.range
    }

    /// Linkage, Wb-turns, and its gradient, Wb-turns/m, at a displacement (sideways, up; m).
    pub fn at(&self, displacement: [f64; 2]) -> (f64, [f64; 2]) {
        let [rows, columns] = self.count;
        let [eta, zeta] = std::array::from_fn(|d| {
            let [from, to] = self.range[d];
            (2.0 * displacement[d] - from - to) / (to - from)
        });
        let [scale_y, scale_z] = self.range.map(|[from, to]| 2.0 / (to - from));
        let mut value = Clenshaw::default();
        let mut by_zeta = Clenshaw::default();
        for row in (0..rows).rev() {
            let mut line = Clenshaw::default();
            for c in self.coefficients[row * columns..(row + 1) * columns].iter().rev() {
                line.next(*c, zeta);
            }
            let (v, dv) = line.finish(zeta);
            value.next(v, eta);
            by_zeta.next(dv, eta);
        }
        let (linkage, by_eta) = value.finish(eta);
        (linkage, [by_eta * scale_y, by_zeta.finish(eta).0 * scale_z])
    }

    /// Size of the last coefficients against the largest but the constant: about the relative error
    /// of a linkage change. 0 where there are fewer than two places in a direction.
    pub fn truncation(&self) -> f64 {
        let [rows, columns] = self.count;
        let mut largest = 0.0_f64;
        let mut last = 0.0_f64;
        for row in 0..rows {
            for column in 0..columns {
                let c = self.coefficients[row * columns + column].abs();
                if row + column > 0 {
                    largest = largest.max(c);
                }
                // Even and odd orders may vanish by symmetry: the last two tell.
                if (rows > 2 && row + 2 >= rows) || (columns > 2 && column + 2 >= columns) {
                    last = last.max(c);
                }
            }
        }
        if largest > 0.0 { last / largest } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sampled(count: [usize; 2], f: impl Fn(f64, f64) -> f64) -> LinkageMap {
        let grid = Grid { range: [[-2.0, 1.0], [-1.0, 3.0]], count };
        let values: Vec<f64> = grid.places().into_iter().map(|[y, z]| f(y, z)).collect();
        LinkageMap::new(grid, &values).expect("finite")
    }

    /// A polynomial of the grid's degree is met exactly, its gradient too.
    #[test]
    fn meets_a_polynomial() {
        let f = |y: f64, z: f64| 1.0 + y * y * z - 0.3 * z.powi(3) + 0.1 * y.powi(3) * z.powi(2);
        let map = sampled([4, 4], f);
        for (y, z) in [(0.0, 0.0), (-2.0, 3.0), (0.7, -0.4), (1.0, -1.0)] {
            let (value, [by_y, by_z]) = map.at([y, z]);
            let want =
                [2.0 * y * z + 0.3 * y * y * z * z, y * y - 0.9 * z * z + 0.2 * y.powi(3) * z];
            // Rounding of sums of terms up to about 10, and of their derivatives.
            assert!((value - f(y, z)).abs() < 1e-13, "{value}");
            assert!((by_y - want[0]).abs() < 1e-12 && (by_z - want[1]).abs() < 1e-12);
        }
        assert!(map.holds([-2.0, 3.0]) && !map.holds([-2.01, 0.0]) && !map.holds([f64::NAN, 0.0]));
    }

    /// A smooth function is met with an error that falls geometrically, and the last coefficients
    /// tell how large it is.
    #[test]
    fn converges_on_a_smooth_function_and_says_how_far() {
        let f = |y: f64, z: f64| (-z / 3.0).exp() / (1.0 + 0.05 * y * y);
        let mut last = f64::INFINITY;
        for count in [4, 6, 8, 10, 12] {
            let map = sampled([count, count], f);
            let mut worst = 0.0_f64;
            for i in 0..40 {
                let (y, z) =
                    (-2.0 + 3.0 * f64::from(i) / 39.0, 3.0 - 4.0 * f64::from(i * 7 % 40) / 39.0);
                worst = worst.max((map.at([y, z]).0 - f(y, z)).abs());
            }
            // From 5e-4 at 4 places by a factor of about 30 for two more.
            assert!(worst < 0.2 * last, "{count}: {worst} after {last}");
            assert!(worst < 2.0 * map.truncation(), "{count}: {worst} {}", map.truncation());
            last = worst;
        }
        assert!(last < 1e-8, "{last}");
    }

    #[test]
    fn refuses_what_is_no_map() {
        let grid = Grid { range: [[-1.0, 1.0], [-1.0, 1.0]], count: [2, 2] };
        assert!(LinkageMap::new(grid, &[0.0; 3]).is_none());
        assert!(LinkageMap::new(grid, &[0.0, 0.0, 0.0, f64::NAN]).is_none());
        let flat = Grid { range: [[-1.0, -1.0], [-1.0, 1.0]], count: [2, 2] };
        assert!(LinkageMap::new(flat, &[0.0; 4]).is_none());
        let none = Grid { range: [[-1.0, 1.0], [-1.0, 1.0]], count: [0, 2] };
        assert!(LinkageMap::new(none, &[]).is_none());
        let one = Grid { range: [[-1.0, 1.0], [-1.0, 1.0]], count: [1, 1] };
        assert!(LinkageMap::new(one, &[3.0]).is_some_and(|m| m.at([0.5, 0.5]) == (3.0, [0.0; 2])));
    }
}
