//! Changes to single cells of a table. Everything else stays as the person left it: columns, their order, the
//! separator, line ends, every other cell.

use super::cells::{Cell, Record, Records, separator};
use super::columns::Columns;
use super::write::{guarded, one_line};
use std::borrow::Cow;
use std::ops::Range;

/// Cells by the names of their columns, with what is to stand in them.
pub type Cells<'a> = [(&'a str, &'a str)];

/// The same table with some cells of the row on `line` rewritten; columns that are missing are added behind the
/// others. `None` when the text is no table or has no row on that line.
pub fn rewrite(text: &str, line: usize, cells: &Cells<'_>) -> Option<String> {
    let text = with_columns(text, cells)?;
    let table = Parts::of(&text)?;
    let record = table.row(line)?;
    let mut changes: Vec<(usize, Cow<'_, str>)> = Vec::new();
    for (name, value) in cells {
        changes.push((table.columns.of(name)?, table.cell(name, value)));
    }
    changes.sort_by_key(|(column, _)| *column);
    let mut out = String::with_capacity(text.len() + 64);
    let mut copied = 0;
    let (inside, beyond): (Vec<_>, Vec<_>) =
        changes.into_iter().partition(|(column, _)| *column < record.cells.len());
    for (column, value) in inside {
        let place = bytes_of(&record.cells[column], record);
        out.push_str(&text[copied..place.start]);
        out.push_str(&value);
        copied = place.end;
    }
    out.push_str(&text[copied..record.span.end.max(copied)]);
    let mut width = record.cells.len();
    for (column, value) in beyond {
        while width <= column {
            out.push(table.separator);
            width += 1;
        }
        out.push_str(&value);
    }
    out.push_str(&text[record.span.end.max(copied)..]);
    Some(out)
}

/// The same table with one more row below the one on `line`, or below all of them.
pub fn insert_below(text: &str, line: Option<usize>, cells: &Cells<'_>) -> Option<String> {
    let text = with_columns(text, cells)?;
    let table = Parts::of(&text)?;
    let above = match line {
        Some(line) => table.row(line)?,
        None => table.rows.last().unwrap_or(&table.header),
    };
    let mut row = vec![Cow::Borrowed(""); table.header.cells.len()];
    for (name, value) in cells {
        row[table.columns.of(name)?] = table.cell(name, value);
    }
    let end = above.span.end;
    let line_end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let row = row.join(&table.separator.to_string());
    Some([&text[..end], line_end, &row, &text[end..]].concat())
}

/// May `1,234` be one and a bit in this table? Not where commas separate its cells.
pub fn takes_decimal_comma(text: &str) -> bool {
    Parts::of(text).is_some_and(|table| table.separator != ',')
}

/// The table with a header for every column that is named.
fn with_columns<'t>(text: &'t str, cells: &Cells<'_>) -> Option<Cow<'t, str>> {
    let table = Parts::of(text)?;
    let missing: String = cells
        .iter()
        .filter(|(name, _)| table.columns.of(name).is_none())
        .map(|(name, _)| format!("{}{name}", table.separator))
        .collect();
    let end = table.header.span.end;
    Some(if missing.is_empty() {
        Cow::Borrowed(text)
    } else {
        Cow::Owned([&text[..end], &missing, &text[end..]].concat())
    })
}

/// A table, cut up.
struct Parts<'t> {
    separator: char,
    columns: Columns,
    header: Record<'t>,
    rows: Vec<Record<'t>>,
}

impl<'t> Parts<'t> {
    fn of(text: &'t str) -> Option<Self> {
        let header_line = text.lines().find(|l| !l.trim().is_empty())?;
        let separator = separator(header_line)?;
        let mut records = Records::new(text, separator).filter(|r| !r.is_blank());
        let header = records.next()?;
        let (columns, _) = Columns::read(&header);
        Some(Self { separator: char::from(separator), columns, header, rows: records.collect() })
    }

    fn row(&self, line: usize) -> Option<&Record<'t>> {
        self.rows.iter().find(|r| r.line == line)
    }

    /// A value as a cell of this table.
    fn cell<'v>(&self, name: &str, value: &'v str) -> Cow<'v, str> {
        let value = value.trim();
        let value = if name == "note" { Cow::Owned(one_line(&guarded(value))) } else { Cow::Borrowed(value) };
        if value.contains([self.separator, '"', '\n', '\r']) {
            Cow::Owned(format!("\"{}\"", value.replace('"', "\"\"")))
        } else {
            value
        }
    }
}

/// Bytes of a cell, without a line end of two characters that a last cell has in it.
fn bytes_of(cell: &Cell<'_>, record: &Record<'_>) -> Range<usize> {
    let end = cell.whole.end.min(record.span.end);
    cell.whole.start.min(end)..end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_cell_changes_and_nothing_else() {
        // Semicolons, an order of its own, CRLF, a column of blanks, a quoted note, no line end at the last row.
        let text = "to;from; reading ;note;\r\nG5;A1; ;\"a \"\"b\"\"; c\"\r\n\r\nB1;A1;12,5;;\r\nC1;A1";
        assert_eq!(
            rewrite(text, 2, &[("reading", "2528,5")]).unwrap(),
            text.replace("G5;A1; ;", "G5;A1;2528,5;")
        );
        assert_eq!(rewrite(text, 4, &[("note", "")]).unwrap(), text);
        assert_eq!(
            rewrite(text, 4, &[("note", "=rim torn")]).unwrap(),
            text.replace("12,5;", "12,5;'=rim torn")
        );
        assert_eq!(rewrite(text, 5, &[("reading", "48 5/8\"")]).unwrap(), format!("{text};\"48 5/8\"\"\""));
        let both = rewrite(text, 5, &[("start", "100"), ("reading", "7")]).unwrap();
        assert_eq!(both, text.replace("note;", "note;;start") + ";7;;;100");
        assert_eq!(rewrite(text, 3, &[("reading", "1")]), None);
        assert_eq!(rewrite("", 1, &[("reading", "1")]), None);
    }

    #[test]
    fn a_row_is_put_below_another_or_at_the_end() {
        let text = "reading,from,to\r\n,A1,B1\r\n,A1,G5\r\n";
        let row = [("from", "B1"), ("to", "A1")];
        assert_eq!(
            insert_below(text, Some(2), &row).unwrap(),
            "reading,from,to\r\n,A1,B1\r\n,B1,A1\r\n,A1,G5\r\n"
        );
        assert_eq!(insert_below(text, None, &row).unwrap(), format!("{text},B1,A1\r\n"));
        assert_eq!(insert_below("from,to,reading", None, &row).unwrap(), "from,to,reading\nB1,A1,");
    }
}
