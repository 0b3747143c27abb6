//! What the control charts call on, and how much a call is worth.

use super::super::words;
use super::section;
use crate::charts::{Basis, false_call};
use crate::history::History;
use crate::report::numbers::fixed;
use crate::report::outline::{Block, Section};
use crate::report::plain;

pub(super) fn charts(h: &History) -> Section {
    let mut blocks = Vec::new();
    for c in &h.charts {
        for &(k, rule) in &c.chart.signals {
            let entry = &h.entries[c.places[k]];
            blocks.push(Block::Item {
                what: format!("Cut {}: {} {}.", plain(&entry.id), words::tracked(c.what), words::rule(rule)),
                next: "Nothing written down explains it: look at that cut's report, and at what was done before it."
                    .to_owned(),
            });
        }
    }
    let pieces = || h.charts.iter().flat_map(|c| &c.chart.pieces);
    let few = pieces().any(|p| p.basis == Basis::Uncertainty);
    let own = pieces().any(|p| p.basis == Basis::Spread);
    if pieces().any(|p| p.basis != Basis::Nothing) {
        // The charts' numbers are taken for independent.
        let none = pieces().map(|p| 1.0 - false_call(p.average.len())).product::<f64>();
        let mut words = if blocks.is_empty() {
            "No cut lies outside the limits of its charts. ".to_owned()
        } else {
            String::new()
        };
        words += &format!(
            "How much a call is worth: of 100 machines that have not changed, about {} would show at least one call in charts as \
             many and as long as these. Limits are 3 standard deviations for a cut and 2.962 for the weighted average (weight 0.2). \
             Were they known beforehand, they would call once in 370 and once in 500 cuts; limits worked out from few cuts are \
             themselves uncertain.",
            of_hundred(1.0 - none)
        );
        if own {
            words += " From 8 cuts on they come from the spread of those cuts.";
        }
        if few {
            words += " Where fewer than 8 stand together, they come from the uncertainty of the readings.";
        }
        words += " Each series begins anew where something was done to the machine.";
        blocks.push(Block::Para(words));
    }
    section("Control charts", blocks)
}

/// So many of a hundred, never a false 0 or 100.
fn of_hundred(share: f64) -> String {
    match (100.0 * share).round() {
        n if n < 1.0 => "1".to_owned(),
        n if n > 99.0 => "99".to_owned(),
        n => fixed(n, 0),
    }
}
