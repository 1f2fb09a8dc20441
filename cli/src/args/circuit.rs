//! What hangs on a coil, as typed.

use clap::Args;

/// Options of the circuit.
#[derive(Clone, Copy, Debug, Args)]
pub struct Circuit {
    /// Resistance of the coil in ohm: puts the circuit behind the coil
    #[arg(long, value_name = "OHM")]
    pub resistance: Option<f64>,

    /// Inductance of the coil in henry, instead of the section's own
    #[arg(long, hide_short_help = true, value_name = "H", requires = "resistance")]
    pub inductance: Option<f64>,

    /// Own capacitance of the coil in picofarad
    #[arg(long, hide_short_help = true, value_name = "PF", default_value_t = 100.0)]
    pub own_capacitance: f64,

    /// Capacitance of the cable in picofarad
    #[arg(long, hide_short_help = true, value_name = "PF", default_value_t = 500.0)]
    pub cable_capacitance: f64,

    /// Load in ohm; without it, none
    #[arg(long, hide_short_help = true, value_name = "OHM", requires = "resistance")]
    pub load: Option<f64>,
}
