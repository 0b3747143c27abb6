//! Text as it comes from people's files: its encoding, characters that could harm a terminal, misspelt words.

use crate::mistake::{Mistake, Read};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::borrow::Cow;

/// Largest settings or readings file that is read, bytes: about a hundred thousand readings.
pub const LARGEST_FILE: usize = 4 * 1024 * 1024;

/// The text of a file, with a warning when its encoding had to be guessed.
///
/// A byte-order mark decides and is taken off; without one it is UTF-8, or UTF-16 when every other byte is zero,
/// or Windows-1252 when it is not valid UTF-8. Line ends of a lone carriage return become line feeds.
///
/// # Errors
/// When the file is too large, or is no text at all (a spreadsheet's workbook, say).
pub fn decode(bytes: &[u8]) -> Read<String> {
    if bytes.len() > LARGEST_FILE {
        return Err(vec![
            Mistake::new(0..0, "the file is too large")
                .found(format!("more than {} million bytes", LARGEST_FILE / 1_000_000))
                .expected("some thousand readings at most"),
        ]);
    }
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(vec![
            Mistake::new(0..0, "the file is not text")
                .found("a packed file, such as a spreadsheet's workbook")
                .expected("plain text")
                .help("in the spreadsheet, use \"save as\" and choose CSV"),
        ]);
    }
    let encoding = Encoding::for_bom(bytes).map_or_else(|| without_mark(bytes), |(found, _)| found);
    let (text, _, bad) = encoding.decode(bytes);
    let (text, warnings) = if bad && encoding == UTF_8 {
        let (text, _, _) = WINDOWS_1252.decode(bytes);
        let at = bytes.iter().position(|b| !b.is_ascii()).unwrap_or(0);
        let width = text[at..].chars().next().map_or(0, char::len_utf8);
        let warning = Mistake::at(&text, at..at + width, "the file is not UTF-8; read as Windows-1252")
            .expected("accented letters to look right here")
            .help("save it as UTF-8 to be sure")
            .warning();
        (text, vec![warning])
    } else {
        (text, Vec::new())
    };
    if let Some(at) = text.find('\0') {
        return Err(vec![
            Mistake::new(0..0, "the file is not text")
                .found(format!("a zero byte, {at} bytes in"))
                .expected("plain text"),
        ]);
    }
    let lone_returns = text.contains('\r') && !text.contains('\n');
    let text = if lone_returns { text.replace('\r', "\n") } else { text.into_owned() };
    Ok((text, warnings))
}

/// The encoding of bytes that carry no mark. Text in UTF-16 has a zero beside each of its first letters.
fn without_mark(bytes: &[u8]) -> &'static Encoding {
    match bytes {
        [a, 0, b, 0, ..] if *a != 0 && *b != 0 => UTF_16LE,
        [0, a, 0, b, ..] if *a != 0 && *b != 0 => UTF_16BE,
        _ => UTF_8,
    }
}

/// Is it a character that moves a terminal's cursor, changes its colours or reverses the reading direction?
pub fn is_unruly(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        // separators, marks without width, old format characters, tags
        || matches!(c, '\u{2028}' | '\u{2029}' | '\u{200b}' | '\u{2060}'..='\u{2065}' | '\u{206a}'..='\u{206f}')
        || matches!(c, '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}' | '\u{e0000}'..='\u{e007f}')
}

/// The same text with every unruly character made visible (`ESC` as its picture), on one line, tabs as spaces.
pub fn harmless(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_unruly) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(visible).collect())
}

/// What stands for a character on one line of a screen.
pub fn visible(c: char) -> char {
    match c {
        '\t' | '\n' => ' ',
        '\0'..='\u{1f}' => char::from_u32(0x2400 + c as u32).unwrap_or(char::REPLACEMENT_CHARACTER),
        '\u{7f}' => '\u{2421}',
        c if is_unruly(c) => char::REPLACEMENT_CHARACTER,
        c => c,
    }
}

/// Words for a G-code comment that no control can take for anything but a comment.
///
/// What is not a letter, a digit or a harmless mark becomes a blank or a dash: brackets would end the comment,
/// `MSG` makes it a message, and `! ~ ? % ; *` act on some controls even inside one.
pub fn plain_comment(words: &str) -> String {
    let kept: String = words
        .chars()
        .map(|c| match c {
            'a'..='z' | 'A'..='Z' | '0'..='9' | ' ' | '.' | ',' | ':' | '+' | '-' | '/' | '=' | '\'' => c,
            c if c.is_whitespace() || c.is_control() => ' ',
            _ => '-',
        })
        .collect();
    let mut plain = String::new();
    let mut rest = kept.as_str();
    while let Some(at) = rest.to_ascii_lowercase().find("msg") {
        let (before, message) = rest.split_at(at);
        plain.push_str(before);
        plain.push_str(&message[..1]);
        plain.push('-');
        rest = &message[1..];
    }
    plain.push_str(rest);
    plain
}

/// The candidate that a misspelt word most likely meant, if one is near enough. Letter case is ignored.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: Vec<char> = word.to_lowercase().chars().take(41).collect();
    if word.is_empty() || word.len() > 40 {
        return None;
    }
    candidates
        .into_iter()
        .map(|c| (slips(&word, &c.to_lowercase().chars().collect::<Vec<_>>()), c))
        .filter(|(n, c)| *n <= (c.chars().count().max(word.len()) / 3).clamp(1, 3))
        .min_by_key(|(n, _)| *n)
        .map(|(_, c)| c)
}

/// Letters to add, drop, change, or swap with their neighbour to turn one word into the other (the restricted
/// edit distance of Damerau, 1964, and Levenshtein, 1966).
fn slips(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(before[j - 2] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utf16(text: &str, order: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(order).collect()
    }

    #[test]
    fn the_same_text_comes_out_of_every_encoding() {
        let text = "from,to\r\nA1,B½\n";
        let utf8 = text.as_bytes().to_vec();
        let with_mark = |mark: &[u8], rest: &[u8]| [mark, rest].concat();
        for bytes in [
            utf8.clone(),
            with_mark(b"\xef\xbb\xbf", &utf8),
            utf16(text, u16::to_le_bytes),
            utf16(text, u16::to_be_bytes),
            with_mark(b"\xff\xfe", &utf16(text, u16::to_le_bytes)),
            with_mark(b"\xfe\xff", &utf16(text, u16::to_be_bytes)),
        ] {
            assert_eq!(decode(&bytes), Ok((text.to_owned(), vec![])));
        }
    }

    #[test]
    fn windows_1252_is_read_and_said() {
        let (text, warnings) = decode(b"from,to\nA1,B\xbd\n").unwrap();
        assert_eq!(text, "from,to\nA1,B½\n");
        assert_eq!((warnings.len(), warnings[0].line, warnings[0].column), (1, 2, 5));
    }

    #[test]
    fn what_is_no_text_is_refused() {
        assert!(decode(b"PK\x03\x04rest").unwrap_err()[0].found.contains("workbook"));
        assert!(decode(b"from\0to").unwrap_err()[0].title.contains("not text"));
        assert!(decode(&vec![b' '; LARGEST_FILE + 1]).unwrap_err()[0].title.contains("large"));
    }

    #[test]
    fn escapes_become_pictures() {
        assert_eq!(harmless("a\u{1b}[31mb\u{202e}c\td\re"), "a\u{241b}[31mb\u{fffd}c d\u{240d}e");
        assert_eq!(harmless("ÄÖ ½ 漢"), "ÄÖ ½ 漢");
    }

    #[test]
    fn slips_of_the_pen_find_their_word() {
        let words = ["spacing", "height", "length_left", "length_right", "u"];
        assert_eq!(nearest("spaicng", words), Some("spacing"));
        assert_eq!(nearest("HIEGHT", words), Some("height"));
        assert_eq!(nearest("lenght_rigth", words), Some("length_right"));
        assert_eq!(nearest("colour", words), None);
        assert_eq!(nearest("", words), None);
    }
}
