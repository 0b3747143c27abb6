//! All cuts at once: a state-space estimate of the unknowns and their growth, by the Kalman filter and smoother
//! of [`crate::statespace`]. Today's values rest on every cut, not on the last alone.
//!
//! A cut that does not go with the others (the squared innovations are improbable) is looked into in two ways that
//! use the same data: it stands alone, as after settings that were not entered as written, so that its readings are taken for
//! those of another machine; or the machine changed before it and stayed so. The likelier wins. Of the last cut the two
//! cannot be told apart.

use super::layout::{Layout, State};
use super::{DAYS_A_MONTH, Entry, Mark};
use crate::machine::{Unknown, Values};
use crate::record::Estimate;
use crate::statespace::{self, Filtered, Step, filter, smooth};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// A cut of an honest machine is taken for discordant with this chance.
const ALPHA: f64 = 1e-3;
/// Gain in 2 log likelihood that a discord must bring.
const GAIN: f64 = 14.0;
/// Growth is said to be seen when it is so many standard uncertainties from nought (95 %, two-sided).
const SEEN: f64 = 1.96;

/// What became of a cut that does not go with the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Discord {
    /// It stands alone; the cuts after it go with those before it.
    Alone,
    /// The machine changed before it and stayed so.
    Changed,
    /// It is the last: which of the two, only the next cut can tell.
    Undecided,
}

/// The joint estimate at one cut.
#[derive(Debug, Clone, PartialEq)]
pub struct WearAt {
    /// The unknowns, pitches at 20 degrees C; from all cuts, before and after.
    pub unknowns: Values<Estimate>,
    /// Chance of readings as far from what the earlier cuts foretold; absent for the first.
    pub p_value: Option<f64>,
    /// Set when the cut does not go with the others.
    pub discord: Option<Discord>,
}

/// How fast a chain grows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// Which chain, by its pitch.
    pub unknown: Unknown,
    /// mm/m per month.
    pub per_month: Estimate,
    /// Do the cuts show it (its 95 % interval leaves out nought)?
    pub seen: bool,
}

/// What comes and goes with warmth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Season {
    /// Growth of both pitches per K, mm/m, from the noted temperatures.
    PerKelvin(Estimate),
    /// Half the yearly swing of both pitches, mm/m, where no temperatures were noted.
    Yearly(Estimate),
}

impl Season {
    /// Do the cuts show it?
    pub fn seen(&self) -> bool {
        let (Self::PerKelvin(e) | Self::Yearly(e)) = self;
        e.value.abs() > SEEN * e.u
    }
}

/// The joint estimate of all cuts.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// At each cut.
    pub at: Vec<WearAt>,
    /// Growth of each chain now, those that are not held fixed.
    pub growth: Vec<Growth>,
    /// What comes and goes with warmth.
    pub season: Option<Season>,
    /// Unknowns of which the cuts together say something.
    pub known: Values<bool>,
    /// The states at the last cut.
    pub(super) last: State9,
}

/// Unknowns and their growth per day at the last cut, with their covariance: what the outlook starts from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct State9 {
    /// Unknowns, then growths of the pitches, mm/m per day; those that are not states stand at their value, u = 0.
    pub(super) mean: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
}

/// What is supposed of each cut.
type Supposed = Vec<Option<Discord>>;

/// The joint estimate; absent with fewer than two cuts, or when the numbers cannot be had.
pub(super) fn wear(entries: &[Entry], marks: &[Mark]) -> Option<Wear> {
    if entries.len() < 2 {
        return None;
    }
    let layout = Layout::of(entries);
    let mut supposed: Supposed = vec![None; entries.len()];
    let mut filtered = run(&layout, entries, marks, &supposed)?;
    // At most a third of the cuts may be odd; beyond that nothing is the rule they depart from.
    for _ in 0..entries.len() / 3 {
        let Some(k) = oddest(&filtered, &supposed) else { break };
        let mut tries = vec![(k, Discord::Alone), (k, Discord::Changed)];
        if k > 0 && supposed[k - 1].is_none() {
            tries.push((k - 1, Discord::Alone));
        }
        let tried = tries.into_iter().filter_map(|(at, discord)| {
            let mut other = supposed.clone();
            other[at] = Some(discord);
            Some((run(&layout, entries, marks, &other)?, other))
        });
        let best = tried.max_by(|a, b| a.0.log_likelihood().total_cmp(&b.0.log_likelihood()));
        let Some((run, other)) = best else { break };
        if 2.0 * (run.log_likelihood() - filtered.log_likelihood()) < GAIN {
            break;
        }
        (filtered, supposed) = (run, other);
    }
    let last = entries.len() - 1;
    if supposed[last].is_some() {
        supposed[last] = Some(Discord::Undecided);
    }
    Some(told(&layout, &filtered, &supposed))
}

/// The cut whose readings are least probable, if improbable enough.
fn oddest(filtered: &Filtered, supposed: &Supposed) -> Option<usize> {
    let chance = |k: usize| Some((k, p_value(filtered, k)?));
    let untold = (1..supposed.len()).filter(|&k| supposed[k].is_none());
    let (k, p) = untold.filter_map(chance).min_by(|a, b| a.1.total_cmp(&b.1))?;
    (p < ALPHA / supposed.len() as f64).then_some(k)
}

/// Chance of innovations as large.
fn p_value(filtered: &Filtered, k: usize) -> Option<f64> {
    let e = &filtered.steps[k].normalised;
    if e.is_empty() { None } else { Some(ChiSquared::new(e.len() as f64).ok()?.sf(e.norm_squared())) }
}

/// Filters all cuts as supposed.
fn run(layout: &Layout, entries: &[Entry], marks: &[Mark], supposed: &Supposed) -> Option<Filtered> {
    let n = layout.len();
    let unknowns: Vec<usize> = Unknown::ALL.into_iter().filter_map(|u| layout.unknown(u)).collect();
    let prior = |i: usize| layout.covariance[(i, i)];
    let steps: Vec<Step> = entries
        .iter()
        .enumerate()
        .map(|(k, entry)| {
            let days = if k == 0 { 0.0 } else { days_between(&entries[k - 1], entry) };
            let (mut transition, mut noise) = layout.moved(days);
            let mut shift = DVector::zeros(n);
            for mark in marks.iter().filter(|m| m.before == k && k > 0) {
                let (loose, anew) = layout.freed(mark, &entry.tapes);
                for i in loose {
                    noise[(i, i)] += prior(i);
                }
                for i in anew {
                    transition.row_mut(i).fill(0.0);
                    shift[i] = layout.mean[i];
                    noise[(i, i)] = prior(i);
                }
            }
            if matches!(supposed[k], Some(Discord::Changed)) {
                for &i in &unknowns {
                    noise[(i, i)] += prior(i);
                }
            }
            let (rows, values) = layout.rows(entry);
            let mut rows_noise = DMatrix::identity(values.len(), values.len());
            if matches!(supposed[k], Some(Discord::Alone)) {
                for &i in &unknowns {
                    rows_noise += rows.column(i) * rows.column(i).transpose() * prior(i);
                }
            }
            Step { transition, noise, shift, rows, values, rows_noise }
        })
        .collect();
    let initial = statespace::State::new(layout.mean.clone(), &layout.covariance).ok()?;
    filter(&initial, &steps).ok()
}

fn days_between(a: &Entry, b: &Entry) -> f64 {
    f64::from((b.date - a.date).get_days()).max(0.0)
}

/// The estimate in words of the trade.
fn told(layout: &Layout, filtered: &Filtered, supposed: &Supposed) -> Wear {
    let smoothed = smooth(filtered);
    let of = |k: usize, i: usize| Estimate { value: smoothed.states[k].mean[i], u: smoothed.states[k].u(i) };
    let last = supposed.len() - 1;
    let at = (0..supposed.len())
        .map(|k| WearAt {
            unknowns: Values::from_fn(|u| layout.unknown(u).map_or_else(Estimate::default, |i| of(k, i))),
            p_value: if k == 0 { None } else { p_value(filtered, k) },
            discord: supposed[k],
        })
        .collect();
    let growth = [Unknown::PitchLeft, Unknown::PitchRight]
        .into_iter()
        .filter_map(|unknown| {
            let e = of(last, layout.index(&State::Growth(unknown))?);
            let per_month = Estimate { value: e.value * DAYS_A_MONTH, u: e.u * DAYS_A_MONTH };
            Some(Growth { unknown, per_month, seen: per_month.value.abs() > SEEN * per_month.u })
        })
        .collect();
    Wear {
        at,
        growth,
        season: season(layout, &smoothed.states[last].mean, &smoothed.states[last].covariance()),
        known: Values::from_fn(|u| {
            layout.unknown(u).is_some_and(|i| of(last, i).u < 0.9 * layout.covariance[(i, i)].sqrt())
        }),
        last: State9::of(layout, &smoothed.states[last].mean, &smoothed.states[last].covariance()),
    }
}

fn season(layout: &Layout, mean: &DVector<f64>, covariance: &DMatrix<f64>) -> Option<Season> {
    if let Some(i) = layout.index(&State::Warmth) {
        let u = covariance[(i, i)].max(0.0).sqrt();
        return Some(Season::PerKelvin(Estimate { value: mean[i], u }));
    }
    let (c, s) = (layout.index(&State::SeasonCosine)?, layout.index(&State::SeasonSine)?);
    let size = mean[c].hypot(mean[s]);
    // Along the wave's own phase; at nought any phase will do.
    let (a, b) = if size > 0.0 { (mean[c] / size, mean[s] / size) } else { (1.0, 0.0) };
    let variance = a * a * covariance[(c, c)] + 2.0 * a * b * covariance[(c, s)] + b * b * covariance[(s, s)];
    Some(Season::Yearly(Estimate { value: size, u: variance.max(0.0).sqrt() }))
}

impl State9 {
    fn of(layout: &Layout, mean: &DVector<f64>, covariance: &DMatrix<f64>) -> Self {
        let mut places: Vec<Option<usize>> = Unknown::ALL.into_iter().map(|u| layout.unknown(u)).collect();
        for unknown in [Unknown::PitchLeft, Unknown::PitchRight] {
            places.push(layout.index(&State::Growth(unknown)));
        }
        let n = places.len();
        Self {
            mean: DVector::from_fn(n, |i, _| places[i].map_or(0.0, |k| mean[k])),
            covariance: DMatrix::from_fn(n, n, |i, j| match (places[i], places[j]) {
                (Some(a), Some(b)) => covariance[(a, b)],
                _ => 0.0,
            }),
        }
    }
}
