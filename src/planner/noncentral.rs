//! The noncentral chi-square distribution: how often a test sees what is there.

use statrs::distribution::{ChiSquared, ContinuousCDF};
use statrs::function::gamma::ln_gamma;

/// Poisson weights are followed so many of their standard deviations beyond their mean.
const REACH: f64 = 12.0;
/// Beyond this noncentrality the chance is 1 to every digit for any critical value that is used here.
const CERTAIN: f64 = 1e5;

/// Chance that a chi-square of `dof` degrees of freedom and noncentrality lambda exceeds x.
///
/// A Poisson mixture of central ones, sum over j of e^(-lambda/2) (lambda/2)^j / j! Q_(dof + 2 j)(x); each
/// Q_(k+2)(x) = Q_k(x) + (x/2)^(k/2) e^(-x/2) / Gamma(k/2 + 1) (Johnson, Kotz and Balakrishnan, *Continuous Univariate
/// Distributions*, volume 2, chapter 29; from memory). Only numbers over nought are added.
pub fn exceeds(x: f64, dof: usize, lambda: f64) -> f64 {
    let Ok(central) = ChiSquared::new(dof as f64) else { return f64::NAN };
    if x <= 0.0 {
        return 1.0;
    }
    let mean = lambda / 2.0;
    if mean <= 0.0 {
        return central.sf(x);
    }
    if lambda > CERTAIN.max(10.0 * x) {
        return 1.0;
    }
    let last = (mean + REACH * mean.sqrt() + 50.0).ceil() as usize;
    let mut tail = central.sf(x);
    let mut sum = 0.0;
    for j in 0..=last {
        let weight = (j as f64 * mean.ln() - mean - ln_gamma(j as f64 + 1.0)).exp();
        sum += weight * tail;
        let half = dof as f64 / 2.0 + j as f64;
        tail = (tail + (half * (x / 2.0).ln() - x / 2.0 - ln_gamma(half + 1.0)).exp()).min(1.0);
    }
    sum.min(1.0)
}

/// Chance that a chi-square test of level `level` sees a shift of noncentrality lambda.
pub fn power(level: f64, dof: usize, lambda: f64) -> f64 {
    ChiSquared::new(dof as f64).map_or(f64::NAN, |c| exceeds(c.inverse_cdf(1.0 - level), dof, lambda))
}

/// The noncentrality that such a test sees with chance `power`, which must be over the level and under 1.
pub fn noncentrality(level: f64, dof: usize, chance: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    while power(level, dof, high) < chance && high < CERTAIN {
        high *= 2.0;
    }
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if power(level, dof, middle) < chance { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
