//! Tube whose magnetisation turns twice as fast as the angle: a uniform field in its bore.
//!
//! In: inner radius R_i, outer radius R_o, remanence B_r, permeability 1, and the number n of equal
//! segments it is built of (each magnetised evenly, for n segments along 2 theta of its middle).
//! Out: the bore field at the centre, B = B_r ln(R_o/R_i) sin(2 pi/n)/(2 pi/n), and without the
//! last factor for the continuous tube. Source: `[Halbach1980]`, equations (20) and (24a).

use std::f64::consts::PI;

/// Bore field of the continuous tube, T.
pub fn bore_field(remanence: f64, inner: f64, outer: f64) -> f64 {
    remanence * (outer / inner).ln()
}

/// Field at the centre of a tube of `segments` equal pieces, T.
pub fn segmented_bore_field(remanence: f64, inner: f64, outer: f64, segments: u32) -> f64 {
    let angle = 2.0 * PI / f64::from(segments);
    bore_field(remanence, inner, outer) * angle.sin() / angle
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;
    use crate::quadrature::integrate;

    #[test]
    fn two_to_one_gives_ln_2() {
        // Round-off.
        assert_close(bore_field(1.0, 5e-3, 10e-3), std::f64::consts::LN_2, 1e-15);
    }

    #[test]
    fn segments_sum_to_the_centre_field() {
        // Dipole field at the origin of an element at (r, theta) magnetised along angle beta:
        // B_y = B_r/(2 pi r^2) (2 (m . r^) r^_y - m_y) r dr dtheta, m = (cos beta, sin beta).
        let (inner, outer, segments): (f64, f64, u32) = (5e-3, 10e-3, 8);
        let width = 2.0 * PI / f64::from(segments);
        let mut field = 0.0;
        for segment in 0..segments {
            let middle = f64::from(segment) * width;
            let beta = 2.0 * middle - 0.5 * PI;
            field += integrate(
                |theta| {
                    let along = (beta - theta).cos();
                    (2.0 * along * theta.sin() - beta.sin()) / (2.0 * PI) * (outer / inner).ln()
                },
                middle - 0.5 * width,
                middle + 0.5 * width,
                1,
            );
        }
        assert_close(field.abs(), segmented_bore_field(1.0, inner, outer, segments), 1e-12);
    }

    #[test]
    fn many_segments_tend_to_the_continuous_tube() {
        // 1 - sin(x)/x is x^2/6 = 6.6e-6 for a thousand segments.
        let many = segmented_bore_field(1.0, 5e-3, 10e-3, 1000);
        assert_close(many, bore_field(1.0, 5e-3, 10e-3), 7e-6);
    }
}
