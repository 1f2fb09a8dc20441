//! What hangs on a coil, from what was typed.

use lodestring::study::signal::Parts;

use crate::args::circuit::Circuit;
use crate::error::CliError;
use crate::typed::positive;

/// Picofarad in farad.
const PF: f64 = 1e-12;

/// The parts of the circuit; `None` where no resistance was given.
///
/// # Errors
/// A value makes no circuit.
pub fn parts(typed: Circuit) -> Result<Option<Parts>, CliError> {
    if [typed.own_capacitance, typed.cable_capacitance].iter().any(|c| !c.is_finite() || *c < 0.0) {
        return Err(CliError::Usage("a capacitance cannot be negative".to_owned()));
    }
    let Some(resistance) = typed.resistance else { return Ok(None) };
    Ok(Some(Parts {
        inductance: typed.inductance.map(|l| positive("inductance", l)).transpose()?,
        resistance: positive("resistance", resistance)?,
        own_capacitance: typed.own_capacitance * PF,
        cable_capacitance: typed.cable_capacitance * PF,
        load: typed.load.map_or(Ok(f64::INFINITY), |l| positive("load", l))?,
    }))
}
