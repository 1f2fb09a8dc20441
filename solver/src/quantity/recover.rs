//! Flux density at a place, one order better than the elements' own gradient.
//!
//! The unknown u is fitted by a cubic polynomial to its nodal values in the triangles around the
//! place, of the same region only, and the fit is differentiated: polynomial-preserving recovery
//! (Naga and Zhang, SIAM J. Numer. Anal. 42 (2004) 1780). The error falls as h^3 where the gradient
//! of the element falls as h^2.

use std::sync::Arc;

use crate::field::Field;
use crate::field::linear_solve::DenseFactor;
use crate::geometry::RegionId;
use crate::mesh::Locator;
use crate::point::Point;
use crate::section::Symmetry;

/// Number of coefficients of a cubic in two variables.
const N_CUBIC: usize = 10;

/// Least number of nodes for a fit that is not too close to interpolation.
const ENOUGH: usize = 16;

/// Reads flux densities from a field.
#[derive(Debug)]
pub struct Recovery<'a> {
    field: &'a Field,
    locator: &'a Locator<'a>,
    patches: Arc<Patches>,
}

/// Triangles at vertex v: `around[starts[v]..starts[v + 1]]`.
#[derive(Debug)]
struct Patches {
    starts: Vec<u32>,
    around: Vec<u32>,
}

impl<'a> Recovery<'a> {
    /// A reader of `field`; `locator` is that of its mesh.
    pub fn new(field: &'a Field, locator: &'a Locator<'a>) -> Self {
        let mesh = field.mesh();
        let mut starts = vec![0u32; mesh.n_vertices + 1];
        for t in &mesh.triangles {
            for &v in &t[..3] {
                starts[v as usize + 1] += 1;
            }
        }
        for v in 0..mesh.n_vertices {
            starts[v + 1] += starts[v];
        }
        let mut next = starts.clone();
        let mut around = vec![0u32; starts[mesh.n_vertices] as usize];
        for (t, nodes) in mesh.triangles.iter().enumerate() {
            for &v in &nodes[..3] {
                around[next[v as usize] as usize] = t as u32;
                next[v as usize] += 1;
            }
        }
        Self { field, locator, patches: Arc::new(Patches { starts, around }) }
    }

    /// A reader of another field on the same mesh.
    #[must_use]
    pub fn of(&self, field: &'a Field) -> Self {
        Self { field, locator: self.locator, patches: Arc::clone(&self.patches) }
    }

    /// The field that is read.
    pub fn field(&self) -> &'a Field {
        self.field
    }

    /// Flux density at `place`, T: (x, y) or (r, z). `None` outside the mesh.
    pub fn flux_density(&self, place: Point) -> Option<[f64; 2]> {
        let (t, [xi, eta]) = self.locator.locate(place)?;
        Some(self.fitted(t, place).unwrap_or_else(|| self.field.flux_density(t, xi, eta)))
    }

    fn fitted(&self, t: usize, place: Point) -> Option<[f64; 2]> {
        let mesh = self.field.mesh();
        let region = mesh.region_of[t];
        let mut patch = vec![t as u32];
        let mut nodes = Vec::new();
        for _ in 0..3 {
            patch = self.ring(&patch, region);
            nodes = patch.iter().flat_map(|&t| mesh.triangles[t as usize]).collect::<Vec<u32>>();
            nodes.sort_unstable();
            nodes.dedup();
            if nodes.len() >= ENOUGH {
                break;
            }
        }
        if nodes.len() < ENOUGH {
            return None;
        }
        let reach =
            nodes.iter().map(|&node| mesh.nodes[node as usize].distance(place)).fold(0.0, f64::max);
        let mut normal = vec![0.0; N_CUBIC * N_CUBIC];
        let mut right = [0.0; N_CUBIC];
        for &node in &nodes {
            let p = (mesh.nodes[node as usize] - place) * (1.0 / reach);
            let terms = cubic(p);
            // Near nodes matter most: the fit is differentiated at the place itself.
            let weight = 1.0 / (0.05 + p.x * p.x + p.y * p.y);
            for i in 0..N_CUBIC {
                right[i] += weight * terms[i] * self.field.nodal[node as usize];
                for j in 0..N_CUBIC {
                    normal[i * N_CUBIC + j] += weight * terms[i] * terms[j];
                }
            }
        }
        let fit = DenseFactor::new(&normal, N_CUBIC).solve(&right);
        let (u, du_dx, du_dy) = (fit[0], fit[1] / reach, fit[2] / reach);
        let b = match mesh.symmetry {
            Symmetry::Planar => [du_dy, -du_dx],
            Symmetry::Axisymmetric => [-place.x * du_dy, 2.0 * u + place.x * du_dx],
        };
        b.iter().all(|b| b.is_finite()).then_some(b)
    }

    /// The patch and all triangles of `region` that share a vertex with it.
    fn ring(&self, patch: &[u32], region: RegionId) -> Vec<u32> {
        let mesh = self.field.mesh();
        let Patches { starts, around } = &*self.patches;
        let mut ring: Vec<u32> = patch
            .iter()
            .flat_map(|&t| &mesh.triangles[t as usize][..3])
            .flat_map(|&v| &around[starts[v as usize] as usize..starts[v as usize + 1] as usize])
            .copied()
            .filter(|&t| mesh.region_of[t as usize] == region)
            .collect();
        ring.sort_unstable();
        ring.dedup();
        ring
    }
}

fn cubic(p: Point) -> [f64; N_CUBIC] {
    let (x, y) = (p.x, p.y);
    [1.0, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y]
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::field::{Body, Setup, Space};
    use crate::geometry::Source;
    use crate::mesh::structured;

    /// A = sin x sinh y is harmonic; its flux density is recovered to third order.
    fn error(n: usize) -> f64 {
        let (low, high) = (Point::new(0.0, 0.0), Point::new(2.0, 2.0));
        let sources: [Source; 0] = [];
        let mesh = structured::rectangle(Symmetry::Planar, low, high, n, &sources, |_| 0);
        let space = Arc::new(Space::of_potential(Arc::new(mesh)).expect("memory"));
        let setup = Setup {
            boundary: Some(Arc::new(|p: Point| p.x.sin() * p.y.sinh())),
            ..Setup::new(vec![Body::air()])
        };
        let field = Field::solve(space, setup).expect("linear");
        let locator = Locator::new(field.mesh());
        let recovery = Recovery::new(&field, &locator);
        // Root mean square over many places, so that how they lie to the triangles evens out.
        let mut sum = 0.0;
        for i in 0..100 {
            let (x, y) = (0.5 + f64::from(i % 10) * 0.1013, 0.5 + f64::from(i / 10) * 0.0987);
            let b = recovery.flux_density(Point::new(x, y)).expect("inside");
            let exact = [x.sin() * y.cosh(), -x.cos() * y.sinh()];
            sum += (b[0] - exact[0]).powi(2) + (b[1] - exact[1]).powi(2);
        }
        (sum / 100.0).sqrt()
    }

    #[test]
    fn recovers_flux_density_to_third_order() {
        let (coarse, fine) = (error(20), error(40));
        let order = (coarse / fine).log2();
        // Third order within 0.1 or better, and a remainder below h^3 / 4 at h = 0.05.
        assert!(order > 2.9, "order {order:.2}, {coarse:e} to {fine:e}");
        assert!(fine < 3e-5, "{fine:e}");
    }
}
