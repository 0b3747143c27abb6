//! Numbers as a person reads them: rounded by their uncertainty, in mm or inches, never `-0.00`, never NaN.
//!
//! An uncertainty keeps two significant digits and its value the same places (JCGM 100:2008, 7.2.6).

use crate::frame::Unit;
use crate::machine::Unknown;
use crate::record::Estimate;

/// A space at which no line may break: between a number and its unit.
pub const TIED: char = '\u{a0}';

/// What stands in place of a number that could not be had.
pub const NOT_KNOWN: &str = "not known";

/// A number with `places` digits after the point; negative places round to tens, hundreds...
pub fn fixed(value: f64, places: i32) -> String {
    if !value.is_finite() {
        return NOT_KNOWN.to_owned();
    }
    let text = if places < 0 {
        let step = 10f64.powi(-places);
        format!("{:.0}", (value / step).round() * step)
    } else {
        format!("{value:.*}", places as usize)
    };
    let only_zeros = text.starts_with('-') && text.bytes().all(|b| !b.is_ascii_digit() || b == b'0');
    if only_zeros { text[1..].to_owned() } else { text }
}

/// As [`fixed`], with a plus sign on what is still positive after rounding.
pub fn signed(value: f64, places: i32) -> String {
    let text = fixed(value, places);
    let positive = value > 0.0 && text.bytes().any(|b| (b'1'..=b'9').contains(&b));
    if positive && value.is_finite() { format!("+{text}") } else { text }
}

/// Something that cannot be negative; what is there but would round to nought reads `<0.01`.
pub fn amount(value: f64, places: i32) -> String {
    let text = fixed(value, places);
    let smallest = 10f64.powi(-places);
    if value > 0.0 && value < smallest && !text.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
        format!("<{}", fixed(smallest, places))
    } else {
        text
    }
}

/// Places after the point (negative: tens) that leave an uncertainty two significant digits, at most `most`;
/// `None` when the uncertainty is nought or not a number.
pub fn places_for(u: f64, most: i32) -> Option<i32> {
    if !(u.is_finite() && u > 0.0) {
        return None;
    }
    let places = 1 - u.log10().floor() as i32;
    // 0.0996 rounds to 0.10: one place fewer than its own first digit asks for.
    let rounded = (u * 10f64.powi(places)).round();
    Some(if rounded >= 100.0 { places - 1 } else { places }.min(most))
}

/// A share of the whole, 0 to 1, in per cent; never a false 0 or 100.
pub fn percent(share: f64) -> String {
    match share {
        s if !s.is_finite() => NOT_KNOWN.to_owned(),
        s if s > 0.0 && s < 0.01 => format!("<1{TIED}%"),
        s if s < 1.0 && s > 0.99 => format!(">99{TIED}%"),
        s => format!("{}{TIED}%", fixed(100.0 * s, 0)),
    }
}

/// A chance, 0 to 1, in words that fit into a sentence.
pub fn chance(p: f64) -> String {
    match p {
        p if !p.is_finite() => NOT_KNOWN.to_owned(),
        p if p < 0.001 => format!("under 0.1{TIED}%"),
        p if p < 0.01 => format!("under 1{TIED}%"),
        p if p > 0.99 => format!("over 99{TIED}%"),
        p => format!("{}{TIED}%", fixed(100.0 * p, 0)),
    }
}

/// A length in inches to the nearest 64th, as read off a tape: `99 35/64`, `1/2`, `-3/8`, `0`.
pub fn to_64ths(inches: f64) -> String {
    let in_64ths = (inches * 64.0).round();
    if !in_64ths.is_finite() || in_64ths.abs() > 1e15 {
        return NOT_KNOWN.to_owned();
    }
    let sign = if in_64ths < 0.0 { "-" } else { "" };
    let all = in_64ths.abs() as u64;
    let (whole, mut above, mut below) = (all / 64, all % 64, 64);
    while above > 0 && above % 2 == 0 {
        (above, below) = (above / 2, below / 2);
    }
    match (whole, above) {
        (whole, 0) => format!("{sign}{whole}"),
        (0, above) => format!("{sign}{above}/{below}"),
        (whole, above) => format!("{sign}{whole} {above}/{below}"),
    }
}

/// How one kind of quantity is shown: its unit, and how fine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measure {
    /// Library units (mm, mm/m) in one shown unit.
    pub one: f64,
    /// The unit as printed.
    pub word: &'static str,
    /// Places of a size, a displacement, a limit.
    pub places: i32,
    /// Places of a setting to type in; also the finest that an uncertainty may ask for.
    pub fine_places: i32,
}

impl Measure {
    /// Lengths in the person's unit.
    pub const fn length(unit: Unit) -> Self {
        match unit {
            Unit::Mm => Self { one: 1.0, word: "mm", places: 2, fine_places: 2 },
            Unit::Inch => Self { one: unit.mm(), word: "in", places: 3, fine_places: 4 },
        }
    }

    /// Ratios, in mm/m whatever the person's unit.
    pub const RATIO: Self = Self { one: 1.0, word: "mm/m", places: 2, fine_places: 3 };

    /// The quantity that an unknown is.
    pub const fn of(unknown: Unknown, unit: Unit) -> Self {
        if unknown.is_length() { Self::length(unit) } else { Self { word: unknown.unit(), ..Self::RATIO } }
    }

    /// A size that cannot be negative: `2.05`, `<0.01`.
    pub fn size(&self, value: f64) -> String {
        amount(value / self.one, self.places)
    }

    /// A size with its unit.
    pub fn size_unit(&self, value: f64) -> String {
        format!("{}{TIED}{}", self.size(value), self.word)
    }

    /// A departure with its sign: `+0.31`.
    pub fn signed(&self, value: f64) -> String {
        signed(value / self.one, self.places)
    }

    /// A value to type in: `3302.91`.
    pub fn setting(&self, value: f64) -> String {
        fixed(value / self.one, self.fine_places)
    }

    /// The change between two values as [`Measure::setting`] shows them, so that the printed sum comes out.
    pub fn setting_change(&self, from: f64, to: f64) -> String {
        let step = 10f64.powi(self.fine_places);
        let rounded = |value: f64| (value / self.one * step).round() / step;
        signed(rounded(to) - rounded(from), self.fine_places)
    }

    /// Value and uncertainty: `3302.4 ± 1.3`; without the `±` when the value is held.
    pub fn estimate(&self, e: Estimate) -> String {
        self.join(e, fixed)
    }

    /// As [`Measure::estimate`] with a sign: `+0.91 ± 0.15`.
    pub fn signed_estimate(&self, e: Estimate) -> String {
        self.join(e, signed)
    }

    /// A number as shown, with this unit.
    pub fn with_unit(&self, number: &str) -> String {
        format!("{number}{TIED}{}", self.word.replace(' ', "\u{a0}"))
    }

    fn join(&self, e: Estimate, show: fn(f64, i32) -> String) -> String {
        let (value, u) = (e.value / self.one, e.u / self.one);
        if !value.is_finite() {
            return NOT_KNOWN.to_owned();
        }
        match places_for(u, self.fine_places + 1) {
            Some(places) => format!("{}{TIED}±{TIED}{}", show(value, places), amount(u, places)),
            None if u == 0.0 => show(value, self.fine_places),
            None => format!("{}{TIED}±{TIED}{NOT_KNOWN}", show(value, self.fine_places)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_keeps_two_digits_of_the_uncertainty() {
        // Edges of the rule; JCGM 100:2008, 7.2.6 gives 10.057 62 with u 27 x 10^-5 -> two digits of u.
        for (u, places) in [
            (0.27e-3, 5),
            (0.0994, 3),
            (0.0996, 2),
            (0.1, 2),
            (0.995, 1),
            (0.994, 2),
            (9.94, 1),
            (9.96, 0),
            (10.0, 0),
            (99.4, 0),
            (99.6, -1),
            (123.0, -1),
        ] {
            assert_eq!(places_for(u, 9), Some(places), "u = {u}");
        }
        assert_eq!(places_for(1e-9, 3), Some(3));
        for u in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(places_for(u, 3), None);
        }
    }

    #[test]
    fn value_and_uncertainty_share_their_places() {
        let mm = Measure::length(Unit::Mm);
        let show = |value, u| mm.signed_estimate(Estimate { value, u }).replace(TIED, " ");
        assert_eq!(show(2.3456, 0.1249), "+2.35 ± 0.12");
        assert_eq!(show(-0.004, 0.31), "0.00 ± 0.31");
        assert_eq!(show(1234.0, 123.0), "+1230 ± 120");
        assert_eq!(show(0.5, 0.0), "+0.50");
        assert_eq!(show(0.5, f64::NAN), "+0.50 ± not known");
        assert_eq!(show(f64::NAN, 0.1), "not known");
        assert_eq!(show(0.12, 1e-7), "+0.120 ± <0.001");
        let inch = Measure::length(Unit::Inch);
        assert_eq!(inch.estimate(Estimate { value: 3302.37, u: 1.31 }).replace(TIED, " "), "130.015 ± 0.052");
    }

    #[test]
    fn no_negative_nought_and_no_false_nought() {
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(fixed(-0.006, 2), "-0.01");
        assert_eq!(fixed(-3.0, -1), "0");
        assert_eq!(signed(0.004, 2), "0.00");
        assert_eq!(signed(0.006, 2), "+0.01");
        assert_eq!(amount(0.0, 2), "0.00");
        assert_eq!(amount(0.004, 2), "<0.01");
        assert_eq!(amount(0.006, 2), "0.01");
        assert_eq!(fixed(f64::NEG_INFINITY, 2), NOT_KNOWN);
        let shares = [0.0, 0.004, 0.5, 0.995, 1.0].map(|s| percent(s).replace(TIED, " "));
        assert_eq!(shares, ["0 %", "<1 %", "50 %", ">99 %", "100 %"]);
    }

    #[test]
    fn fractions_of_an_inch_as_a_tape_reads() {
        for (inches, text) in [
            (99.546875, "99 35/64"),
            (48.625, "48 5/8"),
            (0.5, "1/2"),
            (0.0078, "0"),
            (0.0079, "1/64"),
            (0.9999, "1"),
            (-0.375, "-3/8"),
            (-0.001, "0"),
            (f64::NAN, NOT_KNOWN),
        ] {
            assert_eq!(to_64ths(inches), text, "{inches}");
        }
    }

    #[test]
    fn printed_change_is_the_difference_of_the_printed_settings() {
        let mm = Measure::length(Unit::Mm);
        let (from, to) = (0.1249, 3.8472);
        assert_eq!((mm.setting(from).as_str(), mm.setting(to).as_str()), ("0.12", "3.85"));
        assert_eq!(mm.setting_change(from, to), "+3.73");
    }
}
