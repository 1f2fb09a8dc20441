//! A place in the section.

/// A point of the section, in metres.
///
/// Planar sections: `x` to the right, `y` upward (from the magnets towards the strings).
/// Axisymmetric sections: `x` is the radius r >= 0 and `y` the height z along the axis.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Horizontal place (planar) or radius (axisymmetric), m.
    pub x: f64,
    /// Height, m.
    pub y: f64,
}

impl Point {
    /// The point at (`x`, `y`), m.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to `other`, m.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// Length of the vector from the origin, m.
    pub fn norm(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Scalar product with `other`, both taken as vectors, m2.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// z component of the vector product with `other`, m2: positive when `other` points to the
    /// left of `self`.
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
}

impl std::ops::Add for Point {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.x + o.x, self.y + o.y)
    }
}

impl std::ops::Sub for Point {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.x - o.x, self.y - o.y)
    }
}

impl std::ops::Mul<f64> for Point {
    type Output = Self;
    fn mul(self, s: f64) -> Self {
        Self::new(self.x * s, self.y * s)
    }
}
