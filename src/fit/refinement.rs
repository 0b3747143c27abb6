//! Iterative refinement of a linear least-squares step, with residuals in doubled precision.
//!
//! The step p that makes |r + J p| smallest and the residuals s that it leaves solve one square system,
//!
//! ```text
//! s - J p = r        f = r - s + J p
//! J' s    = 0        g = - J' s
//! ```
//!
//! Whatever f and g an approximate pair (s, p) leaves is fed back through the same QR factors. Correcting s
//! and p together makes the error shrink by about eps times the condition number each time, even where s is
//! large (Björck, BIT 7 (1967) 257-278; Björck 1996, section 2.9). f and g cancel almost wholly, so they are
//! summed as if in twice the working precision, after Ogita, Rump and Oishi, "Accurate sum and dot product",
//! SIAM J. Sci. Comput. 26 (2005) 1955-1988.

use nalgebra::DVector;

use super::problem::Evaluation;

/// Refines the step `p` in place. `correct` solves the system above for right sides (f, g), to working
/// precision.
pub(super) fn refine(
    at: &Evaluation,
    correct: impl Fn(&DVector<f64>, &DVector<f64>) -> (DVector<f64>, DVector<f64>),
    p: &mut DVector<f64>,
) {
    let mut s = &at.residuals + &at.jacobian * &*p;
    let mut last = f64::INFINITY;
    // Each pass gains 16 digits less the logarithm of the condition number; a badly conditioned step may take
    // a few.
    for _ in 0..10 {
        let (f, g) = defects(at, &s, p);
        let (ds, dp) = correct(&f, &g);
        let relative =
            dp.iter().zip(p.iter()).map(|(d, p)| (d / p).abs()).filter(|q| q.is_finite()).fold(0.0, f64::max);
        if relative > 0.5 * last {
            break;
        }
        s += ds;
        *p += dp;
        last = relative;
        if relative <= f64::EPSILON {
            break;
        }
    }
}

/// f = r - s + J p and g = - J' s.
fn defects(at: &Evaluation, s: &DVector<f64>, p: &DVector<f64>) -> (DVector<f64>, DVector<f64>) {
    let mut f: Vec<Doubled> = s.iter().map(|s| Doubled { high: -s, low: 0.0 }).collect();
    f.iter_mut().zip(at.residuals.iter()).for_each(|(f, r)| f.add_product(*r, 1.0));
    for (column, p) in at.jacobian.column_iter().zip(p.iter()) {
        f.iter_mut().zip(column.iter()).for_each(|(f, j)| f.add_product(*j, *p));
    }
    let g = at.jacobian.column_iter().map(|column| {
        let mut sum = Doubled::default();
        column.iter().zip(s.iter()).for_each(|(j, s)| sum.add_product(*j, -s));
        sum.value()
    });
    (DVector::from_iterator(s.len(), f.iter().map(Doubled::value)), DVector::from_iterator(p.len(), g))
}

/// A running sum and what rounding has taken from it.
#[derive(Clone, Copy, Default)]
struct Doubled {
    high: f64,
    low: f64,
}

impl Doubled {
    /// Adds a b; both the product and the sum are split into a rounded value and its exact error.
    fn add_product(&mut self, a: f64, b: f64) {
        let product = a * b;
        let product_error = a.mul_add(b, -product);
        let sum = self.high + product;
        let part = sum - self.high;
        self.low += (self.high - (sum - part)) + (product - part) + product_error;
        self.high = sum;
    }

    fn value(&self) -> f64 {
        self.high + self.low
    }
}
