//! A straight line through points whose heights are uncertain: y = a + b x.

use super::problem::{Evaluation, OutOfDomain, Problem};
use super::{Options, Spectrum, solve};
use nalgebra::{DMatrix, DVector};

/// Points with a standard uncertainty for each y, as a problem with the unknowns a, b.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line {
    /// Where.
    pub x: Vec<f64>,
    /// Heights.
    pub y: Vec<f64>,
    /// Standard uncertainty of each height.
    pub u: Vec<f64>,
}

impl Problem for Line {
    fn unknowns(&self) -> usize {
        2
    }

    fn evaluate(&self, p: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let n = self.x.len();
        Ok(Evaluation {
            residuals: DVector::from_fn(n, |i, _| (p[0] + p[1] * self.x[i] - self.y[i]) / self.u[i]),
            jacobian: DMatrix::from_fn(n, 2, |i, j| if j == 0 { 1.0 } else { self.x[i] } / self.u[i]),
        })
    }
}

/// The line that fits best, with the uncertainties as they were stated (not rescaled).
#[derive(Debug, Clone, PartialEq)]
pub struct FittedLine {
    /// Height at x = 0.
    pub a: f64,
    /// Slope.
    pub b: f64,
    /// Covariance of a and b, 2 x 2.
    pub covariance: DMatrix<f64>,
    /// Weighted sum of squares.
    pub chi_square: f64,
}

impl Line {
    /// The best line; `None` where the points determine none.
    pub fn fitted(&self) -> Option<FittedLine> {
        let solution = solve(self, &DVector::zeros(2), &Options::default());
        let covariance = Spectrum::of(&solution.jacobian).covariance(Spectrum::TOLERANCE).ok()?;
        solution.stop.converged().then(|| FittedLine {
            a: solution.x[0],
            b: solution.x[1],
            covariance,
            chi_square: solution.sum_of_squares,
        })
    }
}

impl FittedLine {
    /// Standard uncertainty of a.
    pub fn u_a(&self) -> f64 {
        self.covariance[(0, 0)].sqrt()
    }

    /// Standard uncertainty of b.
    pub fn u_b(&self) -> f64 {
        self.covariance[(1, 1)].sqrt()
    }
}
