//! The words of the history, in one place.

use crate::charts::Rule;
use crate::difference::Change;
use crate::history::{DAYS_A_MONTH, Discord, Mark, Reached, Tracked};
use crate::report::numbers::fixed;
use crate::report::plain;

/// An answer to "has it changed?"; `hidden` is what could hide where no change is seen, with its unit if it needs one.
pub(super) fn change(answer: Option<Change>, hidden: Option<&str>) -> String {
    match (answer, hidden) {
        (None, _) => "not determinable".to_owned(),
        (Some(Change::Unchanged), None) => "unchanged".to_owned(),
        (Some(Change::Unchanged), Some(most)) => format!("no change is seen, but up to {most} could hide"),
        (Some(Change::TooLittle), _) => "changed, too little to matter".to_owned(),
        (Some(Change::Changed), _) => "changed".to_owned(),
    }
}

/// The same for a program.
pub(super) const fn change_key(answer: Option<Change>) -> &'static str {
    match answer {
        None => "not determinable",
        Some(Change::Unchanged) => "unchanged",
        Some(Change::TooLittle) => "too little to matter",
        Some(Change::Changed) => "changed",
    }
}

/// What is charted.
pub(super) const fn tracked(what: Tracked) -> &'static str {
    match what {
        Tracked::ScaleX => "scale x",
        Tracked::ScaleY => "scale y",
        Tracked::Skew => "skew",
        Tracked::HoleScatter => "scatter of the holes",
    }
}

/// A rule that was broken, after the name of the quantity.
pub(super) const fn rule(rule: Rule) -> &'static str {
    match rule {
        Rule::Beyond => "lies outside its limits",
        Rule::Drifted => "has drifted off: the weighted average of the last cuts lies outside its limits",
    }
}

/// A cut that does not go with the others, and what to do.
pub(super) const fn discord(discord: Discord) -> [&'static str; 2] {
    match discord {
        Discord::Alone => [
            "does not go with the cuts before and after it.",
            "Most likely the controller did not have the settings that machine.toml named, or the sheet moved. Its \
             readings are left out of the wear.",
        ],
        Discord::Changed => [
            "shows another machine than the cuts before it, and it stayed so.",
            "Something changed that is not written down: write it down with `tautgrid note`, with the date, and wear will \
             not be mistaken for it.",
        ],
        Discord::Undecided => [
            "does not go with the cuts before it.",
            "Either the settings were not entered as machine.toml names them, or the machine has changed. Compare \
             the settings in the controller with machine.toml; the next cut tells which.",
        ],
    }
}

/// What was done, in a line.
pub(super) fn mark(mark: &Mark) -> String {
    let mut line = mark.kind.in_words().to_owned();
    if !mark.settings.is_empty() {
        let names: Vec<&str> = mark.settings.iter().map(|s| s.0.name()).collect();
        line = format!("{line}: {}", names.join(", "));
    }
    if !mark.words.is_empty() {
        line = format!("{line}: {}", plain(&mark.words));
    }
    line
}

/// When the error passes the limit, as a sentence.
pub(super) fn reached(reached: Reached, horizon: usize) -> String {
    match reached {
        Reached::Already => "The largest error is beyond the limit now: correct the settings.".to_owned(),
        Reached::Beyond => format!(
            "With the settings as they are, the largest error should stay within the limit for the {horizon} months ahead \
             that are looked at."
        ),
        Reached::Within { early, middle, late } => {
            let when = |m: Option<f64>| {
                m.map_or_else(|| format!("not within {horizon} months"), |m| span(m * DAYS_A_MONTH))
            };
            format!(
                "With the settings as they are, the largest error passes the limit most likely in {} from the last cut; \
                 in 5 of 100 machines like this one already in {}, in 95 of 100 by {}.",
                when(middle),
                when(Some(early)),
                late.map_or_else(
                    || format!("no time within {horizon} months"),
                    |m| format!("{} from then", span(m * DAYS_A_MONTH))
                )
            )
        }
    }
}

/// A time as a person says it.
pub(super) fn span(days: f64) -> String {
    match days {
        d if d < 1.5 => "a day".to_owned(),
        d if d < 14.0 => format!("{} days", fixed(d, 0)),
        d if d < 61.0 => format!("{} weeks", fixed(d / 7.0, 0)),
        d => format!("{} months", fixed(d / DAYS_A_MONTH, 0)),
    }
}

/// The letter of the `k`-th mark: a to z, then aa, ab ...
pub(super) fn letter(k: usize) -> String {
    let one = |i: usize| char::from(b'a' + (i % 26) as u8);
    if k < 26 { one(k).to_string() } else { format!("{}{}", one(k / 26 - 1), one(k)) }
}
