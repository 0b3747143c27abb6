//! A length cut into numbers, fractions and marks.

use super::{Context, NotALength, ReadingUnit, refuse};

/// The same text with one spelling for each sign: plain spaces, quotes, hyphens, and `1/2` for `½`.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{a0}' | '\u{2007}' | '\u{2009}' | '\u{202f}' | '\t' => out.push(' '),
            '\u{2032}' | '\u{2018}' | '\u{2019}' | '\u{b4}' | '`' => out.push('\''),
            '\u{2033}' | '\u{201c}' | '\u{201d}' => out.push('"'),
            '\u{2212}' | '\u{2010}' | '\u{2011}' | '\u{2013}' => out.push('-'),
            '\u{2044}' | '\u{2215}' => out.push('/'),
            c => match vulgar(c) {
                Some(fraction) => {
                    if out.ends_with(|c: char| c.is_ascii_digit()) {
                        out.push(' ');
                    }
                    out.push_str(fraction);
                }
                None => out.push(c),
            },
        }
    }
    out.replace("''", "\"")
}

/// A fraction that is one character, spelled out.
fn vulgar(c: char) -> Option<&'static str> {
    Some(match c {
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        '⅓' => "1/3",
        '⅔' => "2/3",
        _ => return None,
    })
}

/// A piece of a length: a number (with its value), a fraction, or a mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Piece {
    Number { value: f64, whole: bool },
    Fraction { value: f64, parts: u32 },
    Unit(ReadingUnit),
    Hyphen,
}

/// Cuts a tidy text into its pieces.
pub(super) fn pieces(text: &str, context: Context) -> Result<Vec<Piece>, NotALength> {
    let mut pieces = Vec::new();
    let mut rest = text.trim();
    while let Some(first) = rest.chars().next() {
        let taken = match first {
            '0'..='9' | '.' | ',' => {
                let end = rest.find(|c: char| !matches!(c, '0'..='9' | '.' | ',')).unwrap_or(rest.len());
                let (word, after) = rest.split_at(end);
                match after.trim_start().strip_prefix('/') {
                    Some(below) => {
                        let below = below.trim_start();
                        let end = below.find(|c: char| !c.is_ascii_digit()).unwrap_or(below.len());
                        pieces.push(read_fraction(word, &below[..end])?);
                        rest.len() - below.len() + end
                    }
                    None => {
                        pieces.push(number(word, context)?);
                        end
                    }
                }
            }
            '-' => {
                pieces.push(Piece::Hyphen);
                1
            }
            '"' | '\'' => {
                pieces.extend(ReadingUnit::from_name(&rest[..1]).map(Piece::Unit));
                1
            }
            '+' => return refuse("a plus sign stands before the number", "write the number alone"),
            c if c.is_alphabetic() => {
                let end = rest.find(|c: char| !c.is_alphabetic() && c != '.').unwrap_or(rest.len());
                let word = &rest[..end];
                let Some(unit) = ReadingUnit::from_name(word) else {
                    return Err(NotALength { why: strange_word(word), help: None });
                };
                pieces.push(Piece::Unit(unit));
                end
            }
            c => return Err(NotALength { why: format!("it has the character {c:?} in it"), help: None }),
        };
        rest = rest[taken..].trim_start();
    }
    Ok(pieces)
}

fn strange_word(word: &str) -> String {
    let mut chars = word.chars();
    match (chars.next(), chars.next()) {
        (Some(letter), None) => format!("it has the letter {letter} in it"),
        _ => format!("it has the word {word:?} in it"),
    }
}

/// A number with at most one decimal sign.
fn number(word: &str, context: Context) -> Result<Piece, NotALength> {
    let (dots, commas) = (word.matches('.').count(), word.matches(',').count());
    if dots + commas > 1 {
        let help = match (word.rfind('.'), word.rfind(',')) {
            (Some(d), Some(c)) if dots == 1 && d > c => word.replace(',', ""),
            (Some(d), Some(c)) if commas == 1 && c > d => word.replace('.', "").replace(',', "."),
            _ => String::new(),
        };
        let help = if help.is_empty() { help } else { format!("write {help}, without marks for thousands") };
        return refuse("it has more than one decimal sign", &help);
    }
    if let Some((before, after)) = word.split_once(',')
        && after.len() == 3
        && !context.decimal_comma
        && !before.trim_start_matches('0').is_empty()
    {
        let help = format!("write {before}{after} or {before}.{after}");
        return refuse("the comma could mark thousands or decimals", &help);
    }
    match word.replace(',', ".").parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(Piece::Number { value, whole: dots + commas == 0 }),
        _ => refuse("this is no number", ""),
    }
}

/// A proper fraction such as a tape shows.
fn read_fraction(above: &str, below: &str) -> Result<Piece, NotALength> {
    let (Ok(n), Ok(parts)) = (above.parse::<u32>(), below.parse::<u32>()) else {
        return refuse("this is no fraction", "write it as 5/8");
    };
    if !matches!(parts, 2 | 3 | 4 | 8 | 10 | 16 | 32 | 64 | 100) {
        return refuse("no tape shows such a fraction", "halves, 4ths, 8ths, 16ths, 32nds or 64ths");
    }
    if n == 0 || n >= parts {
        return refuse("the fraction is not between 0 and 1", "write 1 1/4 for 5/4");
    }
    Ok(Piece::Fraction { value: f64::from(n) / f64::from(parts), parts })
}
