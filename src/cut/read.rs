//! `cut.toml` as text.

use super::{Conditions, Cut};
use crate::document::{CELSIUS, Document, Quantity, Section};
use crate::frame::{Point, Sheet, Unit};
use crate::mistake::{Mistake, Read};
use crate::pattern::Pattern;
use crate::setup;
use crate::text::is_unruly;
use std::ops::Range;

/// Most holes in a pattern; a thousand are already days of measuring.
pub const MOST_HOLES: usize = 10_000;

/// Reads `cut.toml`.
///
/// # Errors
/// Everything that is wrong with it, warnings included, in the order of the file.
pub fn read(text: &str) -> Read<Cut> {
    let document = Document::parse(text)?;
    let cut = from_section(document.root());
    document.finish(cut)
}

fn from_section(mut root: Section<'_>) -> Option<Cut> {
    let format =
        root.number("format", &Quantity::plain("number of the form that this file has", "", 1.0..=1.0));
    let day = root.date("date", "the day of the cut: \"2026-11-25\"");
    let unit = root.word("unit", &[("mm", Unit::Mm), ("inch", Unit::Inch)]);
    let in_unit = unit.as_ref().map_or(Unit::Mm, |found| found.value);
    let setup = root.section("machine", "machine.toml as it was on that day").and_then(setup::from_section);
    let sheet = setup.as_ref().map(|s| s.sheet);
    let pattern = root
        .section("pattern", "columns, rows, width, height, hole_diameter")
        .and_then(|s| pattern(s, in_unit, sheet));
    let conditions = root.section_if_any("conditions", "a table").map(conditions).unwrap_or_default();
    root.close();
    format?;
    // What an earlier cut taught has aged by the day of this one.
    let date = day?.value;
    Some(Cut { date, unit: unit?.value, pattern: pattern?, conditions, setup: setup?.aged(date) })
}

fn pattern(mut section: Section<'_>, unit: Unit, sheet: Option<Sheet>) -> Option<Pattern> {
    let columns = section.whole("columns", &Quantity::plain("columns of holes", "", 1.0..=1000.0));
    let rows = section.whole("rows", &Quantity::plain("rows of holes", "", 1.0..=1000.0));
    let width = section.number("width", &Quantity::length("first to last column", unit, 0.0..=10_000.0));
    let height = section.number("height", &Quantity::length("first to last row", unit, 0.0..=6000.0));
    let diameter =
        section.number("hole_diameter", &Quantity::length("diameter of the holes", unit, 0.5..=50.0));
    let key = section.flag("key");
    let centre = section.pair_if_any(
        "centre",
        "[x, y]: the pattern's middle right of and above the sheet's middle",
        [
            &Quantity::length("pattern's middle right of the sheet's", unit, -5000.0..=5000.0),
            &Quantity::length("pattern's middle above the sheet's", unit, -3000.0..=3000.0),
        ],
    );
    let (document, span) = (section.document(), section.span());
    section.close();
    let (columns, rows, width, height, diameter) = (columns?, rows?, width?, height?, diameter?);
    let pattern = Pattern {
        columns: columns.value as usize,
        rows: rows.value as usize,
        width_mm: width.value,
        height_mm: height.value,
        centre: centre.map_or(Point::default(), |[x, y]| Point::new(x.value, y.value)),
        hole_diameter_mm: diameter.value,
        key,
    };
    let places = Places { whole: span, width: width.span, height: height.span, rows: rows.span };
    for mistake in impossible(document, &pattern, &places, unit) {
        document.report(mistake);
    }
    if let Some(mistake) = sheet.and_then(|sheet| off_the_sheet(document, &pattern, sheet, &places, unit)) {
        document.report(mistake);
    }
    Some(pattern)
}

/// Where the parts of a pattern stand in the text.
struct Places {
    whole: Range<usize>,
    width: Range<usize>,
    height: Range<usize>,
    rows: Range<usize>,
}

/// Patterns that cannot be drilled on any sheet.
fn impossible(document: &Document<'_>, p: &Pattern, places: &Places, unit: Unit) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    let count = p.columns * p.rows;
    if count < 2 {
        let title = "a pattern of one hole has no distance to measure";
        mistakes.push(
            document.mistake(places.whole.clone(), title).expected("at least two holes; 7 by 5 are usual"),
        );
    }
    if count > MOST_HOLES {
        let mistake = document.mistake(places.rows.clone(), "too many holes").found(format!("{count} holes"));
        mistakes.push(mistake.expected(format!("at most {MOST_HOLES}; 35 are usual")));
        return mistakes;
    }
    if p.key && (p.columns < 2 || p.rows < 2) {
        let title = "there is no place for the key hole";
        mistakes.push(
            document
                .mistake(places.whole.clone(), title)
                .expected("two columns and two rows: KEY lies midway between A1, A2, B1 and B2"),
        );
    }
    let step = |size_mm: f64, n: usize| if n < 2 { f64::INFINITY } else { size_mm / (n - 1) as f64 };
    let (across, up) = (step(p.width_mm, p.columns), step(p.height_mm, p.rows));
    // The key hole stands half a step from its neighbours, both ways.
    let to_key = if p.key { across.hypot(up) / 2.0 } else { f64::INFINITY };
    for (apart_mm, what, place) in
        [(across.min(to_key), "columns", &places.width), (up, "rows", &places.height)]
    {
        if apart_mm <= p.hole_diameter_mm {
            mistakes.push(
                document
                    .mistake(place.clone(), "the holes run into each other")
                    .found(format!("{what} with {} between holes", length(apart_mm, unit)))
                    .expected(format!("more than the hole diameter, {}", length(p.hole_diameter_mm, unit))),
            );
        }
    }
    mistakes
}

/// Every hole, rim included, must lie on the sheet.
fn off_the_sheet(
    document: &Document<'_>,
    pattern: &Pattern,
    sheet: Sheet,
    places: &Places,
    unit: Unit,
) -> Option<Mistake> {
    let reach = Point::new(
        if pattern.columns > 1 { pattern.width_mm / 2.0 } else { 0.0 },
        if pattern.rows > 1 { pattern.height_mm / 2.0 } else { 0.0 },
    );
    let half_size = Point::new(sheet.width_mm / 2.0, sheet.height_mm / 2.0);
    let need = |centre: f64, reach: f64| centre.abs() + reach + pattern.hole_diameter_mm / 2.0;
    let out_x = need(pattern.centre.x_mm, reach.x_mm) - half_size.x_mm;
    let out_y = need(pattern.centre.y_mm, reach.y_mm) - half_size.y_mm;
    let (out_mm, place, size_mm) = if out_x > 0.0 {
        (out_x, &places.width, sheet.width_mm)
    } else if out_y > 0.0 {
        (out_y, &places.height, sheet.height_mm)
    } else {
        return None;
    };
    Some(
        document
            .mistake(place.clone(), "the pattern leaves the sheet")
            .found(format!("the outermost holes lie {} over its edge", length(out_mm, unit)))
            .expected(format!("all holes on a sheet of {}", length(size_mm, unit))),
    )
}

fn length(mm: f64, unit: Unit) -> String {
    let digits = if unit == Unit::Mm { 1 } else { 3 };
    format!("{:.digits$} {}", unit.from_mm(mm), unit.name())
}

fn conditions(mut section: Section<'_>) -> Conditions {
    let temperature =
        section.number_if_any("temperature", &Quantity::plain("temperature", CELSIUS, -30.0..=60.0));
    let humidity = Quantity::plain("relative humidity", "percent", 0.0..=100.0).usually(
        5.0..=95.0,
        "20 to 90 percent; in air so damp or dry a board changes size while it is measured",
    );
    let humidity = section.number_if_any("humidity", &humidity);
    let mut text = |key| section.text_if_any(key).map(|found| tidy(found.value));
    let (material, bit, operator, note) = (text("material"), text("bit"), text("operator"), text("note"));
    section.close();
    Conditions {
        temperature_c: temperature.map(|found| found.value),
        humidity_percent: humidity.map(|found| found.value),
        material,
        bit,
        operator,
        note,
    }
}

/// Free text without characters that could harm a screen.
fn tidy(text: &str) -> String {
    text.trim().chars().map(|c| if is_unruly(c) { ' ' } else { c }).collect()
}
