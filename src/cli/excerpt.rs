//! A line of a file with one mistake underlined, harmless to any terminal.

use std::ops::Range;
use tautgrid::text::visible;

/// One line of a file as it is shown, and the mistake's place in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excerpt {
    /// The line, one visible character for each of the file's.
    pub line: String,
    /// Bytes of `line` to underline.
    pub span: Range<usize>,
}

/// The line on which a span begins. A span over several lines is cut at the end of the first.
pub fn excerpt(text: &str, span: &Range<usize>) -> Excerpt {
    let start = boundary(text, span.start);
    let line_start = text[..start].rfind('\n').map_or(0, |i| i + 1);
    let line_end = text[start..].find('\n').map_or(text.len(), |i| start + i);
    let end = boundary(text, span.end).clamp(start, line_end);
    let shown = |from: usize, to: usize| text[from..to].chars().map(visible).collect::<String>();
    let (before, marked) = (shown(line_start, start), shown(start, end));
    let after = shown(end, line_end);
    let span = before.len()..before.len() + marked.len();
    Excerpt { line: before + &marked + after.trim_end_matches(visible('\r')), span }
}

/// The nearest place between two characters at or before an offset.
fn boundary(text: &str, offset: usize) -> usize {
    let mut end = offset.min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marked(text: &str, span: Range<usize>) -> (String, String) {
        let e = excerpt(text, &span);
        (e.line[e.span.clone()].to_owned(), e.line)
    }

    #[test]
    fn the_line_and_the_mark() {
        let text = "from,to\r\nA½,\tB9,x\r\nlast";
        assert_eq!(marked(text, 14..16), ("B9".into(), "A½, B9,x".into()));
        assert_eq!(marked(text, 14..30), ("B9,x\u{240d}".into(), "A½, B9,x\u{240d}".into()));
        assert_eq!(marked(text, 22..99), ("st".into(), "last".into()));
        assert_eq!(marked(text, 24..24), (String::new(), "last".into()));
        assert_eq!(marked("", 0..0), (String::new(), String::new()));
    }

    #[test]
    fn escapes_are_pictures() {
        assert_eq!(marked("a\u{1b}[2Jb", 1..2), ("\u{241b}".into(), "a\u{241b}[2Jb".into()));
    }

    #[test]
    fn every_span_of_a_crooked_text_can_be_shown() {
        let text = "ä\r\n\n\u{202e}½\tx\r";
        for start in 0..text.len() + 2 {
            for end in start..text.len() + 3 {
                let e = excerpt(text, &(start..end));
                assert!(e.line.get(e.span.clone()).is_some(), "{start}..{end}: {e:?}");
            }
        }
    }
}
