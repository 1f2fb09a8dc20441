//! Which outlines cover either side of each edge, and what follows: the region on each side, the
//! areas of regions, the areas in which outlines overlap.
//!
//! All from the graph alone: an outline that owns an edge covers the side to the left of its own
//! sense; any other outline covers both sides or none, told by the edge's middle. Areas are sums
//! of 1/2 (x dy - y dx) over edges, arcs exact. Lengths in metres.

use std::collections::BTreeMap;

use super::arrangement::Graph;
use super::crowd::MOST_COVERED;
use super::model::{Outline, RegionId};
use super::piece::Bounds;
use crate::point::Point;

/// Outlines that cover the left and the right side of an edge, ascending.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cover {
    pub left: Vec<u32>,
    pub right: Vec<u32>,
}

/// The cover of every edge; `None` where outlines lie over each other too deep ([`MOST_COVERED`]).
pub(crate) fn covers(graph: &Graph, outlines: &[&Outline]) -> Option<Vec<Cover>> {
    let boxes: Vec<Bounds> = outlines.iter().map(|o| o.bounds()).collect();
    let mut left = MOST_COVERED;
    (0..graph.edges.len())
        .map(|e| {
            let middle = graph.piece(e).middle();
            let owners = &graph.edges[e].owners;
            let mut cover = Cover::default();
            for (k, outline) in outlines.iter().enumerate() {
                let k = k as u32;
                let owns = |forward: bool| owners.contains(&(k, forward));
                let (ahead, back) = (owns(true), owns(false));
                let around =
                    !ahead && !back && boxes[k as usize].holds(middle) && outline.contains(middle);
                if ahead || around {
                    cover.left.push(k);
                }
                if back || around {
                    cover.right.push(k);
                }
            }
            let pairs = cover.left.len().pow(2) / 2;
            left = left.checked_sub(pairs)?;
            Some(cover)
        })
        .collect()
}

/// Area of the part of the plane where `choose` picks the same key, for every key, m2.
pub(crate) fn areas<K: Ord + Copy>(
    graph: &Graph,
    covers: &[Cover],
    origin: Point,
    mut choose: impl FnMut(&[u32], &mut dyn FnMut(K)),
) -> BTreeMap<K, f64> {
    let mut sums = BTreeMap::new();
    for (e, cover) in covers.iter().enumerate() {
        let part = graph.piece(e).area_integral(origin);
        choose(&cover.left, &mut |k| *sums.entry(k).or_insert(0.0) += part);
        choose(&cover.right, &mut |k| *sums.entry(k).or_insert(0.0) -= part);
    }
    sums
}

/// Area in which each pair of outlines overlaps, m2, for pairs (i, j), i < j < `n`.
pub(crate) fn overlaps(
    graph: &Graph,
    covers: &[Cover],
    origin: Point,
    n: u32,
) -> BTreeMap<(u32, u32), f64> {
    areas(graph, covers, origin, |set, add| {
        for (k, &i) in set.iter().enumerate().filter(|(_, i)| **i < n) {
            for &j in set[k + 1..].iter().filter(|j| **j < n) {
                add((i, j));
            }
        }
    })
}

/// The member of `set` that no other member displaces, the first where there are several (they
/// overlap without leave, which is reported elsewhere).
pub(crate) fn on_top(set: &[RegionId], displaced_by: &[Vec<RegionId>]) -> Option<RegionId> {
    set.iter()
        .copied()
        .find(|&r| !displaced_by[r as usize].iter().any(|d| set.contains(d)))
        .or_else(|| set.first().copied())
}
