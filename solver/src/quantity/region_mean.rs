//! Means and integrals over a region.

use crate::field::Field;
use crate::field::element;
use crate::geometry::RegionId;
use crate::point::Point;

/// What a region holds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RegionMean {
    /// Measure: area in m2 (planar), volume in m3 (axisymmetric).
    pub measure: f64,
    /// Mean flux density over that measure, T.
    pub flux_density: [f64; 2],
    /// Largest magnitude at a quadrature point, T.
    pub largest: f64,
    /// Field energy integral of H . dB, J/m (planar) or J (axisymmetric).
    pub energy: f64,
    /// Lowest and highest node, m.
    pub height: [f64; 2],
    /// Leftmost and rightmost node, m.
    pub width: [f64; 2],
}

impl RegionMean {
    /// Flux upward through the region, averaged over its height: Wb/m (planar) or Wb.
    pub fn upward_flux(&self) -> f64 {
        self.flux_density[1] * self.measure / (self.height[1] - self.height[0])
    }

    /// Of both regions together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let measure = self.measure + other.measure;
        let mean = |k: usize| {
            let sum = self.measure * self.flux_density[k] + other.measure * other.flux_density[k];
            sum / measure
        };
        let both = |a: [f64; 2], b: [f64; 2]| [a[0].min(b[0]), a[1].max(b[1])];
        Self {
            measure,
            flux_density: [mean(0), mean(1)],
            largest: self.largest.max(other.largest),
            energy: self.energy + other.energy,
            height: both(self.height, other.height),
            width: both(self.width, other.width),
        }
    }
}

/// Mean flux density over the measure of one region, T. Over a disc of air it is that in the middle, for the
/// mean of a harmonic function over a disc is its value there (Gauss).
pub fn mean_flux_density(field: &Field, region: RegionId) -> [f64; 2] {
    let mesh = field.mesh();
    let (mut measure, mut sum) = (0.0, [0.0; 2]);
    for t in (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == region) {
        let u = field.of_triangle(t);
        for (at, w) in element::quadrature(&element::corners(mesh, t)) {
            let m = w * at.measure(mesh.symmetry);
            let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
            measure += m;
            sum = [sum[0] + m * b[0], sum[1] + m * b[1]];
        }
    }
    sum.map(|b| b / measure)
}

/// Means over every region, `[n_regions]`.
pub fn region_means(field: &Field) -> Vec<RegionMean> {
    let (mesh, setup) = (field.mesh(), field.setup());
    let infinite = [f64::INFINITY, f64::NEG_INFINITY];
    let mut means = vec![
        RegionMean { height: infinite, width: infinite, ..Default::default() };
        mesh.regions.len()
    ];
    for t in 0..mesh.triangles.len() {
        let region: RegionId = mesh.region_of[t];
        let body = &setup.bodies[region as usize];
        let mean = &mut means[region as usize];
        let corners: [Point; 6] = element::corners(mesh, t);
        for p in corners {
            mean.height = [mean.height[0].min(p.y), mean.height[1].max(p.y)];
            mean.width = [mean.width[0].min(p.x), mean.width[1].max(p.x)];
        }
        let u = field.of_triangle(t);
        for (q, (at, w)) in element::quadrature(&corners).enumerate() {
            let m = w * at.measure(mesh.symmetry);
            let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
            let seen = setup.memory.as_ref().and_then(|memory| memory.at(t, q));
            mean.measure += m;
            mean.flux_density[0] += m * b[0];
            mean.flux_density[1] += m * b[1];
            mean.largest = mean.largest.max(b[0].hypot(b[1]));
            mean.energy += m * body.law.respond(b, body.axis, seen).energy;
        }
    }
    for mean in &mut means {
        if mean.measure > 0.0 {
            mean.flux_density = mean.flux_density.map(|b| b / mean.measure);
        }
    }
    means
}
