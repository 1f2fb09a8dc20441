//! Paths to values of a section file.
//!
//! In: "string.G3.gap", "part.rod 2.at.y", "coil.coil.window.1.rectangle.width", "temperature_C".
//! Steps are parted by dots; a step that holds a dot is written in double quotes. A step into a list
//! of tables is the `name` of one of them, or its number from 1; into a plain list its number from 1,
//! or x and y for a place.

use std::fmt;

use crate::study::error::StudyError;

/// Most steps of a path; no value of a section file lies deeper.
const DEEPEST: usize = 12;

/// A path to a value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyPath {
    steps: Vec<String>,
}

impl KeyPath {
    /// Reads a path.
    ///
    /// # Errors
    /// [`StudyError::Unreadable`] where a step is empty or a quote is not closed.
    pub fn parse(typed: &str) -> Result<Self, StudyError> {
        let wrong = |reason: &str| StudyError::Unreadable {
            typed: typed.trim().to_owned(),
            reason: reason.to_owned(),
        };
        let mut steps = Vec::new();
        let mut rest = typed.trim();
        loop {
            let (step, after) = if let Some(quoted) = rest.strip_prefix('"') {
                let (step, after) =
                    quoted.split_once('"').ok_or_else(|| wrong("a quote is not closed"))?;
                (step, after.trim_start())
            } else {
                let end = rest.find('.').unwrap_or(rest.len());
                (rest[..end].trim(), &rest[end..])
            };
            if step.is_empty() {
                return Err(wrong("a step of the key is empty; write e.g. string.G3.gap"));
            }
            steps.push(step.to_owned());
            if steps.len() > DEEPEST {
                return Err(wrong("the key has too many steps"));
            }
            match after.strip_prefix('.') {
                Some(more) => rest = more.trim_start(),
                None if after.is_empty() => return Ok(Self { steps }),
                None => return Err(wrong("a dot is missing after a quote")),
            }
        }
    }

    /// The steps.
    pub fn steps(&self) -> &[String] {
        &self.steps
    }
}

impl fmt::Display for KeyPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.steps.iter().enumerate() {
            let dot = if i == 0 { "" } else { "." };
            if step.contains('.') {
                write!(f, "{dot}\"{step}\"")?;
            } else {
                write!(f, "{dot}{step}")?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_read_and_written_alike() {
        for (typed, steps) in [
            ("temperature_C", vec!["temperature_C"]),
            ("string.G3.gap", vec!["string", "G3", "gap"]),
            (" part . rod 2 .at.y", vec!["part", "rod 2", "at", "y"]),
            ("string.\"E 4.a\".gap", vec!["string", "E 4.a", "gap"]),
        ] {
            let path = KeyPath::parse(typed).expect("good");
            assert_eq!(path.steps(), steps);
            assert_eq!(KeyPath::parse(&path.to_string()), Ok(path));
        }
        for bad in ["", ".", "a..b", "a.", "\"a", "\"a\"b", &"a.".repeat(20)] {
            assert!(matches!(KeyPath::parse(bad), Err(StudyError::Unreadable { .. })), "{bad}");
        }
    }
}
