//! Machines that could not hold their carriage, and machines that are legal yet odd.

use super::{InstrumentKind, Setup};
use crate::document::{Document, Found};
use crate::frame::Sheet;
use crate::machine::{Unknown, Values};
use std::ops::Range;

/// Chains flatter than this at the middle of the sheet's top edge pull several times the carriage's weight,
/// degrees below the horizontal: at 6 degrees each pulls 1/(2 sin 6) = 4.8 times.
const FLAT_DEG: f64 = 6.0;

/// Chain masses for which the catenaries have been checked, kg per metre.
const CHECKED_CHAIN_KG_PER_M: std::ops::RangeInclusive<f64> = 0.05..=0.8;

/// Each sprocket must stand outside the sheet: two chains cannot hold a carriage beyond a sprocket.
pub(super) fn check_reach(document: &Document<'_>, sheet: &Found<Sheet>, settings: &Values<Found<f64>>) {
    let (spacing, offset) = (&settings[Unknown::Spacing], &settings[Unknown::Offset]);
    let mistake = if spacing.value <= sheet.value.width_mm {
        document
            .mistake(spacing.span.clone(), "the sprockets are closer together than the sheet is wide")
            .found(document.written(spacing.span.clone()))
            .expected(format!("more than the sheet's width, {}", document.written(sheet.span.clone())))
    } else if 2.0 * offset.value.abs() + sheet.value.width_mm >= spacing.value {
        document
            .mistake(offset.span.clone(), "a sprocket stands inside the sheet's edge")
            .found(format!("a beam {} off the middle", document.written(offset.span.clone())))
            .expected("both sprockets outside the sheet's edges")
    } else {
        return;
    };
    document.report(mistake.help("two chains cannot hold the carriage beyond a sprocket"));
}

/// Warns of what is possible but hardly meant.
pub(super) fn warn(setup: &Setup, document: &Document<'_>, span: Range<usize>) {
    let say = |title: String, expected: &str| {
        document.report(document.mistake(span.clone(), title).expected(expected).warning());
    };
    let (spacing, height) = (setup.settings[Unknown::Spacing], setup.settings[Unknown::Height]);
    let fall_deg = (2.0 * height).atan2(spacing).to_degrees();
    if fall_deg < FLAT_DEG {
        say(
            format!("the chains are nearly flat at the sheet's top edge: {fall_deg:.1} degrees"),
            "a higher beam; flat chains pull hard, and the carriage droops",
        );
    }
    let mass = setup.hardware.chain_mass_kg_per_m;
    if !CHECKED_CHAIN_KG_PER_M.contains(&mass) {
        say(format!("an unusual chain: {mass} kg per metre"), "0.05 to 0.8 kg per metre for roller chain");
    }
    if setup.hardware.lean_deg > 35.0 {
        say(
            format!("an unusual lean: {} degrees from the vertical", setup.hardware.lean_deg),
            "10 to 15 degrees, measured from the vertical and not from the floor",
        );
    }
    if setup.hole_scatter_mm == 0.0 {
        say("a machine without any scatter".to_owned(), "0.1 to 0.5 mm: no hole lands twice in one place");
    } else if setup.tolerance_mm < setup.hole_scatter_mm {
        say(
            "the tolerance is finer than the machine's own scatter".to_owned(),
            "a tolerance that settings can reach",
        );
    }
    if setup.expected.iter().all(|(_, e)| e.u == 0.0) {
        say("every unknown is held fixed (u = 0)".to_owned(), "at least one u above 0, or nothing is learnt");
    }
    if setup.can_set.is_empty() {
        say(
            "the controller can store no setting".to_owned(),
            "names in can_set; otherwise only job files can be corrected",
        );
    }
    for tape in setup.instruments.iter().filter(|i| i.kind == InstrumentKind::Tape) {
        if tape.random_a_mm < 0.05 {
            say(
                format!("{} is said to read better than any tape can be read", tape.name),
                "0.3 to 0.5 mm for the constant part of its noise",
            );
        }
    }
}
