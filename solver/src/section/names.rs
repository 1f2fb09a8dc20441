//! Names: each part, coil and string has its own.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::problem::Problem;
use crate::section::notes::Notes;
use crate::section::reader::Table;

/// Names that are taken, with the place where each was given.
#[derive(Default)]
pub(super) struct Names {
    taken: BTreeMap<String, Range<usize>>,
}

impl Names {
    /// Takes `name` for what stands at `span`; notes a problem where it is taken already.
    pub(super) fn take(&mut self, name: &str, span: &Range<usize>, notes: &mut Notes) -> bool {
        if let Some(first) = self.taken.get(name) {
            let line = notes.line(first);
            notes.add(
                Problem::at(span.clone(), format!("the name `{name}` is taken already"))
                    .help(format!("line {line} has it; give each one its own name")),
            );
            return false;
        }
        self.taken.insert(name.to_owned(), span.clone());
        true
    }

    /// Reads the `name` of a table, takes it, and lets messages call the table by it.
    pub(super) fn read(
        &mut self,
        kind: &str,
        example: &str,
        table: &mut Table,
        notes: &mut Notes,
    ) -> Option<String> {
        let entry = table.require("name", example, notes)?;
        let name = entry.name(example, notes)?;
        table.rename(format!("{kind} `{name}`"), entry.span());
        self.take(name, &entry.span(), notes).then(|| name.to_owned())
    }
}
