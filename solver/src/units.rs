//! Physical constants and the conversions used at the edges of the library.
//!
//! Inside, lengths are metres, flux density tesla, field strength A/m, flux weber, force newton.

/// Magnetic constant, H/m. CODATA 2022: 1.256 637 061 27(20)e-6.
pub const MU_0: f64 = 1.256_637_061_27e-6;

/// One millimetre in metres.
pub const MM: f64 = 1e-3;

/// One inch in metres, exact by definition (ISO 31-1 annex).
pub const INCH: f64 = 25.4e-3;
