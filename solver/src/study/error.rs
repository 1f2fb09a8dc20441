//! What can be wrong with a study.

/// Why a study cannot be made or a case not be written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum StudyError {
    /// What was typed is no key and values.
    #[error("cannot read `{typed}`: {reason}")]
    Unreadable {
        /// As typed.
        typed: String,
        /// What is wrong with it.
        reason: String,
    },
    /// The key leads nowhere in this file.
    #[error("`{key}` leads nowhere: {reason}")]
    NoSuchPlace {
        /// As typed.
        key: String,
        /// Where it goes wrong, and a way out.
        reason: String,
    },
    /// Values of keys that go side by side differ in number.
    #[error("side by side every key needs as many values: `{one}` has {ones}, `{other}` {others}")]
    Uneven {
        /// A key.
        one: String,
        /// Its number of values.
        ones: u64,
        /// Another key.
        other: String,
        /// Its number of values.
        others: u64,
    },
    /// The same key twice.
    #[error("`{0}` is varied twice")]
    Twice(String),
    /// More cases than anyone can want.
    #[error("the study has more than {0} cases")]
    TooMany(u64),
    /// Nothing is varied.
    #[error(
        "nothing is varied: name a key and its values, e.g. \"string.G3.gap = 1 mm to 4 mm in 16\""
    )]
    Nothing,
    /// Values are to be drawn, but not how many.
    #[error("`{0}` is drawn from a tolerance: say how many draws")]
    NoDraws(String),
    /// Draws are asked for, but nothing is drawn.
    #[error("no key is drawn from a tolerance, so there is nothing to draw")]
    IdleDraws,
    /// A quantity that is asked for does not exist.
    #[error("no number is called `{pattern}`; {way_out}")]
    NoQuantity {
        /// As typed.
        pattern: String,
        /// A way out.
        way_out: String,
    },
    /// The text of the section is no TOML.
    #[error("the section file cannot be edited: {0}")]
    Syntax(String),
}
