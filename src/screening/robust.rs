//! A robust fit, only to find a start for the search: which readings would a fit leave out that no few of them can
//! pull?

use crate::adjustment::{Fitted, Model};

/// Rounds of reweighting of each kind.
const ROUNDS: usize = 8;
/// Tukey's biweight turns a reading off beyond this many deviations (95 % efficient at the normal distribution:
/// [Huber and Ronchetti](crate::references::HUBER_2009)).
const TUKEY: f64 = 4.685;

/// Observations that a robust fit leaves out by more than `c` deviations, largest first, at most `most`.
///
/// The scatters of the holes are folded into the noise of each reading here, so that they cannot soak up a blunder.
pub fn suspects(model: &Model, c: f64, most: usize) -> Vec<usize> {
    let mut simple = model.without_scatter();
    let Ok(mut fitted) = Fitted::of(&simple, &model.start()) else { return Vec::new() };
    for round in 0..2 * ROUNDS {
        let deviations: Vec<f64> = deviations(&simple, &fitted).collect();
        for (weight, z) in simple.weights.iter_mut().zip(deviations) {
            *weight = if round < ROUNDS {
                // Bounded influence: as least absolute deviations beyond one deviation.
                1.0 / z.abs().max(1.0)
            } else {
                // Never quite nought, so that the fit stays determined.
                let t = (z / TUKEY).clamp(-1.0, 1.0);
                (1.0 - t * t).powi(2).max(1e-6)
            };
        }
        match Fitted::of(&simple, &fitted.phi) {
            Ok(next) => fitted = next,
            Err(_) => return Vec::new(),
        }
    }
    let mut far: Vec<(usize, f64)> =
        deviations(&simple, &fitted).map(f64::abs).enumerate().filter(|(_, z)| *z > c).collect();
    far.sort_by(|a, b| b.1.total_cmp(&a.1));
    far.truncate(most);
    far.into_iter().map(|(i, _)| i).collect()
}

/// Reading less fit, in units of its own noise.
fn deviations(model: &Model, fitted: &Fitted) -> impl Iterator<Item = f64> {
    model.observations.iter().zip(&fitted.readings).map(|(o, p)| (o.distance_mm - p.distance_mm) / o.u_mm)
}
