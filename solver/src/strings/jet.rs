//! A harmonic potential and all its derivatives at one point.
//!
//! The field strength above the pickup is H = -grad phi with laplace(phi) = 0. All derivatives up
//! to order [`ORDER`] are kept as d^(a+b+c) phi / dx^a dy^b dz^c with c = 0 or 1; higher c follow
//! from d2/dz2 = -d2/dx2 - d2/dy2. Jets of several sources add.

/// Highest order of derivative kept: three for the second gradient of H, four more for means over
/// a string's section.
pub(crate) const ORDER: usize = 7;

const PAIRS: usize = (ORDER + 1) * (ORDER + 2) / 2;

/// Potential (A) and its derivatives (A/m^n) at a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PotentialJet {
    /// `[c][place(a, b)]`.
    d: [[f64; PAIRS]; 2],
}

const fn place(a: usize, b: usize) -> usize {
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
/// d^(a+b)/dx^a dy^b J_m e^(i m phi) = i^b k^(a+b) sum_s C[a][b][s] J_(m+s) e^(i (m+s) phi)
/// ```
#[derive(Clone, Debug)]
pub(crate) struct LadderTable {
    /// `[place(a, b)][s + ORDER]`.
    c: Vec<[f64; 2 * ORDER + 1]>,
}

impl LadderTable {
    pub(crate) fn new() -> Self {
        let mut c = vec![[0.0; 2 * ORDER + 1]; PAIRS];
        c[0][ORDER] = 1.0;
        for n in 1..=ORDER {
            for b in 0..=n {
                let a = n - b;
                let (from, lower) =
                    if a > 0 { (c[place(a - 1, b)], -0.5) } else { (c[place(a, b - 1)], 0.5) };
                let to = &mut c[place(a, b)];
                for s in 1..2 * ORDER {
                    to[s + 1] += lower * from[s];
                    to[s - 1] += 0.5 * from[s];
                }
            }
        }
        Self { c }
    }

    /// The jet of Re (or Im) of sum over k of a(k) exp(-k zeta) J_m(k r) exp(i m phi).
    ///
    /// `moment(n, s)` = sum over k of a(k) k^n exp(-k zeta) J_(m+s)(k r), asked for |s| <= n;
    /// `m` may be any integer >= 0, `phi` is the azimuth of the point. Derivatives above `order`
    /// stay zero.
    pub(crate) fn jet(
        &self,
        m: usize,
        phi: f64,
        part: Part,
        order: usize,
        moment: impl Fn(usize, isize) -> f64,
    ) -> PotentialJet {
        let mut jet = PotentialJet::ZERO;
        // Phase factors e^(i (m+s) phi).
        let mut phase = [(0.0, 0.0); 2 * ORDER + 1];
        for (index, p) in phase.iter_mut().enumerate() {
            let angle = (m as f64 + index as f64 - ORDER as f64) * phi;
            *p = (angle.cos(), angle.sin());
        }
        for c in 0..2 {
            for n in 0..=order.saturating_sub(c) {
                let mut terms = [(0.0, 0.0); 2 * ORDER + 1];
                for s in -(n as isize)..=n as isize {
                    if (s + n as isize) % 2 != 0 {
                        continue;
                    }
                    let index = (s + ORDER as isize) as usize;
                    let value = moment(n + c, s);
                    terms[index] = (value * phase[index].0, value * phase[index].1);
                }
                for b in 0..=n {
                    let row = &self.c[place(n - b, b)];
                    let (mut re, mut im) = (0.0, 0.0);
                    for (weight, term) in row.iter().zip(&terms) {
                        re += weight * term.0;
                        im += weight * term.1;
                    }
                    // Multiply by i^b.
                    let (re, im) = match b % 4 {
                        0 => (re, im),
                        1 => (-im, re),
                        2 => (-re, -im),
                        _ => (im, -re),
                    };
                    let value = match part {
                        Part::Cosine => re,
                        Part::Sine => im,
                    };
                    jet.set(n - b, b, c, if c == 0 { value } else { -value });
                }
            }
        }
        jet
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
