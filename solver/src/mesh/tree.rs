//! A tree of boxes, for the nearest, the smallest and the containing thing.

use crate::geometry::Bounds;
use crate::point::Point;

/// Boxes in a binary tree, each with a weight.
#[derive(Clone, Debug)]
pub(crate) struct Tree {
    nodes: Vec<Node>,
    order: Vec<u32>,
}

#[derive(Clone, Debug)]
struct Node {
    bounds: Bounds,
    /// Least weight below.
    weight: f64,
    /// Leaf: first entry of `order`. Inner node: its second child; the first one follows it.
    link: u32,
    /// Number of entries of a leaf, zero for inner nodes.
    count: u32,
}

const LEAF: usize = 4;

impl Tree {
    /// A tree over boxes and their weights, which have the same length.
    pub fn new(boxes: &[Bounds], weights: &[f64]) -> Self {
        let mut tree = Self { nodes: Vec::new(), order: (0..boxes.len() as u32).collect() };
        if !boxes.is_empty() {
            let mut order = std::mem::take(&mut tree.order);
            tree.build(boxes, weights, &mut order, 0);
            tree.order = order;
        }
        tree
    }

    fn build(&mut self, boxes: &[Bounds], weights: &[f64], order: &mut [u32], first: usize) {
        let bounds = order.iter().fold(Bounds::EMPTY, |b, &i| b.union(boxes[i as usize]));
        let weight = order.iter().fold(f64::INFINITY, |w, &i| w.min(weights[i as usize]));
        let here = self.nodes.len();
        let leaf = order.len() <= LEAF;
        let count = if leaf { order.len() as u32 } else { 0 };
        self.nodes.push(Node { bounds, weight, link: first as u32, count });
        if leaf {
            return;
        }
        let size = bounds.size();
        let key = |i: u32| {
            let c = boxes[i as usize].centre();
            if size.x >= size.y { c.x } else { c.y }
        };
        let half = order.len() / 2;
        order.select_nth_unstable_by(half, |&i, &j| key(i).total_cmp(&key(j)).then(i.cmp(&j)));
        let (low, high) = order.split_at_mut(half);
        self.build(boxes, weights, low, first);
        self.nodes[here].link = self.nodes.len() as u32;
        self.build(boxes, weights, high, first + half);
    }

    /// The least value `leaf` gives for any entry, looking only where `bound` of a box and the
    /// least weight in it promises less than the best so far; starts from `best`.
    pub fn least(
        &self,
        mut best: f64,
        bound: impl Fn(&Bounds, f64) -> f64,
        mut leaf: impl FnMut(u32) -> f64,
    ) -> f64 {
        if self.nodes.is_empty() {
            return best;
        }
        // Depth is at most 1 + log2(entries): entries are u32, so 40 is ample.
        let mut stack = [(0u32, f64::NEG_INFINITY); 80];
        let mut height = 1;
        while height > 0 {
            height -= 1;
            let (n, promise) = stack[height];
            if promise >= best {
                continue;
            }
            let node = &self.nodes[n as usize];
            if node.count > 0 {
                let first = node.link as usize;
                for &i in &self.order[first..first + node.count as usize] {
                    best = best.min(leaf(i));
                }
                continue;
            }
            let child = |c: u32| {
                let node = &self.nodes[c as usize];
                (c, bound(&node.bounds, node.weight))
            };
            let (a, b) = (child(n + 1), child(node.link));
            // The more promising child is looked at first.
            let (near, far) = if a.1 <= b.1 { (a, b) } else { (b, a) };
            stack[height] = far;
            stack[height + 1] = near;
            height += 2;
        }
        best
    }

    /// Calls `visit` with every entry whose box may hold `p`.
    pub fn holding(&self, p: Point, mut visit: impl FnMut(u32)) {
        let mut stack = [0u32; 80];
        let mut height = usize::from(!self.nodes.is_empty());
        while height > 0 {
            height -= 1;
            let n = stack[height];
            let node = &self.nodes[n as usize];
            if !node.bounds.holds(p) {
                continue;
            }
            if node.count > 0 {
                let first = node.link as usize;
                self.order[first..first + node.count as usize].iter().for_each(|&i| visit(i));
            } else {
                stack[height] = node.link;
                stack[height + 1] = n + 1;
                height += 2;
            }
        }
    }
}
