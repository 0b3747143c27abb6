//! Did new settings go into the controller as they are written? The next cut tells.
//!
//! What was promised of them follows from what was expected before the cut: the root mean square error will be under a
//! bound with a chance of 95 %. The cut is then worked out once for every way in which the settings may have gone in: as
//! written, or with one of the mistakes of [`EntrySlip`]. With pi_k the chance of each before the readings and Q_k the
//! criterion of the screening, which is -2 log likelihood up to a constant,
//!
//! P(k | readings) is proportional to pi_k exp(-Q_k / 2)
//!
//! (Bayes' theorem over a few hypotheses with parameters of the same prior; the determinants of their information differ by too
//! little to count). The chance that the error is within the bound is the mean over k of that chance under each.

use super::notices::{DISAGREE, p_value};
use super::{Cut, NoAnswer};
use crate::adjustment::Model;
use crate::budget::{Draws, ErrorDistribution};
use crate::events::{Event, Kind};
use crate::field::{Field, WorkingArea};
use crate::machine::{Unknown, Values};
use crate::pattern::Hole;
use crate::record::*;
use crate::screening::{ALPHA, Screened, screen};
use crate::setup::Setup;
use jiff::civil::Date;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Chance of some mistake in entering settings, before the readings are looked at: 1 in 5 (our own choice, no source). It
/// also sees to it that a promise counts as kept only where the readings speak for it.
const SLIPS: f64 = 0.2;
/// Chance at which an answer is given, as for a verdict on the tolerance.
const SURE: f64 = 0.95;
/// What is less likely than this is not worked out any further.
const NEGLIGIBLE: f64 = 1e-4;
/// A mistake is named beside the likeliest when it is at least this share as likely.
const ALMOST_AS_LIKELY: f64 = 1.0 / 3.0;
/// At most so many are named.
const MOST_NAMED: usize = 3;
/// Two mistakes come to the same when the errors they make differ by less than this share of the bound.
const SAME_ERROR: f64 = 0.1;
/// Settings agree when they differ by less, in their own units: a tenth of what a file holds.
const SAME: f64 = 1e-3;

/// The settings that were changed last before a cut of that id and day, from the events of the machine. Empty when
/// there are none, or when `settings`, those of the cut, are not what they were changed to.
pub fn changes_before(events: &[Event], cut: &str, day: Date, settings: &Values<f64>) -> Vec<SettingChange> {
    let earlier = events.iter().filter(|e| e.kind == Kind::Setting && !e.is_after(cut, day));
    let Some(last) = earlier.clone().max_by_key(|e| (e.date, &e.cut)) else { return Vec::new() };
    let mut changes: Vec<SettingChange> = Vec::new();
    for event in earlier.filter(|e| (e.date, &e.cut) == (last.date, &last.cut)) {
        let Some((unknown, from, to)) = event.change() else { return Vec::new() };
        match changes.iter_mut().find(|c| c.unknown == unknown) {
            Some(change) => change.to = to,
            None => changes.push(SettingChange { unknown, from, to }),
        }
    }
    changes.retain(|c| c.from != c.to);
    let as_written = changes.iter().all(|c| (settings[c.unknown] - c.to).abs() < SAME);
    if as_written { changes } else { Vec::new() }
}

/// Adds to an analysis whether settings changed before its cut do what was promised, and what speaks against believing the rest
/// of it when they do not.
///
/// # Errors
/// As [`verify`].
pub fn hold_to_promise(
    cut: &Cut<'_>,
    changes: &[SettingChange],
    analysis: &mut Analysis,
) -> Result<(), NoAnswer> {
    let verification = verify(cut, changes, analysis.error.placement_known)?;
    if let Some(suspected) = verification.suspected.first() {
        // What an analysis makes of settings that are not in force is beside the point.
        analysis.notices.retain(|n| !matches!(n, Notice::LeaveAlone));
        analysis.notices.push(Notice::NotAsEntered { slip: suspected.slip });
    }
    analysis.verification = Some(verification);
    Ok(())
}

/// Holds a cut against what was promised of settings changed before it.
///
/// # Errors
/// When the machine as described cannot have cut the pattern.
pub fn verify(
    cut: &Cut<'_>,
    changes: &[SettingChange],
    placement_known: bool,
) -> Result<Verification, NoAnswer> {
    let judge = Judge::new(cut, placement_known)?;
    let promise = judge.size(&cut.setup.settings, &judge.expected, &cut.setup.expected_covariance());
    let promised = promise.ok_or_else(|| impossible("the promise cannot be worked out"))?.prediction();
    let limit_mm = promised.bound95_mm;
    let harmful = judge.harmful(EntrySlip::possible(changes), changes, limit_mm);
    let each = SLIPS / harmful.len().max(1) as f64;
    let ways: Vec<(Option<EntrySlip>, f64)> = std::iter::once((None, 1.0 - SLIPS))
        .chain(harmful.into_iter().map(|slip| (Some(slip), each)))
        .collect();
    let mut tried: Vec<Tried> = ways
        .into_par_iter()
        .filter_map(|(slip, before)| {
            let settings = slip.map_or(cut.setup.settings, |s| s.settings(&cut.setup.settings, changes));
            let screened = judge.screened(settings)?;
            Some(Tried {
                slip,
                settings,
                log: before.ln() - 0.5 * screened.criterion(),
                screened,
                chance: 0.0,
            })
        })
        .collect();
    weigh(&mut tried);
    tried.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    let likely = |t: &&Tried| t.chance > NEGLIGIBLE;
    let sizes: Vec<(f64, Option<ErrorDistribution>)> =
        tried.iter().filter(likely).map(|t| (t.chance, judge.size_as_cut(t))).collect();
    let Some(best) = tried.first() else { return Err(impossible("no machine near could have cut this")) };
    let chance_within =
        sizes.iter().map(|(w, size)| w * size.as_ref().map_or(0.0, |s| s.chance_rms_within(limit_mm))).sum();
    let found = sizes.first().and_then(|(_, size)| size.as_ref());
    // Readings that contradict each other confirm nothing, nor do fewer of them than there were settings to check.
    let used = best.screened.model.weights.iter().filter(|&&w| w > 0.0).count();
    let speaks = best.screened.fitted.converged
        && p_value(&best.screened.fitted).is_some_and(|p| p >= DISAGREE)
        && used >= changes.len();
    let confirmed = match chance_within {
        _ if !speaks => Confirmed::CannotTell,
        c if c >= SURE => Confirmed::Yes,
        c if c <= 1.0 - SURE => Confirmed::No,
        _ => Confirmed::CannotTell,
    };
    Ok(Verification {
        changes: changes.to_vec(),
        promised,
        found_rms_mm: found.map(|s| Estimate { value: s.at_estimate.rms_mm, u: s.rms_u_mm() }),
        chance_within,
        confirmed,
        suspected: suspected(&tried, confirmed),
    })
}

/// One way in which the settings may have gone in.
struct Tried {
    slip: Option<EntrySlip>,
    settings: Values<f64>,
    /// Log of the chance, not yet normalised.
    log: f64,
    screened: Screened,
    chance: f64,
}

/// Normalises the chances.
fn weigh(tried: &mut [Tried]) {
    let most = tried.iter().map(|t| t.log).fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = tried.iter().map(|t| (t.log - most).exp()).sum();
    for t in tried {
        t.chance = (t.log - most).exp() / sum;
    }
}

/// Mistakes to name, when together they are likelier than that everything went in right.
fn suspected(tried: &[Tried], confirmed: Confirmed) -> Vec<Suspected> {
    let right: f64 = tried.iter().filter(|t| t.slip.is_none()).map(|t| t.chance).sum();
    if confirmed == Confirmed::Yes || right > 0.5 {
        return Vec::new();
    }
    let slips = || tried.iter().filter_map(|t| Some(Suspected { slip: t.slip?, chance: t.chance }));
    let most = slips().map(|s| s.chance).fold(0.0, f64::max);
    slips().filter(|s| s.chance >= ALMOST_AS_LIKELY * most).take(MOST_NAMED).collect()
}

fn impossible(why: &str) -> NoAnswer {
    NoAnswer::Impossible(why.to_owned())
}

/// What the ways are judged by.
struct Judge<'a> {
    cut: &'a Cut<'a>,
    holes: Vec<Hole>,
    /// The machine as expected before the cut.
    expected: Values<f64>,
    area: WorkingArea,
    placement_known: bool,
    draws: Draws,
}

impl<'a> Judge<'a> {
    fn new(cut: &'a Cut<'a>, placement_known: bool) -> Result<Self, NoAnswer> {
        let setup = cut.setup;
        let holes = cut.pattern.holes();
        let expected = Values::from_fn(|u: Unknown| setup.expected[u].value);
        let targets: Vec<_> = holes.iter().map(|h| h.target).collect();
        let (area, _) = Field::over_sheet(&setup.belief(), &setup.nature(expected), &setup.sheet, &targets)
            .map_err(|e| impossible(&e.to_string()))?;
        let draws = Draws::new(setup.hardware.attachment);
        Ok(Self { cut, holes, expected, area, placement_known, draws })
    }

    /// Size of the error with these settings on a machine known so well; none when it cannot hang everywhere.
    fn size(
        &self,
        settings: &Values<f64>,
        machine: &Values<f64>,
        covariance: &DMatrix<f64>,
    ) -> Option<ErrorDistribution> {
        let setup = self.cut.setup;
        let field =
            Field::of(&setup.controller(*settings), &setup.nature(*machine), &self.area.points).ok()?;
        let placement = self.area.placement(self.placement_known);
        let (f0, g) = (&field.displacement, &field.by_truth);
        Some(ErrorDistribution::of(&self.draws, &self.area, f0, g, covariance, &placement))
    }

    /// The mistakes that would break the promise on the machine as expected; of those that come to the same, the first.
    fn harmful(&self, slips: Vec<EntrySlip>, changes: &[SettingChange], limit_mm: f64) -> Vec<EntrySlip> {
        let mut kept: Vec<(EntrySlip, DVector<f64>)> = Vec::new();
        for slip in slips {
            let Some(error) = self.error(&slip.settings(&self.cut.setup.settings, changes)) else { continue };
            let same =
                |(_, other): &(_, DVector<f64>)| self.area.rms_mm(&(&error - other)) < SAME_ERROR * limit_mm;
            if self.area.rms_mm(&error) > limit_mm && !kept.iter().any(same) {
                kept.push((slip, error));
            }
        }
        kept.into_iter().map(|(slip, _)| slip).collect()
    }

    /// The error with these settings on the machine as expected; none when it cannot hang everywhere.
    fn error(&self, settings: &Values<f64>) -> Option<DVector<f64>> {
        let setup = self.cut.setup;
        let (belief, nature) = (setup.controller(*settings), setup.nature(self.expected));
        let error = Field::displacement(&belief, &nature, &self.area.points).ok()?;
        Some(self.area.placement(self.placement_known).remove(&error))
    }

    /// The readings as those of a controller with these settings; none when it cannot have cut the pattern.
    fn screened(&self, settings: Values<f64>) -> Option<Screened> {
        let setup = Setup { settings, ..self.cut.setup.clone() };
        let model = Model::new(&setup, &self.holes, self.cut.readings).ok()?;
        screen(&model, setup.hardware.pitch_mm, ALPHA).ok()
    }

    fn size_as_cut(&self, tried: &Tried) -> Option<ErrorDistribution> {
        let fitted = &tried.screened.fitted;
        self.size(&tried.settings, &fitted.theta, &fitted.theta_covariance(&tried.screened.model))
    }
}
