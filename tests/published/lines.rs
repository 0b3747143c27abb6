//! Straight lines as problems for `fit`: uncertainty in y alone, or in both coordinates.

use nalgebra::{DMatrix, DVector};
use tautgrid::fit::{self, Evaluation, Options, OutOfDomain, Problem, Spectrum};

/// A straight line with uncertainty in x too. Unknowns: a, b, then the true x of every point.
pub struct BothUncertain {
    pub x: Vec<f64>,
    pub y: Vec<f64>,
    pub u_x: Vec<f64>,
    pub u_y: Vec<f64>,
}

impl Problem for BothUncertain {
    fn unknowns(&self) -> usize {
        2 + self.x.len()
    }

    fn evaluate(&self, p: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let n = self.x.len();
        let mut residuals = DVector::zeros(2 * n);
        let mut jacobian = DMatrix::zeros(2 * n, 2 + n);
        for i in 0..n {
            let x = p[2 + i];
            residuals[i] = (p[0] + p[1] * x - self.y[i]) / self.u_y[i];
            jacobian[(i, 0)] = 1.0 / self.u_y[i];
            jacobian[(i, 1)] = x / self.u_y[i];
            jacobian[(i, 2 + i)] = p[1] / self.u_y[i];
            residuals[n + i] = (x - self.x[i]) / self.u_x[i];
            jacobian[(n + i, 2 + i)] = 1.0 / self.u_x[i];
        }
        Ok(Evaluation { residuals, jacobian })
    }
}

/// Intercept and slope with their covariance, and the weighted sum of squares.
pub struct Answer {
    pub a: f64,
    pub b: f64,
    pub covariance: DMatrix<f64>,
    pub chi_square: f64,
}

impl Answer {
    pub fn u_a(&self) -> f64 {
        self.covariance[(0, 0)].sqrt()
    }

    pub fn u_b(&self) -> f64 {
        self.covariance[(1, 1)].sqrt()
    }

    /// Variance of the line at x.
    pub fn variance_at(&self, x: f64) -> f64 {
        let c = &self.covariance;
        c[(0, 0)] + 2.0 * x * c[(0, 1)] + x * x * c[(1, 1)]
    }

    /// As if the stated uncertainties were right only up to a common factor.
    pub fn rescaled(mut self, dof: f64) -> Self {
        self.covariance *= self.chi_square / dof;
        self
    }
}

/// Solved by the solver that the product runs.
pub fn solved(problem: &impl Problem, start: DVector<f64>) -> Answer {
    let solution = fit::solve(problem, &start, &Options::default());
    assert!(solution.stop.converged(), "{:?}", solution.stop);
    Answer {
        a: solution.x[0],
        b: solution.x[1],
        covariance: Spectrum::of(&solution.jacobian).covariance(Spectrum::TOLERANCE).unwrap(),
        chi_square: solution.sum_of_squares,
    }
}
