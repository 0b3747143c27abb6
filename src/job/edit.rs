//! One line with some of its words changed; every other byte stays.

use super::read::POWERS;

/// Most digits after the point that are written.
pub const MOST_DECIMALS: usize = 6;

/// Changes to a line, in no order.
#[derive(Debug, Default)]
pub struct Edits {
    /// Bytes replaced (from, to), and where their new text stands in `text` (from, to).
    changes: Vec<[usize; 4]>,
    text: Vec<u8>,
}

impl Edits {
    /// Forgets all changes.
    pub fn clear(&mut self) {
        self.changes.clear();
        self.text.clear();
    }

    /// Puts what `write` writes in the place of some bytes. At one place, changes stay in the order they were made.
    pub fn put(&mut self, from: usize, to: usize, write: impl FnOnce(&mut Vec<u8>)) {
        let start = self.text.len();
        write(&mut self.text);
        self.changes.push([from, to, start, self.text.len()]);
    }

    /// Takes a word away, with the blanks before it.
    pub fn drop_word(&mut self, line: &[u8], from: usize, to: usize) {
        let blanks = line[..from].iter().rev().take_while(|b| matches!(b, b' ' | b'\t')).count();
        self.put(from - blanks, to, |_| {});
    }

    /// Writes the changed line.
    pub fn apply(&mut self, line: &[u8], out: &mut Vec<u8>) {
        self.changes.sort_by_key(|c| c[0]);
        let mut at = 0;
        for &[from, to, start, end] in &self.changes {
            // Words dropped side by side share the blanks between them.
            out.extend_from_slice(&line[at..from.max(at)]);
            out.extend_from_slice(&self.text[start..end]);
            at = to.max(at);
        }
        out.extend_from_slice(&line[at..]);
    }
}

/// A number as whole units of its last place.
pub fn scaled(value: f64, decimals: usize) -> i64 {
    (value * POWERS[decimals]).round() as i64
}

/// The number that stands for so many units of the last place.
pub fn unscaled(units: i64, decimals: usize) -> f64 {
    units as f64 / POWERS[decimals]
}

/// Writes so many units of the last place, with a decimal point and no minus before nothing.
pub fn push_number(out: &mut Vec<u8>, units: i64, decimals: usize) {
    if units < 0 {
        out.push(b'-');
    }
    let mut digits = [b'0'; 24];
    let mut rest = units.unsigned_abs();
    let mut at = digits.len();
    let mut written = 0;
    while rest > 0 || written <= decimals {
        if written == decimals && decimals > 0 {
            at -= 1;
            digits[at] = b'.';
        }
        at -= 1;
        digits[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        written += 1;
    }
    out.extend_from_slice(&digits[at..]);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_as_the_standard_library_does() {
        for (value, decimals) in [
            (0.0, 3),
            (-0.0004, 3),
            (-0.0006, 3),
            (12.5, 3),
            (-1234.56789, 4),
            (999.9996, 3),
            (7.0, 0),
            (0.04, 2),
        ] {
            let mut out = Vec::new();
            push_number(&mut out, scaled(value, decimals), decimals);
            let expected = format!("{value:.decimals$}");
            let nought = expected.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
            let expected = if nought { expected.trim_start_matches('-') } else { &expected };
            assert_eq!(String::from_utf8(out).unwrap(), expected);
        }
    }

    #[test]
    fn a_line_keeps_all_that_is_not_changed() {
        let line = b"N5 G2 X1 I2 J3 (c) F9";
        let mut edits = Edits::default();
        edits.drop_word(line, 9, 11);
        edits.drop_word(line, 12, 14);
        edits.put(4, 5, |t| t.push(b'1'));
        edits.put(7, 8, |t| t.extend(b"1.5"));
        edits.put(8, 8, |t| t.extend(b" Y2.5"));
        let mut out = Vec::new();
        edits.apply(line, &mut out);
        assert_eq!(String::from_utf8(out).unwrap(), "N5 G1 X1.5 Y2.5 (c) F9");
    }
}
