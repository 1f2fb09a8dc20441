//! Features too thin to be meshed. Lengths in metres.

use super::Scale;
use super::arrangement::Graph;
use super::distance::between_pieces;
use super::items::Item;
use super::pairs::meeting_pairs;
use super::piece::{Bounds, Piece};
use super::words::length;
use crate::problem::Problem;

/// A problem for every item with a side, or a distance between sides, below what can be meshed.
/// Says whether there is one.
pub(crate) fn report_thin_items(
    items: &[Item],
    scale: &Scale,
    problems: &mut Vec<Problem>,
) -> bool {
    let before = problems.len();
    for item in items {
        let least = least_feature(&item.outline_pieces());
        if least < scale.thin {
            problems.push(
                Problem::at(
                    item.span.clone(),
                    format!(
                        "`{}` has a feature of {}, thinner than can be meshed: the limit here is {}",
                        item.name,
                        length(least),
                        length(scale.thin)
                    ),
                )
                .help(
                    "the limit is 1 um, or a 100000th of the whole section: check the units, \
                     leave the feature out, or bring far parts nearer",
                ),
            );
        }
    }
    problems.len() > before
}

impl Item {
    fn outline_pieces(&self) -> Vec<Piece> {
        Piece::all_of(&self.outline)
    }
}

/// Shortest side, or shortest distance between sides without a common corner.
fn least_feature(pieces: &[Piece]) -> f64 {
    let n = pieces.len();
    let shortest = pieces.iter().map(Piece::length).fold(f64::INFINITY, f64::min);
    let whole = pieces.iter().fold(Bounds::EMPTY, |b, p| b.union(p.bounds())).size();
    let mut least = shortest.min(whole.x).min(whole.y);
    // Only sides nearer to each other than the least so far matter.
    let boxes: Vec<Bounds> = pieces.iter().map(|p| p.bounds().grown(0.5 * least)).collect();
    meeting_pairs(&boxes, |i, j| {
        let (i, j) = (i.min(j), i.max(j));
        if j > i + 1 && !(i == 0 && j == n - 1) {
            least = least.min(between_pieces(&pieces[i], &pieces[j]));
        }
    });
    least
}

/// A problem for every edge that crossings have left too short to be meshed, one per item.
pub(crate) fn report_short_edges(
    graph: &Graph,
    items: &[Item],
    scale: &Scale,
    problems: &mut Vec<Problem>,
) {
    let mut told = vec![false; items.len()];
    for e in 0..graph.edges.len() {
        let size = graph.piece(e).length();
        if size >= 0.5 * scale.thin {
            continue;
        }
        let owner =
            graph.edges[e].owners.iter().map(|(k, _)| *k as usize).find(|k| *k < items.len());
        if let Some(k) = owner.filter(|k| !told[*k]) {
            told[k] = true;
            let item = &items[k];
            problems.push(
                Problem::at(
                    item.span.clone(),
                    format!(
                        "`{}` and a neighbour leave a side of {}, shorter than can be meshed",
                        item.name,
                        length(size)
                    ),
                )
                .help("line them up, or move them further apart"),
            );
        }
    }
}
