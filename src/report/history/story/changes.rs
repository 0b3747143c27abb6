//! Changed or not, from cut to cut and between any two.

use super::super::words;
use super::{MOST_ROWS, section};
use crate::difference::Change;
use crate::history::{Comparison, History, Sighting};
use crate::machine::Unknown;
use crate::report::numbers::{Measure, chance};
use crate::report::outline::{Block, Section, Table, Tone, number, text};
use crate::report::{plain, words as names};

pub(super) fn changes(h: &History) -> Section {
    let mm = Measure::length(h.unit);
    let row = |c: &Comparison| {
        let ratio = |s: &Sighting| Measure::RATIO.signed_estimate(s.difference);
        vec![
            format!("{} to {}", plain(&c.earlier), plain(&c.later)),
            mm.estimate(c.map.rms_mm),
            words::change(c.map.answer, c.map.could_hide_mm.map(|m| mm.size(m)).as_deref()),
            ratio(&c.symptoms[0]),
            ratio(&c.symptoms[1]),
            ratio(&c.symptoms[2]),
        ]
    };
    let limit = h.comparisons.first().map_or(0.0, |c| c.map.limit_mm);
    let table = Table {
        caption: format!(
            "The machine itself from cut to cut, settings played no part: change over the sheet in {} rms (what matters: \
             {}), of the scales and the skew in mm/m",
            mm.word,
            mm.size(limit)
        ),
        columns: vec![
            text("from, to"),
            number("over the sheet"),
            text("answer"),
            number("scale x").optional(),
            number("scale y").optional(),
            number("skew").optional(),
        ],
        rows: h.comparisons.iter().rev().take(MOST_ROWS).rev().map(row).collect(),
        strong: Some(2),
    };
    section("Changed or not", vec![Block::Table(table)])
}

/// Two cuts against each other.
pub(in super::super) fn comparison(h: &History, c: &Comparison) -> Vec<Section> {
    let mm = Measure::length(h.unit);
    let tone = match (c.map.answer, c.map.could_hide_mm) {
        (Some(Change::Unchanged), None) => Tone::Good,
        (Some(Change::Changed), _) => Tone::Bad,
        _ => Tone::Unsure,
    };
    let answer = format!(
        "The machine: {}. Over the sheet {} {} rms; {} would matter.",
        words::change(c.map.answer, c.map.could_hide_mm.map(|m| mm.size_unit(m)).as_deref()),
        mm.estimate(c.map.rms_mm),
        mm.word,
        mm.size_unit(c.map.limit_mm)
    );
    let chance = c.map.p_value.map_or_else(
        || "The two cuts have no reading that speaks of the same thing.".to_owned(),
        |p| format!("Readings as different would come in {} of pairs with nothing changed.", chance(p)),
    );
    let tape = if c.same_tape {
        " Both were read with the same tape, whose error cancels."
    } else {
        " They were read with different tapes, whose errors do not cancel."
    };
    let mut rows: Vec<Vec<String>> = ["scale x", "scale y", "skew"]
        .into_iter()
        .zip(&c.symptoms)
        .map(|(name, s)| compared(name, s, Measure::RATIO))
        .collect();
    for u in Unknown::ALL {
        rows.push(match &c.unknowns[u] {
            Some(s) => compared(names::label(u), s, Measure::of(u, h.unit)),
            None => vec![
                names::label(u).to_owned(),
                "not determinable".to_owned(),
                String::new(),
                String::new(),
                String::new(),
            ],
        });
    }
    let table = Table {
        caption: "Later less earlier, with what would matter by itself".to_owned(),
        columns: vec![
            text(""),
            number("difference"),
            number("matters from").optional(),
            text("unit"),
            text("answer"),
        ],
        rows,
        strong: Some(1),
    };
    vec![section(
        "Changed or not",
        vec![
            Block::Answer(tone, answer),
            Block::Para(format!("{chance}{tape} Settings changed in between play no part.")),
            Block::Table(table),
        ],
    )]
}

fn compared(name: &str, s: &Sighting, m: Measure) -> Vec<String> {
    vec![
        name.to_owned(),
        m.signed_estimate(s.difference),
        m.size(s.limit),
        m.word.replace(' ', "\u{a0}"),
        words::change(s.answer, s.could_hide.map(|v| m.size(v)).as_deref()),
    ]
}
