//! Straight currents over an iron half-space.
//!
//! In: currents at heights h above the plane face y = 0 of a body of relative permeability mu that
//! fills y < 0. Out: the flux density above the face, that of the currents and of their images
//! k I, k = (mu - 1)/(mu + 1), mirrored in the face; the force on each current is that of all
//! images and of the other currents. One current alone is pulled to the face with
//! F' = k mu_0 I^2/(4 pi h). Source: `[Smythe1989]`, images in two-dimensional current flow;
//! `[Jackson1998]`, problem 5.17.

use lodestring::point::Point;

use super::line_current::LineCurrent;
use super::permeable_cylinder::PermeableCylinder;

/// Flux density at `p` above the face, T.
pub fn flux_density(currents: &[LineCurrent], mu_r: f64, p: Point) -> [f64; 2] {
    let mut b = [0.0, 0.0];
    for current in currents {
        for source in [*current, image(current, mu_r)] {
            let part = source.flux_density(p);
            b[0] += part[0];
            b[1] += part[1];
        }
    }
    b
}

/// Force per metre on `currents[index]`, N/m.
pub fn force(currents: &[LineCurrent], index: usize, mu_r: f64) -> [f64; 2] {
    let target = currents[index];
    let mut b = image(&target, mu_r).flux_density(target.at);
    for (i, current) in currents.iter().enumerate() {
        if i == index {
            continue;
        }
        for source in [*current, image(current, mu_r)] {
            let part = source.flux_density(target.at);
            b[0] += part[0];
            b[1] += part[1];
        }
    }
    target.force_in(b)
}

fn image(current: &LineCurrent, mu_r: f64) -> LineCurrent {
    LineCurrent {
        current: PermeableCylinder::image_factor(mu_r) * current.current,
        at: Point::new(current.at.x, -current.at.y),
    }
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;

    #[test]
    fn one_wire_10_mm_above() {
        let wire = LineCurrent { current: 100.0, at: Point::new(0.0, 10e-3) };
        // Half a unit of the last digit printed, and the 1.6e-10 of mu_0 for ideal iron.
        assert_close(-force(&[wire], 0, 1000.0)[1], 0.0998002, 5e-7);
        assert_close(-force(&[wire], 0, 1e30)[1], 0.1, 1e-9);
    }

    #[test]
    fn field_meets_ideal_iron_at_right_angles() {
        let wires = [
            LineCurrent { current: 100.0, at: Point::new(-20e-3, 10e-3) },
            LineCurrent { current: -70.0, at: Point::new(20e-3, 10e-3) },
        ];
        let b = flux_density(&wires, 1e30, Point::new(3e-3, 0.0));
        assert!(b[0].abs() < 1e-12 * b[1].abs());
    }
}
