//! How the machine stands.

use super::super::{picture, words};
use super::section;
use crate::history::History;
use crate::record::Verdict;
use crate::report::numbers::Measure;
use crate::report::outline::{Block, Section, Tone};

pub(super) fn now(h: &History) -> Section {
    let mm = Measure::length(h.unit);
    let limit = mm.size_unit(h.tolerance_mm);
    let mut blocks = Vec::new();
    match (&h.outlook, h.entries.last()) {
        (Some(o), _) => {
            let size = mm.with_unit(&mm.estimate(o.now_max_mm));
            let first = o.ahead.first().copied().unwrap_or_default();
            let (tone, words) = if first[2] <= h.tolerance_mm {
                (Tone::Good, "within")
            } else if first[0] > h.tolerance_mm {
                (Tone::Bad, "beyond")
            } else {
                (Tone::Unsure, "too near to tell from")
            };
            blocks.push(Block::Answer(
                tone,
                format!("All cuts together: the largest error on the sheet is {size}, {words} the limit of {limit}."),
            ));
            blocks.push(Block::Para(format!(
                "For the settings of machine.toml, at the last cut{}. {}",
                if o.placement_known { "" } else { ", shift and turn left out" },
                words::reached(o.reached, o.ahead.len() - 1)
            )));
            blocks.push(picture::error(h));
        }
        (None, Some(last)) => {
            let tone = match last.verdict {
                Verdict::Pass => Tone::Good,
                Verdict::Fail => Tone::Bad,
                Verdict::CannotTell => Tone::Unsure,
            };
            let text = format!(
                "The last cut: {} rms over the sheet, largest {}, limit {limit}.",
                mm.size_unit(last.as_cut.rms_mm),
                mm.size_unit(last.as_cut.max_mm)
            );
            blocks.push(Block::Answer(tone, text));
            blocks.push(Block::Para("Trends need two cuts or more.".to_owned()));
        }
        (None, None) => blocks.push(Block::Para("There is no cut with readings yet.".to_owned())),
    }
    section("Now", blocks)
}
