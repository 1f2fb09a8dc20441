//! What a string weighs, how tight it is at a pitch, and how stiff it is.
//!
//! In: gauge, core and densities. Out: linear density, tension, inharmonicity. SI.
//!
//! ```text
//! plain     mu = rho pi d^2 / 4
//! wound     mu = rho_c (sqrt3 / 2) D_k^2 + rho_w (pi w / 4) pi (D_k + w),   w = (d - D_k) / 2
//! tension   T = mu (2 L f)^2
//! partials  f_n = n f sqrt(1 + B n^2),   B = pi^2 E I / (T L^2)
//! plain     I = pi d^4 / 64,  so  B = pi^3 E d^4 / (64 T L^2)
//! wound     I = 5 sqrt3 D_k^4 / 144, the core alone
//! ```
//!
//! d gauge, D_k width of the hexagonal core across its flats, w diameter of the round wrap, whose
//! turns touch; L speaking length, f the pitch without stiffness. Source: N. H. Fletcher and
//! T. D. Rossing, The Physics of Musical Instruments, 2nd ed., 2.2 and 2.18; the wound string is
//! geometry (a hexagon's area and second moment, a helix of small pitch). A wrap is taken to add
//! weight and no stiffness.

use std::f64::consts::PI;

/// Density of music wire, kg/m3, nominal.
pub const CORE_DENSITY: f64 = 7850.0;
/// Density of a nickel or nickel-plated steel wrap, kg/m3, nominal.
pub const WRAP_DENSITY: f64 = 8000.0;
/// Young's modulus of music wire, Pa, nominal.
pub const YOUNGS_MODULUS: f64 = 200e9;

/// A string as a thing with weight and stiffness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    /// Outer diameter, m.
    pub gauge: f64,
    /// Width across the flats of the hexagonal core of a wound string, m; `None`: plain.
    pub core: Option<f64>,
    /// Density of the core (of the whole string where plain), kg/m3.
    pub core_density: f64,
    /// Density of the wrap, kg/m3.
    pub wrap_density: f64,
    /// Young's modulus of the core, Pa.
    pub youngs_modulus: f64,
}

impl Wire {
    /// A plain string of music wire, `gauge` in m.
    pub const fn plain(gauge: f64) -> Self {
        Self {
            gauge,
            core: None,
            core_density: CORE_DENSITY,
            wrap_density: WRAP_DENSITY,
            youngs_modulus: YOUNGS_MODULUS,
        }
    }

    /// A wound string, `gauge` and `core` (across the flats) in m, of nominal materials.
    pub const fn wound(gauge: f64, core: f64) -> Self {
        Self { core: Some(core), ..Self::plain(gauge) }
    }

    /// Mass per length, kg/m.
    pub fn linear_density(&self) -> f64 {
        match self.core {
            None => self.core_density * PI * self.gauge.powi(2) / 4.0,
            Some(core) => {
                let wrap = 0.5 * (self.gauge - core);
                let core_mass = self.core_density * 0.5 * 3.0_f64.sqrt() * core.powi(2);
                core_mass + self.wrap_density * (PI * wrap / 4.0) * PI * (core + wrap)
            }
        }
    }

    /// Tension at `pitch` (Hz) on a speaking length of `length` (m), N.
    pub fn tension(&self, length: f64, pitch: f64) -> f64 {
        self.linear_density() * (2.0 * length * pitch).powi(2)
    }

    /// Mean stress in what carries the tension `tension` (N): the core, Pa.
    pub fn stress(&self, tension: f64) -> f64 {
        let area = match self.core {
            None => PI * self.gauge.powi(2) / 4.0,
            Some(core) => 0.5 * 3.0_f64.sqrt() * core.powi(2),
        };
        tension / area
    }

    /// Inharmonicity B at the tension `tension` (N) on the speaking length `length` (m).
    pub fn inharmonicity(&self, length: f64, tension: f64) -> f64 {
        let second_moment = match self.core {
            None => PI * self.gauge.powi(4) / 64.0,
            Some(core) => 5.0 * 3.0_f64.sqrt() / 144.0 * core.powi(4),
        };
        PI.powi(2) * self.youngs_modulus * second_moment / (tension * length.powi(2))
    }
}

/// Frequency of partial `n` of a string of pitch `pitch` (Hz) and inharmonicity `b`, Hz.
pub fn partial(pitch: f64, n: u32, b: f64) -> f64 {
    let n = f64::from(n);
    n * pitch * (1.0 + b * n * n).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::INCH;

    const LONG: f64 = 25.5 * INCH;
    const SHORT: f64 = 24.75 * INCH;
    const E4: f64 = 329.627_556_912_87;

    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} is not {want} within {tolerance}");
    }

    /// The printed table of plain strings has three to four figures: half a unit of the last.
    #[test]
    fn plain_strings_weigh_and_pull_as_tabulated() {
        let b3 = E4 / 2.0_f64.powf(5.0 / 12.0);
        let g3 = E4 / 2.0_f64.powf(9.0 / 12.0);
        let rows = [
            (0.008, E4, 0.2546, 46.4, 43.7, 8.5e-6, 0.05e-6),
            (0.009, E4, 0.3222, 58.7, 55.3, 1.07e-5, 0.005e-5),
            (0.010, E4, 0.3978, 72.5, 68.3, 1.33e-5, 0.005e-5),
            (0.012, E4, 0.5728, 104.4, 98.4, 1.91e-5, 0.005e-5),
            (0.013, b3, 0.6722, 68.8, 64.8, 3.99e-5, 0.005e-5),
            (0.016, g3, 1.0183, 65.6, 61.8, 9.6e-5, 0.05e-5),
            (0.017, g3, 1.1495, 74.1, 69.8, 1.08e-4, 0.005e-4),
            (0.018, g3, 1.2888, 83.1, 78.3, 1.21e-4, 0.005e-4),
        ];
        for (gauge, pitch, density, long, short, b, b_half) in rows {
            let wire = Wire::plain(gauge * INCH);
            close(wire.linear_density() * 1e3, density, 0.5e-4);
            close(wire.tension(LONG, pitch), long, 0.05);
            close(wire.tension(SHORT, pitch), short, 0.05);
            close(wire.inharmonicity(LONG, wire.tension(LONG, pitch)), b, b_half);
        }
    }

    /// Printed to three figures, tensions to two or three: half a unit of the last. The last
    /// tension is printed as 102 where its own density and pitch give 102.54.
    #[test]
    fn wound_strings_weigh_and_pull_as_tabulated() {
        let [d3, a2, e2] = [14.0, 19.0, 24.0].map(|down| E4 / 2.0_f64.powf(down / 12.0));
        let rows = [
            (0.024, 0.013, d3, 2.04, 74.0, 0.5),
            (0.026, 0.014, d3, 2.39, 86.0, 0.5),
            (0.030, 0.015, d3, 3.139, 113.0, 0.5),
            (0.032, 0.015, a2, 3.53, 72.0, 0.5),
            (0.036, 0.016, a2, 4.43, 90.0, 0.5),
            (0.042, 0.016, e2, 5.92, 67.5, 0.05),
            (0.046, 0.017, e2, 7.08, 81.0, 0.5),
            (0.052, 0.018, e2, 9.00, 102.54, 0.06),
        ];
        for (gauge, core, pitch, density, tension, half) in rows {
            let wire = Wire::wound(gauge * INCH, core * INCH);
            close(wire.linear_density() * 1e3, density, 0.5e-2);
            close(wire.tension(LONG, pitch), tension, half);
            let solid = Wire::plain(gauge * INCH).linear_density();
            // "84-89 % of solid", rounded to a whole per cent.
            let share = wire.linear_density() / solid;
            assert!((0.835..0.895).contains(&share), "{share} of solid");
        }
    }

    /// A wrap of no thickness leaves the hexagonal core; its stiffness exceeds that of the round
    /// wire inscribed in it by the ratio of the second moments, 0.0601 / 0.0491.
    #[test]
    fn a_bare_hexagonal_core_is_stiffer_than_the_wire_inside_it() {
        let hexagonal = Wire::wound(0.4e-3, 0.4e-3);
        let round = Wire::plain(0.4e-3);
        let ratio = hexagonal.inharmonicity(0.6, 70.0) / round.inharmonicity(0.6, 70.0);
        // Rounding of a handful of products.
        close(ratio, (5.0 * 3.0_f64.sqrt() / 144.0) / (PI / 64.0), 1e-14);
        close(hexagonal.stress(70.0) * 0.5 * 3.0_f64.sqrt() * 0.16e-6, 70.0, 1e-12);
        close(partial(100.0, 3, 0.0), 300.0, 0.0);
        close(partial(100.0, 2, 0.25), 200.0 * 2.0_f64.sqrt(), 1e-12);
    }
}
