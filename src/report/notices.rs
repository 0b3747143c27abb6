//! What a person should know besides the numbers, in words, each with the next step.

use super::words;
use crate::frame::Edge;
use crate::record::{EntrySlip, Leftover, Notice};
use crate::report::numbers::{chance, fixed};

/// A notice in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    /// Short name for programs, e.g. `whole pitch`.
    pub kind: &'static str,
    /// What was found.
    pub what: String,
    /// What to do about it.
    pub next: String,
    /// Must be read before anything is changed.
    pub first: bool,
}

/// A notice in words, with the next step.
pub fn words(notice: &Notice) -> Words {
    let (kind, what, next) = match notice {
        Notice::ReadingsDisagree { p_value, factor } => (
            "readings disagree",
            format!(
                "The readings disagree with each other, or with the set-up, about {} times more than the \
                 stated uncertainties allow (chance of that by luck: {}).",
                fixed(*factor, 1),
                chance(*p_value)
            ),
            "Measure the readings with the largest excess once more. If they hold, the tape reads less well \
             than machine.toml says, or the holes scatter more: raise `random` of the instrument or `hole` \
             under [scatter]. Until then take every ± here as too small."
                .to_owned(),
        ),
        Notice::ReadingsTooGood { p_value } => (
            "readings too good",
            format!(
                "The readings agree better than the stated uncertainties promise (chance of that by luck: {}).",
                chance(*p_value)
            ),
            "Welcome if every distance was truly read afresh. If some were copied, worked out or nudged towards \
             the plan, read them again. If you simply read well, lower `random` of the instrument."
                .to_owned(),
        ),
        Notice::PatternLeft { pattern, rms_mm, p_value } => (
            "pattern left over",
            format!(
                "After the best fit the holes are still out in a pattern: {} (about {} mm ± {} mm rms; chance of any \
                 such pattern by luck: {}).",
                pattern_words(*pattern).0,
                fixed(rms_mm.value, 2),
                fixed(rms_mm.u, 2),
                chance(*p_value)
            ),
            format!(
                "Something that the fit does not know of is at work. {} The corrections here still hold on \
                 average over the sheet, but not as closely as stated.",
                pattern_words(*pattern).1
            ),
        ),
        Notice::WholePitch { unknown, pitches } => (
            "whole pitch",
            format!(
                "The {} is off by close to {} ({}): the chain may have skipped on its sprocket, or been \
                 hung on the wrong link.",
                words::label(*unknown),
                match pitches.unsigned_abs() {
                    1 => "one pitch".to_owned(),
                    n => format!("{n} pitches"),
                },
                if *pitches < 0 { "too short" } else { "too long" }
            ),
            "Support the carriage, then check that chain against its reference mark before you change a setting. \
             If you re-hang it, cut and measure a new pattern: this one no longer tells of the machine."
                .to_owned(),
        ),
        Notice::ReadFromBehind => (
            "read from behind",
            "The readings fit better with left and right swapped: the sheet seems to have been read from behind."
                .to_owned(),
            "Look for the odd hole: seen from the front it is at the lower left. If the sheet was turned over, \
             measure again from the front; every left and right correction would come out reversed."
                .to_owned(),
        ),
        Notice::NotSettled => (
            "not settled",
            "The fit did not settle, so no number here can be trusted.".to_owned(),
            "Change nothing. Check the readings for a wrong hole or a wrong unit, and machine.toml for a wrong \
             spacing, tooth count or chain pitch."
                .to_owned(),
        ),
        Notice::FewReadings { used } => (
            "few readings",
            format!("Only {used} readings took part: too few to check each other, so one slip can hide."),
            "Measure at least 12 distances spread over the whole sheet, each one twice.".to_owned(),
        ),
        Notice::LeaveAlone => (
            "leave alone",
            "The improvement to be had is smaller than its own uncertainty.".to_owned(),
            "Leave the settings as they are. More readings, or better ones, could show an improvement worth making."
                .to_owned(),
        ),
        Notice::NotAsEntered { slip } => (
            "not as entered",
            format!("The controller seems not to have the settings as they are written: {}.", slip_words(*slip)),
            "Compare every setting in the controller with machine.toml, put right what differs, and cut a fresh pattern: \
             tautgrid prepare --verify. What this report says of the machine takes the settings for right, so correct \
             nothing by it."
                .to_owned(),
        ),
        Notice::FarFromExpected { unknown, sigmas } => (
            "far from expected",
            format!(
                "The {} comes out {} times its stated uncertainty away from what was expected.",
                words::label(*unknown),
                fixed(sigmas.abs(), 1)
            ),
            "Measure it directly if you can. If it is true, widen its `u` under [expected] in machine.toml and \
             run the analysis again."
                .to_owned(),
        ),
        Notice::PlacementIncomplete { edges } => (
            "placement incomplete",
            format!("Readings to the {} do not fix where the whole pattern sits on the sheet.", edge_list(edges)),
            "Add two distances from one long edge, far apart, and one from a side edge: three numbers fix a \
             shift to the side, a shift up and a turn."
                .to_owned(),
        ),
    };
    let first = matches!(
        notice,
        Notice::WholePitch { .. }
            | Notice::ReadFromBehind
            | Notice::NotSettled
            | Notice::LeaveAlone
            | Notice::NotAsEntered { .. }
    );
    Words { kind, what, next, first }
}

/// A mistake in entering settings, to follow a colon.
pub fn slip_words(slip: EntrySlip) -> String {
    match slip {
        EntrySlip::NothingEntered => "none of the new ones was entered".to_owned(),
        EntrySlip::OnlyOne(one) => format!("only the {} was entered", words::label(one)),
        EntrySlip::LeftOut(one) => format!("all but the {} were entered", words::label(one)),
        EntrySlip::WrongWay => "every change was made the wrong way".to_owned(),
        EntrySlip::WrongSign(one) => format!("the {} was entered with the wrong sign", words::label(one)),
        EntrySlip::Swapped => "left and right were swapped".to_owned(),
        EntrySlip::MmAsInches => "changes in millimetres were entered as inches".to_owned(),
        EntrySlip::InchesAsMm => "changes in inches were entered as millimetres".to_owned(),
    }
}

/// A pattern left over in a word or two, for tables.
pub fn pattern_name(pattern: Leftover) -> &'static str {
    match pattern {
        Leftover::Bow => "bow",
        Leftover::LeftRight => "left-right",
        Leftover::TopBottom => "top-bottom",
        Leftover::AlongLeft => "along left chain",
        Leftover::AlongRight => "along right chain",
    }
}

/// A pattern left over: what it looks like, and what to look at.
fn pattern_words(pattern: Leftover) -> (&'static str, &'static str) {
    match pattern {
        Leftover::Bow => (
            "lines that should be straight are bowed",
            "See whether the sheet lies flat, the frame bends as the carriage moves, or the carriage turns on the way \
             to the sides.",
        ),
        Leftover::LeftRight => (
            "one side of the sheet is stretched more than the other",
            "See whether the two chains differ along their length, or the carriage turns on the way to one side.",
        ),
        Leftover::TopBottom => (
            "the top of the sheet is stretched otherwise than the bottom",
            "See whether both chains run in the plane of the carriage's fixings all the way, and whether the frame leans \
             the same at the top and at the bottom.",
        ),
        Leftover::AlongLeft => (
            "an error changes along the left chain",
            "Look along that chain, with the carriage supported and the power off: stiff or worn links in one part of it, \
             a chain that runs out of the plane of its sprocket, a bent sprocket.",
        ),
        Leftover::AlongRight => (
            "an error changes along the right chain",
            "Look along that chain, with the carriage supported and the power off: stiff or worn links in one part of it, \
             a chain that runs out of the plane of its sprocket, a bent sprocket.",
        ),
    }
}

/// `left and top edges`, `left edge`.
fn edge_list(edges: &[Edge]) -> String {
    match edges {
        [] => "sheet's edges".to_owned(),
        [one] => format!("{} edge", one.name()),
        [most @ .., last] => {
            let most: Vec<_> = most.iter().map(|e| e.name()).collect();
            format!("{} and {} edges", most.join(", "), last.name())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_read_as_a_list() {
        assert_eq!(edge_list(&[Edge::Left]), "left edge");
        assert_eq!(edge_list(&[Edge::Left, Edge::Right, Edge::Top]), "left, right and top edges");
    }
}
