//! Rigid bodies and how the mesh around them gives way when one of them moves.
//!
//! Regions that touch move as one body: the force between faces in contact depends on an air gap
//! too small to be in the section, so only the pull on the whole body means anything.
//!
//! Body k moves by theta_k p: theta_k is 1 on it, 0 on every other body and on the outer
//! boundary, and in the air between
//!
//!   theta_k = phi_k^4 / sum_j phi_j^4
//!
//! with phi_k harmonic there (piecewise linear, natural condition at the outer boundary before its
//! nodes are set to 0). The power makes theta_k flat at the bodies, so that it changes in the
//! middle of the gaps: a pull is then taken from the field there, not from the fields at the
//! bodies' corners, which are singular and never resolved (with phi_k itself the pull on a string
//! over sharp poles was off by a fifth at sizes at which it is now within a hundredth).
//!
//! The weights of all bodies add up to 1 everywhere but in the outermost layer of triangles, so
//! the pulls on all bodies add up to the reaction of that layer, where the field has died out.

use crate::field::linear_solve::{FIXED, LinearSolveError, Pattern};
use crate::geometry::{RegionId, Source};
use crate::mesh::Mesh;

/// A set of touching regions that moves as one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RigidBody {
    /// Its regions, ascending.
    pub regions: Vec<RegionId>,
}

/// The bodies of a mesh and their weights.
#[derive(Clone, Debug)]
pub struct Movement {
    /// The bodies, in order of their first region.
    pub bodies: Vec<RigidBody>,
    /// Body of each region; `None` for the air.
    pub body_of: Vec<Option<usize>>,
    /// theta_k at every vertex, `[n_bodies][n_vertices]`; it is linear along sides.
    pub weights: Vec<Vec<f64>>,
}

impl Movement {
    /// Finds the bodies and their weights.
    ///
    /// # Errors
    /// The weights could not be solved for.
    pub fn new(mesh: &Mesh) -> Result<Self, LinearSolveError> {
        let (bodies, body_of) = touching(mesh);
        let weights = harmonic_weights(mesh, &body_of, bodies.len())?;
        Ok(Self { bodies, body_of, weights })
    }

    /// theta of body `body` at every node, `[n_nodes]`.
    pub fn at_nodes(&self, mesh: &Mesh, body: usize) -> Vec<f64> {
        let mut theta = self.weights[body].clone();
        theta.resize(mesh.nodes.len(), 0.0);
        for t in &mesh.triangles {
            for (mid, (a, b)) in [(3, (0, 1)), (4, (1, 2)), (5, (2, 0))] {
                theta[t[mid] as usize] = 0.5 * (theta[t[a] as usize] + theta[t[b] as usize]);
            }
        }
        theta
    }

    /// The body that holds region `region`.
    pub fn body(&self, region: RegionId) -> Option<usize> {
        self.body_of.get(region as usize).copied().flatten()
    }
}

impl RigidBody {
    /// Names of what it is made of; a string, wrap and all, once.
    pub fn members(&self, mesh: &Mesh) -> Vec<String> {
        let regions = self.regions.iter().map(|&region| &mesh.regions[region as usize]);
        let named = regions.filter(|region| !matches!(region.source, Source::Wrap(_)));
        named.map(|region| region.name.clone()).collect()
    }
}

/// Groups regions that share a vertex.
fn touching(mesh: &Mesh) -> (Vec<RigidBody>, Vec<Option<usize>>) {
    let n = mesh.regions.len();
    let mut leader: Vec<usize> = (0..n).collect();
    fn root(leader: &mut [usize], mut i: usize) -> usize {
        while leader[i] != i {
            leader[i] = leader[leader[i]];
            i = leader[i];
        }
        i
    }
    let mut region_at: Vec<Option<usize>> = vec![None; mesh.n_vertices];
    for (triangle, &region) in mesh.triangles.iter().zip(&mesh.region_of) {
        if region == 0 {
            continue;
        }
        for &vertex in &triangle[..3] {
            let seen = &mut region_at[vertex as usize];
            match *seen {
                None => *seen = Some(region as usize),
                Some(other) => {
                    let (a, b) = (root(&mut leader, other), root(&mut leader, region as usize));
                    let (low, high) = (a.min(b), a.max(b));
                    leader[high] = low;
                }
            }
        }
    }
    let mut bodies: Vec<RigidBody> = Vec::new();
    let mut body_of = vec![None; n];
    for region in 1..n {
        let first = root(&mut leader, region);
        let body = match body_of[first] {
            Some(body) => body,
            None => {
                bodies.push(RigidBody { regions: Vec::new() });
                bodies.len() - 1
            }
        };
        body_of[first] = Some(body);
        body_of[region] = Some(body);
        bodies[body].regions.push(region as RegionId);
    }
    (bodies, body_of)
}

fn harmonic_weights(
    mesh: &Mesh,
    body_of: &[Option<usize>],
    n_bodies: usize,
) -> Result<Vec<Vec<f64>>, LinearSolveError> {
    let mut body_at: Vec<Option<usize>> = vec![None; mesh.n_vertices];
    for (triangle, &region) in mesh.triangles.iter().zip(&mesh.region_of) {
        if let Some(body) = body_of[region as usize] {
            for &vertex in &triangle[..3] {
                body_at[vertex as usize] = Some(body);
            }
        }
    }
    let mut n_free = 0;
    let unknown_of: Vec<u32> = body_at
        .iter()
        .map(|body| match body {
            Some(_) => FIXED,
            None => {
                n_free += 1;
                n_free - 1
            }
        })
        .collect();
    let air: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .zip(&mesh.region_of)
        .filter(|&(_, &region)| region == 0)
        .map(|(t, _)| [t[0], t[1], t[2]])
        .collect();
    let elements: Vec<[u32; 3]> =
        air.iter().map(|t| t.map(|vertex| unknown_of[vertex as usize])).collect();
    let pattern = Pattern::new(n_free as usize, &elements);
    let mut matrix = pattern.zeros();
    let mut loads = vec![0.0; n_free as usize * n_bodies];
    for (e, vertices) in air.iter().enumerate() {
        let k = linear_stiffness(mesh, vertices);
        matrix.add_element(&pattern, e, &[k[0][0], k[1][0], k[1][1], k[2][0], k[2][1], k[2][2]]);
        for i in 0..3 {
            let row = elements[e][i];
            for j in 0..3 {
                if row != FIXED
                    && let Some(body) = body_at[vertices[j] as usize]
                {
                    loads[body * n_free as usize + row as usize] -= k[i][j];
                }
            }
        }
    }
    if n_bodies > 0 && n_free > 0 {
        pattern.analyse()?.factor(&matrix)?.solve_many(&mut loads, n_bodies);
    }
    flatten(&mut loads, n_bodies);
    let mut on_outer = vec![false; mesh.nodes.len()];
    for &node in &mesh.outer_nodes {
        on_outer[node as usize] = true;
    }
    let weights = (0..n_bodies)
        .map(|body| {
            (0..mesh.n_vertices)
                .map(|vertex| match body_at[vertex] {
                    Some(b) => f64::from(u8::from(b == body)),
                    None if on_outer[vertex] => 0.0,
                    None => loads[body * n_free as usize + unknown_of[vertex] as usize],
                })
                .collect()
        })
        .collect();
    Ok(weights)
}

/// Replaces the phi_k of every vertex, `[n_bodies][n_vertices]`, by phi_k^4 / sum_j phi_j^4.
fn flatten(phi: &mut [f64], n_bodies: usize) {
    let n = phi.len() / n_bodies.max(1);
    let mut sum = vec![0.0; n];
    for of_body in phi.chunks_exact_mut(n.max(1)) {
        for (value, sum) in of_body.iter_mut().zip(&mut sum) {
            // Obtuse triangles let harmonic weights stray below 0 by a little.
            *value = value.max(0.0).powi(4);
            *sum += *value;
        }
    }
    for of_body in phi.chunks_exact_mut(n.max(1)) {
        for (value, sum) in of_body.iter_mut().zip(&sum) {
            *value /= sum;
        }
    }
}

/// Integral of grad N_i . grad N_j over the straight triangle.
fn linear_stiffness(mesh: &Mesh, vertices: &[u32; 3]) -> [[f64; 3]; 3] {
    let p = vertices.map(|v| mesh.nodes[v as usize]);
    let edge = |i: usize| p[(i + 2) % 3] - p[(i + 1) % 3];
    let twice_area = (p[1].x - p[0].x) * (p[2].y - p[0].y) - (p[1].y - p[0].y) * (p[2].x - p[0].x);
    std::array::from_fn(|i| {
        std::array::from_fn(|j| {
            let (a, b) = (edge(i), edge(j));
            (a.x * b.x + a.y * b.y) / (2.0 * twice_area)
        })
    })
}
