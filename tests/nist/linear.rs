//! The 11 linear models: polynomials, lines through the origin, and Longley's plane.

use nalgebra::{DMatrix, DVector};
use tautgrid::fit::{Evaluation, OutOfDomain, Problem};

use crate::files::Certified;

/// All linear sets in the order of difficulty that NIST gives.
pub const NAMES: [&str; 11] = [
    "Norris", "Pontius", "NoInt1", "NoInt2", "Filip", "Longley", "Wampler1", "Wampler2", "Wampler3",
    "Wampler4", "Wampler5",
];

/// How a polynomial is summed.
#[derive(Clone, Copy, PartialEq)]
pub enum Arithmetic {
    /// As any program would, in double precision.
    Plain,
    /// As if in twice that, then rounded.
    Compensated,
}

/// A linear model with its data.
pub struct Linear {
    design: DMatrix<f64>,
    response: DVector<f64>,
    /// Predictor of a polynomial that is to be summed with care.
    polynomial_in: Option<Vec<f64>>,
}

impl Linear {
    pub fn of(certified: &Certified, arithmetic: Arithmetic) -> Self {
        let (m, n) = (certified.data.len(), certified.parameters.len());
        let x = |i: usize, j: usize| certified.data[i][j + 1];
        let several = certified.data[0].len() > 2;
        let polynomial = !several && n > 1;
        let design = DMatrix::from_fn(m, n, |i, j| match (several, n) {
            (true, _) if j == 0 => 1.0,
            (true, _) => x(i, j - 1),
            (false, 1) => x(i, 0),
            (false, _) => power(x(i, 0), j),
        });
        let careful = polynomial && arithmetic == Arithmetic::Compensated;
        Self {
            design,
            response: DVector::from_fn(m, |i, _| certified.data[i][0]),
            polynomial_in: careful.then(|| (0..m).map(|i| x(i, 0)).collect()),
        }
    }
}

impl Problem for Linear {
    fn unknowns(&self) -> usize {
        self.design.ncols()
    }

    fn evaluate(&self, b: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let residuals = match &self.polynomial_in {
            Some(x) => {
                DVector::from_fn(x.len(), |i, _| polynomial_less(b.as_slice(), x[i], self.response[i]))
            }
            None => &self.design * b - &self.response,
        };
        Ok(Evaluation { residuals, jacobian: self.design.clone() })
    }
}

/// a + b as a rounded sum and its exact error (Knuth).
fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let part = sum - a;
    (sum, (a - (sum - part)) + (b - part))
}

/// x^k, right to the last place or nearly so: products and sums carry their errors along.
fn power(x: f64, k: usize) -> f64 {
    let (mut high, mut low) = (1.0, 0.0);
    for _ in 0..k {
        let product = high * x;
        (high, low) = two_sum(product, f64::mul_add(high, x, -product) + low * x);
    }
    high + low
}

/// b_0 + b_1 x + b_2 x^2 + ... - y by the compensated Horner rule (Graillat, Langlois and Louvet 2005).
fn polynomial_less(b: &[f64], x: f64, y: f64) -> f64 {
    let (mut sum, mut error) = (0.0, 0.0);
    for coefficient in b.iter().rev() {
        let product = sum * x;
        let product_error = f64::mul_add(sum, x, -product);
        let (next, sum_error) = two_sum(product, *coefficient);
        (sum, error) = (next, error * x + (product_error + sum_error));
    }
    let (difference, difference_error) = two_sum(sum, -y);
    difference + (difference_error + error)
}
