//! One form for a plan and its mirror image, and for every order in which its parts may be given:
//! vertices by place, edges by their ends, and of the two hands the one that sorts first.

use super::plan::Plan;
use crate::geometry::{Edge, FineLine, Outline, Side};
use crate::point::Point;
use crate::section::Symmetry;

/// The plan in canonical form, and whether it was mirrored for that.
pub(crate) fn canonical(plan: Plan) -> (Plan, bool) {
    if plan.symmetry == Symmetry::Axisymmetric {
        return (sorted(plan), false);
    }
    let flipped = sorted(mirrored(&plan));
    let plan = sorted(plan);
    if comes_first(&flipped, &plan) { (flipped, true) } else { (plan, false) }
}

/// The mirror image about x = 0.
fn mirrored(plan: &Plan) -> Plan {
    let mut image = plan.clone();
    image.vertices.iter_mut().for_each(|v| *v = mirror(*v));
    image.edges.iter_mut().for_each(|e| {
        *e = Edge { ends: e.ends, side: mirrored_side(e.side), left: e.right, right: e.left };
    });
    image.fine_lines.iter_mut().for_each(|l| *l = mirrored_line(l));
    for region in &mut image.regions {
        region.outline = region.outline.as_ref().map(|o| {
            // Counter-clockwise again: corners backwards, each with the side that led to it.
            let n = o.corners.len();
            Outline {
                corners: (0..n).map(|k| mirror(o.corners[n - 1 - k])).collect(),
                sides: (0..n)
                    .map(|k| reversed(mirrored_side(o.sides[(2 * n - 2 - k) % n])))
                    .collect(),
            }
        });
    }
    image
}

pub(crate) fn mirror(p: Point) -> Point {
    // Not -x, which would make -0 of 0.
    Point::new(0.0 - p.x, p.y)
}

pub(crate) fn mirrored_line(line: &FineLine) -> FineLine {
    FineLine { from: mirror(line.from), to: mirror(line.to), size: line.size }
}

fn mirrored_side(side: Side) -> Side {
    match side {
        Side::Straight => Side::Straight,
        Side::Arc { centre, counter_clockwise } => {
            Side::Arc { centre: mirror(centre), counter_clockwise: !counter_clockwise }
        }
    }
}

fn reversed(side: Side) -> Side {
    match side {
        Side::Straight => Side::Straight,
        Side::Arc { centre, counter_clockwise } => {
            Side::Arc { centre, counter_clockwise: !counter_clockwise }
        }
    }
}

/// Vertices sorted by height, then from left to right; edges from their lower vertex, sorted.
fn sorted(mut plan: Plan) -> Plan {
    let mut order: Vec<u32> = (0..plan.vertices.len() as u32).collect();
    let place = |v: u32| plan.vertices[v as usize];
    order.sort_by(|&u, &v| {
        place(u).y.total_cmp(&place(v).y).then(place(u).x.total_cmp(&place(v).x))
    });
    let mut rank = vec![0u32; order.len()];
    for (new, &old) in order.iter().enumerate() {
        rank[old as usize] = new as u32;
    }
    plan.vertices = order.iter().map(|&v| place(v)).collect();
    for e in &mut plan.edges {
        let [a, b] = e.ends.map(|v| rank[v as usize]);
        *e = if a < b {
            Edge { ends: [a, b], ..*e }
        } else {
            Edge { ends: [b, a], side: reversed(e.side), left: e.right, right: e.left }
        };
    }
    let middles: Vec<Point> = (0..plan.edges.len()).map(|e| plan.piece(e).middle()).collect();
    let mut order: Vec<usize> = (0..plan.edges.len()).collect();
    order.sort_by(|&i, &j| {
        let (e, f) = (&plan.edges[i], &plan.edges[j]);
        e.ends.cmp(&f.ends).then(middles[i].x.total_cmp(&middles[j].x))
    });
    plan.edges = order.into_iter().map(|e| plan.edges[e]).collect();
    plan
}

/// Whether `a` sorts before `b`: by vertices, then by edges and what lies beside them.
fn comes_first(a: &Plan, b: &Plan) -> bool {
    let vertices = |p: &Plan| -> Vec<f64> { p.vertices.iter().flat_map(|v| [v.y, v.x]).collect() };
    let edges = |p: &Plan| -> Vec<f64> {
        (0..p.edges.len())
            .flat_map(|e| {
                let middle = p.piece(e).middle();
                let kind = |r| f64::from(u8::from(p.is_solid(r)));
                let edge = &p.edges[e];
                [middle.y, middle.x, kind(edge.left), kind(edge.right)]
            })
            .collect()
    };
    let before =
        |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x.total_cmp(y)).find(|o| o.is_ne());
    // -0.0 and 0.0 are the same place.
    let plain = |v: Vec<f64>| -> Vec<f64> { v.into_iter().map(|x| x + 0.0).collect() };
    before(&plain(vertices(a)), &plain(vertices(b)))
        .or_else(|| before(&plain(edges(a)), &plain(edges(b))))
        .is_some_and(|o| o.is_lt())
}
