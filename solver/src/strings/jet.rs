//! A harmonic potential and all its derivatives at one point.
//!
//! The field strength above the pickup is H = -grad phi with laplace(phi) = 0. All derivatives up
//! to order [`ORDER`] are kept as d^(a+b+c) phi / dx^a dy^b dz^c with c = 0 or 1; higher c follow
//! from d2/dz2 = -d2/dx2 - d2/dy2. Jets of several sources add.

/// Highest order of derivative kept: three for the second gradient of H, four more for means over
/// a string's section.
pub(crate) const ORDER: usize = 7;

/// Derivatives along x and y up to that order.
pub(crate) const PAIRS: usize = (ORDER + 1) * (ORDER + 2) / 2;

/// Potential (A) and its derivatives (A/m^n) at a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PotentialJet {
    /// `[c][place(a, b)]`.
    d: [[f64; PAIRS]; 2],
}

/// Where the derivative d^(a+b)/dx^a dy^b stands among them: by order, then by b.
pub(crate) const fn place(a: usize, b: usize) -> usize {
    let n = a + b;
    n * (n + 1) / 2 + b
}

impl PotentialJet {
    pub(crate) const ZERO: Self = Self { d: [[0.0; PAIRS]; 2] };

    /// d^(a+b+c) phi / dx^a dy^b dz^c, for a + b + c <= [`ORDER`].
    pub(crate) fn d(&self, a: usize, b: usize, c: usize) -> f64 {
        if c >= 2 {
            -(self.d(a + 2, b, c - 2) + self.d(a, b + 2, c - 2))
        } else {
            self.d[c][place(a, b)]
        }
    }

    /// As [`PotentialJet::d`], for c = 0 or 1.
    #[inline(always)]
    pub(crate) fn level(&self, a: usize, b: usize, c: usize) -> f64 {
        self.d[c][place(a, b)]
    }

    /// Sets one derivative, c = 0 or 1.
    pub(crate) fn set(&mut self, a: usize, b: usize, c: usize, value: f64) {
        self.d[c][place(a, b)] = value;
    }

    /// Adds `factor` times another jet.
    pub(crate) fn add(&mut self, factor: f64, other: &Self) {
        for (own, theirs) in self.d.iter_mut().zip(&other.d) {
            for (o, t) in own.iter_mut().zip(theirs) {
                *o += factor * t;
            }
        }
    }

    /// The jet at the place mirrored in x = 0, of a potential that is its own mirror image.
    pub(crate) fn mirrored(mut self) -> Self {
        for level in &mut self.d {
            for n in 1..=ORDER {
                for b in (0..n).filter(|b| (n - b) % 2 == 1) {
                    level[place(n - b, b)] *= -1.0;
                }
            }
        }
        self
    }

    /// H, its gradient and second gradient.
    pub(crate) fn field(&self) -> FieldJet {
        let mut jet = FieldJet::default();
        let d = |i: [usize; 3]| -self.d(i[0], i[1], i[2]);
        for i in 0..3 {
            let mut n = [0; 3];
            n[i] += 1;
            jet.h[i] = d(n);
            for j in 0..3 {
                let mut n = n;
                n[j] += 1;
                jet.gradient[i][j] = d(n);
                for k in 0..3 {
                    let mut n = n;
                    n[k] += 1;
                    jet.second[i][j][k] = d(n);
                }
            }
        }
        jet
    }
}

/// Field strength at a point with its first and second derivatives.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FieldJet {
    /// H, A/m: x along the string, y sideways, z up.
    pub h: [f64; 3],
    /// `gradient[i][j]` = dH_i/dx_j, A/m2; symmetric and free of trace.
    pub gradient: [[f64; 3]; 3],
    /// `second[i][j][k]` = d2H_i/dx_j dx_k, A/m3; symmetric in all three.
    pub second: [[[f64; 3]; 3]; 3],
}

/// How derivatives of J_m(k r) exp(i m phi) along x and y combine its neighbours in m.
///
/// With D+- = d/dx +- i d/dy: D+ J_m e^(i m phi) = -k J_(m+1) e^(i (m+1) phi) and
/// D- J_m e^(i m phi) = k J_(m-1) e^(i (m-1) phi). Hence
///
/// ```text
/// d^(a+b)/dx^a dy^b J_m e^(i m phi) = i^b k^n sum_s C[a][b][s] J_(m+s) e^(i (m+s) phi),
/// n = a + b, s = -n, -n + 2, ..., n
/// ```
#[derive(Clone, Debug)]
pub(crate) struct LadderTable {
    /// `[place(a, b)][(s + n) / 2]`.
    c: Vec<[f64; ORDER + 1]>,
}

impl LadderTable {
    pub(crate) fn new() -> Self {
        let mut c = vec![[0.0; ORDER + 1]; PAIRS];
        c[0][0] = 1.0;
        for n in 1..=ORDER {
            for b in 0..=n {
                let a = n - b;
                // Raising s carries -1/2 along x and i/2 along y, lowering it 1/2 and i/2.
                let (from, raise) =
                    if a > 0 { (c[place(a - 1, b)], -0.5) } else { (c[place(a, b - 1)], 0.5) };
                let to = &mut c[place(a, b)];
                for j in 0..n {
                    to[j + 1] += raise * from[j];
                    to[j] += 0.5 * from[j];
                }
            }
        }
        Self { c }
    }

    /// The jets of the real and the imaginary part of sum over k of a(k) exp(-k zeta) J_m(k r)
    /// exp(i m phi), from its `moments`. Derivatives above `order` stay zero.
    pub(crate) fn jets(
        &self,
        m: usize,
        turns: &Turns,
        order: usize,
        moments: &Moments,
    ) -> [PotentialJet; 2] {
        let [mut real, mut imaginary] = [PotentialJet::ZERO; 2];
        for c in 0..2 {
            for n in 0..=order.saturating_sub(c) {
                // s = -n, -n + 2, ..., n.
                let mut terms = [(0.0, 0.0); ORDER + 1];
                for (j, term) in terms.iter_mut().enumerate().take(n + 1) {
                    let s = 2 * j as isize - n as isize;
                    let value = moments.sums[c][place(n - j, j)];
                    let turn = turns.at(m as isize + s);
                    *term = (value * turn.0, value * turn.1);
                }
                for b in 0..=n {
                    let row = &self.c[place(n - b, b)];
                    let (mut re, mut im) = (0.0, 0.0);
                    for (weight, term) in row.iter().zip(&terms).take(n + 1) {
                        re += weight * term.0;
                        im += weight * term.1;
                    }
                    // Times i^b, and d/dz = -k.
                    let (re, im) = match b % 4 {
                        0 => (re, im),
                        1 => (-im, re),
                        2 => (-re, -im),
                        _ => (im, -re),
                    };
                    let sign = if c == 0 { 1.0 } else { -1.0 };
                    real.set(n - b, b, c, sign * re);
                    imaginary.set(n - b, b, c, sign * im);
                }
            }
        }
        [real, imaginary]
    }
}

/// What [`LadderTable::jets`] combines: sums over k of a(k) k^(n+c) exp(-k zeta) J_(m+s)(k r) for
/// s = -n, -n + 2, ..., n and c = 0 or 1, `[c][place(n - j, j)]` with s = 2 j - n.
#[derive(Clone, Debug)]
pub(crate) struct Moments {
    sums: [[f64; PAIRS]; 2],
}

impl Moments {
    pub(crate) const ZERO: Self = Self { sums: [[0.0; PAIRS]; 2] };

    /// Those of one wave, as [`Moments::add_wave`] adds them.
    pub(crate) fn of_wave(m: usize, a: f64, k: f64, around: &Orders, order: usize) -> Self {
        let mut moments = Self::ZERO;
        moments.add_wave(m, a, k, around, order);
        moments
    }

    /// Adds those of one wave of wave number `k` and amplitude `a`, of azimuthal order `m`, up to `order`;
    /// `around` at k r.
    #[inline]
    pub(crate) fn add_wave(&mut self, m: usize, a: f64, k: f64, around: &Orders, order: usize) {
        let [same, next] = &mut self.sums;
        let mut factor = a;
        for n in 0..=order {
            let row = around.every_second(m as isize - n as isize, n + 1);
            let own = place(n, 0)..place(n, 0) + n + 1;
            for (sum, j) in same[own.clone()].iter_mut().zip(row) {
                *sum += factor * j;
            }
            factor *= k;
            if n < order {
                for (sum, j) in next[own].iter_mut().zip(row) {
                    *sum += factor * j;
                }
            }
        }
    }

    /// Adds `factor` times others, up to `order`.
    #[inline]
    pub(crate) fn add(&mut self, factor: f64, others: &Self, order: usize) {
        for (c, (own, theirs)) in self.sums.iter_mut().zip(&others.sums).enumerate() {
            let count = place(order + 1 - c, 0);
            for (o, t) in own[..count].iter_mut().zip(&theirs[..count]) {
                *o += factor * t;
            }
        }
    }
}

/// Bessel functions of orders from -[`ORDER`] upward at one place, even and odd ones apart.
#[derive(Clone, Debug)]
pub(crate) struct Orders {
    apart: [[f64; Self::EACH]; 2],
}

impl Orders {
    const EACH: usize = 24;
    /// Even, so that parity stays.
    const LOWEST: isize = -(ORDER as isize + 1);

    /// `bessel[M]` = J_M, M = 0, 1, ... below 40.
    pub(crate) fn new(bessel: &[f64]) -> Self {
        let mut apart = [[0.0; Self::EACH]; 2];
        let mut put = |order: isize, value: f64| {
            let place = (order - Self::LOWEST) as usize;
            apart[place % 2][place / 2] = value;
        };
        for (order, &j) in bessel.iter().enumerate() {
            put(order as isize, j);
            // J_-M = (-1)^M J_M.
            if (1..=ORDER).contains(&order) {
                put(-(order as isize), if order % 2 == 0 { j } else { -j });
            }
        }
        Self { apart }
    }

    /// J of `count` orders, two apart, from `first`.
    #[inline(always)]
    fn every_second(&self, first: isize, count: usize) -> &[f64] {
        let place = (first - Self::LOWEST) as usize;
        &self.apart[place % 2][place / 2..place / 2 + count]
    }
}

const _: () = assert!(ORDER % 2 == 1);

/// exp(i M phi) for M from -[`ORDER`] upward.
#[derive(Clone, Debug)]
pub(crate) struct Turns {
    values: Vec<(f64, f64)>,
}

impl Turns {
    /// At the azimuth of (x, y), up to order `highest`; at x = y = 0 the azimuth is 0.
    pub(crate) fn new(x: f64, y: f64, highest: usize) -> Self {
        let r = x.hypot(y);
        let (cos, sin) = if r > 0.0 { (x / r, y / r) } else { (1.0, 0.0) };
        let mut up = vec![(1.0, 0.0)];
        for i in 0..highest.max(ORDER) {
            let (re, im) = up[i];
            up.push((re * cos - im * sin, re * sin + im * cos));
        }
        let down = up[1..=ORDER].iter().rev().map(|&(re, im)| (re, -im));
        let values = down.chain(up.iter().copied()).collect();
        Self { values }
    }

    fn at(&self, m: isize) -> (f64, f64) {
        self.values[(m + ORDER as isize) as usize]
    }
}

/// Which real part of exp(i m phi) a source varies with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// cos(m phi).
    Cosine,
    /// sin(m phi).
    Sine,
}
