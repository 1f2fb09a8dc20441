//! Reaction of the poles to the string's own field.
//!
//! The magnetised string magnetises the poles below it, which pull back. Seen from below, the
//! string's potential is a sum of waves that grow upward; seen from above, the poles' answer is a
//! sum of waves that decay upward. In one of the two symmetries:
//!
//! ```text
//! round     psi = exp(-k zeta) J_m(k r) cos m phi (and sin),  zeta = z - z0
//!           phi_in = sum_m int c_m(k) exp(k zeta) J_m(k r) cos m phi dk
//!           c_m(k) = eps_m / (4 pi) int M . grad psi dV,      eps_0 = 1, eps_m = 2
//! planar    psi = exp(-kappa zeta) cos kx x cos ky y (and sin), kappa^2 = kx^2 + ky^2
//!           c = 1 / (2 pi^2 kappa) int M . grad psi dV        for each of the four parities
//! ```
//!
//! from the expansion of 1/|r - r'|. The poles' side is a symmetric matrix S per m (or per ky),
//! found once per section ([`crate::strings::reaction_fe`]): the energy of the reaction is
//! -1/2 sum c S c, S positive semi-definite, so that mu_0 R = C^T S C = mu_0 F^T F with S = L L^T.
//! c, and so R, has exact derivatives by the string's place, and a further place costs no solve.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::strings::bessel::bessel_j;
use crate::strings::fade::Fade;
use crate::strings::finer_waves::Panel;
use crate::strings::jet::{LadderTable, PotentialJet, Turns};
use crate::strings::placed_reaction::PlacedReaction;
use crate::strings::section_mean::section_mean;
use crate::strings::spectral::{Moments, by_radius};
use crate::units::MU_0;

/// The poles' answer to fields laid on them from above: one pole's, or several side by side.
#[derive(Clone, Debug, Default)]
pub struct Reaction {
    poles: Vec<Pole>,
}

#[derive(Clone, Debug)]
struct Pole {
    /// Where the section's origin stands, m.
    at: [f64; 3],
    waves: Arc<PoleWaves>,
    /// Height over `at` below which a string is not answered, m.
    floor: f64,
}

/// What a pole answers, in waves.
#[derive(Clone, Debug)]
pub(crate) enum PoleWaves {
    Round(RoundWaves),
    Planar(PlanarWaves),
}

/// The answer of a round pole.
#[derive(Clone, Debug)]
pub(crate) struct RoundWaves {
    /// Height of the sampling plane, m.
    pub z0: f64,
    /// Wave numbers, `[n_k]`, 1/m.
    pub k: Vec<f64>,
    /// For each m from 0: the columns of L, `[rank][n_k]`, the weights of k included, H^(1/2)/m.
    pub columns: Vec<Vec<Vec<f64>>>,
    /// Where the wave numbers come from.
    pub panels: Vec<Panel>,
    /// Radius of the pole, m.
    pub within: f64,
    /// Where waves fade out at the side of the pole.
    pub fade: Fade,
}

/// The answer of a section that does not change along y.
#[derive(Clone, Debug)]
pub(crate) struct PlanarWaves {
    /// Height of the sampling plane, m.
    pub z0: f64,
    /// Wave numbers along the string, `[n_k]`, 1/m.
    pub kx: Vec<f64>,
    /// For each wave number across: ky (1/m), and the columns of L, `[rank][2 n_k]`, cosines first.
    pub harmonics: Vec<(f64, Vec<Vec<f64>>)>,
}

/// Derivatives kept of each wave: three, and two more for the mean over the section.
const WAVE_ORDER: usize = 5;

impl Reaction {
    pub(crate) fn new(waves: PoleWaves) -> Self {
        Self {
            poles: vec![Pole { at: [0.0; 3], waves: Arc::new(waves), floor: f64::NEG_INFINITY }],
        }
    }

    /// The same poles moved by (`dx`, `dy`), m.
    #[must_use]
    pub fn moved(mut self, dx: f64, dy: f64) -> Self {
        for pole in &mut self.poles {
            pole.at[0] += dx;
            pole.at[1] += dy;
        }
        self
    }

    /// The same poles `dz` higher, m.
    #[must_use]
    pub fn raised(mut self, dz: f64) -> Self {
        for pole in &mut self.poles {
            pole.at[2] += dz;
        }
        self
    }

    /// The same poles for a string `away` (m) to the side of them. They do not answer one lower than
    /// `floor` (m) over them, where their waves do not hold.
    #[must_use]
    pub fn beside(mut self, floor: f64, away: f64) -> Self {
        for pole in &mut self.poles {
            pole.floor = floor;
            if let PoleWaves::Round(waves) = &*pole.waves {
                pole.waves = Arc::new(PoleWaves::Round(waves.finer(away)));
            }
        }
        self
    }

    /// Both sets of poles, each answering for itself.
    #[must_use]
    pub fn plus(mut self, other: &Self) -> Self {
        self.poles.extend_from_slice(&other.poles);
        self
    }

    /// The reaction matrix of a string.
    pub(crate) fn placed(&self, nodes: &Nodes<'_>) -> PlacedReaction {
        let size = 3 * nodes.points.len();
        let mut placed = PlacedReaction { size, ..PlacedReaction::default() };
        for pole in &self.poles {
            let [x, y, z] = pole.at;
            let own: Vec<[f64; 3]> =
                nodes.points.iter().map(|p| [p[0] - x, p[1] - y, p[2] - z]).collect();
            if own.iter().any(|p| p[2] < pole.floor) {
                continue;
            }
            let rows = match &*pole.waves {
                PoleWaves::Round(waves) => waves.rows(&own, nodes.spacing),
                PoleWaves::Planar(waves) => waves.rows(&own, nodes.spacing),
            };
            for jets in rows {
                placed.push_row(&jets, nodes.volume, nodes.radius);
            }
        }
        placed.multiply();
        placed
    }
}

/// The nodes of a string in its place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nodes<'a> {
    /// Places, m.
    pub points: &'a [[f64; 3]],
    /// Volumes, m3.
    pub volume: &'a [f64],
    /// Length of the longer segment at each, m.
    pub spacing: &'a [f64],
    /// Radius of the section, m.
    pub radius: f64,
}

/// Share of a wave of wave number `k` that is taken from a node between segments of length
/// `spacing`. Where segments are long the magnetisation is smooth and its part in short waves is
/// nothing, but a sum over few nodes would make up one.
fn resolved(k: f64, spacing: f64) -> f64 {
    0.5 * libm::erfc((k * spacing - 7.0) / 2.0)
}

impl PlacedReaction {
    /// One row of F from the jets of a wave at all nodes.
    fn push_row(&mut self, jets: &[PotentialJet], volume: &[f64], radius: f64) {
        let n = jets.len();
        let start = self.f.len();
        let all = [&mut self.f].into_iter().chain(&mut self.d).chain(&mut self.dd);
        for matrix in all {
            matrix.resize(start + self.size, 0.0);
        }
        for (i, jet) in jets.iter().enumerate() {
            let mean = section_mean(jet, radius, WAVE_ORDER);
            for c in 0..3 {
                let place = start + c * n + i;
                self.f[place] = volume[i] * mean.h[c];
                for p in 0..3 {
                    self.d[p][place] = volume[i] * mean.d[p][c];
                }
                for (slot, [p, q]) in [[1, 1], [1, 2], [2, 2]].into_iter().enumerate() {
                    self.dd[slot][place] = volume[i] * mean.dd[p][q][c];
                }
            }
        }
    }
}

impl RoundWaves {
    /// Jets at all points of each combined wave, scaled so that F = volume times grad.
    fn rows(&self, points: &[[f64; 3]], spacing: &[f64]) -> Vec<Vec<PotentialJet>> {
        let ladder = LadderTable::new();
        // Row of (m, column, part).
        let mut first_row = Vec::with_capacity(self.columns.len());
        let mut count = 0;
        for columns in &self.columns {
            first_row.push(count);
            count += 2 * columns.len();
        }
        let mut rows = vec![vec![PotentialJet::ZERO; points.len()]; count];
        let mut bessel = vec![0.0; self.columns.len() + WAVE_ORDER];
        for ((r, z), members) in by_radius(points) {
            let zeta = z - self.z0;
            // Nodes as far from the axis lie between segments alike.
            let longest = members.iter().map(|&i| spacing[i]).fold(0.0, f64::max);
            let mut moments: Vec<Vec<Moments>> = self
                .columns
                .iter()
                .enumerate()
                .map(|(m, columns)| columns.iter().map(|_| Moments::zero(m, WAVE_ORDER)).collect())
                .collect();
            for (index, &k) in self.k.iter().enumerate() {
                bessel_j(k * r, &mut bessel);
                let decay = (-k * zeta).exp() * resolved(k, longest) * self.fade.share(k, r);
                for (columns, moments) in self.columns.iter().zip(&mut moments) {
                    for (column, moments) in columns.iter().zip(moments) {
                        moments.add(column[index] * decay, k, &bessel);
                    }
                }
            }
            for index in members {
                let turns = Turns::new(points[index][0], points[index][1], bessel.len());
                for (m, moments) in moments.iter().enumerate() {
                    let scale = if m == 0 { 1.0 } else { 2.0 } / (4.0 * PI * MU_0.sqrt());
                    for (column, moments) in moments.iter().enumerate() {
                        let pair = ladder.jets(m, &turns, WAVE_ORDER, |n, s| moments.get(m, n, s));
                        for (offset, jet) in pair.iter().enumerate() {
                            rows[first_row[m] + 2 * column + offset][index].add(scale, jet);
                        }
                    }
                }
            }
        }
        rows
    }
}

impl PlanarWaves {
    /// Jets at all points of each combined wave, scaled so that F = volume times grad.
    ///
    /// The section is the same everywhere along y, so the waves are centred on the string.
    fn rows(&self, points: &[[f64; 3]], spacing: &[f64]) -> Vec<Vec<PotentialJet>> {
        let n = self.kx.len();
        let mut rows = Vec::new();
        for (ky, columns) in &self.harmonics {
            for column in columns {
                let mut cosine = Vec::with_capacity(points.len());
                let mut sine = Vec::with_capacity(points.len());
                for (p, &spacing) in points.iter().zip(spacing) {
                    let (mut even, mut odd) = (PotentialJet::ZERO, PotentialJet::ZERO);
                    for (i, &kx) in self.kx.iter().enumerate() {
                        let kappa = kx.hypot(*ky);
                        let scale = (-kappa * (p[2] - self.z0)).exp() * resolved(kx, spacing)
                            / (2.0 * PI * PI * kappa * MU_0.sqrt());
                        let (sin, cos) = (kx * p[0]).sin_cos();
                        // a cos kx x + b sin kx x = Re (a - ib) e^(i kx x).
                        let (a, b) = (scale * column[i], scale * column[n + i]);
                        let along = [a * cos + b * sin, b * cos - a * sin];
                        add_wave(&mut even, &mut odd, along, kx, *ky, kappa);
                    }
                    cosine.push(even);
                    sine.push(odd);
                }
                rows.push(cosine);
                rows.push(sine);
            }
        }
        rows
    }
}

/// Adds the derivatives of f(x) exp(-kappa zeta) times cos ky y (to `even`) and sin ky y (to
/// `odd`) at y = 0, where `along` = [f, f'/kx].
fn add_wave(
    even: &mut PotentialJet,
    odd: &mut PotentialJet,
    along: [f64; 2],
    kx: f64,
    ky: f64,
    kappa: f64,
) {
    for c in 0..2 {
        for b in 0..=WAVE_ORDER - c {
            for a in 0..=WAVE_ORDER - c - b {
                let sign = if (a / 2 + b / 2) % 2 == 0 { 1.0 } else { -1.0 };
                let down = if c == 1 { -kappa } else { 1.0 };
                let powers = kx.powi(a as i32) * ky.powi(b as i32) * down;
                let value = sign * along[a % 2] * powers;
                let jet = if b % 2 == 0 { &mut *even } else { &mut *odd };
                jet.set(a, b, c, jet.d(a, b, c) + value);
            }
        }
    }
}

/// Columns of L, S = L L^T, by Cholesky with the greatest pivot first, up to `tolerance` times the
/// greatest; what is left is smaller than that. `s` is `[n * n]`, symmetric.
pub(crate) fn low_rank_factor(mut s: Vec<f64>, n: usize, tolerance: f64) -> Vec<Vec<f64>> {
    let mut columns: Vec<Vec<f64>> = Vec::new();
    let greatest = (0..n).map(|i| s[i * n + i]).fold(0.0, f64::max);
    while columns.len() < n {
        let mut pivot = 0;
        for i in 1..n {
            if s[i * n + i] > s[pivot * n + pivot] {
                pivot = i;
            }
        }
        let diagonal = s[pivot * n + pivot];
        if diagonal <= tolerance * greatest {
            break;
        }
        let root = diagonal.sqrt();
        let column: Vec<f64> = (0..n).map(|i| s[i * n + pivot] / root).collect();
        for i in 0..n {
            for j in 0..n {
                s[i * n + j] -= column[i] * column[j];
            }
        }
        columns.push(column);
    }
    columns
}
