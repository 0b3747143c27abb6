//! The first line of a table: which column is which.

use super::cells::Record;
use crate::mistake::Mistake;
use crate::text::{harmless, nearest};

/// Names of all columns, in the order in which they are written.
pub(super) const NAMES: [&str; 8] = ["from", "to", "reading", "how", "instrument", "note", "unit", "start"];

/// Those without which there is no table.
const NEEDED: [&str; 3] = ["from", "to", "reading"];

/// The column of each name of [`NAMES`] that the file has.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns([Option<usize>; NAMES.len()]);

impl Columns {
    /// Finds the columns by name; says what is unknown, named twice or missing.
    pub fn read(header: &Record<'_>) -> (Self, Vec<Mistake>) {
        let mut columns = Self([None; NAMES.len()]);
        let mut mistakes = Vec::new();
        let mut meant: Vec<&str> = Vec::new();
        for (i, cell) in header.cells.iter().enumerate().filter(|(_, c)| !c.text.is_empty()) {
            let name = cell.text.to_lowercase();
            let title = match NAMES.iter().position(|known| *known == name) {
                Some(k) if columns.0[k].is_none() => {
                    columns.0[k] = Some(i);
                    continue;
                }
                Some(_) => "this column is there twice",
                None => "unknown column",
            };
            let mut mistake = Mistake::new(cell.span.clone(), title)
                .found(format!("`{}`", harmless(&cell.text)))
                .expected(format!("each at most once: {}", NAMES.join(", ")));
            if let Some(near) = nearest(&name, NAMES).filter(|near| *near != name) {
                mistake = mistake.help(format!("did you mean `{near}`?"));
                meant.push(near);
            }
            mistakes.push(mistake);
        }
        let absent = |name: &&str| columns.of(name).is_none() && !meant.contains(name);
        let missing: Vec<String> =
            NEEDED.into_iter().filter(absent).map(|name| format!("`{name}`")).collect();
        if !missing.is_empty() {
            let title = format!("there is no column {}", missing.join(", "));
            mistakes.push(
                Mistake::new(header.span.clone(), title)
                    .expected("a first line with the names of the columns, such as from,to,reading"),
            );
        }
        (columns, mistakes)
    }

    /// The column of that name, from 0.
    pub fn of(&self, name: &str) -> Option<usize> {
        NAMES.iter().position(|n| *n == name).and_then(|k| self.0[k])
    }
}
