//! The table of machines that are not as modelled.

use super::part;
use crate::analysis::DISAGREE;
use crate::frame::Unit;
use crate::record::Notice;
use crate::report::notices::words;
use crate::report::numbers::Measure;
use crate::trials::{Misfit, Misfitted};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Notices given less often than this are not listed.
const SELDOM: f64 = 0.05;

/// A row for each misfit, and below it what was said.
pub fn misfits(rows: &[(Misfit, Vec<Misfitted>)], readings: usize, unit: Unit) -> String {
    let mm = Measure::length(unit);
    let cuts = rows.first().map_or(0, |(_, r)| r.len());
    let mut out = format!(
        "Machines that are not what the model takes them for: {cuts} a row, drawn from [expected], {readings} readings \
         each.\nMeans of the position error over the sheet, rms, {}.\n\n{:<38}{:>8}{:>9}{:>9}{:>8}{:>10}{:>8}{:>8}\n{:<38}{:>8}{:>9}{:>9}{:>8}{:>10}{:>8}{:>8}\n",
        mm.word,
        "what is not as modelled",
        "p < 1 %",
        "pattern",
        "set",
        "as cut",
        "predicted",
        "after",
        "within",
        "",
        "",
        "left",
        "aside",
        "",
        "off by",
        "",
        "bound"
    );
    for (misfit, cuts) in rows {
        let n = cuts.len();
        let count = |test: &dyn Fn(&Misfitted) -> bool| cuts.iter().filter(|c| test(c)).count();
        let mean = |f: &dyn Fn(&Misfitted) -> f64| mm.size(cuts.iter().map(f).sum::<f64>() / n.max(1) as f64);
        let pattern = |c: &Misfitted| {
            c.analysis.notices.iter().any(|notice| matches!(notice, Notice::PatternLeft { .. }))
        };
        let aside: usize = cuts.iter().map(|c| c.analysis.set_aside.len()).sum();
        let _ = writeln!(
            out,
            "{:<38}{:>8}{:>9}{:>9}{:>8}{:>10}{:>8}{:>8}",
            misfit.words(),
            part(count(&|c| c.analysis.fit.p_value.is_some_and(|p| p < DISAGREE)), n),
            part(count(&pattern), n),
            part(aside, n * readings),
            mean(&|c| c.as_cut_rms_mm),
            mean(&|c| c.predicted_rms_mm),
            mean(&|c| c.after_rms_mm),
            part(count(&|c| c.after_rms_mm <= c.analysis.error.after.bound95_mm), n),
        );
    }
    let _ = writeln!(out, "\nwhat is said to the person, share of the cuts (under 5 % left out)\n");
    for (misfit, cuts) in rows {
        let said = said(cuts);
        let list = if said.is_empty() { "nothing".to_owned() } else { said.join(", ") };
        let _ = writeln!(out, "{:<38}{list}", misfit.words());
    }
    out
}

/// The notices by kind, the commonest first, patterns by name.
fn said(cuts: &[Misfitted]) -> Vec<String> {
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for notice in cuts.iter().flat_map(|c| &c.analysis.notices) {
        let kind = match notice {
            Notice::PatternLeft { pattern, .. } => {
                format!("pattern: {}", super::super::notices::pattern_name(*pattern))
            }
            other => words(other).kind.to_owned(),
        };
        *kinds.entry(kind).or_default() += 1;
    }
    let mut kinds: Vec<(String, usize)> =
        kinds.into_iter().filter(|(_, k)| *k as f64 >= SELDOM * cuts.len() as f64).collect();
    kinds.sort_by_key(|(_, k)| std::cmp::Reverse(*k));
    kinds.into_iter().map(|(kind, k)| format!("{kind} {}", part(k, cuts.len()))).collect()
}
