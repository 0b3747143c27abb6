//! What a number in a file must be.

use crate::frame::Unit;
use std::ops::RangeInclusive;

/// A number that a file gives: what it is, its unit there, and between which values it makes sense.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// What it is, in words of the trade.
    pub what: &'static str,
    /// Its unit as written in the file; empty for a bare number.
    pub unit: &'static str,
    /// Library units (mm for a length) in one unit of the file.
    pub factor: f64,
    /// Least and greatest possible value, in library units.
    pub range: RangeInclusive<f64>,
    /// Outside of this range (in library units) a value is legal yet odd, and warned of with this advice.
    pub usual: Option<(RangeInclusive<f64>, &'static str)>,
}

impl Quantity {
    /// A length in the file's unit, possible within a range of mm.
    pub fn length(what: &'static str, unit: Unit, range_mm: RangeInclusive<f64>) -> Self {
        Self { what, unit: unit.name(), factor: unit.mm(), range: range_mm, usual: None }
    }

    /// Anything else, in the same unit in every file.
    pub fn plain(what: &'static str, unit: &'static str, range: RangeInclusive<f64>) -> Self {
        Self { what, unit, factor: 1.0, range, usual: None }
    }

    /// Warns of values outside of a range, in library units; `advice` says what is usual and why.
    pub fn usually(self, range: RangeInclusive<f64>, advice: &'static str) -> Self {
        Self { usual: Some((range, advice)), ..self }
    }

    /// What is expected of it: `sprocket axis to sprocket axis, 300 to 20000 mm`.
    pub fn expectation(&self) -> String {
        let (least, most) = (self.range.start() / self.factor, self.range.end() / self.factor);
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        let limits = match (least, most) {
            (least, most) if least == most => short(least),
            (0.0, most) if most >= ENDLESS => format!("0 or more{unit}"),
            (least, most) if most >= ENDLESS => format!("at least {}{unit}", short(least)),
            (least, most) => format!("{} to {}{unit}", short(least), short(most)),
        };
        format!("{}, {limits}", self.what)
    }

    /// Why a value that is out of range might be so: another unit was meant.
    pub(super) fn other_unit(&self, in_library_units: f64) -> Option<String> {
        let celsius = (in_library_units - 32.0) / 1.8;
        if self.unit == CELSIUS && self.range.contains(&celsius) {
            return Some(format!("if that is in Fahrenheit, write {celsius:.1}"));
        }
        let (factor, here, other) = match self.unit {
            "mm" => (Unit::Inch.mm(), Unit::Mm, Unit::Inch),
            "inch" => (1.0 / Unit::Inch.mm(), Unit::Inch, Unit::Mm),
            _ => return None,
        };
        (in_library_units != 0.0 && self.range.contains(&(in_library_units * factor))).then(|| {
            format!("this file has unit = \"{}\"; was it measured in {}?", here.name(), other.name())
        })
    }
}

/// Unit of temperatures, in every file.
pub const CELSIUS: &str = "degrees C";

/// From here on a limit is not worth mentioning.
const ENDLESS: f64 = 1e6;

/// A number in as few digits as a person needs.
pub(super) fn short(x: f64) -> String {
    let rounded = if x.abs() >= 100.0 { x.round() } else { (x * 1000.0).round() / 1000.0 };
    format!("{rounded}")
}
