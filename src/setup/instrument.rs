//! `[[instrument]]`: what lengths are measured with.

use super::{Instrument, InstrumentKind, beliefs::one_correlation, read::checked_name};
use crate::document::{Found, Quantity, Section};
use crate::frame::{MM_PER_INCH, Unit};
use crate::machine::{COUNT, Unknown};

/// Accuracy classes of a tape.
pub const CLASSES: [&str; 3] = ["I", "II", "III"];

/// Slope b of the greatest error a + b L that a tape of each class may have, mm per m
/// (directive 2014/32/EU, annex X, MI-008, chapter I).
pub const CLASS_SLOPES_MM_PER_M: [f64; 3] = [0.1, 0.2, 0.4];

/// Longest reading of a caliper when the file states none, mm: those sold as 150 mm and as 6 inch.
const fn usual_caliper_mm(unit: Unit) -> f64 {
    match unit {
        Unit::Mm => 150.0,
        Unit::Inch => 6.0 * MM_PER_INCH,
    }
}

/// All instruments of a file that could be read, in its order.
pub(super) fn all(list: Vec<Section<'_>>, unit: Unit) -> Vec<Instrument> {
    let mut instruments: Vec<Instrument> = Vec::new();
    for section in list {
        let document = section.document();
        let Some(Found { value: new, span }) = one(section, unit) else { continue };
        if instruments.iter().any(|old| old.name.to_lowercase() == new.name.to_lowercase()) {
            let mistake = document
                .mistake(span, "two instruments have the same name")
                .found(format!("{:?}", new.name))
                .expected("a name of its own for each");
            document.report(mistake);
        }
        instruments.push(new);
    }
    instruments
}

/// One instrument, and where its name stands.
fn one(mut section: Section<'_>, unit: Unit) -> Option<Found<Instrument>> {
    let found_name = section.text("name", "the name by which readings call it");
    let span = found_name.as_ref().map_or(section.span(), |found| found.span.clone());
    let name = found_name.and_then(|found| checked_instrument_name(&section, found));
    let kind = section.word(
        "kind",
        &[
            ("tape", InstrumentKind::Tape),
            ("caliper", InstrumentKind::Caliper),
            ("other", InstrumentKind::Other),
        ],
    );
    let class = section.word_if_any("class", &[0, 1, 2].map(|k| (CLASSES[k], CLASS_SLOPES_MM_PER_M[k])));
    let mut constant = Quantity::length("constant part of a reading's noise", unit, 0.0..=50.0);
    if let Some(Found { value: InstrumentKind::Tape, .. }) = &kind {
        constant = constant.usually(0.05..=5.0, "0.3 to 0.5 mm: no tape is read better than to 0.05 mm");
    }
    if let Some(Found { value: InstrumentKind::Caliper, .. }) = &kind {
        constant = constant.usually(0.01..=0.5, "0.02 to 0.1 mm: holes in wood have no sharper rims");
    }
    let random = section.pair(
        "random",
        "[a, b]: a reading of length L scatters by sqrt(a^2 + (b L)^2), b in mm per m",
        [
            &constant,
            &Quantity::plain("part of a reading's noise that grows with length", "mm per m", 0.0..=50.0),
        ],
    );
    if let Some([a, b]) = &random {
        check_noise(&section, a, b);
    }
    let scale_u_mm_per_m = section.number_or(
        "scale_u",
        class.map_or(0.0, |found| found.value / 3.0_f64.sqrt()),
        &Quantity::plain("shared scale error, standard uncertainty", "mm/m", 0.0..=100.0),
    );
    let zero_u_mm = section.number_or(
        "zero_u",
        0.0,
        &Quantity::length("shared zero error, standard uncertainty", unit, 0.0..=100.0),
    );
    let usual_range_mm = match &kind {
        Some(Found { value: InstrumentKind::Caliper, .. }) => usual_caliper_mm(unit),
        _ => f64::INFINITY,
    };
    let range_mm = section.number_or(
        "range",
        usual_range_mm,
        &Quantity::length("longest length it can read", unit, 10.0..=100_000.0),
    );
    let learnt = section.section_if_any("learnt", "{ scale = ..., u = ... }").map(learnt);
    let start_mm = section.number_or(
        "start",
        0.0,
        &Quantity::length("mark at which the tape is started", unit, 0.0..=1000.0),
    );
    section.close();
    let [a, b] = random?;
    let value = Instrument {
        name: name?,
        kind: kind?.value,
        random_a_mm: a.value,
        random_b_mm_per_m: b.value,
        scale_mm_per_m: learnt.map_or(0.0, |l| l.scale),
        scale_u_mm_per_m: learnt.map_or(scale_u_mm_per_m.value, |l| l.u),
        scale_correlation: learnt.map_or([0.0; COUNT], |l| l.correlation),
        zero_u_mm: zero_u_mm.value,
        range_mm: range_mm.value,
        start_mm: start_mm.value,
    };
    Some(Found { value, span })
}

/// What earlier cuts taught of an instrument's scale.
#[derive(Clone, Copy)]
struct Learnt {
    scale: f64,
    u: f64,
    correlation: [f64; COUNT],
}

/// `learnt = { scale = ..., u = ..., pitch_left = ... }`: the scale error, mm/m, and its correlation with unknowns.
fn learnt(mut section: Section<'_>) -> Learnt {
    let scale = section
        .number_or("scale", 0.0, &Quantity::plain("scale error as learnt", "mm/m", -100.0..=100.0))
        .value;
    let u =
        section.number_or("u", 0.0, &Quantity::plain("its standard uncertainty", "mm/m", 0.0..=100.0)).value;
    let correlation = Unknown::ALL.map(|k| section.number_or(k.name(), 0.0, &one_correlation()).value);
    section.close();
    Learnt { scale, u, correlation }
}

/// A reading without noise would overrule everything else, so it is refused.
fn check_noise(section: &Section<'_>, a: &Found<f64>, b: &Found<f64>) {
    if a.value > 0.0 || b.value > 0.0 {
        return;
    }
    let mistake = section
        .document()
        .mistake(a.span.start..b.span.end, "no instrument is without noise")
        .found("a standard uncertainty of zero")
        .expected("what repeated readings scatter by")
        .help(
            "a tape read with care: [0.3, 0.1] in mm, [0.012, 0.1] in inches; a caliper: [0.05, 0.0] in mm",
        );
    section.document().report(mistake);
}

/// A name that readings can give in a cell of a spreadsheet.
fn checked_instrument_name(section: &Section<'_>, found: Found<&str>) -> Option<String> {
    let span = found.span.clone();
    let name = checked_name(section, found)?;
    if name.starts_with(['=', '+', '-', '@', '#']) || name.contains([',', ';', '"']) {
        let mistake = section
            .document()
            .mistake(span, "this name cannot be used")
            .found(format!("{name:?}"))
            .expected("a plain word, such as \"tape\", that a spreadsheet leaves alone");
        section.document().report(mistake);
        return None;
    }
    Some(name)
}
