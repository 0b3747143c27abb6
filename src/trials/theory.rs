//! What many trials say of the statistics: do intervals cover, is the variance the least possible, are the p-values
//! uniform?

use super::Trial;
use crate::machine::Unknown;
use crate::record::{Notice, UnknownResult};

/// Normal quantile of a two-sided 95 % interval.
const TWO_SIDED_95: f64 = 1.959_963_985;

/// Mean and variance of a number over the trials.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Mean.
    pub mean: f64,
    /// Variance.
    pub variance: f64,
}

/// Are numbers spread evenly from 0 to 1 (Kolmogorov-Smirnov)?
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uniformity {
    /// Largest distance D of their distribution from the even one.
    pub distance: f64,
    /// Chance of a distance as large when they are.
    pub p_value: f64,
}

/// The statistics of many trials.
#[derive(Debug, Clone, PartialEq)]
pub struct Theory {
    /// Trials.
    pub trials: usize,
    /// Share of the 95 % intervals of each unknown, estimate ± 1.96 u, that hold the truth.
    pub coverage: Vec<(Unknown, f64)>,
    /// Share of trials whose true error after correction is within [`crate::record::Prediction::bound95_mm`].
    pub bound_coverage: f64,
    /// Share of trials whose predicted positions are within the bound on what bending the job leaves.
    pub compensated_coverage: f64,
    /// Unknowns that are not held fixed.
    pub unknowns: usize,
    /// Of [`Trial::normalised_square`]: mean n and variance 2 n when the uncertainties are right.
    pub normalised: Option<Moments>,
    /// Mean square error of each unknown over the mean of its Cramér-Rao bound.
    pub over_bound: Vec<(Unknown, f64)>,
    /// The same in all directions at once: mean of [`Trial::square_by_bound`] over n.
    pub over_bound_all: Option<f64>,
    /// Of the p-values of chi-square.
    pub uniformity: Option<Uniformity>,
    /// Share of trials that lose a good reading.
    pub losing: f64,
    /// Share of trials in which a pattern is said to be left over that is not there.
    pub false_patterns: f64,
}

impl Theory {
    /// Of these trials.
    pub fn of(trials: &[Trial]) -> Self {
        let n = trials.len().max(1) as f64;
        let share = |test: &dyn Fn(&Trial) -> bool| trials.iter().filter(|t| test(t)).count() as f64 / n;
        let mut coverage = Vec::new();
        let mut over_bound = Vec::new();
        for unknown in Unknown::ALL {
            let results: Vec<(&UnknownResult, &Trial)> = trials
                .iter()
                .filter_map(|t| Some((t.analysis.unknowns.iter().find(|r| r.unknown == unknown)?, t)))
                .filter(|(r, _)| r.expected.u > 0.0)
                .collect();
            if results.is_empty() {
                continue;
            }
            let off = |(r, t): &(&UnknownResult, &Trial)| r.estimate.value - t.truth[unknown];
            let held =
                results.iter().filter(|x| off(x).abs() <= TWO_SIDED_95 * x.0.estimate.u).count() as f64;
            coverage.push((unknown, held / results.len() as f64));
            let squares: f64 = results.iter().map(|x| off(x).powi(2)).sum();
            let bounds: f64 = results.iter().map(|(_, t)| t.bound[unknown]).sum();
            over_bound.push((unknown, squares / bounds));
        }
        let unknowns = trials.first().map_or(0, |t| t.analysis.correlation_names.len());
        let by_bound: Vec<f64> = trials.iter().filter_map(|t| t.square_by_bound).collect();
        let squares: Vec<f64> = trials.iter().filter_map(|t| t.normalised_square).collect();
        let chances: Vec<f64> = trials.iter().filter_map(|t| t.analysis.fit.p_value).collect();
        Self {
            trials: trials.len(),
            coverage,
            bound_coverage: share(&|t| t.after_rms_mm <= t.analysis.error.after.bound95_mm),
            compensated_coverage: share(&|t| t.predicted_rms_mm <= t.analysis.error.compensated.bound95_mm),
            unknowns,
            normalised: moments(&squares),
            over_bound,
            over_bound_all: moments(&by_bound).map(|m| m.mean / unknowns.max(1) as f64),
            uniformity: uniformity(&chances),
            losing: share(&|t| !t.analysis.set_aside.is_empty()),
            false_patterns: share(&|t| {
                t.analysis.notices.iter().any(|n| matches!(n, Notice::PatternLeft { .. }))
            }),
        }
    }
}

/// Mean and variance; none of nothing.
fn moments(values: &[f64]) -> Option<Moments> {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (values.len() > 1).then_some(Moments { mean, variance })
}

/// The Kolmogorov-Smirnov test that `values` are spread evenly from 0 to 1, with the chance
/// Q(z) = 2 sum (-1)^(k-1) exp(-2 k^2 z^2), z = (sqrt n + 0.12 + 0.11 / sqrt n) D
/// ([Stephens](crate::references::STEPHENS_1970)); none of nothing.
pub fn uniformity(values: &[f64]) -> Option<Uniformity> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let distance = sorted
        .iter()
        .enumerate()
        .map(|(i, v)| ((i as f64 + 1.0) / n - v).max(v - i as f64 / n))
        .fold(0.0, f64::max);
    let root = n.sqrt();
    let z = (root + 0.12 + 0.11 / root) * distance;
    let term = |k: i32| (if k % 2 == 1 { 2.0 } else { -2.0 }) * f64::exp(-2.0 * f64::from(k * k) * z * z);
    // The series wants many terms only where the chance is 1 to all digits.
    let p_value = if z < 0.2 { 1.0 } else { (1..=20).map(term).sum::<f64>().clamp(0.0, 1.0) };
    (!sorted.is_empty()).then_some(Uniformity { distance, p_value })
}
