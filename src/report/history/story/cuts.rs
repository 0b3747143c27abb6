//! The cuts one by one, and what was done to the machine.

use super::super::{picture, words};
use super::{MOST_ROWS, section};
use crate::history::{Entry, History};
use crate::record::{Estimate, Verdict};
use crate::report::numbers::Measure;
use crate::report::outline::{Block, Section, Table, number, text};
use crate::report::plain;

pub(super) fn cuts(h: &History) -> Section {
    let mm = Measure::length(h.unit);
    let row = |(k, e): (usize, &Entry)| {
        vec![
            plain(&e.id),
            mm.estimate(Estimate { value: e.as_cut.rms_mm, u: e.as_cut_rms_u_mm }),
            mm.size(e.as_cut.max_mm),
            Measure::RATIO.signed_estimate(e.scale_x),
            Measure::RATIO.signed_estimate(e.scale_y),
            Measure::RATIO.signed_estimate(e.skew),
            remark(h, k, e),
        ]
    };
    let skipped = h.entries.len().saturating_sub(MOST_ROWS);
    let rows = h.entries.iter().enumerate().skip(skipped).map(row).collect();
    let mut blocks = vec![Block::Table(Table {
        caption: format!(
            "Each cut by itself, as cut with the settings of its day; lengths in {}, ratios in mm/m{}",
            mm.word,
            if skipped > 0 {
                format!("; the {skipped} older ones are in history.csv")
            } else {
                String::new()
            }
        ),
        columns: vec![
            text("cut"),
            number("error, rms"),
            number("largest"),
            number("scale x").optional(),
            number("scale y").optional(),
            number("skew").optional(),
            text("remarks"),
        ],
        rows,
        strong: Some(1),
    })];
    blocks.extend(picture::symptoms(h));
    section("Cuts", blocks)
}

/// What a person should see beside a cut.
fn remark(h: &History, k: usize, e: &Entry) -> String {
    let mut remarks = Vec::new();
    remarks.push(match e.verdict {
        Verdict::Pass => "within".to_owned(),
        Verdict::Fail => "beyond".to_owned(),
        Verdict::CannotTell => "cannot tell".to_owned(),
    });
    let letters: Vec<String> =
        h.marks.iter().enumerate().filter(|(_, m)| m.before == k).map(|(i, _)| words::letter(i)).collect();
    if !letters.is_empty() {
        remarks.push(format!("after {}", letters.join(", ")));
    }
    if h.wear.as_ref().is_some_and(|w| w.at[k].discord.is_some()) {
        remarks.push("odd".to_owned());
    }
    if e.doubtful {
        remarks.push("readings disagree".to_owned());
    }
    if e.set_aside > 0 {
        remarks.push(format!("{} set aside", e.set_aside));
    }
    remarks.join("; ")
}

pub(super) fn done(h: &History) -> Section {
    let rows = h
        .marks
        .iter()
        .enumerate()
        .map(|(k, m)| vec![words::letter(k), m.date.to_string(), words::mark(m)])
        .collect();
    let table = Table {
        caption: "What was done to the machine".to_owned(),
        columns: vec![text(""), text("day"), text("what")],
        rows,
        strong: None,
    };
    section("Done to the machine", vec![Block::Table(table)])
}
