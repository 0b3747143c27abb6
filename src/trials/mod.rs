//! Trials: machines drawn at random, cut, read, analysed, and compared with the truth.
//!
//! The machines are drawn from what the setup expects, the readings from the noise it states. If estimate and
//! uncertainty are honest, intervals cover the truth as often as they say ([`Theory`]). Readings with slips planted in them
//! tell how many are found ([`slips()`]); machines that are not what the model takes them for, whether that shows
//! ([`misfitted()`]).

mod misfits;
mod slips;
mod theory;

pub use misfits::{Misfit, Misfitted, misfitted};
pub use slips::{Planted, SlipShares, slips};
pub use theory::{Moments, Theory, Uniformity, uniformity};

use crate::adjustment::{Model, Quantity};
use crate::analysis::{Cut, NoAnswer, analyse};
use crate::field::{Field, WorkingArea, vectors};
use crate::fit::{Problem, Spectrum};
use crate::machine::{COUNT, Unknown, Values};
use crate::pattern::{Hole, Pattern};
use crate::planner::Planned;
use crate::record::Analysis;
use crate::setup::Setup;
use crate::simulation::{Disturbance, Simulated, cut_and_read, draw_machine};
use crate::symptoms::symptoms;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Singular values under this share of the largest count as nought; with a prior on every parameter none is.
const RANK_TOLERANCE: f64 = 1e-12;

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
    /// The Cramér-Rao bound at the true machine: least variance of each unknown, in its unit squared; 0 for one held
    /// fixed. Machines are drawn from the expectations, so these count as readings
    /// ([Van Trees](crate::references::VAN_TREES_1968)).
    pub bound: Values<f64>,
    /// (estimate - truth)' F (estimate - truth) with F the inverse of that bound as a matrix: mean n when the bound is
    /// reached in every direction.
    pub square_by_bound: Option<f64>,
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
    let (estimate, settings) = (estimate(&analysis), settings(setup, &analysis));
    let bound = bound(plan, &holes, &truth)?;
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
        square_by_bound: square_by_bound(&analysis, &truth, &bound),
        bound: Values::from_fn(|u| bound[(u as usize, u as usize)]),
        analysis,
    })
}

/// The machine as an analysis sees it.
fn estimate(analysis: &Analysis) -> Values<f64> {
    let of = |u: Unknown| analysis.unknowns.iter().find(|r| r.unknown == u).map_or(0.0, |r| r.estimate.value);
    Values::from_fn(of)
}

/// The settings after its correction.
fn settings(setup: &Setup, analysis: &Analysis) -> Values<f64> {
    let mut settings = setup.settings;
    for change in &analysis.settings_new {
        settings[change.unknown] = change.to;
    }
    settings
}

/// Makes trials `first..first + count` on all cores, in order.
///
/// # Errors
/// When one of the drawn machines cannot cut the pattern.
pub fn trials(plan: &Plan<'_>, first: u64, count: u64) -> Result<Vec<Trial>, NoAnswer> {
    (first..first + count).into_par_iter().map(|k| trial(plan, k, |_| ())).collect()
}

/// The Cramér-Rao bound at the truth: the covariance of the linearised problem there, from readings without noise.
fn bound(plan: &Plan<'_>, holes: &[Hole], truth: &Values<f64>) -> Result<DMatrix<f64>, NoAnswer> {
    let exact = Disturbance { noise: false, rounding_mm: 0.0, seed: 0 };
    let impossible = |e: crate::machine::Unreachable| NoAnswer::Impossible(e.to_string());
    let simulated = cut_and_read(plan.setup, *truth, holes, plan.distances, &exact).map_err(impossible)?;
    let model = Model::new(plan.setup, holes, &simulated.readings).map_err(impossible)?;
    let mut phi = model.start();
    for (k, parameter) in model.parameters.iter().enumerate() {
        if let Quantity::Unknown(u) = parameter.quantity {
            phi[k] = truth[u];
        }
    }
    let jacobian = model.evaluate(&phi)?.jacobian;
    let all = Spectrum::of(&jacobian)
        .covariance(RANK_TOLERANCE)
        .map_err(|_| NoAnswer::Impossible("nothing determines this machine".to_owned()))?;
    let mut bound = DMatrix::zeros(COUNT, COUNT);
    for (i, a) in model.parameters.iter().enumerate() {
        for (j, b) in model.parameters.iter().enumerate() {
            if let (Quantity::Unknown(a), Quantity::Unknown(b)) = (a.quantity, b.quantity) {
                bound[(a as usize, b as usize)] = all[(i, j)];
            }
        }
    }
    Ok(bound)
}

/// (estimate - truth)' F (estimate - truth) over the unknowns that are not held fixed.
fn square_by_bound(analysis: &Analysis, truth: &Values<f64>, bound: &DMatrix<f64>) -> Option<f64> {
    let free: Vec<usize> = analysis.correlation_names.iter().map(|&u| u as usize).collect();
    let part = bound.select_rows(&free).select_columns(&free);
    // Scaled to unit diagonal, as the unknowns differ in unit and size.
    let scale = DVector::from_fn(free.len(), |i, _| part[(i, i)].sqrt());
    let scaled = DMatrix::from_fn(free.len(), free.len(), |i, j| part[(i, j)] / (scale[i] * scale[j]));
    let mut off = DVector::zeros(free.len());
    for (i, &u) in analysis.correlation_names.iter().enumerate() {
        let estimate = analysis.unknowns.iter().find(|r| r.unknown == u)?.estimate.value;
        off[i] = (estimate - truth[u]) / scale[i];
    }
    Some(off.dot(&scaled.cholesky()?.solve(&off)))
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
