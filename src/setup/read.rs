//! `machine.toml` as text, or as the `[machine]` table of a cut.

use super::beliefs::{self, Correlation, UNCORRELATED};
use super::{Expected, Setup, geometry, instrument};
use crate::document::{Document, Found, Quantity, Section};
use crate::frame::{Sheet, Unit};
use crate::machine::{Attachment, ChainLeaves, Hardware, Unknown, Values};
use crate::mistake::Read;
use crate::text::{is_unruly, nearest};
use jiff::civil::Date;

/// Names of the files' only format so far.
const FORMAT: f64 = 1.0;

/// Standard uncertainty of each unknown before any reading when the file states none: what careful taping of a
/// home-made frame leaves (common practice, no source). Units of [`Unknown::unit`].
pub const USUAL_U: Values<f64> = Values([2.0, 3.0, 1.0, 3.0, 3.0, 3.0, 1.0, 1.0, 0.35]);

/// Settings that a plain controller can store, when the file names none.
const USUALLY_SET: [Unknown; 6] = [
    Unknown::Spacing,
    Unknown::Height,
    Unknown::LengthLeft,
    Unknown::LengthRight,
    Unknown::PitchLeft,
    Unknown::PitchRight,
];

/// Name of a machine that was given none.
const UNNAMED: &str = "router";

/// Scatter of a hole's place when the file states none, mm per axis (common practice, no source).
const USUAL_SCATTER_MM: f64 = 0.25;

/// Position error that the work can bear when the file states none, mm: slot-and-tab furniture
/// (ISO 2768-1 class m allows 0.8 mm from 400 to 1000 mm).
const USUAL_TOLERANCE_MM: f64 = 0.8;

/// Reads `machine.toml`.
///
/// # Errors
/// Everything that is wrong with it, warnings included, in the order of the file.
pub fn read(text: &str) -> Read<Setup> {
    let document = Document::parse(text)?;
    let setup = from_section(document.root());
    document.finish(setup)
}

/// Reads a machine from a table; mistakes go to the table's document, and what could not be read is then `None`
/// or a usual value.
pub fn from_section(mut root: Section<'_>) -> Option<Setup> {
    let format =
        root.number("format", &Quantity::plain("number of the form that this file has", "", FORMAT..=FORMAT));
    let name = root.text_if_any("name").map_or_else(|| Some(UNNAMED.to_owned()), |n| checked_name(&root, n));
    let unit = root.word("unit", &[("mm", Unit::Mm), ("inch", Unit::Inch)]);
    let in_unit = unit.as_ref().map_or(Unit::Mm, |found| found.value);

    let sheet = root.section("sheet", "the sheet's width and height").and_then(|s| sheet(s, in_unit));
    let settings =
        root.section("settings", "what the controller believes now").and_then(|s| settings(s, in_unit));
    let values = settings.as_ref().map(|(values, _)| values);
    let expectations = root.section_if_any("expected", "a table");
    let expected_span = expectations.as_ref().map_or(0..0, Section::span);
    let (expected, correlation, expected_as_of) = expected(expectations, values, in_unit);
    let drive = root.section("drive", "teeth, pitch, chain_leaves").and_then(|s| drive(s, in_unit));
    let chain = root.section("chain", "its mass").and_then(chain);
    let carriage = root.section("carriage", "its mass and lean").and_then(carriage);
    let controller = root.section_if_any("controller", "a table").map(|section| controller(section, in_unit));
    let mut one_length = |table, key, usual_mm, quantity| {
        let Some(mut section) = root.section_if_any(table, "a table") else {
            return Found { value: usual_mm, span: 0..0 };
        };
        let length = section.number_or(key, usual_mm, &quantity);
        section.close();
        length
    };
    let what = "standard deviation of a hole's place, per axis";
    let quantity = Quantity::length(what, in_unit, 0.0..=20.0)
        .usually(0.02..=2.0, "0.1 to 0.5 mm: no hole lands twice in one place");
    let scatter = one_length("scatter", "hole", USUAL_SCATTER_MM, quantity);
    let quantity = Quantity::length("position error that the work can bear", in_unit, 0.01..=100.0);
    let tolerance = one_length("tolerance", "position", USUAL_TOLERANCE_MM, quantity);
    if tolerance.value < scatter.value {
        let warning = root
            .document()
            .mistake(tolerance.span, "the tolerance is finer than the machine's own scatter")
            .expected("a limit that settings can reach: several times the scatter of a hole")
            .warning();
        root.document().report(warning);
    }
    let instruments =
        root.sections("instrument", "such as a tape").map(|list| instrument::all(list, in_unit));
    if let (Some(sheet), Some(values)) = (&sheet, values) {
        geometry::check(root.document(), sheet, values);
    }
    if let Some(list) = &instruments {
        beliefs::check(root.document(), expected_span, &expected, &correlation, list);
    }
    root.close();

    format?;
    let (settings, sag) = settings?;
    let (teeth, pitch_mm, chain_leaves) = drive?;
    let (carriage_mass_kg, lean_deg) = carriage?;
    let (can_set, step) = controller.unwrap_or_else(|| (None, usual_step(in_unit)));
    Some(Setup {
        name: name?,
        unit: unit?.value,
        sheet: sheet?.value,
        settings: Values::from_fn(|u| settings[u].value),
        sag,
        expected,
        expected_as_of,
        correlation,
        hardware: Hardware {
            teeth,
            pitch_mm,
            chain_leaves,
            chain_mass_kg_per_m: chain?,
            carriage_mass_kg,
            lean_deg,
            attachment: Attachment::Converging,
        },
        can_set: can_set.unwrap_or_else(|| USUALLY_SET.to_vec()),
        step,
        hole_scatter_mm: scatter.value,
        tolerance_mm: tolerance.value,
        instruments: instruments?,
    })
}

/// Sensible value of an unknown, or of what is expected of it.
fn quantity_of(unknown: Unknown, unit: Unit) -> Quantity {
    match unknown {
        Unknown::Spacing => Quantity::length("sprocket axis to sprocket axis", unit, 300.0..=20_000.0)
            .usually(300.0..=8000.0, "2.5 to 4.5 m (100 to 180 in): no common beam is longer"),
        Unknown::Height => {
            Quantity::length("beam's axis line above the sheet's top edge", unit, 1.0..=5000.0).usually(
                1.0..=2000.0,
                "300 to 900 mm (12 to 36 in) above the sheet: was it taken from the floor?",
            )
        }
        Unknown::Tilt => Quantity::plain("right end of the beam higher", "mm/m", -100.0..=100.0),
        Unknown::Offset => {
            Quantity::length("middle of the beam right of the middle of the sheet", unit, -5000.0..=5000.0)
        }
        Unknown::LengthLeft | Unknown::LengthRight => {
            Quantity::length("chain longer than the controller thinks", unit, -2000.0..=2000.0)
        }
        Unknown::PitchLeft | Unknown::PitchRight => {
            Quantity::plain("chain longer per metre paid out", "mm/m", -50.0..=50.0)
        }
        Unknown::Stretch => Quantity::plain("elastic strain of the chain", "mm/m per 100 N", 0.0..=20.0),
    }
}

fn sheet(mut section: Section<'_>, unit: Unit) -> Option<Found<Sheet>> {
    let width = section.number("width", &Quantity::length("the sheet's width", unit, 150.0..=10_000.0));
    let height = section.number("height", &Quantity::length("the sheet's height", unit, 100.0..=6000.0));
    section.close();
    let width = width?;
    Some(Found { value: Sheet { width_mm: width.value, height_mm: height?.value }, span: width.span })
}

/// The settings with their places, and whether the controller allows for sag.
type Settings = Values<Found<f64>>;

/// A setting that the controller does not know of is 0 to it; spacing and height it must know.
fn settings(mut section: Section<'_>, unit: Unit) -> Option<(Settings, bool)> {
    let mut values = Unknown::ALL.map(|unknown| {
        let quantity = quantity_of(unknown, unit);
        match unknown {
            Unknown::Spacing | Unknown::Height => section.number(unknown.name(), &quantity),
            _ => Some(section.number_or(unknown.name(), 0.0, &quantity)),
        }
    });
    let sag = section.flag("sag");
    section.close();
    values.iter().all(Option::is_some).then(|| {
        let values = Values::from_fn(|u| values[u as usize].take().unwrap_or_default());
        (values, sag)
    })
}

/// What is believed before any reading; the setting and the usual uncertainty where nothing is stated.
fn expected(
    section: Option<Section<'_>>,
    settings: Option<&Settings>,
    unit: Unit,
) -> (Values<Expected>, Correlation, Option<Date>) {
    let usual = |u: Unknown| Expected { value: settings.map_or(0.0, |s| s[u].value), u: USUAL_U[u] };
    let Some(mut section) = section else { return (Values::from_fn(usual), UNCORRELATED, None) };
    let correlations = section.section_if_any("correlation", "a table");
    let learnt = correlations.is_some();
    let as_of = section.date_if_any("as_of", "the day on which this was learnt: \"2026-11-25\"");
    let correlation = beliefs::read(correlations);
    let values = Values::from_fn(|unknown| {
        let usual = usual(unknown);
        let Some(mut entry) = section.section_if_any(unknown.name(), "{ value = ..., u = ... }") else {
            return usual;
        };
        let mut quantity = quantity_of(unknown, unit);
        if unknown == Unknown::Stretch && learnt {
            // No chain shortens under load, but what is learnt of one that hardly stretches may come out below nought.
            quantity.range = -2.0..=20.0;
        }
        let value = entry.number_or("value", usual.value, &quantity).value;
        let what = "standard uncertainty (0 holds the value fixed)";
        let u = entry
            .number_or("u", usual.u, &Quantity { what, range: 0.0..=1e9, usual: None, ..quantity })
            .value;
        entry.close();
        Expected { value, u }
    });
    if values.iter().all(|(_, expected)| expected.u == 0.0) {
        let warning = section
            .document()
            .mistake(section.span(), "every unknown is held fixed (u = 0)")
            .expected("at least one u above 0; otherwise readings teach nothing")
            .warning();
        section.document().report(warning);
    }
    section.close();
    (values, correlation, as_of.map(|found| found.value))
}

fn drive(mut section: Section<'_>, unit: Unit) -> Option<(u32, f64, ChainLeaves)> {
    let teeth = section.whole("teeth", &Quantity::plain("teeth on each sprocket", "", 5.0..=150.0));
    let pitch = section.number(
        "pitch",
        &Quantity::length("the chain's pitch", unit, 2.0..=60.0)
            .usually(5.0..=20.0, "6.35, 8, 9.525 or 12.7 mm (1/4, 5/16, 3/8, 1/2 in) from pin to pin"),
    );
    let leaves = section.word("chain_leaves", &[("over", ChainLeaves::Over), ("under", ChainLeaves::Under)]);
    section.close();
    Some((teeth?.value, pitch?.value, leaves?.value))
}

fn chain(mut section: Section<'_>) -> Option<f64> {
    let quantity = Quantity::plain("the chain's mass", "kg per metre", 0.01..=5.0).usually(
        0.05..=0.8,
        "0.05 to 0.8 kg per metre, as roller chains weigh; others have not been checked",
    );
    let mass = section.number("mass", &quantity);
    section.close();
    Some(mass?.value)
}

fn carriage(mut section: Section<'_>) -> Option<(f64, f64)> {
    let mass = section.number("mass", &Quantity::plain("the carriage's mass", "kg", 0.5..=200.0));
    let lean = Quantity::plain("lean back from the vertical", "degrees", 0.0..=59.9)
        .usually(0.0..=35.0, "10 to 15 degrees, measured from the vertical and not from the floor");
    let lean = section.number("lean", &lean);
    if let Some(found) = section.text_if_any("attachment").filter(|found| found.value != "converging") {
        let mistake = section
            .document()
            .mistake(found.span, "this attachment cannot be worked out yet")
            .found(format!("{:?}", found.value))
            .expected("\"converging\": the lines of both chains meet at the bit");
        section.document().report(mistake);
    }
    section.close();
    Some((mass?.value, lean?.value))
}

/// Step in which a setting is entered when the file says nothing: 0.01 mm, 0.0005 inch, 0.001 mm/m.
fn usual_step(unit: Unit) -> Values<f64> {
    let length_mm = match unit {
        Unit::Mm => 0.01,
        Unit::Inch => unit.to_mm(0.0005),
    };
    Values::from_fn(|u| if u.is_length() { length_mm } else { 0.001 })
}

/// The settings that the controller can store, if it says which, and in which steps.
fn controller(mut section: Section<'_>, unit: Unit) -> (Option<Vec<Unknown>>, Values<f64>) {
    let names = section.texts_if_any("can_set");
    let usual = usual_step(unit);
    let step = match section.section_if_any("step", "{ spacing = 0.1, ... }") {
        None => usual,
        Some(mut steps) => {
            let step = Values::from_fn(|u| {
                let what = "step in which the controller stores it";
                let quantity = Quantity { what, range: 1e-6..=100.0, usual: None, ..quantity_of(u, unit) };
                steps.number_or(u.name(), usual[u], &quantity).value
            });
            steps.close();
            step
        }
    };
    (names_of_settings(section, names), step)
}

/// The unknowns that a list names.
fn names_of_settings(section: Section<'_>, names: Option<Vec<Found<&str>>>) -> Option<Vec<Unknown>> {
    let document = section.document();
    if names.as_ref().is_some_and(Vec::is_empty) {
        let warning = document
            .mistake(section.span(), "the controller can store no setting")
            .expected("names in can_set; without them only job files can be corrected")
            .warning();
        document.report(warning);
    }
    section.close();
    let mut list: Vec<Unknown> = Vec::new();
    for name in names.as_ref()? {
        let title = match Unknown::from_name(name.value) {
            Some(unknown) if !list.contains(&unknown) => {
                list.push(unknown);
                continue;
            }
            Some(_) => "this setting is named twice",
            None => "there is no such setting",
        };
        let known = Unknown::ALL.map(Unknown::name);
        let mut mistake = document
            .mistake(name.span.clone(), title)
            .found(format!("{:?}", name.value))
            .expected(format!("each at most once: {}", known.join(", ")));
        mistake.help = nearest(name.value, known)
            .filter(|near| *near != name.value)
            .map(|near| format!("did you mean \"{near}\"?"));
        document.report(mistake);
    }
    Some(list)
}

/// A name that can be shown and written anywhere: on a screen, in a report, in a program for the machine.
pub(super) fn checked_name(section: &Section<'_>, found: Found<&str>) -> Option<String> {
    let name = found.value.trim();
    let problem = if name.is_empty() {
        "it is empty"
    } else if name.chars().count() > 60 {
        "it is longer than 60 characters"
    } else if name.chars().any(is_unruly) {
        "it holds a control character"
    } else {
        return Some(name.to_owned());
    };
    let mistake = section
        .document()
        .mistake(found.span, "this name cannot be used")
        .found(problem)
        .expected("up to 60 printable characters");
    section.document().report(mistake);
    None
}
