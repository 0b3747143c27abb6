//! The 27 nonlinear models, written from the formulas in the headers of the files.

use std::f64::consts::PI;

use nalgebra::{DMatrix, DVector};
use tautgrid::fit::{Evaluation, OutOfDomain, Problem};

use crate::dual::Dual;
use crate::files::Certified;

/// Name, and f(b, predictors).
pub type Model = fn(&[Dual], &[f64]) -> Dual;

/// All models in the order of difficulty that NIST gives: lower, average, higher.
pub const MODELS: [(&str, Model); 27] = [
    ("Misra1a", |b, x| b[0] * (1.0 - (-b[1] * x[0]).exp())),
    ("Chwirut2", chwirut),
    ("Chwirut1", chwirut),
    ("Lanczos3", lanczos),
    ("Gauss1", gauss),
    ("Gauss2", gauss),
    ("DanWood", |b, x| b[0] * Dual::constant(x[0]).pow(b[1])),
    ("Misra1b", |b, x| b[0] * (1.0 - (1.0 + b[1] * x[0] / 2.0).powf(-2.0))),
    ("Kirby2", |b, x| (b[0] + (b[1] + b[2] * x[0]) * x[0]) / (1.0 + (b[3] + b[4] * x[0]) * x[0])),
    ("Hahn1", cubic_over_cubic),
    ("Nelson", |b, x| b[0] - b[1] * x[0] * (-b[2] * x[1]).exp()),
    ("MGH17", |b, x| b[0] + b[1] * (-b[3] * x[0]).exp() + b[2] * (-b[4] * x[0]).exp()),
    ("Lanczos1", lanczos),
    ("Lanczos2", lanczos),
    ("Gauss3", gauss),
    ("Misra1c", |b, x| b[0] * (1.0 - (1.0 + 2.0 * b[1] * x[0]).powf(-0.5))),
    ("Misra1d", |b, x| b[0] * b[1] * x[0] / (1.0 + b[1] * x[0])),
    ("Roszman1", |b, x| b[0] - b[1] * x[0] - (b[2] / (x[0] - b[3])).atan() / PI),
    ("ENSO", enso),
    ("MGH09", |b, x| b[0] * (x[0] * x[0] + x[0] * b[1]) / (x[0] * x[0] + x[0] * b[2] + b[3])),
    ("Thurber", cubic_over_cubic),
    ("BoxBOD", |b, x| b[0] * (1.0 - (-b[1] * x[0]).exp())),
    ("Rat42", |b, x| b[0] / (1.0 + (b[1] - b[2] * x[0]).exp())),
    ("MGH10", |b, x| b[0] * (b[1] / (x[0] + b[2])).exp()),
    ("Eckerle4", |b, x| b[0] / b[1] * (-0.5 * ((x[0] - b[2]) / b[1]).squared()).exp()),
    ("Rat43", |b, x| b[0] / (1.0 + (b[1] - b[2] * x[0]).exp()).pow(1.0 / b[3])),
    ("Bennett5", |b, x| b[0] * (b[1] + x[0]).pow(-1.0 / b[2])),
];

fn chwirut(b: &[Dual], x: &[f64]) -> Dual {
    (-b[0] * x[0]).exp() / (b[1] + b[2] * x[0])
}

fn lanczos(b: &[Dual], x: &[f64]) -> Dual {
    b[0] * (-b[1] * x[0]).exp() + b[2] * (-b[3] * x[0]).exp() + b[4] * (-b[5] * x[0]).exp()
}

fn gauss(b: &[Dual], x: &[f64]) -> Dual {
    let peak =
        |height: Dual, middle: Dual, width: Dual| height * (-((x[0] - middle) / width).squared()).exp();
    b[0] * (-b[1] * x[0]).exp() + peak(b[2], b[3], b[4]) + peak(b[5], b[6], b[7])
}

fn cubic_over_cubic(b: &[Dual], x: &[f64]) -> Dual {
    let x = x[0];
    (b[0] + (b[1] + (b[2] + b[3] * x) * x) * x) / (1.0 + (b[4] + (b[5] + b[6] * x) * x) * x)
}

fn enso(b: &[Dual], x: &[f64]) -> Dual {
    let year = 2.0 * PI * x[0] / 12.0;
    let wave = |period: Dual, cosine: Dual, sine: Dual| {
        let angle = 2.0 * PI * x[0] / period;
        cosine * angle.cos() + sine * angle.sin()
    };
    b[0] + b[1] * year.cos() + b[2] * year.sin() + wave(b[3], b[4], b[5]) + wave(b[6], b[7], b[8])
}

/// A model with its data.
pub struct Nonlinear<'a> {
    pub model: Model,
    pub certified: &'a Certified,
}

impl Nonlinear<'_> {
    /// The response that is fitted: as given, but its logarithm for Nelson.
    fn response(&self, row: &[f64]) -> f64 {
        if self.certified.name == "Nelson" { row[0].ln() } else { row[0] }
    }
}

impl Problem for Nonlinear<'_> {
    fn unknowns(&self) -> usize {
        self.certified.parameters.len()
    }

    fn evaluate(&self, b: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let (m, n) = (self.certified.data.len(), b.len());
        let b: Vec<Dual> = b.iter().enumerate().map(|(j, b)| Dual::parameter(j, *b)).collect();
        let mut evaluation = Evaluation { residuals: DVector::zeros(m), jacobian: DMatrix::zeros(m, n) };
        for (i, row) in self.certified.data.iter().enumerate() {
            let fitted = (self.model)(&b, &row[1..]);
            evaluation.residuals[i] = fitted.value - self.response(row);
            evaluation.jacobian.row_mut(i).copy_from_slice(&fitted.partials[..n]);
        }
        Ok(evaluation)
    }
}
