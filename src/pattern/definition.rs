//! A pattern as a TOML file: for which sheet it is meant, and its grid in the unit of that sheet.

use super::Pattern;
use crate::document::{Document, Quantity, Section};
use crate::frame::{Point, Sheet, Unit};
use crate::mistake::Read;

/// A pattern, and the sheet it was drawn for.
#[derive(Debug, Clone, PartialEq)]
pub struct Definition {
    /// One line on what it is for.
    pub about: String,
    /// Unit in which its sizes are round.
    pub unit: Unit,
    /// The sheet.
    pub sheet: Sheet,
    /// The grid.
    pub pattern: Pattern,
}

/// Reads a definition from the text of its file.
///
/// # Errors
/// Every mistake in it. Whether the pattern suits a sheet is for [`super::check()`] to say.
pub fn read(text: &str) -> Read<Definition> {
    let document = Document::parse(text)?;
    let definition = from_section(document.root());
    document.finish(definition)
}

fn from_section(mut root: Section<'_>) -> Option<Definition> {
    let format = root.number("format", &Quantity::plain("the form of this file", "", 1.0..=1.0));
    let about = root.text_if_any("about").map_or_else(String::new, |found| found.value.to_owned());
    let unit = root.word("unit", &[("mm", Unit::Mm), ("inch", Unit::Inch)]);
    let in_unit = unit.as_ref().map_or(Unit::Mm, |found| found.value);
    let sheet = root.section("sheet", "width and height").and_then(|s| sheet(s, in_unit));
    let pattern = root
        .section("pattern", "columns, rows, width, height, hole_diameter")
        .and_then(|s| pattern(s, in_unit));
    root.close();
    format?;
    Some(Definition { about, unit: unit?.value, sheet: sheet?, pattern: pattern? })
}

fn sheet(mut section: Section<'_>, unit: Unit) -> Option<Sheet> {
    let width = section.number("width", &Quantity::length("width of the sheet", unit, 100.0..=10_000.0));
    let height = section.number("height", &Quantity::length("height of the sheet", unit, 100.0..=6000.0));
    section.close();
    Some(Sheet { width_mm: width?.value, height_mm: height?.value })
}

fn pattern(mut section: Section<'_>, unit: Unit) -> Option<Pattern> {
    let columns = section.whole("columns", &Quantity::plain("columns of holes", "", 1.0..=1000.0));
    let rows = section.whole("rows", &Quantity::plain("rows of holes", "", 1.0..=1000.0));
    let width = section.number("width", &Quantity::length("first to last column", unit, 0.0..=10_000.0));
    let height = section.number("height", &Quantity::length("first to last row", unit, 0.0..=6000.0));
    let right = Quantity::length("pattern's middle right of the sheet's", unit, -5000.0..=5000.0);
    let up = Quantity::length("pattern's middle above the sheet's", unit, -3000.0..=3000.0);
    let centre = section.pair_if_any("centre", "[x, y] from the middle of the sheet", [&right, &up]);
    let diameter =
        section.number("hole_diameter", &Quantity::length("diameter of the holes", unit, 0.5..=50.0));
    let key = section.flag("key");
    section.close();
    Some(Pattern {
        columns: columns?.value as usize,
        rows: rows?.value as usize,
        width_mm: width?.value,
        height_mm: height?.value,
        centre: centre.map_or(Point::default(), |[x, y]| Point::new(x.value, y.value)),
        hole_diameter_mm: diameter?.value,
        key,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "format = 1\nunit = \"inch\"\n[sheet]\nwidth = 48\nheight = 24.0\n[pattern]\ncolumns = 3\nrows = 2\n\
                        width = 40\nheight = 16\nhole_diameter = 0.25\ncentre = [1, -0.5]\n";

    #[test]
    fn lengths_become_mm() {
        let d = read(GOOD).expect("a good definition").0;
        assert_eq!((d.pattern.columns, d.pattern.rows, d.pattern.key), (3, 2, false));
        let (p, c) = (&d.pattern, d.pattern.centre);
        let found = [
            d.sheet.width_mm,
            d.sheet.height_mm,
            p.width_mm,
            p.height_mm,
            p.hole_diameter_mm,
            c.x_mm,
            c.y_mm,
        ];
        let wanted = [1219.2, 609.6, 1016.0, 406.4, 6.35, 25.4, -12.7];
        assert!(found.iter().zip(wanted).all(|(f, w)| (f - w).abs() < 1e-9), "{found:?}");
    }

    #[test]
    fn every_impossible_value_is_named_with_its_line() {
        let bad = GOOD.replace("= 3", "= 0").replace("width = 40", "width = -40").replace("0.25", "nan");
        let mistakes = read(&bad).expect_err("three bad values");
        assert_eq!(mistakes.iter().map(|m| m.line).collect::<Vec<_>>(), [7, 9, 11]);
        assert_eq!(mistakes[1].found, "-40 inch");
    }

    #[test]
    fn unknown_keys_and_units_are_refused_where_they_stand() {
        let unknown = read(&GOOD.replace("rows = 2", "rows = 2\nrow = 2")).expect_err("an unknown key");
        assert_eq!((unknown[0].line, unknown[0].column), (9, 1));
        let unit = read(&GOOD.replace("\"inch\"", "\"cm\"")).expect_err("an unknown unit");
        assert_eq!((unit[0].line, unit[0].column), (2, 8));
    }
}
