//! What is said of the months, and in which order.

use super::{picture, scaled, words};
use crate::charts::Basis;
use crate::history::{Comparison, Entry, History, Season, Sighting, Wear};
use crate::interval;
use crate::machine::Unknown;
use crate::record::{Estimate, Verdict};
use crate::report::numbers::{Measure, chance, fixed};
use crate::report::outline::{Block, Section, Table, Tone, number, text};
use crate::report::{plain, words as names};

/// Cuts shown in the table on a screen or page; all of them are in the exported files.
const MOST_ROWS: usize = 60;

/// The whole story.
pub(super) fn sections(h: &History) -> Vec<Section> {
    let mut out = vec![now(h), cuts(h)];
    if !h.marks.is_empty() {
        out.push(done(h));
    }
    if let Some(wear) = &h.wear {
        out.push(odd(h, wear));
        out.push(growth(h, wear));
        out.push(today(h, wear));
    }
    if !h.comparisons.is_empty() {
        out.push(changes(h));
    }
    out.push(charts(h));
    out.push(next(h));
    out.retain(|s| !s.blocks.is_empty());
    out
}

fn section(title: &'static str, blocks: Vec<Block>) -> Section {
    Section { title, blocks }
}

fn now(h: &History) -> Section {
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

fn cuts(h: &History) -> Section {
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

fn done(h: &History) -> Section {
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

fn odd(h: &History, wear: &Wear) -> Section {
    let item = |(e, at): (&Entry, &crate::history::WearAt)| {
        let [what, next] = words::discord(at.discord?);
        Some(Block::Item { what: format!("Cut {} {what}", plain(&e.id)), next: next.to_owned() })
    };
    section("Cuts that stand out", h.entries.iter().zip(&wear.at).filter_map(item).collect())
}

fn growth(h: &History, wear: &Wear) -> Section {
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

fn today(h: &History, wear: &Wear) -> Section {
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

fn changes(h: &History) -> Section {
    let mm = Measure::length(h.unit);
    let row = |c: &Comparison| {
        let ratio = |s: &Sighting| Measure::RATIO.signed_estimate(s.difference);
        vec![
            format!("{} to {}", plain(&c.earlier), plain(&c.later)),
            mm.estimate(c.map.rms_mm),
            words::change(c.map.answer).to_owned(),
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
pub(super) fn comparison(h: &History, c: &Comparison) -> Vec<Section> {
    let mm = Measure::length(h.unit);
    let tone = match c.map.answer {
        crate::difference::Change::Unchanged => Tone::Good,
        crate::difference::Change::TooLittle => Tone::Unsure,
        crate::difference::Change::Changed => Tone::Bad,
    };
    let answer = format!(
        "The machine: {}. Over the sheet {} {} rms; {} would matter.",
        words::change(c.map.answer),
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
        words::change(s.answer).to_owned(),
    ]
}

fn charts(h: &History) -> Section {
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
    let few = h.charts.iter().flat_map(|c| &c.chart.pieces).any(|p| p.basis != Basis::Spread);
    if h.entries.len() > 1 {
        blocks.push(Block::Para(format!(
            "{}Limits are 3 standard deviations for a cut and 2.962 for the weighted average (weight 0.2): on a machine that has \
             not changed they call once in 370 and once in 500 cuts. Each series begins anew where something was done to \
             the machine.{}",
            if blocks.is_empty() { "No cut lies outside the limits of its charts. " } else { "" },
            if few {
                " Where fewer than 8 cuts stand together, the limits come from the uncertainty of the readings."
            } else {
                ""
            }
        )));
    }
    section("Control charts", blocks)
}

fn next(h: &History) -> Section {
    let Some(advice) = h.look_again else { return section("", Vec::new()) };
    let Some(last) = h.entries.last() else { return section("", Vec::new()) };
    let day = last.date.saturating_add(jiff::Span::new().days(advice.days.round() as i64));
    let (what, why) = match advice.basis {
        interval::Basis::Beyond => (
            "Correct now, then cut again.".to_owned(),
            "The error is likely to be beyond the limit already.".to_owned(),
        ),
        interval::Basis::Drift => (
            format!("Cut the next test by {day}, in {} from the last.", words::span(advice.days)),
            "By then 5 of 100 machines like this one would be beyond the limit.".to_owned(),
        ),
        interval::Basis::Staircase => (
            format!("Cut the next test by {day}, in {} from the last.", words::span(advice.days)),
            "Each test that is passed lengthens the interval by a quarter, each that is failed shortens it to six tenths; \
             the growth that is seen does not ask for less."
                .to_owned(),
        ),
    };
    let late =
        if day < h.today && advice.basis != interval::Basis::Beyond { " That day is past." } else { "" };
    section("When to look again", vec![Block::Item { what, next: format!("{why}{late}") }])
}
