//! How the error will grow, and when it reaches the tolerance.
//!
//! The machine as the joint estimate has it, with the settings that it has now, is carried forward month by month: pitches
//! grow at their rates, everything creeps. Many machines are drawn from that estimate (Monte Carlo,
//! [JCGM 101](crate::references::JCGM_101)); the months in which their largest error passes the tolerance are the answer.

use super::layout::Layout;
use super::over_sheet::OverSheet;
use super::{DAYS_A_MONTH, Entry, Wear};
use crate::field::max_mm;
use crate::interval::{Advice, Drift, advice};
use crate::machine::{COUNT, Unknown, Values};
use crate::record::{Estimate, Verdict};
use crate::setup::{Setup, lower_root};
use nalgebra::{DMatrix, DVector};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// Machines drawn.
const DRAWS: usize = 1000;
/// Seed of the draws.
const SEED: u64 = 0x6d6f_6e74;
/// How far ahead is looked, months.
pub(super) const HORIZON_MONTHS: usize = 36;

/// When the largest error passes the tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reached {
    /// It has already, with a chance of at least 95 %.
    Already,
    /// In so many months from the last cut: earliest (5 %), middle, latest (95 %); absent beyond the horizon.
    Within {
        /// 5 of 100 machines like this one pass it earlier.
        early: f64,
        /// Half of them.
        middle: Option<f64>,
        /// 95 of 100.
        late: Option<f64>,
    },
    /// Not within the horizon, with a chance of at least 95 %.
    Beyond,
}

/// The error to come, with the settings as they are now.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Largest error on the sheet at the last cut's day, mm.
    pub now_max_mm: Estimate,
    /// The same each month from then on: 5 %, 50 % and 95 % of the machines drawn, mm.
    pub ahead: Vec<[f64; 3]>,
    /// When it passes the tolerance.
    pub reached: Reached,
    /// How fast the largest error grows now, mm per month.
    pub growth_mm_per_month: Estimate,
    /// Are shift and turn in these figures?
    pub placement_known: bool,
}

/// The outlook; `None` where the machine cannot be worked out over the sheet.
pub(super) fn outlook(setup: &Setup, entries: &[Entry], wear: &Wear) -> Option<Outlook> {
    let last = &wear.last;
    let truth = Values::from_fn(|u: Unknown| last.mean[u as usize]);
    let placement_known = entries.last()?.placement_known;
    let sheet = OverSheet::of(setup, &truth, placement_known)?;
    let layout = Layout::of(entries);
    let (_, monthly) = layout.moved(DAYS_A_MONTH);
    let creep = Values::from_fn(|u| layout.unknown(u).map_or(0.0, |i| monthly[(i, i)].sqrt()));
    let root = lower_root(&last.covariance).or_else(|| positive_root(&last.covariance))?;
    let mut rng = Pcg64Mcg::seed_from_u64(SEED);
    let mut normal = move || -> f64 { StandardNormal.sample(&mut rng) };
    let n = last.mean.len();
    let mut sizes: Vec<Vec<f64>> = (0..=HORIZON_MONTHS).map(|_| Vec::with_capacity(DRAWS)).collect();
    let mut passed: Vec<Option<f64>> = Vec::with_capacity(DRAWS);
    for _ in 0..DRAWS {
        let z = DVector::from_fn(n, |_, _| normal());
        let mut off = &root * z;
        let growth: Vec<f64> = (COUNT..n).map(|k| (last.mean[k] + off[k]) * DAYS_A_MONTH).collect();
        let mut before: Option<f64> = None;
        let mut when = None;
        for (month, column) in sizes.iter_mut().enumerate() {
            if month > 0 {
                for u in Unknown::ALL {
                    off[u as usize] += creep[u] * normal();
                }
                off[Unknown::PitchLeft as usize] += growth[0];
                off[Unknown::PitchRight as usize] += growth[1];
            }
            let size = max_mm(&(&sheet.displacement + &sheet.by_truth * off.rows(0, COUNT)));
            column.push(size);
            if when.is_none() && size > setup.tolerance_mm {
                when = Some(before.map_or(0.0, |b| {
                    month as f64 - (size - setup.tolerance_mm) / (size - b).max(f64::MIN_POSITIVE)
                }));
            }
            before = Some(size);
        }
        passed.push(when);
    }
    for column in &mut sizes {
        column.sort_unstable_by(f64::total_cmp);
    }
    let ahead: Vec<[f64; 3]> = sizes.iter().map(|c| [0.05, 0.5, 0.95].map(|p| quantile(c, p))).collect();
    Some(Outlook {
        now_max_mm: Estimate { value: max_mm(&sheet.displacement), u: spread(&sizes[0]) },
        reached: reached(passed),
        growth_mm_per_month: growth(&sheet, &last.mean, &last.covariance),
        ahead,
        placement_known,
    })
}

/// The months as a statement; a machine that never passes within the horizon sorts last.
fn reached(passed: Vec<Option<f64>>) -> Reached {
    let mut months: Vec<f64> = passed.into_iter().map(|p| p.unwrap_or(f64::INFINITY)).collect();
    months.sort_unstable_by(f64::total_cmp);
    let at = |p: f64| quantile(&months, p);
    let finite = |m: f64| m.is_finite().then_some(m);
    match finite(at(0.05)) {
        None => Reached::Beyond,
        Some(_) if at(0.95) <= 0.0 => Reached::Already,
        Some(early) => Reached::Within { early, middle: finite(at(0.5)), late: finite(at(0.95)) },
    }
}

fn quantile(sorted: &[f64], p: f64) -> f64 {
    let k = (p * sorted.len() as f64).ceil() as usize;
    sorted[k.clamp(1, sorted.len()) - 1]
}

/// Half the width of the middle two thirds.
fn spread(sorted: &[f64]) -> f64 {
    (quantile(sorted, 0.841) - quantile(sorted, 0.159)) / 2.0
}

/// Growth of the largest vector: along its direction, the pitches' share of it.
fn growth(sheet: &OverSheet, mean: &DVector<f64>, covariance: &DMatrix<f64>) -> Estimate {
    let d = &sheet.displacement;
    let size = |i: usize| d[2 * i].hypot(d[2 * i + 1]);
    let points = d.len() / 2;
    let Some(at) = (0..points).max_by(|&a, &b| size(a).total_cmp(&size(b))) else {
        return Estimate::default();
    };
    let length = size(at).max(f64::MIN_POSITIVE);
    let slope = |u: Unknown| {
        (0..2)
            .map(|axis| d[2 * at + axis] / length * sheet.by_truth[(2 * at + axis, u as usize)])
            .sum::<f64>()
            * DAYS_A_MONTH
    };
    let g = DVector::from_column_slice(&[slope(Unknown::PitchLeft), slope(Unknown::PitchRight)]);
    let rates = mean.rows(COUNT, 2);
    let c = covariance.view((COUNT, COUNT), (2, 2));
    Estimate { value: g.dot(&rates), u: g.dot(&(c * &g)).max(0.0).sqrt() }
}

/// A root of a covariance that rounding has left without one: noughts and small negative eigenvalues count as nought.
fn positive_root(covariance: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let eigen = covariance.clone().symmetric_eigen();
    let sizes = eigen.eigenvalues.map(|v| v.max(0.0).sqrt());
    covariance.iter().all(|v| v.is_finite()).then(|| eigen.eigenvectors * DMatrix::from_diagonal(&sizes))
}

/// Was the machine within tolerance at each cut, as far as that could be told?
pub(super) fn verdicts(entries: &[Entry]) -> Vec<Option<bool>> {
    entries
        .iter()
        .map(|e| match e.verdict {
            Verdict::Pass => Some(true),
            Verdict::Fail => Some(false),
            Verdict::CannotTell => None,
        })
        .collect()
}

/// When to cut the next test: from the checks so far, and from the outlook.
pub(super) fn look_again(entries: &[Entry], outlook: Option<&Outlook>) -> Option<Advice> {
    entries.last()?;
    let days = |a: &Entry, b: &Entry| f64::from((b.date - a.date).get_days()).max(1.0);
    let verdicts = verdicts(entries);
    let checks: Vec<(f64, Option<bool>)> =
        (1..entries.len()).map(|k| (days(&entries[k - 1], &entries[k]), verdicts[k])).collect();
    let days = |months: f64| months * DAYS_A_MONTH;
    let drift = match outlook.map(|o| o.reached) {
        Some(Reached::Already) => {
            Some(Drift { early_days: 0.0, middle_days: Some(0.0), late_days: Some(0.0) })
        }
        Some(Reached::Within { early, middle, late }) => {
            Some(Drift { early_days: days(early), middle_days: middle.map(days), late_days: late.map(days) })
        }
        Some(Reached::Beyond) | None => None,
    };
    Some(advice(&checks, drift))
}
