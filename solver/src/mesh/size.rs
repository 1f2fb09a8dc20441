//! The wanted triangle size at every place: the least, over all sources, of the size at the source
//! plus a growth with the distance from it.
//!
//! h(x) = scale * min_i ( s_i + grow(|x - source_i|) ), grow' = 0.28 near the sources and 0.35 far
//! out, so that neighbouring triangles differ little in size and the far field costs little.
//! Lengths in plan units. Which sources there are: `sources.rs`.

use super::plan::Plan;
use super::sources::{Place, Wanted, wanted};
use super::tree::Tree;
use crate::geometry::Bounds;
use crate::point::Point;

/// The size field of a plan.
pub(crate) struct SizeField<'a> {
    plan: &'a Plan,
    sources: Vec<Wanted>,
    tree: Tree,
    /// Distance up to which sizes grow slowly.
    near: f64,
    scale: f64,
}

/// Growth of the size per distance near the sources.
const NEAR_GROWTH: f64 = 0.28;

/// Growth beyond half the section's radius, where the field is a few multipoles.
const FAR_GROWTH: f64 = 0.35;

impl<'a> SizeField<'a> {
    pub fn new(plan: &'a Plan) -> Self {
        let sources = wanted(plan);
        let boxes: Vec<Bounds> = sources
            .iter()
            .map(|s| match s.place {
                Place::Line(a, b) => Bounds::EMPTY.with(a).with(b),
                Place::Inside(r) => {
                    plan.regions[r as usize].outline.as_ref().map_or(Bounds::EMPTY, |o| o.bounds())
                }
            })
            .collect();
        let sizes: Vec<f64> = sources.iter().map(|s| s.size).collect();
        let tree = Tree::new(&boxes, &sizes);
        Self { plan, sources, tree, near: 0.5 * plan.inner_radius, scale: plan.mesh_scale }
    }

    /// Wanted size at `p`.
    pub fn at(&self, p: Point) -> f64 {
        let grow = |d: f64| NEAR_GROWTH * d.min(self.near) + FAR_GROWTH * (d - self.near).max(0.0);
        // Nothing is coarser than the outer boundary is wide.
        let start = self.plan.outer_radius;
        let h = self.tree.least(
            start,
            |bounds, weight| weight + grow(bounds.distance(p)),
            |i| {
                let source = &self.sources[i as usize];
                match source.place {
                    Place::Line(a, b) => source.size + grow(distance_to_line(p, a, b)),
                    Place::Inside(r) => {
                        let outline = self.plan.regions[r as usize].outline.as_ref();
                        if outline.is_some_and(|o| o.contains(p)) {
                            source.size
                        } else {
                            f64::INFINITY
                        }
                    }
                }
            },
        );
        self.scale * h
    }
}

fn distance_to_line(p: Point, a: Point, b: Point) -> f64 {
    let (d, q) = (b - a, p - a);
    let n = d.dot(d);
    let t = if n > 0.0 { (q.dot(d) / n).clamp(0.0, 1.0) } else { 0.0 };
    let r = q - d * t;
    r.dot(r).sqrt()
}
