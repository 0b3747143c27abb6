//! The readings: which are doubtful, and how well the rest agree.

use crate::frame::Unit;
use crate::record::*;
use crate::report::numbers::{Measure, chance, fixed, to_64ths};
use crate::report::outline::Block;
use crate::report::{plain, words};

/// A distance as a tape shows it: `2529.26`, `99 37/64`.
pub(crate) fn distance(length_mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => fixed(length_mm, 2),
        Unit::Inch => to_64ths(unit.from_mm(length_mm)).replace(' ', "\u{a0}"),
    }
}

/// The readings set aside.
pub(super) fn doubtful(a: &Analysis) -> Vec<Block> {
    if a.set_aside.is_empty() {
        return vec![Block::Para("None: no reading stands out from the others.".to_owned())];
    }
    let mm = Measure::length(a.unit);
    let mut blocks = vec![Block::Para("Set aside and not used. Please measure again:".to_owned())];
    blocks.extend(a.set_aside.iter().map(|r| {
        let what = format!(
            "Line {}, {} to {}: read {}, expected {}, excess {}.",
            r.line,
            plain(&r.from),
            plain(&r.to),
            mm.with_unit(&distance(r.reading_mm, a.unit)),
            mm.with_unit(&distance(r.expected_mm, a.unit)),
            mm.with_unit(&mm.signed(r.excess_mm())),
        );
        let next = match r.hint.is_empty() {
            true => "No likely slip stands out.".to_owned(),
            false => format!("Likely slip: {}.", plain(&r.hint).trim_end_matches('.')),
        };
        Block::Item { what, next }
    }));
    blocks
}

/// How the fit went, in a line or two.
pub(super) fn fit(a: &Analysis) -> String {
    let f = &a.fit;
    let steps = if f.iterations == 1 { "1 step".to_owned() } else { format!("{} steps", f.iterations) };
    let settled = match f.converged {
        true => format!("The fit settled in {steps}."),
        false => format!("The fit did not settle in {steps}."),
    };
    let mut line =
        format!("{settled} {} used, {} set aside", count(a.used.len(), "reading"), a.set_aside.len());
    if a.blank > 0 {
        line += &format!(", {} not yet read", count(a.blank, "planned distance"));
    }
    line += ".";
    match (words::observed_over_stated(f), f.p_value) {
        (Some(ratio), Some(p)) => {
            line += &format!(
                " They scatter {} times as much as stated; a larger scatter would come by luck with a chance of {}.",
                fixed(ratio, 2),
                chance(p)
            );
        }
        _ => line += " There are too few of them to check each other.",
    }
    line
}

fn count(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}
