//! Lengths as people write them: `1234.5`, `1234,5`, `48 5/8`, `48-5/8`, `4' 0 5/8"`, `48½"`, `121.9 cm`.

use crate::frame::{MM_PER_INCH, Unit};

/// Longest length that is believed, mm.
pub const LONGEST_MM: f64 = 20_000.0;

/// Most characters in a length.
const LONGEST_TEXT: usize = 60;

/// A unit that a reading may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingUnit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Inches.
    Inch,
    /// Feet.
    Foot,
}

impl ReadingUnit {
    /// The unit of that name, in any letter case: `mm`, `cm`, `m`, `in`, `inch`, `inches`, `"`, `ft`, `feet`, `'`.
    pub fn from_name(name: &str) -> Option<Self> {
        Some(match plain(name.trim()).to_lowercase().trim_end_matches('.') {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Mm,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::Cm,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::M,
            "in" | "inch" | "inches" | "\"" => Self::Inch,
            "ft" | "foot" | "feet" | "'" => Self::Foot,
            _ => return None,
        })
    }

    /// Its name in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::Inch => "inch",
            Self::Foot => "ft",
        }
    }

    /// Millimetres in one of this unit.
    pub const fn mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::M => 1000.0,
            Self::Inch => MM_PER_INCH,
            Self::Foot => 12.0 * MM_PER_INCH,
        }
    }
}

impl From<Unit> for ReadingUnit {
    fn from(unit: Unit) -> Self {
        match unit {
            Unit::Mm => Self::Mm,
            Unit::Inch => Self::Inch,
        }
    }
}

/// Why a text is no length.
#[derive(Debug, Clone, PartialEq)]
pub struct NotALength {
    /// What is wrong with it, such as `the letter l stands among the digits`.
    pub why: String,
    /// What may have been meant, as a question or an instruction; absent when nothing is likely.
    pub help: Option<String>,
}

/// How a text is to be understood where it does not say so itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Context {
    /// Unit of a bare number.
    pub unit: ReadingUnit,
    /// Was that unit stated for this very reading? Then a unit in the text must not contradict it.
    pub unit_is_stated: bool,
    /// May `1,234` be one and a bit? (In a file separated by semicolons or tabs it may; where commas separate,
    /// three digits after a comma could as well be thousands.)
    pub decimal_comma: bool,
}

impl Context {
    /// A bare number is in this unit, and the comma is not expected.
    pub fn of(unit: Unit) -> Self {
        Self { unit: unit.into(), unit_is_stated: false, decimal_comma: false }
    }
}

/// A length that was understood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Length {
    /// mm; more than 0, at most [`LONGEST_MM`].
    pub mm: f64,
    /// Taken as inches because of a fraction that no metric tape shows, with no word of inches in the text.
    pub assumed_inches: bool,
}

/// Understands a length.
///
/// A bare fraction of 8ths or finer is in inches even where mm are expected, since no metric tape has such
/// marks; a bare half or quarter could be either there and is refused.
///
/// # Errors
/// When the text is no length, could mean two, or is not between 0 and [`LONGEST_MM`].
pub fn read(text: &str, context: Context) -> Result<Length, NotALength> {
    let tidy = plain(text.trim());
    if tidy.chars().count() > LONGEST_TEXT {
        return refuse("it is too long for a length", "");
    }
    let length = parse(&tidy, context).map_err(|mut refusal| {
        if is_date(&tidy) {
            let help = "a spreadsheet took a fraction for a date; make the column text, then type it again";
            refusal.help = Some(help.to_owned());
        } else if refusal.help.is_none() {
            refusal.help = did_you_mean(&tidy, context);
        }
        refusal
    })?;
    if length.mm <= 0.0 {
        return refuse("a distance is more than zero", "leave the cell empty for a distance not yet taken");
    }
    if length.mm > LONGEST_MM {
        let why = format!("that is {:.1} m", length.mm / 1000.0);
        return refuse(&why, "at most 20 m; is the decimal point or the unit missing?");
    }
    Ok(length)
}

fn refuse<T>(why: &str, help: &str) -> Result<T, NotALength> {
    let help = (!help.is_empty()).then(|| help.to_owned());
    Err(NotALength { why: why.to_owned(), help })
}

/// The same text with one spelling for each sign: plain spaces, quotes, hyphens, and `1/2` for `½`.
fn plain(text: &str) -> String {
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
enum Piece {
    Number { value: f64, whole: bool },
    Fraction { value: f64, parts: u32 },
    Unit(ReadingUnit),
    Hyphen,
}

fn parse(text: &str, context: Context) -> Result<Length, NotALength> {
    use Piece::{Fraction, Hyphen, Number};
    let pieces = pieces(text, context)?;
    let (pieces, unit) = match pieces.as_slice() {
        [.., Piece::Unit(unit)] => (&pieces[..pieces.len() - 1], Some(*unit)),
        all => (all, None),
    };
    if let Some(unit) = unit
        && context.unit_is_stated
        && unit != context.unit
        && !(unit == ReadingUnit::Inch && context.unit == ReadingUnit::Foot)
    {
        return refuse("its unit is not the one in the unit column", "give the unit in one place only");
    }
    let certain = |value: f64, unit: ReadingUnit| Ok(Length { mm: value * unit.mm(), assumed_inches: false });
    match *pieces {
        [Number { value, .. }] => certain(value, unit.unwrap_or(context.unit)),
        [Fraction { value, parts }] => fraction(value, parts, unit, context),
        [Number { value: n, whole: true }, Fraction { value, parts }]
        | [Number { value: n, whole: true }, Hyphen, Fraction { value, parts }] => {
            fraction(n + value, parts, unit, context)
        }
        [Number { value: ft, whole: true }, Piece::Unit(ReadingUnit::Foot), ref rest @ ..] => {
            let rest = if let [Hyphen, after @ ..] = rest { after } else { rest };
            let inches = match *rest {
                [Number { value, .. }] => value,
                [Fraction { value, .. }] => value,
                [Number { value: n, whole: true }, Fraction { value, .. }]
                | [Number { value: n, whole: true }, Hyphen, Fraction { value, .. }] => n + value,
                _ => return refuse("feet are not followed by inches", "write it as 4' 0 5/8\""),
            };
            if !matches!(unit, None | Some(ReadingUnit::Inch)) {
                return refuse("feet are followed by another unit than inches", "write it as 4' 0 5/8\"");
            }
            if inches >= 12.0 {
                return refuse("12 or more inches follow the feet", "");
            }
            if context.unit_is_stated && !matches!(context.unit, ReadingUnit::Foot | ReadingUnit::Inch) {
                return refuse(
                    "its unit is not the one in the unit column",
                    "give the unit in one place only",
                );
            }
            certain(ft * 12.0 + inches, ReadingUnit::Inch)
        }
        [Hyphen, ..] => refuse("a distance is not negative", "write it without the minus"),
        [Number { whole: false, .. }, .., Fraction { .. }] => {
            refuse("a decimal number is followed by a fraction", "write 48.625 or 48 5/8")
        }
        [Number { .. }, Number { .. }] => refuse("two numbers stand in one cell", ""),
        [] => refuse("there is no number", ""),
        _ => refuse("this is no length", ""),
    }
}

/// A value with a fraction of so many parts to the unit.
fn fraction(
    value: f64,
    parts: u32,
    unit: Option<ReadingUnit>,
    context: Context,
) -> Result<Length, NotALength> {
    if let Some(unit) = unit.or(context.unit_is_stated.then_some(context.unit)) {
        return Ok(Length { mm: value * unit.mm(), assumed_inches: false });
    }
    match context.unit {
        ReadingUnit::Inch | ReadingUnit::Foot => {
            Ok(Length { mm: value * context.unit.mm(), assumed_inches: false })
        }
        _ if parts >= 8 => Ok(Length { mm: value * MM_PER_INCH, assumed_inches: true }),
        _ => Err(NotALength {
            why: "a fraction without a unit could be mm or inches here".to_owned(),
            help: Some(format!("write {value} for mm, or put the inch mark \" behind the fraction")),
        }),
    }
}

/// Cuts a tidy text into its pieces.
fn pieces(text: &str, context: Context) -> Result<Vec<Piece>, NotALength> {
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

/// What was meant, when a letter that looks like a digit, a doubled sign, a mark for thousands or a
/// spreadsheet's help spoils a length.
fn did_you_mean(text: &str, context: Context) -> Option<String> {
    if !text.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let digits: String = text.chars().map(digit_lookalike).collect();
    let once = text.replace("..", ".").replace(",,", ",");
    let groups: Vec<&str> = text.split([' ', '\'']).collect();
    let thousands = groups.len() > 1
        && groups[1..].iter().all(|g| g.chars().take_while(char::is_ascii_digit).count() == 3);
    let joined = if thousands { groups.concat() } else { text.to_owned() };
    [digits, once, joined]
        .into_iter()
        .find(|guess| guess != text && parse(guess, context).is_ok())
        .map(|guess| format!("did you mean {guess}?"))
}

/// The digit that a letter or sign looks like.
fn digit_lookalike(c: char) -> char {
    match c {
        'l' | 'I' | '|' | 'i' | '!' => '1',
        'O' | 'o' => '0',
        'S' | 's' => '5',
        'B' => '8',
        'Z' | 'z' => '2',
        ':' => '.',
        c => c,
    }
}

/// Does it look like what spreadsheets make of 5/8: `5-Aug`, `Aug-05`, `2026-08-05`, `05/08/2026`?
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split(['-', '/', '.', ' ']).filter(|p| !p.is_empty()).collect();
    let is_year = |p: &&str| p.len() == 4 && (p.starts_with("19") || p.starts_with("20"));
    let is_number = |p: &&str| p.bytes().all(|b| b.is_ascii_digit());
    (parts.len() == 3 && parts.iter().all(|p| is_number(p)) && parts.iter().any(|p| is_year(p)))
        || (parts.len() >= 2 && parts.iter().any(|p| is_month(p)))
}

/// Is it a month of English as spreadsheets write it?
fn is_month(word: &str) -> bool {
    let word = word.to_lowercase();
    word.len() >= 3
        && ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
            .iter()
            .any(|m| word.starts_with(m))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: Context = Context { unit: ReadingUnit::Mm, unit_is_stated: false, decimal_comma: false };
    const INCH: Context = Context { unit: ReadingUnit::Inch, ..MM };

    #[test]
    fn every_spelling_of_a_length() {
        // By hand: 48 5/8 in = 48.625 x 25.4 mm = 1235.075 mm; 4 ft 6 1/2 in = 54.5 x 25.4 mm = 1384.3 mm.
        for (text, context, expected_mm) in [
            ("1234.5", MM, 1234.5),
            ("1234,5", MM, 1234.5),
            ("0,125", MM, 0.125),
            ("389,125", Context { decimal_comma: true, ..MM }, 389.125),
            ("389.3 mm", INCH, 389.3),
            ("121.9cm", MM, 1219.0),
            ("1.219 m", MM, 1219.0),
            ("48.625", INCH, 1235.075),
            ("48 5/8", INCH, 1235.075),
            ("48-5/8", INCH, 1235.075),
            ("48 5/8", MM, 1235.075),
            ("48 5/8\"", MM, 1235.075),
            ("48-5/8 in", MM, 1235.075),
            ("48 5 / 8 INCHES", MM, 1235.075),
            ("48\u{a0}5\u{2044}8\u{2033}", MM, 1235.075),
            ("48⅝\u{201d}", MM, 1235.075),
            ("48\u{2013}5/8''", MM, 1235.075),
            ("48\u{2212}5/8", INCH, 1235.075),
            ("4' 0 5/8\"", MM, 1235.075),
            ("4'-0 5/8\"", INCH, 1235.075),
            ("4'0-5/8\"", INCH, 1235.075),
            ("4\u{2032} 5/8\u{2033}", MM, 1235.075),
            ("4 ft 0 5/8 in", MM, 1235.075),
            ("4ft", MM, 1219.2),
            ("4'", INCH, 1219.2),
            ("4' 6 1/2", MM, 1384.3),
            ("4' 6.5 inches", MM, 1384.3),
            ("0.5 FT.", MM, 152.4),
            ("5/8", INCH, 15.875),
            ("½ in", MM, 12.7),
            ("½", INCH, 12.7),
            ("1219 1/2 mm", MM, 1219.5),
            ("1219½", Context { unit_is_stated: true, ..MM }, 1219.5),
            (".5", INCH, 12.7),
            ("5.", MM, 5.0),
        ] {
            let read = read(text, context).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            assert!((read.mm - expected_mm).abs() < 1e-9, "{text}: {} mm, not {expected_mm}", read.mm);
        }
        assert!(read("48 5/8", MM).unwrap().assumed_inches);
        assert!(!read("48 5/8\"", MM).unwrap().assumed_inches);
    }

    #[test]
    fn what_is_no_length_is_refused_with_help() {
        for (text, context, why, help) in [
            ("12l9.4", MM, "letter l", "did you mean 1219.4?"),
            ("I2O9.4", MM, "letter I", "did you mean 1209.4?"),
            ("1219..4", MM, "more than one decimal", "did you mean 1219.4?"),
            ("1,234.5", MM, "more than one decimal", "write 1234.5,"),
            ("1.234,5", MM, "more than one decimal", "write 1234.5,"),
            ("1,234", MM, "thousands or decimals", "write 1234 or 1.234"),
            ("1 234.5", MM, "two numbers", "did you mean 1234.5?"),
            ("1'234.5", MM, "12 or more inches", "did you mean 1234.5?"),
            ("5-Aug", INCH, "word \"Aug\"", "fraction for a date"),
            ("2026-08-05", INCH, "no length", "fraction for a date"),
            ("8/5/2026", INCH, "no tape shows", "fraction for a date"),
            ("05/08/2026", INCH, "character '/'", "fraction for a date"),
            ("24 1/2", MM, "could be mm or inches", "write 24.5 for mm"),
            ("24½", MM, "could be mm or inches", "write 24.5 for mm"),
            ("48 5/7", INCH, "no tape shows", "64ths"),
            ("48 9/8", INCH, "between 0 and 1", "1 1/4"),
            ("48 0/8", INCH, "between 0 and 1", ""),
            ("5/0", INCH, "no tape shows", ""),
            ("5/", INCH, "no fraction", "5/8"),
            ("48.5 5/8", INCH, "decimal number is followed", "48 5/8"),
            ("4' 13\"", INCH, "12 or more inches", ""),
            ("4' 6 mm", MM, "another unit", "4' 0 5/8"),
            ("-5", MM, "not negative", "without the minus"),
            ("\u{2212}5", MM, "not negative", "without the minus"),
            ("+5", MM, "plus sign", "alone"),
            ("0", MM, "more than zero", "empty"),
            ("0.0", MM, "more than zero", "empty"),
            ("25000", MM, "25.0 m", "decimal point"),
            ("1219.4", INCH, "31.0 m", "unit"),
            ("1e3", MM, "letter e", ""),
            ("NaN", MM, "word \"NaN\"", ""),
            ("inf", MM, "word \"inf\"", ""),
            ("12 yd", MM, "word \"yd\"", ""),
            ("-", MM, "not negative", ""),
            ("", MM, "no number", ""),
            (".", MM, "no number", ""),
            ("1219.4\u{7}", MM, "character '\\u{7}'", ""),
            ("12\" mm", Context { unit_is_stated: true, ..MM }, "no length", ""),
            ("48 5/8\"", Context { unit_is_stated: true, ..MM }, "unit column", "one place"),
            ("4' 6", Context { unit_is_stated: true, ..MM }, "unit column", "one place"),
        ] {
            let refusal = read(text, context).expect_err(text);
            assert!(refusal.why.contains(why), "{text}: {refusal:?}");
            assert!(refusal.help.unwrap_or_default().contains(help), "{text}: help without {help:?}");
        }
    }
}
