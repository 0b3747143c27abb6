//! The first settings, and the accuracy to expect with them before any cut.

use super::estimate::Taped;
use crate::budget::{Draws, ErrorDistribution};
use crate::correction::{adjustable, best_settings};
use crate::field::{Field, WorkingArea};
use crate::fit::OutOfDomain;
use crate::machine::{Unknown, Values};
use crate::record::{ErrorSize, Prediction, SettingChange};
use crate::setup::Setup;

/// Chance behind the bounds.
const BOUND: f64 = 0.95;

/// An error over the sheet that is expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expectation {
    /// Root mean square, the largest to be expected, and the bound of the root mean square.
    pub error: Prediction,
    /// The largest will be under this with a chance of 95 %, mm.
    pub worst95_mm: f64,
}

/// What to enter, and what it should be worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Every setting that the controller can store; `from` is what it holds now.
    pub changes: Vec<SettingChange>,
    /// All settings.
    pub settings: Values<f64>,
    /// Position error over the sheet, from the sheet's edges.
    pub on_sheet: Expectation,
    /// The same without a shift and turn of the whole cut: what parts of one cut see of each other.
    pub within_cut: Expectation,
    /// What this controller could not hold even if everything were known.
    pub floor: ErrorSize,
}

/// The settings that leave the smallest error on the machine as taped, and that error.
///
/// # Errors
/// When the carriage cannot hang somewhere on the sheet.
pub fn outlook(setup: &Setup, taped: &Taped) -> Result<Outlook, OutOfDomain> {
    let truth = setup.nature(taped.theta);
    let area = WorkingArea::of_sheet(&setup.sheet);
    let leaning = Values::from_fn(|u: Unknown| (taped.theta[u], taped.u(u)));
    let free = adjustable(&setup.can_set, true);
    let settings = best_settings(&setup.belief(), &truth, &free, &leaning, &setup.step, &area, true)?;
    let field = Field::of(&setup.controller(settings), &truth, &area.points)
        .map_err(|e| OutOfDomain(format!("somewhere on the sheet {e}")))?;
    let draws = Draws::new(setup.hardware.attachment);
    let [on_sheet, within_cut] = [true, false].map(|placed| {
        ErrorDistribution::of(
            &draws,
            &area,
            &field.displacement,
            &field.by_truth,
            &taped.covariance,
            &area.placement(placed),
        )
    });
    let expectation =
        |d: &ErrorDistribution| Expectation { error: d.prediction(), worst95_mm: d.worst_quantile(BOUND) };
    Ok(Outlook {
        changes: setup
            .can_set
            .iter()
            .map(|&unknown| SettingChange { unknown, from: setup.settings[unknown], to: settings[unknown] })
            .collect(),
        settings,
        on_sheet: expectation(&on_sheet),
        within_cut: expectation(&within_cut),
        floor: on_sheet.at_estimate,
    })
}
