//! The table of planted slips.

use super::part;
use crate::trials::{Planted, SlipShares};
use std::fmt::Write;

/// Rows of kind, slips in each cut, and what became of them. The rows without a slip come first.
pub fn slips(rows: &[(Planted, usize, SlipShares)], readings: usize) -> String {
    let cuts = rows.first().map_or(0, |(_, _, s)| s.cuts);
    let mut out = format!(
        "Slips planted in simulated cuts of {readings} readings, {cuts} cuts a row. A reading is set aside at the level \
         of\n1 % per cut. Plain slips are those of over five standard uncertainties of a reading.\n\n\
         {:<34}{:>4}{:>9}{:>9}{:>9}{:>9}{:>11}{:>10}\n{:<34}{:>4}{:>9}{:>9}{:>9}{:>9}{:>11}{:>10}\n",
        "slip",
        "a",
        "found",
        "plain,",
        "hint is",
        "no",
        "good set",
        "cuts that",
        "",
        "cut",
        "",
        "found",
        "right",
        "hint",
        "aside",
        "lose one"
    );
    for (kind, per_cut, s) in rows {
        let what =
            if *per_cut == 0 { format!("none, {}", kind.unit().name()) } else { kind.words().to_owned() };
        let _ = writeln!(
            out,
            "{what:<34}{per_cut:>4}{:>9}{:>9}{:>9}{:>9}{:>11}{:>10}",
            part(s.found, s.planted),
            part(s.plain_found, s.plain),
            part(s.named, s.found),
            part(s.silent, s.found),
            format!("{:.2} %", 100.0 * s.good_lost as f64 / s.good.max(1) as f64),
            part(s.cuts_losing, s.cuts),
        );
    }
    out
}
