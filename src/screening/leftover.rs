//! Patterns over the sheet that are left in the readings after the fit.
//!
//! A pattern is a few fields of displacement of the holes that the machine's unknowns cannot make. What it would do to
//! the readings is G a, with G its whitened signatures (a column per field) and a its unknown amplitudes. With the
//! scatters and the priors integrated out, the whitened residuals v at the priors have the covariance
//!
//! S = I + sigma_h^2 B B' + A P A',
//!
//! and the score statistic ([Rao](crate::references::RAO_1948))
//!
//! T = v'S^-1 G (G'S^-1 G)^-1 G'S^-1 v
//!
//! is chi-square with as many degrees of freedom as fields when there is no such pattern, because every scatter is stated
//! and not estimated. The pattern with the smallest chance is looked at, at the level of Sidak for all of them together,
//! so that a cut of a machine as stated raises one with a chance of at most about the level that is asked for.

use super::Screened;
use crate::frame::Point;
use crate::machine::Landing;
use crate::record::{Estimate, Leftover};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Beyond this many readings the covariance is not worth its size: a cut that large shows its patterns on the map.
const MOST_READINGS: usize = 1500;
/// A prior that was set aside is given this many times its variance.
const NO_PRIOR: f64 = 1e6;
/// Part of a signature that the unknowns leave untouched, as a share of the whole, below which it says nothing.
const UNSEEN: f64 = 1e-6;

/// The clearest pattern left over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// Which.
    pub pattern: Leftover,
    /// Its size over the holes, mm rms.
    pub rms_mm: Estimate,
    /// Chance that any of the patterns shows as clearly by luck.
    pub p_value: f64,
}

/// The clearest of the patterns, significant or not; none when there are too many readings, or too few.
pub fn pattern_left(screened: &Screened) -> Option<Left> {
    let (model, phi) = (&screened.model, &screened.fitted.phi);
    let used: Vec<usize> = (0..model.observations.len()).filter(|&i| model.weights[i] > 0.0).collect();
    if used.len() > MOST_READINGS || !screened.fitted.converged {
        return None;
    }
    let (landings, rows) = model.unscattered(phi).ok()?;
    let by_phi = rows.by_phi.select_rows(&used);
    let holes = 2 * model.hole_count();
    let mut by_holes = DMatrix::zeros(used.len(), holes);
    for (row, &i) in used.iter().enumerate() {
        for &(hole, by) in &rows.by_scatter[i] {
            by_holes[(row, 2 * hole)] += by[0];
            by_holes[(row, 2 * hole + 1)] += by[1];
        }
    }
    let mut prior = model.prior_covariance().clone();
    for (k, &weight) in model.prior_weights.iter().enumerate() {
        if weight == 0.0 {
            prior[(k, k)] *= NO_PRIOR;
        }
    }
    let off = DVector::from_fn(phi.len(), |k, _| phi[k] - model.parameters[k].prior.value);
    let residuals =
        DVector::from_iterator(used.len(), used.iter().map(|&i| rows.residuals[i])) - &by_phi * off;
    let scatter = model.scatter_mm().powi(2);
    let covariance: DMatrix<f64> = DMatrix::identity(used.len(), used.len())
        + &by_holes * by_holes.transpose() * scatter
        + &by_phi * prior * by_phi.transpose();
    let factor = covariance.cholesky()?;
    let solved = factor.solve(&residuals);

    let fields = fields(model.targets(), &landings, model.paid_mm());
    let tests = fields.len() as f64;
    let judged = fields.into_iter().filter_map(|(pattern, shapes)| {
        let signatures = &by_holes * &shapes;
        let information = signatures.transpose() * factor.solve(&signatures);
        let seen = information
            .diagonal()
            .iter()
            .zip(signatures.column_iter())
            .all(|(i, g)| *i > UNSEEN * g.norm_squared());
        let inverse = information.cholesky().filter(|_| seen)?.inverse();
        // Readings = model + G a, and the residual is model - reading.
        let score = -(signatures.transpose() * &solved);
        let amplitude = &inverse * &score;
        let chance = ChiSquared::new(shapes.ncols() as f64).ok()?.sf(score.dot(&amplitude));
        let size = shapes.transpose() * &shapes * (2.0 / holes as f64);
        let rms = amplitude.dot(&(&size * &amplitude)).max(0.0).sqrt();
        let slope = &size * &amplitude / rms.max(f64::MIN_POSITIVE);
        let u = slope.dot(&(&inverse * &slope)).max(0.0).sqrt();
        let p_value = -f64::exp_m1(tests * f64::ln_1p(-chance.min(1.0)));
        Some(Left { pattern, rms_mm: Estimate { value: rms, u }, p_value })
    });
    judged.min_by(|a, b| a.p_value.total_cmp(&b.p_value))
}

/// The fields of every pattern over the holes (x1, y1, x2, y2 ...), a column each, of about 1 mm at the rim.
fn fields(targets: &[Point], landings: &[Landing], paid_mm: &[[f64; 2]]) -> Vec<(Leftover, DMatrix<f64>)> {
    let n = targets.len();
    let middle = targets.iter().fold(Point::default(), |m, p| m + *p) * (1.0 / n.max(1) as f64);
    let half = targets.iter().fold(Point::new(1.0, 1.0), |m, p| {
        let arm = *p - middle;
        Point::new(m.x_mm.max(arm.x_mm.abs()), m.y_mm.max(arm.y_mm.abs()))
    });
    let over = |shapes: [fn(f64, f64) -> [f64; 2]; 2]| {
        DMatrix::from_fn(2 * n, 2, |row, k| {
            let arm = targets[row / 2] - middle;
            shapes[k](arm.x_mm / half.x_mm, arm.y_mm / half.y_mm)[row % 2]
        })
    };
    vec![
        (Leftover::Bow, over([|x, _| [0.0, x * x], |_, y| [y * y, 0.0]])),
        (Leftover::LeftRight, over([|x, _| [x * x, 0.0], |x, y| [0.0, x * y]])),
        (Leftover::TopBottom, over([|x, y| [x * y, 0.0], |_, y| [0.0, y * y]])),
        (Leftover::AlongLeft, along(landings, paid_mm, 0)),
        (Leftover::AlongRight, along(landings, paid_mm, 1)),
    ]
}

/// Where the holes go when one chain is longer by a square and by a cube of its length, its middle length apart.
fn along(landings: &[Landing], paid_mm: &[[f64; 2]], side: usize) -> DMatrix<f64> {
    let lengths: Vec<f64> = paid_mm.iter().map(|paid| paid[side]).collect();
    let low = lengths.iter().copied().fold(f64::INFINITY, f64::min);
    let high = lengths.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    DMatrix::from_fn(2 * landings.len(), 2, |row, k| {
        let t = (2.0 * lengths[row / 2] - low - high) / (high - low).max(1.0);
        landings[row / 2].by_paid[row % 2][side] * t.powi(k as i32 + 2)
    })
}
