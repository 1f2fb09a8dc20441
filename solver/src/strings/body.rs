//! A string as a magnetic body: its section, its law, and how it magnetises itself.

use std::f64::consts::PI;

use crate::strings::coupled::CouplingError;
use crate::strings::demagnetising;
use crate::strings::law::StringLaw;
use crate::strings::segments::Segments;

/// A straight string along x with its law and the energy matrices of its own field. Made once and
/// put in as many places as wanted.
#[derive(Clone, Debug)]
pub struct StringBody {
    /// Radius of the magnetic section, m.
    pub radius: f64,
    /// Segments along x, from the middle of the string.
    pub segments: Segments,
    /// M(H) of the section.
    pub law: StringLaw,
    /// Self-energy matrices over the inner nodes, `[n * n]` by rows, m3: axial and transverse.
    pub(crate) axial: Vec<f64>,
    pub(crate) transverse: Vec<f64>,
}

impl StringBody {
    /// A string of the given `radius` (m).
    ///
    /// # Errors
    /// [`CouplingError::BadString`] unless the radius is positive and finite and there are at least
    /// two segments.
    pub fn new(radius: f64, segments: Segments, law: StringLaw) -> Result<Self, CouplingError> {
        if !(radius > 0.0 && radius.is_finite()) || segments.edges().len() < 3 {
            return Err(CouplingError::BadString { radius });
        }
        let (axial, transverse) = demagnetising::matrices(&segments, radius);
        let total = segments.nodes().len();
        let inner = |full: Vec<f64>| -> Vec<f64> {
            full.chunks_exact(total)
                .skip(1)
                .take(total - 2)
                .flat_map(|row| row[1..total - 1].iter().copied())
                .collect()
        };
        Ok(Self { radius, segments, law, axial: inner(axial), transverse: inner(transverse) })
    }

    /// Area of the magnetic section, m2.
    pub fn area(&self) -> f64 {
        PI * self.radius * self.radius
    }

    /// The nodes that carry magnetisation (all but the two ends): x from the middle of the string
    /// and volume, m and m3.
    pub(crate) fn inner_nodes(&self) -> (Vec<f64>, Vec<f64>) {
        let last = self.segments.nodes().len() - 1;
        let area = self.area();
        let x = self.segments.nodes()[1..last].to_vec();
        let volume = self.segments.weights()[1..last].iter().map(|w| area * w).collect();
        (x, volume)
    }
}
