//! The patterns that are known by name: three kinds, each for five sheets.

use super::ROUNDING_MM;
use super::definition::{self, Definition};
use crate::frame::{Sheet, Unit};

macro_rules! definitions {
    ($($name:literal),+ $(,)?) => {
        &[$(($name, include_str!(concat!("../../patterns/", $name, ".toml")))),+]
    };
}

/// Name and text of each definition, kind by kind.
const DEFINITIONS: &[(&str, &str)] = definitions![
    "quick-2500x1250",
    "quick-2440x1220",
    "quick-1250x1250",
    "quick-96x48in",
    "quick-48x48in",
    "standard-2500x1250",
    "standard-2440x1220",
    "standard-1250x1250",
    "standard-96x48in",
    "standard-48x48in",
    "dense-2500x1250",
    "dense-2440x1220",
    "dense-1250x1250",
    "dense-96x48in",
    "dense-48x48in",
];

/// The kinds, from the shortest afternoon to the longest.
pub const KINDS: [&str; 3] = ["quick", "standard", "dense"];

/// All full names, such as `standard-2500x1250`.
pub fn names() -> impl Iterator<Item = &'static str> {
    DEFINITIONS.iter().map(|(name, _)| *name)
}

/// The definition of a full name.
pub fn by_name(name: &str) -> Option<Definition> {
    let (_, text) = DEFINITIONS.iter().find(|(known, _)| *known == name)?;
    definition::read(text).ok().map(|(definition, _)| definition)
}

/// The full name, of the given kind, that suits a sheet and a unit best.
///
/// It is the widest of those that keep `margin_mm` to every edge; of two alike, the one drawn in that unit.
/// `None` for an unknown kind, or a sheet too small for any.
pub fn for_sheet(kind: &str, sheet: &Sheet, unit: Unit, margin_mm: f64) -> Option<&'static str> {
    let fits = |d: &Definition| {
        d.pattern.width_mm + 2.0 * margin_mm <= sheet.width_mm + ROUNDING_MM
            && d.pattern.height_mm + 2.0 * margin_mm <= sheet.height_mm + ROUNDING_MM
    };
    let of_kind = names().filter(|name| name.rsplit_once('-').is_some_and(|(k, _)| k == kind));
    let fitting: Vec<(&str, Definition)> =
        of_kind.filter_map(|name| Some((name, by_name(name)?))).filter(|(_, d)| fits(d)).collect();
    let in_unit = fitting.iter().filter(|(_, d)| d.unit == unit);
    let area = |d: &Definition| d.pattern.width_mm * d.pattern.height_mm;
    let widest =
        |a: &&(&'static str, Definition), b: &&(&'static str, Definition)| area(&a.1).total_cmp(&area(&b.1));
    in_unit.max_by(widest).or_else(|| fitting.iter().max_by(widest)).map(|(name, _)| *name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::{DEFAULT_MARGIN_MM, check};

    #[test]
    fn every_definition_can_be_cut_on_its_own_sheet() {
        for name in names() {
            let d = by_name(name).unwrap_or_else(|| panic!("{name} does not read"));
            assert_eq!(check(&d.pattern, &d.sheet, DEFAULT_MARGIN_MM, |_| Ok(())), Ok(()), "{name}");
            let holes = d.pattern.holes().len();
            assert!(d.about.starts_with(&format!("{holes} holes ")), "{name} has {holes} holes");
            assert!(d.pattern.key, "{name}");
        }
        assert_eq!(names().count(), KINDS.len() * 5);
        assert!(by_name("standard").is_none());
    }

    #[test]
    fn a_kind_finds_the_one_for_the_sheet() {
        let sheet = |width_mm, height_mm| Sheet { width_mm, height_mm };
        let find = |kind, s: Sheet, unit| for_sheet(kind, &s, unit, DEFAULT_MARGIN_MM);
        assert_eq!(find("standard", sheet(2500.0, 1250.0), Unit::Mm), Some("standard-2500x1250"));
        assert_eq!(find("quick", sheet(2440.0, 1220.0), Unit::Mm), Some("quick-2440x1220"));
        assert_eq!(find("dense", sheet(1220.0, 1220.0), Unit::Mm), Some("dense-1250x1250"));
        assert_eq!(find("standard", sheet(2438.4, 1219.2), Unit::Inch), Some("standard-96x48in"));
        assert_eq!(find("quick", sheet(1219.2, 1219.2), Unit::Inch), Some("quick-48x48in"));
        assert_eq!(find("standard", sheet(900.0, 600.0), Unit::Mm), None);
        assert_eq!(find("finest", sheet(2500.0, 1250.0), Unit::Mm), None);
    }
}
