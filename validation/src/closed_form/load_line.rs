//! Working point of a body of revolution or a long cylinder in a uniform field.
//!
//! In: its material's curve B(H), its demagnetising factor N (1/2 for a cylinder across the field,
//! 1/3 for a sphere) and the flux density B_0 laid on from far away. The field inside is uniform,
//! H = B_0/mu_0 - N M with B = mu_0 (H + M), that is
//! B + (1/N - 1) mu_0 H = B_0 / N. Out: the H and B that satisfy it. For a magnet alone B_0 = 0.
//! Source: `[Jackson1998]`, sections 5.10 and 5.11; `[Furlani2001]`, chapter 1.

use lodestring::units::MU_0;

/// Demagnetising factor of a long cylinder across its axis.
pub const CYLINDER: f64 = 0.5;

/// Demagnetising factor of a sphere.
pub const SPHERE: f64 = 1.0 / 3.0;

/// A point on a material's curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorkingPoint {
    /// Field strength, A/m.
    pub h: f64,
    /// Flux density, T.
    pub b: f64,
}

/// Where the curve `b_of_h` meets the load line of the factor `n` in the applied flux density
/// `applied`, T. The curve must rise with H; the answer is sought by bisection between `low` and
/// `high`, A/m, to the last digit.
pub fn working_point(
    b_of_h: impl Fn(f64) -> f64,
    n: f64,
    applied: f64,
    low: f64,
    high: f64,
) -> WorkingPoint {
    let excess = |h: f64| b_of_h(h) + (1.0 / n - 1.0) * MU_0 * h - applied / n;
    let (mut low, mut high) = (low, high);
    // Each step halves the bracket: 200 exhaust the digits of any f64 bracket.
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if excess(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    let h = 0.5 * (low + high);
    WorkingPoint { h, b: b_of_h(h) }
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::super::demagnetisation::Hyperbola;
    use super::super::steel;
    use super::*;

    #[test]
    fn linear_material_gives_the_closed_form() {
        // 2 mu/(mu + 1) for the cylinder, 3 mu/(mu + 2) for the sphere; round-off only.
        let linear = |h: f64| 50.0 * MU_0 * h;
        assert_close(working_point(linear, CYLINDER, 0.1, 0.0, 1e6).b, 0.1 * 100.0 / 51.0, 1e-13);
        assert_close(working_point(linear, SPHERE, 0.1, 0.0, 1e6).b, 0.1 * 150.0 / 52.0, 1e-13);
    }

    #[test]
    fn steel_cylinder_across_five_fields() {
        // Half a unit of the last digit printed: 6 digits of H, 7 of B.
        for (applied, h, b) in [
            (0.1, 209.950, 0.1997362),
            (0.5, 341.875, 0.9995704),
            (0.8, 1900.28, 1.597612),
            (1.0, 19364.7, 1.975666),
            (1.2, 95493.0, 2.280000),
        ] {
            let point = working_point(steel::flux_density, CYLINDER, applied, 0.0, 1e6);
            assert_close(point.h, h, 3e-6);
            assert_close(point.b, b, 3e-7);
        }
    }

    #[test]
    fn three_magnets_on_the_line_of_a_cylinder() {
        // Half a unit of the last digit printed.
        for (remanence, coercivity, energy_product, h, b) in [
            (0.75, 45e3, 13.5e3, -43826.96, 0.0550746),
            (1.28, 51e3, 43.8e3, -50869.61, 0.0639246),
            (0.82, 131e3, 42.2e3, -121197.74, 0.1523016),
        ] {
            let curve = Hyperbola::through(remanence, coercivity, energy_product);
            let point = working_point(|h| curve.flux_density(h), CYLINDER, 0.0, -coercivity, 0.0);
            assert_close(point.h, h, 2e-7);
            assert_close(point.b, b, 1e-6);
        }
    }
}
