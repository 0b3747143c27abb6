//! Trials: machines drawn at random, cut, read, analysed, and compared with the truth.
//!
//! The machines are drawn from what the setup expects, the readings from the noise it states. If estimate and
//! uncertainty are honest, intervals cover the truth as often as they say.

use crate::analysis::{Cut, NoAnswer, analyse};
use crate::field::{Field, WorkingArea, vectors};
use crate::machine::{Unknown, Values};
use crate::pattern::Pattern;
use crate::planner::Planned;
use crate::record::Analysis;
use crate::setup::Setup;
use crate::simulation::{Disturbance, Simulated, cut_and_read, draw_machine};
use crate::symptoms::symptoms;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// One trial.
#[derive(Debug, Clone)]
pub struct Trial {
    /// The machine that was drawn.
    pub truth: Values<f64>,
    /// What the readings made of it.
    pub analysis: Analysis,
    /// True error as cut over the working area, shift and turn removed unless edges fix them, mm rms.
    pub as_cut_rms_mm: f64,
    /// What a correction of scale x, scale y and skew alone would leave of it, mm rms.
    pub linear_rest_rms_mm: f64,
    /// Error of the predicted positions: estimated against true field, mm rms.
    pub predicted_rms_mm: f64,
    /// True error with the new settings, mm rms.
    pub after_rms_mm: f64,
    /// (estimate - truth)' C^-1 (estimate - truth); its mean over honest trials is the number of unknowns. Absent
    /// when the correlation is singular.
    pub normalised_square: Option<f64>,
}

/// How trials are made.
#[derive(Debug, Clone, Copy)]
pub struct Plan<'a> {
    /// The machine's description, from which machines are drawn.
    pub setup: &'a Setup,
    /// The pattern.
    pub pattern: &'a Pattern,
    /// The distances read.
    pub distances: &'a [Planned],
    /// Readings are rounded to this, mm; 0 for none.
    pub rounding_mm: f64,
}

/// Makes trial number `k`; `spoil` may change the readings before they are analysed.
///
/// # Errors
/// When the drawn machine cannot cut the pattern.
pub fn trial(plan: &Plan<'_>, k: u64, spoil: impl Fn(&mut Simulated)) -> Result<Trial, NoAnswer> {
    let setup = plan.setup;
    let impossible = |e: crate::machine::Unreachable| NoAnswer::Impossible(e.to_string());
    let holes = plan.pattern.holes();
    // Two streams a trial: the machine, and what disturbs its readings.
    let truth = draw_machine(setup, 2 * k);
    let disturbance = Disturbance { noise: true, rounding_mm: plan.rounding_mm, seed: 2 * k + 1 };
    let mut simulated =
        cut_and_read(setup, truth, &holes, plan.distances, &disturbance).map_err(impossible)?;
    spoil(&mut simulated);
    let cut = Cut { id: "trial", setup, pattern: plan.pattern, readings: &simulated.readings, blank: 0 };
    let analysis = analyse(&cut)?;

    let area = WorkingArea::of_sheet(&setup.sheet);
    let placement = area.placement(analysis.error.placement_known);
    let field = |belief: Values<f64>, nature: Values<f64>| {
        Field::displacement(&setup.controller(belief), &setup.nature(nature), &area.points)
            .map(|d| placement.remove(&d))
            .map_err(impossible)
    };
    let mut estimate = setup.settings;
    let mut settings = setup.settings;
    for result in &analysis.unknowns {
        estimate[result.unknown] = result.estimate.value;
    }
    for change in &analysis.settings_new {
        settings[change.unknown] = change.to;
    }
    let as_cut = field(setup.settings, truth)?;
    let guessed = field(setup.settings, estimate)?;
    let rest = linear_rest(&area, &as_cut);
    Ok(Trial {
        truth,
        as_cut_rms_mm: area.rms_mm(&as_cut),
        linear_rest_rms_mm: area.rms_mm(&rest),
        predicted_rms_mm: area.rms_mm(&(guessed - &as_cut)),
        after_rms_mm: area.rms_mm(&field(settings, truth)?),
        normalised_square: normalised_square(&analysis, &truth),
        analysis,
    })
}

/// Makes trials `first..first + count` on all cores, in order.
///
/// # Errors
/// When one of the drawn machines cannot cut the pattern.
pub fn trials(plan: &Plan<'_>, first: u64, count: u64) -> Result<Vec<Trial>, NoAnswer> {
    (first..first + count).into_par_iter().map(|k| trial(plan, k, |_| ())).collect()
}

/// (estimate - truth)' C^-1 (estimate - truth) over the unknowns that are not held fixed.
fn normalised_square(analysis: &Analysis, truth: &Values<f64>) -> Option<f64> {
    let n = analysis.correlation_names.len();
    let result = |u: Unknown| analysis.unknowns.iter().find(|r| r.unknown == u).map(|r| r.estimate);
    let mut z = DVector::zeros(n);
    for (i, &u) in analysis.correlation_names.iter().enumerate() {
        let estimate = result(u)?;
        z[i] = (estimate.value - truth[u]) / estimate.u;
    }
    let r = DMatrix::from_fn(n, n, |i, j| analysis.correlation[i][j]);
    Some(z.dot(&r.cholesky()?.solve(&z)))
}

/// A field over the area less its best scale x, scale y and skew (and shift and turn).
fn linear_rest(area: &WorkingArea, field: &DVector<f64>) -> DVector<f64> {
    let nothing = DMatrix::zeros(field.len(), field.len());
    let s = symptoms(&area.points, field, &nothing, true);
    let value = |symptom: Option<crate::record::Symptom>| symptom.map_or(0.0, |s| s.estimate.value);
    let (turn, skew) = (value(s.turn) * 1e-3, s.skew.estimate.value * 1e-3);
    let (scale_x, scale_y) = (s.scale_x.estimate.value * 1e-3, s.scale_y.estimate.value * 1e-3);
    let mut rest = field.clone();
    for (i, (v, p)) in vectors(field).zip(&area.points).enumerate() {
        rest[2 * i] = v.x_mm - value(s.shift_x) - scale_x * p.x_mm - (skew - turn) * p.y_mm;
        rest[2 * i + 1] = v.y_mm - value(s.shift_y) - turn * p.x_mm - scale_y * p.y_mm;
    }
    rest
}
