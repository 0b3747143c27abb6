//! From the last step back to the first: what is known at each from all looks.

use super::filter::Filtered;
use super::state::State;
use super::triangle::{echelon, root_of, stacked};
use nalgebra::{DMatrix, DVector};

/// All states, each from all looks.
#[derive(Debug, Clone, PartialEq)]
pub struct Smoothed {
    /// The state before the first step.
    pub start: State,
    /// The state at the end of each step.
    pub states: Vec<State>,
    /// Gain G of each step: how the state before it follows the state after it.
    gains: Vec<DMatrix<f64>>,
}

impl Smoothed {
    /// Covariance between the state after step `step` (rows) and that before it (columns), n x n. A number beyond the
    /// last step panics.
    pub fn lag_one(&self, step: usize) -> DMatrix<f64> {
        self.states[step].covariance() * self.gains[step].transpose()
    }

    /// Covariance between the states after two steps, `earlier` <= `later` (rows: earlier; columns: later), n x n. A number beyond
    /// the last step panics.
    pub fn cross_covariance(&self, earlier: usize, later: usize) -> DMatrix<f64> {
        let from = self.states[later].covariance();
        self.gains[earlier + 1..=later].iter().rev().fold(from, |c, gain| gain * c)
    }

    /// How much a combination of states, h'x, changed between two steps, with its standard uncertainty.
    pub fn change(&self, row: &DVector<f64>, earlier: usize, later: usize) -> (f64, f64) {
        let (before, u_before) = self.states[earlier].along(row);
        let (after, u_after) = self.states[later].along(row);
        let common = row.dot(&(self.cross_covariance(earlier, later) * row));
        (after - before, (u_before.powi(2) + u_after.powi(2) - 2.0 * common).max(0.0).sqrt())
    }
}

/// Smooths what was filtered.
pub fn smooth(filtered: &Filtered) -> Smoothed {
    let steps = &filtered.steps;
    let mut states: Vec<State> = Vec::with_capacity(steps.len() + 1);
    let mut gains = Vec::with_capacity(steps.len());
    states.push(filtered.last().clone());
    for k in (0..steps.len()).rev() {
        let before = k.checked_sub(1).map_or(&filtered.start, |j| &steps[j].filtered);
        let (transition, noise) = &filtered.ways[k];
        let (gain, left) = gain_and_rest(before, transition, noise);
        let after = states.last().unwrap_or(&filtered.start);
        let state = State {
            mean: &before.mean + &gain * (&after.mean - &steps[k].predicted.mean),
            root: root_of(stacked(&left, &(&after.root * gain.transpose()))),
        };
        states.push(state);
        gains.push(gain);
    }
    states.reverse();
    gains.reverse();
    let start = states.remove(0);
    Smoothed { start, states, gains }
}

/// G, n x n, and Z: the root of what is unknown of a state when the next is known.
fn gain_and_rest(
    before: &State,
    transition: &DMatrix<f64>,
    noise: &DMatrix<f64>,
) -> (DMatrix<f64>, DMatrix<f64>) {
    let n = before.mean.len();
    let mut array = DMatrix::zeros(2 * n, 2 * n);
    array.view_mut((0, 0), (n, n)).copy_from(&(&before.root * transition.transpose()));
    array.view_mut((0, n), (n, n)).copy_from(&before.root);
    array.view_mut((n, 0), (n, n)).copy_from(noise);
    let pivots = echelon(&mut array, n);
    let r = pivots.len();
    let mut gain = DMatrix::zeros(n, n);
    // Back substitution in the pivot columns, for one column of Y (a row of G) at a time.
    for state in 0..n {
        for i in (0..r).rev() {
            let known: f64 = (i + 1..r).map(|k| array[(i, pivots[k])] * gain[(state, pivots[k])]).sum();
            gain[(state, pivots[i])] = (array[(i, n + state)] - known) / array[(i, pivots[i])];
        }
    }
    (gain, array.view((r, n), (2 * n - r, n)).into_owned())
}
