//! Can two chains hold a carriage anywhere on this sheet?

use crate::document::{Document, Found};
use crate::frame::Sheet;
use crate::machine::{Unknown, Values};

/// Chains flatter than this at the middle of the sheet's top edge pull several times the carriage's weight,
/// degrees below the horizontal: at 6 degrees each pulls 1/(2 sin 6) = 4.8 times.
const FLAT_DEG: f64 = 6.0;

/// Each sprocket must stand outside the sheet: two chains cannot hold a carriage beyond a sprocket.
pub(super) fn check(document: &Document<'_>, sheet: &Found<Sheet>, settings: &Values<Found<f64>>) {
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
        return check_fall(document, settings);
    };
    document.report(mistake.help("two chains cannot hold the carriage beyond a sprocket"));
}

/// Warns of a beam so low that the chains are nearly flat at the sheet's top edge.
fn check_fall(document: &Document<'_>, settings: &Values<Found<f64>>) {
    let (spacing, height) = (&settings[Unknown::Spacing], &settings[Unknown::Height]);
    let fall_deg = (2.0 * height.value).atan2(spacing.value).to_degrees();
    if fall_deg < FLAT_DEG {
        let warning = document
            .mistake(height.span.clone(), "the chains are nearly flat at the sheet's top edge")
            .found(format!("they fall by {fall_deg:.1} degrees there"))
            .expected(format!("more than {FLAT_DEG} degrees; flat chains pull hard, and the carriage droops"))
            .warning();
        document.report(warning);
    }
}
