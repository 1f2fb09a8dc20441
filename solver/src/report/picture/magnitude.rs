//! A quantity of the field as areas of like size, region by region.
//!
//! Flux density at the nodes is that of [`super::smooth`]: the same seen from all triangles of one
//! material, free to jump at its border, as |B| does. It is interpolated by the shape functions,
//! and areas above a value are outlined on a subdivision ([`super::refined`], [`super::level`]).

use crate::field::{Field, element};
use crate::geometry::RegionId;
use crate::report::picture::flux_lines::{parts_per_side, triangles_in};
use crate::report::picture::level::{Line, areas};
use crate::report::picture::refined::refine;
use crate::report::picture::smooth::Smooth;
use crate::report::picture::view::Window;

/// Flux density at the nodes of one material.
#[derive(Clone, Debug)]
pub(super) struct OfGroup {
    /// Its lowest region.
    pub group: RegionId,
    /// Its triangles in the window.
    pub triangles: Vec<u32>,
    /// Flux density at every node of the mesh, T; 0 where the group has no triangle.
    pub x: Vec<f64>,
    /// As `x`, the other component.
    pub y: Vec<f64>,
}

impl OfGroup {
    /// Reads the flux density of all regions of one group in `window` (m). `None` where it is out
    /// of sight.
    pub(super) fn new(
        field: &Field,
        smooth: &Smooth<'_>,
        group: RegionId,
        window: Window,
    ) -> Option<Self> {
        let mesh = field.mesh();
        let triangles =
            triangles_in(mesh, window, |t| smooth.group_of(mesh.region_of[t as usize]) == group);
        if triangles.is_empty() {
            return None;
        }
        let (mut x, mut y) = (vec![0.0; mesh.nodes.len()], vec![0.0; mesh.nodes.len()]);
        for &t in &triangles {
            let b = smooth.flux_density(t);
            for (&node, b) in mesh.triangles[t as usize].iter().zip(b) {
                (x[node as usize], y[node as usize]) = (b[0], b[1]);
            }
        }
        Some(Self { group, triangles, x, y })
    }

    /// Sizes of the flux density at the nodes that lie in `window`, T, each with the area (m2) its
    /// triangles have for it.
    pub(super) fn sizes(&self, field: &Field, window: Window) -> Vec<(f64, f64)> {
        let mesh = field.mesh();
        let mut sizes = Vec::new();
        for &t in &self.triangles {
            let corners = element::corners(mesh, t as usize);
            let area = 0.5 * (corners[1] - corners[0]).cross(corners[2] - corners[0]);
            for (&node, place) in mesh.triangles[t as usize].iter().zip(corners) {
                if window.holds(place) {
                    sizes.push((self.x[node as usize].hypot(self.y[node as usize]), area / 6.0));
                }
            }
        }
        sizes
    }

    /// Outlines of where `value` of |B| is at least each level (rising), true to about a `pixel`
    /// (m).
    pub(super) fn areas(
        &self,
        field: &Field,
        levels: &[f64],
        pixel: f64,
        value: impl Fn(f64) -> f64,
    ) -> Vec<Vec<Line>> {
        let mesh = field.mesh();
        let n = parts_per_side(mesh, &self.triangles, 6.0 * pixel);
        let refined = refine(mesh, &self.triangles, n, |at| {
            value(at.interpolate(&self.x).hypot(at.interpolate(&self.y)))
        });
        areas(&refined, levels)
    }
}
