//! What was believed before the readings, as rows of the problem. Expectations that an earlier cut taught are
//! correlated, so they are whitened together: with the covariance S = L L' of the priors in use, the rows are
//! L^-1 (phi - prior).

use super::model::{Model, Parameter, Quantity};
use crate::machine::Unknown;
use crate::setup::{Setup, lower_root};
use nalgebra::{DMatrix, DVector};

impl Model {
    /// Covariance of what is believed of the parameters before the readings.
    pub fn prior_covariance(&self) -> &DMatrix<f64> {
        &self.prior_covariance
    }

    /// Whitened rows of the priors in use, by phi.
    pub fn prior_rows(&self) -> &DMatrix<f64> {
        &self.prior_rows
    }

    /// Uses the prior of parameter `k` no longer. What the others say of each other stays.
    pub fn drop_prior(&mut self, k: usize) {
        self.prior_weights[k] = 0.0;
        self.prior_rows = whitening(&self.prior_covariance, &self.prior_weights);
    }

    /// Standard uncertainty of the prior of parameter `k` when the others are known.
    pub fn prior_own_u(&self, k: usize) -> f64 {
        1.0 / self.prior_rows.column(k).norm()
    }

    /// W (phi - prior).
    pub(super) fn prior_residuals(&self, phi: &DVector<f64>) -> DVector<f64> {
        let off = DVector::from_fn(phi.len(), |k, _| phi[k] - self.parameters[k].prior.value);
        &self.prior_rows * off
    }

    /// Standardised residual and redundancy number of each prior at a solution with its covariance C.
    ///
    /// With v = phi - prior, P = W'W and Q = P^-1 - C the covariance of v, w = (P v)_k / sqrt((P Q P)_kk) tests one of
    /// several correlated observations ([Baarda](crate::references::BAARDA_1968)), and (P Q P)_kk / P_kk is its
    /// redundancy; without correlation these are v/u / sqrt(1 - c/u^2) and 1 - c/u^2.
    pub(super) fn prior_checks(&self, phi: &DVector<f64>, covariance: &DMatrix<f64>) -> Vec<(f64, f64)> {
        let w = &self.prior_rows;
        let n = w.nrows();
        let gain = w.transpose() * self.prior_residuals(phi);
        let free = w.transpose() * (DMatrix::identity(n, n) - w * covariance * w.transpose()) * w;
        (0..n)
            .map(|k| {
                if self.prior_weights[k] > 0.0 {
                    let redundancy = free[(k, k)] * self.prior_own_u(k).powi(2);
                    (gain[k] / free[(k, k)].max(0.0).sqrt(), redundancy)
                } else {
                    let prior = self.parameters[k].prior;
                    let without = 1.0 + covariance[(k, k)] / (prior.u * prior.u);
                    ((phi[k] - prior.value) / prior.u / without.sqrt(), without)
                }
            })
            .collect()
    }
}

/// Covariance of the priors of these parameters.
pub(super) fn covariance_of(setup: &Setup, parameters: &[Parameter]) -> DMatrix<f64> {
    let unknowns = setup.expected_covariance();
    let with_scale = |u: Unknown, k: usize| setup.covariance_with_scale(k)[u as usize];
    DMatrix::from_fn(parameters.len(), parameters.len(), |i, j| {
        match (parameters[i].quantity, parameters[j].quantity) {
            (Quantity::Unknown(a), Quantity::Unknown(b)) => unknowns[(a as usize, b as usize)],
            (Quantity::Unknown(u), Quantity::Scale(k)) | (Quantity::Scale(k), Quantity::Unknown(u)) => {
                with_scale(u, k)
            }
            _ if i == j => parameters[i].prior.u.powi(2),
            _ => 0.0,
        }
    })
}

/// L^-1 of the priors in use, with rows and columns of noughts for the others.
pub(super) fn whitening(covariance: &DMatrix<f64>, weights: &[f64]) -> DMatrix<f64> {
    let kept: Vec<usize> = (0..weights.len()).filter(|&k| weights[k] > 0.0).collect();
    let part = covariance.select_rows(&kept).select_columns(&kept);
    let n = covariance.nrows();
    let mut rows = DMatrix::zeros(n, n);
    // A setup that could be read has a covariance with a root.
    let inverse =
        lower_root(&part).and_then(|l| l.solve_lower_triangular(&DMatrix::identity(kept.len(), kept.len())));
    let inverse = inverse.unwrap_or_else(|| {
        DMatrix::from_diagonal(&part.diagonal().map(|v| if v > 0.0 { 1.0 / v.sqrt() } else { 0.0 }))
    });
    for (a, &i) in kept.iter().enumerate() {
        for (b, &j) in kept.iter().enumerate() {
            rows[(i, j)] = inverse[(a, b)];
        }
    }
    rows
}
