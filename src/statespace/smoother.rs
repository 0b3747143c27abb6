//! Backward: what is known at each step from all that was seen, before and after.

use super::filter::Filtered;
use super::symmetric;
use nalgebra::{DMatrix, DVector};

/// Directions of a predicted covariance below this share of its largest count as held fixed.
const HELD: f64 = 1e-13;

/// What the smoother found, one of each a step.
#[derive(Debug, Clone, PartialEq)]
pub struct Smoothed {
    /// Means, n each.
    pub means: Vec<DVector<f64>>,
    /// Covariances, n x n each.
    pub covariances: Vec<DMatrix<f64>>,
}

/// Smooths what was filtered.
///
/// J = P+ F' P-^-1, with the next step's predicted P-; x^ = x+ + J (x^next - x-), P^ = P+ + J (P^next - P-) J'.
pub fn smooth(filtered: &Filtered) -> Smoothed {
    let count = filtered.updated.len();
    let mut out = Smoothed {
        means: filtered.updated.iter().map(|b| b.mean.clone()).collect(),
        covariances: filtered.updated.iter().map(|b| b.covariance.clone()).collect(),
    };
    for k in (0..count.saturating_sub(1)).rev() {
        let (here, next) = (&filtered.updated[k], &filtered.predicted[k + 1]);
        let towards = &here.covariance * filtered.transitions[k + 1].transpose();
        let gain = (inverse(&next.covariance) * towards.transpose()).transpose();
        out.means[k] = &here.mean + &gain * (&out.means[k + 1] - &next.mean);
        let shrink = &out.covariances[k + 1] - &next.covariance;
        out.covariances[k] = symmetric(&here.covariance + &gain * shrink * gain.transpose());
    }
    out
}

/// Inverse of a covariance whose directions without variance stay without: in units of its diagonal, by Cholesky's method
/// or, where that fails, by its eigenvalues.
fn inverse(c: &DMatrix<f64>) -> DMatrix<f64> {
    let n = c.nrows();
    let size = c.diagonal().map(|v| if v > 0.0 { v.sqrt() } else { 1.0 });
    let scaled = DMatrix::from_fn(n, n, |i, j| c[(i, j)] / (size[i] * size[j]));
    let inverse = match scaled.clone().cholesky() {
        Some(root) => root.inverse(),
        None => {
            let eigen = scaled.symmetric_eigen();
            let most = eigen.eigenvalues.max();
            let each = eigen.eigenvalues.map(|v| if v > HELD * most { 1.0 / v } else { 0.0 });
            &eigen.eigenvectors * DMatrix::from_diagonal(&each) * eigen.eigenvectors.transpose()
        }
    };
    DMatrix::from_fn(n, n, |i, j| inverse[(i, j)] / (size[i] * size[j]))
}
