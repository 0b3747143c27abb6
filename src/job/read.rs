//! One line of a job as words: a letter, a number, and where they stand.

use super::refuse;
use crate::mistake::Mistake;

/// What stands in a comment of a job that has been bent already.
pub const MARK: &str = "Bent by tautgrid";

/// Digits of a number that are read; more are no place on a machine.
const MOST_DIGITS: usize = 15;

/// One word, such as `X12.5`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Word {
    /// Its letter, as a capital.
    pub letter: u8,
    /// Its number.
    pub value: f64,
    /// Digits after the point.
    pub decimals: usize,
    /// Byte where the word begins.
    pub start: usize,
    /// Byte where its number begins.
    pub number: usize,
    /// Byte after it.
    pub end: usize,
}

/// One line, read.
#[derive(Debug, Clone, Default)]
pub struct Line {
    /// Its words, in order.
    pub words: Vec<Word>,
    /// Is it a line that a switch of the control leaves out (`/`)?
    pub block_delete: bool,
    /// Is it the `%` before or after a program?
    pub percent: bool,
}

impl Line {
    /// Reads a line without its line end, in place of the last one. What is wrong with it goes into `wrong`.
    pub fn read(&mut self, bytes: &[u8], wrong: &mut Vec<Mistake>) {
        self.words.clear();
        self.block_delete = false;
        self.percent = false;
        let mut at = 0;
        // After brackets that hold a semicolon nothing may follow: some controls take the rest for a comment.
        let mut doubtful: Option<usize> = None;
        while at < bytes.len() {
            let byte = bytes[at];
            let begun = at;
            match byte {
                b' ' | b'\t' => at += 1,
                b';' => {
                    comment(bytes, at, bytes.len(), wrong);
                    break;
                }
                b'(' => match close(bytes, at, wrong) {
                    Some(end) => {
                        if bytes[at..end].contains(&b';') {
                            doubtful = Some(at);
                        }
                        at = end;
                        continue;
                    }
                    None => break,
                },
                b'/' if self.words.is_empty() && !self.block_delete => {
                    self.block_delete = true;
                    at += 1;
                }
                b'%' => {
                    self.percent = true;
                    at += 1;
                }
                letter if letter.is_ascii_alphabetic() => match word(bytes, at) {
                    Ok(word) => {
                        at = word.end;
                        self.words.push(word);
                    }
                    Err((end, mistake)) => {
                        wrong.push(*mistake);
                        at = end;
                    }
                },
                _ => {
                    wrong.push(refuse::stray(bytes, at));
                    break;
                }
            }
            if let Some(comment) = doubtful.take_if(|_| !matches!(byte, b' ' | b'\t')) {
                wrong.push(refuse::after_semicolon_in_brackets(comment..begun));
            }
        }
    }
}

/// The end of a comment in brackets.
fn close(bytes: &[u8], open: usize, wrong: &mut Vec<Mistake>) -> Option<usize> {
    for at in open + 1..bytes.len() {
        match bytes[at] {
            b')' => {
                comment(bytes, open, at, wrong);
                return Some(at + 1);
            }
            b'(' => {
                wrong.push(refuse::nested_bracket(at));
                return None;
            }
            _ => {}
        }
    }
    wrong.push(refuse::open_bracket(open..bytes.len()));
    None
}

/// Looks into a comment: control characters could end it, and our own mark says that the job is bent already.
fn comment(bytes: &[u8], start: usize, end: usize, wrong: &mut Vec<Mistake>) {
    let inside = &bytes[start..end];
    if let Some(k) = inside.iter().position(|b| b.is_ascii_control() && *b != b'\t') {
        wrong.push(refuse::stray(bytes, start + k));
    }
    if inside.windows(MARK.len()).any(|w| w.eq_ignore_ascii_case(MARK.as_bytes())) {
        wrong.push(refuse::bent_already(start..end));
    }
}

/// One word. On failure, where to go on.
fn word(bytes: &[u8], start: usize) -> Result<Word, (usize, Box<Mistake>)> {
    let letter = bytes[start].to_ascii_uppercase();
    let mut number = start + 1;
    while matches!(bytes.get(number), Some(b' ' | b'\t')) {
        number += 1;
    }
    let mut at = number;
    let negative = match bytes.get(at) {
        Some(b'-') => {
            at += 1;
            true
        }
        Some(b'+') => {
            at += 1;
            false
        }
        _ => false,
    };
    let (mut mantissa, mut digits, mut decimals, mut point) = (0_u64, 0, 0, false);
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'0'..=b'9' => {
                if digits < MOST_DIGITS {
                    mantissa = mantissa * 10 + u64::from(byte - b'0');
                }
                digits += 1;
                decimals += usize::from(point);
            }
            b'.' if !point => point = true,
            _ => break,
        }
        at += 1;
    }
    let next = |mut at: usize| {
        while matches!(bytes.get(at), Some(b' ' | b'\t')) {
            at += 1;
        }
        bytes.get(at).copied()
    };
    match next(at) {
        _ if digits > MOST_DIGITS => return Err((at, Box::new(refuse::too_long_number(number..at)))),
        Some(b'[' | b'#') => return Err((bytes.len(), Box::new(refuse::variable(start..at + 1)))),
        Some(b',') if digits > 0 => return Err((bytes.len(), Box::new(refuse::comma(start..at + 1)))),
        Some(b'0'..=b'9' | b'.' | b'-' | b'+') => {
            return Err((bytes.len(), Box::new(refuse::no_number(letter, start..at + 1))));
        }
        _ if digits == 0 => return Err((at.max(start + 1), Box::new(refuse::no_number(letter, start..at)))),
        _ => {}
    }
    // Below 2^53, and the power of ten exact: their quotient is the number nearest to what is written.
    let size = mantissa as f64 / POWERS[decimals];
    let value = if negative { -size } else { size };
    Ok(Word { letter, value, decimals, start, number, end: at })
}

/// Powers of ten up to the most decimals that are read.
pub const POWERS: [f64; MOST_DIGITS + 1] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<(char, f64, usize)> {
        let (mut line, mut wrong) = (Line::default(), Vec::new());
        line.read(text.as_bytes(), &mut wrong);
        assert!(wrong.is_empty(), "{text}: {wrong:?}");
        line.words.iter().map(|w| (char::from(w.letter), w.value, w.decimals)).collect()
    }

    #[test]
    fn words_are_read_however_they_are_spaced() {
        assert_eq!(
            words("n10g1x-.5Y +2.50 (Z9)f300"),
            [('N', 10.0, 0), ('G', 1.0, 0), ('X', -0.5, 1), ('Y', 2.5, 2), ('F', 300.0, 0),]
        );
        assert_eq!(words("X0.1 Y1234.5678 ; X9 (Y9"), [('X', 0.1, 1), ('Y', 1234.5678, 4)]);
        assert_eq!(words(" (only words) "), []);
    }

    #[test]
    fn numbers_are_those_of_the_standard_library() {
        for text in ["0.1", "2.675", "1234.5678", "00012.30", "999999.999999", "0.000001", "5.", ".5"] {
            assert_eq!(words(&format!("X{text}"))[0].1, text.parse::<f64>().unwrap(), "{text}");
        }
    }

    #[test]
    fn what_could_be_read_in_two_ways_is_refused() {
        for text in [
            "X1 2",
            "X",
            "X.",
            "X-",
            "X--1",
            "X1.2.3",
            "X1,5",
            "X#1",
            "X[1]",
            "(a (b) G0 X1",
            "(a",
            "a) G0",
            "G1 )",
            "(a;b) G0 X1",
            "(a\rG0 X1)",
            "; a\u{b}G0",
            "X1\u{c}",
            "X\u{bd}",
            "#1=2",
            "X1*50",
            "$H",
            "{",
            "X1e",
            "%G",
            "X1234567890123456",
            "(bent BY tautgrid)",
        ] {
            let (mut line, mut wrong) = (Line::default(), Vec::new());
            line.read(text.as_bytes(), &mut wrong);
            assert!(!wrong.is_empty(), "{text:?} passed as {:?}", line.words);
            for m in wrong {
                assert!(m.span.start <= m.span.end && m.span.end <= text.len(), "{text:?}: {:?}", m.span);
            }
        }
    }
}
