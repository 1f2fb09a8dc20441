//! The voltage a moving string makes in a coil.
//!
//! ```text
//! V(t) = dLambda/dt = sum_i w_i (dLambda/dy(u_i) v_y,i + dLambda/dz(u_i) v_z,i)
//! ```
//!
//! over the places x_p + x_i of the aperture, u and v displacement and velocity of the string there.
//! The gradients are taken at the displaced place, not at rest: all harmonics that the field's
//! curvature makes are in it. The sign is that of a growing linkage; which end of the coil is hot
//! turns it round. Open coil: no current flows.

use rayon::prelude::*;

use crate::strings::signal::aperture::Aperture;
use crate::strings::signal::linkage_map::LinkageMap;
use crate::strings::signal::motion::Motion;

/// Samples worked on by one thread at a time.
const CHUNK: usize = 1024;

/// A coil as a string sees it.
#[derive(Clone, Debug)]
pub struct Pickup {
    /// Distance of its middle from the bridge along this string, m.
    pub place: f64,
    /// Where along the string it listens.
    pub aperture: Aperture,
    /// Its linkage against the displacement of the string.
    pub map: LinkageMap,
}

/// Why no voltage can be told.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum VoltageError {
    /// The string leaves the box in which the linkage is known.
    #[error(
        "the string may swing {:.3} mm sideways and {:.3} mm up and down at the pickup, beyond \
         the displacements for which the linkage is known", .reach[0] * 1e3, .reach[1] * 1e3
    )]
    TooWide {
        /// Largest possible displacement at the pickup, sideways and up, m.
        reach: [f64; 2],
    },
    /// The pickup does not lie between the bridge and the fret.
    #[error(
        "the pickup at {:.1} mm from the bridge is not under the speaking length of {:.1} mm",
        .place * 1e3, .length * 1e3
    )]
    OffString {
        /// Distance from the bridge, m.
        place: f64,
        /// Speaking length, m.
        length: f64,
    },
}

impl Pickup {
    /// Voltage at `count` times `start`, `start + step`, ... (s), V.
    ///
    /// # Errors
    /// The string may leave the box of the linkage map, or the pickup is not under it.
    pub fn voltage(
        &self,
        motion: &Motion,
        start: f64,
        step: f64,
        count: usize,
    ) -> Result<Vec<f64>, VoltageError> {
        self.check(motion)?;
        let shapes = self.shapes(motion);
        let partials = motion.partials.len();
        let mut voltage = vec![0.0; count];
        voltage.par_chunks_mut(CHUNK).enumerate().for_each(|(chunk, out)| {
            let mut values = Vec::with_capacity(partials);
            for (i, v) in out.iter_mut().enumerate() {
                motion.amplitudes(start + step * (chunk * CHUNK + i) as f64, &mut values);
                *v = 0.0;
                for (weight, shape) in self.aperture.weights.iter().zip(&shapes) {
                    let mut sum = [0.0; 4];
                    for (value, s) in values.iter().zip(shape) {
                        for k in 0..4 {
                            sum[k] += value[k] * s;
                        }
                    }
                    let displacement = motion.in_section([sum[0], sum[1]]);
                    let velocity = motion.in_section([sum[2], sum[3]]);
                    let (_, gradient) = self.map.at(displacement);
                    *v += weight * (gradient[0] * velocity[0] + gradient[1] * velocity[1]);
                }
            }
        });
        Ok(voltage)
    }

    /// Linkage at the time `t` (s), Wb-turns.
    ///
    /// # Errors
    /// As for [`Self::voltage`].
    pub fn linkage(&self, motion: &Motion, t: f64) -> Result<f64, VoltageError> {
        self.check(motion)?;
        let mut values = Vec::new();
        motion.amplitudes(t, &mut values);
        let linkage = |shape: &Vec<f64>| {
            let sum = |k: usize| values.iter().zip(shape).map(|(v, s)| v[k] * s).sum();
            self.map.at(motion.in_section([sum(0), sum(1)])).0
        };
        let shapes = self.shapes(motion);
        Ok(self.aperture.weights.iter().zip(&shapes).map(|(w, s)| w * linkage(s)).sum())
    }

    /// Shapes of the partials at every place of the aperture. Beyond the bridge and the fret the
    /// string is still.
    fn shapes(&self, motion: &Motion) -> Vec<Vec<f64>> {
        self.aperture
            .offsets
            .iter()
            .map(|offset| motion.shapes((self.place + offset).clamp(0.0, motion.length)))
            .collect()
    }

    fn check(&self, motion: &Motion) -> Result<(), VoltageError> {
        if !(self.place > 0.0 && self.place < motion.length) {
            return Err(VoltageError::OffString { place: self.place, length: motion.length });
        }
        let mut reach = [0.0_f64; 2];
        for offset in &self.aperture.offsets {
            let there = motion.reach((self.place + offset).clamp(0.0, motion.length));
            for d in 0..2 {
                reach[d] = reach[d].max(there[d]);
            }
        }
        let corners =
            [[1.0, 1.0], [-1.0, -1.0]].map(|s: [f64; 2]| [s[0] * reach[0], s[1] * reach[1]]);
        if corners.iter().all(|c| self.map.holds(*c)) {
            Ok(())
        } else {
            Err(VoltageError::TooWide { reach })
        }
    }
}
