//! What only the page has room for: every hole, every reading, every unknown, and what the words mean.

use crate::record::*;
use crate::report::numbers::{Measure, amount, fixed, percent, signed};
use crate::report::outline::{Block, Section, Table, number, text};
use crate::report::story::distance;
use crate::report::{plain, words};
use maud::{Markup, html};

/// The tables behind the report.
pub(super) fn sections(a: &Analysis) -> Vec<Section> {
    let mut sections = vec![
        one("Unknowns of the machine", unknowns(a)),
        one("Holes", holes(a)),
        one("Readings", readings(a)),
        one("Instruments", instruments(a)),
    ];
    if !a.correlation_names.is_empty() {
        sections.push(one("Correlations", correlations(a)));
    }
    sections
}

fn one(title: &'static str, table: Table) -> Section {
    Section { title, blocks: vec![Block::Table(table)] }
}

fn unknowns(a: &Analysis) -> Table {
    let row = |r: &UnknownResult| {
        let m = Measure::of(r.unknown, a.unit);
        vec![
            r.unknown.name().to_owned(),
            words::meaning(r.unknown).to_owned(),
            m.setting(r.setting),
            m.estimate(r.expected),
            m.estimate(r.estimate),
            m.word.replace(' ', "\u{a0}"),
            words::known_from(r.known_from).to_owned(),
        ]
    };
    Table {
        caption: "What was set, what was expected before the readings, and what they say".to_owned(),
        columns: vec![
            text("unknown"),
            text("larger means").optional(),
            number("setting"),
            number("expected"),
            number("estimate"),
            text("unit"),
            text("known from"),
        ],
        rows: a.unknowns.iter().map(row).collect(),
        strong: Some(4),
    }
}

fn holes(a: &Analysis) -> Table {
    let mm = Measure::length(a.unit);
    let place = |v: f64| fixed(v / mm.one, mm.places);
    let row = |h: &HoleResult| {
        vec![
            plain(&h.id),
            place(h.target.x_mm),
            place(h.target.y_mm),
            mm.signed(h.displacement.x_mm),
            mm.signed(h.displacement.y_mm),
            mm.size(h.displacement.norm_mm()),
            amount(h.u_mm / mm.one, mm.places),
        ]
    };
    let caption = if a.error.placement_known {
        format!("Where each hole should be and how far from there it is, {}", mm.word)
    } else {
        format!(
            "Where each hole should be and how far from there it is, {}; shift and turn left out",
            mm.word
        )
    };
    Table {
        caption,
        columns: vec![
            text("hole"),
            number("x").optional(),
            number("y").optional(),
            number("to the right"),
            number("up"),
            number("distance"),
            number("±"),
        ],
        rows: a.holes.iter().map(row).collect(),
        strong: Some(5),
    }
}

fn readings(a: &Analysis) -> Table {
    let mm = Measure::length(a.unit);
    let row = |(r, used): (&ReadingResult, bool)| {
        vec![
            r.line.to_string(),
            format!("{} to {}", plain(&r.from), plain(&r.to)),
            plain(&r.instrument),
            distance(r.reading_mm, a.unit),
            distance(r.expected_mm, a.unit),
            mm.signed(r.excess_mm()),
            r.w.map_or_else(|| "unchecked".to_owned(), |w| signed(w, 1)),
            percent(r.redundancy),
            if used { "used" } else { "set aside" }.to_owned(),
        ]
    };
    let mut all: Vec<(&ReadingResult, bool)> =
        a.used.iter().map(|r| (r, true)).chain(a.set_aside.iter().map(|r| (r, false))).collect();
    all.sort_by_key(|(r, _)| r.line);
    Table {
        caption: format!("Each distance, centre to centre, against what the fit makes of it, {}", mm.word),
        columns: vec![
            text("line"),
            text("from, to"),
            text("with").optional(),
            number("reading"),
            number("expected"),
            number("excess"),
            number("w"),
            number("checked").optional(),
            text("status"),
        ],
        rows: all.into_iter().map(row).collect(),
        strong: Some(5),
    }
}

fn instruments(a: &Analysis) -> Table {
    let mm = Measure::length(a.unit);
    let shown = |e: Option<Estimate>, m: Measure| {
        e.map_or_else(|| "none assumed".to_owned(), |e| format!("{} {}", m.signed_estimate(e), m.word))
    };
    let row = |i: &InstrumentResult| {
        vec![plain(&i.name), i.readings.to_string(), shown(i.scale, Measure::RATIO), shown(i.zero, mm)]
    };
    Table {
        caption: "Errors that all readings of an instrument share".to_owned(),
        columns: vec![text("instrument"), number("readings"), number("scale error"), number("zero error")],
        rows: a.instruments.iter().map(row).collect(),
        strong: None,
    }
}

fn correlations(a: &Analysis) -> Table {
    let row = |(k, values): (usize, &Vec<f64>)| {
        let name = a.correlation_names.get(k).map_or("", |u| u.name());
        // The lower half says it all.
        let cells = values.iter().enumerate().map(|(j, &c)| if j > k { String::new() } else { fixed(c, 2) });
        std::iter::once(name.to_owned()).chain(cells).collect()
    };
    let columns = a.correlation_names.iter().map(|u| number(u.name()));
    Table {
        caption: "How the estimates hang together: near 1 or -1, two can hardly be told apart".to_owned(),
        columns: std::iter::once(text("")).chain(columns).collect(),
        rows: a.correlation.iter().enumerate().map(row).collect(),
        strong: None,
    }
}

const GLOSSARY: [[&str; 2]; 12] = [
    ["rms", "Root mean square: a typical size. About two places in three are nearer than this."],
    [
        "±",
        "Standard uncertainty: the truth lies within it about two times in three, within twice of it 95 times in 100.",
    ],
    ["95 % sure", "In 95 of 100 cases like this one the figure will be under the bound."],
    ["mm/m", "Millimetres for each metre, so thousandths: 1 mm/m is 0.012 inch in a foot."],
    [
        "setting",
        "What the controller believes. Expected: what is believed before the readings. Estimate: what the readings say.",
    ],
    ["symptom", "What can be seen on the sheet: too wide, too tall, leaning, curved."],
    ["cause", "Which part of the machine makes the error."],
    ["skew", "How far the upright axis is from square; positive when the top leans right."],
    [
        "set aside",
        "A reading kept out of the fit because it does not go with the others. It is always shown.",
    ],
    ["excess", "Reading less what the fit expects."],
    ["w", "Excess over its own uncertainty (Baarda). Beyond about 3 a reading is doubtful."],
    ["checked", "How much of a slip in this reading the others would show: at 0 % nothing checks it."],
];

/// What the words mean.
pub(super) fn glossary() -> Markup {
    html! {
        section.glossary {
            h3 { "What the words mean" }
            dl { @for [word, meaning] in GLOSSARY { div { dt { (word) } dd { (meaning) } } } }
        }
    }
}
