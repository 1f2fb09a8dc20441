//! How a string is cut into segments along its length.
//!
//! On each segment the magnetisation is a polynomial of degree [`DEGREE`] through the
//! Gauss-Lobatto points, which serve as quadrature points too: sums over nodes with
//! [`Segments::weights`] are exact for polynomials up to degree 2 [`DEGREE`] - 1 on each segment.
//! The magnetisation is continuous and vanishes at both ends, so that the flux leaves the string
//! through its lateral surface only, without rings of charge where segments meet.

use crate::strings::gauss::{gauss_lobatto, lagrange};

/// Degree of the magnetisation on a segment.
pub const DEGREE: usize = 4;

/// Segments of a string, x measured from the middle of the string, m.
#[derive(Clone, Debug, PartialEq)]
pub struct Segments {
    edges: Vec<f64>,
    nodes: Vec<f64>,
    weights: Vec<f64>,
}

impl Segments {
    /// Segments from -`half_length` to `half_length`: of size 0.7 `fine` up to `core` on both
    /// sides, then growing by half from one to the next.
    ///
    /// `fine` is the length over which the field changes along the string (its height above the
    /// pole), `core` how far such changes reach (the pole's radius and twice the height). All m
    /// and positive. The number of segments is bounded by a floor of `half_length` / 150 on the
    /// size.
    pub fn graded(half_length: f64, core: f64, fine: f64) -> Self {
        let size = (0.85 * fine).max(half_length / 150.0);
        let core = core.min(half_length);
        let count = (core / size).ceil().max(1.0);
        let mut right: Vec<f64> = (0..=count as usize).map(|i| core * i as f64 / count).collect();
        let mut step = 1.7 * core / count;
        let mut x = core;
        while x < half_length {
            // The last segment takes what is left, up to half as much again.
            x = if x + 1.5 * step > half_length { half_length } else { x + step };
            right.push(x);
            step *= 1.7;
        }
        let mut edges: Vec<f64> = right.iter().skip(1).rev().map(|x| -x).collect();
        edges.extend_from_slice(&right);
        Self::from_edges(edges)
    }

    /// Each segment cut in two.
    pub fn refined(&self) -> Self {
        let mut edges = Vec::with_capacity(2 * self.edges.len());
        for pair in self.edges.windows(2) {
            edges.push(pair[0]);
            edges.push(0.5 * (pair[0] + pair[1]));
        }
        edges.extend(self.edges.last());
        Self::from_edges(edges)
    }

    fn from_edges(edges: Vec<f64>) -> Self {
        let (reference, reference_weights) = gauss_lobatto(DEGREE);
        let count = edges.len() - 1;
        let mut nodes = vec![0.0; count * DEGREE + 1];
        let mut weights = vec![0.0; count * DEGREE + 1];
        for (e, pair) in edges.windows(2).enumerate() {
            let (middle, half) = (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0]));
            for i in 0..=DEGREE {
                nodes[e * DEGREE + i] = middle + half * reference[i];
                weights[e * DEGREE + i] += half * reference_weights[i];
            }
            nodes[e * DEGREE] = pair[0];
            nodes[(e + 1) * DEGREE] = pair[1];
        }
        Self { edges, nodes, weights }
    }

    /// Ends of the segments, ascending, m.
    pub fn edges(&self) -> &[f64] {
        &self.edges
    }

    /// Nodes, ascending, m; segment e holds nodes e DEGREE to (e + 1) DEGREE.
    pub fn nodes(&self) -> &[f64] {
        &self.nodes
    }

    /// Quadrature weight of each node, m; they sum to the length of the string.
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// Length of the longer segment at each node, m.
    pub(crate) fn spacing(&self) -> Vec<f64> {
        let mut spacing = vec![0.0_f64; self.nodes.len()];
        for (e, pair) in self.edges.windows(2).enumerate() {
            for longest in &mut spacing[e * DEGREE..=(e + 1) * DEGREE] {
                *longest = longest.max(pair[1] - pair[0]);
            }
        }
        spacing
    }

    /// Derivative along x of a function given at the nodes, at the nodes; where two segments meet
    /// the mean of both sides.
    pub fn derivative(&self, values: &[f64]) -> Vec<f64> {
        let (reference, _) = gauss_lobatto(DEGREE);
        let slopes: Vec<Vec<f64>> = reference.iter().map(|&u| lagrange(&reference, u).1).collect();
        let mut result = vec![0.0; values.len()];
        let last = self.edges.len() - 2;
        for (e, pair) in self.edges.windows(2).enumerate() {
            let scale = 2.0 / (pair[1] - pair[0]);
            for (i, slope) in slopes.iter().enumerate() {
                let node = e * DEGREE + i;
                let sum: f64 = slope.iter().zip(&values[e * DEGREE..]).map(|(s, v)| s * v).sum();
                let shared = (i == 0 && e > 0) || (i == DEGREE && e < last);
                result[node] += if shared { 0.5 } else { 1.0 } * scale * sum;
            }
        }
        result
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn symmetric_graded_and_as_long_as_asked() {
        let segments = Segments::graded(0.05, 0.008, 0.003);
        let x = segments.nodes();
        assert_eq!((x[0], x[x.len() - 1]), (-0.05, 0.05));
        for (a, b) in x.iter().zip(x.iter().rev()) {
            assert_eq!(*a, -b);
        }
        assert!(x.windows(2).all(|p| p[0] < p[1]));
        let length: f64 = segments.weights().iter().sum();
        assert!((length - 0.1).abs() < 1e-15);
        // 0.7 x 3 mm asked for near the pole.
        let central = segments.edges().iter().filter(|x| x.abs() <= 0.008 + 1e-12).count();
        assert_eq!(central, 9);
    }

    #[test]
    fn derivative_of_a_quartic_is_exact() {
        let segments = Segments::graded(2.0, 0.5, 0.4);
        let values: Vec<f64> = segments.nodes().iter().map(|x| x.powi(4) - 3.0 * x).collect();
        for (x, d) in segments.nodes().iter().zip(segments.derivative(&values)) {
            // Round-off of terms up to 40.
            assert!((d - (4.0 * x.powi(3) - 3.0)).abs() < 1e-11, "{x} {d}");
        }
    }
}
