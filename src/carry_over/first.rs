//! What a first set-up by tape found, written into the `machine.toml` that a new folder begins with.

use super::{correlation, learn, put, put_table, rounded};
use crate::frame::Unit;
use crate::machine::{ChainLeaves, Unknown};
use crate::record::{InstrumentResult, KnownFrom};
use crate::taping::{Build, Outlook, Taped};
use jiff::civil::Date;
use toml_edit::{DocumentMut, Item, Table, TomlError};

/// The text with the numbers that the person stated; lengths are written in `unit`, the file's own.
///
/// # Errors
/// When the text is not TOML.
pub fn built(text: &str, build: &Build, unit: Unit) -> Result<String, TomlError> {
    let mut document: DocumentMut = text.parse()?;
    let length = |mm: Option<f64>| mm.map(|mm| rounded(unit.from_mm(mm), 6));
    let numbers = [
        ("sheet", "width", length(build.sheet_width_mm)),
        ("sheet", "height", length(build.sheet_height_mm)),
        ("settings", "spacing", length(build.held_spacing_mm)),
        ("settings", "height", length(build.held_height_mm)),
        ("drive", "pitch", length(build.pitch_mm)),
        ("chain", "mass", build.chain_mass_kg_per_m),
        ("carriage", "mass", build.carriage_mass_kg),
        ("carriage", "lean", build.lean_deg),
    ];
    for (table, key, number) in numbers {
        if let (Some(table), Some(number)) =
            (document.get_mut(table).and_then(Item::as_table_like_mut), number)
        {
            put(table, key, number);
        }
    }
    if let Some(drive) = document.get_mut("drive").and_then(Item::as_table_like_mut) {
        if let Some(teeth) = build.teeth {
            put(drive, "teeth", i64::from(teeth));
        }
        match build.chain_leaves {
            Some(ChainLeaves::Over) => put(drive, "chain_leaves", "over"),
            Some(ChainLeaves::Under) => put(drive, "chain_leaves", "under"),
            None => {}
        }
    }
    if let Some(tape) = tape_of(&mut document) {
        if let Some(class) = build.tape_class {
            put(tape, "class", class);
        }
        let random = tape.get_mut("random").and_then(Item::as_array_mut);
        if let (Some(random), Some(noise)) = (random, length(build.tape_noise_mm)) {
            random.replace(0, noise);
        }
    }
    Ok(document.to_string())
}

/// The text with settings, expectations and correlations as taped on that day. `readings` are lines of comment that keep
/// what was read.
///
/// # Errors
/// When the text is not TOML.
pub fn taped(
    text: &str,
    taped: &Taped,
    outlook: &Outlook,
    unit: Unit,
    day: Date,
    readings: &[String],
) -> Result<String, TomlError> {
    let mut document: DocumentMut = text.parse()?;
    let written = |unknown: Unknown, value: f64| {
        let one = if unknown.is_length() { unit.mm() } else { 1.0 };
        rounded(value / one, if one == 1.0 { 4 } else { 6 })
    };
    if let Some(settings) = document.get_mut("settings").and_then(Item::as_table_like_mut) {
        for change in &outlook.changes {
            put(settings, change.unknown.name(), written(change.unknown, change.to));
        }
    }
    let seen: Vec<Unknown> = Unknown::ALL
        .into_iter()
        .filter(|&u| taped.u(u) > 0.0 && taped.known_from[u] != KnownFrom::NotDeterminable)
        .collect();
    if let Some(expected) = document.get_mut("expected").and_then(Item::as_table_mut) {
        for u in Unknown::ALL.into_iter().filter(|&u| taped.u(u) > 0.0) {
            // What is expected is stated outright, or it would follow the setting.
            let mut pairs = vec![("value", written(u, taped.theta[u]))];
            if seen.contains(&u) {
                pairs.push(("u", written(u, taped.u(u)).max(1e-6)));
            }
            put_table(expected, u.name(), &pairs);
        }
        expected.insert("as_of", Item::Value(day.to_string().into()));
        let matrix = |i: usize, j: usize| taped.correlation(seen[i], seen[j]);
        expected.insert("correlation", Item::Table(correlation(&seen, matrix)));
        let above = expected.decor().prefix().and_then(|p| p.as_str()).unwrap_or_default().to_owned();
        let lines: String = readings.iter().map(|line| format!("#   {line}\n")).collect();
        expected.decor_mut().set_prefix(format!("{above}# Taped on {day}:\n{lines}"));
    }
    if let Some(tape) = tape_of(&mut document).filter(|_| taped.scale.u > 0.0) {
        let result = InstrumentResult {
            name: String::new(),
            readings: taped.rows.len(),
            scale: Some(taped.scale),
            zero: None,
            scale_correlation: std::array::from_fn(|k| {
                if seen.contains(&Unknown::ALL[k]) { taped.scale_correlation[k] } else { 0.0 }
            }),
        };
        learn(tape, &result);
    }
    Ok(document.to_string())
}

/// The first tape among the instruments, which readings that name none were taken with.
fn tape_of(document: &mut DocumentMut) -> Option<&mut Table> {
    let list = document.get_mut("instrument")?.as_array_of_tables_mut()?;
    list.iter_mut().find(|i| i.get("kind").and_then(Item::as_str) == Some("tape"))
}
