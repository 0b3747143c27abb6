//! Every spelling, and what is refused.

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
