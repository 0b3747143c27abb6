//! The report in plain sentences: the answer first, then what to change, then why, then what is doubtful.

mod readings;
mod verification;
mod why;

use super::numbers::{Measure, chance, fixed};
use super::outline::{Block, Section, Table, Tone, number, text};
use super::{notices, words};
use crate::frame::Point;
use crate::record::*;

pub(super) use readings::distance;

/// Everything that every report says, in its order.
pub(super) fn sections(a: &Analysis) -> Vec<Section> {
    let (first, later): (Vec<_>, Vec<_>) = a.notices.iter().map(notices::words).partition(|w| w.first);
    let items = |notices: Vec<notices::Words>| {
        notices.into_iter().map(|w| Block::Item { what: w.what, next: w.next }).collect::<Vec<_>>()
    };
    let all = [
        ("The answer", answer(a)),
        ("Did the new settings go in right?", verification::blocks(a)),
        ("Before you change anything", items(first)),
        ("What to change", change(a)),
        ("What a tape would see", why::symptoms(a)),
        ("Where it comes from", why::causes(a)),
        ("Doubtful readings", readings::doubtful(a)),
        ("Please note", items(later)),
        ("How well the readings fit", vec![Block::Para(readings::fit(a))]),
    ];
    let sections = all.into_iter().map(|(title, blocks)| Section { title, blocks });
    sections.filter(|section| !section.blocks.is_empty()).collect()
}

/// What `correct` says: the changes with how well each is known, and what stays.
pub(super) fn correction(a: &Analysis) -> Vec<Section> {
    let part = a.error.chosen.map_or_else(Vec::new, |chosen| vec![chosen_part(a, &chosen)]);
    let against: Vec<Block> = a
        .notices
        .iter()
        .filter(|n| n.speaks_against_correcting())
        .map(notices::words)
        .map(|w| Block::Item { what: w.what, next: w.next })
        .collect();
    let all = [
        ("The part you chose", part),
        ("Before you change anything", against),
        ("What to change", change(a)),
        ("What stays", stays(a)),
    ];
    let sections = all.into_iter().map(|(title, blocks)| Section { title, blocks });
    sections.filter(|section| !section.blocks.is_empty()).collect()
}

/// The part of the sheet that the person chose, and what that costs the rest.
fn chosen_part(a: &Analysis, chosen: &ChosenArea) -> Block {
    let mm = Measure::length(a.unit);
    let corner = |p: Point| format!("{}, {}", fixed(p.x_mm / mm.one, 1), fixed(p.y_mm / mm.one, 1));
    Block::Para(format!(
        "From {} to {} {} from the middle of the sheet. Every error below is over this part alone; over the whole sheet \
         these settings should leave {} rms.",
        corner(chosen.rectangle.low),
        corner(chosen.rectangle.high),
        mm.word,
        mm.size_unit(chosen.on_sheet.size.rms_mm)
    ))
}

/// What the new settings cannot mend, and why.
fn stays(a: &Analysis) -> Vec<Block> {
    let (e, mm) = (&a.error, Measure::length(a.unit));
    let mut blocks = vec![Block::Para(format!(
        "Of the {} rms to expect, {} would stay even if the machine were known exactly: this controller cannot hold it. \
         `compensate` can bend a job by it. The rest is what these readings leave open.",
        mm.size_unit(e.after.size.rms_mm),
        mm.size_unit(e.floor.rms_mm)
    ))];
    if !a.not_determined.is_empty() {
        blocks.push(Block::Para(format!(
            "Not determinable from these readings, and left as set: {}. Readings to the sheet's edges would show them.",
            words::list(&a.not_determined)
        )));
    }
    blocks
}

fn answer(a: &Analysis) -> Vec<Block> {
    let (e, mm) = (&a.error, Measure::length(a.unit));
    let limit = mm.size_unit(e.tolerance_mm);
    let worst = mm.size_unit(e.as_cut.max_mm);
    let (tone, headline) = match e.verdict {
        Verdict::Pass => (
            Tone::Good,
            format!("Within the limit of {limit}: at its worst place the machine is {worst} off."),
        ),
        Verdict::Fail => (
            Tone::Bad,
            format!("Not within the limit of {limit}: at its worst place the machine is {worst} off."),
        ),
        Verdict::CannotTell => (
            Tone::Unsure,
            format!(
                "Cannot tell whether the machine is within {limit}: at its worst place it is about {worst} off."
            ),
        ),
    };
    let rms = mm.with_unit(&mm.estimate(Estimate { value: e.as_cut.rms_mm, u: e.as_cut_rms_u_mm }));
    let mut figures = format!(
        "As cut, the error over the sheet is {rms} rms, a typical size. The chance that it is under {limit} \
         everywhere is {}.",
        chance(e.chance_within)
    );
    if !e.placement_known {
        figures +=
            " A shift or turn of the whole pattern is left out: distances between holes cannot see it.";
    }
    let mut blocks = vec![Block::Answer(tone, headline), Block::Para(figures)];
    if e.verdict == Verdict::CannotTell {
        let more =
            "More distances, or each one read again, narrow it down; long ones and diagonals tell most.";
        blocks.push(Block::Para(more.to_owned()));
    }
    blocks
}

/// The changes that show at the fineness of a setting.
fn visible_changes(a: &Analysis) -> (Vec<&SettingChange>, Vec<&SettingChange>) {
    a.settings_new.iter().partition(|s| {
        let m = Measure::of(s.unknown, a.unit);
        m.setting(s.from) != m.setting(s.to)
    })
}

fn change(a: &Analysis) -> Vec<Block> {
    let (changed, same) = visible_changes(a);
    let mut blocks = Vec::new();
    let misentered = a.notices.iter().any(|n| matches!(n, Notice::NotAsEntered { .. }));
    let leave = if !a.fit.converged {
        Some("Nothing yet: the fit did not settle.")
    } else if misentered {
        Some("Nothing yet: first see that the controller has the settings as they are written.")
    } else if a.notices.contains(&Notice::LeaveAlone) {
        Some("Nothing: the improvement to be had is smaller than its own uncertainty.")
    } else if changed.is_empty() {
        Some("Nothing: the settings are as good as these readings can make them.")
    } else {
        None
    };
    match leave {
        Some(words) => blocks.push(Block::Para(words.to_owned())),
        None => {
            blocks.push(Block::Para(
                "Enter all of these together. They belong to one another: one alone may make things worse."
                    .to_owned(),
            ));
            blocks.push(Block::Table(settings(a, &changed)));
            if !same.is_empty() {
                let names: Vec<_> = same.iter().map(|s| s.unknown.name()).collect();
                blocks.push(Block::Para(format!("Leave as it is: {}.", words::list(&names))));
            }
        }
    }
    blocks.push(Block::Table(errors(a)));
    blocks.push(Block::Maps);
    if leave.is_none() {
        blocks.push(Block::Cautions);
        blocks.push(Block::Para(
            "Then cut and measure a fresh pattern. Only a new cut shows that the settings went in right; this one \
             tells nothing of the machine once they have changed."
                .to_owned(),
        ));
    }
    blocks
}

fn settings(a: &Analysis, changed: &[&SettingChange]) -> Table {
    let row = |s: &&SettingChange| {
        let m = Measure::of(s.unknown, a.unit);
        vec![
            s.unknown.name().to_owned(),
            m.setting(s.from),
            m.setting(s.to),
            m.setting_change(s.from, s.to),
            a.unknowns
                .iter()
                .find(|r| r.unknown == s.unknown)
                .map(|r| m.size(r.estimate.u))
                .unwrap_or_default(),
            m.word.to_owned(),
            words::meaning(s.unknown).to_owned(),
        ]
    };
    Table {
        caption: "Settings of the controller".to_owned(),
        columns: vec![
            text("setting"),
            number("from"),
            number("to"),
            number("change"),
            number("±").optional(),
            text("unit"),
            text("what it is").optional(),
        ],
        rows: changed.iter().map(row).collect(),
        strong: Some(2),
    }
}

fn errors(a: &Analysis) -> Table {
    let (e, mm) = (&a.error, Measure::length(a.unit));
    let row = |name: &str, size: ErrorSize, bound95_mm: Option<f64>| {
        vec![
            name.to_owned(),
            mm.size(size.rms_mm),
            mm.size(size.max_mm),
            bound95_mm.map(|b| mm.size(b)).unwrap_or_default(),
        ]
    };
    Table {
        caption: match e.chosen {
            None => "Error over the sheet, before and after".to_owned(),
            Some(_) => "Error over the part chosen, before and after".to_owned(),
        },
        columns: vec![
            text(format!("error, {}", mm.word)),
            number("rms"),
            number("worst place"),
            number("rms under, 95\u{a0}% sure"),
        ],
        rows: vec![
            row("as cut", e.as_cut, None),
            row("with the new settings", e.after.size, Some(e.after.bound95_mm)),
            row("best for this controller", e.floor, None),
            row("with compensate instead", e.compensated.size, Some(e.compensated.bound95_mm)),
        ],
        strong: Some(1),
    }
}
