//! What one ampere in a racetrack coil does to an axisymmetric section that stands inside it.
//!
//! Seen from the axis of a pole only the part of the coil's field that does not change round the axis
//! (m = 0) acts: that of the coil turned about the axis through all angles. A current element dl at the
//! radius r and the height z is then a ring with the current (dl . e_phi) / (2 pi r), and its load is
//!
//! ```text
//! l_i = closed integral of a_i(r, z) e_phi . dl        a_i: vector potential of a unit unknown
//! ```
//!
//! which is also the linkage: the coil links l . u of a field u about that axis.

use crate::field::element;
use crate::mesh::{Locator, Mesh};
use crate::point::Point;
use crate::strings::racetrack::Racetrack;

/// Thin racetracks across and up the window: close to a pole as they are, their distances are less
/// than the gap between pole and wire.
const WINDOW: [usize; 2] = [7, 16];
/// Elements on a half ring; an even number, so that none is on the middle.
const ARC: usize = 20;

/// The load of one ampere on the nodes of a section whose axis stands at `place` along the row and whose
/// origin is `raised`, `[n_nodes]`.
pub(crate) fn load(
    coil: &Racetrack,
    mesh: &Mesh,
    locator: &Locator,
    place: f64,
    raised: f64,
) -> Vec<f64> {
    let mut load = vec![0.0; mesh.nodes.len()];
    // The coil is its own mirror image in x = 0: what is on the left adds as much as what is on the right.
    for element in coil.elements(WINDOW, ARC, place).iter().filter(|e| e.at[0] > 0.0) {
        let (x, y) = (element.at[0], element.at[1] - place);
        let r = x.hypot(y);
        let around = 2.0 * (x * element.along[1] - y * element.along[0]) / r;
        let Some((t, [xi, eta])) = locator.locate(Point::new(r, element.at[2] - raised)) else {
            continue;
        };
        let at = element::evaluate(&element::corners(mesh, t), xi, eta);
        let basis = at.potential_basis(mesh.symmetry);
        for (&node, a) in mesh.triangles[t].iter().zip(basis) {
            load[node as usize] += around * a;
        }
    }
    load
}
