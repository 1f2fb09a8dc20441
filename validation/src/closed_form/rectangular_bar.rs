//! Long bar of rectangular section, magnetised across its length.
//!
//! In: half width a, half height b, remanence B_r along +y, permeability 1. Out: the flux density
//! everywhere. The top and bottom faces carry the magnetic charge +-B_r/mu_0; integrating the line
//! charge over the faces gives
//!
//!   B_y = B_r/2pi (atan((x+a)/(y-b)) - atan((x-a)/(y-b)) - atan((x+a)/(y+b)) + atan((x-a)/(y+b)))
//!   B_x = B_r/4pi ln( ((x+a)^2+(y-b)^2) ((x-a)^2+(y+b)^2) / (((x-a)^2+(y-b)^2) ((x+a)^2+(y+b)^2)) )
//!
//! for mu_0 H, to which B_r is added inside. Source: `[Furlani2001]`, section 4.2 (charge model in
//! two dimensions).

use std::f64::consts::PI;

use lodestring::point::Point;

/// The bar, centred on the origin, magnetised along +y.
#[derive(Clone, Copy, Debug)]
pub struct RectangularBar {
    /// Half of the width along x, m.
    pub half_width: f64,
    /// Half of the height along y, m.
    pub half_height: f64,
    /// Remanence, T.
    pub remanence: f64,
}

impl RectangularBar {
    /// Flux density at `p`, T. At a corner B_x is infinite.
    pub fn flux_density(&self, p: Point) -> [f64; 2] {
        let (a, b) = (self.half_width, self.half_height);
        let (left, right) = (p.x + a, p.x - a);
        let (above, below) = (p.y - b, p.y + b);
        // Angle under which a face is seen, counted without a branch cut where it is crossed.
        let seen = |height: f64| libm::atan2(left, height) - libm::atan2(right, height);
        let by = self.remanence / (2.0 * PI) * (wrap(seen(above)) - wrap(seen(below)));
        let square = |u: f64, v: f64| u * u + v * v;
        let ratio = square(left, above) * square(right, below)
            / (square(right, above) * square(left, below));
        let bx = self.remanence / (4.0 * PI) * ratio.ln();
        let inside = p.x.abs() < a && p.y.abs() < b;
        [bx, if inside { by + self.remanence } else { by }]
    }
}

/// `angle` brought into (-pi, pi].
fn wrap(angle: f64) -> f64 {
    if angle > PI {
        angle - 2.0 * PI
    } else if angle <= -PI {
        angle + 2.0 * PI
    } else {
        angle
    }
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;
    use crate::quadrature::integrate;

    const BAR: RectangularBar =
        RectangularBar { half_width: 2.5e-3, half_height: 8.5e-3, remanence: 1.0 };

    /// Flux density `x`, `y` mm from the middle of the top face.
    fn from_top(x: f64, y: f64) -> [f64; 2] {
        BAR.flux_density(Point::new(x * 1e-3, BAR.half_height + y * 1e-3))
    }

    #[test]
    fn above_the_middle_of_a_5_by_17_mm_bar() {
        // One unit of the last digit given; the first row is the limit at the face.
        for (height, b) in [
            (1e-9, 0.4535229),
            (1.0, 0.3349524),
            (2.0, 0.2435796),
            (3.0, 0.1815586),
            (5.0, 0.1115666),
        ] {
            let [bx, by] = from_top(0.0, height);
            assert!((by - b).abs() < 1e-7, "{by} against {b}");
            assert!(bx.abs() < 1e-12);
        }
        let wide = RectangularBar { half_width: 10e-3, half_height: 5e-3, remanence: 1.0 };
        assert_close(wide.flux_density(Point::new(0.0, 10e-3))[1], 0.1652493, 5e-7);
    }

    #[test]
    fn off_the_middle() {
        // Half a unit of the last digit printed.
        for (x, y, bx, by) in [
            (2.5, 2.0, 0.1523146, 0.1484862),
            (5.0, 2.0, 0.1307921, 0.0268980),
            (10.0, 3.0, 0.0581756, -0.0087324),
        ] {
            let b = from_top(x, y);
            assert_close(b[0], bx, 1e-6);
            assert_close(b[1], by, 6e-6);
        }
        assert_close(from_top(5.0, -8.5)[1], -0.1390785, 1e-6);
    }

    #[test]
    fn everywhere_the_sum_over_charged_faces() {
        for (x, y) in [(0.7e-3, 9.1e-3), (-4e-3, 1e-3), (1e-3, -3e-3), (-1.2e-3, 4e-3)] {
            let component = |along_x: bool| {
                integrate(
                    |s| {
                        let from = |height: f64| {
                            let (dx, dy) = (x - s, y - height);
                            (if along_x { dx } else { dy }) / (2.0 * PI * (dx * dx + dy * dy))
                        };
                        from(BAR.half_height) - from(-BAR.half_height)
                    },
                    -BAR.half_width,
                    BAR.half_width,
                    40,
                )
            };
            let b = BAR.flux_density(Point::new(x, y));
            let inside = x.abs() < BAR.half_width && y.abs() < BAR.half_height;
            // 1e-10: the integrand is smooth on the scale of a panel.
            assert!((b[0] - component(true)).abs() < 1e-10);
            assert!((b[1] - component(false) - f64::from(u8::from(inside))).abs() < 1e-10);
        }
    }
}
