//! The way from one look to the next, and the look at its end.

use super::state::root_of_covariance;
use nalgebra::{DMatrix, DVector};
use std::fmt;

/// One step: see the table in [`crate::statespace`] for shapes and units.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// F, n x n.
    pub transition: DMatrix<f64>,
    /// Q, n x n: covariance of what is added at random on the way.
    pub noise: DMatrix<f64>,
    /// b, n: what is known to be added on the way.
    pub shift: DVector<f64>,
    /// H, m x n.
    pub rows: DMatrix<f64>,
    /// z, m.
    pub values: DVector<f64>,
    /// R, m x m.
    pub rows_noise: DMatrix<f64>,
}

impl Step {
    /// Nothing changes and nothing is looked at: F = 1, Q = 0, b = 0, m = 0.
    pub fn still(n: usize) -> Self {
        Self {
            transition: DMatrix::identity(n, n),
            noise: DMatrix::zeros(n, n),
            shift: DVector::zeros(n),
            rows: DMatrix::zeros(0, n),
            values: DVector::zeros(0),
            rows_noise: DMatrix::zeros(0, 0),
        }
    }

    /// One state wanders: `variance` is added to its own, in the square of its unit.
    #[must_use]
    pub fn wandering(mut self, state: usize, variance: f64) -> Self {
        self.noise[(state, state)] += variance;
        self
    }

    /// One state changes by a known amount, in its unit.
    #[must_use]
    pub fn shifted(mut self, state: usize, by: f64) -> Self {
        self.shift[state] += by;
        self
    }

    /// One state is forgotten and begins anew with this mean and variance, whatever it was: a part was replaced.
    /// Its part in the transition of other states stays.
    #[must_use]
    pub fn anew(mut self, state: usize, mean: f64, variance: f64) -> Self {
        self.transition.row_mut(state).fill(0.0);
        self.shift[state] = mean;
        self.noise.row_mut(state).fill(0.0);
        self.noise.column_mut(state).fill(0.0);
        self.noise[(state, state)] = variance;
        self
    }

    /// A look at the end of the step: rows H (m x n) and values z (m), whitened: their noise has the identity for covariance.
    #[must_use]
    pub fn seeing(self, rows: DMatrix<f64>, values: DVector<f64>) -> Self {
        let m = values.len();
        self.seeing_with(rows, values, DMatrix::identity(m, m))
    }

    /// A look at the end of the step, with the covariance R (m x m) of its noise.
    #[must_use]
    pub fn seeing_with(mut self, rows: DMatrix<f64>, values: DVector<f64>, noise: DMatrix<f64>) -> Self {
        self.rows = rows;
        self.values = values;
        self.rows_noise = noise;
        self
    }

    /// Checks shapes and numbers, and gives the roots of Q and R.
    pub(super) fn roots(&self, step: usize, n: usize) -> Result<(DMatrix<f64>, DMatrix<f64>), Fault> {
        let m = self.values.len();
        let shapes = [
            ("transition", self.transition.shape(), (n, n)),
            ("shift", self.shift.shape(), (n, 1)),
            ("rows", self.rows.shape(), (m, n)),
        ];
        for (what, found, expected) in shapes {
            if found != expected {
                return Err(Fault::Shape { step, what, found, expected });
            }
        }
        let finite = |numbers: &[f64]| numbers.iter().all(|x| x.is_finite());
        let numbers = [
            ("transition", self.transition.as_slice()),
            ("shift", self.shift.as_slice()),
            ("rows", self.rows.as_slice()),
            ("values", self.values.as_slice()),
        ];
        if let Some((what, _)) = numbers.iter().find(|(_, numbers)| !finite(numbers)) {
            return Err(Fault::NotFinite { step, what });
        }
        Ok((
            root_of_covariance(step, "noise", &self.noise, n)?,
            root_of_covariance(step, "rows_noise", &self.rows_noise, m)?,
        ))
    }
}

/// Why there is no answer. Steps are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// A matrix or vector has not the shape that it should.
    Shape {
        /// Which step.
        step: usize,
        /// Which matrix.
        what: &'static str,
        /// Its rows and columns.
        found: (usize, usize),
        /// Those it should have.
        expected: (usize, usize),
    },
    /// A number is not finite.
    NotFinite {
        /// Which step.
        step: usize,
        /// Of which matrix.
        what: &'static str,
    },
    /// Not symmetric, or a variance below nought.
    NoCovariance {
        /// Which step.
        step: usize,
        /// Which matrix.
        what: &'static str,
    },
    /// An observation without noise of something that is known for certain.
    Certain {
        /// Which step.
        step: usize,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Shape { step, what, found, expected } => write!(
                f,
                "step {step}: {what} is {} x {}, expected {} x {}",
                found.0, found.1, expected.0, expected.1
            ),
            Self::NotFinite { step, what } => {
                write!(f, "step {step}: {what} holds a number that is not finite")
            }
            Self::NoCovariance { step, what } => write!(f, "step {step}: {what} is no covariance"),
            Self::Certain { step } => {
                write!(f, "step {step}: an observation without noise of what is known for certain")
            }
        }
    }
}

impl std::error::Error for Fault {}
