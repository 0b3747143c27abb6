//! A mistake in a file, as a value: where it stands, what was found, what was expected, what may help.
//!
//! Readers collect mistakes instead of stopping at the first one; the program turns them into text with the
//! line of the file underlined. Nothing here knows which file, or how a mistake is shown.

use std::ops::Range;

/// Whether a mistake stops the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// The file cannot be used.
    Error,
    /// The file can be used, but the person should look.
    Warning,
}

/// One mistake in the text of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Mistake {
    /// Does it stop the work?
    pub severity: Severity,
    /// Short name of what is wrong, e.g. `reading is not a length`.
    pub title: String,
    /// Bytes of the decoded text it concerns; empty for a place, `0..0` for the file as a whole.
    pub span: Range<usize>,
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What was found there.
    pub found: String,
    /// What was expected there.
    pub expected: String,
    /// What the person may do, when something better than `expected` can be said.
    pub help: Option<String>,
}

impl Mistake {
    /// A mistake at a byte range of `text`; line and column are worked out from it.
    pub fn at(text: &str, span: Range<usize>, title: impl Into<String>) -> Self {
        let (line, column) = line_and_column(text, span.start);
        Self { line, column, ..Self::new(span, title) }
    }

    /// A mistake at a byte range whose line and column are worked out later, by [`in_order`].
    pub fn new(span: Range<usize>, title: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            title: title.into(),
            span,
            line: 1,
            column: 1,
            found: String::new(),
            expected: String::new(),
            help: None,
        }
    }

    /// Says what was found.
    pub fn found(mut self, found: impl Into<String>) -> Self {
        self.found = found.into();
        self
    }

    /// Says what was expected.
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = expected.into();
        self
    }

    /// Says what may help.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Turns it into a warning.
    pub fn warning(mut self) -> Self {
        self.severity = Severity::Warning;
        self
    }
}

/// What a reader hands back: the value and warnings, or everything that is wrong, both in the order of the text.
pub type Read<T> = Result<(T, Vec<Mistake>), Vec<Mistake>>;

/// Most mistakes that a reader collects; a file with more has one cause, not a thousand.
pub const MOST: usize = 1000;

/// Puts mistakes in the order of the text and works out line and column of each, in one sweep. Spans are brought
/// to whole characters of the text.
pub fn in_order(text: &str, mut mistakes: Vec<Mistake>) -> Vec<Mistake> {
    mistakes.sort_by_key(|m| (m.span.start, m.span.end));
    let (mut line, mut line_start, mut swept) = (1, 0, 0);
    for mistake in &mut mistakes {
        let start = boundary(text, mistake.span.start);
        mistake.span = start..boundary_after(text, mistake.span.end).max(start);
        for (i, _) in text[swept..start].match_indices('\n') {
            line += 1;
            line_start = swept + i + 1;
        }
        swept = start;
        mistake.line = line;
        mistake.column = text[line_start..start].chars().count() + 1;
    }
    mistakes
}

/// The nearest place between two characters at or before an offset.
fn boundary(text: &str, offset: usize) -> usize {
    let mut end = offset.min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    end
}

/// The nearest place between two characters at or after an offset.
fn boundary_after(text: &str, offset: usize) -> usize {
    (offset..text.len()).find(|i| text.is_char_boundary(*i)).unwrap_or(text.len())
}

/// Line and column (both from 1, column in characters) of a byte offset; an offset inside a character or past
/// the end counts as the nearest place before it.
pub fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let before = &text[..boundary(text, offset)];
    let line_start = before.rfind('\n').map_or(0, |i| i + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_sweep_finds_the_same_places_as_one_by_one() {
        let text = "from,to\r\nA½,B\n\nlast";
        let spans = (0..=text.len() + 2).rev().map(|i| i..i);
        let swept = in_order(text, spans.map(|s| Mistake::new(s, "")).collect());
        assert_eq!(swept.len(), text.len() + 3);
        for m in swept {
            assert_eq!((m.line, m.column), line_and_column(text, m.span.start), "{:?}", m.span);
        }
    }
}
