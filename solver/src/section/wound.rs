//! What a wound string is made up of: a hexagonal core, and one layer of round wire around it.
//!
//! In: gauge D and core diameter D_k, across the flats. Out: areas across the string, m2, and the round
//! core that stands for the hexagon.
//!
//! ```text
//! core   sqrt(3)/2 D_k^2
//! wrap   (pi w/4) pi (D_k + w), w = (D - D_k)/2: one layer of round wire, its turns close together
//! ```

use std::f64::consts::PI;

use super::model::StringSpec;

/// Area of a hexagonal core, m2; `core_diameter` across its flats, m.
pub fn core_area(core_diameter: f64) -> f64 {
    0.5 * 3.0_f64.sqrt() * core_diameter * core_diameter
}

/// Area of the wrap's wire across the string, m2, averaged along it.
pub fn wrap_area(gauge: f64, core_diameter: f64) -> f64 {
    let wire = 0.5 * (gauge - core_diameter);
    0.25 * PI * wire * PI * (core_diameter + wire)
}

impl StringSpec {
    /// Radius of the core, m: of a wound string the round one of the hexagon's area, which ends at the
    /// gauge at the latest.
    pub fn core_radius(&self) -> f64 {
        if self.wrap.is_none() || self.core_diameter >= self.gauge {
            return 0.5 * self.core_diameter;
        }
        (core_area(self.core_diameter) / PI).sqrt().min(0.5 * self.gauge)
    }

    /// Thickness of the ring between core and gauge, m; 0 for a plain string.
    pub fn ring_thickness(&self) -> f64 {
        if self.wrap.is_none() { 0.0 } else { (0.5 * self.gauge - self.core_radius()).max(0.0) }
    }

    /// The wire's share of the ring between core and gauge, at most 1: some four fifths.
    pub fn share_of_wrap(&self) -> f64 {
        let ring = PI * self.ring_thickness() * (0.5 * self.gauge + self.core_radius());
        (wrap_area(self.gauge, self.core_diameter) / ring).min(1.0)
    }
}

#[cfg(test)]
mod tests {
    use crate::geometry::samples::{mm, named, string};
    use crate::units::INCH;

    #[test]
    fn core_and_wire_keep_their_areas() {
        let mut spec = string("E2", 1.0, mm(0.0, 3.0));
        (spec.gauge, spec.core_diameter) = (0.046 * INCH, 0.017 * INCH);
        assert_eq!((spec.core_radius(), spec.ring_thickness()), (0.0085 * INCH, 0.0), "plain");
        spec.wrap = Some(named("nickel wrap"));
        // Hexagon 0.161471 mm2: radius 0.226711 mm; wire 0.727094 mm2 of the 0.910721 mm2 around it.
        assert!((spec.core_radius() - 0.226711e-3).abs() < 1e-9, "{}", spec.core_radius());
        assert!((spec.ring_thickness() - 0.357489e-3).abs() < 1e-9);
        assert!((spec.share_of_wrap() - 0.79837).abs() < 1e-5, "{}", spec.share_of_wrap());
        // Hardly any wrap: the hexagon's circle would reach beyond the gauge.
        spec.core_diameter = 0.99 * spec.gauge;
        assert_eq!((spec.core_radius(), spec.ring_thickness()), (0.5 * spec.gauge, 0.0));
    }
}
