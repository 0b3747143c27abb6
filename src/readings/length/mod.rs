//! Lengths as people write them: `1234.5`, `1234,5`, `48 5/8`, `48-5/8`, `4' 0 5/8"`, `48½"`, `121.9 cm`.

mod hints;
mod pieces;
#[cfg(test)]
mod tests;

use crate::frame::{MM_PER_INCH, Unit};
use hints::{did_you_mean, is_date};
use pieces::{Piece, pieces, plain};

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

/// Understands the mark at which a tape was started, mm: a length, or `0`, `zero` or `hook` for none.
///
/// # Errors
/// As [`read()`].
pub fn read_start(text: &str, context: Context) -> Result<f64, NotALength> {
    let word = text.trim().to_lowercase();
    let is_nought = word.parse::<f64>().is_ok_and(|v| v == 0.0);
    if is_nought || matches!(word.as_str(), "hook" | "zero" | "none" | "end") {
        return Ok(0.0);
    }
    read(text, context).map(|length| length.mm)
}

fn refuse<T>(why: &str, help: &str) -> Result<T, NotALength> {
    let help = (!help.is_empty()).then(|| help.to_owned());
    Err(NotALength { why: why.to_owned(), help })
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
