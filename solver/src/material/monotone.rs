//! A smooth curve y(x) through points, rising and never steeper than a bound.
//!
//! In: points with x and y strictly rising, and the bound s on dy/dx, with every chord's slope in
//! (0, s]. Out: y, dy/dx and the integral of y. Piecewise cubic Hermite, continuous slope.
//!
//! The slope at a point is the weighted harmonic mean of the chords beside it
//! [FritschButland1984], then clamped. A Hermite cubic rises where both end slopes d lie in
//! [0, 3 delta], delta being the slope of the chord [FritschCarlson1980]; the same rule for s x - y
//! gives d >= 3 delta - 2 s. With H for y, B for x and s = 1/mu_0 the two together say that B rises
//! with H and that J = B - mu_0 H does too. Where the chords beside a point leave no slope that
//! satisfies both, a point is put into the flatter chord, close by, so that the curve can turn.

/// A rising cubic curve; see the file's head.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct MonotoneCubic {
    /// Places of the knots, [n].
    x: Vec<f64>,
    /// Values at the knots, [n].
    y: Vec<f64>,
    /// Slopes at the knots, [n].
    d: Vec<f64>,
    /// y = c0 + u (c1 + u (c2 + u c3)), u = x - x[i], `[n - 1]`.
    c: Vec<[f64; 4]>,
    /// Integral of y from `x[0]` to the knot, `[n]`.
    area: Vec<f64>,
}

/// Value, slope and integral from the first knot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CurvePoint {
    pub y: f64,
    pub slope: f64,
    pub area: f64,
}

impl MonotoneCubic {
    /// The curve through `x`, `y` (at least two points, both strictly rising) with slope at most
    /// `steepest`. `last_slope`, if given, is taken at the last point as far as the rules allow.
    pub fn through(x: &[f64], y: &[f64], steepest: f64, last_slope: Option<f64>) -> Self {
        let (x, y) = make_room(x, y, steepest);
        let n = x.len();
        let chord: Vec<f64> =
            (0..n - 1).map(|i| (y[i + 1] - y[i]) / (x[i + 1] - x[i])).map(f64::abs).collect();
        let mut d: Vec<f64> = (0..n).map(|i| wanted_slope(&x, &chord, i)).collect();
        if let Some(slope) = last_slope {
            d[n - 1] = slope;
        }
        for i in 0..n {
            let (low, high) = room(&chord, i, steepest);
            d[i] = d[i].min(high).max(low);
        }
        let mut c = Vec::with_capacity(n - 1);
        let mut area = vec![0.0];
        for i in 0..n - 1 {
            let h = x[i + 1] - x[i];
            let c2 = (3.0 * chord[i] - 2.0 * d[i] - d[i + 1]) / h;
            let c3 = (d[i] + d[i + 1] - 2.0 * chord[i]) / (h * h);
            c.push([y[i], d[i], c2, c3]);
            let piece = h * (y[i] + h * (d[i] / 2.0 + h * (c2 / 3.0 + h * c3 / 4.0)));
            area.push(area[i] + piece);
        }
        Self { x, y, d, c, area }
    }

    /// First knot: place, value, slope.
    pub fn first(&self) -> (f64, f64, f64) {
        (self.x[0], self.y[0], self.d[0])
    }

    /// Last knot: place, value, slope.
    pub fn last(&self) -> (f64, f64, f64) {
        let n = self.x.len() - 1;
        (self.x[n], self.y[n], self.d[n])
    }

    /// Knots, as (place, value) pairs.
    pub fn knots(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.x.iter().copied().zip(self.y.iter().copied())
    }

    /// The curve at `x`, between the first and the last knot.
    pub fn at(&self, x: f64) -> CurvePoint {
        let i = self.x.partition_point(|&k| k <= x).clamp(1, self.c.len()) - 1;
        let u = x - self.x[i];
        let [c0, c1, c2, c3] = self.c[i];
        CurvePoint {
            y: c0 + u * (c1 + u * (c2 + u * c3)),
            slope: c1 + u * (2.0 * c2 + 3.0 * u * c3),
            area: self.area[i] + u * (c0 + u * (c1 / 2.0 + u * (c2 / 3.0 + u * c3 / 4.0))),
        }
    }

    /// Second derivative at `x`, between the first and the last knot; it jumps at knots.
    pub fn curvature(&self, x: f64) -> f64 {
        let i = self.x.partition_point(|&k| k <= x).clamp(1, self.c.len()) - 1;
        2.0 * self.c[i][2] + 6.0 * (x - self.x[i]) * self.c[i][3]
    }

    /// Place x where the curve has the value `y`, between the first and the last.
    pub fn place_of(&self, y: f64) -> f64 {
        let i = self.y.partition_point(|&k| k <= y).clamp(1, self.c.len()) - 1;
        let [c0, c1, c2, c3] = self.c[i];
        let (mut low, mut high) = (0.0, self.x[i + 1] - self.x[i]);
        let mut u = high * ((y - c0) / (self.y[i + 1] - c0)).clamp(0.0, 1.0);
        // Newton inside a shrinking bracket; each step at worst halves it, so 200 always suffice.
        for _ in 0..200 {
            let excess = c0 - y + u * (c1 + u * (c2 + u * c3));
            if excess > 0.0 {
                high = u;
            } else {
                low = u;
            }
            let newton = u - excess / (c1 + u * (2.0 * c2 + 3.0 * u * c3));
            let next = if newton >= low && newton <= high { newton } else { 0.5 * (low + high) };
            if (next - u).abs() <= 4e-16 * self.x[i + 1].abs().max(self.x[i].abs()) {
                return self.x[i] + next;
            }
            u = next;
        }
        self.x[i] + u
    }
}

/// Slope that fits the points around knot `i` best; not yet clamped.
fn wanted_slope(x: &[f64], chord: &[f64], i: usize) -> f64 {
    let n = x.len();
    if n == 2 {
        return chord[0];
    }
    // Parabola through the three points at either end.
    if i == 0 {
        let (h0, h1) = (x[1] - x[0], x[2] - x[1]);
        return ((2.0 * h0 + h1) * chord[0] - h0 * chord[1]) / (h0 + h1);
    }
    if i == n - 1 {
        let (h0, h1) = (x[n - 1] - x[n - 2], x[n - 2] - x[n - 3]);
        return ((2.0 * h0 + h1) * chord[n - 2] - h0 * chord[n - 3]) / (h0 + h1);
    }
    let (h0, h1) = (x[i] - x[i - 1], x[i + 1] - x[i]);
    let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
    (w0 + w1) / (w0 / chord[i - 1] + w1 / chord[i])
}

/// Least and greatest slope allowed at knot `i` by the chords beside it.
fn room(chord: &[f64], i: usize, steepest: f64) -> (f64, f64) {
    let beside = &chord[i.saturating_sub(1)..(i + 1).min(chord.len())];
    let smallest = beside.iter().copied().fold(f64::INFINITY, f64::min);
    let largest = beside.iter().copied().fold(0.0, f64::max);
    // The second lower end is for the first and last knot, where the parabola may fall.
    let low = (3.0 * largest - 2.0 * steepest).max(0.2 * smallest);
    (low, (3.0 * smallest).min(steepest))
}

/// The points, with one added in the flatter chord beside every knot where the rules would
/// otherwise leave no slope.
fn make_room(x: &[f64], y: &[f64], steepest: f64) -> (Vec<f64>, Vec<f64>) {
    let chord = |i: usize| ((y[i + 1] - y[i]) / (x[i + 1] - x[i])).min(steepest);
    let (mut xs, mut ys) = (vec![x[0]], vec![y[0]]);
    for i in 1..x.len() {
        let before = chord(i - 1);
        let after = if i + 1 < x.len() { chord(i) } else { before };
        // A flatter chord is taken at nine tenths of its slope: so much is left of it when points
        // have been added at both its ends. A clash needs it to be below 0.38 of the bound.
        let clash = 3.0 * before.max(after) - 2.0 * steepest > 2.7 * before.min(after);
        // Close to the knot the new chord has half the bound for a slope, which suits any
        // neighbour.
        let turn = |flat: f64, length: f64| 0.1 * flat / steepest * length;
        let at_before = before < after;
        let length = if at_before || i + 1 == x.len() { x[i] - x[i - 1] } else { x[i + 1] - x[i] };
        let u = turn(before.min(after), length);
        // Points so close that rounding would merge them stay as they are.
        let clash = clash && u > 1e-12 * x[i].abs();
        if clash && at_before {
            xs.push(x[i] - u);
            ys.push(y[i] - 0.5 * steepest * u);
        }
        xs.push(x[i]);
        ys.push(y[i]);
        if clash && !at_before {
            xs.push(x[i] + u);
            ys.push(y[i] + 0.5 * steepest * u);
        }
    }
    (xs, ys)
}
