//! `analyse --json`: the whole record for other programs, in mm and mm/m whatever the person's unit.
//!
//! What is not known is `null`; nothing is ever NaN. Numbers carry nine significant digits.

mod rows;
mod verification;

use super::words;
use crate::machine::Unknown;
use crate::record::*;
pub(super) use rows::Number;
use rows::*;
use serde::Serialize;
use verification::VerificationRow;

/// The record as one JSON document, ending in a line feed.
pub fn render(analysis: &Analysis) -> String {
    // Plain structs of numbers and strings always serialise into a string.
    let text = serde_json::to_string_pretty(&Document::of(analysis)).unwrap_or_default();
    text + "\n"
}

/// `correct --json`: the settings to enter and what to expect of them, in mm and mm/m.
pub fn correction(analysis: &Analysis, written: bool) -> String {
    #[derive(Serialize)]
    struct Row {
        name: &'static str,
        unit: &'static str,
        from: Number,
        to: Number,
        u: Option<Number>,
    }
    #[derive(Serialize)]
    struct Correction<'a> {
        format: u32,
        cut: &'a str,
        unit: &'static str,
        settings: Vec<Row>,
        area: Option<[Number; 4]>,
        whole_sheet: Option<SizeRow>,
        as_cut: SizeRow,
        after_correction: SizeRow,
        floor: SizeRow,
        against: Vec<NoticeRow>,
        written: bool,
    }
    let e = &analysis.error;
    let u_of = |u: Unknown| analysis.unknowns.iter().find(|r| r.unknown == u).map(|r| Number(r.estimate.u));
    let correction = Correction {
        format: 1,
        cut: &analysis.cut,
        unit: "mm",
        settings: analysis
            .settings_new
            .iter()
            .map(|s| Row {
                name: s.unknown.name(),
                unit: s.unknown.unit(),
                from: Number(s.from),
                to: Number(s.to),
                u: u_of(s.unknown),
            })
            .collect(),
        area: e.chosen.map(|c| {
            let (low, high) = (c.rectangle.low, c.rectangle.high);
            [low.x_mm, low.y_mm, high.x_mm, high.y_mm].map(Number)
        }),
        whole_sheet: e.chosen.map(|c| SizeRow::predicted(c.on_sheet)),
        as_cut: SizeRow { u: Some(Number(e.as_cut_rms_u_mm)), ..SizeRow::of(e.as_cut) },
        after_correction: SizeRow::predicted(e.after),
        floor: SizeRow::of(e.floor),
        against: analysis
            .notices
            .iter()
            .filter(|n| n.speaks_against_correcting())
            .map(NoticeRow::of)
            .collect(),
        written,
    };
    serde_json::to_string_pretty(&correction).unwrap_or_default() + "\n"
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
    verification: Option<VerificationRow>,
    holes: Vec<HoleRow<'a>>,
    notices: Vec<NoticeRow>,
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
            verification: a.verification.as_ref().map(VerificationRow::of),
            holes: a.holes.iter().map(HoleRow::of).collect(),
            notices: a.notices.iter().map(NoticeRow::of).collect(),
        }
    }
}
