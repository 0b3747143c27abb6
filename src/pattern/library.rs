//! The patterns that are known by name: three kinds, each for five sheets.

use super::definition::{self, Definition};
use super::{Pattern, ROUNDING_MM};
use crate::frame::{Point, Sheet, Unit};

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

/// A pattern covers a sheet when it is at least this share of the width and of the height inside the margins.
const COVERS: f64 = 0.9;

/// All full names, such as `standard-2500x1250`.
pub fn names() -> impl Iterator<Item = &'static str> {
    DEFINITIONS.iter().map(|(name, _)| *name)
}

/// The definition of a full name.
pub fn by_name(name: &str) -> Option<Definition> {
    let (_, text) = DEFINITIONS.iter().find(|(known, _)| *known == name)?;
    definition::read(text).ok().map(|(definition, _)| definition)
}

/// A pattern of a kind for a sheet, `margin_mm` from every edge when its middle is at `centre`.
///
/// It is the largest of the library in that unit that fits and covers the sheet. For a sheet unlike any of
/// those, it is the one for the sheet most alike in shape, with its size made to fit, in steps of 10 mm or
/// half an inch. `None` for an unknown kind, or when the margins leave nothing.
pub fn for_sheet(kind: &str, sheet: &Sheet, unit: Unit, margin_mm: f64, centre: Point) -> Option<Pattern> {
    let room_x_mm = sheet.width_mm - 2.0 * (margin_mm + centre.x_mm.abs());
    let room_y_mm = sheet.height_mm - 2.0 * (margin_mm + centre.y_mm.abs());
    let fits = |size_mm: f64, room_mm: f64| {
        (COVERS * room_mm..=room_mm + ROUNDING_MM).contains(&size_mm) && room_mm > 0.0
    };
    let of_kind: Vec<Definition> = names()
        .filter(|name| name.split_once('-').is_some_and(|(k, _)| k == kind))
        .filter_map(by_name)
        .filter(|definition| definition.unit == unit)
        .collect();
    let patterns = of_kind.iter().map(|d| &d.pattern);
    let drawn = patterns
        .filter(|p| fits(p.width_mm, room_x_mm) && fits(p.height_mm, room_y_mm))
        .max_by(|a, b| (a.width_mm * a.height_mm).total_cmp(&(b.width_mm * b.height_mm)));
    if let Some(drawn) = drawn {
        return Some(Pattern { centre, ..drawn.clone() });
    }
    let shape = |s: &Sheet| (s.width_mm / s.height_mm).ln();
    let unlikeness = |d: &&Definition| (shape(&d.sheet) - shape(sheet)).abs();
    let alike = of_kind.iter().min_by(|a, b| unlikeness(a).total_cmp(&unlikeness(b)))?;
    let step_mm = step_mm(unit);
    let fit = |room_mm: f64| (room_mm / step_mm + ROUNDING_MM).floor() * step_mm;
    let (width_mm, height_mm) = (fit(room_x_mm), fit(room_y_mm));
    let made = Pattern { width_mm, height_mm, centre, ..alike.pattern.clone() };
    (width_mm > 0.0 && height_mm > 0.0).then_some(made)
}

/// Sizes and shifts of patterns are whole multiples of this, mm: round numbers on a tape.
pub const fn step_mm(unit: Unit) -> f64 {
    match unit {
        Unit::Mm => 10.0,
        Unit::Inch => 0.5 * unit.mm(),
    }
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

    fn find(kind: &str, width: f64, height: f64, unit: Unit, centre: Point) -> Option<Pattern> {
        let sheet = Sheet { width_mm: unit.to_mm(width), height_mm: unit.to_mm(height) };
        for_sheet(kind, &sheet, unit, DEFAULT_MARGIN_MM, centre)
    }

    #[test]
    fn a_kind_finds_the_one_drawn_for_the_sheet() {
        for (kind, width, height, unit, name) in [
            ("standard", 2500.0, 1250.0, Unit::Mm, "standard-2500x1250"),
            ("quick", 2440.0, 1220.0, Unit::Mm, "quick-2440x1220"),
            ("dense", 1220.0, 1220.0, Unit::Mm, "dense-1250x1250"),
            ("standard", 96.0, 48.0, Unit::Inch, "standard-96x48in"),
            ("quick", 48.0, 48.0, Unit::Inch, "quick-48x48in"),
        ] {
            let found = find(kind, width, height, unit, Point::default());
            assert_eq!(found, by_name(name).map(|d| d.pattern), "{name}");
        }
        assert_eq!(find("finest", 2500.0, 1250.0, Unit::Mm, Point::default()), None);
    }

    #[test]
    fn another_sheet_or_a_shift_gets_one_made_to_fit() {
        // 1805 - 200 and 905 - 200 mm, in steps of 10 mm; most like a full sheet
        let odd = find("standard", 1805.0, 905.0, Unit::Mm, Point::default()).expect("a pattern");
        assert_eq!((odd.columns, odd.rows, odd.width_mm, odd.height_mm), (7, 5, 1600.0, 700.0));
        // A small shift leaves room for the one of a sheet a little smaller, a large one for none.
        for (centre, width_mm, height_mm) in
            [(Point::new(30.0, -15.0), 2220.0, 1000.0), (Point::new(150.0, -15.0), 2000.0, 1020.0)]
        {
            let shifted = find("standard", 2500.0, 1250.0, Unit::Mm, centre).expect("a pattern");
            assert_eq!((shifted.width_mm, shifted.height_mm, shifted.centre), (width_mm, height_mm, centre));
        }
        assert_eq!(find("standard", 2500.0, 150.0, Unit::Mm, Point::default()), None);
    }
}
