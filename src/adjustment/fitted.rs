//! The adjusted machine: values, covariances, residuals.

use super::elimination::Eliminated;
use super::model::{Model, Quantity};
use crate::fit::{self, Options, OutOfDomain, Solution, Spectrum, Stop};
use crate::frame::Point;
use crate::machine::{COUNT, Unknown, Values};
use nalgebra::{DMatrix, DVector};

/// Singular values under this share of the largest count as nought; with a prior on every parameter none is.
const RANK_TOLERANCE: f64 = 1e-12;
/// A reading or prior with less redundancy than this is not checked by anything else.
const UNCHECKED: f64 = 1e-6;

/// The adjustment's answer.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// The parameters phi, in the order of [`Model::parameters`].
    pub phi: DVector<f64>,
    /// Their covariance.
    pub covariance: DMatrix<f64>,
    /// The machine's unknowns, those held fixed included.
    pub theta: Values<f64>,
    /// Where each hole is, its scatter included.
    pub places: Vec<Point>,
    /// Where each hole would be without its scatter.
    pub landings: Vec<Point>,
    /// Derivatives of [`Fitted::places`] (x1, y1, x2, y2 ...) by phi, the scatters following along.
    pub places_by_phi: DMatrix<f64>,
    /// Covariance of the places at fixed phi; the whole one is `places_by_phi * covariance * places_by_phi' + this`.
    pub places_rest: DMatrix<f64>,
    /// Whitened reading rows by phi with the scatters eliminated, set-aside readings included.
    pub reading_rows: DMatrix<f64>,
    /// What the distances in use, together with the stated scatter of the holes, say of phi: A'A of their rows. The
    /// inverse of [`Fitted::covariance`] is this and the information of the priors.
    pub information: DMatrix<f64>,
    /// Sum of the squares of the holes' scatters, in units of the stated one.
    pub scatter_squares: f64,
    /// How many of the scatters the distances check, as a sum of redundancy numbers; what `scatter_squares` should be.
    pub scatter_redundancy: f64,
    /// What the fit makes of each distance.
    pub readings: Vec<Prediction>,
    /// Standardised residual of each prior; `None` when nothing else speaks of that parameter.
    pub prior_w: Vec<Option<f64>>,
    /// Redundancy number of each prior, in units of its own precision given the others.
    pub prior_redundancy: Vec<f64>,
    /// Weighted sum of squares.
    pub chi_square: f64,
    /// Its degrees of freedom.
    pub dof: usize,
    /// Steps taken.
    pub iterations: usize,
    /// Did it settle?
    pub converged: bool,
}

/// One distance against the fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// What the fit makes of it, mm; without its help for one that is set aside.
    pub distance_mm: f64,
    /// Standardised residual, positive when the reading is longer; `None` when nothing checks it.
    pub w: Option<f64>,
    /// Redundancy number: the share of an error in this reading that shows in its own residual.
    pub redundancy: f64,
    /// Standard uncertainty of reading - prediction, mm.
    pub difference_u_mm: f64,
}

impl Fitted {
    /// Fits the model, beginning at `start`.
    ///
    /// # Errors
    /// When no machine near the start could have cut the pattern.
    pub fn of(model: &Model, start: &DVector<f64>) -> Result<Self, OutOfDomain> {
        let Solution { x: phi, residuals, jacobian, iterations, stop, .. } =
            fit::solve(model, start, &Options::default());
        if let Stop::StartOutOfDomain(why) = stop {
            return Err(OutOfDomain(why));
        }
        let covariance = Spectrum::of(&jacobian)
            .covariance(RANK_TOLERANCE)
            .map_err(|_| OutOfDomain("neither readings nor expectations determine the machine".to_owned()))?;
        let (landings, eliminated) = model.eliminated(&phi)?;
        let places: Vec<Point> = landings.iter().zip(&eliminated.scatter).map(|(l, e)| l.at + *e).collect();
        let mut places_by_phi = -&eliminated.pull;
        for (i, landing) in landings.iter().enumerate() {
            for axis in 0..2 {
                for (k, value) in model.spread(&landing.by_truth[axis]).into_iter().enumerate() {
                    places_by_phi[(2 * i + axis, k)] += value;
                }
            }
        }
        let m = 2 * model.hole_count();
        let places_rest = eliminated.normal.as_ref().map_or_else(|| DMatrix::zeros(m, m), |n| n.inverse());
        let readings = predictions(model, &eliminated, &covariance, &places_rest);
        let (scatter_squares, scatter_redundancy) =
            scatter_check(model, &eliminated, &covariance, &places_rest);
        let priors = model.prior_checks(&phi, &covariance);
        Ok(Self {
            theta: model.truth_at(&phi).values,
            prior_w: priors.iter().map(|&(w, free)| (free > UNCHECKED).then_some(w)).collect(),
            prior_redundancy: priors.iter().map(|&(_, free)| free).collect(),
            chi_square: residuals.norm_squared(),
            dof: degrees_of_freedom(model),
            information: information(model, &eliminated),
            scatter_squares,
            scatter_redundancy,
            iterations,
            converged: stop.converged(),
            landings: landings.iter().map(|l| l.at).collect(),
            reading_rows: eliminated.projected,
            phi,
            covariance,
            places,
            places_by_phi,
            places_rest,
            readings,
        })
    }

    /// Covariance of the unknowns, row and column as [`Unknown::ALL`]; nought for one held fixed.
    pub fn theta_covariance(&self, model: &Model) -> DMatrix<f64> {
        let mut c = DMatrix::zeros(COUNT, COUNT);
        for (i, a) in model.parameters.iter().enumerate() {
            for (j, b) in model.parameters.iter().enumerate() {
                if let (Quantity::Unknown(a), Quantity::Unknown(b)) = (a.quantity, b.quantity) {
                    c[(a as usize, b as usize)] = self.covariance[(i, j)];
                }
            }
        }
        c
    }

    /// Standard uncertainty of one unknown.
    pub fn u(&self, model: &Model, unknown: Unknown) -> f64 {
        model.index_of(Quantity::Unknown(unknown)).map_or(0.0, |k| self.covariance[(k, k)].max(0.0).sqrt())
    }

    /// Covariance of the holes' places, x1, y1, x2, y2 ...
    pub fn places_covariance(&self) -> DMatrix<f64> {
        &self.places_by_phi * &self.covariance * self.places_by_phi.transpose() + &self.places_rest
    }
}

/// Every distance against the fit. With h = b N^-1 b' + g C g', g = a - b K, the residual of a reading in the fit has
/// variance 1 - h (in units of its own), that of one outside it 1 + h.
fn predictions(
    model: &Model,
    eliminated: &Eliminated,
    covariance: &DMatrix<f64>,
    places_rest: &DMatrix<f64>,
) -> Vec<Prediction> {
    let rows = &eliminated.rows;
    (0..model.observations.len())
        .map(|i| {
            let g = eliminated.projected.row(i);
            let mut h = (g * covariance * g.transpose())[(0, 0)];
            for &(a, x) in &rows.by_scatter[i] {
                for &(b, y) in &rows.by_scatter[i] {
                    for r in 0..2 {
                        for c in 0..2 {
                            h += x[r] * places_rest[(2 * a + r, 2 * b + c)] * y[c];
                        }
                    }
                }
            }
            let o = &model.observations[i];
            let used = model.weights[i] > 0.0;
            let variance = if used { 1.0 - h } else { 1.0 + h };
            let checked = variance > UNCHECKED;
            Prediction {
                distance_mm: o.distance_mm + rows.residuals[i] * o.u_mm,
                w: checked.then(|| -rows.residuals[i] / variance.sqrt()),
                redundancy: if used { variance.clamp(0.0, 1.0) } else { 1.0 },
                difference_u_mm: o.u_mm * variance.max(0.0).sqrt(),
            }
        })
        .collect()
}

/// A'A of the projected rows of the distances in use and of the scatters, without the priors.
fn information(model: &Model, eliminated: &Eliminated) -> DMatrix<f64> {
    let mut rows = eliminated.projected.clone();
    for (i, &weight) in model.weights.iter().enumerate() {
        rows.row_mut(i).scale_mut(weight.sqrt());
    }
    let own = rows.transpose() * &rows;
    if model.scatter_mm > 0.0 {
        own + eliminated.pull.transpose() * &eliminated.pull / model.scatter_mm.powi(2)
    } else {
        own
    }
}

/// Sum of squares of the scatters and of their redundancy numbers, 1 - var(e)/sigma_h^2 each, with
/// cov(e) = N^-1 + K C K'.
fn scatter_check(
    model: &Model,
    eliminated: &Eliminated,
    covariance: &DMatrix<f64>,
    places_rest: &DMatrix<f64>,
) -> (f64, f64) {
    let variance = model.scatter_mm.powi(2);
    if variance == 0.0 {
        return (0.0, 0.0);
    }
    let squares: f64 = eliminated.scatter.iter().map(|e| e.norm_mm().powi(2)).sum();
    let spread = &eliminated.pull * covariance;
    let known: f64 = (0..2 * model.hole_count())
        .map(|i| places_rest[(i, i)] + spread.row(i).dot(&eliminated.pull.row(i)))
        .sum();
    (squares / variance, (2 * model.hole_count()) as f64 - known / variance)
}

/// Observations less unknowns: every parameter and scatter comes with a prior, so only readings count, less one for
/// each prior that is set aside.
fn degrees_of_freedom(model: &Model) -> usize {
    let used = model.weights.iter().filter(|&&w| w > 0.0).count();
    let dropped = model.prior_weights.iter().filter(|&&w| w == 0.0).count();
    used.saturating_sub(dropped)
}
