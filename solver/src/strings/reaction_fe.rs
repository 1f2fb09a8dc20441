//! The poles' side of the reaction: what a section answers to waves laid on it from above.
//!
//! A reduced scalar potential on the section's mesh, H_r = -grad phi_r, for each azimuthal order m
//! (round) or wave number ky across the string (planar):
//!
//! ```text
//! integral mu grad phi_r . grad v = - integral over the parts of (mu - mu_0) grad phi_in . grad v
//! grad f . grad v = f_r v_r + f_z v_z + m^2 f v / r^2        (round, weight 2 pi r or pi r)
//! grad f . grad v = f_x v_x + f_z v_z + ky^2 f v             (planar, weight pi per metre)
//! ```
//!
//! mu: the reversible permeability of every part at the working point, a tensor. With K the matrix
//! of the left side, D that of (mu - mu_0) over the parts and f_k the incoming wave at the nodes, the
//! energy of the reaction is -1/2 sum c S c with
//!
//! ```text
//! S[k][k'] = f_k . D f_k' - (D f_k) . K^-1 (D f_k')        = f . (D^-1 + K_0^-1)^-1 f >= 0
//! ```
//!
//! so the wave is interpolated in the same space as the answer: for a very permeable pole the two
//! terms cancel, and only then they cancel exactly. Elements: the mesh's triangles with their three
//! corners, which is a quarter of the unknowns of the field; the reaction is a correction.

use std::f64::consts::PI;

use rayon::prelude::*;

use crate::field::linear_solve::{DenseCholesky, FIXED, LinearSolveError, SymmetricMatrix};
use crate::field::{CornerSpace, Field, element};
use crate::material::Law;
use crate::mesh::Mesh;
use crate::point::Point;
use crate::section::Symmetry;
use crate::strings::bessel::bessel_j;
use crate::strings::fade::Fade;
use crate::strings::finer_waves::Panel;
use crate::strings::plane::panel_nodes;
use crate::strings::reaction::{PlanarWaves, PoleWaves, Reaction, RoundWaves, low_rank_factor};
use crate::units::MU_0;

/// Highest azimuthal order.
const HIGHEST_M: usize = 6;
/// Points for each panel of wave numbers over a narrow pole.
const FEWEST_POINTS: usize = 6;
/// Most points for a panel.
const MOST_POINTS: usize = 40;
/// What may be left out of the incoming waves and of S, relative to the greatest.
const NEGLIGIBLE: f64 = 1e-6;

/// The reaction of the section of `field` to strings at least `lowest` high (m), where the highest
/// metal reaches up to `top`.
///
/// # Errors
/// A matrix could not be factored.
pub fn reaction(field: &Field, top: f64, lowest: f64) -> Result<Reaction, LinearSolveError> {
    let parts = Parts::new(field);
    let corners = |on_axis| field.assembly.space.corners(on_axis);
    let height = lowest - top;
    if height.is_nan() || height <= 0.0 {
        // Nothing can be coupled there.
        return Ok(Reaction::default());
    }
    match field.mesh().symmetry {
        Symmetry::Axisymmetric => {
            round(&parts, [&*corners(false)?, &*corners(true)?], lowest, height)
        }
        Symmetry::Planar => planar(&parts, &*corners(false)?, lowest, height),
    }
}

/// Edges of the panels of wave numbers, as shares of the greatest.
const PANELS: [f64; 5] = [0.0, 0.06, 0.2, 0.5, 1.0];

/// Greatest wave number for strings `height` above the metal: a wave down to it and back has lost
/// exp(-14).
fn greatest_wave_number(height: f64) -> f64 {
    7.0 / height
}

/// Wave numbers and weights along the string, panels growing from 0 as the oscillation along a long
/// string asks. What waves of wave numbers k and k' do to metal that reaches out to R differs from
/// nothing where |k - k'| R is less than some pi, so that points may not lie farther apart.
fn wave_numbers(parts: &Parts<'_>, z_ref: f64, height: f64) -> Vec<Panel> {
    PANELS
        .windows(2)
        .map(|pair| {
            let [start, end] = [pair[0], pair[1]].map(|f| f * greatest_wave_number(height));
            let wanted = ((end - start) * parts.reach(start, z_ref) / 1.5).ceil() as usize;
            Panel { start, end, points: wanted.clamp(FEWEST_POINTS, MOST_POINTS) }
        })
        .collect()
}

/// `spaces`: free on the axis for m = 0, fixed there for the others.
fn round(
    parts: &Parts<'_>,
    spaces: [&CornerSpace; 2],
    z_ref: f64,
    height: f64,
) -> Result<Reaction, LinearSolveError> {
    let panels = wave_numbers(parts, z_ref, height);
    let nodes: Vec<_> = panels.iter().flat_map(Panel::nodes).collect();
    let columns: Result<Vec<_>, LinearSolveError> = round_waves(parts, &nodes, z_ref)
        .into_par_iter()
        .enumerate()
        .map(|(m, waves)| {
            let problem = Problem {
                parts,
                space: spaces[usize::from(m > 0)],
                weight: if m == 0 { 2.0 * PI } else { PI },
                across: (m * m) as f64,
            };
            problem.answer(waves)
        })
        .collect();
    let k = nodes.iter().map(|n| n.0).collect();
    let waves = RoundWaves {
        z0: z_ref,
        k,
        columns: columns?,
        panels,
        within: parts.reach(0.0, z_ref),
        fade: Fade::NEVER,
    };
    Ok(Reaction::new(PoleWaves::Round(waves)))
}

/// The incoming waves at the vertices of the parts, weights included, `[m][n_k][n_vertices]`: all orders
/// from the same Bessel functions.
fn round_waves(parts: &Parts<'_>, nodes: &[(f64, f64)], z_ref: f64) -> Vec<Vec<Vec<f64>>> {
    const ORDERS: usize = HIGHEST_M + 1;
    let n = parts.vertices.len();
    let by_wave: Vec<[Vec<f64>; ORDERS]> = nodes
        .par_iter()
        .map(|&(k, w)| {
            let mut waves: [Vec<f64>; ORDERS] = std::array::from_fn(|_| Vec::with_capacity(n));
            let mut bessel = [0.0; ORDERS];
            parts.at_vertices(|p| {
                bessel_j(k * p.x, &mut bessel);
                let weight = w * (k * (p.y - z_ref)).exp();
                for (wave, j) in waves.iter_mut().zip(&bessel) {
                    wave.push(weight * j);
                }
            });
            waves
        })
        .collect();
    let mut all: Vec<Vec<Vec<f64>>> =
        (0..ORDERS).map(|_| Vec::with_capacity(nodes.len())).collect();
    for waves in by_wave {
        for (order, wave) in all.iter_mut().zip(waves) {
            order.push(wave);
        }
    }
    all
}

/// Edges of the panels of wave numbers across a planar section, as shares of the greatest. A permeable blade
/// leads the flux far along itself, some hundreds of millimetres: the first panel is for that.
const ACROSS: [f64; 4] = [0.0, 0.015, 0.15, 0.6];

fn planar(
    parts: &Parts<'_>,
    space: &CornerSpace,
    z_ref: f64,
    height: f64,
) -> Result<Reaction, LinearSolveError> {
    let along: Vec<_> = wave_numbers(parts, z_ref, height).iter().flat_map(Panel::nodes).collect();
    let across: Vec<(f64, f64)> = ACROSS
        .windows(2)
        .flat_map(|pair| {
            let [start, end] = [pair[0], pair[1]].map(|f| f * greatest_wave_number(height));
            panel_nodes(start, end, 5)
        })
        .collect();
    let harmonics: Result<Vec<_>, LinearSolveError> = across
        .par_iter()
        .map(|&(ky, w_y)| {
            let problem = Problem { parts, space, weight: PI * w_y, across: ky * ky };
            let (mut cosines, mut sines) = (Vec::new(), Vec::new());
            for &(kx, w) in &along {
                let kappa = kx.hypot(ky);
                let mut sine = Vec::with_capacity(parts.vertices.len());
                cosines.push(parts.at_vertices(|p| {
                    let (sin, cos) = (kx * p.x).sin_cos();
                    let weight = w * (kappa * (p.y - z_ref)).exp();
                    sine.push(weight * sin);
                    weight * cos
                }));
                sines.push(sine);
            }
            cosines.append(&mut sines);
            Ok((ky, problem.answer(cosines)?))
        })
        .collect();
    let kx = along.iter().map(|n| n.0).collect();
    Ok(Reaction::new(PoleWaves::Planar(PlanarWaves { z0: z_ref, kx, harmonics: harmonics? })))
}

/// The magnetic triangles of a solved section and their permeability.
pub(crate) struct Parts<'a> {
    pub mesh: &'a Mesh,
    /// Magnetic triangles, ascending.
    pub triangles: Vec<usize>,
    /// mu of each of them: xx, xy, yy in the section and across it, H/m.
    pub mu: Vec<[f64; 4]>,
    /// Vertices of magnetic triangles, ascending.
    pub vertices: Vec<u32>,
    /// Place of a vertex in `vertices`, [n_vertices], or [`FIXED`].
    pub local: Vec<u32>,
    /// Of every triangle of the mesh.
    measured: Vec<Measured>,
}

/// Integrals over a triangle that all orders share.
#[derive(Clone, Copy)]
struct Measured {
    /// integral r (round) or 1 (planar), m3 or m2.
    whole: f64,
    /// integral N_i N_j / r or N_i N_j, lower triangle by rows, m or m2.
    products: [f64; 6],
}

/// One order: what the squared gradient across the section and the area elements are multiplied by.
pub(crate) struct Problem<'a> {
    pub parts: &'a Parts<'a>,
    pub space: &'a CornerSpace,
    /// Weight of an area element over r (round) or by itself (planar).
    pub weight: f64,
    /// m^2 (round), or ky^2 (planar), 1/m2.
    pub across: f64,
}

impl<'a> Parts<'a> {
    pub(crate) fn new(field: &'a Field) -> Self {
        let mesh = field.mesh();
        let bodies = &field.setup().bodies;
        let triangles: Vec<usize> = (0..mesh.triangles.len())
            .filter(|&t| bodies[mesh.region_of[t] as usize].law.is_magnetic())
            .collect();
        let mu = triangles
            .iter()
            .map(|&t| {
                let body = &bodies[mesh.region_of[t] as usize];
                let b = field.flux_density(t, 1.0 / 3.0, 1.0 / 3.0);
                let [xx, xy, yy] = body.law.small_change(b, body.axis);
                let determinant = xx * yy - xy * xy;
                let across = across(&body.law, b, body.axis);
                [yy / determinant, -xy / determinant, xx / determinant, across]
            })
            .collect();
        let mut local = vec![FIXED; mesh.n_vertices];
        for &t in &triangles {
            for &v in &mesh.triangles[t][..3] {
                local[v as usize] = 0;
            }
        }
        let vertices: Vec<u32> =
            (0..mesh.n_vertices as u32).filter(|&v| local[v as usize] != FIXED).collect();
        for (index, &v) in vertices.iter().enumerate() {
            local[v as usize] = index as u32;
        }
        let measured = (0..mesh.triangles.len()).map(|t| measured(mesh, t)).collect();
        Self { mesh, triangles, mu, vertices, local, measured }
    }

    /// How far from the axis a wave of wave number `k` and its answer meet metal with more than exp(-8) of what
    /// it had at the highest, m.
    fn reach(&self, k: f64, z_ref: f64) -> f64 {
        let places = self.vertices.iter().map(|&v| self.mesh.nodes[v as usize]);
        let top = places.clone().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max).min(z_ref);
        places.filter(|p| k * (top - p.y) < 4.0).map(|p| p.x.abs()).fold(0.0, f64::max)
    }

    /// Values of a function at the vertices of the parts.
    pub(crate) fn at_vertices<T>(&self, mut f: impl FnMut(Point) -> T) -> Vec<T> {
        self.vertices.iter().map(|&v| f(self.mesh.nodes[v as usize])).collect()
    }
}

/// Permeability across the section's plane for a small change, H/m: that of a change at right
/// angles to the flux density, which for a magnet is its transverse permeability.
fn across(law: &Law, b: [f64; 2], axis: [f64; 2]) -> f64 {
    match law {
        Law::Linear { mu_r } => MU_0 * mu_r,
        Law::Magnet(curve) => MU_0 * curve.transverse(),
        Law::Soft(_) => {
            let [xx, xy, yy] = law.small_change(b, axis);
            let square = b[0] * b[0] + b[1] * b[1];
            if square > 0.0 {
                let side = [-b[1], b[0]];
                let nu = side[0] * (xx * side[0] + xy * side[1])
                    + side[1] * (xy * side[0] + yy * side[1]);
                square / nu
            } else {
                1.0 / xx
            }
        }
    }
}

impl Problem<'_> {
    /// Columns of L, S = L L^T, for waves given at the vertices of the parts (weights included).
    fn answer(&self, waves: Vec<Vec<f64>>) -> Result<Vec<Vec<f64>>, LinearSolveError> {
        let n = waves.len();
        let excess = self.excess();
        let loads: Vec<Vec<f64>> = waves.iter().map(|f| self.times_excess(&excess, f)).collect();
        // Waves that are sums of others on the parts are not solved for: f = sum over pivots f_p X.
        let full = symmetric(n, |i, j| dot(&waves[i], &loads[j]));
        let pivots = greatest_pivots(full.clone(), n);
        let rank = pivots.len();
        if rank == 0 {
            return Ok(Vec::new());
        }
        let among: Vec<f64> =
            (0..rank * rank).map(|i| full[pivots[i / rank] * n + pivots[i % rank]]).collect();
        let mut x: Vec<f64> =
            (0..n).flat_map(|j| pivots.iter().map(move |&p| p * n + j)).map(|i| full[i]).collect();
        DenseCholesky::new(&among, rank)?.solve(&mut x);

        let factor = self.space.analysis.factor(&self.stiffness())?;
        let unknowns = self.space.pattern.n_unknowns();
        let mut right = vec![0.0; rank * unknowns];
        for (column, &p) in right.chunks_exact_mut(unknowns).zip(&pivots) {
            for (&vertex, load) in self.parts.vertices.iter().zip(&loads[p]) {
                let unknown = self.space.unknown_of[vertex as usize];
                if unknown != FIXED {
                    column[unknown as usize] = *load;
                }
            }
        }
        factor.solve_many(&mut right, rank);
        // Loads are nothing but on the parts: the answers count there only.
        let answers: Vec<Vec<f64>> = right
            .chunks_exact(unknowns)
            .map(|answer| {
                let at = |&vertex: &u32| match self.space.unknown_of[vertex as usize] {
                    FIXED => 0.0,
                    unknown => answer[unknown as usize],
                };
                self.parts.vertices.iter().map(at).collect()
            })
            .collect();
        let back = symmetric(rank, |i, j| dot(&loads[pivots[i]], &answers[j]));
        let s = among.iter().zip(&back).map(|(s, back)| s - back).collect();
        let columns = low_rank_factor(s, rank, NEGLIGIBLE);
        Ok(columns.iter().map(|l| x.chunks_exact(rank).map(|x| dot(x, l)).collect()).collect())
    }

    /// Element matrices of mu - mu_0, one for each triangle of the parts.
    fn excess(&self) -> Vec<[f64; 6]> {
        let parts = self.parts.triangles.iter().zip(&self.parts.mu);
        parts
            .map(|(&t, mu)| self.element(t, [mu[0] - MU_0, mu[1], mu[2] - MU_0, mu[3] - MU_0]))
            .collect()
    }

    /// D f over the vertices of the parts; `excess` as [`Problem::excess`] gives it.
    fn times_excess(&self, excess: &[[f64; 6]], f: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; f.len()];
        for (&t, k) in self.parts.triangles.iter().zip(excess) {
            let place = [0, 1, 2]
                .map(|i| self.parts.local[self.parts.mesh.triangles[t][i] as usize] as usize);
            let f = place.map(|p| f[p]);
            sum[place[0]] += k[0] * f[0] + k[1] * f[1] + k[3] * f[2];
            sum[place[1]] += k[1] * f[0] + k[2] * f[1] + k[4] * f[2];
            sum[place[2]] += k[3] * f[0] + k[4] * f[1] + k[5] * f[2];
        }
        sum
    }

    pub(crate) fn stiffness(&self) -> SymmetricMatrix {
        let mut k = self.space.pattern.zeros();
        let mut magnetic = self.parts.triangles.iter().zip(&self.parts.mu).peekable();
        for t in 0..self.parts.mesh.triangles.len() {
            let mu = match magnetic.next_if(|(own, _)| **own == t) {
                Some((_, mu)) => *mu,
                None => [MU_0, 0.0, MU_0, MU_0],
            };
            k.add_element(&self.space.pattern, t, &self.element(t, mu));
        }
        k
    }

    /// Weight of an area element at the radius `r`.
    pub(crate) fn measure(&self, r: f64) -> f64 {
        match self.parts.mesh.symmetry {
            Symmetry::Axisymmetric => self.weight * r,
            Symmetry::Planar => self.weight,
        }
    }

    /// Element matrix, lower triangle by rows, of the three corner functions.
    fn element(&self, t: usize, mu: [f64; 4]) -> [f64; 6] {
        let Corners { gradients, .. } = Corners::of(self.parts.mesh, t);
        let Measured { whole, products } = self.parts.measured[t];
        let (along, across) = (self.weight * whole, self.weight * self.across * mu[3]);
        let mut k = [0.0; 6];
        let mut place = 0;
        for i in 0..3 {
            let g = gradients[i];
            let flux = [mu[0] * g[0] + mu[1] * g[1], mu[1] * g[0] + mu[2] * g[1]];
            for j in 0..=i {
                let dot = flux[0] * gradients[j][0] + flux[1] * gradients[j][1];
                k[place] = along * dot + across * products[place];
                place += 1;
            }
        }
        k
    }
}

fn measured(mesh: &Mesh, t: usize) -> Measured {
    let Corners { places, double_area, .. } = Corners::of(mesh, t);
    let round = mesh.symmetry == Symmetry::Axisymmetric;
    let mut sum = Measured { whole: 0.0, products: [0.0; 6] };
    for [xi, eta, w] in element::QUADRATURE {
        let n = [1.0 - xi - eta, xi, eta];
        let r = if round { (0..3).map(|i| n[i] * places[i].x).sum() } else { 1.0 };
        let weight = w * double_area;
        sum.whole += weight * r;
        let mut place = 0;
        for i in 0..3 {
            for j in 0..=i {
                sum.products[place] += weight / r * n[i] * n[j];
                place += 1;
            }
        }
    }
    sum
}

/// The three corners of a triangle, twice its area, and the gradients of their functions.
pub(crate) struct Corners {
    pub places: [Point; 3],
    pub double_area: f64,
    pub gradients: [[f64; 2]; 3],
}

impl Corners {
    pub(crate) fn of(mesh: &Mesh, t: usize) -> Self {
        let places = [0, 1, 2].map(|i| mesh.nodes[mesh.triangles[t][i] as usize]);
        let double_area = (places[1] - places[0]).cross(places[2] - places[0]);
        let gradients = [0, 1, 2].map(|i| {
            let (a, b) = (places[(i + 1) % 3], places[(i + 2) % 3]);
            [(a.y - b.y) / double_area, (b.x - a.x) / double_area]
        });
        Self { places, double_area, gradients }
    }
}

/// The symmetric matrix whose entries on and below the diagonal are these, `[n * n]`.
fn symmetric(n: usize, entry: impl Fn(usize, usize) -> f64) -> Vec<f64> {
    let mut full = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            full[i * n + j] = entry(i, j);
            full[j * n + i] = full[i * n + j];
        }
    }
    full
}

/// Sum of products in four strands, which a processor adds side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (a4, a_rest) = a.as_chunks::<4>();
    let (b4, b_rest) = b.as_chunks::<4>();
    let mut sums = [0.0; 4];
    for (a, b) in a4.iter().zip(b4) {
        for i in 0..4 {
            sums[i] += a[i] * b[i];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// Indices of the pivots of a Cholesky factorisation with the greatest first.
fn greatest_pivots(mut s: Vec<f64>, n: usize) -> Vec<usize> {
    let greatest = (0..n).map(|i| s[i * n + i]).fold(0.0, f64::max);
    let mut pivots = Vec::new();
    while pivots.len() < n {
        let mut p = 0;
        for i in 1..n {
            if s[i * n + i] > s[p * n + p] {
                p = i;
            }
        }
        let diagonal = s[p * n + p];
        if diagonal <= NEGLIGIBLE * greatest {
            break;
        }
        let row: Vec<f64> = s[p * n..(p + 1) * n].to_vec();
        for i in 0..n {
            for j in 0..n {
                s[i * n + j] -= row[i] * row[j] / diagonal;
            }
        }
        pivots.push(p);
    }
    pivots
}
