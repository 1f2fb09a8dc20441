//! Tables of the file, their keys checked.
//!
//! In: the tree the TOML parser makes, with the place of every key and value. Out: [`Entry`]s, to
//! be read by type, or `None` with a [`Problem`] noted. Nothing stops at the first mistake: each
//! reader notes what is wrong and goes on, so that one run finds them all.

use std::ops::Range;

use toml::de::DeTable;

use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::lengths::brief;
use crate::section::notes::Notes;

/// A table of the file whose keys have been checked against those it may have.
pub(super) struct Table<'a> {
    what: String,
    span: Range<usize>,
    entries: &'a DeTable<'a>,
    /// Known keys that an unknown one was probably meant for: not noted as missing as well.
    meant: Vec<String>,
}

impl<'a> Table<'a> {
    /// The table, called `what` in messages. Keys that are not in `known` are noted.
    pub(super) fn new(
        what: impl Into<String>,
        span: Range<usize>,
        entries: &'a DeTable<'a>,
        known: &[&str],
        notes: &mut Notes,
    ) -> Self {
        let what = what.into();
        let mut meant = Vec::new();
        for key in entries.keys() {
            let name = key.get_ref().as_ref();
            if known.contains(&name) {
                continue;
            }
            let help = match notes.nearest(name, known.iter().copied()) {
                Some(near) => {
                    meant.push(near.to_owned());
                    format!("did you mean `{near}`?")
                }
                None => format!("it takes {}", any_of(known)),
            };
            let message = format!("unknown key `{}` in {what}", brief(name));
            notes.add(Problem::at(key.span(), message).help(help));
        }
        Self { what, span, entries, meant }
    }

    /// Where the table stands: its header, or the value of `name` where it has one.
    pub(super) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// What messages call it.
    pub(super) fn what(&self) -> &str {
        &self.what
    }

    /// Gives the table the name by which messages call it, and the place to point at.
    pub(super) fn rename(&mut self, what: String, span: Range<usize>) {
        self.what = what;
        self.span = span;
    }

    /// The value of a key, where it is there.
    pub(super) fn get(&self, key: &'static str) -> Option<Entry<'a>> {
        let (key_at, value) = self.entries.get_key_value(key)?;
        Some(Entry::new(key, key_at.span(), value))
    }

    /// The value of a key that has to be there; `example` shows how it is written.
    pub(super) fn require(
        &self,
        key: &'static str,
        example: &str,
        notes: &mut Notes,
    ) -> Option<Entry<'a>> {
        let entry = self.get(key);
        if entry.is_none() && !self.meant.iter().any(|m| m == key) {
            notes.add_missing(
                Problem::at(self.span(), format!("{} has no `{key}`", self.what))
                    .help(format!("add e.g. {key} = {example}")),
            );
        }
        entry
    }

    /// Those of `keys` that are there.
    pub(super) fn present(&self, keys: &[&'static str]) -> Vec<Entry<'a>> {
        keys.iter().filter_map(|key| self.get(key)).collect()
    }

    /// Notes every one of `keys` that is there though it makes no sense, because `reason`.
    pub(super) fn refuse(&self, keys: &[&'static str], reason: &str, notes: &mut Notes) {
        for entry in self.present(keys) {
            let message = format!("`{}` {reason}", entry.key());
            notes.add(Problem::at(entry.key_span(), message).help("leave it out"));
        }
    }
}

/// "`a`, `b` or `c`".
pub(super) fn any_of(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
    match quoted.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}
