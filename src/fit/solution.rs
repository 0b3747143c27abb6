//! What the solver is told and what it answers.

use nalgebra::{DMatrix, DVector};

/// When to stop. Every tolerance is free of scale: units of x and the size of r do not matter.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Iterations (accepted steps) before [`Stop::OutOfPatience`].
    pub max_iterations: usize,
    /// [`Stop::SmallGradient`] when |Q1' r| <= `offset` |r|, Q1 an orthonormal basis of the columns of J. The
    /// next step would then move no unknown by more than `offset` sqrt(m - n) of its own standard
    /// uncertainty, as rescaled by the residuals (Bates and Watts 1981).
    pub offset: f64,
    /// [`Stop::SmallStep`] when the Gauss-Newton step has |D p| <= `step` |D x|.
    pub step: f64,
    /// [`Stop::SmallReduction`] becomes possible when the promised fall of S is below `reduction` S, or below
    /// what rounding of x makes, 2 eps |r| | |J| |x| |. The true fall cannot be seen then; Gauss-Newton steps
    /// go on only while each is shorter than 0.9 of the one before.
    pub reduction: f64,
    /// The first step is no longer than `first_step` |D x|. It is not bounded when x is nought.
    pub first_step: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self { max_iterations: 500, offset: 1e-10, step: 1e-14, reduction: 1e-12, first_step: 10.0 }
    }
}

/// Why the solver stopped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stop {
    /// The residuals are orthogonal to the columns of J, see [`Options::offset`].
    SmallGradient,
    /// The next step is too short to matter, see [`Options::step`].
    SmallStep,
    /// S cannot be lowered further in double precision, see [`Options::reduction`].
    SmallReduction,
    /// The residuals are no larger than what rounding of x makes in them: |r| <= eps | |J| |x| |.
    ExactFit,
    /// [`Options::max_iterations`] reached: not a minimum.
    OutOfPatience,
    /// No step along the promised direction lowers S: a wrong Jacobian, or a model that is not smooth.
    NoProgress,
    /// The model has no value at the start, with its reason.
    StartOutOfDomain(String),
}

impl Stop {
    /// Whether a stationary point was reached. It is a local minimum as a rule; nothing proves it the lowest.
    pub fn converged(&self) -> bool {
        matches!(self, Self::SmallGradient | Self::SmallStep | Self::SmallReduction | Self::ExactFit)
    }
}

/// The point where the solver stopped, and why. Read [`Solution::stop`] first.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Unknowns, length n.
    pub x: DVector<f64>,
    /// Whitened residuals at x, length m; empty if the start was out of the domain.
    pub residuals: DVector<f64>,
    /// dr/dx at x, m x n; without rows if the start was out of the domain.
    pub jacobian: DMatrix<f64>,
    /// S(x) = |r(x)|^2. Infinite if the start was out of the domain.
    pub sum_of_squares: f64,
    /// Accepted steps.
    pub iterations: usize,
    /// Calls of the problem, refused steps included.
    pub evaluations: usize,
    /// Why the solver stopped.
    pub stop: Stop,
}
