//! A cut as text: the pattern, and a snapshot of `machine.toml` with every value as its owner wrote it.

use super::Conditions;
use crate::document::Document;
use crate::frame::{Point, Unit};
use crate::mistake::Mistake;
use crate::pattern::Pattern;
use jiff::civil::Date;
use std::fmt::Write;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// `cut.toml` for a pattern on a machine, whose `machine.toml` is given as text. Lengths of the pattern are
/// written in `unit`.
///
/// # Errors
/// When the machine's text is not TOML.
pub fn write(
    date: Date,
    unit: Unit,
    pattern: &Pattern,
    conditions: &Conditions,
    machine_text: &str,
) -> Result<String, Vec<Mistake>> {
    let machine = Document::parse(machine_text)?;
    let length = |mm: f64| number(unit.from_mm(mm));
    let mut out = String::new();
    let _ =
        writeln!(out, "# A cut as it was prepared. Do not edit: the sheet was drilled from these numbers.");
    let _ = writeln!(out, "format = 1\ndate = \"{date}\"\nunit = \"{}\"\n", unit.name());
    let _ = writeln!(out, "[pattern]\ncolumns = {}\nrows = {}", pattern.columns, pattern.rows);
    let _ = writeln!(out, "width = {}\nheight = {}", length(pattern.width_mm), length(pattern.height_mm));
    let _ = writeln!(out, "hole_diameter = {}\nkey = {}", length(pattern.hole_diameter_mm), pattern.key);
    if pattern.centre != Point::default() {
        let _ = writeln!(out, "centre = [{}, {}]", length(pattern.centre.x_mm), length(pattern.centre.y_mm));
    }
    let _ = writeln!(out, "\n[conditions]");
    let numbers = [("temperature", conditions.temperature_c), ("humidity", conditions.humidity_percent)];
    for (key, value) in numbers.into_iter().filter_map(|(k, v)| v.map(|v| (k, v))) {
        let _ = writeln!(out, "{key} = {}", number(value));
    }
    let texts = [
        ("material", &conditions.material),
        ("bit", &conditions.bit),
        ("operator", &conditions.operator),
        ("note", &conditions.note),
    ];
    for (key, value) in texts.into_iter().filter_map(|(k, v)| v.as_deref().map(|v| (k, v))) {
        let _ = writeln!(out, "{key} = {}", toml::Value::from(value));
    }
    table(&mut out, &machine, machine.table(), "machine", "[machine]");
    Ok(out)
}

/// A number that reads back as the same one, with a decimal point.
fn number(x: f64) -> String {
    format!("{x:?}")
}

/// Writes a table under a header: plain values first, then the tables below it, all in the order of the file.
fn table(out: &mut String, document: &Document<'_>, table: &DeTable<'_>, path: &str, header: &str) {
    let mut entries: Vec<(&str, &Spanned<DeValue<'_>>, usize)> =
        table.iter().map(|(k, v)| (k.get_ref().as_ref(), v, k.span().start)).collect();
    entries.sort_by_key(|(_, _, start)| *start);
    let _ = writeln!(out, "\n{header}");
    let mut below = Vec::new();
    for (key, value, _) in entries {
        let written = document.written(value.span());
        let is_header = match value.get_ref() {
            // Tables in braces keep their form; the others have a header, or dotted keys in its place.
            DeValue::Table(_) => !written.starts_with('{'),
            DeValue::Array(list) => written.starts_with("[[") && list.iter().all(|v| v.get_ref().is_table()),
            _ => false,
        };
        if is_header {
            below.push((key, value));
        } else {
            let _ = writeln!(out, "{} = {written}", bare(key));
        }
    }
    for (key, value) in below {
        let path = format!("{path}.{}", bare(key));
        match value.get_ref() {
            DeValue::Table(inner) => self::table(out, document, inner, &path, &format!("[{path}]")),
            DeValue::Array(list) => {
                for inner in list.iter().filter_map(|v| v.get_ref().as_table()) {
                    self::table(out, document, inner, &path, &format!("[[{path}]]"));
                }
            }
            _ => {}
        }
    }
}

/// A key as TOML wants it.
fn bare(key: &str) -> String {
    let is_bare = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if is_bare { key.to_owned() } else { toml::Value::from(key).to_string() }
}
