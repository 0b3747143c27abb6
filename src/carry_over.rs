//! What a cut taught, carried over into `machine.toml`: the new settings, and `[expected]` as it is now known, with its
//! correlations. The person's comments and layout stay.

mod first;

pub use first::{built, taped};

use crate::events::Kind;
use crate::frame::Unit;
use crate::machine::{COUNT, Unknown};
use crate::record::{Analysis, Estimate, InstrumentResult};
use crate::setup::Setup;
use jiff::civil::Date;
use toml_edit::{DocumentMut, InlineTable, Item, Table, TableLike, TomlError, Value};

/// Correlations are kept a little nearer nought than they are, or rounding could make a set of them impossible.
const SHRINK: f64 = 1.0 - 1e-6;
/// Decimals of a correlation.
const CORRELATION_PLACES: i32 = 7;

/// The text of `machine.toml` with what the analysis found: settings to enter, expectations, and what is now known of
/// each instrument that took part. Lengths are written in `unit`, the file's own; `day` is that of the cut.
///
/// # Errors
/// When the text is not TOML.
pub fn renewed(text: &str, analysis: &Analysis, unit: Unit, day: Date) -> Result<String, TomlError> {
    let mut document: DocumentMut = text.parse()?;
    let one = |unknown: Unknown| if unknown.is_length() { unit.mm() } else { 1.0 };
    // Tenths of a micrometre in mm, the same fineness in inches.
    let places = |unknown: Unknown| if unknown.is_length() && unit == Unit::Inch { 6 } else { 4 };
    let written = |unknown: Unknown, value: f64| rounded(value / one(unknown), places(unknown));

    for key in ["settings", "expected"] {
        if document.get(key).is_none_or(|item| !item.is_table_like()) {
            document.insert(key, Item::Table(Table::new()));
        }
    }
    if let Some(settings) = document.get_mut("settings").and_then(Item::as_table_like_mut) {
        for change in analysis.settings_new.iter().filter(|change| change.from != change.to) {
            put(settings, change.unknown.name(), written(change.unknown, change.to));
        }
    }
    if let Some(expected) = document.get_mut("expected").and_then(Item::as_table_like_mut) {
        for result in analysis.unknowns.iter().filter(|result| result.expected.u > 0.0) {
            let Estimate { value, u } = result.estimate;
            let pair = [
                ("value", written(result.unknown, value)),
                ("u", written(result.unknown, u).max(10f64.powi(-6))),
            ];
            put_table(expected, result.unknown.name(), &pair);
        }
        expected.insert("as_of", Item::Value(day.to_string().into()));
        let matrix = |i: usize, j: usize| analysis.correlation[i][j];
        expected.insert("correlation", Item::Table(correlation(&analysis.correlation_names, matrix)));
    }
    if let Some(list) = document.get_mut("instrument").and_then(Item::as_array_of_tables_mut) {
        for instrument in list.iter_mut() {
            let name = instrument.get("name").and_then(Item::as_str).unwrap_or_default().to_owned();
            match analysis.instruments.iter().find(|i| i.name == name) {
                Some(result) => learn(instrument, result),
                None => forget_correlation(instrument),
            }
        }
    }
    Ok(document.to_string())
}

/// The text of `machine.toml` after something was done to the machine: what an event of that kind moves (on the left and the
/// right side, as `sides` says) is expected no better than before any cut, and no longer correlated with the rest;
/// another tape is expected to be as its class says.
///
/// # Errors
/// When the text is not TOML.
pub fn loosened(text: &str, kind: Kind, sides: [bool; 2], unit: Unit) -> Result<String, TomlError> {
    let mut document: DocumentMut = text.parse()?;
    let usual = Setup::example().expected;
    for unknown in kind.moves(sides) {
        let one = if unknown.is_length() { unit.mm() } else { 1.0 };
        let Some(expected) = document.get_mut("expected").and_then(Item::as_table_like_mut) else { break };
        let u = expected.get(unknown.name()).and_then(|e| e.get("u")).and_then(number_of).unwrap_or(0.0);
        // What is held fixed stays so.
        if u > 0.0 && u < usual[unknown].u / one {
            put_table(expected, unknown.name(), &[("u", rounded(usual[unknown].u / one, 6))]);
        }
        if let Some(correlation) = expected.get_mut("correlation").and_then(Item::as_table_like_mut) {
            correlation.remove(unknown.name());
            for other in Unknown::ALL {
                if let Some(row) = correlation.get_mut(other.name()).and_then(Item::as_table_like_mut) {
                    row.remove(unknown.name());
                }
            }
        }
        for instrument in instruments(&mut document) {
            if let Some(learnt) = instrument.get_mut("learnt").and_then(Item::as_table_like_mut) {
                learnt.remove(unknown.name());
            }
        }
    }
    if kind == Kind::Tape {
        for instrument in instruments(&mut document) {
            if instrument.get("kind").and_then(Item::as_str) == Some("tape") {
                instrument.remove("learnt");
            }
        }
    }
    Ok(document.to_string())
}

fn instruments(document: &mut DocumentMut) -> impl Iterator<Item = &mut Table> {
    document
        .get_mut("instrument")
        .and_then(Item::as_array_of_tables_mut)
        .into_iter()
        .flat_map(|l| l.iter_mut())
}

fn number_of(item: &Item) -> Option<f64> {
    item.as_float().or_else(|| item.as_integer().map(|i| i as f64))
}

/// Under the name of each unknown its correlation with those that come later.
fn correlation(names: &[Unknown], matrix: impl Fn(usize, usize) -> f64) -> Table {
    let mut table = Table::new();
    for (i, unknown) in names.iter().enumerate() {
        let mut row = InlineTable::new();
        for (j, other) in names.iter().enumerate().skip(i + 1) {
            let value = rounded(matrix(i, j) * SHRINK, CORRELATION_PLACES);
            if value != 0.0 {
                row.insert(other.name(), value.into());
            }
        }
        if !row.is_empty() {
            table.insert(unknown.name(), Item::Value(Value::InlineTable(row)));
        }
    }
    table
}

/// What is now known of an instrument's scale.
fn learn(instrument: &mut Table, result: &InstrumentResult) {
    let Some(scale) = result.scale else { return };
    let mut pairs = vec![("scale", rounded(scale.value, 4)), ("u", rounded(scale.u, 4).max(1e-4))];
    for k in 0..COUNT {
        let value = rounded(result.scale_correlation[k] * SHRINK, CORRELATION_PLACES);
        if value != 0.0 {
            pairs.push((Unknown::ALL[k].name(), value));
        }
    }
    instrument.remove("learnt");
    put_table(instrument, "learnt", &pairs);
}

/// An instrument that took no part keeps what is known of it, but no longer leans on the unknowns as they were.
fn forget_correlation(instrument: &mut Table) {
    if let Some(learnt) = instrument.get_mut("learnt").and_then(Item::as_table_like_mut) {
        for unknown in Unknown::ALL {
            learnt.remove(unknown.name());
        }
    }
}

/// A number or a word under a key; what is written around it stays.
fn put(table: &mut dyn TableLike, key: &str, value: impl Into<Value>) {
    let mut value = value.into();
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}

/// Numbers in a table under a key; what is written around them stays.
fn put_table(table: &mut dyn TableLike, key: &str, pairs: &[(&str, f64)]) {
    if table.get(key).is_none_or(|item| !item.is_table_like()) {
        table.insert(key, Item::Value(Value::InlineTable(InlineTable::new())));
    }
    if let Some(inner) = table.get_mut(key).and_then(Item::as_table_like_mut) {
        for &(name, number) in pairs {
            put(inner, name, number);
        }
        if let Some(Value::InlineTable(line)) = table.get_mut(key).and_then(Item::as_value_mut) {
            line.fmt();
        }
    }
}

fn rounded(value: f64, places: i32) -> f64 {
    let scale = 10f64.powi(places);
    // Never -0.
    (value * scale).round() / scale + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::setup;

    /// A re-hung left chain: its length is expected as loosely as before any cut, its correlations are gone, and all else stays.
    #[test]
    fn work_on_the_machine_loosens_what_it_may_have_moved() {
        let learnt = "length_left = { value = 4.0, u = 0.5 } # mine\n[expected.correlation]\nspacing = { length_left = -0.6, \
                      length_right = -0.6 }\nlength_left = { pitch_left = 0.3 }\n";
        let text = setup::template("m", Unit::Mm).replace("length_left = { u = 3.0 }", "");
        let text = text.replace(
            "stretch = { value = 0.35, u = 0.35 }",
            &format!("stretch = {{ value = 0.35, u = 0.35 }}\n{learnt}"),
        );
        let (before, _) = setup::read(&text).unwrap_or_else(|e| panic!("{e:#?}\n{text}"));
        let after = loosened(&text, Kind::ReHung, [true, false], Unit::Mm).unwrap();
        assert!(after.contains("# mine"));
        let (setup, _) = setup::read(&after).unwrap_or_else(|e| panic!("{e:#?}\n{after}"));
        let (s, l, r) =
            (Unknown::Spacing as usize, Unknown::LengthLeft as usize, Unknown::LengthRight as usize);
        assert_eq!((setup.expected.0[l].value, setup.expected.0[l].u), (4.0, 3.0));
        assert_eq!((setup.correlation[s][l], setup.correlation[s][r]), (0.0, -0.6));
        assert_eq!(setup.expected.0[r], before.expected.0[r]);
        assert_eq!(loosened(&text, Kind::Note, [true, true], Unit::Mm).unwrap(), text);
    }
}
