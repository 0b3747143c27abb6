//! All cuts together: what does not go with the others, what wears, and the machine as it is now.

use super::super::{picture, scaled, words};
use super::section;
use crate::history::{Entry, History, Season, Wear};
use crate::machine::Unknown;
use crate::report::numbers::{Measure, fixed};
use crate::report::outline::{Block, Section, Table, number, text};
use crate::report::{plain, words as names};

pub(super) fn odd(h: &History, wear: &Wear) -> Section {
    let item = |(e, at): (&Entry, &crate::history::WearAt)| {
        let [what, next] = words::discord(at.discord?);
        Some(Block::Item { what: format!("Cut {} {what}", plain(&e.id)), next: next.to_owned() })
    };
    section("Cuts that stand out", h.entries.iter().zip(&wear.at).filter_map(item).collect())
}

pub(super) fn growth(h: &History, wear: &Wear) -> Section {
    let ratio = Measure::RATIO;
    let rows = wear
        .growth
        .iter()
        .map(|g| {
            let e = g.per_month;
            let year = scaled(e, 1.0 / 12.0);
            vec![
                names::label(g.unknown).to_owned(),
                ratio.signed_estimate(e),
                format!("{} to {}", fixed(e.value - 1.96 * e.u, 3), fixed(e.value + 1.96 * e.u, 3)),
                ratio.signed_estimate(year),
                match (g.seen, e.value > 0.0) {
                    (false, _) => "no slope seen yet",
                    (true, true) => "it grows",
                    (true, false) => "it shrinks: not wear",
                }
                .to_owned(),
            ]
        })
        .collect();
    let mut blocks = vec![Block::Table(Table {
        caption: "Growth of the chains, mm/m; the interval holds the truth in 95 of 100 cases".to_owned(),
        columns: vec![
            text("chain"),
            number("a month"),
            number("95 %"),
            number("a year").optional(),
            text("says"),
        ],
        rows,
        strong: Some(1),
    })];
    blocks.push(Block::Para(match wear.season {
        Some(s @ Season::PerKelvin(e)) if s.seen() => format!(
            "Warmth lengthens both chains by {} mm/m for each degree C (steel alone: 0.0115); it is allowed for.",
            ratio.signed_estimate(e)
        ),
        Some(Season::PerKelvin(_)) => {
            "The cuts show no effect of the temperature yet; its uncertainty is part of every figure here.".to_owned()
        }
        Some(s @ Season::Yearly(e)) if s.seen() => format!(
            "Over the year both chains swing by {} mm/m to either side; it is allowed for. Note the temperature with each \
             cut, and season and wear are told apart better.",
            ratio.estimate(e)
        ),
        Some(Season::Yearly(_)) => "Not every cut has its temperature, so a season cannot be told from wear until the cuts \
             span more than a year; the intervals allow for one."
            .to_owned(),
        None => String::new(),
    }));
    blocks.retain(|b| !matches!(b, Block::Para(text) if text.is_empty()));
    blocks.extend(picture::pitches(h));
    section("Wear", blocks)
}

pub(super) fn today(h: &History, wear: &Wear) -> Section {
    let (Some(last), Some(entry)) = (wear.at.last(), h.entries.last()) else {
        return section("", Vec::new());
    };
    let rows = Unknown::ALL
        .into_iter()
        .filter(|&u| last.unknowns[u].u > 0.0)
        .map(|u| {
            let m = Measure::of(u, h.unit);
            let known = wear.known[u];
            vec![
                names::label(u).to_owned(),
                if known { m.estimate(last.unknowns[u]) } else { "not determinable".to_owned() },
                m.estimate(entry.unknowns[u]),
                m.setting(entry.settings[u]),
                m.word.replace(' ', "\u{a0}"),
            ]
        })
        .collect();
    let table = Table {
        caption: "The machine at the last cut: from all cuts together, and from that cut with what was expected before it; \
                  pitches of all cuts together at 20 degrees C"
            .to_owned(),
        columns: vec![
            text("unknown"),
            number("all cuts"),
            number("last cut").optional(),
            number("setting then"),
            text("unit"),
        ],
        rows,
        strong: Some(1),
    };
    let mut blocks = vec![Block::Table(table)];
    blocks.extend(picture::others(h));
    section("The machine now", blocks)
}
