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
use crate::strings::jet::{LadderTable, Moments, Orders, PotentialJet, Turns};
use crate::strings::placed_reaction::PlacedReaction;
use crate::strings::section_mean::{mean_strength, section_mean};
use crate::strings::spectral::by_radius;
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
/// The same where derivatives by the string's place are not wanted.
const FIELD_ORDER: usize = 3;

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
            let nodes = Nodes { points: &own, ..*nodes };
            match &*pole.waves {
                PoleWaves::Round(waves) => waves.put(&nodes, &mut placed),
                PoleWaves::Planar(waves) => waves.put(&nodes, &mut placed),
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
    /// Whether derivatives by the string's place are wanted; without them those of F are empty.
    pub derivatives: bool,
}

impl Nodes<'_> {
    /// Derivatives kept of each wave.
    fn order(&self) -> usize {
        if self.derivatives { WAVE_ORDER } else { FIELD_ORDER }
    }

    /// The node that is the mirror image of node `i` in x = 0, among segments alike.
    fn mirror(&self, i: usize) -> Option<usize> {
        let j = self.points.len() - 1 - i;
        let ([x, y, z], other) = (self.points[i], self.points[j]);
        (other == [-x, y, z] && self.spacing[j] == self.spacing[i]).then_some(j)
    }
}

/// Share of a wave of wave number `k` that is taken from a node between segments of length
/// `spacing`. Where segments are long the magnetisation is smooth and its part in short waves is
/// nothing, but a sum over few nodes would make up one.
fn resolved(k: f64, spacing: f64) -> f64 {
    0.5 * libm::erfc((k * spacing - 7.0) / 2.0)
}

/// Beyond this share a wave is not summed any more.
const NOTHING: f64 = 1e-17;

impl PlacedReaction {
    /// Room for `count` more rows; the number of the first.
    fn add_rows(&mut self, count: usize, derivatives: bool) -> usize {
        let first = self.f.len() / self.size.max(1);
        let length = (first + count) * self.size;
        self.f.resize(length, 0.0);
        if derivatives {
            for matrix in self.d.iter_mut().chain(&mut self.dd) {
                matrix.resize(length, 0.0);
            }
        }
        first
    }

    /// Entries of one row of F at one node, from the jet of a wave there.
    fn put(&mut self, row: usize, node: usize, jet: &PotentialJet, nodes: &Nodes<'_>) {
        let volume = nodes.volume[node];
        let place = |c: usize| row * self.size + c * nodes.points.len() + node;
        if !nodes.derivatives {
            for (c, h) in mean_strength(jet, nodes.radius, FIELD_ORDER).into_iter().enumerate() {
                self.f[place(c)] = volume * h;
            }
            return;
        }
        let mean = section_mean(jet, nodes.radius, WAVE_ORDER);
        for c in 0..3 {
            let place = place(c);
            self.f[place] = volume * mean.h[c];
            for p in 0..3 {
                self.d[p][place] = volume * mean.d[p][c];
            }
            for (slot, [p, q]) in [[1, 1], [1, 2], [2, 2]].into_iter().enumerate() {
                self.dd[slot][place] = volume * mean.dd[p][q][c];
            }
        }
    }
}

impl RoundWaves {
    /// Rows of F, two for each combined wave: with cos m phi and with sin m phi.
    fn put(&self, nodes: &Nodes<'_>, placed: &mut PlacedReaction) {
        let ladder = LadderTable::new();
        let order = nodes.order();
        let waves: Vec<(usize, &Vec<f64>)> = self
            .columns
            .iter()
            .enumerate()
            .flat_map(|(m, columns)| columns.iter().map(move |column| (m, column)))
            .collect();
        let first = placed.add_rows(2 * waves.len(), nodes.derivatives);
        let mut bessel = vec![0.0; self.columns.len() + order];
        for ((r, z), members) in by_radius(nodes.points) {
            let zeta = z - self.z0;
            // Nodes as far from the axis lie between segments alike.
            let longest = members.iter().map(|&i| nodes.spacing[i]).fold(0.0, f64::max);
            let mut moments = vec![Moments::ZERO; waves.len()];
            for (index, &k) in self.k.iter().enumerate() {
                let share = resolved(k, longest) * self.fade.share(k, r);
                if share < NOTHING {
                    break;
                }
                bessel_j(k * r, &mut bessel);
                let around = Orders::new(&bessel);
                let decay = (-k * zeta).exp() * share;
                let mut moments = moments.iter_mut();
                for (m, columns) in self.columns.iter().enumerate() {
                    let wave = Moments::of_wave(m, decay, k, &around, order);
                    for (column, moments) in columns.iter().zip(&mut moments) {
                        moments.add(column[index], &wave, order);
                    }
                }
            }
            for node in members {
                let turns = Turns::new(nodes.points[node][0], nodes.points[node][1], bessel.len());
                for (wave, ((m, _), moments)) in waves.iter().zip(&moments).enumerate() {
                    let scale = if *m == 0 { 1.0 } else { 2.0 } / (4.0 * PI * MU_0.sqrt());
                    let pair = ladder.jets(*m, &turns, order, moments);
                    for (part, jet) in pair.iter().enumerate() {
                        let mut scaled = PotentialJet::ZERO;
                        scaled.add(scale, jet);
                        placed.put(first + 2 * wave + part, node, &scaled, nodes);
                    }
                }
            }
        }
    }
}

/// Powers of kx with and without a factor of -kappa: `[c][a]`, c + a <= [`WAVE_ORDER`].
const ALONG: usize = 2 * (WAVE_ORDER + 1);

impl PlanarWaves {
    /// Rows of F, two for each combined wave: with cos ky y and with sin ky y.
    ///
    /// The section is the same everywhere along y, so the waves are centred on the string. Nodes that mirror
    /// each other in x = 0 share their sums, the even and the odd parts of which are kept apart.
    fn put(&self, nodes: &Nodes<'_>, placed: &mut PlacedReaction) {
        let n = self.kx.len();
        let count: usize = self.harmonics.iter().map(|(_, columns)| 2 * columns.len()).sum();
        let first = placed.add_rows(count, nodes.derivatives);
        for (node, (p, &spacing)) in nodes.points.iter().zip(nodes.spacing).enumerate() {
            let mirror = nodes.mirror(node).filter(|mirror| *mirror != node);
            if mirror.is_some_and(|mirror| mirror < node) {
                continue;
            }
            // What all harmonics share along x.
            let along: Vec<(f64, f64)> = self
                .kx
                .iter()
                .map(|&kx| {
                    let (sin, cos) = (kx * p[0]).sin_cos();
                    let resolved = resolved(kx, spacing);
                    (resolved * sin, resolved * cos)
                })
                .collect();
            let mut row = first;
            for (ky, columns) in &self.harmonics {
                // d^a/dx^a (-kappa)^c of a cos kx x + b sin kx x = Re (a - ib) e^(i kx x), times a and b.
                let terms: Vec<[[f64; ALONG]; 2]> = self
                    .kx
                    .iter()
                    .zip(&along)
                    .map(|(&kx, &(sin, cos))| {
                        let kappa = kx.hypot(*ky);
                        let scale = (-kappa * (p[2] - self.z0)).exp()
                            / (2.0 * PI * PI * kappa * MU_0.sqrt());
                        let mut terms = [[0.0; ALONG]; 2];
                        let mut power = scale;
                        for a in 0..=WAVE_ORDER {
                            let [of_a, of_b] = match a % 4 {
                                0 => [cos, sin],
                                1 => [-sin, cos],
                                2 => [-cos, -sin],
                                _ => [sin, -cos],
                            };
                            for (terms, value) in terms.iter_mut().zip([of_a, of_b]) {
                                terms[a] = power * value;
                                terms[WAVE_ORDER + 1 + a] = -kappa * power * value;
                            }
                            power *= kx;
                        }
                        terms
                    })
                    .collect();
                for column in columns {
                    let (a, b) = column.split_at(n);
                    let (mut even, mut odd) = ([0.0; ALONG], [0.0; ALONG]);
                    for ((a, b), [of_a, of_b]) in a.iter().zip(b).zip(&terms) {
                        for i in 0..ALONG {
                            even[i] += a * of_a[i];
                            odd[i] += b * of_b[i];
                        }
                    }
                    let sums: [f64; ALONG] = std::array::from_fn(|i| even[i] + odd[i]);
                    for (part, jet) in across(&sums, *ky).iter().enumerate() {
                        placed.put(row + part, node, jet, nodes);
                    }
                    if let Some(mirror) = mirror {
                        // Each derivative along x turns the sign of both.
                        let sums: [f64; ALONG] = std::array::from_fn(|i| {
                            let derivatives = i % (WAVE_ORDER + 1);
                            let sign = if derivatives.is_multiple_of(2) { 1.0 } else { -1.0 };
                            sign * (even[i] - odd[i])
                        });
                        for (part, jet) in across(&sums, *ky).iter().enumerate() {
                            placed.put(row + part, mirror, jet, nodes);
                        }
                    }
                    row += 2;
                }
            }
        }
    }
}

/// The jets at y = 0 of f(x, z) cos ky y and f(x, z) sin ky y, from the derivatives of f along x and up.
fn across(along: &[f64; ALONG], ky: f64) -> [PotentialJet; 2] {
    let mut jets = [PotentialJet::ZERO; 2];
    for c in 0..2 {
        let mut power = 1.0;
        for b in 0..=WAVE_ORDER - c {
            let sign = if (b / 2) % 2 == 0 { 1.0 } else { -1.0 };
            for a in 0..=WAVE_ORDER - c - b {
                let value = sign * power * along[c * (WAVE_ORDER + 1) + a];
                jets[b % 2].set(a, b, c, value);
            }
            power *= ky;
        }
    }
    jets
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
