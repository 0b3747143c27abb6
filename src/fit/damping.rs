//! The step of one iteration: Gauss-Newton, or the damped step of a given length.

use nalgebra::{DMatrix, DVector};

use super::problem::Evaluation;
use super::qr::PivotedQr;
use super::refinement;

/// The linear model r + J p of one iteration, in scaled unknowns y = D p, factored once.
pub(super) struct LinearModel<'a> {
    at: &'a Evaluation,
    /// Diagonal of D.
    scale: &'a DVector<f64>,
    /// J D^-1 P = Q R.
    qr: PivotedQr,
    r: DMatrix<f64>,
    /// First n elements of Q' r.
    target: DVector<f64>,
    /// Independent columns, to rounding error.
    rank: usize,
}

/// A proposed step and what the linear model promises of it.
pub(super) struct Step {
    /// p, to be added to x.
    pub p: DVector<f64>,
    /// |D p|.
    pub length: f64,
    /// |J p|^2.
    pub change: f64,
    /// lambda; 0 for an undamped step.
    pub lambda: f64,
}

impl Step {
    /// By how much the linear model says that S falls (Moré 1978).
    pub fn predicted(&self) -> f64 {
        self.change + 2.0 * self.lambda * self.length * self.length
    }

    /// Half the slope of S along the step, downhill.
    pub fn half_slope(&self) -> f64 {
        self.change + self.lambda * self.length * self.length
    }
}

impl<'a> LinearModel<'a> {
    /// Factors J D^-1.
    pub fn of(at: &'a Evaluation, scale: &'a DVector<f64>) -> Self {
        let mut scaled = at.jacobian.clone();
        for (mut column, scale) in scaled.column_iter_mut().zip(scale.iter()) {
            column /= *scale;
        }
        let (m, n) = scaled.shape();
        let qr = PivotedQr::of(scaled);
        Self {
            at,
            scale,
            r: qr.r(),
            target: qr.first_of_qt(&at.residuals),
            rank: qr.rank(m.max(n) as f64 * f64::EPSILON),
            qr,
        }
    }

    /// |Q1' r|, the length of the part of r that the linear model can remove.
    pub fn removable(&self) -> f64 {
        self.target.rows(0, self.rank).norm()
    }

    /// The Gauss-Newton step; unknowns that the model does not determine stay where they are.
    ///
    /// Rounding in QR moves the step by about eps (kappa |Q1' r| + kappa^2 |Q2' r|), kappa the condition
    /// number (Björck 1996, chapter 2). Where that could cost more than the twelfth digit of `size_of_x` = |D
    /// x|, the step is refined.
    pub fn gauss_newton(&self, size_of_x: f64) -> Step {
        let n = self.target.len();
        let mut y = DVector::zeros(n);
        y.rows_mut(0, self.rank).copy_from(&self.target.rows(0, self.rank));
        back_substitute(&self.r, self.rank, &mut y);
        let mut step = self.step(&y, 0.0);
        if self.rank == n && n > 0 {
            let kappa = (self.r[(0, 0)] / self.r[(n - 1, n - 1)]).abs();
            let remaining = (self.at.residuals.norm_squared() - self.removable().powi(2)).max(0.0).sqrt();
            let rounding =
                f64::EPSILON * kappa * (self.removable() + kappa * remaining) / self.r[(0, 0)].abs();
            if rounding > 1e-12 * (size_of_x + step.length) {
                refinement::refine(self.at, |f, g| self.correction(f, g), &mut step.p);
                step.length = step.p.component_mul(self.scale).norm();
            }
        }
        step
    }

    /// Solves dr - J dp = f, J' dr = g for dr and dp.
    fn correction(&self, f: &DVector<f64>, g: &DVector<f64>) -> (DVector<f64>, DVector<f64>) {
        let n = self.target.len();
        let mut inner = DVector::from_fn(n, |k, _| g[self.qr.pivots[k]] / self.scale[self.qr.pivots[k]]);
        forward_substitute(&self.r, &mut inner);
        let mut rotated = self.qr.qt(f);
        let mut z = &inner - rotated.rows(0, n);
        back_substitute(&self.r, n, &mut z);
        rotated.rows_mut(0, n).copy_from(&inner);
        (self.qr.q(rotated), self.unscaled(&z))
    }

    /// The step with | |D p| - radius | <= radius/10, for a radius shorter than the Gauss-Newton step.
    ///
    /// Newton's method on 1/|y(lambda)| between safe bounds, which needs two or three trials (Moré 1978;
    /// Nocedal and Wright 2006, section 4.3).
    pub fn within(&self, radius: f64) -> Step {
        let mut low = 0.0;
        let mut high = self.r.tr_mul(&self.target).norm() / radius;
        let mut lambda = 1e-3 * high;
        let mut y = DVector::zeros(self.target.len());
        for _ in 0..30 {
            let (damped_r, solution) = self.damped(&self.target, lambda);
            y = solution;
            let length = y.norm();
            let excess = length - radius;
            if excess.abs() <= 0.1 * radius {
                break;
            }
            if excess > 0.0 {
                low = lambda
            } else {
                high = lambda
            }
            // d|y|/d lambda = - |R^-T y|^2 / |y| with R of the damped system.
            let mut u = y.clone();
            forward_substitute(&damped_r, &mut u);
            let newton = lambda + excess / radius * (length / u.norm()).powi(2);
            lambda = if newton > low && newton < high {
                newton
            } else {
                f64::max(1e-3 * high, (low * high).sqrt())
            };
        }
        self.step(&y, lambda)
    }

    /// The damped step of the same lambda for other residuals.
    pub fn damped_step(&self, residuals: &DVector<f64>, lambda: f64) -> Step {
        let (_, y) = self.damped(&self.qr.first_of_qt(residuals), lambda);
        self.step(&y, lambda)
    }

    /// Factors [R; sqrt(lambda) I] by Householder reflections and solves for y. The lower block stays upper
    /// triangular on the way, so column j only touches row j above and rows 0..=j below.
    fn damped(&self, target: &DVector<f64>, lambda: f64) -> (DMatrix<f64>, DVector<f64>) {
        let n = target.len();
        let (mut r, mut y) = (self.r.clone(), target.clone());
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
        Step { p: self.unscaled(&-y), length: y.norm(), change: (&self.r * y).norm_squared(), lambda }
    }

    /// D^-1 P y.
    fn unscaled(&self, y: &DVector<f64>) -> DVector<f64> {
        let mut p = DVector::zeros(y.len());
        for (&pivot, y) in self.qr.pivots.iter().zip(y.iter()) {
            p[pivot] = y / self.scale[pivot];
        }
        p
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
