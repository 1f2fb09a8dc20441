//! The problems found while a section file is read.

use std::ops::Range;

use crate::problem::{Problem, line_and_column};
use crate::section::suggest::nearest;

/// More problems than this are not noted: nobody reads them, and they cost memory.
const MOST_PROBLEMS: usize = 2_000;
/// Searches for a near name are worth their time only for the first mistakes.
const MOST_SUGGESTIONS: usize = 200;

/// The problems found so far.
pub(super) struct Notes<'a> {
    /// In the order in which they were found.
    pub problems: Vec<Problem>,
    text: &'a str,
    broken_syntax: bool,
    suggestions: usize,
}

impl<'a> Notes<'a> {
    /// An empty list for `text`. Where its syntax is broken, what is missing is not noted: it may
    /// stand in the part that could not be read.
    pub(super) fn new(text: &'a str, broken_syntax: bool) -> Self {
        Self { problems: Vec::new(), text, broken_syntax, suggestions: 0 }
    }

    /// Notes a problem.
    pub(super) fn add(&mut self, problem: Problem) {
        if self.problems.len() < MOST_PROBLEMS {
            self.problems.push(problem);
        }
    }

    /// Notes that something is not there.
    pub(super) fn add_missing(&mut self, problem: Problem) {
        if !self.broken_syntax {
            self.add(problem);
        }
    }

    /// "did you mean `x`?", or `otherwise` where nothing is near.
    pub(super) fn did_you_mean<'c>(
        &mut self,
        typed: &str,
        candidates: impl IntoIterator<Item = &'c str> + Clone,
        otherwise: &str,
    ) -> String {
        match self.nearest(typed, candidates) {
            Some(near) => format!("did you mean `{near}`?"),
            None => otherwise.to_owned(),
        }
    }

    /// The candidate nearest to `typed`, where one is near.
    pub(super) fn nearest<'c>(
        &mut self,
        typed: &str,
        candidates: impl IntoIterator<Item = &'c str> + Clone,
    ) -> Option<&'c str> {
        self.suggestions += 1;
        if self.suggestions > MOST_SUGGESTIONS { None } else { nearest(typed, candidates) }
    }

    /// Number of the line on which `span` starts, from 1.
    pub(super) fn line(&self, span: &Range<usize>) -> usize {
        line_and_column(self.text, span.start).0
    }
}
