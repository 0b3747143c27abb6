//! Cells of a table, each with its place in the text (RFC 4180, read with patience).

use std::borrow::Cow;
use std::ops::Range;

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell<'t> {
    /// Its text: quotes undone, blanks around it taken off.
    pub text: Cow<'t, str>,
    /// Its bytes in the file, without quotes and blanks around it.
    pub span: Range<usize>,
    /// Its bytes in the file from separator to separator.
    pub whole: Range<usize>,
}

/// One line of cells; a quoted cell may hold line ends.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Record<'t> {
    /// Line on which it begins, from 1.
    pub line: usize,
    /// Its bytes, without the line end.
    pub span: Range<usize>,
    /// Its cells; at least one.
    pub cells: Vec<Cell<'t>>,
    /// An opening quote that nothing closes; the rest of its line was taken as it stands.
    pub unclosed_quote: Option<usize>,
}

impl Record<'_> {
    /// Nothing but separators and blanks?
    pub fn is_blank(&self) -> bool {
        self.cells.iter().all(|c| c.text.is_empty())
    }
}

/// Walks the records of a text.
#[derive(Debug)]
pub(super) struct Records<'t> {
    text: &'t str,
    separator: u8,
    at: usize,
    line: usize,
}

impl<'t> Records<'t> {
    /// All records of a text; the separator is an ASCII character.
    pub fn new(text: &'t str, separator: u8) -> Self {
        Self { text, separator, at: 0, line: 1 }
    }

    /// A cell from `self.at`; leaves `self.at` on the separator or line end behind it.
    fn cell(&mut self, unclosed_quote: &mut Option<usize>) -> Cell<'t> {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let open = start + bytes[start..].iter().take_while(|b| **b == b' ').count();
        if bytes.get(open) == Some(&b'"') {
            match closing_quote(bytes, open + 1) {
                Some(close) => {
                    let rest = self.bare_end(close + 1);
                    self.at = rest;
                    let after = self.text[close + 1..rest].trim();
                    let inside = &self.text[open + 1..close];
                    let text = if inside.contains('"') || !after.is_empty() {
                        Cow::Owned((inside.replace("\"\"", "\"") + after).trim().to_owned())
                    } else {
                        Cow::Borrowed(inside.trim())
                    };
                    return Cell { text, span: open + 1..close, whole: start..rest };
                }
                None => *unclosed_quote = Some(open),
            }
        }
        let end = self.bare_end(start);
        self.at = end;
        let raw = &self.text[start..end];
        let text = raw.trim();
        let from = start + (raw.len() - raw.trim_start().len());
        Cell { text: Cow::Borrowed(text), span: from..from + text.len(), whole: start..end }
    }

    /// The next separator or line end.
    fn bare_end(&self, from: usize) -> usize {
        let bytes = self.text.as_bytes();
        let stop = |b: &u8| *b == self.separator || *b == b'\n';
        bytes[from..].iter().position(stop).map_or(bytes.len(), |n| from + n)
    }
}

/// The quote that closes a cell: the first that is not doubled.
fn closing_quote(bytes: &[u8], mut at: usize) -> Option<usize> {
    loop {
        at += bytes[at..].iter().position(|b| *b == b'"')?;
        if bytes.get(at + 1) != Some(&b'"') {
            return Some(at);
        }
        at += 2;
    }
}

impl<'t> Iterator for Records<'t> {
    type Item = Record<'t>;

    fn next(&mut self) -> Option<Record<'t>> {
        let bytes = self.text.as_bytes();
        if self.at >= bytes.len() {
            return None;
        }
        let (start, line) = (self.at, self.line);
        let (mut cells, mut unclosed_quote) = (Vec::new(), None);
        loop {
            cells.push(self.cell(&mut unclosed_quote));
            if bytes.get(self.at) != Some(&self.separator) {
                break;
            }
            self.at += 1;
        }
        let end = start + self.text[start..self.at].trim_end_matches('\r').len();
        self.line += bytes[start..self.at].iter().filter(|b| **b == b'\n').count() + 1;
        self.at += 1;
        Some(Record { line, span: start..end, cells, unclosed_quote })
    }
}

/// The character that separates cells, judged by the line of column names; `None` when it has none.
pub(super) fn separator(header: &str) -> Option<u8> {
    let mut quoted = false;
    let mut counts = [(b',', 0), (b';', 0), (b'\t', 0)];
    for b in header.bytes() {
        quoted ^= b == b'"';
        if let Some((_, n)) = counts.iter_mut().find(|(c, _)| *c == b && !quoted) {
            *n += 1;
        }
    }
    counts.into_iter().max_by_key(|(_, n)| *n).filter(|(_, n)| *n > 0).map(|(c, _)| c)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        Records::new(text, b',').map(|r| r.cells.into_iter().map(|c| c.text.into_owned()).collect()).collect()
    }

    #[test]
    fn quotes_blanks_and_line_ends() {
        assert_eq!(
            cells("a, b ,\"c,d\"\r\n\r\nx,\"1\"\"\",y"),
            [vec!["a", "b", "c,d"], vec![""], vec!["x", "1\"", "y"]]
        );
        // An inch mark inside a bare cell is no quote.
        assert_eq!(cells("A1,4' 5/8\",x\n"), [["A1", "4' 5/8\"", "x"]]);
        let records: Vec<Record> = Records::new("a,\"two\nlines\",b\nc,\"open,d\ne,f\n", b',').collect();
        assert_eq!(records.iter().map(|r| r.line).collect::<Vec<_>>(), [1, 3, 4]);
        assert_eq!(records[0].cells[1].text, "two\nlines");
        assert_eq!(records[1].unclosed_quote, Some(18));
        assert_eq!(records[1].cells.iter().map(|c| &*c.text).collect::<Vec<_>>(), ["c", "\"open", "d"]);
    }

    #[test]
    fn the_separator_is_the_commonest() {
        assert_eq!(separator("from,to,reading"), Some(b','));
        assert_eq!(separator("from;to;\"a,b,c,d\";reading"), Some(b';'));
        assert_eq!(separator("from\tto\treading"), Some(b'\t'));
        assert_eq!(separator("from"), None);
    }

    proptest! {
        /// Whatever the csv crate writes comes back the same, with spans that cover the cells' text.
        #[test]
        fn agrees_with_the_csv_crate(table in prop::collection::vec(
            prop::collection::vec("[a-z0-9\"',;\n½ ]{0,8}", 3), 1..6
        )) {
            let mut writer = csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
            for row in &table {
                writer.write_record(row).unwrap();
            }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            let trimmed: Vec<Vec<String>> =
                table.iter().map(|r| r.iter().map(|c| c.trim().to_owned()).collect()).collect();
            prop_assert_eq!(cells(&text), trimmed);
            for cell in Records::new(&text, b',').flat_map(|r| r.cells) {
                let covered = text[cell.span.clone()].replace("\"\"", "\"");
                prop_assert_eq!(covered.trim(), &*cell.text);
            }
        }
    }
}
