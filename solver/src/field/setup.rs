//! What is to be solved on a mesh: a body for every region, and what acts from outside.

use std::fmt;
use std::sync::Arc;

use crate::field::element::N_POINTS;
use crate::geometry::RegionId;
use crate::material::Law;
use crate::point::Point;
use crate::section::Symmetry;

/// What fills a region.
#[derive(Clone, Debug)]
pub struct Body {
    /// Its magnetic law.
    pub law: Law,
    /// Unit vector of the charge of a magnet, in (x, y) or (r, z) components.
    pub axis: [f64; 2],
    /// Steady current density, A/m2, positive out of the page or in the sense of phi.
    pub current_density: f64,
}

impl Body {
    /// Air, or anything else that the field does not see.
    pub fn air() -> Self {
        Self { law: Law::Linear { mu_r: 1.0 }, axis: [0.0, 1.0], current_density: 0.0 }
    }
}

/// A current density that depends on place, A/m2.
pub type CurrentDensity = Arc<dyn Fn(RegionId, Point) -> f64 + Send + Sync>;

/// A prescribed unknown on the outer boundary (A_z in Wb/m, or A_phi / r in T).
pub type BoundaryValue = Arc<dyn Fn(Point) -> f64 + Send + Sync>;

/// Everything a solve needs besides the mesh.
#[derive(Clone)]
pub struct Setup {
    /// What fills each region, `[n_regions]`.
    pub bodies: Arc<Vec<Body>>,
    /// Uniform flux density laid on from far away, T: (x, y), or (0, z).
    pub applied_field: [f64; 2],
    /// The lowest field strength every magnet element has seen.
    pub memory: Option<Arc<MagnetMemory>>,
    /// A current density added to the bodies' own.
    pub current: Option<CurrentDensity>,
    /// A boundary value used instead of that of the applied field.
    pub boundary: Option<BoundaryValue>,
}

impl Setup {
    /// Bodies alone, nothing from outside.
    pub fn new(bodies: Vec<Body>) -> Self {
        Self {
            bodies: Arc::new(bodies),
            applied_field: [0.0; 2],
            memory: None,
            current: None,
            boundary: None,
        }
    }

    /// The prescribed unknown at an outer node: A_z = B_x y - B_y x, or v = B_z / 2.
    pub fn boundary_value(&self, symmetry: Symmetry, place: Point) -> f64 {
        if let Some(value) = &self.boundary {
            return value(place);
        }
        let [bx, by] = self.applied_field;
        match symmetry {
            Symmetry::Planar => bx * place.y - by * place.x,
            Symmetry::Axisymmetric => by / 2.0,
        }
    }
}

impl fmt::Debug for Setup {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Setup")
            .field("bodies", &self.bodies.len())
            .field("applied_field", &self.applied_field)
            .finish_non_exhaustive()
    }
}

/// The lowest field strength along the charge that each quadrature point of a magnet has seen,
/// A/m; infinite where it has seen none. `[n_triangles][N_POINTS]`.
#[derive(Clone, Debug, PartialEq)]
pub struct MagnetMemory {
    /// See the type.
    pub lowest: Vec<[f64; N_POINTS]>,
}

impl MagnetMemory {
    /// The lower of both at every point.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        let lower =
            |(a, b): (&[f64; N_POINTS], &[f64; N_POINTS])| std::array::from_fn(|q| a[q].min(b[q]));
        Self { lowest: self.lowest.iter().zip(&other.lowest).map(lower).collect() }
    }

    /// Lowest field strength at quadrature point `q` of triangle `t`, if any.
    pub fn at(&self, t: usize, q: usize) -> Option<f64> {
        let h = self.lowest[t][q];
        h.is_finite().then_some(h)
    }
}
