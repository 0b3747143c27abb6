//! A table over many simulated machines: how near the answers come to the truth.

use super::numbers::{Measure, percent};
use crate::frame::Unit;
use crate::machine::Unknown;
use crate::record::UnknownResult;
use crate::trials::Trial;
use std::fmt::Write;

/// Normal quantile of a two-sided 95 % interval.
const TWO_SIDED_95: f64 = 1.959_963_985;

/// The table, for machines read with `readings` distances each.
pub fn render(trials: &[Trial], readings: usize, unit: Unit) -> String {
    let mm = Measure::length(unit);
    let mean = |f: &dyn Fn(&Trial) -> f64| trials.iter().map(f).sum::<f64>() / trials.len().max(1) as f64;
    let mut out = format!(
        "{} machines drawn from [expected], each read with {readings} distances; mean of the position error over \
         the sheet, rms, {}\n\n",
        trials.len(),
        mm.word
    );
    let mut line = |what: &str, value: String| {
        let _ = writeln!(out, "{what:<66}{value:>10}");
    };
    line("as cut", mm.size(mean(&|t| t.as_cut_rms_mm)));
    line("left by a correction of scale x, scale y and skew alone", mm.size(mean(&|t| t.linear_rest_rms_mm)));
    line("predicted positions against the truth", mm.size(mean(&|t| t.predicted_rms_mm)));
    line("after entering the new settings", mm.size(mean(&|t| t.after_rms_mm)));
    line("  of which this controller cannot hold", mm.size(mean(&|t| t.analysis.error.floor.rms_mm)));
    let share = |f: &dyn Fn(&Trial) -> bool| percent(mean(&|t| if f(t) { 1.0 } else { 0.0 }));
    line(
        "machines whose error after correction is within the 95 % bound",
        share(&|t| t.after_rms_mm <= t.analysis.error.after.bound95_mm),
    );
    let covered = |r: &UnknownResult, t: &Trial| {
        (r.estimate.value - t.truth[r.unknown]).abs() <= TWO_SIDED_95 * r.estimate.u
    };
    for unknown in Unknown::ALL {
        let results = || trials.iter().flat_map(|t| t.analysis.unknowns.iter().map(move |r| (r, t)));
        let of_it: Vec<bool> = results()
            .filter(|(r, _)| r.unknown == unknown && r.expected.u > 0.0)
            .map(|(r, t)| covered(r, t))
            .collect();
        if !of_it.is_empty() {
            let hits = of_it.iter().filter(|c| **c).count() as f64 / of_it.len() as f64;
            line(&format!("95 % intervals of {} that hold the truth", unknown.name()), percent(hits));
        }
    }
    let squares: Vec<f64> = trials.iter().filter_map(|t| t.normalised_square).collect();
    if !squares.is_empty() {
        let unknowns = trials.first().map_or(0, |t| t.analysis.correlation_names.len());
        let mean = squares.iter().sum::<f64>() / squares.len() as f64;
        line(
            &format!("normalised squared error of the {unknowns} unknowns (should be {unknowns})"),
            format!("{mean:.2}"),
        );
    }
    line("good readings set aside", {
        let aside: usize = trials.iter().map(|t| t.analysis.set_aside.len()).sum();
        format!("{aside} of {}", trials.len() * readings)
    });
    out
}
