//! What a cut's readings say by themselves, so that many cuts can be joined without counting any belief twice.
//!
//! Each cut is fitted with what was expected before it; after a correction that already holds what earlier cuts
//! taught. To follow a machine over the months the readings' own share is needed: rows G and values g with
//! G phi = g + noise of variance 1, G'G being the information of the readings, linearised at that cut's estimate.

use crate::machine::Unknown;
use nalgebra::{DMatrix, DVector, SymmetricEigen};
use serde::{Deserialize, Serialize};

/// Directions in which the readings shrink the variance of what was expected by less than about this share are left
/// out: they say nothing, and rounding would speak in their place.
const SILENT: f64 = 1e-6;

/// What a parameter of a cut's fit stands for, by name, so that it can be met again in another cut.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Subject {
    /// An unknown of the machine.
    Unknown(Unknown),
    /// Scale error of the instrument of that name, mm/m.
    Scale(String),
    /// Zero error of the instrument of that name, mm.
    Zero(String),
}

/// What the readings of one cut say of its parameters.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Knowledge {
    /// The parameters, one a column.
    pub of: Vec<Subject>,
    /// G, row by row.
    pub rows: Vec<Vec<f64>>,
    /// g, one a row.
    pub values: Vec<f64>,
    /// What was expected of each parameter before this cut.
    pub expected: Vec<f64>,
    /// Covariance of that, row by row.
    pub expected_covariance: Vec<Vec<f64>>,
}

impl Knowledge {
    /// From a fit: its estimate phi, the information A'A of its readings, the gradient of the priors in use at phi
    /// (W'W (phi - prior)), and a root L of the covariance L L' of what was expected, which sets the scale.
    ///
    /// At the solution the readings pull against the priors, so A'A phi_r = A'A phi + W'W (phi - prior) for the
    /// phi_r that the readings alone would choose. With L'A'A L = V diag(lambda) V', G = diag(sqrt lambda) V' L^-1 and
    /// g = G phi + diag(1/sqrt lambda) V'L' W'W (phi - prior).
    pub fn of_fit(
        of: Vec<Subject>,
        phi: &DVector<f64>,
        information: &DMatrix<f64>,
        prior_gradient: &DVector<f64>,
        root: &DMatrix<f64>,
        expected: Vec<f64>,
    ) -> Self {
        // With every parameter held fixed the readings teach nothing.
        if of.is_empty() {
            return Self::default();
        }
        let scaled = root.transpose() * information * root;
        let eigen = SymmetricEigen::new(scaled);
        let pull = root.transpose() * prior_gradient;
        let mut knowledge = Self {
            of,
            expected,
            expected_covariance: by_rows(&(root * root.transpose())),
            ..Self::default()
        };
        let transposed = root.transpose();
        for (k, &lambda) in eigen.eigenvalues.iter().enumerate() {
            let direction = eigen.eigenvectors.column(k).into_owned();
            if lambda <= SILENT {
                continue;
            }
            // V' L^-1, by solving L' x = v.
            let Some(row) = transposed.solve_upper_triangular(&direction) else { continue };
            let row = row * lambda.sqrt();
            knowledge.values.push(row.dot(phi) + direction.dot(&pull) / lambda.sqrt());
            knowledge.rows.push(row.iter().copied().collect());
        }
        knowledge
    }
}

/// A matrix as its rows.
fn by_rows(matrix: &DMatrix<f64>) -> Vec<Vec<f64>> {
    matrix.row_iter().map(|row| row.iter().copied().collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_and_expectations_together_give_the_fit_again() {
        // Two parameters, three readings y = A phi with variance 1, prior (1, 2) with variances 4 and 1/4.
        let a = DMatrix::from_row_slice(3, 2, &[1.0, 0.5, 0.2, -1.0, 2.0, 2.0]);
        let y = DVector::from_column_slice(&[1.0, -2.0, 0.5]);
        let prior = DVector::from_column_slice(&[1.0, 2.0]);
        let weight = DMatrix::from_diagonal(&DVector::from_column_slice(&[0.25, 4.0]));
        let root = DMatrix::from_diagonal(&DVector::from_column_slice(&[2.0, 0.5]));
        let information = a.transpose() * &a;
        let normal = &information + &weight;
        let phi = normal.clone().cholesky().unwrap().solve(&(a.transpose() * &y + &weight * &prior));
        let gradient = &weight * (&phi - &prior);
        let subjects = vec![Subject::Unknown(Unknown::Spacing), Subject::Scale("tape".to_owned())];
        let k = Knowledge::of_fit(subjects, &phi, &information, &gradient, &root, vec![1.0, 2.0]);
        let g = DMatrix::from_fn(2, 2, |i, j| k.rows[i][j]);
        let values = DVector::from_column_slice(&k.values);
        assert!((g.transpose() * &g - &information).amax() < 1e-12);
        // A'y, the readings' own say.
        assert!((g.transpose() * values - a.transpose() * y).amax() < 1e-12);
    }
}
