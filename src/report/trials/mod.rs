//! Tables over many simulated machines.

mod misfits;
mod slips;

pub use misfits::misfits;
pub use slips::slips;

use super::numbers::{Measure, fixed};
use crate::frame::Unit;
use crate::trials::{Theory, Trial};
use std::fmt::Write;

/// How near the answers come to the truth, and whether the statistics keep what they promise, for machines read with
/// `readings` distances each.
pub fn theory(trials: &[Trial], readings: usize, unit: Unit) -> String {
    let mm = Measure::length(unit);
    let mean = |f: &dyn Fn(&Trial) -> f64| trials.iter().map(f).sum::<f64>() / trials.len().max(1) as f64;
    let t = Theory::of(trials);
    let n = t.trials.max(1) as f64;
    let mut out = format!(
        "{} machines drawn from [expected], each read with {readings} distances; mean of the position error over \
         the sheet, rms, {}\n\n",
        trials.len(),
        mm.word
    );
    line(&mut out, "as cut", &mm.size(mean(&|t| t.as_cut_rms_mm)));
    line(
        &mut out,
        "left by a correction of scale x, scale y and skew alone",
        &mm.size(mean(&|t| t.linear_rest_rms_mm)),
    );
    line(&mut out, "predicted positions against the truth", &mm.size(mean(&|t| t.predicted_rms_mm)));
    line(&mut out, "after entering the new settings", &mm.size(mean(&|t| t.after_rms_mm)));
    line(
        &mut out,
        "  of which this controller cannot hold",
        &mm.size(mean(&|t| t.analysis.error.floor.rms_mm)),
    );

    let by_chance = 100.0 * 1.96 * (0.95_f64 * 0.05 / n).sqrt();
    let _ = writeln!(
        out,
        "\nhow often a statement of 95 % holds (so many machines: 95 ± {} % by chance)\n",
        fixed(by_chance, 1)
    );
    line(&mut out, "error after correction within its bound", &share(t.bound_coverage));
    line(&mut out, "predicted positions within the bound of `compensate`", &share(t.compensated_coverage));
    for (unknown, coverage) in &t.coverage {
        line(&mut out, &format!("interval of {} holds the truth", unknown.name()), &share(*coverage));
    }

    let unknowns = t.unknowns;
    let _ = writeln!(out, "\nerror of the estimate against theory\n");
    if let Some(m) = t.normalised {
        let (should, spread) = (unknowns as f64, 2.0 * unknowns as f64);
        let what =
            format!("normalised squared error, mean ({should} ± {})", fixed((spread / n).sqrt() * 1.96, 2));
        line(&mut out, &what, &fixed(m.mean, 2));
        // Variance of the variance of chi-square of k degrees: (8 k^2 + 48 k) / n.
        let by_chance = 1.96 * ((8.0 * should * should + 48.0 * should) / n).sqrt();
        let what = format!("normalised squared error, variance ({spread} ± {})", fixed(by_chance, 1));
        line(&mut out, &what, &fixed(m.variance, 1));
    }
    if let Some(ratio) = t.over_bound_all {
        let by_chance = 1.96 * (2.0 / (n * unknowns.max(1) as f64)).sqrt();
        let what = format!("variance over the Cramér-Rao bound, all together (1 ± {})", fixed(by_chance, 3));
        line(&mut out, &what, &fixed(ratio, 3));
    }
    for (unknown, ratio) in &t.over_bound {
        let by_chance = fixed(1.96 * (2.0 / n).sqrt(), 2);
        let what = format!("variance of {} over its bound (1 ± {by_chance})", unknown.name());
        line(&mut out, &what, &fixed(*ratio, 3));
    }
    if let Some(u) = t.uniformity {
        let what = "p-values of chi-square, distance from uniform (Kolmogorov-Smirnov)";
        line(&mut out, what, &fixed(u.distance, 4));
        line(&mut out, "  chance of a distance as large when they are uniform", &share(u.p_value));
    }
    let _ = writeln!(out, "\nfalse alarms (stated level: 1 % of cuts each)\n");
    line(&mut out, "cuts that lose a good reading", &share(t.losing));
    line(&mut out, "cuts said to have a pattern left over", &share(t.false_patterns));
    out
}

/// A line of the table.
fn line(out: &mut String, what: &str, value: &str) {
    let _ = writeln!(out, "{what:<72}{value:>9}");
}

/// A share in per cent with one decimal.
fn share(value: f64) -> String {
    format!("{} %", fixed(100.0 * value, 1))
}

/// A share of a count; a dash of nothing.
fn part(some: usize, all: usize) -> String {
    if all == 0 { "-".to_owned() } else { share(some as f64 / all as f64) }
}
