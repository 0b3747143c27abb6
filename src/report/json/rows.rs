//! The parts of the JSON document, as they are written.

use crate::record::*;
use crate::report::numbers::TIED;
use crate::report::{notices, words};
use serde::{Serialize, Serializer};

/// A number that becomes `null` when it is not finite, and never reads `-0.0` or `0.30000000000000004`.
#[derive(Clone, Copy)]
pub(in crate::report) struct Number(pub(in crate::report) f64);

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
pub(super) struct Readings<'a> {
    pub(super) total: usize,
    pub(super) used: usize,
    pub(super) blank: usize,
    pub(super) set_aside: Vec<ReadingRow<'a>>,
    pub(super) kept: Vec<ReadingRow<'a>>,
}

#[derive(Serialize)]
pub(super) struct ReadingRow<'a> {
    pub(super) line: usize,
    pub(super) from: &'a str,
    pub(super) to: &'a str,
    pub(super) instrument: &'a str,
    pub(super) reading: Number,
    pub(super) expected: Number,
    pub(super) excess: Number,
    pub(super) u: Number,
    pub(super) w: Option<Number>,
    pub(super) redundancy: Number,
    pub(super) hint: &'a str,
}

impl<'a> ReadingRow<'a> {
    pub(super) fn of(r: &'a ReadingResult) -> Self {
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
pub(super) struct Fit {
    pub(super) converged: bool,
    pub(super) iterations: usize,
    pub(super) dof: usize,
    pub(super) chi_square: Number,
    pub(super) p_value: Option<Number>,
    /// Stated standard deviation of a hole's place, mm per axis.
    pub(super) hole_scatter: Number,
    /// Scatter that the readings show over the scatter stated.
    pub(super) observed_over_stated: Option<Number>,
}

impl Fit {
    pub(super) fn of(a: &Analysis) -> Self {
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

#[derive(Serialize)]
pub(super) struct UnknownRow {
    pub(super) name: &'static str,
    pub(super) unit: &'static str,
    pub(super) setting: Number,
    pub(super) expected: Number,
    pub(super) expected_u: Number,
    pub(super) estimate: Number,
    pub(super) u: Number,
    pub(super) correction: Number,
    pub(super) known_from: &'static str,
}

impl UnknownRow {
    pub(super) fn of(u: &UnknownResult) -> Self {
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

#[derive(Serialize)]
pub(super) struct Correlation {
    pub(super) names: Vec<&'static str>,
    pub(super) matrix: Vec<Vec<Number>>,
}

#[derive(Serialize)]
pub(super) struct Pair {
    pub(super) a: &'static str,
    pub(super) b: &'static str,
    pub(super) correlation: Number,
}

#[derive(Serialize)]
pub(super) struct InstrumentRow<'a> {
    pub(super) name: &'a str,
    pub(super) readings: usize,
    pub(super) scale: Option<ValueRow>,
    pub(super) zero: Option<ValueRow>,
}

impl<'a> InstrumentRow<'a> {
    pub(super) fn of(i: &'a InstrumentResult) -> Self {
        Self {
            name: &i.name,
            readings: i.readings,
            scale: i.scale.map(|e| ValueRow::of(e, "mm/m")),
            zero: i.zero.map(|e| ValueRow::of(e, "mm")),
        }
    }
}

#[derive(Serialize)]
pub(super) struct ValueRow {
    pub(super) value: Number,
    pub(super) u: Number,
    pub(super) unit: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) share: Option<Number>,
}

impl ValueRow {
    pub(super) fn of(e: Estimate, unit: &'static str) -> Self {
        Self { value: Number(e.value), u: Number(e.u), unit, share: None }
    }

    pub(super) fn symptom(s: Symptom, unit: &'static str) -> Self {
        Self { share: Some(Number(s.share)), ..Self::of(s.estimate, unit) }
    }
}

#[derive(Serialize)]
pub(super) struct SymptomRows {
    pub(super) scale_x: ValueRow,
    pub(super) scale_y: ValueRow,
    pub(super) skew: ValueRow,
    pub(super) shift_x: Option<ValueRow>,
    pub(super) shift_y: Option<ValueRow>,
    pub(super) turn: Option<ValueRow>,
    pub(super) rest: Rest,
}

impl SymptomRows {
    pub(super) fn of(s: &Symptoms) -> Self {
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

#[derive(Serialize)]
pub(super) struct Rest {
    pub(super) rms: Number,
    pub(super) share: Number,
}

#[derive(Serialize)]
pub(super) struct CauseRow {
    pub(super) name: &'static str,
    pub(super) rms: Number,
    pub(super) max: Number,
    pub(super) u: Number,
}

impl CauseRow {
    pub(super) fn of(c: &Cause) -> Self {
        Self { name: c.unknown.name(), rms: Number(c.rms.value), max: Number(c.max_mm), u: Number(c.rms.u) }
    }
}

#[derive(Serialize)]
pub(super) struct ErrorRows {
    pub(super) placement_known: bool,
    pub(super) as_cut: SizeRow,
    pub(super) after_correction: SizeRow,
    pub(super) floor: SizeRow,
    pub(super) compensated: SizeRow,
    pub(super) tolerance: Number,
    pub(super) chance_within: Number,
    pub(super) verdict: &'static str,
}

#[derive(Serialize)]
pub(super) struct SizeRow {
    pub(super) rms: Number,
    pub(super) max: Number,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) u: Option<Number>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) bound95: Option<Number>,
}

impl SizeRow {
    pub(super) fn of(size: ErrorSize) -> Self {
        Self { rms: Number(size.rms_mm), max: Number(size.max_mm), u: None, bound95: None }
    }

    pub(super) fn predicted(p: Prediction) -> Self {
        Self { bound95: Some(Number(p.bound95_mm)), ..Self::of(p.size) }
    }
}

pub(super) struct Settings<'a>(pub(super) &'a [SettingChange]);

impl Serialize for Settings<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|s| (s.unknown.name(), Number(s.to))))
    }
}

#[derive(Serialize)]
pub(super) struct HoleRow<'a> {
    pub(super) id: &'a str,
    pub(super) x: Number,
    pub(super) y: Number,
    pub(super) dx: Number,
    pub(super) dy: Number,
    pub(super) u: Number,
}

impl<'a> HoleRow<'a> {
    pub(super) fn of(h: &'a HoleResult) -> Self {
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

#[derive(Serialize)]
pub(super) struct NoticeRow {
    pub(super) kind: &'static str,
    pub(super) text: String,
    pub(super) next: String,
}

impl NoticeRow {
    pub(super) fn of(notice: &Notice) -> Self {
        let words = notices::words(notice);
        Self { kind: words.kind, text: words.what.replace(TIED, " "), next: words.next.replace(TIED, " ") }
    }
}
