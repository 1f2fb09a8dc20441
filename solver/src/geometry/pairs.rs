//! Pairs of boxes that meet, found by a sweep from left to right.

use super::piece::Bounds;

/// Calls `visit` with the indices of every pair of boxes that share a point, each pair once, in an
/// order that depends only on the boxes.
pub(crate) fn meeting_pairs(boxes: &[Bounds], mut visit: impl FnMut(usize, usize)) {
    meeting_pairs_until(boxes, |i, j| {
        visit(i, j);
        true
    });
}

/// As [`meeting_pairs`], until `visit` says false.
pub(crate) fn meeting_pairs_until(boxes: &[Bounds], mut visit: impl FnMut(usize, usize) -> bool) {
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|&i, &j| boxes[i].low.x.total_cmp(&boxes[j].low.x).then(i.cmp(&j)));
    let mut open: Vec<usize> = Vec::new();
    for &i in &order {
        open.retain(|&j| boxes[j].high.x >= boxes[i].low.x);
        for &j in &open {
            if boxes[i].meets(&boxes[j]) && !visit(j, i) {
                return;
            }
        }
        open.push(i);
    }
}
