//! The wanted triangle size at every place: the least, over all sources, of the size at the source
//! plus a growth with the distance from it.
//!
//! h(x) = scale * min_i ( s_i + grow(|x - source_i|) ), grow' = 0.3 near the sources, 0.2 at the
//! distance of the other parts and 0.4 far out. Fast growth next to a corner or a string costs no
//! accuracy, for the field there is resolved by the source's own size; slow growth between and
//! around the parts does most for linkages (0.45 instead of 0.2 made the change of a coil's
//! linkage with a string ten times as wrong); far out little field is left.
//! Lengths in plan units. Which sources there are: `sources.rs`.

use super::plan::Plan;
use super::size_map::Mapped;
use super::sources::{Place, Wanted, wanted};
use super::tree::Tree;
use crate::geometry::Bounds;
use crate::point::Point;
use crate::section::Symmetry;

/// The size field of a plan.
pub(crate) struct SizeField<'a> {
    plan: &'a Plan,
    sources: Vec<Wanted>,
    tree: Tree,
    near_growth: f64,
    scale: f64,
    mapped: Option<Mapped>,
    mapped_growth: f64,
}

/// Growth of the size per distance next to the sources of a planar section. Axisymmetric sections
/// have no strings to mesh, so that they can afford to grow more slowly everywhere.
const NEAR_GROWTH: f64 = 0.3;

/// Growth around what an earlier solve asks for: below that of the mesh that asks, whose own sizes grow twice as
/// fast as these. About an axis more slowly still: with 0.5 a rod took a mesh too many, each hardly finer.
const MAPPED_GROWTH: f64 = 0.25;
const PLANAR_MAPPED_GROWTH: f64 = 0.5;

/// Growth between and around the parts.
const GROWTH: f64 = 0.2;

/// Growth far out.
const FAR_GROWTH: f64 = 0.4;

/// Where the first growth ends and the last begins, in radii of the section.
const NEAR_AND_FAR: (f64, f64) = (0.2, 2.0);

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
        let (near_growth, mapped_growth) = match plan.symmetry {
            Symmetry::Planar => (NEAR_GROWTH, PLANAR_MAPPED_GROWTH),
            Symmetry::Axisymmetric => (GROWTH, MAPPED_GROWTH),
        };
        Self {
            plan,
            sources,
            tree,
            near_growth,
            scale: plan.mesh_scale,
            mapped: None,
            mapped_growth,
        }
    }

    /// With sizes that an earlier solve asks for.
    #[must_use]
    pub fn with(self, mapped: Option<Mapped>) -> Self {
        Self { mapped, ..self }
    }

    /// Wanted size at `p`.
    pub fn at(&self, p: Point) -> f64 {
        let (near, far) = NEAR_AND_FAR;
        let (near, far) = (near * self.plan.inner_radius, far * self.plan.inner_radius);
        let grow = |d: f64| {
            self.near_growth * d.min(near)
                + GROWTH * (d.min(far) - near).max(0.0)
                + FAR_GROWTH * (d - far).max(0.0)
        };
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
        self.scale * self.mapped.as_ref().map_or(h, |mapped| mapped.at(p, h, self.mapped_growth))
    }
}

fn distance_to_line(p: Point, a: Point, b: Point) -> f64 {
    let (d, q) = (b - a, p - a);
    let n = d.dot(d);
    let t = if n > 0.0 { (q.dot(d) / n).clamp(0.0, 1.0) } else { 0.0 };
    let r = q - d * t;
    r.dot(r).sqrt()
}
