//! Linear Gaussian state-space models: the Kalman filter and the fixed-interval smoother. Knows no machine.
//!
//! The states x move as x_k = F_k x_(k-1) + b_k + noise, noise ~ N(0, Q_k), and show as z_k = H_k x_k + noise,
//! noise ~ N(0, R_k). The filter says what is known of x_k from z_1 ... z_k
//! ([Durbin and Koopman](crate::references::DURBIN_KOOPMAN_2012), chapter 4), in the form of Joseph, which keeps covariances
//! symmetric and positive whatever the gain; the smoother what is known of it from all of them
//! ([Rauch, Tung and Striebel](crate::references::RAUCH_TUNG_STRIEBEL_1965)).

mod filter;
mod smoother;

pub use filter::{Filtered, NoFilter, filter};
pub use smoother::{Smoothed, smooth};

use nalgebra::{DMatrix, DVector};

/// What is believed of the states: normal, with mean and covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    /// n means.
    pub mean: DVector<f64>,
    /// n x n.
    pub covariance: DMatrix<f64>,
}

/// One step: how the states moved since the last, and what was seen then.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// F, n x n.
    pub transition: DMatrix<f64>,
    /// Q, n x n, symmetric and not negative. A state is set free by adding to its variance here.
    pub noise: DMatrix<f64>,
    /// b, n.
    pub shift: DVector<f64>,
    /// H, m x n; m may be 0 when nothing was seen.
    pub rows: DMatrix<f64>,
    /// z, m.
    pub values: DVector<f64>,
    /// R, m x m, positive.
    pub rows_noise: DMatrix<f64>,
}

impl Belief {
    /// The belief one step on, before anything is seen.
    pub fn moved(&self, step: &Step) -> Self {
        let f = &step.transition;
        Self {
            mean: f * &self.mean + &step.shift,
            covariance: symmetric(f * &self.covariance * f.transpose() + &step.noise),
        }
    }
}

/// The symmetric part, against rounding.
pub(crate) fn symmetric(m: DMatrix<f64>) -> DMatrix<f64> {
    (&m + m.transpose()) * 0.5
}

#[cfg(test)]
mod tests;
