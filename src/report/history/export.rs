//! The history as a tidy table for a spreadsheet, and as JSON for programs. Always mm and mm/m.

use super::words;
use crate::history::{Comparison, Entry, History, Outlook, Reached, Season, Tracked, Wear};
use crate::interval::Basis;
use crate::machine::{Attachment, Unknown};
use crate::record::Estimate;
use crate::report::json::Number;
use crate::report::{plain, words as names};
use serde::Serialize;

/// One row a cut and quantity: `date,cut,quantity,value,u,unit,from`. Quantities of all cuts together end in
/// `all cuts` in the last column, those of a cut by itself in `cut`.
pub fn csv(history: &History) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory cannot fail.
    let _ = writer.write_record(["date", "cut", "quantity", "value", "u", "unit", "from"]);
    for (k, entry) in history.entries.iter().enumerate() {
        let mut row = |quantity: &str, value: f64, u: Option<f64>, unit: &str, from: &str| {
            let number = |v: f64| if v.is_finite() { format!("{v:.6}") } else { String::new() };
            let (value, u) = (number(value), u.map(number).unwrap_or_default());
            let id = tame(&entry.id);
            let _ = writer.write_record([&entry.date.to_string(), &id, quantity, &value, &u, unit, from]);
        };
        let e = entry;
        row("error_rms", e.as_cut.rms_mm, Some(e.as_cut_rms_u_mm), "mm", "cut");
        row("error_max", e.as_cut.max_mm, None, "mm", "cut");
        for what in Tracked::ALL {
            if let Some(v) = what.of(e) {
                let unit = if what == Tracked::HoleScatter { "mm" } else { "mm/m" };
                row(key(what), v.value, Some(v.u), unit, "cut");
            }
        }
        for u in Unknown::ALL.into_iter().filter(|&u| has(e, u)) {
            row(u.name(), e.unknowns[u].value, Some(e.unknowns[u].u), u.unit(), "cut");
        }
        if let Some(wear) = &history.wear {
            for u in Unknown::ALL.into_iter().filter(|&u| wear.known[u]) {
                let joint = wear.at[k].unknowns[u];
                row(u.name(), joint.value, Some(joint.u), u.unit(), "all cuts");
            }
        }
        for (name, value, unit) in
            [("temperature", e.temperature_c, "degrees C"), ("humidity", e.humidity_percent, "percent")]
        {
            if let Some(v) = value {
                row(name, v, None, unit, "noted");
            }
        }
    }
    writer.into_inner().ok().and_then(|b| String::from_utf8(b).ok()).unwrap_or_default()
}

/// Text that no spreadsheet takes for a formula.
fn tame(text: &str) -> String {
    let text = plain(text).trim().to_owned();
    if text.starts_with(['=', '+', '-', '@']) { format!("'{text}") } else { text }
}

/// Is it an unknown of the machine of this cut? Those of a sled belong to some machines only.
fn has(entry: &Entry, unknown: Unknown) -> bool {
    Attachment::Converging.unknowns().contains(&unknown) || entry.unknowns[unknown].u > 0.0
}

const fn key(what: Tracked) -> &'static str {
    match what {
        Tracked::ScaleX => "scale_x",
        Tracked::ScaleY => "scale_y",
        Tracked::Skew => "skew",
        Tracked::HoleScatter => "hole_scatter",
    }
}

#[derive(Serialize)]
struct Value {
    value: Number,
    u: Number,
}

impl From<Estimate> for Value {
    fn from(e: Estimate) -> Self {
        Self { value: Number(e.value), u: Number(e.u) }
    }
}

#[derive(Serialize)]
struct UnknownRow {
    name: &'static str,
    unit: &'static str,
    cut: Value,
    all_cuts: Option<Value>,
}

#[derive(Serialize)]
struct CutRow<'a> {
    cut: &'a str,
    date: String,
    error: ErrorRow,
    scale_x: Value,
    scale_y: Value,
    skew: Value,
    hole_scatter: Option<Value>,
    unknowns: Vec<UnknownRow>,
    used: usize,
    set_aside: usize,
    p_value: Option<Number>,
    verdict: &'static str,
    temperature: Option<Number>,
    humidity: Option<Number>,
    foretold_p_value: Option<Number>,
    odd: Option<&'static str>,
}

#[derive(Serialize)]
struct ErrorRow {
    rms: Number,
    u: Number,
    max: Number,
}

#[derive(Serialize)]
struct GrowthRow {
    name: &'static str,
    per_month: Value,
    seen: bool,
}

#[derive(Serialize)]
struct ChangeRow {
    name: &'static str,
    difference: Value,
    limit: Number,
    answer: &'static str,
    /// Size of a change that could hide where none is seen; null where one that matters would have been seen.
    could_hide: Option<Number>,
}

#[derive(Serialize)]
struct ComparisonRow<'a> {
    earlier: &'a str,
    later: &'a str,
    same_tape: bool,
    map_rms: Value,
    p_value: Option<Number>,
    limit: Number,
    answer: &'static str,
    could_hide: Option<Number>,
    quantities: Vec<ChangeRow>,
}

#[derive(Serialize)]
struct OutlookRow {
    max_now: Value,
    growth_per_month: Value,
    placement_known: bool,
    /// Months from the last cut in which the largest error passes the tolerance: 5 %, 50 %, 95 %; null beyond what is looked at.
    months_to_tolerance: [Option<Number>; 3],
    months_looked_at: usize,
}

#[derive(Serialize)]
struct SignalRow<'a> {
    cut: &'a str,
    quantity: &'static str,
    rule: &'static str,
}

#[derive(Serialize)]
struct Document<'a> {
    format: u32,
    machine: &'a str,
    unit: &'static str,
    tolerance: Number,
    cuts: Vec<CutRow<'a>>,
    growth: Vec<GrowthRow>,
    season: Option<SeasonRow>,
    comparisons: Vec<ComparisonRow<'a>>,
    signals: Vec<SignalRow<'a>>,
    outlook: Option<OutlookRow>,
    next_cut_in_days: Option<Number>,
    look_again: Option<LookAgainRow>,
}

/// Days from the last cut, and what they rest on.
#[derive(Serialize)]
struct LookAgainRow {
    days: Number,
    basis: &'static str,
    staircase: Number,
    /// The staircase's next interval when the coming test fails, and when it passes.
    staircase_after: [Number; 2],
    /// Until the error passes the tolerance: 5 %, 50 %, 95 %; null beyond what is looked at.
    drift: [Option<Number>; 3],
}

#[derive(Serialize)]
struct SeasonRow {
    name: &'static str,
    value: Value,
    seen: bool,
}

/// The history as one JSON document, ending in a line feed. What is not known is null.
pub fn json(h: &History) -> String {
    let document = Document {
        format: 1,
        machine: &h.machine,
        unit: "mm",
        tolerance: Number(h.tolerance_mm),
        cuts: h.entries.iter().enumerate().map(|(k, e)| cut(e, h.wear.as_ref(), k)).collect(),
        growth: h
            .wear
            .iter()
            .flat_map(|w| &w.growth)
            .map(|g| GrowthRow { name: g.unknown.name(), per_month: g.per_month.into(), seen: g.seen })
            .collect(),
        season: h.wear.as_ref().and_then(|w| w.season).map(|s| {
            let (name, e) = match s {
                Season::PerKelvin(e) => ("per_kelvin", e),
                Season::Yearly(e) => ("yearly", e),
            };
            SeasonRow { name, value: e.into(), seen: s.seen() }
        }),
        comparisons: h.comparisons.iter().map(comparison).collect(),
        signals: h
            .charts
            .iter()
            .flat_map(|c| c.chart.signals.iter().map(move |&(k, rule)| (c, k, rule)))
            .map(|(c, k, rule)| SignalRow {
                cut: &h.entries[c.places[k]].id,
                quantity: key(c.what),
                rule: words::rule(rule),
            })
            .collect(),
        outlook: h.outlook.as_ref().map(outlook),
        next_cut_in_days: h.look_again.map(|a| Number(a.days)),
        look_again: h.look_again.map(|a| LookAgainRow {
            days: Number(a.days),
            basis: match a.basis {
                Basis::Staircase => "staircase",
                Basis::Drift => "drift",
                Basis::Beyond => "beyond",
            },
            staircase: Number(a.staircase_days),
            staircase_after: a.staircase_after_days.map(Number),
            drift: a.drift.map_or([None; 3], |d| {
                [Some(d.early_days), d.middle_days, d.late_days].map(|d| d.map(Number))
            }),
        }),
    };
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
}

fn cut<'a>(e: &'a Entry, wear: Option<&Wear>, k: usize) -> CutRow<'a> {
    CutRow {
        cut: &e.id,
        date: e.date.to_string(),
        error: ErrorRow {
            rms: Number(e.as_cut.rms_mm),
            u: Number(e.as_cut_rms_u_mm),
            max: Number(e.as_cut.max_mm),
        },
        scale_x: e.scale_x.into(),
        scale_y: e.scale_y.into(),
        skew: e.skew.into(),
        hole_scatter: e.hole_scatter.map(Into::into),
        unknowns: Unknown::ALL
            .into_iter()
            .filter(|&u| has(e, u))
            .map(|u| UnknownRow {
                name: u.name(),
                unit: u.unit(),
                cut: e.unknowns[u].into(),
                all_cuts: wear.filter(|w| w.known[u]).map(|w| w.at[k].unknowns[u].into()),
            })
            .collect(),
        used: e.used,
        set_aside: e.set_aside,
        p_value: e.p_value.map(Number),
        verdict: names::verdict(e.verdict),
        temperature: e.temperature_c.map(Number),
        humidity: e.humidity_percent.map(Number),
        foretold_p_value: wear.and_then(|w| w.at[k].p_value).map(Number),
        odd: wear.and_then(|w| w.at[k].discord).map(|d| match d {
            crate::history::Discord::Alone => "alone",
            crate::history::Discord::Changed => "changed",
            crate::history::Discord::Undecided => "undecided",
        }),
    }
}

fn comparison(c: &Comparison) -> ComparisonRow<'_> {
    let row = |name: &'static str, s: &crate::history::Sighting| ChangeRow {
        name,
        difference: s.difference.into(),
        limit: Number(s.limit),
        answer: words::change_key(s.answer),
        could_hide: s.could_hide.map(Number),
    };
    let mut quantities: Vec<ChangeRow> =
        ["scale_x", "scale_y", "skew"].into_iter().zip(&c.symptoms).map(|(n, s)| row(n, s)).collect();
    quantities
        .extend(Unknown::ALL.into_iter().filter_map(|u| c.unknowns[u].as_ref().map(|s| row(u.name(), s))));
    ComparisonRow {
        earlier: &c.earlier,
        later: &c.later,
        same_tape: c.same_tape,
        map_rms: c.map.rms_mm.into(),
        p_value: c.map.p_value.map(Number),
        limit: Number(c.map.limit_mm),
        answer: words::change_key(c.map.answer),
        could_hide: c.map.could_hide_mm.map(Number),
        quantities,
    }
}

fn outlook(o: &Outlook) -> OutlookRow {
    let months = match o.reached {
        Reached::Already => [Some(0.0), Some(0.0), Some(0.0)],
        Reached::Beyond => [None; 3],
        Reached::Within { early, middle, late } => [Some(early), middle, late],
    };
    OutlookRow {
        max_now: o.now_max_mm.into(),
        growth_per_month: o.growth_mm_per_month.into(),
        placement_known: o.placement_known,
        months_to_tolerance: months.map(|m| m.map(Number)),
        months_looked_at: o.ahead.len() - 1,
    }
}

/// One comparison as JSON.
pub fn compared(c: &Comparison) -> String {
    serde_json::to_string_pretty(&comparison(c)).unwrap_or_default() + "\n"
}
