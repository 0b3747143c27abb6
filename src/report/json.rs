//! `analyse --json`: the whole record for other programs, in mm and mm/m whatever the person's unit.
//!
//! What is not known is `null`; nothing is ever NaN. Numbers carry nine significant digits.

use super::numbers::TIED;
use super::{notices, words};
use crate::machine::Unknown;
use crate::record::*;
use serde::{Serialize, Serializer};

/// The record as one JSON document, ending in a line feed.
pub fn render(analysis: &Analysis) -> String {
    // Plain structs of numbers and strings always serialise into a string.
    let text = serde_json::to_string_pretty(&Document::of(analysis)).unwrap_or_default();
    text + "\n"
}

/// A number that becomes `null` when it is not finite, and never reads `-0.0` or `0.30000000000000004`.
#[derive(Clone, Copy)]
struct Number(f64);

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let rounded: f64 = format!("{:.8e}", self.0).parse().unwrap_or(f64::NAN);
        if rounded.is_finite() {
            serializer.serialize_f64(rounded + 0.0)
        } else {
            serializer.serialize_none()
        }
    }
}

#[derive(Serialize)]
struct Document<'a> {
    format: u32,
    cut: &'a str,
    unit: &'static str,
    machine: &'a str,
    reports_in: &'static str,
    readings: Readings<'a>,
    fit: Fit,
    unknowns: Vec<UnknownRow>,
    correlation: Correlation,
    lookalikes: Vec<Pair>,
    not_determined: &'a [String],
    instruments: Vec<InstrumentRow<'a>>,
    symptoms: SymptomRows,
    causes: Vec<CauseRow>,
    error: ErrorRows,
    settings_new: Settings<'a>,
    holes: Vec<HoleRow<'a>>,
    notices: Vec<NoticeRow>,
}

#[derive(Serialize)]
struct Readings<'a> {
    total: usize,
    used: usize,
    blank: usize,
    set_aside: Vec<ReadingRow<'a>>,
    kept: Vec<ReadingRow<'a>>,
}

#[derive(Serialize)]
struct ReadingRow<'a> {
    line: usize,
    from: &'a str,
    to: &'a str,
    instrument: &'a str,
    reading: Number,
    expected: Number,
    excess: Number,
    u: Number,
    w: Option<Number>,
    redundancy: Number,
    hint: &'a str,
}

impl<'a> ReadingRow<'a> {
    fn of(r: &'a ReadingResult) -> Self {
        Self {
            line: r.line,
            from: &r.from,
            to: &r.to,
            instrument: &r.instrument,
            reading: Number(r.reading_mm),
            expected: Number(r.expected_mm),
            excess: Number(r.excess_mm()),
            u: Number(r.u_mm),
            w: r.w.map(Number),
            redundancy: Number(r.redundancy),
            hint: &r.hint,
        }
    }
}

#[derive(Serialize)]
struct Fit {
    converged: bool,
    iterations: usize,
    dof: usize,
    chi_square: Number,
    p_value: Option<Number>,
    /// Stated standard deviation of a hole's place, mm per axis.
    hole_scatter: Number,
    /// Scatter that the readings show over the scatter stated.
    observed_over_stated: Option<Number>,
}

#[derive(Serialize)]
struct UnknownRow {
    name: &'static str,
    unit: &'static str,
    setting: Number,
    expected: Number,
    expected_u: Number,
    estimate: Number,
    u: Number,
    correction: Number,
    known_from: &'static str,
}

#[derive(Serialize)]
struct Correlation {
    names: Vec<&'static str>,
    matrix: Vec<Vec<Number>>,
}

#[derive(Serialize)]
struct Pair {
    a: &'static str,
    b: &'static str,
    correlation: Number,
}

#[derive(Serialize)]
struct InstrumentRow<'a> {
    name: &'a str,
    readings: usize,
    scale: Option<ValueRow>,
    zero: Option<ValueRow>,
}

#[derive(Serialize)]
struct ValueRow {
    value: Number,
    u: Number,
    unit: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    share: Option<Number>,
}

impl ValueRow {
    fn of(e: Estimate, unit: &'static str) -> Self {
        Self { value: Number(e.value), u: Number(e.u), unit, share: None }
    }

    fn symptom(s: Symptom, unit: &'static str) -> Self {
        Self { share: Some(Number(s.share)), ..Self::of(s.estimate, unit) }
    }
}

#[derive(Serialize)]
struct SymptomRows {
    scale_x: ValueRow,
    scale_y: ValueRow,
    skew: ValueRow,
    shift_x: Option<ValueRow>,
    shift_y: Option<ValueRow>,
    turn: Option<ValueRow>,
    rest: Rest,
}

#[derive(Serialize)]
struct Rest {
    rms: Number,
    share: Number,
}

#[derive(Serialize)]
struct CauseRow {
    name: &'static str,
    rms: Number,
    max: Number,
    u: Number,
}

#[derive(Serialize)]
struct ErrorRows {
    placement_known: bool,
    as_cut: SizeRow,
    after_correction: SizeRow,
    floor: SizeRow,
    compensated: SizeRow,
    tolerance: Number,
    chance_within: Number,
    verdict: &'static str,
}

#[derive(Serialize)]
struct SizeRow {
    rms: Number,
    max: Number,
    #[serde(skip_serializing_if = "Option::is_none")]
    u: Option<Number>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bound95: Option<Number>,
}

impl SizeRow {
    fn of(size: ErrorSize) -> Self {
        Self { rms: Number(size.rms_mm), max: Number(size.max_mm), u: None, bound95: None }
    }

    fn predicted(p: Prediction) -> Self {
        Self { bound95: Some(Number(p.bound95_mm)), ..Self::of(p.size) }
    }
}

struct Settings<'a>(&'a [SettingChange]);

impl Serialize for Settings<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|s| (s.unknown.name(), Number(s.to))))
    }
}

#[derive(Serialize)]
struct HoleRow<'a> {
    id: &'a str,
    x: Number,
    y: Number,
    dx: Number,
    dy: Number,
    u: Number,
}

#[derive(Serialize)]
struct NoticeRow {
    kind: &'static str,
    text: String,
    next: String,
}

impl<'a> Document<'a> {
    fn of(a: &'a Analysis) -> Self {
        let e = &a.error;
        let names = |unknowns: &[Unknown]| unknowns.iter().map(|u| u.name()).collect();
        let numbers = |row: &Vec<f64>| row.iter().map(|&c| Number(c)).collect();
        Self {
            format: 1,
            cut: &a.cut,
            unit: "mm",
            machine: &a.machine,
            reports_in: a.unit.name(),
            readings: Readings {
                total: a.used.len() + a.set_aside.len(),
                used: a.used.len(),
                blank: a.blank,
                set_aside: a.set_aside.iter().map(ReadingRow::of).collect(),
                kept: a.used.iter().map(ReadingRow::of).collect(),
            },
            fit: Fit::of(a),
            unknowns: a.unknowns.iter().map(UnknownRow::of).collect(),
            correlation: Correlation {
                names: names(&a.correlation_names),
                matrix: a.correlation.iter().map(numbers).collect(),
            },
            lookalikes: a
                .lookalikes
                .iter()
                .map(|l| Pair { a: l.a.name(), b: l.b.name(), correlation: Number(l.correlation) })
                .collect(),
            not_determined: &a.not_determined,
            instruments: a.instruments.iter().map(InstrumentRow::of).collect(),
            symptoms: SymptomRows::of(&a.symptoms),
            causes: a.causes.iter().map(CauseRow::of).collect(),
            error: ErrorRows {
                placement_known: e.placement_known,
                as_cut: SizeRow { u: Some(Number(e.as_cut_rms_u_mm)), ..SizeRow::of(e.as_cut) },
                after_correction: SizeRow::predicted(e.after),
                floor: SizeRow::of(e.floor),
                compensated: SizeRow::predicted(e.compensated),
                tolerance: Number(e.tolerance_mm),
                chance_within: Number(e.chance_within),
                verdict: words::verdict(e.verdict),
            },
            settings_new: Settings(&a.settings_new),
            holes: a.holes.iter().map(HoleRow::of).collect(),
            notices: a.notices.iter().map(NoticeRow::of).collect(),
        }
    }
}

impl Fit {
    fn of(a: &Analysis) -> Self {
        let f = &a.fit;
        Self {
            converged: f.converged,
            iterations: f.iterations,
            dof: f.dof,
            chi_square: Number(f.chi_square),
            p_value: f.p_value.map(Number),
            hole_scatter: Number(a.hole_scatter_mm),
            observed_over_stated: words::observed_over_stated(f).map(Number),
        }
    }
}

impl UnknownRow {
    fn of(u: &UnknownResult) -> Self {
        Self {
            name: u.unknown.name(),
            unit: u.unknown.unit(),
            setting: Number(u.setting),
            expected: Number(u.expected.value),
            expected_u: Number(u.expected.u),
            estimate: Number(u.estimate.value),
            u: Number(u.estimate.u),
            correction: Number(u.correction()),
            known_from: words::known_from(u.known_from),
        }
    }
}

impl<'a> InstrumentRow<'a> {
    fn of(i: &'a InstrumentResult) -> Self {
        Self {
            name: &i.name,
            readings: i.readings,
            scale: i.scale.map(|e| ValueRow::of(e, "mm/m")),
            zero: i.zero.map(|e| ValueRow::of(e, "mm")),
        }
    }
}

impl SymptomRows {
    fn of(s: &Symptoms) -> Self {
        Self {
            scale_x: ValueRow::symptom(s.scale_x, "mm/m"),
            scale_y: ValueRow::symptom(s.scale_y, "mm/m"),
            skew: ValueRow::symptom(s.skew, "mm/m"),
            shift_x: s.shift_x.map(|s| ValueRow::symptom(s, "mm")),
            shift_y: s.shift_y.map(|s| ValueRow::symptom(s, "mm")),
            turn: s.turn.map(|s| ValueRow::symptom(s, "mm/m")),
            rest: Rest { rms: Number(s.rest_rms_mm), share: Number(s.rest_share) },
        }
    }
}

impl CauseRow {
    fn of(c: &Cause) -> Self {
        Self { name: c.unknown.name(), rms: Number(c.rms.value), max: Number(c.max_mm), u: Number(c.rms.u) }
    }
}

impl<'a> HoleRow<'a> {
    fn of(h: &'a HoleResult) -> Self {
        Self {
            id: &h.id,
            x: Number(h.target.x_mm),
            y: Number(h.target.y_mm),
            dx: Number(h.displacement.x_mm),
            dy: Number(h.displacement.y_mm),
            u: Number(h.u_mm),
        }
    }
}

impl NoticeRow {
    fn of(notice: &Notice) -> Self {
        let words = notices::words(notice);
        Self { kind: words.kind, text: words.what.replace(TIED, " "), next: words.next.replace(TIED, " ") }
    }
}
