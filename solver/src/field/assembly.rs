//! Energy gradient and tangent of the discrete field.
//!
//! The discrete energy is E(u) = integral w(B(u)) - integral j A(u), with the weights of
//! [`crate::field::element`]. Its gradient and second derivative are, for basis i,
//!
//! R_i = integral b_i . H(B) - integral j a_i,    K_ij = integral b_i . (dH/dB) b_j
//!
//! with b_i the flux density and a_i the vector potential of a unit unknown. A magnet enters
//! through its law: H(B) is not zero at B = 0. The field is the u for which R = 0.
//!
//! Elements whose law is a straight line are added up once; only the others are renewed.

use std::sync::Arc;

use rayon::prelude::*;

use crate::field::element::{self, N_POINTS};
use crate::field::linear_solve::{FIXED, SymmetricMatrix};
use crate::field::setup::{Body, MagnetMemory, Setup};
use crate::field::space::Space;
use crate::mesh::Mesh;

/// Lower triangle of a 6 x 6 element matrix, in row order.
pub type ElementMatrix = [f64; 21];

/// A space with a setup on it: everything about E(u) that does not depend on u is added up.
#[derive(Debug)]
pub struct Assembly {
    /// The unknowns.
    pub space: Arc<Space>,
    /// What is solved.
    pub setup: Setup,
    /// Tangent of the straight-line elements.
    linear: SymmetricMatrix,
    /// Gradient of the straight-line elements and of the currents at u = 0 with the prescribed
    /// values in place, `[n_unknowns]`.
    constant: Vec<f64>,
    /// Triangles whose law is not a straight line.
    nonlinear: Vec<u32>,
    /// Their quadrature points, `[nonlinear.len()]`.
    points: Vec<Samples>,
    /// Prescribed values, `[n_nodes]`, 0 at unknowns.
    prescribed: Vec<f64>,
}

/// What of a quadrature point does not depend on the field: worked out once, read at every step.
#[derive(Clone, Copy, Debug)]
struct Sample {
    /// Flux density per unit of each unknown of the element.
    basis: [[f64; 2]; 6],
    /// Its weight in an integral over the section.
    weight: f64,
}

/// The quadrature points of an element.
type Samples = [Sample; N_POINTS];

/// Which slope of a law goes into a matrix.
#[derive(Clone, Copy, Debug)]
pub enum Slopes<'a> {
    /// A safe start from B = 0.
    Initial,
    /// That of the law at B, for magnets that remember this: Newton's tangent, and what the field's own error
    /// answers to. What a field without strings remembers is for that with strings a part of the answer, wrong
    /// as it is: its error is not to hold it.
    OfLaws(Option<&'a MagnetMemory>),
    /// That for a small reversible change about B: soft laws as they are, magnets on recoil.
    Small,
}

impl Slopes<'_> {
    /// dH/dB (m/H: xx, xy, yy) of `body` at the flux density `b`, T, at quadrature point `q` of triangle `t`.
    pub fn at(self, body: &Body, b: [f64; 2], t: usize, q: usize) -> [f64; 3] {
        match self {
            Self::Initial => body.law.initial_tangent(body.axis),
            Self::OfLaws(memory) => {
                let lowest = memory.and_then(|memory| memory.at(t, q));
                body.law.respond_in_field(b, body.axis, lowest).tangent
            }
            Self::Small => body.law.small_change(b, body.axis),
        }
    }
}

impl Assembly {
    /// Adds up everything that does not depend on the field.
    pub fn new(space: Arc<Space>, setup: Setup) -> Self {
        let mesh = &space.mesh;
        let mut prescribed = vec![0.0; mesh.nodes.len()];
        for (node, &unknown) in space.unknown_of.iter().enumerate() {
            if unknown == FIXED {
                prescribed[node] = setup.boundary_value(mesh.symmetry, mesh.nodes[node]);
            }
        }
        let is_linear: Vec<bool> = setup.bodies.iter().map(|b| b.law.is_linear()).collect();
        let nonlinear: Vec<u32> = (0..mesh.triangles.len() as u32)
            .filter(|&t| !is_linear[mesh.region_of[t as usize] as usize])
            .collect();
        let mut linear = space.pattern.zeros();
        let mut constant = vec![0.0; space.n_unknowns()];
        const CHUNK: usize = 4096;
        for start in (0..mesh.triangles.len()).step_by(CHUNK) {
            let end = (start + CHUNK).min(mesh.triangles.len());
            let parts: Vec<(ElementMatrix, [f64; 6])> = (start..end)
                .into_par_iter()
                .map(|t| constant_part(&space, &setup, &prescribed, t, &is_linear))
                .collect();
            for (t, (k, r)) in (start..end).zip(&parts) {
                if is_linear[mesh.region_of[t] as usize] {
                    linear.add_element(&space.pattern, t, k);
                }
                add_to_unknowns(&space, &mut constant, t, r);
            }
        }
        let points = nonlinear.par_iter().map(|&t| samples(mesh, t as usize)).collect();
        Self { space, setup, linear, constant, nonlinear, points, prescribed }
    }

    /// True where the whole field is linear: one step solves it.
    pub fn is_linear(&self) -> bool {
        self.nonlinear.is_empty()
    }

    /// All nodal values, with the prescribed ones in place.
    pub fn nodal(&self, unknowns: &[f64]) -> Vec<f64> {
        let mut nodal = self.prescribed.clone();
        for (&node, &value) in self.space.node_of.iter().zip(unknowns) {
            nodal[node as usize] = value;
        }
        nodal
    }

    /// R(u), `[n_unknowns]`.
    pub fn gradient(&self, unknowns: &[f64]) -> Vec<f64> {
        let mut r = self.linear.times(unknowns);
        for (sum, c) in r.iter_mut().zip(&self.constant) {
            *sum += c;
        }
        let nodal = self.nodal(unknowns);
        let parts: Vec<[f64; 6]> = self
            .nonlinear
            .par_iter()
            .zip(&self.points)
            .map(|(&t, points)| self.nonlinear_gradient(t as usize, points, &nodal))
            .collect();
        for (&t, part) in self.nonlinear.iter().zip(&parts) {
            add_to_unknowns(&self.space, &mut r, t as usize, part);
        }
        r
    }

    /// A safe first matrix.
    pub fn initial_matrix(&self) -> SymmetricMatrix {
        self.matrix(&self.prescribed, Slopes::Initial)
    }

    /// K(u), the exact tangent.
    pub fn tangent(&self, unknowns: &[f64]) -> SymmetricMatrix {
        self.tangent_of(unknowns, Slopes::OfLaws(self.setup.memory.as_deref()))
    }

    /// The tangent for small changes about the field: magnets answer along their recoil lines.
    pub fn small_change(&self, unknowns: &[f64]) -> SymmetricMatrix {
        self.tangent_of(unknowns, Slopes::Small)
    }

    /// The tangent with these slopes.
    pub fn tangent_of(&self, unknowns: &[f64], slopes: Slopes) -> SymmetricMatrix {
        self.matrix(&self.nodal(unknowns), slopes)
    }

    fn matrix(&self, nodal: &[f64], slopes: Slopes) -> SymmetricMatrix {
        let mut k = self.linear.clone();
        let parts: Vec<ElementMatrix> = self
            .nonlinear
            .par_iter()
            .zip(&self.points)
            .map(|(&t, points)| self.nonlinear_matrix(t as usize, points, nodal, slopes))
            .collect();
        for (&t, part) in self.nonlinear.iter().zip(&parts) {
            k.add_element(&self.space.pattern, t as usize, part);
        }
        k
    }

    fn nonlinear_gradient(&self, t: usize, points: &Samples, nodal: &[f64]) -> [f64; 6] {
        let mesh = &self.space.mesh;
        let body = &self.setup.bodies[mesh.region_of[t] as usize];
        let u = mesh.triangles[t].map(|node| nodal[node as usize]);
        let mut r = [0.0; 6];
        for (q, Sample { basis, weight }) in points.iter().enumerate() {
            let b = element::flux_density(basis, &u);
            let h = body.law.respond_in_field(b, body.axis, self.lowest(t, q)).h;
            for i in 0..6 {
                r[i] += weight * (basis[i][0] * h[0] + basis[i][1] * h[1]);
            }
        }
        r
    }

    fn nonlinear_matrix(
        &self,
        t: usize,
        points: &Samples,
        nodal: &[f64],
        slopes: Slopes,
    ) -> ElementMatrix {
        let mesh = &self.space.mesh;
        let body = &self.setup.bodies[mesh.region_of[t] as usize];
        let u = mesh.triangles[t].map(|node| nodal[node as usize]);
        let mut k = [0.0; 21];
        for (q, Sample { basis, weight }) in points.iter().enumerate() {
            let b = element::flux_density(basis, &u);
            add_stiffness(&mut k, basis, slopes.at(body, b, t, q), *weight);
        }
        k
    }

    fn lowest(&self, t: usize, q: usize) -> Option<f64> {
        self.setup.memory.as_ref().and_then(|memory| memory.at(t, q))
    }
}

fn samples(mesh: &Mesh, t: usize) -> Samples {
    let nodes = element::corners(mesh, t);
    std::array::from_fn(|q| {
        let at = element::evaluate_at(&nodes, q);
        let weight = element::QUADRATURE[q][2] * at.jacobian * at.measure(mesh.symmetry);
        Sample { basis: at.flux_density_basis(mesh.symmetry), weight }
    })
}

/// Straight-line law, currents and prescribed values of one element.
fn constant_part(
    space: &Space,
    setup: &Setup,
    prescribed: &[f64],
    t: usize,
    is_linear: &[bool],
) -> (ElementMatrix, [f64; 6]) {
    let mesh = &space.mesh;
    let region = mesh.region_of[t];
    let body = &setup.bodies[region as usize];
    let linear = is_linear[region as usize];
    let at_rest = body.law.respond([0.0; 2], body.axis, None);
    let (mut k, mut r) = ([0.0; 21], [0.0; 6]);
    for (at, weight) in element::quadrature(&element::corners(mesh, t)) {
        let w = weight * at.measure(mesh.symmetry);
        let mut j = body.current_density;
        if let Some(current) = &setup.current {
            j += current(region, at.place);
        }
        if j != 0.0 {
            let a = at.potential_basis(mesh.symmetry);
            for i in 0..6 {
                r[i] -= w * j * a[i];
            }
        }
        if linear {
            let basis = at.flux_density_basis(mesh.symmetry);
            add_stiffness(&mut k, &basis, at_rest.tangent, w);
            for i in 0..6 {
                r[i] += w * (basis[i][0] * at_rest.h[0] + basis[i][1] * at_rest.h[1]);
            }
        }
    }
    if linear {
        for i in 0..6 {
            for j in 0..6 {
                let (row, column) = (i.max(j), i.min(j));
                let node = mesh.triangles[t][j] as usize;
                r[i] += k[row * (row + 1) / 2 + column] * prescribed[node];
            }
        }
    }
    (k, r)
}

/// k_ij += w b_i . nu b_j, nu = (xx, xy, yy).
pub fn add_stiffness(k: &mut ElementMatrix, basis: &[[f64; 2]; 6], nu: [f64; 3], w: f64) {
    let mut place = 0;
    for i in 0..6 {
        let h0 = w * (nu[0] * basis[i][0] + nu[1] * basis[i][1]);
        let h1 = w * (nu[1] * basis[i][0] + nu[2] * basis[i][1]);
        for j in 0..=i {
            k[place] += h0 * basis[j][0] + h1 * basis[j][1];
            place += 1;
        }
    }
}

/// Adds an element vector to a vector over the unknowns.
pub fn add_to_unknowns(space: &Space, sum: &mut [f64], t: usize, part: &[f64; 6]) {
    for (&node, value) in space.mesh.triangles[t].iter().zip(part) {
        let unknown = space.unknown_of[node as usize];
        if unknown != FIXED {
            sum[unknown as usize] += value;
        }
    }
}
