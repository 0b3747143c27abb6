//! The charts of the page: which quantities, with what beside them.

use super::plot::{COLOURS, Dot, Look, Plot, Series};
use super::words;
use crate::history::{DAYS_A_MONTH, Entry, History, Tracked};
use crate::machine::Unknown;
use crate::record::Estimate;
use crate::report::numbers::Measure;
use crate::report::outline::Block;
use crate::report::words as names;
use plotters::prelude::RGBColor;

/// Months of the outlook that are drawn.
const AHEAD: usize = 12;
/// Bars and bands reach two standard uncertainties.
const BAR: f64 = 2.0;

/// Days from the first cut.
fn day(h: &History, date: jiff::civil::Date) -> f64 {
    h.entries.first().map_or(0.0, |e| f64::from((date - e.date).get_days()))
}

fn span_days(h: &History) -> f64 {
    h.entries.last().map_or(1.0, |e| day(h, e.date)).max(1.0)
}

fn marks(h: &History) -> Vec<(f64, String)> {
    let letter = |(k, m): (usize, &crate::history::Mark)| (day(h, m.date), words::letter(k));
    h.marks.iter().enumerate().map(letter).filter(|(d, _)| *d >= 0.0).collect()
}

fn dot(day: f64, e: Estimate, one: f64) -> Dot {
    let (value, bar) = (e.value / one, BAR * e.u / one);
    Dot { day, value, low: value - bar, high: value + bar }
}

/// Dots of the cuts by themselves.
fn dots(
    h: &History,
    name: &str,
    colour: RGBColor,
    one: f64,
    of: impl Fn(&Entry) -> Option<Estimate>,
) -> Series {
    let dots = h.entries.iter().filter_map(|e| Some(dot(day(h, e.date), of(e)?, one))).collect();
    Series { name: name.to_owned(), colour, look: Look::Dots, dots }
}

fn plot<'a>(h: &History, title: String, series: Vec<Series>, marks: &'a [(f64, String)]) -> Plot<'a> {
    let description = format!(
        "{} cuts over {}; bars and bands reach two standard uncertainties.",
        h.entries.len(),
        words::span(span_days(h))
    );
    let first = h.entries.first().map_or(h.today, |e| e.date);
    Plot { title, description, first, days: span_days(h), series, level: None, from_nought: false, marks }
}

/// The error as cut, the limit, and the outlook.
pub(super) fn error(h: &History) -> Block {
    let mm = Measure::length(h.unit);
    let marks = marks(h);
    let mut series = vec![
        dots(h, "rms", COLOURS[0], mm.one, |e| {
            Some(Estimate { value: e.as_cut.rms_mm, u: e.as_cut_rms_u_mm })
        }),
        dots(h, "largest", COLOURS[1], mm.one, |e| Some(Estimate { value: e.as_cut.max_mm, u: 0.0 })),
    ];
    let mut days = span_days(h);
    if let Some(o) = &h.outlook {
        let start = days;
        let ahead: Vec<Dot> = o
            .ahead
            .iter()
            .take(AHEAD + 1)
            .enumerate()
            .map(|(k, q)| Dot {
                day: start + k as f64 * DAYS_A_MONTH,
                value: q[1] / mm.one,
                low: q[0] / mm.one,
                high: q[2] / mm.one,
            })
            .collect();
        days = ahead.last().map_or(days, |d| d.day);
        series.insert(
            0,
            Series { name: "to come".to_owned(), colour: COLOURS[1], look: Look::Band, dots: ahead },
        );
    }
    let title = format!("Error over the sheet, {}", mm.word);
    let plot = Plot {
        days,
        level: Some((h.tolerance_mm / mm.one, "limit")),
        from_nought: true,
        ..plot(h, title, series, &marks)
    };
    Block::Drawings(vec![plot.svg()])
}

/// Scales, skew and scatter with the limits of their charts.
pub(super) fn symptoms(h: &History) -> Option<Block> {
    if h.entries.len() < 2 {
        return None;
    }
    let marks = marks(h);
    let drawings = h.charts.iter().map(|c| {
        let one = if c.what == Tracked::HoleScatter { Measure::length(h.unit).one } else { 1.0 };
        let at = |k: usize| day(h, h.entries[c.places[k]].date);
        let mut series = Vec::new();
        for piece in &c.chart.pieces {
            let line = |of: &dyn Fn(usize) -> Option<f64>, colour: RGBColor| Series {
                name: String::new(),
                colour,
                look: Look::Thin,
                dots: (0..piece.average.len())
                    .filter_map(|k| {
                        let v = of(k)? / one;
                        Some(Dot { day: at(piece.first + k), value: v, low: v, high: v })
                    })
                    .collect(),
            };
            let grey = RGBColor(120, 120, 120);
            series.push(line(&|k| piece.limits(k).map(|l| l[0]), grey));
            series.push(line(&|k| piece.limits(k).map(|l| l[1]), grey));
            series.push(line(&|k| piece.average_limits(k).map(|_| piece.average[k]), COLOURS[1]));
        }
        if let Some(s) = series.get_mut(0) {
            s.name = "limits".to_owned();
        }
        if let Some(s) = series.get_mut(2) {
            s.name = "weighted average".to_owned();
        }
        series.push(dots(h, "cut", COLOURS[0], one, |e| c.what.of(e)));
        let word = if c.what == Tracked::HoleScatter { Measure::length(h.unit).word } else { "mm/m" };
        plot(h, format!("{}, {word}", capital(words::tracked(c.what))), series, &marks).svg()
    });
    Some(Block::Drawings(drawings.collect()))
}

/// The pitches of both chains, cut by cut and all together.
pub(super) fn pitches(h: &History) -> Option<Block> {
    unknowns(h, &[Unknown::PitchLeft, Unknown::PitchRight])
}

/// The other unknowns that the cuts say something of.
pub(super) fn others(h: &History) -> Option<Block> {
    let rest: Vec<Unknown> =
        Unknown::ALL.into_iter().filter(|u| !matches!(u, Unknown::PitchLeft | Unknown::PitchRight)).collect();
    unknowns(h, &rest)
}

fn unknowns(h: &History, which: &[Unknown]) -> Option<Block> {
    let wear = h.wear.as_ref()?;
    let marks = marks(h);
    let drawings: Vec<String> = which
        .iter()
        .filter(|&&u| wear.known[u])
        .map(|&u| {
            let m = Measure::of(u, h.unit);
            let joint = h.entries.iter().zip(&wear.at);
            let band = Series {
                name: "all cuts together".to_owned(),
                colour: COLOURS[1],
                look: Look::Band,
                dots: joint.map(|(e, at)| dot(day(h, e.date), at.unknowns[u], m.one)).collect(),
            };
            let single = dots(h, "each cut", COLOURS[0], m.one, |e| Some(e.unknowns[u]));
            plot(h, format!("{}, {}", capital(names::label(u)), m.word), vec![band, single], &marks).svg()
        })
        .collect();
    (!drawings.is_empty()).then_some(Block::Drawings(drawings))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}
