//! The field of one pole, averaged over its neighbour.
//!
//! In: the nodal unknowns of an axisymmetric field and how far away and how much higher the neighbour
//! stands. Out: the mean of B_z over the volume of the neighbour's magnets and steel, T.

use std::f64::consts::PI;

use crate::field::{Field, element};
use crate::geometry::Source;
use crate::material::Law;
use crate::mesh::Locator;
use crate::point::Point;
use crate::strings::gauss::gauss_legendre;

/// Nodes up a part, across its radius, and round half of it. The neighbour's field changes over the
/// distance to it, twice the pole's radius or more.
const UP: usize = 16;
const ACROSS: usize = 3;
const ROUND: usize = 6;

/// Places all over a pole with their share of its volume: distance along the row, across it, height.
#[derive(Clone, Debug)]
pub(super) struct PoleMean {
    nodes: Vec<([f64; 3], f64)>,
}

impl PoleMean {
    /// Over the parts of `field` that answer a field.
    pub(super) fn new(field: &Field) -> Self {
        let mut nodes = Vec::new();
        let (t, w) = gauss_legendre(UP);
        let (s, v) = gauss_legendre(ACROSS);
        for (region, body) in field.mesh().regions.iter().zip(field.setup().bodies.iter()) {
            let idle = matches!(body.law, Law::Linear { mu_r } if mu_r == 1.0);
            let (Source::Part(_), false, Some(outline)) = (region.source, idle, &region.outline)
            else {
                continue;
            };
            let (low, high) = outline.bounding_box();
            let inner = low.x.max(0.0);
            for (t, w) in t.iter().zip(&w) {
                let z = 0.5 * (low.y + high.y) + 0.5 * (high.y - low.y) * t;
                for (s, v) in s.iter().zip(&v) {
                    let r = 0.5 * (inner + high.x) + 0.5 * (high.x - inner) * s;
                    let weight = w * v * r * (high.y - low.y) * (high.x - inner);
                    for i in 0..ROUND {
                        let angle = PI * (i as f64 + 0.5) / ROUND as f64;
                        nodes.push(([r * angle.cos(), r * angle.sin(), z], weight));
                    }
                }
            }
        }
        let sum: f64 = nodes.iter().map(|n| n.1).sum();
        nodes.iter_mut().for_each(|n| n.1 /= sum);
        Self { nodes }
    }

    /// Mean of B_z of `nodal` over a pole that stands `away` beside the axis and `higher` above, T.
    pub(super) fn of(
        &self,
        field: &Field,
        locator: &Locator,
        nodal: &[f64],
        away: f64,
        higher: f64,
    ) -> f64 {
        let mesh = field.mesh();
        let at = |p: &[f64; 3]| {
            let place = Point::new((p[0] + away).hypot(p[1]), p[2] + higher);
            locator.locate(place).map_or(0.0, |(t, [xi, eta])| {
                let at = element::evaluate(&element::corners(mesh, t), xi, eta);
                let u = mesh.triangles[t].map(|node| nodal[node as usize]);
                element::flux_density(&at.flux_density_basis(mesh.symmetry), &u)[1]
            })
        };
        self.nodes.iter().map(|(p, weight)| weight * at(p)).sum()
    }
}
