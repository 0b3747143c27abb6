//! The settings that leave the smallest error.
//!
//! A controller cannot simply be told the estimates: a plain one cannot hold sag or stretch, and a spacing that
//! imitates them may serve better than the true one. So the settings it can store are chosen to minimise the root
//! mean square position error over the working area on the estimated machine; where the error hardly cares, the
//! choice leans to the estimates.

use crate::field::{Field, Placement, WorkingArea};
use crate::fit::{self, Evaluation, Options, OutOfDomain, Problem};
use crate::machine::{Machine, Unknown, Values};
use nalgebra::{DMatrix, DVector};

/// Price, in mm of root mean square error, of a setting one expected uncertainty away from the estimate. So small
/// that it only decides between settings that are equally good.
const LEANING_MM: f64 = 0.002;
/// Every k-th point of the working area is looked at during the search.
const STRIDE: usize = 3;

/// Which settings may be changed: those the controller can store, without those that only place the cut when its
/// placement is not known.
pub fn adjustable(can_set: &[Unknown], placement_known: bool) -> Vec<Unknown> {
    can_set.iter().copied().filter(|u| placement_known || !u.is_placement()).collect()
}

/// The best settings for a controller on the machine `truth`, rounded to what can be entered.
///
/// `leaning` gives, per unknown, the estimate and a width (the expected uncertainty); `step` is the fineness in which
/// each setting can be entered.
///
/// # Errors
/// When the carriage cannot hang somewhere in the working area with any such settings.
pub fn best_settings(
    controller: &Machine,
    truth: &Machine,
    adjustable: &[Unknown],
    leaning: &Values<(f64, f64)>,
    step: &Values<f64>,
    area: &WorkingArea,
    placement_known: bool,
) -> Result<Values<f64>, OutOfDomain> {
    let area = area.thinned(STRIDE);
    let placement = area.placement(placement_known);
    let problem =
        Search { controller: *controller, truth: *truth, adjustable, leaning, step, area, placement };
    let start = DVector::from_iterator(adjustable.len(), adjustable.iter().map(|&u| leaning[u].0));
    if adjustable.is_empty() {
        return Ok(controller.values);
    }
    problem.evaluate(&start)?;
    let solution = fit::solve(&problem, &start, &Options::default());
    let mut settings = controller.values;
    for (&unknown, &value) in adjustable.iter().zip(solution.x.iter()) {
        settings[unknown] = (value / step[unknown]).round() * step[unknown];
    }
    Ok(settings)
}

/// The search as a least-squares problem: misses at the places, then the leanings.
struct Search<'a> {
    controller: Machine,
    truth: Machine,
    adjustable: &'a [Unknown],
    leaning: &'a Values<(f64, f64)>,
    step: &'a Values<f64>,
    area: WorkingArea,
    placement: Placement,
}

impl Problem for Search<'_> {
    fn unknowns(&self) -> usize {
        self.adjustable.len()
    }

    fn evaluate(&self, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let mut belief = self.controller;
        for (&unknown, &value) in self.adjustable.iter().zip(x.iter()) {
            belief.values[unknown] = value;
        }
        let field =
            Field::of(&belief, &self.truth, &self.area.points).map_err(|e| OutOfDomain(e.to_string()))?;
        let p = self.adjustable.len();
        let m = field.displacement.len();
        let mut by_setting = DMatrix::zeros(m, p);
        for (k, &unknown) in self.adjustable.iter().enumerate() {
            by_setting.set_column(k, &field.by_belief.column(unknown as usize));
        }
        let mut residuals = DVector::zeros(m + p);
        let mut jacobian = DMatrix::zeros(m + p, p);
        let miss = DMatrix::from_columns(&[self.placement.remove(&field.displacement)]);
        residuals.rows_mut(0, m).copy_from(&self.area.weighted(&miss).column(0));
        let by_setting = self.placement.remove_columns(&by_setting);
        jacobian.rows_mut(0, m).copy_from(&self.area.weighted(&by_setting));
        for (k, &unknown) in self.adjustable.iter().enumerate() {
            let (value, width) = self.leaning[unknown];
            let weight = LEANING_MM / width.max(self.step[unknown]);
            residuals[m + k] = weight * (x[k] - value);
            jacobian[(m + k, k)] = weight;
        }
        Ok(Evaluation { residuals, jacobian })
    }
}
