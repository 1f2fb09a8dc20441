//! Tests of whole section files: what sound ones mean, and what is said of mistakes.

mod any_text;
mod instruments;
mod meaning;
mod mistakes_in_solids;
mod mistakes_in_values;
mod said;
