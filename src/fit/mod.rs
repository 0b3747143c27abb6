//! TEMPORARY until the branch `fit` lands.
#![allow(missing_docs)]
use nalgebra::{DMatrix, DVector};
pub trait Problem {
    fn unknowns(&self) -> usize;
    fn evaluate(&self, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain>;
}
pub struct Evaluation {
    pub residuals: DVector<f64>,
    pub jacobian: DMatrix<f64>,
}
#[derive(Debug, Clone)]
pub struct OutOfDomain(pub String);
#[derive(Default)]
pub struct Options {}
pub enum Stop {
    Small,
    Patience,
}
impl Stop {
    pub fn converged(&self) -> bool {
        matches!(self, Stop::Small)
    }
}
pub struct Solution {
    pub x: DVector<f64>,
    pub iterations: usize,
    pub stop: Stop,
}
pub fn solve(p: &impl Problem, start: &DVector<f64>, _: &Options) -> Solution {
    let mut x = start.clone();
    let Ok(mut now) = p.evaluate(&x) else { return Solution { x, iterations: 0, stop: Stop::Patience } };
    for it in 0..50 {
        let qr = now.jacobian.clone().qr();
        let rhs = qr.q().transpose() * &now.residuals;
        let Some(step) = qr.r().solve_upper_triangular(&rhs) else {
            return Solution { x, iterations: it, stop: Stop::Patience };
        };
        let pred = rhs.norm_squared();
        if pred < 1e-18 * now.residuals.norm_squared() + 1e-20 {
            return Solution { x, iterations: it, stop: Stop::Small };
        }
        let mut t = 1.0;
        loop {
            let trial = &x - &step * t;
            if let Ok(e) = p.evaluate(&trial) {
                if e.residuals.norm_squared() <= now.residuals.norm_squared() * (1.0 + 1e-12) {
                    x = trial;
                    now = e;
                    break;
                }
            }
            t *= 0.5;
            if t < 1e-6 {
                return Solution { x, iterations: it, stop: Stop::Small };
            }
        }
    }
    Solution { x, iterations: 50, stop: Stop::Patience }
}
pub struct Spectrum {
    c: Option<DMatrix<f64>>,
}
impl Spectrum {
    pub fn of(j: &DMatrix<f64>) -> Self {
        let r = j.clone().qr().r();
        let inv = r.solve_upper_triangular(&DMatrix::identity(j.ncols(), j.ncols()));
        Self { c: inv.map(|i| &i * i.transpose()) }
    }
    pub fn covariance(&self, _: f64) -> Result<DMatrix<f64>, ()> {
        self.c.clone().ok_or(())
    }
}
