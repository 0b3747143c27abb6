//! A pattern as a TOML file: for which sheet it is meant, and its grid in the unit of that sheet.

use super::Pattern;
use crate::frame::{Point, Sheet, Unit};
use crate::mistake::Mistake;
use serde::Deserialize;
use toml::Spanned;

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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    format: Spanned<i64>,
    #[serde(default)]
    about: String,
    unit: Unit,
    sheet: Size,
    pattern: Grid,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Size {
    width: Spanned<f64>,
    height: Spanned<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Grid {
    columns: Spanned<i64>,
    rows: Spanned<i64>,
    width: Spanned<f64>,
    height: Spanned<f64>,
    #[serde(default)]
    centre: Option<Spanned<[f64; 2]>>,
    hole_diameter: Spanned<f64>,
    #[serde(default)]
    key: bool,
}

/// Most columns, and most rows, that a file may ask for.
const MOST_IN_LINE: i64 = 1000;
/// Largest length in a file, mm: well beyond any sheet.
const LONGEST_MM: f64 = 100_000.0;

/// Reads a definition from the text of its file.
///
/// # Errors
/// The first mistake of syntax or of names, or else every value that no pattern can have. Whether the pattern
/// suits a sheet is for [`super::check`] to say.
pub fn read(text: &str) -> Result<Definition, Vec<Mistake>> {
    let file: File = toml::from_str(text).map_err(|e| {
        vec![Mistake::at(text, e.span().unwrap_or(0..0), "not a pattern definition").found(e.message())]
    })?;
    let unit = file.unit;
    let mut reader = Reader { text, unit, mistakes: Vec::new() };
    if *file.format.get_ref() != 1 {
        reader.refuse(&file.format, "unknown format", "1");
    }
    let sheet = Sheet {
        width_mm: reader.length(&file.sheet.width, "more than 0"),
        height_mm: reader.length(&file.sheet.height, "more than 0"),
    };
    let grid = &file.pattern;
    let pattern = Pattern {
        columns: reader.count(&grid.columns),
        rows: reader.count(&grid.rows),
        width_mm: reader.span_of(&grid.width),
        height_mm: reader.span_of(&grid.height),
        centre: grid.centre.as_ref().map_or(Point::default(), |c| reader.point(c)),
        hole_diameter_mm: reader.length(&grid.hole_diameter, "more than 0"),
        key: grid.key,
    };
    match reader.mistakes {
        mistakes if mistakes.is_empty() => Ok(Definition { about: file.about, unit, sheet, pattern }),
        mistakes => Err(mistakes),
    }
}

/// Turns values into mm and keeps what is wrong with them.
struct Reader<'a> {
    text: &'a str,
    unit: Unit,
    mistakes: Vec<Mistake>,
}

impl Reader<'_> {
    fn refuse<T>(&mut self, value: &Spanned<T>, title: &str, expected: &str) {
        let found = self.text.get(value.span()).unwrap_or_default();
        self.mistakes.push(Mistake::at(self.text, value.span(), title).found(found).expected(expected));
    }

    /// A length above 0, as mm.
    fn length(&mut self, value: &Spanned<f64>, expected: &str) -> f64 {
        let length_mm = self.unit.to_mm(*value.get_ref());
        if !(length_mm > 0.0 && length_mm <= LONGEST_MM) {
            self.refuse(value, "not a possible length", expected);
        }
        length_mm
    }

    /// First to last hole of a line, as mm; 0 will do for a line of one hole.
    fn span_of(&mut self, value: &Spanned<f64>) -> f64 {
        let length_mm = self.unit.to_mm(*value.get_ref());
        if !(0.0..=LONGEST_MM).contains(&length_mm) {
            self.refuse(value, "not a possible length", "0 or more");
        }
        length_mm
    }

    fn point(&mut self, value: &Spanned<[f64; 2]>) -> Point {
        let [x_mm, y_mm] = value.get_ref().map(|v| self.unit.to_mm(v));
        if !(x_mm.abs() <= LONGEST_MM && y_mm.abs() <= LONGEST_MM) {
            self.refuse(value, "not a possible place", "[x, y] from the middle of the sheet");
        }
        Point::new(x_mm, y_mm)
    }

    fn count(&mut self, value: &Spanned<i64>) -> usize {
        if !(1..=MOST_IN_LINE).contains(value.get_ref()) {
            self.refuse(value, "not a possible number of holes", "1 to 1000");
        }
        usize::try_from(*value.get_ref()).unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "format = 1\nunit = \"inch\"\n[sheet]\nwidth = 48\nheight = 24.0\n[pattern]\ncolumns = 3\nrows = 2\n\
                        width = 40\nheight = 16\nhole_diameter = 0.25\ncentre = [1, -0.5]\n";

    #[test]
    fn lengths_become_mm() {
        let d = read(GOOD).expect("a good definition");
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
        assert_eq!(mistakes[1].found, "-40");
    }

    #[test]
    fn unknown_keys_and_units_are_refused_where_they_stand() {
        let unknown = read(&GOOD.replace("rows = 2", "rows = 2\nrow = 2")).expect_err("an unknown key");
        assert_eq!((unknown[0].line, unknown[0].column), (9, 1));
        let unit = read(&GOOD.replace("\"inch\"", "\"cm\"")).expect_err("an unknown unit");
        assert_eq!((unit[0].line, unit[0].column), (2, 8));
    }
}
