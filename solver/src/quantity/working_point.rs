//! Where on their demagnetisation curves the magnets work.
//!
//! H and B along the direction of charge at every quadrature point; means are by area (planar) or
//! volume (axisymmetric). The permeance coefficient is -B / (mu_0 H) of the means. The knee is
//! where recoil gives back only nine tenths of the remanence
//! ([`crate::material::DemagnetisationCurve::knee`]); what lies below it has lost charge that does
//! not come back when the load is eased.

use crate::field::element;
use crate::field::{Field, MagnetMemory};
use crate::geometry::RegionId;
use crate::material::Law;
use crate::units::MU_0;

/// The working point of one magnet.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkingPoint {
    /// Mean field strength along the charge, A/m; negative where the magnet is being weakened.
    pub field_strength: f64,
    /// Mean flux density along the charge, T.
    pub flux_density: f64,
    /// The field strength of its most weakened point, A/m.
    pub lowest_field_strength: f64,
    /// Permeance coefficient -B / (mu_0 H) of the means; infinite where H is not negative.
    pub permeance: f64,
    /// The knee (H, B), A/m and T; `None` for a straight line.
    pub knee: Option<(f64, f64)>,
    /// Share of the magnet whose lowest field strength lies beyond the knee, 0 to 1.
    pub share_below_knee: f64,
    /// What recoil to H = 0 would give back on average, as a share of the remanence.
    pub charge_kept: f64,
}

impl WorkingPoint {
    /// Distance of the most weakened point from the knee, A/m; negative beyond it.
    pub fn margin(&self) -> Option<f64> {
        self.knee.map(|(h, _)| self.lowest_field_strength - h)
    }
}

/// Measure and flux density at a quadrature point.
pub type Sample = (f64, [f64; 2]);

/// The working point of the magnet in `region`; `None` where it holds none.
pub fn working_point(field: &Field, region: RegionId) -> Option<WorkingPoint> {
    let (mesh, setup) = (field.mesh(), field.setup());
    let of = |t: usize| -> (usize, Vec<Sample>) {
        let u = field.of_triangle(t);
        let sample = |(at, w): (element::Evaluated, f64)| {
            let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
            (w * at.measure(mesh.symmetry), b)
        };
        (t, element::quadrature(&element::corners(mesh, t)).map(sample).collect())
    };
    let own = (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == region);
    working_point_of(field, region, setup.memory.as_deref(), own.map(of))
}

/// As [`working_point`], from `samples` of the region's triangles, for a magnet that remembers `memory`.
pub fn working_point_of<S: AsRef<[Sample]>>(
    field: &Field,
    region: RegionId,
    memory: Option<&MagnetMemory>,
    samples: impl Iterator<Item = (usize, S)>,
) -> Option<WorkingPoint> {
    let body = field.setup().bodies.get(region as usize)?;
    let Law::Magnet(curve) = &body.law else { return None };
    let knee = curve.knee();
    let (mut measure, mut below, mut kept) = (0.0, 0.0, 0.0);
    let (mut h_sum, mut b_sum, mut lowest) = (0.0, 0.0, f64::INFINITY);
    for (t, samples) in samples {
        for (q, &(m, b)) in samples.as_ref().iter().enumerate() {
            let seen = memory.and_then(|memory| memory.at(t, q));
            let h = body.law.respond_in_field(b, body.axis, seen).h;
            let along = |v: [f64; 2]| v[0] * body.axis[0] + v[1] * body.axis[1];
            let reached = along(h).min(seen.unwrap_or(f64::INFINITY));
            measure += m;
            h_sum += m * along(h);
            b_sum += m * along(b);
            kept += m * curve.apparent_remanence(reached) / curve.remanence();
            lowest = lowest.min(reached);
            if knee.is_some_and(|(h_knee, _)| reached < h_knee) {
                below += m;
            }
        }
    }
    let (h, b) = (h_sum / measure, b_sum / measure);
    Some(WorkingPoint {
        field_strength: h,
        flux_density: b,
        lowest_field_strength: lowest,
        permeance: if h < 0.0 { -b / (MU_0 * h) } else { f64::INFINITY },
        knee,
        share_below_knee: below / measure,
        charge_kept: kept / measure,
    })
}
