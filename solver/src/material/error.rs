//! Why a set of material data can't be a law.

use thiserror::Error;

use crate::units::MU_0;

/// Most points a table may have.
const MOST_POINTS: usize = 100_000;

/// What is wrong with a material's data. Messages are lowercase fragments that follow a name.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum LawError {
    /// A number outside what its quantity can be.
    #[error("{what} is {value}{unit}, outside the range {low} to {high}{unit}")]
    OutOfRange {
        /// The quantity, with its article.
        what: &'static str,
        /// What was given, in `unit`.
        value: f64,
        /// Least allowed.
        low: f64,
        /// Greatest allowed.
        high: f64,
        /// Unit with a leading space, or empty.
        unit: String,
    },
    /// The two columns of a table differ in length.
    #[error("{h} values of h but {b} of b")]
    UnevenColumns {
        /// Number of field strengths.
        h: usize,
        /// Number of flux densities.
        b: usize,
    },
    /// Too few or too many points.
    #[error("a curve needs from 2 to {MOST_POINTS} points, and {0} are given")]
    PointCount(usize),
    /// A table with a value that is no number.
    #[error("point {0} has a value that is not a finite number")]
    NotFinite(usize),
    /// A table that does not rise.
    #[error("{column} does not rise from point {point} to point {next}", next = point + 1)]
    NotRising {
        /// `h` or `b`.
        column: &'static str,
        /// First of the two points, counted from 1.
        point: usize,
    },
    /// A table that rises by less than empty space would.
    #[error(
        "from point {point} to point {next} b rises by {} T, less than mu_0 times the rise of h, {} T",
        figures(*rise),
        figures(*least),
        next = point + 1
    )]
    TooFlat {
        /// First of the two points, counted from 1.
        point: usize,
        /// Rise of B, T.
        rise: f64,
        /// mu_0 times the rise of H, T.
        least: f64,
    },
    /// A soft material's table that does not begin at the origin.
    #[error("the curve begins at {h} A/m, {b} T and not at 0, 0")]
    NotFromZero {
        /// First field strength, A/m.
        h: f64,
        /// First flux density, T.
        b: f64,
    },
    /// A magnet's data that contradict each other.
    #[error("{0}")]
    Contradiction(String),
}

impl LawError {
    /// A way out, in words.
    pub fn help(&self) -> &'static str {
        match self {
            Self::OutOfRange { .. } => {
                "check the unit: T, kA/m and kJ/m3, or A/m where the key says so"
            }
            Self::UnevenColumns { .. } => "give each point one h and one b",
            Self::PointCount(_) => "give at least two points",
            Self::NotFinite(_) => "write each value as a plain number",
            Self::NotRising { .. } => "sort the points, and leave out those that repeat",
            Self::TooFlat { .. } => {
                "b has to rise by at least mu_0 h; is the table J instead of B, or kA/m instead of A/m?"
            }
            Self::NotFromZero { .. } => "add the point h = 0, b = 0",
            Self::Contradiction(_) => "compare with the maker's data sheet",
        }
    }

    /// Fails unless `value` is a number from `low` to `high`. `unit` without a leading space.
    pub(super) fn check_range(
        what: &'static str,
        value: f64,
        low: f64,
        high: f64,
        unit: &str,
    ) -> Result<(), Self> {
        if value >= low && value <= high {
            return Ok(());
        }
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        Err(Self::OutOfRange { what, value, low, high, unit })
    }

    /// Fails unless the points rise in both columns, B by mu_0 times the rise of H at least.
    pub(super) fn check_points(h: &[f64], b: &[f64]) -> Result<(), Self> {
        if h.len() != b.len() {
            return Err(Self::UnevenColumns { h: h.len(), b: b.len() });
        }
        if h.len() < 2 || h.len() > MOST_POINTS {
            return Err(Self::PointCount(h.len()));
        }
        if let Some(i) = (0..h.len()).find(|&i| !(h[i].is_finite() && b[i].is_finite())) {
            return Err(Self::NotFinite(i + 1));
        }
        for i in 0..h.len() {
            Self::check_range("a field strength of the curve", h[i], -1e9, 1e9, "A/m")?;
            Self::check_range("a flux density of the curve", b[i], -1e4, 1e4, "T")?;
        }
        for i in 0..h.len() - 1 {
            let (rise, least) = (b[i + 1] - b[i], MU_0 * (h[i + 1] - h[i]));
            if least <= 0.0 {
                return Err(Self::NotRising { column: "h", point: i + 1 });
            }
            if rise <= 0.0 {
                return Err(Self::NotRising { column: "b", point: i + 1 });
            }
            // One part in 1e6: a table rounded to seven figures may lie that far below.
            if rise < least * (1.0 - 1e-6) {
                return Err(Self::TooFlat { point: i + 1, rise, least });
            }
        }
        Ok(())
    }
}

/// A number for a message: four figures, no zeros at the end.
pub(super) fn figures(value: f64) -> String {
    let digits = if value == 0.0 { 0.0 } else { 3.0 - value.abs().log10().floor() };
    let text = format!("{value:.*}", digits.clamp(0.0, 9.0) as usize);
    if text.contains('.') {
        return text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    text
}
