//! The step of one iteration: Gauss-Newton, or the damped step of a given length.

use nalgebra::{DMatrix, DVector};

use super::qr::PivotedQr;

/// The linear model r + J p of one iteration, in scaled unknowns y = D p, factored once.
pub(super) struct LinearModel {
    r: DMatrix<f64>,
    /// First n elements of Q' r.
    target: DVector<f64>,
    pivots: Vec<usize>,
    /// Independent columns, to rounding error.
    rank: usize,
    scale: DVector<f64>,
}

/// A proposed step and what the linear model promises of it.
pub(super) struct Step {
    /// p, to be added to x.
    pub p: DVector<f64>,
    /// |D p|.
    pub length: f64,
    /// |J p|^2.
    pub change: f64,
    /// lambda |D p|^2; 0 for an undamped step.
    pub damped: f64,
}

impl Step {
    /// By how much the linear model says that S falls (Moré 1978, equation 4.4).
    pub fn predicted(&self) -> f64 {
        self.change + 2.0 * self.damped
    }
}

impl LinearModel {
    /// Factors J D^-1.
    pub fn of(jacobian: &DMatrix<f64>, residuals: &DVector<f64>, scale: &DVector<f64>) -> Self {
        let mut scaled = jacobian.clone();
        for (mut column, scale) in scaled.column_iter_mut().zip(scale.iter()) {
            column /= *scale;
        }
        let (m, n) = scaled.shape();
        let qr = PivotedQr::of(scaled);
        Self {
            r: qr.r(),
            target: qr.first_of_qt(residuals),
            rank: qr.rank(m.max(n) as f64 * f64::EPSILON),
            pivots: qr.pivots,
            scale: scale.clone(),
        }
    }

    /// |Q1' r|, the length of the part of r that the linear model can remove.
    pub fn removable(&self) -> f64 {
        self.target.rows(0, self.rank).norm()
    }

    /// The Gauss-Newton step; unknowns that the model does not determine stay where they are.
    pub fn gauss_newton(&self) -> Step {
        let mut y = DVector::zeros(self.target.len());
        y.rows_mut(0, self.rank).copy_from(&self.target.rows(0, self.rank));
        back_substitute(&self.r, self.rank, &mut y);
        self.step(&y, 0.0)
    }

    /// The step with | |D p| - radius | <= radius/10, for a radius shorter than the Gauss-Newton step.
    ///
    /// Newton's method on 1/|y(lambda)| between safe bounds, which rises monotonically and needs two or three
    /// trials (Moré 1978, section 5; Nocedal and Wright 2006, section 4.3).
    pub fn within(&self, radius: f64) -> Step {
        let mut low = 0.0;
        let mut high = self.r.tr_mul(&self.target).norm() / radius;
        let mut lambda = 1e-3 * high;
        let mut y = DVector::zeros(self.target.len());
        for _ in 0..30 {
            let (damped_r, solution) = self.damped(lambda);
            y = solution;
            let length = y.norm();
            let excess = length - radius;
            if excess.abs() <= 0.1 * radius {
                break;
            }
            // d|y|/d lambda = - |R^-T y|^2 / |y| with R of the damped system.
            let mut u = y.clone();
            forward_substitute(&damped_r, &mut u);
            let newton = lambda + excess / radius * (length / u.norm()).powi(2);
            if excess > 0.0 {
                low = lambda
            } else {
                high = lambda
            }
            lambda = if newton > low && newton < high {
                newton
            } else {
                f64::max(1e-3 * high, (low * high).sqrt())
            };
        }
        self.step(&y, lambda)
    }

    /// Factors [R; sqrt(lambda) I] by Householder reflections and solves for y. The lower block stays upper
    /// triangular on the way, so column j only touches row j above and rows 0..=j below.
    fn damped(&self, lambda: f64) -> (DMatrix<f64>, DVector<f64>) {
        let n = self.target.len();
        let (mut r, mut y) = (self.r.clone(), self.target.clone());
        let mut below = DMatrix::from_diagonal_element(n, n, lambda.sqrt());
        let mut y_below = DVector::<f64>::zeros(n);
        for j in 0..n {
            let v = below.column(j).rows(0, j + 1).clone_owned();
            let norm = r[(j, j)].hypot(v.norm());
            if norm == 0.0 {
                continue;
            }
            let diagonal = -norm.copysign(r[(j, j)]);
            let head = r[(j, j)] - diagonal;
            let beta = 1.0 / (norm * (norm + r[(j, j)].abs()));
            r[(j, j)] = diagonal;
            for k in j + 1..n {
                let mut column = below.column_mut(k);
                let mut column = column.rows_mut(0, j + 1);
                let factor = beta * (head * r[(j, k)] + v.dot(&column));
                r[(j, k)] -= factor * head;
                column.axpy(-factor, &v, 1.0);
            }
            let mut lower = y_below.rows_mut(0, j + 1);
            let factor = beta * (head * y[j] + v.dot(&lower));
            y[j] -= factor * head;
            lower.axpy(-factor, &v, 1.0);
        }
        back_substitute(&r, n, &mut y);
        (r, y)
    }

    /// From y in pivoted, scaled unknowns with r = Q R y to the step p that removes it.
    fn step(&self, y: &DVector<f64>, lambda: f64) -> Step {
        let mut p = DVector::zeros(y.len());
        for (&pivot, y) in self.pivots.iter().zip(y.iter()) {
            p[pivot] = -y / self.scale[pivot];
        }
        let length = y.norm();
        Step { p, length, change: (&self.r * y).norm_squared(), damped: lambda * length * length }
    }
}

/// Solves R z = y for the leading `rank` unknowns, in place.
fn back_substitute(r: &DMatrix<f64>, rank: usize, y: &mut DVector<f64>) {
    for j in (0..rank).rev() {
        y[j] /= r[(j, j)];
        let factor = -y[j];
        y.rows_mut(0, j).axpy(factor, &r.column(j).rows(0, j), 1.0);
    }
}

/// Solves R' z = u, in place.
fn forward_substitute(r: &DMatrix<f64>, u: &mut DVector<f64>) {
    for j in 0..u.len() {
        u[j] = (u[j] - r.column(j).rows(0, j).dot(&u.rows(0, j))) / r[(j, j)];
    }
}
