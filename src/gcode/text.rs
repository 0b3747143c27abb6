//! Steps as text: numbers, words and comments that every control can read.

use super::program::{Program, Step};
use crate::frame::{Point, Unit};
pub(super) use crate::text::plain_comment as plain;
use std::fmt::Write;

/// Longest comment without its brackets, characters; some controls keep no more than 70 of a line.
pub(super) const LONGEST_COMMENT: usize = 67;

impl Program {
    /// The program as RS274/NGC text: ASCII, short lines, a decimal point in every number.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for line in &self.header {
            push_comment(&mut text, line);
        }
        text.push_str(match self.unit {
            Unit::Mm => "G21\nG17\nG90\nG94\n",
            Unit::Inch => "G20\nG17\nG90\nG94\n",
        });
        for step in &self.steps {
            match step {
                Step::Comment(words) => push_comment(&mut text, words),
                step => {
                    text.push_str(&line(step, self.unit));
                    text.push('\n');
                }
            }
        }
        text
    }
}

/// One step as one line; comments are not lines of their own making.
fn line(step: &Step, unit: Unit) -> String {
    let xy = |p: Point| format!("X{} Y{}", coordinate(p.x_mm, unit), coordinate(p.y_mm, unit));
    let feed = |mm_per_min: f64| number(unit.from_mm(mm_per_min), 1);
    match step {
        Step::Comment(words) => format!("({})", plain(words)),
        Step::Travel(to) => format!("G0 {}", xy(*to)),
        Step::Slide { to, mm_per_min } => format!("G1 {} F{}", xy(*to), feed(*mm_per_min)),
        Step::Plumb { z_mm, mm_per_min } => format!("G1 Z{} F{}", coordinate(*z_mm, unit), feed(*mm_per_min)),
        Step::Wait => "M0".to_owned(),
        Step::SpindleOn(speed) => format!("M3 S{speed}.0"),
        Step::SpindleOff => "M5".to_owned(),
        Step::End => "M2".to_owned(),
    }
}

/// A place or a height: a thousandth of a millimetre, a ten-thousandth of an inch.
fn coordinate(length_mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => number(length_mm, 3),
        Unit::Inch => number(unit.from_mm(length_mm), 4),
    }
}

/// A number with a decimal point, and no minus before nothing.
fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.bytes().all(|b| matches!(b, b'0' | b'.')) => digits.to_owned(),
        _ => text,
    }
}

/// A length for the person: so many decimals in mm, two more in inches.
pub(super) fn length(length_mm: f64, unit: Unit, decimals: usize) -> String {
    match unit {
        Unit::Mm => format!("{} mm", number(length_mm, decimals)),
        Unit::Inch => format!("{} in", number(unit.from_mm(length_mm), decimals + 1)),
    }
}

/// Adds words as one comment, or as several where one would be too long a line.
fn push_comment(text: &mut String, words: &str) {
    let most = LONGEST_COMMENT;
    let mut line = String::new();
    for word in plain(words).split_whitespace() {
        let mut word = word;
        if !line.is_empty() && line.len() + 1 + word.len() > most {
            let _ = writeln!(text, "({line})");
            line.clear();
        }
        while word.len() > most {
            let _ = writeln!(text, "({})", &word[..most]);
            word = &word[most..];
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    let _ = writeln!(text, "({line})");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_a_point_and_no_minus_before_nothing() {
        assert_eq!(number(-0.0004, 3), "0.000");
        assert_eq!(number(-0.0006, 3), "-0.001");
        assert_eq!(number(300.0, 1), "300.0");
        assert_eq!(coordinate(-25.4, Unit::Inch), "-1.0000");
    }

    #[test]
    fn no_name_leaves_its_comment() {
        assert_eq!(plain("Tür (2)\nG0 Z-50"), "T-r -2- G0 Z-50");
        assert_eq!(plain("MSG,hi mSg msmsg"), "M-SG,hi m-Sg msm-sg");
        assert_eq!(plain("\u{1b}[31m 100% ~ ! ? ; #5 $H"), " -31m 100- - - - - -5 -H");
    }

    #[test]
    fn long_words_and_long_comments_are_broken_into_lines() {
        let mut text = String::new();
        push_comment(&mut text, &format!("start {} end {}", "x".repeat(150), "few words ".repeat(20)));
        assert!(
            text.lines().all(|l| l.len() <= LONGEST_COMMENT + 2 && l.starts_with('(') && l.ends_with(')'))
        );
        assert_eq!(text.matches('x').count(), 150);
        assert_eq!(text.matches("words").count(), 20);
    }
}
