//! What is said of the months, and in which order.

mod changes;
mod charts;
mod cuts;
mod next;
mod now;
mod wear;

pub(super) use changes::comparison;

use crate::history::History;
use crate::report::outline::{Block, Section};

/// Cuts shown in the table on a screen or page; all of them are in the exported files.
const MOST_ROWS: usize = 60;

/// The whole story.
pub(super) fn sections(h: &History) -> Vec<Section> {
    let mut out = vec![now::now(h), cuts::cuts(h)];
    if !h.marks.is_empty() {
        out.push(cuts::done(h));
    }
    if let Some(wear) = &h.wear {
        out.push(wear::odd(h, wear));
        out.push(wear::growth(h, wear));
        out.push(wear::today(h, wear));
    }
    if !h.comparisons.is_empty() {
        out.push(changes::changes(h));
    }
    out.push(charts::charts(h));
    out.push(next::next(h));
    out.retain(|s| !s.blocks.is_empty());
    out
}

fn section(title: &'static str, blocks: Vec<Block>) -> Section {
    Section { title, blocks }
}
