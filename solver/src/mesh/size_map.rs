//! Sizes that a solved mesh asks of the next one.
//!
//! In: places and the size wanted at each, m. Out: the size wanted anywhere, the least over all places of
//! the size there plus a growth with the distance, within bounds of the sizes that the parts themselves ask
//! for ([`super::size`]): from `LEAST` to [`SizeMap::most`] times those. So the mesh is never so coarse that
//! it loses the shape of a part, nor so fine that one place takes all the memory. The factor on all sizes
//! (`mesh_scale`) comes on top.

use super::canonical::mirror;
use super::tree::Tree;
use crate::geometry::Bounds;
use crate::point::Point;

/// Sizes wanted at places.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeMap {
    /// Places, m, and the size wanted at each, m.
    pub wanted: Vec<(Point, f64)>,
    /// The largest size, as a share of what the parts ask for.
    pub most: f64,
}

/// The least size, as a share of what the parts ask for.
const LEAST: f64 = 1.0 / 32.0;

/// Ready to be asked, in plan units.
#[derive(Clone, Debug)]
pub(crate) struct Mapped {
    wanted: Vec<(Point, f64)>,
    most: f64,
    tree: Tree,
}

impl SizeMap {
    /// In a plan: places through `place`, lengths over `unit`, about x = 0 turned over where `flipped`, on
    /// both sides of it where `both`.
    pub(crate) fn in_plan(
        &self,
        place: impl Fn(Point) -> Point,
        unit: f64,
        flipped: bool,
        both: bool,
    ) -> Mapped {
        let mut wanted: Vec<(Point, f64)> = self
            .wanted
            .iter()
            .map(|&(p, size)| {
                let p = place(p);
                (if flipped { mirror(p) } else { p }, size / unit)
            })
            .collect();
        if both {
            let images: Vec<_> = wanted.iter().map(|&(p, size)| (mirror(p), size)).collect();
            wanted.extend(images);
        }
        // The tree is the same for every order in which the places may be given.
        wanted.sort_by(|(p, s), (q, t)| {
            p.y.total_cmp(&q.y).then(p.x.total_cmp(&q.x)).then(s.total_cmp(t))
        });
        let boxes: Vec<Bounds> = wanted.iter().map(|(p, _)| Bounds::EMPTY.with(*p)).collect();
        let sizes: Vec<f64> = wanted.iter().map(|(_, size)| *size).collect();
        Mapped { tree: Tree::new(&boxes, &sizes), wanted, most: self.most }
    }
}

impl Mapped {
    /// The size wanted at `p` where the parts ask for `own`, growing by `growth` per distance from a place.
    pub fn at(&self, p: Point, own: f64, growth: f64) -> f64 {
        let h = self.tree.least(
            self.most * own,
            |bounds, size| size + growth * bounds.distance(p),
            |i| {
                let (place, size) = self.wanted[i as usize];
                size + growth * place.distance(p)
            },
        );
        h.max(LEAST * own)
    }
}
