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

use crate::field::linear_solve::{
    DenseCholesky, FIXED, LinearSolveError, Pattern, SymmetricMatrix,
};
use crate::field::{Field, element};
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
    let height = lowest - top;
    if height.is_nan() || height <= 0.0 {
        // Nothing can be coupled there.
        return Ok(Reaction::default());
    }
    match field.mesh().symmetry {
        Symmetry::Axisymmetric => round(&parts, lowest, height),
        Symmetry::Planar => planar(&parts, lowest, height),
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

fn round(parts: &Parts<'_>, z_ref: f64, height: f64) -> Result<Reaction, LinearSolveError> {
    let panels = wave_numbers(parts, z_ref, height);
    let nodes: Vec<_> = panels.iter().flat_map(Panel::nodes).collect();
    let spaces = [parts.space(false)?, parts.space(true)?];
    let columns: Result<Vec<_>, LinearSolveError> = (0..=HIGHEST_M)
        .into_par_iter()
        .map(|m| {
            let weight = if m == 0 { 2.0 * PI } else { PI };
            let square = (m * m) as f64;
            let problem = Problem {
                parts,
                space: &spaces[usize::from(m > 0)],
                measure: &|r| weight * r,
                across: &|r| if m == 0 { 0.0 } else { square / (r * r) },
            };
            let waves = nodes
                .iter()
                .map(|&(k, w)| {
                    let mut bessel = vec![0.0; m + 1];
                    parts.at_vertices(|p| {
                        bessel_j(k * p.x, &mut bessel);
                        w * (k * (p.y - z_ref)).exp() * bessel[m]
                    })
                })
                .collect();
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

/// Edges of the panels of wave numbers across a planar section, as shares of the greatest. A permeable blade
/// leads the flux far along itself, some hundreds of millimetres: the first panel is for that.
const ACROSS: [f64; 4] = [0.0, 0.015, 0.15, 0.6];

fn planar(parts: &Parts<'_>, z_ref: f64, height: f64) -> Result<Reaction, LinearSolveError> {
    let along: Vec<_> = wave_numbers(parts, z_ref, height).iter().flat_map(Panel::nodes).collect();
    let across: Vec<(f64, f64)> = ACROSS
        .windows(2)
        .flat_map(|pair| {
            let [start, end] = [pair[0], pair[1]].map(|f| f * greatest_wave_number(height));
            panel_nodes(start, end, 5)
        })
        .collect();
    let space = parts.space(false)?;
    let harmonics: Result<Vec<_>, LinearSolveError> = across
        .par_iter()
        .map(|&(ky, w_y)| {
            let problem =
                Problem { parts, space: &space, measure: &|_| PI * w_y, across: &|_| ky * ky };
            let wave = |kx: f64, w: f64, even: bool| {
                parts.at_vertices(|p| {
                    let (sin, cos) = (kx * p.x).sin_cos();
                    let along = if even { cos } else { sin };
                    w * (kx.hypot(ky) * (p.y - z_ref)).exp() * along
                })
            };
            let cosines = along.iter().map(|&(kx, w)| wave(kx, w, true));
            let sines = along.iter().map(|&(kx, w)| wave(kx, w, false));
            Ok((ky, problem.answer(cosines.chain(sines).collect())?))
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
}

/// Unknowns of the scalar potential.
pub(crate) struct Space {
    /// Unknown of each vertex or [`FIXED`].
    pub unknown_of: Vec<u32>,
    pub pattern: Pattern,
    pub analysis: crate::field::linear_solve::Analysis,
}

/// One order: the factor of the gradient across the section and the weight of an area element.
pub(crate) struct Problem<'a> {
    pub parts: &'a Parts<'a>,
    pub space: &'a Space,
    pub measure: &'a (dyn Fn(f64) -> f64 + Sync),
    pub across: &'a (dyn Fn(f64) -> f64 + Sync),
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
        Self { mesh, triangles, mu, vertices, local }
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

    /// Unknowns: all vertices but those on the outer boundary and, if asked, on the axis.
    pub(crate) fn space(&self, fixed_on_axis: bool) -> Result<Space, LinearSolveError> {
        let mesh = self.mesh;
        let mut unknown_of = vec![0; mesh.n_vertices];
        for &node in &mesh.outer_nodes {
            if let Some(unknown) = unknown_of.get_mut(node as usize) {
                *unknown = FIXED;
            }
        }
        let mut count = 0;
        for (vertex, unknown) in unknown_of.iter_mut().enumerate() {
            if fixed_on_axis && mesh.nodes[vertex].x <= 0.0 {
                *unknown = FIXED;
            }
            if *unknown != FIXED {
                *unknown = count;
                count += 1;
            }
        }
        let elements: Vec<[u32; 3]> = mesh
            .triangles
            .iter()
            .map(|t| [t[0], t[1], t[2]].map(|v| unknown_of[v as usize]))
            .collect();
        let pattern = Pattern::new(count as usize, &elements);
        let analysis = pattern.analyse()?;
        Ok(Space { unknown_of, pattern, analysis })
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
        let loads: Vec<Vec<f64>> = waves.iter().map(|f| self.times_excess(f)).collect();
        // Waves that are sums of others on the parts are not solved for: f = sum over pivots f_p X.
        let gram = |i: usize, j: usize| -> f64 {
            waves[i].iter().zip(&loads[j]).map(|(f, d)| f * d).sum()
        };
        let full: Vec<f64> = (0..n * n).map(|index| gram(index / n, index % n)).collect();
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
        let loaded = right.clone();
        factor.solve_many(&mut right, rank);
        let mut s = among;
        for i in 0..rank {
            for j in 0..rank {
                let (a, b) = (i * unknowns, j * unknowns);
                let back: f64 = loaded[a..a + unknowns]
                    .iter()
                    .zip(&right[b..b + unknowns])
                    .map(|(l, r)| l * r)
                    .sum();
                s[i * rank + j] -= back;
            }
        }
        let columns = low_rank_factor(s, rank, NEGLIGIBLE);
        Ok(columns
            .iter()
            .map(|l| {
                x.chunks_exact(rank).map(|x| x.iter().zip(l).map(|(x, l)| x * l).sum()).collect()
            })
            .collect())
    }

    /// D f over the vertices of the parts.
    fn times_excess(&self, f: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; f.len()];
        for (&t, mu) in self.parts.triangles.iter().zip(&self.parts.mu) {
            let excess = [mu[0] - MU_0, mu[1], mu[2] - MU_0, mu[3] - MU_0];
            let k = self.element(t, excess);
            let place = [0, 1, 2]
                .map(|i| self.parts.local[self.parts.mesh.triangles[t][i] as usize] as usize);
            for i in 0..3 {
                for j in 0..3 {
                    sum[place[i]] += entry(&k, i, j) * f[place[j]];
                }
            }
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

    pub(crate) fn corner_gradients(&self, t: usize) -> Corners {
        let p = [0, 1, 2].map(|i| self.parts.mesh.nodes[self.parts.mesh.triangles[t][i] as usize]);
        let double = (p[1].x - p[0].x) * (p[2].y - p[0].y) - (p[2].x - p[0].x) * (p[1].y - p[0].y);
        let gradients = [0, 1, 2].map(|i| {
            let (a, b) = (p[(i + 1) % 3], p[(i + 2) % 3]);
            [(a.y - b.y) / double, (b.x - a.x) / double]
        });
        Corners { places: p, double_area: double, gradients }
    }

    /// Element matrix, lower triangle by rows, of the three corner functions.
    fn element(&self, t: usize, mu: [f64; 4]) -> [f64; 6] {
        let Corners { places: p, double_area: double, gradients: gradient } =
            self.corner_gradients(t);
        let mut k = [0.0; 6];
        for [xi, eta, w] in element::QUADRATURE {
            let n = [1.0 - xi - eta, xi, eta];
            let r = n[0] * p[0].x + n[1] * p[1].x + n[2] * p[2].x;
            let weight = w * double * (self.measure)(r);
            let across = mu[3] * (self.across)(r);
            let mut place = 0;
            for i in 0..3 {
                let g = gradient[i];
                let flux = [mu[0] * g[0] + mu[1] * g[1], mu[1] * g[0] + mu[2] * g[1]];
                for j in 0..=i {
                    let dot = flux[0] * gradient[j][0] + flux[1] * gradient[j][1];
                    k[place] += weight * (dot + across * n[i] * n[j]);
                    place += 1;
                }
            }
        }
        k
    }
}

/// The three corners of a triangle, twice its area, and the gradients of their functions.
pub(crate) struct Corners {
    pub places: [Point; 3],
    pub double_area: f64,
    pub gradients: [[f64; 2]; 3],
}

fn entry(k: &[f64; 6], i: usize, j: usize) -> f64 {
    let (row, column) = (i.max(j), i.min(j));
    k[row * (row + 1) / 2 + column]
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
