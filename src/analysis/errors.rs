//! Errors over the working area: as cut, after the correction, the floors, and which unknown is responsible for what.

use super::NoAnswer;
use crate::budget::{Draws, ErrorDistribution, vector_u_mm};
use crate::correction::{adjustable, best_settings};
use crate::field::{Field, WorkingArea, max_mm, vectors};
use crate::frame::{Point, Rectangle};
use crate::machine::{Machine, Unreachable, Values};
use crate::pattern::Hole;
use crate::record::*;
use crate::screening::Screened;
use crate::setup::Setup;
use nalgebra::{DMatrix, DVector};

/// Chance at which a verdict is given (ISO 14253-1:2017, default conformance probability).
const SURE: f64 = 0.95;

/// Everything about errors over the working area.
pub struct Errors {
    pub causes: Vec<Cause>,
    pub budget: ErrorBudget,
    pub changes: Vec<SettingChange>,
    pub map: ErrorMap,
}

pub fn errors(
    setup: &Setup,
    screened: &Screened,
    holes: &[Hole],
    placement_known: bool,
    chosen: Option<&Rectangle>,
) -> Result<Errors, NoAnswer> {
    let fitted = &screened.fitted;
    let belief = setup.belief();
    let truth = setup.nature(fitted.theta);
    let targets: Vec<Point> = holes.iter().map(|h| h.target).collect();
    let over_sheet = |belief: &Machine| Field::over_sheet(belief, &truth, &setup.sheet, &targets);
    let impossible = |e: Unreachable| NoAnswer::Impossible(e.to_string());
    let (area, field) = match chosen {
        None => over_sheet(&belief).map_err(impossible)?,
        Some(rectangle) => {
            let area = WorkingArea::of(rectangle);
            let field = Field::of(&belief, &truth, &area.points).map_err(impossible)?;
            (area, field)
        }
    };
    let placement = area.placement(placement_known);
    let leaning = Values::from_fn(|u| (fitted.theta[u], setup.expected[u].u));
    let free = adjustable(&setup.can_set, placement_known);
    let settings = best_settings(&belief, &truth, &free, &leaning, &setup.step, &area, placement_known)?;
    let corrected = setup.controller(settings);
    let after = Field::of(&corrected, &truth, &area.points).map_err(impossible)?;

    let covariance = fitted.theta_covariance(&screened.model);
    let draws = Draws::new(setup.hardware.attachment);
    let now =
        ErrorDistribution::of(&draws, &area, &field.displacement, &field.by_truth, &covariance, &placement);
    let then =
        ErrorDistribution::of(&draws, &area, &after.displacement, &after.by_truth, &covariance, &placement);
    let nothing = DVector::zeros(after.displacement.len());
    let bent = ErrorDistribution::of(&draws, &area, &nothing, &after.by_truth, &covariance, &placement);
    let chance_within = now.chance_within(setup.tolerance_mm);
    let chosen = match chosen {
        None => None,
        Some(&rectangle) => {
            let (sheet, field) = over_sheet(&corrected).map_err(impossible)?;
            let placement = sheet.placement(placement_known);
            let (f0, g) = (&field.displacement, &field.by_truth);
            let size = ErrorDistribution::of(&draws, &sheet, f0, g, &covariance, &placement);
            Some(ChosenArea { rectangle, on_sheet: size.prediction() })
        }
    };
    Ok(Errors {
        causes: causes(setup, screened, &area, &placement.remove_columns(&field.by_truth)),
        budget: ErrorBudget {
            placement_known,
            chosen,
            as_cut: now.at_estimate,
            as_cut_rms_u_mm: now.rms_u_mm(),
            after: then.prediction(),
            floor: then.at_estimate,
            compensated: bent.prediction(),
            tolerance_mm: setup.tolerance_mm,
            chance_within,
            verdict: if chance_within >= SURE {
                Verdict::Pass
            } else if chance_within <= 1.0 - SURE {
                Verdict::Fail
            } else {
                Verdict::CannotTell
            },
        },
        changes: setup
            .can_set
            .iter()
            .map(|&unknown| SettingChange { unknown, from: setup.settings[unknown], to: settings[unknown] })
            .collect(),
        map: ErrorMap {
            columns: area.columns,
            rows: area.rows,
            as_cut: vectors(&placement.remove(&field.displacement)).collect(),
            after: vectors(&placement.remove(&after.displacement)).collect(),
            u_mm: vector_u_mm(&field.by_truth, &covariance, &placement),
            points: area.points,
        },
    })
}

/// What each unknown's correction is responsible for, largest first.
fn causes(setup: &Setup, screened: &Screened, area: &WorkingArea, by_truth: &DMatrix<f64>) -> Vec<Cause> {
    let unknowns = setup.hardware.attachment.unknowns();
    let mut causes: Vec<Cause> = unknowns
        .iter()
        .map(|&unknown| {
            let shape = by_truth.column(unknown as usize).into_owned();
            let correction = screened.fitted.theta[unknown] - setup.settings[unknown];
            let (rms, max) = (area.rms_mm(&shape), max_mm(&shape));
            let u = screened.fitted.u(&screened.model, unknown);
            Cause {
                unknown,
                rms: Estimate { value: correction.abs() * rms, u: u * rms },
                max_mm: correction.abs() * max,
            }
        })
        .collect();
    causes.sort_by(|a, b| b.rms.value.total_cmp(&a.rms.value));
    causes
}
