//! Vertices numbered along a space-filling curve, triangles by their vertices, sides by their
//! triangles, so that neighbours in the plane are mostly neighbours in memory.

use super::curved::Curved;
use crate::point::Point;

/// The same mesh, renumbered.
pub(crate) fn numbered(mesh: Curved) -> Curved {
    let points = order_along_curve(&mesh.points);
    let new_point = inverse(&points);
    let mut triangles: Vec<([u32; 2], u32)> = mesh
        .triangles
        .iter()
        .enumerate()
        .map(|(t, v)| {
            let mut v = v.map(|v| new_point[v as usize]);
            v.sort_unstable();
            ([v[0], v[1]], t as u32)
        })
        .collect();
    triangles.sort_unstable();
    let mut new_side = vec![u32::MAX; mesh.ends.len()];
    let mut sides: Vec<u32> = Vec::with_capacity(mesh.ends.len());
    for (_, t) in &triangles {
        for s in mesh.sides_of[*t as usize] {
            let new = &mut new_side[s as usize];
            if *new == u32::MAX {
                *new = sides.len() as u32;
                sides.push(s);
            }
        }
    }
    let pick = |s: &u32| *s as usize;
    let old = |t: &([u32; 2], u32)| t.1 as usize;
    Curved {
        points: points.iter().map(|v| mesh.points[pick(v)]).collect(),
        middles: sides.iter().map(|s| mesh.middles[pick(s)]).collect(),
        ends: sides.iter().map(|s| mesh.ends[pick(s)].map(|v| new_point[v as usize])).collect(),
        outer: sides.iter().map(|s| mesh.outer[pick(s)]).collect(),
        triangles: triangles
            .iter()
            .map(|t| mesh.triangles[old(t)].map(|v| new_point[v as usize]))
            .collect(),
        sides_of: triangles
            .iter()
            .map(|t| mesh.sides_of[old(t)].map(|s| new_side[s as usize]))
            .collect(),
        region_of: triangles.iter().map(|t| mesh.region_of[old(t)]).collect(),
        flattened_area: mesh.flattened_area,
    }
}

/// Indices of the places in the order of Hilbert's curve over the square that holds them.
fn order_along_curve(places: &[Point]) -> Vec<u32> {
    let reach = places.iter().fold(0.0f64, |r, p| r.max(p.x.abs()).max(p.y.abs()));
    let cells = f64::from(1u32 << 31);
    let cell = |v: f64| ((v / reach * 0.5 + 0.5) * cells).clamp(0.0, cells - 1.0) as u32;
    let mut keys: Vec<(u64, u32)> = places
        .iter()
        .enumerate()
        .map(|(i, p)| (along_hilbert(cell(p.x), cell(p.y)), i as u32))
        .collect();
    keys.sort_unstable();
    keys.into_iter().map(|(_, i)| i).collect()
}

/// Distance along Hilbert's curve of a cell of a grid of 2^31 by 2^31.
fn along_hilbert(mut x: u32, mut y: u32) -> u64 {
    let mut d = 0u64;
    let mut s = 1u32 << 30;
    while s > 0 {
        let (rx, ry) = (u32::from(x & s > 0), u32::from(y & s > 0));
        d = (d << 2) | u64::from((3 * rx) ^ ry);
        // Turn the quadrant so that the curve enters and leaves it in the standard way.
        let mask = s - 1;
        (x, y) = (x & mask, y & mask);
        if ry == 0 {
            if rx == 1 {
                (x, y) = (mask - x, mask - y);
            }
            (x, y) = (y, x);
        }
        s >>= 1;
    }
    d
}

fn inverse(order: &[u32]) -> Vec<u32> {
    let mut new = vec![0; order.len()];
    for (n, &old) in order.iter().enumerate() {
        new[old as usize] = n as u32;
    }
    new
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hilbert_goes_from_cell_to_neighbouring_cell() {
        // The finest 16 x 16 cells in a corner of the grid.
        let mut cells: Vec<(u64, u32, u32)> =
            (0..16).flat_map(|x| (0..16).map(move |y| (along_hilbert(x, y), x, y))).collect();
        cells.sort_unstable();
        for (k, w) in cells.windows(2).enumerate() {
            assert_eq!(w[0].0, k as u64);
            assert_eq!(w[0].1.abs_diff(w[1].1) + w[0].2.abs_diff(w[1].2), 1);
        }
    }
}
