//! Where the field is asked for, the mesh has to be fine.
//!
//! The flux density read at a place is wrong by a power of h/d, the size of the triangles there
//! over the distance to the nearest thing that shapes the field. Every probe asks for triangles of a
//! share of d; a line for coarser ones than a point, for it is read as a curve and costs triangles
//! all along.

use super::items::Item;
use super::model::FineLine;
use super::piece::Piece;
use crate::point::Point;
use crate::section::{Probe, Role, Section};

/// Triangle size at a single point over its distance to the nearest outline.
const POINT: f64 = 0.05;

/// The same for the points of a line.
const LINE: f64 = 0.2;

/// Least size at a probe, over the smaller side of the nearest thing: a probe on its surface reads a
/// field whose size there that thing decides.
const LEAST: f64 = 0.01;

/// Most pieces a probe line is cut into.
const MOST_PIECES: usize = 64;

/// The fine lines of all probes.
pub(crate) fn probe_lines(section: &Section, items: &[Item]) -> Vec<FineLine> {
    let pieces: Vec<(Piece, f64)> = items
        .iter()
        // A string is meshed finely for its own sake, and a probe line may run inside it.
        .filter(|item| item.role != Role::String)
        .flat_map(|item| {
            let size = item.bounds.size();
            let least = LEAST * size.x.min(size.y);
            Piece::all_of(&item.outline).into_iter().map(move |piece| (piece, least))
        })
        .collect();
    section.probes.iter().flat_map(|probe| lines(probe, &pieces)).collect()
}

fn lines(probe: &Probe, pieces: &[(Piece, f64)]) -> Vec<FineLine> {
    let share = if probe.points.len() == 1 { POINT } else { LINE };
    let size = |p: Point| {
        pieces
            .iter()
            .map(|(piece, least)| (share * piece.distance_to(p)).max(*least))
            .fold(f64::INFINITY, f64::min)
    };
    let points = &probe.points;
    let step = points.len().div_ceil(MOST_PIECES).max(1);
    let ends: Vec<Point> =
        points.iter().copied().step_by(step).chain(points.last().copied()).collect();
    ends.windows(2)
        .map(|pair| {
            let middle = (pair[0] + pair[1]) * 0.5;
            let size = size(middle).min(size(pair[0])).min(size(pair[1]));
            FineLine { from: pair[0], to: pair[1], size }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::arrange;
    use crate::section::parse;

    fn fine_lines(probe: &str) -> Vec<FineLine> {
        let text = format!(
            "format = 1\nsymmetry = \"planar\"\n[[part]]\nname = \"bar\"\nrole = \"body\"\n\
             material = \"air\"\nrectangle = {{ width = \"4 mm\", height = \"10 mm\" }}\n\
             at = [0, 0]\nanchor = \"top\"\n[[probe]]\nname = \"p\"\n{probe}\n"
        );
        let arranged = arrange(&parse(&text).section);
        arranged.regions.map_or_else(Vec::new, |regions| regions.fine_lines)
    }

    #[test]
    fn a_point_asks_for_a_share_of_its_distance() {
        let lines = fine_lines("at = [0, \"2 mm\"]");
        assert_eq!(lines.len(), 1);
        // Round-off of metres.
        assert!((lines[0].size - POINT * 2e-3).abs() < 1e-15, "{lines:?}");
        assert_eq!((lines[0].from, lines[0].to), (Point::new(0.0, 2e-3), Point::new(0.0, 2e-3)));
    }

    #[test]
    fn on_the_surface_the_size_of_the_thing_decides() {
        let lines = fine_lines("at = [0, 0]");
        assert!((lines[0].size - LEAST * 4e-3).abs() < 1e-15, "{lines:?}");
    }

    #[test]
    fn a_long_line_is_cut_into_few_pieces_that_join() {
        let lines = fine_lines("from = [0, \"1 mm\"]\nto = [0, \"40 mm\"]\nsamples = 10000");
        assert!(lines.len() <= MOST_PIECES + 1 && lines.len() > 10, "{}", lines.len());
        assert!(lines.windows(2).all(|pair| pair[0].to == pair[1].from));
        assert!((lines[0].size - LINE * 1e-3).abs() < 1e-15);
        assert!(lines.windows(2).all(|pair| pair[0].size <= pair[1].size));
    }
}
