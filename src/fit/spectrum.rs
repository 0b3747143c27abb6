//! Rank, covariance and leverage, from a Jacobian.

use std::fmt;

use nalgebra::{DMatrix, DVector};

use super::qr::{PivotedQr, dot};

/// Singular values and right singular vectors of a Jacobian whose columns were scaled to unit length.
///
/// Scaling first makes the verdict on rank independent of the units of the unknowns, and comes within a
/// factor sqrt(n) of the best conditioning that any column scaling can give (van der Sluis, Numer. Math. 14
/// (1969) 14-23). J itself is factored, never J'J, whose condition number is the square.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    /// Norm of each column of J, length n; 0 for an unknown that no residual depends on.
    pub column_norms: DVector<f64>,
    /// Singular values of the scaled matrix, falling, length n; the largest is at most sqrt(n).
    pub singular_values: DVector<f64>,
    /// Right singular vectors of the scaled matrix, n x n, column k belonging to singular value k.
    pub v: DMatrix<f64>,
}

impl Spectrum {
    /// Singular values below this share of the largest count as nought when nothing better is known: well
    /// above the rounding of a Jacobian, well below any direction that readings determine in earnest.
    pub const TOLERANCE: f64 = 1e-10;

    /// Decomposes `jacobian` (m x n, any shape): pivoted QR, then one-sided Jacobi rotations on R.
    pub fn of(jacobian: &DMatrix<f64>) -> Self {
        let column_norms = DVector::from_fn(jacobian.ncols(), |j, _| jacobian.column(j).norm());
        let qr = PivotedQr::of(scaled(jacobian, &column_norms));
        let (singular_values, w) = jacobi(&qr.r());
        let mut v = DMatrix::zeros(w.nrows(), w.ncols());
        for (row, &pivot) in qr.pivots.iter().enumerate() {
            v.set_row(pivot, &w.row(row));
        }
        Self { column_norms, singular_values, v }
    }

    /// Number of singular values above `tolerance` times the largest.
    pub fn rank(&self, tolerance: f64) -> usize {
        let floor = self.singular_values.iter().fold(0.0, |a: f64, b| a.max(*b)) * tolerance;
        self.singular_values.iter().take_while(|s| **s > floor).count()
    }

    /// Largest over smallest singular value of the scaled matrix; infinite when the smallest is nought.
    pub fn condition(&self) -> f64 {
        match self.singular_values.as_slice() {
            [] => 1.0,
            [.., 0.0] => f64::INFINITY,
            [first, .., last] => first / last,
            [_] => 1.0,
        }
    }

    /// The directions in which the residuals do not change: unit vectors of length n in the unknowns as the
    /// caller has them (scaling undone), the least determined first. Empty at full rank.
    pub fn null_directions(&self, tolerance: f64) -> Vec<DVector<f64>> {
        (self.rank(tolerance)..self.singular_values.len())
            .rev()
            .map(|k| {
                let column = self.v.column(k);
                // A column of noughts is a null direction by itself; others carry no share of it.
                let direction =
                    DVector::from_fn(column.len(), |j, _| column[j] / unit_for_zero(self.column_norms[j]));
                direction.normalize()
            })
            .collect()
    }

    /// (J'J)^-1, n x n: the covariance of the unknowns when the residuals are whitened with true standard
    /// deviations. It is not rescaled by chi-square; a caller who wants that multiplies by S/(m - n).
    ///
    /// # Errors
    ///
    /// [`Undetermined`] when the rank at `tolerance` is below n.
    pub fn covariance(&self, tolerance: f64) -> Result<DMatrix<f64>, Undetermined> {
        let directions = self.null_directions(tolerance);
        if !directions.is_empty() {
            return Err(Undetermined { directions });
        }
        // J = U S V' D, hence (J'J)^-1 = W W' with W = D^-1 V S^-1.
        let w = DMatrix::from_fn(self.v.nrows(), self.v.ncols(), |j, k| {
            self.v[(j, k)] / (self.column_norms[j] * self.singular_values[k])
        });
        Ok(&w * w.transpose())
    }
}

/// The residuals leave some combinations of unknowns free, so that no covariance exists.
#[derive(Debug, Clone, PartialEq)]
pub struct Undetermined {
    /// Unit vectors in the unknowns along which nothing changes, the least determined first; at least one.
    pub directions: Vec<DVector<f64>>,
}

impl fmt::Display for Undetermined {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.directions.len() {
            1 => write!(f, "one combination of the unknowns is not determined"),
            count => write!(f, "{count} combinations of the unknowns are not determined"),
        }
    }
}

impl std::error::Error for Undetermined {}

/// Leverage h_i of each residual, length m: the diagonal of the projector onto the columns of `jacobian` (m x
/// n).
///
/// 0 <= h_i <= 1 and the h_i add up to the rank. The redundancy number of an observation is 1 - h_i, the
/// share of a slip in it that shows in its own residual; its standardised residual is r_i / sqrt(1 - h_i)
/// (Baarda, *A Testing Procedure for Use in Geodetic Networks*, 1968). Dependent columns are left out at
/// rounding level.
pub fn leverages(jacobian: &DMatrix<f64>) -> DVector<f64> {
    let column_norms = DVector::from_fn(jacobian.ncols(), |j, _| jacobian.column(j).norm());
    let qr = PivotedQr::of(scaled(jacobian, &column_norms));
    let rank = qr.rank(jacobian.nrows().max(jacobian.ncols()) as f64 * f64::EPSILON);
    let q = qr.basis(rank);
    DVector::from_fn(jacobian.nrows(), |i, _| q.row(i).norm_squared().min(1.0))
}

fn scaled(jacobian: &DMatrix<f64>, column_norms: &DVector<f64>) -> DMatrix<f64> {
    let mut scaled = jacobian.clone();
    for (mut column, norm) in scaled.column_iter_mut().zip(column_norms.iter()) {
        column /= unit_for_zero(*norm);
    }
    scaled
}

fn unit_for_zero(norm: f64) -> f64 {
    if norm > 0.0 { norm } else { 1.0 }
}

/// Singular values, falling, and right singular vectors of an upper triangle `r` with falling diagonal.
///
/// One-sided Jacobi (Hestenes 1958; Demmel and Veselić 1992, algorithm 4.1) on the columns of R': pairs are
/// rotated until all are orthogonal, |a_p' a_q| <= n eps |a_p| |a_q|. The column norms are then the singular
/// values and the columns, made unit vectors, the right singular vectors of R. The transpose converges faster
/// than R itself (Drmač and Veselić, SIAM J. Matrix Anal. Appl. 29 (2008) 1322-1342) and spares the product
/// of the rotations.
fn jacobi(r: &DMatrix<f64>) -> (DVector<f64>, DMatrix<f64>) {
    let n = r.ncols();
    let mut a = r.transpose();
    let orthogonal = n as f64 * f64::EPSILON;
    // Quadratic convergence: about ten sweeps at most in practice, the limit only guards against cycling.
    for _ in 0..60 {
        let mut squares: Vec<f64> = a.column_iter().map(|column| column.norm_squared()).collect();
        let mut turned = false;
        for p in 0..n {
            for q in p + 1..n {
                turned |= orthogonalise(&mut a, &mut squares, p, q, orthogonal);
            }
        }
        if !turned {
            break;
        }
    }
    let norms: Vec<f64> = a.column_iter().map(|column| column.norm()).collect();
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&i, &j| norms[j].total_cmp(&norms[i]));
    let singular_values = DVector::from_fn(n, |k, _| norms[order[k]]);
    let mut v = a.select_columns(&order);
    // Columns that are nothing but rounding have no direction of their own: they get what the others leave.
    let floor = singular_values.iter().next().map_or(0.0, |first| first * orthogonal);
    let rank = singular_values.iter().take_while(|s| **s > floor).count();
    for (mut column, norm) in v.column_iter_mut().zip(singular_values.iter()).take(rank) {
        column /= *norm;
    }
    let complement = PivotedQr::of(v.columns(0, rank).clone_owned());
    for k in rank..n {
        v.set_column(k, &complement.q(DVector::from_fn(n, |i, _| if i == k { 1.0 } else { 0.0 })));
    }
    (singular_values, v)
}

/// Rotates columns p < q of `a` until a_p' a_q = 0 and keeps their squared norms up to date; false if they
/// were orthogonal already.
fn orthogonalise(a: &mut DMatrix<f64>, squares: &mut [f64], p: usize, q: usize, orthogonal: f64) -> bool {
    let m = a.nrows();
    let (left, right) = a.as_mut_slice().split_at_mut(q * m);
    let (a_p, a_q) = (&mut left[p * m..(p + 1) * m], &mut right[..m]);
    let product = dot(a_p, a_q);
    if product.abs() <= orthogonal * (squares[p] * squares[q]).sqrt() {
        return false;
    }
    let zeta = (squares[q] - squares[p]) / (2.0 * product);
    let t = zeta.signum() / (zeta.abs() + zeta.hypot(1.0));
    let c = 1.0 / t.hypot(1.0);
    let s = c * t;
    for (x, y) in a_p.iter_mut().zip(a_q) {
        (*x, *y) = (c * *x - s * *y, s * *x + c * *y);
    }
    squares[p] = (squares[p] - t * product).max(0.0);
    squares[q] += t * product;
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reproducible, structureless numbers between -1 and 1.
    fn scatter(m: usize, n: usize) -> DMatrix<f64> {
        DMatrix::from_fn(m, n, |i, j| (((i * n + j + 1) as f64).sin() * 43_758.545_3).fract())
    }

    fn assert_close(a: &DMatrix<f64>, b: &DMatrix<f64>, tolerance: f64) {
        assert!((a - b).amax() <= tolerance * b.amax(), "{a}{b}");
    }

    #[test]
    fn singular_values_and_vectors_rebuild_the_normal_matrix() {
        for (m, n) in [(7, 4), (4, 4), (3, 5), (40, 12), (1, 1)] {
            let j = scatter(m, n);
            let spectrum = Spectrum::of(&j);
            let d = DMatrix::from_diagonal(&spectrum.column_norms);
            let sv = DMatrix::from_diagonal(&spectrum.singular_values) * spectrum.v.transpose() * d;
            assert_close(&(sv.transpose() * sv), &(j.transpose() * &j), 1e-14 * n as f64);
            assert_close(&(spectrum.v.transpose() * &spectrum.v), &DMatrix::identity(n, n), 1e-14 * n as f64);
            assert_eq!(spectrum.rank(1e-12), m.min(n));
        }
    }

    /// One column a mix of two others, in units that differ by ten powers of ten, and one that no residual
    /// sees.
    #[test]
    fn null_directions_name_the_combinations_that_nothing_determines() {
        let mut j = scatter(20, 6);
        let mix = 3.0 * j.column(0) - 0.5 * j.column(1);
        j.set_column(3, &(1e10 * mix));
        j.set_column(5, &DVector::zeros(20));
        let spectrum = Spectrum::of(&j);
        assert_eq!(spectrum.rank(Spectrum::TOLERANCE), 4);
        let Err(undetermined) = spectrum.covariance(Spectrum::TOLERANCE) else {
            panic!("there is no covariance")
        };
        assert_eq!(undetermined.directions.len(), 2);
        // Moving (3, -1/2) in the first two is undone by -1e-10 in the fourth.
        let expected = DVector::from_vec(vec![3.0, -0.5, 0.0, -1e-10, 0.0, 0.0]).normalize();
        let unseen = DVector::from_vec(vec![0.0, 0.0, 0.0, 0.0, 0.0, 1.0]);
        for direction in [expected, unseen] {
            let share: f64 = undetermined.directions.iter().map(|d| d.dot(&direction).powi(2)).sum();
            assert!((share - 1.0).abs() < 1e-12, "{direction} {share}");
        }
    }

    /// Straight line through t = 0, 1, 2, 3 with unit sigmas: textbook covariance and leverages.
    #[test]
    fn covariance_and_leverages_of_a_straight_line() {
        let j = DMatrix::from_row_slice(4, 2, &[1.0, 0.0, 1.0, 1.0, 1.0, 2.0, 1.0, 3.0]);
        let covariance = Spectrum::of(&j).covariance(1e-12).unwrap();
        // (J'J)^-1 = [4 6; 6 14]^-1 = [14 -6; -6 4]/20; h_i = 1/4 + (t_i - 1.5)^2/5.
        assert_close(&covariance, &DMatrix::from_row_slice(2, 2, &[0.7, -0.3, -0.3, 0.2]), 1e-14);
        let expected = DMatrix::from_column_slice(4, 1, &[0.7, 0.3, 0.3, 0.7]);
        assert_close(&DMatrix::from_columns(&[leverages(&j)]), &expected, 1e-14);
        let repeated = DMatrix::from_columns(&[j.column(0), j.column(1), j.column(1)]);
        assert_close(&DMatrix::from_columns(&[leverages(&repeated)]), &expected, 1e-14);
    }
}
