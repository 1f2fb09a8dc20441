//! Mistakes in a section file, said so that a person can mend them.
//!
//! Every stage that reads the section returns all the problems it finds, each with its place in
//! the file and a way out. Messages are lowercase sentences without a full stop.

use std::ops::Range;

/// One mistake: what is wrong, where, and what to do about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// What is wrong, e.g. "unknown material `stel` for part `rod`".
    pub message: String,
    /// Byte range in the section text, where the problem has a place.
    pub span: Option<Range<usize>>,
    /// A way out, e.g. "did you mean `steel`?".
    pub help: Option<String>,
}

impl Problem {
    /// A problem at `span`.
    pub fn at(span: Range<usize>, message: impl Into<String>) -> Self {
        Self { message: message.into(), span: Some(span), help: None }
    }

    /// A problem of the file as a whole.
    pub fn general(message: impl Into<String>) -> Self {
        Self { message: message.into(), span: None, help: None }
    }

    /// Adds a way out.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}
