//! Whether the settings that were changed before the cut do what was promised of them.

use crate::record::*;
use crate::report::notices::slip_words;
use crate::report::numbers::{Measure, chance};
use crate::report::outline::{Block, Tone};
use crate::report::words;

/// Nothing when no settings were changed before the cut.
pub fn blocks(a: &Analysis) -> Vec<Block> {
    let Some(v) = &a.verification else { return Vec::new() };
    let mm = Measure::length(a.unit);
    let names: Vec<&str> = v.changes.iter().map(|c| c.unknown.name()).collect();
    let bound = mm.size_unit(v.promised.bound95_mm);
    let (tone, headline) = match v.confirmed {
        Confirmed::Yes => {
            (Tone::Good, format!("Confirmed: the error over the sheet is within the {bound} rms promised."))
        }
        Confirmed::No => (
            Tone::Bad,
            format!("Not confirmed: the error over the sheet is more than the {bound} rms promised."),
        ),
        Confirmed::CannotTell => (
            Tone::Unsure,
            format!("Cannot tell whether the error over the sheet is within the {bound} rms promised."),
        ),
    };
    let found = v
        .found_rms_mm
        .map_or(String::new(), |found| format!(" This cut finds {}.", mm.with_unit(&mm.estimate(found))));
    let mut blocks = vec![
        Block::Answer(tone, headline),
        Block::Para(format!(
            "Changed before this cut: {}. Promised was an error of {} rms, and 95\u{a0}% sure under {bound}.{found} The chance \
             that the promise is kept, the chance of a mistake in entering included, is {}.",
            words::list(&names),
            mm.size_unit(v.promised.size.rms_mm),
            chance(v.chance_within)
        )),
    ];
    if !v.suspected.is_empty() {
        let likely: Vec<String> = v
            .suspected
            .iter()
            .map(|s| format!("{} (chance {})", slip_words(s.slip), chance(s.chance)))
            .collect();
        blocks.push(Block::Item {
            what: format!("Likeliest mistake in entering: {}.", likely.join(", or ")),
            next: "Compare the controller with machine.toml, setting by setting.".to_owned(),
        });
    } else if v.confirmed == Confirmed::No {
        blocks.push(Block::Item {
            what: "No plain mistake in entering explains it.".to_owned(),
            next: "Look for what changed on the machine since the last cut: a chain re-hung, a loosened sprocket, another \
                   carriage. Tell it to `tautgrid note`, then correct anew from this cut."
                .to_owned(),
        });
    } else if v.confirmed == Confirmed::CannotTell {
        blocks.push(Block::Para(
            "More distances narrow it down: `tautgrid analyse --more 6` names those that tell most."
                .to_owned(),
        ));
    }
    blocks
}
