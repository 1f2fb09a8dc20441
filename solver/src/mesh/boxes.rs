//! A tree of boxes: finds, among many shapes, those near a place without looking at all of them.

use crate::point::Point;

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aabb {
    /// Lower left, m.
    pub low: Point,
    /// Upper right, m.
    pub high: Point,
}

impl Aabb {
    /// The box about some points.
    pub fn about(points: impl IntoIterator<Item = Point>) -> Self {
        let mut b = Self {
            low: Point::new(f64::INFINITY, f64::INFINITY),
            high: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        };
        for p in points {
            b.low = Point::new(b.low.x.min(p.x), b.low.y.min(p.y));
            b.high = Point::new(b.high.x.max(p.x), b.high.y.max(p.y));
        }
        b
    }

    /// Distance from the box, 0 inside.
    pub fn distance(&self, p: Point) -> f64 {
        let dx = (self.low.x - p.x).max(p.x - self.high.x).max(0.0);
        let dy = (self.low.y - p.y).max(p.y - self.high.y).max(0.0);
        dx.hypot(dy)
    }

    fn join(&self, o: &Self) -> Self {
        Self::about([self.low, self.high, o.low, o.high])
    }
}

/// The tree. Each node knows its box and the least of a value over the shapes below it.
#[derive(Clone, Debug)]
pub struct BoxTree {
    nodes: Vec<Node>,
    order: Vec<u32>,
}

#[derive(Clone, Debug)]
struct Node {
    bounds: Aabb,
    least: f64,
    /// Leaves: shapes `order[first..last]`. Others: children are `first` and `last`.
    first: u32,
    last: u32,
    leaf: bool,
}

const LEAF: usize = 4;

impl BoxTree {
    /// A tree over shapes with these boxes and values.
    pub fn new(boxes: &[Aabb], values: &[f64]) -> Self {
        let mut tree = Self { nodes: Vec::new(), order: (0..boxes.len() as u32).collect() };
        if !boxes.is_empty() {
            tree.build(boxes, values, 0, boxes.len());
        }
        tree
    }

    fn build(&mut self, boxes: &[Aabb], values: &[f64], first: usize, last: usize) -> u32 {
        let own = &self.order[first..last];
        let mut bounds = boxes[own[0] as usize];
        let mut least = values[own[0] as usize];
        for &i in own {
            bounds = bounds.join(&boxes[i as usize]);
            least = least.min(values[i as usize]);
        }
        let id = self.nodes.len() as u32;
        let leaf = last - first <= LEAF;
        self.nodes.push(Node { bounds, least, first: first as u32, last: last as u32, leaf });
        if !leaf {
            let wide = bounds.high.x - bounds.low.x > bounds.high.y - bounds.low.y;
            let centre = |i: u32| {
                let b = &boxes[i as usize];
                if wide { b.low.x + b.high.x } else { b.low.y + b.high.y }
            };
            let middle = (first + last) / 2;
            self.order[first..last].select_nth_unstable_by(middle - first, |&a, &b| {
                centre(a).total_cmp(&centre(b)).then(a.cmp(&b))
            });
            let left = self.build(boxes, values, first, middle);
            let right = self.build(boxes, values, middle, last);
            let node = &mut self.nodes[id as usize];
            (node.first, node.last) = (left, right);
        }
        id
    }

    /// The least of `cost(shape)` over all shapes, given that a shape in a box costs at least
    /// `bound(least value below, distance to the box)`; starts from `best`.
    pub fn least(
        &self,
        p: Point,
        mut best: f64,
        bound: impl Fn(f64, f64) -> f64,
        mut cost: impl FnMut(usize) -> f64,
    ) -> f64 {
        if self.nodes.is_empty() {
            return best;
        }
        let below = |node: &Node| bound(node.least, node.bounds.distance(p));
        // Depth is the logarithm of the number of shapes, far below the size of this stack.
        let mut stack = [(0u32, 0.0f64); 64];
        stack[0] = (0, below(&self.nodes[0]));
        let mut height = 1;
        while height > 0 {
            height -= 1;
            let (id, low) = stack[height];
            if low >= best {
                continue;
            }
            let node = &self.nodes[id as usize];
            if node.leaf {
                for &shape in &self.order[node.first as usize..node.last as usize] {
                    best = best.min(cost(shape as usize));
                }
                continue;
            }
            let (a, b) = (node.first, node.last);
            let (low_a, low_b) = (below(&self.nodes[a as usize]), below(&self.nodes[b as usize]));
            let pair =
                if low_a < low_b { [(b, low_b), (a, low_a)] } else { [(a, low_a), (b, low_b)] };
            for entry in pair {
                stack[height] = entry;
                height += 1;
            }
        }
        best
    }

    /// Visits the shapes whose boxes come within `margin` of `p`, in a fixed order.
    pub fn near(&self, p: Point, margin: f64, mut visit: impl FnMut(usize)) {
        let mut stack = Vec::with_capacity(32);
        if !self.nodes.is_empty() {
            stack.push(0u32);
        }
        while let Some(id) = stack.pop() {
            let node = &self.nodes[id as usize];
            if node.bounds.distance(p) > margin {
                continue;
            }
            if node.leaf {
                for &shape in &self.order[node.first as usize..node.last as usize] {
                    visit(shape as usize);
                }
            } else {
                stack.push(node.last);
                stack.push(node.first);
            }
        }
    }
}
