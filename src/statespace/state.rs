//! A state and how well it is known.

use super::step::Fault;
use super::triangle::root_of;
use nalgebra::{DMatrix, DVector};

/// A correlation may be this far below what a covariance allows: rounding of the caller's.
const ROUNDING: f64 = 1e-9;

/// Mean of a state, and the root of its covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Mean, n, in the states' units.
    pub mean: DVector<f64>,
    /// S, n x n, with covariance S'S.
    pub(super) root: DMatrix<f64>,
}

impl State {
    /// A state of known mean (n) and covariance (n x n, any covariance, singular too).
    ///
    /// # Errors
    /// When the shapes differ, a number is not finite, or it is no covariance.
    pub fn new(mean: DVector<f64>, covariance: &DMatrix<f64>) -> Result<Self, Fault> {
        let n = mean.len();
        let root = root_of_covariance(0, "covariance of the initial state", covariance, n)?;
        if mean.iter().any(|x| !x.is_finite()) {
            return Err(Fault::NotFinite { step: 0, what: "mean of the initial state" });
        }
        Ok(Self { mean, root })
    }

    /// States that are independent of each other, from their means and standard deviations (nought: known for certain).
    ///
    /// # Errors
    /// As [`State::new`].
    pub fn independent(mean: DVector<f64>, u: &DVector<f64>) -> Result<Self, Fault> {
        Self::new(mean, &DMatrix::from_diagonal(&u.map(|u| u * u)))
    }

    /// Covariance, n x n.
    pub fn covariance(&self) -> DMatrix<f64> {
        gram(&self.root)
    }

    /// Standard uncertainty of one state.
    pub fn u(&self, state: usize) -> f64 {
        self.root.column(state).norm()
    }

    /// Value and standard uncertainty of a combination of states, h'x.
    pub fn along(&self, row: &DVector<f64>) -> (f64, f64) {
        (row.dot(&self.mean), (&self.root * row).norm())
    }
}

/// A'A, symmetric to the last bit.
pub(super) fn gram(a: &DMatrix<f64>) -> DMatrix<f64> {
    let mut product = a.tr_mul(a);
    product.fill_lower_triangle_with_upper_triangle();
    product
}

/// A root S of an n x n covariance C = S'S.
///
/// C is brought to correlations first, so that states of very different size each keep their digits.
pub(super) fn root_of_covariance(
    step: usize,
    what: &'static str,
    covariance: &DMatrix<f64>,
    n: usize,
) -> Result<DMatrix<f64>, Fault> {
    if covariance.shape() != (n, n) {
        return Err(Fault::Shape { step, what, found: covariance.shape(), expected: (n, n) });
    }
    if covariance.iter().any(|c| !c.is_finite()) {
        return Err(Fault::NotFinite { step, what });
    }
    let no_covariance = Fault::NoCovariance { step, what };
    if covariance.diagonal().iter().any(|d| *d < 0.0) {
        return Err(no_covariance);
    }
    let u = covariance.diagonal().map(f64::sqrt);
    let mut diagonal = true;
    let mut correlation = DMatrix::identity(n, n);
    for i in 0..n {
        for j in 0..i {
            let (below, above) = (covariance[(i, j)], covariance[(j, i)]);
            if below == 0.0 && above == 0.0 {
                continue;
            }
            diagonal = false;
            let size = u[i] * u[j];
            if size == 0.0 || (below - above).abs() > ROUNDING * size {
                return Err(no_covariance);
            }
            correlation[(i, j)] = 0.5 * (below + above) / size;
            correlation[(j, i)] = correlation[(i, j)];
        }
    }
    if diagonal {
        return Ok(DMatrix::from_diagonal(&u));
    }
    let eigen = correlation.symmetric_eigen();
    if eigen.eigenvalues.iter().any(|v| *v < -ROUNDING * n as f64) {
        return Err(no_covariance);
    }
    let mut root = eigen.eigenvectors.transpose();
    for (mut row, value) in root.row_iter_mut().zip(eigen.eigenvalues.iter()) {
        row *= value.max(0.0).sqrt();
    }
    for (mut column, u) in root.column_iter_mut().zip(u.iter()) {
        column *= *u;
    }
    Ok(root_of(root))
}
