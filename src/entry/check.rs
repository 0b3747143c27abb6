//! A new reading against what the others predict for it.

use super::Task;
use crate::adjustment::{Fitted, Model};
use crate::readings::Reading;
use crate::screening::{ALPHA, Slip, SlipContext, critical_w, likeliest, screen};
use nalgebra::DVector;

/// A reading against its prediction.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// How much longer it is than the others make it, mm.
    pub excess_mm: f64,
    /// Standard uncertainty of that, mm.
    pub u_mm: f64,
    /// Is it further off than chance would have it in a table of this length?
    pub doubtful: bool,
    /// What may have happened, when it is doubtful.
    pub slip: Option<Slip>,
}

/// Holds the last of some readings against all the others; `None` when nothing can be predicted.
///
/// The others are screened first, so that one slip that was let pass does not throw doubt on good readings.
pub fn judge(task: &Task<'_>, others: &[Reading], new: &Reading, table_length: usize) -> Option<Doubt> {
    let setup = task.setup;
    let mut all = others.to_vec();
    all.push(new.clone());
    let mut model = Model::new(setup, task.holes, &all).ok()?;
    let last = model.observations.len().checked_sub(1).filter(|_| model.observations.len() == all.len())?;
    let mut start = model.start();
    if !others.is_empty() {
        let alone = Model::new(setup, task.holes, others).ok()?;
        let screened = screen(&alone, setup.hardware.pitch_mm, ALPHA).ok()?;
        for (weight, used) in model.weights.iter_mut().zip(&screened.model.weights) {
            *weight = *used;
        }
        for (k, parameter) in screened.model.parameters.iter().enumerate() {
            if let Some(here) = model.index_of(parameter.quantity) {
                start[here] = screened.fitted.phi[k];
                model.parameters[here].prior = parameter.prior;
                model.prior_weights[here] = screened.model.prior_weights[k];
            }
        }
    }
    model.weights[last] = 0.0;
    let fitted = Fitted::of(&model, &DVector::clone(&start)).ok()?;
    let prediction = fitted.readings[last];
    let excess_mm = new.distance_mm - prediction.distance_mm;
    let u_mm = prediction.difference_u_mm;
    let doubtful = (excess_mm / u_mm).abs() > critical_w(table_length, ALPHA);
    let slip = doubtful.then(|| {
        let context = SlipContext::of(setup.unit, task.pattern, task.holes, new, &prediction, &fitted.places);
        likeliest(&context)
    });
    Some(Doubt { excess_mm, u_mm, doubtful, slip: slip.flatten() })
}
