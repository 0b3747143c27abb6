//! From the first step to the last: what is known at each from the looks so far.

use super::state::{State, gram};
use super::step::{Fault, Step};
use super::triangle::{echelon, forward, root_of, stacked};
use nalgebra::{DMatrix, DVector};
use std::f64::consts::TAU;

/// What one step gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Looked {
    /// The state before the look.
    pub predicted: State,
    /// The state after it.
    pub filtered: State,
    /// v = z - H x, m, in the observations' units.
    pub innovations: DVector<f64>,
    /// Covariance of the innovations, m x m.
    pub innovations_covariance: DMatrix<f64>,
    /// e, m: innovations made independent, each of variance 1 when the model is true. e'e is chi-square of m.
    pub normalised: DVector<f64>,
    /// Logarithm of the likelihood of the look, given those before it.
    pub log_likelihood: f64,
}

/// All steps, filtered.
#[derive(Debug, Clone, PartialEq)]
pub struct Filtered {
    /// The state before the first step.
    pub start: State,
    /// One for each step.
    pub steps: Vec<Looked>,
    /// F and the root of Q of each step, for the smoother.
    pub(super) ways: Vec<(DMatrix<f64>, DMatrix<f64>)>,
}

impl Filtered {
    /// Logarithm of the likelihood of all looks.
    pub fn log_likelihood(&self) -> f64 {
        self.steps.iter().map(|s| s.log_likelihood).sum()
    }

    /// The last state.
    pub fn last(&self) -> &State {
        self.steps.last().map_or(&self.start, |s| &s.filtered)
    }
}

/// Filters all steps, starting from the state before the first.
///
/// # Errors
/// When shapes or numbers are not as they should be, or an observation without noise repeats what is certain.
pub fn filter(start: &State, steps: &[Step]) -> Result<Filtered, Fault> {
    let mut done = Filtered { start: start.clone(), steps: Vec::new(), ways: Vec::new() };
    for (k, step) in steps.iter().enumerate() {
        let (noise, rows_noise) = step.roots(k, start.mean.len())?;
        let predicted = moved(done.last(), step, &noise);
        done.steps.push(look(k, predicted, step, &rows_noise)?);
        done.ways.push((step.transition.clone(), noise));
    }
    Ok(done)
}

/// What the state will be after each of these steps, whose looks are not yet taken (and are ignored).
///
/// # Errors
/// When shapes or numbers are not as they should be.
pub fn ahead(from: &State, steps: &[Step]) -> Result<Vec<State>, Fault> {
    let mut states: Vec<State> = Vec::new();
    for (k, step) in steps.iter().enumerate() {
        let (noise, _) = step.roots(k, from.mean.len())?;
        states.push(moved(states.last().unwrap_or(from), step, &noise));
    }
    Ok(states)
}

fn moved(from: &State, step: &Step, noise: &DMatrix<f64>) -> State {
    State {
        mean: &step.transition * &from.mean + &step.shift,
        root: root_of(stacked(&(&from.root * step.transition.transpose()), noise)),
    }
}

fn look(k: usize, predicted: State, step: &Step, rows_noise: &DMatrix<f64>) -> Result<Looked, Fault> {
    let (m, n) = step.rows.shape();
    let mut array = DMatrix::zeros(m + n, m + n);
    array.view_mut((0, 0), (m, m)).copy_from(rows_noise);
    array.view_mut((m, 0), (n, m)).copy_from(&(&predicted.root * step.rows.transpose()));
    array.view_mut((m, m), (n, n)).copy_from(&predicted.root);
    if echelon(&mut array, m).len() < m {
        return Err(Fault::Certain { step: k });
    }
    let u = array.view((0, 0), (m, m)).into_owned();
    let innovations = &step.values - &step.rows * &predicted.mean;
    let normalised = forward(&u, &innovations);
    let mean = &predicted.mean + array.view((0, m), (m, n)).tr_mul(&normalised);
    let root = root_of(array.view((m, m), (n, n)).into_owned());
    let log_det: f64 = u.diagonal().iter().map(|d| d.abs().ln()).sum();
    Ok(Looked {
        log_likelihood: -0.5 * (m as f64 * TAU.ln() + normalised.norm_squared()) - log_det,
        innovations_covariance: gram(&u),
        filtered: State { mean, root },
        predicted,
        innovations,
        normalised,
    })
}
