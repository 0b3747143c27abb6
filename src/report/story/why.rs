//! Why: what can be seen with a tape, and which parts of the machine are behind it.

use crate::machine::Unknown;
use crate::record::*;
use crate::report::numbers::{Measure, NOT_KNOWN, TIED, fixed, percent};
use crate::report::outline::{Block, Table, number, text};
use crate::report::{plain, words};

/// An estimate smaller than this many standard uncertainties is no clear error (about 95 %).
const CLEAR: f64 = 2.0;

/// The displacement split into width, height, squareness and the curved rest.
pub(super) fn symptoms(a: &Analysis) -> Vec<Block> {
    let (s, mm, ratio) = (&a.symptoms, Measure::length(a.unit), Measure::RATIO);
    // What it comes to over a whole side of the sheet.
    let over =
        |symptom: Symptom, side_mm: f64| mm.size_unit((symptom.estimate.value * side_mm / 1000.0).abs());
    let (width_mm, height_mm) = (a.sheet.width_mm, a.sheet.height_mm);
    let mut rows = vec![
        row("width", s.scale_x, ["too wide", "too narrow"], ratio, over(s.scale_x, width_mm)),
        row("height", s.scale_y, ["too tall", "too short"], ratio, over(s.scale_y, height_mm)),
        row("skew", s.skew, ["top leans right", "top leans left"], ratio, over(s.skew, height_mm)),
        vec![
            "curved rest".to_owned(),
            "rows, columns bow".to_owned(),
            format!("{}{TIED}rms", mm.size_unit(s.rest_rms_mm)),
            String::new(),
            percent(s.rest_share),
        ],
    ];
    let shifts = [
        ("sideways", s.shift_x, ["too far right", "too far left"], mm, String::new()),
        ("up, down", s.shift_y, ["too high", "too low"], mm, String::new()),
    ];
    let turn = s.turn.map(|t| ("turn", Some(t), ["anticlockwise", "clockwise"], ratio, over(t, width_mm)));
    let placement = shifts.into_iter().chain(turn);
    let known =
        placement.filter_map(|(name, symptom, words, m, over)| Some(row(name, symptom?, words, m, over)));
    rows.extend(known);
    if s.shift_x.is_none() && s.shift_y.is_none() && s.turn.is_none() {
        let unknown = ["shift, turn", "unseen hole to hole", NOT_KNOWN, "", ""];
        rows.push(unknown.map(str::to_owned).to_vec());
    }
    vec![Block::Table(Table {
        caption: "The error split into what can be seen on the sheet".to_owned(),
        columns: vec![
            text("symptom"),
            text("in words"),
            number("size"),
            number("over the sheet").optional(),
            number("share"),
        ],
        rows,
        strong: None,
    })]
}

/// A symptom: its name, which way it goes, its size, what that comes to over the sheet, its share.
fn row(name: &str, symptom: Symptom, words: [&str; 2], m: Measure, over: String) -> Vec<String> {
    let Estimate { value, u } = symptom.estimate;
    let word = match value {
        _ if value.abs() < CLEAR * u => "no clear error",
        _ if value > 0.0 => words[0],
        _ => words[1],
    };
    let size = m.with_unit(&m.signed_estimate(symptom.estimate));
    vec![name.to_owned(), word.to_owned(), size, over, percent(symptom.share)]
}

/// The unknowns by the size of the error they make, then what cannot be told apart and what not at all.
pub(super) fn causes(a: &Analysis) -> Vec<Block> {
    let mm = Measure::length(a.unit);
    let row = |cause: &Cause| {
        let result = a.unknowns.iter().find(|r| r.unknown == cause.unknown);
        // The long unit of the stretch is in its name here.
        let (name, m) = match cause.unknown {
            Unknown::Stretch => ("chain stretch per 100\u{a0}N", Measure::RATIO),
            unknown => (words::label(unknown), Measure::of(unknown, a.unit)),
        };
        let correction = result.map(|r| {
            let e = Estimate { value: r.correction(), u: r.estimate.u };
            m.with_unit(&m.signed_estimate(e))
        });
        vec![
            name.to_owned(),
            correction.unwrap_or_default(),
            mm.estimate(cause.rms),
            mm.size(cause.max_mm),
            result.map(|r| words::known_from(r.known_from).to_owned()).unwrap_or_default(),
        ]
    };
    let mut blocks = Vec::new();
    if !a.causes.is_empty() {
        blocks.push(Block::Table(Table {
            caption: "Causes, the largest first".to_owned(),
            columns: vec![
                text("cause"),
                number("machine - setting"),
                number(format!("makes, {} rms", mm.word)),
                number(format!("at worst, {}", mm.word)).optional(),
                text("known from").optional(),
            ],
            rows: a.causes.iter().map(row).collect(),
            strong: Some(2),
        }));
    }
    if !a.lookalikes.is_empty() {
        let pairs: Vec<String> = a.lookalikes.iter().map(pair).collect();
        blocks.push(Block::Para(format!(
            "Hard to tell apart in these readings: {}. One can stand in for the other, so each number is weak alone \
             while the set of them is strong.",
            pairs.join("; ")
        )));
    }
    if !a.not_determined.is_empty() {
        let names: Vec<String> = a.not_determined.iter().map(|name| of_name(name)).collect();
        blocks.push(Block::Para(format!(
            "Not determinable from these readings: {}. {}",
            words::list(&names),
            what_to_measure(a)
        )));
    }
    blocks
}

fn pair(l: &Lookalikes) -> String {
    format!("{} and {} (correlation {})", words::label(l.a), words::label(l.b), fixed(l.correlation, 2))
}

fn of_name(name: &str) -> String {
    Unknown::from_name(name).map_or_else(|| plain(name), |u| words::label(u).to_owned())
}

/// The readings that would determine what these do not.
fn what_to_measure(a: &Analysis) -> String {
    let corner = |side: f64| {
        let reach = |h: &HoleResult| side * h.target.x_mm - h.target.y_mm;
        a.holes.iter().max_by(|p, q| reach(p).total_cmp(&reach(q))).map(|h| plain(&h.id))
    };
    match (a.error.placement_known, corner(-1.0), corner(1.0)) {
        (false, Some(left), Some(right)) => format!(
            "To learn them, measure from the sheet's edges: left to {left}, bottom to {left} and bottom to {right} \
             are enough, more is better."
        ),
        _ => "Distances in other directions, spread over the whole sheet, would tell.".to_owned(),
    }
}
