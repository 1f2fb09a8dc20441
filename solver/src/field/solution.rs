//! A solved field, and what it answers to small changes.

use std::sync::Arc;

use rayon::prelude::*;

use crate::field::assembly::{Assembly, Slopes};
use crate::field::element;
use crate::field::linear_solve::{Factor, LinearSolveError};
use crate::field::newton::{self, Begin, FieldError, SolveInfo};
use crate::field::setup::{MagnetMemory, Setup};
use crate::field::space::Space;
use crate::mesh::Mesh;

/// Loads answered at once: enough for the factor to be read seldom, few enough to bound memory.
const AT_ONCE: usize = 8;

/// A solved field.
#[derive(Clone, Debug)]
pub struct Field {
    /// The equations it solves.
    pub assembly: Arc<Assembly>,
    /// Unknowns at all nodes: A_z in Wb/m, or v = A_phi / r in T, `[n_nodes]`.
    pub nodal: Vec<f64>,
    /// How the solve went.
    pub info: SolveInfo,
}

impl Field {
    /// Solves from nothing.
    ///
    /// # Errors
    /// Newton did not converge, or a matrix could not be factored.
    pub fn solve(space: Arc<Space>, setup: Setup) -> Result<Self, FieldError> {
        Self::solve_from(space, setup, Begin::Nowhere)
    }

    /// Solves, beginning from what is known of the field.
    ///
    /// # Errors
    /// As [`Field::solve`].
    pub fn solve_from(
        space: Arc<Space>,
        setup: Setup,
        begin: Begin<'_>,
    ) -> Result<Self, FieldError> {
        let assembly = Arc::new(Assembly::new(space, setup));
        let (unknowns, info) = newton::minimise(&assembly, begin)?;
        let nodal = assembly.nodal(&unknowns);
        Ok(Self { assembly, nodal, info })
    }

    /// The mesh.
    pub fn mesh(&self) -> &Mesh {
        &self.assembly.space.mesh
    }

    /// What is solved.
    pub fn setup(&self) -> &Setup {
        &self.assembly.setup
    }

    /// Nodal unknowns of a triangle.
    pub fn of_triangle(&self, t: usize) -> [f64; 6] {
        self.mesh().triangles[t].map(|node| self.nodal[node as usize])
    }

    /// Flux density in triangle `t` at reference point (xi, eta), T.
    pub fn flux_density(&self, t: usize, xi: f64, eta: f64) -> [f64; 2] {
        let mesh = self.mesh();
        let at = element::evaluate(&element::corners(mesh, t), xi, eta);
        element::flux_density(&at.flux_density_basis(mesh.symmetry), &self.of_triangle(t))
    }

    /// Vector potential A_z or A_phi in triangle `t` at reference point (xi, eta), Wb/m.
    pub fn vector_potential(&self, t: usize, xi: f64, eta: f64) -> f64 {
        let mesh = self.mesh();
        let at = element::evaluate(&element::corners(mesh, t), xi, eta);
        let basis = at.potential_basis(mesh.symmetry);
        self.of_triangle(t).iter().zip(basis).map(|(u, a)| u * a).sum()
    }

    /// The lowest field strength each magnet point has seen, this field included.
    pub fn memory(&self) -> MagnetMemory {
        let (mesh, setup) = (self.mesh(), self.setup());
        let lowest = (0..mesh.triangles.len())
            .map(|t| {
                let body = &setup.bodies[mesh.region_of[t] as usize];
                let before = setup.memory.as_ref();
                std::array::from_fn(|q| {
                    if !body.law.is_magnet() {
                        return f64::INFINITY;
                    }
                    let [xi, eta, _] = element::QUADRATURE[q];
                    let seen = before.and_then(|memory| memory.at(t, q));
                    let h =
                        body.law.respond_in_field(self.flux_density(t, xi, eta), body.axis, seen).h;
                    let along = h[0] * body.axis[0] + h[1] * body.axis[1];
                    along.min(seen.unwrap_or(f64::INFINITY))
                })
            })
            .collect();
        MagnetMemory { lowest }
    }
}

/// The tangent at a field, factored once, with every magnet on its recoil line unless other slopes are asked for.
///
/// Answers any small change: the field of a coil per ampere, the response to a moved part, and
/// the weights of an error estimate.
#[derive(Clone, Debug)]
pub struct SmallChange {
    assembly: Arc<Assembly>,
    factor: Factor,
}

impl SmallChange {
    /// Factors the tangent at `field`.
    ///
    /// # Errors
    /// The matrix could not be factored.
    pub fn new(field: &Field) -> Result<Self, LinearSolveError> {
        Self::along(field, Slopes::Small)
    }

    /// As [`SmallChange::new`] with other slopes of the laws: what changes the field more than reversibly.
    ///
    /// # Errors
    /// The matrix could not be factored.
    pub fn along(field: &Field, slopes: Slopes) -> Result<Self, LinearSolveError> {
        let assembly = Arc::clone(&field.assembly);
        let matrix = assembly.tangent_of(&assembly.space.restrict(&field.nodal), slopes);
        let factor = assembly.space.analysis.factor(&matrix)?;
        Ok(Self { assembly, factor })
    }

    /// The nodal change caused by a nodal load (for a current density j: integral j a_i),
    /// `[n_nodes]` in and out; 0 on the outer boundary.
    pub fn answer(&self, load: &[f64]) -> Vec<f64> {
        let space = &self.assembly.space;
        let mut x = space.restrict(load);
        self.factor.solve(&mut x);
        space.extend(&x)
    }

    /// As [`SmallChange::answer`] for many loads, `[n_loads][n_nodes]` in and out.
    pub fn answers(&self, loads: &[&[f64]]) -> Vec<Vec<f64>> {
        let space = &self.assembly.space;
        let n = space.n_unknowns();
        let of_group = |group: &[&[f64]]| -> Vec<Vec<f64>> {
            let mut x: Vec<f64> = Vec::with_capacity(n * group.len());
            for load in group {
                x.extend(space.node_of.iter().map(|&node| load[node as usize]));
            }
            self.factor.solve_many(&mut x, group.len());
            (0..group.len()).map(|c| space.extend(&x[c * n..(c + 1) * n])).collect()
        };
        loads.par_chunks(AT_ONCE).flat_map_iter(of_group).collect()
    }
}
