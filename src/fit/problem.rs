//! What a caller writes: residuals and their Jacobian.

use std::fmt;

use nalgebra::{DMatrix, DVector};

/// A least-squares problem: whitened residuals r(x) and their derivatives.
///
/// # Example
///
/// A straight line a + b t through three points, each known to 0.1:
///
/// ```
/// use nalgebra::{DMatrix, DVector};
/// use tautgrid::fit::{self, Evaluation, Options, OutOfDomain, Problem};
///
/// struct Line;
///
/// impl Problem for Line {
///     fn unknowns(&self) -> usize {
///         2
///     }
///     fn evaluate(&self, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
///         let (t, y, sigma) = ([0.0, 1.0, 2.0], [1.0, 3.0, 5.0], 0.1);
///         Ok(Evaluation {
///             residuals: DVector::from_fn(3, |i, _| (x[0] + x[1] * t[i] - y[i]) / sigma),
///             jacobian: DMatrix::from_fn(3, 2, |i, j| if j == 0 { 1.0 } else { t[i] } / sigma),
///         })
///     }
/// }
///
/// let solution = fit::solve(&Line, &DVector::zeros(2), &Options::default());
/// assert!(solution.stop.converged());
/// assert!((solution.x[0] - 1.0).abs() < 1e-12 && (solution.x[1] - 2.0).abs() < 1e-12);
/// ```
pub trait Problem {
    /// Number of unknowns n.
    fn unknowns(&self) -> usize;

    /// Whitened residuals r(x) (length m) and their Jacobian dr/dx (m x n) at `x` (length n).
    ///
    /// m may be smaller than n: the damped step is still defined. m must not change from one x to the next.
    ///
    /// # Errors
    ///
    /// [`OutOfDomain`] where the model has no value; the solver then shortens its step. Residuals or
    /// derivatives that are not finite are taken for the same thing.
    fn evaluate(&self, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain>;

    /// The residuals alone, for trial steps that may be refused. Override where that is cheaper.
    ///
    /// # Errors
    ///
    /// As [`Problem::evaluate`].
    fn residuals(&self, x: &DVector<f64>) -> Result<DVector<f64>, OutOfDomain> {
        self.evaluate(x).map(|evaluation| evaluation.residuals)
    }
}

/// Residuals and their Jacobian at one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluation {
    /// Whitened residuals r(x), length m.
    pub residuals: DVector<f64>,
    /// dr/dx, m x n.
    pub jacobian: DMatrix<f64>,
}

/// The model has no value at the point asked for. Carries the reason, as words for a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutOfDomain(pub String);

impl fmt::Display for OutOfDomain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for OutOfDomain {}
