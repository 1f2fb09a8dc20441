//! Flux lines: level lines of the flux function, with the same flux between each line and the
//! next.
//!
//! | symmetry | flux function psi | flux between two lines | levels |
//! |---|---|---|---|
//! | planar | A_z | difference of A_z, Wb per metre of depth | (k + 1/2) step |
//! | axisymmetric | r A_phi = r^2 v | 2 pi times the difference, Wb | k step / 2 pi, k not 0 |
//!
//! B = curl A runs along the lines: with the higher A_z on its left, or the higher r A_phi on its
//! right. Half steps in the plane, because the line of symmetry of many sections is a level of its
//! own there; about an axis the level 0 is the axis.
//!
//! The function, smoothed within its own error ([`super::smooth`]), is evaluated on a subdivision of
//! the second-order triangles and is linear between ([`super::refined`]), so lines never cross, and
//! they close or end on the window's edge.

use std::cell::Cell;

use crate::field::Field;
use crate::mesh::Mesh;
use crate::report::picture::clip::clipped;
use crate::report::picture::level::{self, Line};
use crate::report::picture::refined::refine;
use crate::report::picture::smooth::{Smooth, Terms};
use crate::report::picture::steps::{next_up, round_down};
use crate::report::picture::view::Window;
use crate::section::Symmetry;

/// Most small triangles that are made.
const MOST_PIECES: usize = 3_000_000;
/// Largest number of parts a side is cut into.
const FINEST: u32 = 12;

/// Flux lines in a window.
#[derive(Clone, Debug)]
pub struct FluxLines {
    /// Flux between each line and the next: Wb/m (planar) or Wb (axisymmetric).
    pub step: f64,
    /// Values of psi that have lines, rising: Wb/m, or Wb per radian.
    pub levels: Vec<f64>,
    /// The lines, cut to the window and running along B, each with the index of its level. Of
    /// round sections both halves.
    pub lines: Vec<(usize, Line)>,
}

/// About `wanted` flux lines in `window` (m), true to about a tenth of `pixel` (m).
pub fn flux_lines(field: &Field, window: Window, wanted: usize, pixel: f64) -> FluxLines {
    let mesh = field.mesh();
    let round = mesh.symmetry == Symmetry::Axisymmetric;
    let searched = right_half(window, round);
    let seen = triangles_in(mesh, searched, |_| true);
    let psi = flux_function(field);
    let (least, most) = seen
        .iter()
        .flat_map(|&t| mesh.triangles[t as usize])
        .filter(|&node| searched.holds(mesh.nodes[node as usize]))
        .map(|node| psi[node as usize])
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let turn = if round { std::f64::consts::TAU } else { 1.0 };
    // About an axis a line shows twice.
    let wanted = if round { wanted.div_ceil(2) } else { wanted };
    let step = step(turn * (most - least), wanted);
    let levels = if step > 0.0 { levels(least, most, step / turn, round) } else { Vec::new() };

    let crossed = |t: u32| {
        let (low, high) = bounds(mesh, &field.of_triangle(t as usize), t);
        let first = levels.partition_point(|level| *level < low);
        levels.get(first).is_some_and(|level| *level <= high)
    };
    let chosen: Vec<u32> = seen.into_iter().filter(|&t| crossed(t)).collect();
    let n = parts_per_side(mesh, &chosen, 6.0 * pixel);
    let smooth = Smooth::new(field, &chosen);
    // Terms of the triangle at hand: all its points are asked for one after the other.
    let terms = Cell::new((u32::MAX, Terms::default()));
    let refined = refine(mesh, &chosen, n, |at| {
        if terms.get().0 != at.triangle {
            terms.set((at.triangle, smooth.terms(at.triangle)));
        }
        let u = at.interpolate(&field.nodal) + terms.get().1.at(at.barycentric);
        if round { at.place.x * at.place.x * u } else { u }
    });
    let mut lines = Vec::new();
    for (index, found) in level::lines(&refined, &levels).into_iter().enumerate() {
        for mut line in found {
            if round {
                line.places.reverse();
            }
            lines.extend(clipped(&line, window).into_iter().map(|piece| (index, piece)));
            if round {
                for place in &mut line.places {
                    place.x = -place.x;
                }
                lines.extend(clipped(&line, window).into_iter().map(|piece| (index, piece)));
            }
        }
    }
    FluxLines { step, levels, lines }
}

/// The part of a window where the mesh of a round section is: x >= 0, both halves laid together.
pub(super) fn right_half(window: Window, round: bool) -> Window {
    if round {
        let right = window.right.abs().max(window.left.abs());
        let left = window.left.max(-window.right).max(0.0);
        Window { left, right, ..window }
    } else {
        window
    }
}

/// The triangles that reach into `window` and are wanted.
pub(super) fn triangles_in(mesh: &Mesh, window: Window, wanted: impl Fn(u32) -> bool) -> Vec<u32> {
    (0..mesh.triangles.len() as u32)
        .filter(|&t| {
            wanted(t)
                && mesh.triangles[t as usize]
                    .iter()
                    .fold(Window::EMPTY, |w, &node| w.with(mesh.nodes[node as usize]))
                    .meets(window)
        })
        .collect()
}

/// How many parts a side must have so that they are no longer than `length` (m), within reason.
pub(super) fn parts_per_side(mesh: &Mesh, chosen: &[u32], length: f64) -> u32 {
    let longest = chosen
        .iter()
        .flat_map(|&t| {
            let [a, b, c, ..] = mesh.triangles[t as usize].map(|node| mesh.nodes[node as usize]);
            [a.distance(b), b.distance(c), c.distance(a)]
        })
        .fold(0.0, f64::max);
    let wanted = (longest / length.max(f64::MIN_POSITIVE)).ceil().clamp(1.0, f64::from(FINEST));
    let affordable = (MOST_PIECES as f64 / chosen.len().max(1) as f64).sqrt().floor().max(1.0);
    wanted.min(affordable) as u32
}

/// psi at the nodes.
fn flux_function(field: &Field) -> Vec<f64> {
    let mesh = field.mesh();
    match mesh.symmetry {
        Symmetry::Planar => field.nodal.clone(),
        Symmetry::Axisymmetric => {
            mesh.nodes.iter().zip(&field.nodal).map(|(p, v)| p.x * p.x * v).collect()
        }
    }
}

/// The round step that gives the number of lines nearest to what is wanted.
fn step(range: f64, wanted: usize) -> f64 {
    let ideal = range / wanted.clamp(1, 1000) as f64;
    let low = round_down(ideal);
    if low <= 0.0 {
        return 0.0;
    }
    let high = next_up(low);
    if ideal / low < high / ideal { low } else { high }
}

fn levels(least: f64, most: f64, step: f64, round: bool) -> Vec<f64> {
    let shift = if round { 0.0 } else { 0.5 };
    let (first, last) =
        ((least / step - shift).ceil() as i64, (most / step - shift).floor() as i64);
    (first..=last).filter(|&k| !(round && k == 0)).map(|k| (k as f64 + shift) * step).collect()
}

/// Bounds of psi on a triangle.
fn bounds(mesh: &Mesh, u: &[f64; 6], t: u32) -> (f64, f64) {
    let (low, high) = with_slack(hull(u));
    if mesh.symmetry == Symmetry::Planar {
        return (low, high);
    }
    let r = mesh.triangles[t as usize].map(|node| mesh.nodes[node as usize].x);
    let (near, far) = hull(&r);
    let (near, far) = (near.max(0.0).powi(2), far.max(0.0).powi(2));
    (
        if low > 0.0 { low * near } else { low * far },
        if high > 0.0 { high * far } else { high * near },
    )
}

/// Room for what smoothing adds: a side's terms are at most 0.1 (|c_1| + |c_2|), and those at most
/// [`super::smooth`]'s share of the side's slope, itself at most 4 times the spread of its values.
fn with_slack(hull: (f64, f64)) -> (f64, f64) {
    let room = 0.4 * (hull.1 - hull.0);
    (hull.0 - room, hull.1 + room)
}

/// Bounds of a quadratic over its triangle from its values at the six nodes: those of its
/// Bernstein coefficients.
fn hull(v: &[f64; 6]) -> (f64, f64) {
    let middles = [0, 1, 2].map(|i| 2.0 * v[3 + i] - 0.5 * (v[i] + v[(i + 1) % 3]));
    v[..3]
        .iter()
        .chain(&middles)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &c| (a.min(c), b.max(c)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_step_is_round_and_near_what_is_wanted() {
        for range in [1.0, 3.7e-4, 0.024, 9.9e-6] {
            let step = step(range, 24);
            let n = range / step;
            // Steps are at most 2.5 apart, so the number is off by at most the root of that.
            assert!((24.0 / 1.6..24.0 * 1.6).contains(&n), "{range}: {n} lines");
        }
        assert_eq!(step(0.0, 24), 0.0);
        assert_eq!(step(f64::NAN, 24), 0.0);
    }

    #[test]
    fn levels_lie_on_half_steps_or_on_whole_ones_without_the_axis() {
        assert_eq!(levels(-1.1, 1.2, 1.0, false), vec![-0.5, 0.5]);
        assert_eq!(levels(-1.1, 2.0, 1.0, true), vec![-1.0, 1.0, 2.0]);
    }
}
