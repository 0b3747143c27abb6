//! Why: what can be seen with a tape, and which parts of the machine are behind it.

use crate::machine::Unknown;
use crate::record::*;
use crate::report::numbers::{Measure, fixed, percent};
use crate::report::outline::{Block, Table, number, text};
use crate::report::{plain, words};

/// An estimate smaller than this many standard uncertainties is no clear error (about 95 %).
const CLEAR: f64 = 2.0;

/// The displacement split into width, height, squareness and the curved rest.
pub(super) fn symptoms(a: &Analysis) -> Vec<Block> {
    let (s, mm) = (&a.symptoms, Measure::length(a.unit));
    let ratio = Measure::RATIO;
    // How much a ratio comes to over the sheet, in words.
    let over = |symptom: Symptom, words: [&str; 2], side: &str, side_mm: f64| {
        let Estimate { value, u } = symptom.estimate;
        if value.abs() < CLEAR * u {
            return "no clear error".to_owned();
        }
        let word = if value > 0.0 { words[0] } else { words[1] };
        format!("{word}: {} over the sheet's {side}", mm.size_unit((value * side_mm / 1000.0).abs()))
    };
    let moved = |symptom: Symptom, words: [&str; 2]| {
        let Estimate { value, u } = symptom.estimate;
        match value {
            _ if value.abs() < CLEAR * u => "no clear error".to_owned(),
            _ if value > 0.0 => words[0].to_owned(),
            _ => words[1].to_owned(),
        }
    };
    let row = |name: &str, m: Measure, symptom: Symptom, meaning: String| {
        let amount = format!("{} {}", m.signed_estimate(symptom.estimate), m.word);
        vec![name.to_owned(), amount, percent(symptom.share), meaning]
    };
    let (width_mm, height_mm) = (a.sheet.width_mm, a.sheet.height_mm);
    let mut rows = vec![
        row("width", ratio, s.scale_x, over(s.scale_x, ["too wide", "too narrow"], "width", width_mm)),
        row("height", ratio, s.scale_y, over(s.scale_y, ["too tall", "too short"], "height", height_mm)),
        row("skew", ratio, s.skew, over(s.skew, ["top leans right", "top leans left"], "height", height_mm)),
        vec![
            "curved rest".to_owned(),
            format!("{} rms", mm.size_unit(s.rest_rms_mm)),
            percent(s.rest_share),
            "no straight-line cure".to_owned(),
        ],
    ];
    let placement = [
        ("shift sideways", mm, s.shift_x, ["too far right", "too far left"]),
        ("shift up", mm, s.shift_y, ["too high", "too low"]),
        ("turn", ratio, s.turn, ["turned anticlockwise", "turned clockwise"]),
    ];
    for (name, m, symptom, words) in placement {
        if let Some(symptom) = symptom {
            rows.push(row(name, m, symptom, moved(symptom, words)));
        }
    }
    let mut blocks = vec![Block::Table(Table {
        caption: "The error split into what can be seen on the sheet".to_owned(),
        columns: vec![text("symptom"), number("size"), number("share of error"), text("in words")],
        rows,
        strong: None,
    })];
    if s.shift_x.is_none() && s.shift_y.is_none() && s.turn.is_none() {
        blocks.push(Block::Para(
            "Shift and turn of the whole pattern are not known: that needs readings to the sheet's edges."
                .to_owned(),
        ));
    }
    blocks
}

/// The unknowns by the size of the error they make, then what cannot be told apart and what not at all.
pub(super) fn causes(a: &Analysis) -> Vec<Block> {
    let mm = Measure::length(a.unit);
    let row = |cause: &Cause| {
        let result = a.unknowns.iter().find(|r| r.unknown == cause.unknown);
        let m = Measure::of(cause.unknown, a.unit);
        let correction = result.map(|r| {
            let e = Estimate { value: r.correction(), u: r.estimate.u };
            format!("{} {}", m.signed_estimate(e), m.word)
        });
        vec![
            words::label(cause.unknown).to_owned(),
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
                number(format!("error it makes, {} rms", mm.word)),
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
