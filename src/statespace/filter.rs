//! Forward: what is known at each step from all that was seen up to it.

use super::{Belief, Step, symmetric};
use nalgebra::{DMatrix, DVector};

/// What the filter found, one of each a step.
#[derive(Debug, Clone, PartialEq)]
pub struct Filtered {
    /// Before the step's own values.
    pub predicted: Vec<Belief>,
    /// With them.
    pub updated: Vec<Belief>,
    /// F of each step.
    pub transitions: Vec<DMatrix<f64>>,
    /// z - H x predicted.
    pub innovations: Vec<DVector<f64>>,
    /// Their covariances S.
    pub innovation_covariances: Vec<DMatrix<f64>>,
    /// Logarithm of the density of all values.
    pub log_likelihood: f64,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoFilter {
    /// The step, from 0, whose values have no positive covariance.
    pub step: usize,
}

impl std::fmt::Display for NoFilter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "the values of step {} have no positive covariance", self.step)
    }
}

impl std::error::Error for NoFilter {}

/// Filters the steps from what was believed before the first; the first step's motion is applied to that.
///
/// # Errors
/// When values have a covariance that is not positive.
pub fn filter(initial: &Belief, steps: &[Step]) -> Result<Filtered, NoFilter> {
    let mut out = Filtered {
        predicted: Vec::with_capacity(steps.len()),
        updated: Vec::with_capacity(steps.len()),
        transitions: Vec::with_capacity(steps.len()),
        innovations: Vec::with_capacity(steps.len()),
        innovation_covariances: Vec::with_capacity(steps.len()),
        log_likelihood: 0.0,
    };
    let mut belief = initial.clone();
    for (k, step) in steps.iter().enumerate() {
        let predicted = belief.moved(step);
        let innovation = &step.values - &step.rows * &predicted.mean;
        let h = &step.rows;
        let s = symmetric(h * &predicted.covariance * h.transpose() + &step.rows_noise);
        belief = if innovation.is_empty() {
            predicted.clone()
        } else {
            let root = s.clone().cholesky().ok_or(NoFilter { step: k })?;
            let square = innovation.dot(&root.solve(&innovation));
            let log_determinant = 2.0 * root.l_dirty().diagonal().map(f64::ln).sum();
            let m = innovation.len() as f64;
            out.log_likelihood -= 0.5 * (m * std::f64::consts::TAU.ln() + log_determinant + square);
            // K = P H' S^-1; P+ = (1 - K H) P (1 - K H)' + K R K' (Joseph).
            let gain = root.solve(&(h * &predicted.covariance)).transpose();
            let n = predicted.mean.len();
            let left = DMatrix::identity(n, n) - &gain * h;
            Belief {
                mean: &predicted.mean + &gain * &innovation,
                covariance: symmetric(
                    &left * &predicted.covariance * left.transpose()
                        + &gain * &step.rows_noise * gain.transpose(),
                ),
            }
        };
        out.predicted.push(predicted);
        out.updated.push(belief.clone());
        out.transitions.push(step.transition.clone());
        out.innovations.push(innovation);
        out.innovation_covariances.push(s);
    }
    Ok(out)
}
