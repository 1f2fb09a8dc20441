//! The two planes of vibration, and the beat between them.
//!
//! The pull on a string displaced by u = (sideways, up) changes by G u, G the matrix of pull
//! gradients in N/m, symmetric because the pull has a potential. Its eigenvectors are the two planes
//! in which the string can swing without leaving them; in each the force is +k u with k the
//! eigenvalue, as [`crate::strings::tuning::shift`] takes it. Right over a pole they are the upright
//! plane (k > 0, softer) and the one across it (k < 0, stiffer); beside the pole they are turned.

/// The two planes of vibration over a pole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planes {
    /// Gradient in the plane nearer to upright, N/m; positive softens.
    pub upright: f64,
    /// Gradient in the plane across it, N/m.
    pub across: f64,
    /// Angle of the upright plane from the vertical, radian, within +-pi/4; positive leans towards
    /// positive sideways travel.
    pub lean: f64,
}

impl Planes {
    /// From `gradient[i][k]` = d pull_i / d travel_k (sideways, up), N/m. The part that is not
    /// symmetric, an error of the discretisation, is left out.
    pub fn new(gradient: [[f64; 2]; 2]) -> Self {
        let [[yy, yz], [zy, zz]] = gradient;
        let mixed = 0.5 * (yz + zy);
        let (mean, half) = (0.5 * (zz + yy), 0.5 * (zz - yy));
        let spread = half.hypot(mixed);
        let lean = if spread == 0.0 { 0.0 } else { 0.5 * mixed.atan2(half) };
        // atan2 gives the direction of the larger eigenvalue: a quarter turn off where that lies
        // nearer to the horizontal.
        let quarter = std::f64::consts::FRAC_PI_4;
        if lean.abs() <= quarter {
            Self { upright: mean + spread, across: mean - spread, lean }
        } else {
            let lean = lean - 2.0 * quarter * lean.signum();
            Self { upright: mean - spread, across: mean + spread, lean }
        }
    }
}

/// Beat between two frequencies, Hz.
pub fn beat_rate(one: f64, other: f64) -> f64 {
    (one - other).abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, want: f64) {
        // Rounding of numbers of the size of 30.
        assert!((got - want).abs() < 1e-13, "{got} is not {want}");
    }

    #[test]
    fn over_the_pole_the_planes_are_upright_and_across() {
        let planes = Planes::new([[-5.0, 0.0], [0.0, 20.0]]);
        close(planes.upright, 20.0);
        close(planes.across, -5.0);
        close(planes.lean, 0.0);
        let swapped = Planes::new([[20.0, 0.0], [0.0, -5.0]]);
        close(swapped.upright, -5.0);
        close(swapped.across, 20.0);
        close(swapped.lean, 0.0);
        assert_eq!(Planes::new([[0.0; 2]; 2]), Planes { upright: 0.0, across: 0.0, lean: 0.0 });
    }

    /// Turning the pole and string together by an angle turns the planes by it.
    #[test]
    fn a_turned_matrix_gives_turned_planes() {
        for degrees in [-44.0_f64, -20.0, 5.0, 44.0] {
            let (s, c) = degrees.to_radians().sin_cos();
            // Upright plane along (s, c), across along (c, -s).
            let (ku, ka) = (20.0, -5.0);
            let gradient = [
                [ku * s * s + ka * c * c, (ku - ka) * s * c],
                [(ku - ka) * s * c, ku * c * c + ka * s * s],
            ];
            let planes = Planes::new(gradient);
            close(planes.upright, ku);
            close(planes.across, ka);
            close(planes.lean, degrees.to_radians());
        }
    }
}
