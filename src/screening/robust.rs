//! A robust fit, only to find a start for the search: which readings would a fit leave out that no few of them can
//! pull?

use crate::adjustment::Model;
use nalgebra::{DMatrix, DVector};

/// Rounds of reweighting of each kind.
const ROUNDS: usize = 8;
/// Tukey's biweight turns a reading off beyond this many deviations (95 % efficient at the normal distribution:
/// [Huber and Ronchetti](crate::references::HUBER_2009)).
const TUKEY: f64 = 4.685;

/// Observations that a robust fit leaves out by more than `c` deviations, largest first, at most `most`.
///
/// The scatters of the holes are folded into the noise of each reading here, so that they cannot soak up a blunder,
/// and the model is taken as linear about what was expected: good enough to suspect by.
pub fn suspects(model: &Model, c: f64, most: usize) -> Vec<usize> {
    let Ok(rows) = model.without_scatter().rows_at_start() else { return Vec::new() };
    let (n, p) = rows.by_phi.shape();
    let mut weights = vec![1.0; n];
    let mut deviations = rows.residuals.clone();
    for round in 0..2 * ROUNDS {
        let mut stacked = DMatrix::zeros(n + p, p);
        let mut target = DVector::zeros(n + p);
        for i in 0..n {
            let root = f64::sqrt(weights[i]);
            stacked.set_row(i, &(rows.by_phi.row(i) * root));
            target[i] = -root * rows.residuals[i];
        }
        stacked.rows_mut(n, p).copy_from(model.prior_rows());
        let qr = stacked.qr();
        qr.q_tr_mul(&mut target);
        let Some(change) = qr.r().solve_upper_triangular(&target.rows(0, p)) else { return Vec::new() };
        deviations = &rows.residuals + &rows.by_phi * change;
        for (weight, z) in weights.iter_mut().zip(deviations.iter()) {
            *weight = if round < ROUNDS {
                // Bounded influence: as least absolute deviations beyond one deviation.
                1.0 / z.abs().max(1.0)
            } else {
                let t = (z / TUKEY).clamp(-1.0, 1.0);
                (1.0 - t * t).powi(2)
            };
        }
    }
    let mut far: Vec<(usize, f64)> =
        deviations.iter().map(|z| z.abs()).enumerate().filter(|(_, z)| *z > c).collect();
    far.sort_by(|a, b| b.1.total_cmp(&a.1));
    far.truncate(most);
    far.into_iter().map(|(i, _)| i).collect()
}
