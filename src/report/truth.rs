//! The truth beside the estimate, for machines that were only simulated.

use super::numbers::Measure;
use crate::demo::Months;
use crate::history::{Discord, History, Season};
use crate::machine::{Unknown, Values};
use crate::record::{Analysis, KnownFrom};
use comfy_table::{CellAlignment, Table, presets};

/// A table of what the simulated machine really is and what the readings said, and what became of the planted slip
/// (line, reading as it should have been in mm).
pub fn render(analysis: &Analysis, truth: &Values<f64>, slip: Option<(usize, f64)>, width: usize) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_width(u16::try_from(width).unwrap_or(u16::MAX));
    table.set_header(["", "true change", "estimated", "off by", "in its own uncertainties"]);
    for k in 1..5 {
        if let Some(column) = table.column_mut(k) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for result in &analysis.unknowns {
        let m = Measure::of(result.unknown, analysis.unit);
        let true_change = truth[result.unknown] - result.setting;
        let off = result.estimate.value - truth[result.unknown];
        let estimated = match result.known_from {
            KnownFrom::NotDeterminable => "not determinable".to_owned(),
            _ => m.signed_estimate(crate::record::Estimate {
                value: result.correction(),
                u: result.estimate.u,
            }),
        };
        let (off_text, sigmas) = match result.known_from {
            KnownFrom::NotDeterminable => (String::new(), String::new()),
            _ => (m.signed(off), format!("{:+.1}", off / result.estimate.u)),
        };
        table.add_row([label(result.unknown, &m), m.signed(true_change), estimated, off_text, sigmas]);
    }
    let mut out = format!("\nThe truth beside the estimate\n\n{table}\n");
    if let Some((line, meant_mm)) = slip {
        let mm = Measure::length(analysis.unit);
        let fate = if analysis.set_aside.iter().any(|r| r.line == line) {
            "it was found and set aside"
        } else {
            "it was not found"
        };
        out.push_str(&format!(
            "\nOne slip was planted on line {line}: {} was meant; {fate}.\n",
            mm.size_unit(meant_mm)
        ));
    }
    out
}

/// The truth beside what all cuts together say, for the demo over months.
pub fn months(history: &History, demo: &Months, width: usize) -> String {
    let Some(wear) = &history.wear else { return String::new() };
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_width(u16::try_from(width).unwrap_or(u16::MAX));
    table.set_header(["", "truth", "all cuts together", "in its own uncertainties"]);
    for k in 1..4 {
        if let Some(column) = table.column_mut(k) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let mut add = |name: String, truth: f64, e: crate::record::Estimate, m: &Measure| {
        let sigmas = format!("{:+.1}", (e.value - truth) / e.u);
        table.add_row([name, super::numbers::signed(truth / m.one, 3), m.signed_estimate(e), sigmas]);
    };
    for (growth, truth) in wear.growth.iter().zip(demo.growth) {
        let name = format!("growth of {}, mm/m a month", growth.unknown.name());
        add(name, truth, growth.per_month, &Measure::RATIO);
    }
    if let Some(Season::PerKelvin(e)) = wear.season {
        add("growth of both a degree, mm/m".to_owned(), demo.per_kelvin, e, &Measure::RATIO);
    }
    if let (Some(at), Some(cut)) = (wear.at.last(), demo.cuts.last()) {
        for (unknown, _) in wear.known.iter().filter(|(_, known)| **known) {
            let m = Measure::of(unknown, history.unit);
            add(label(unknown, &m), cut.truth[unknown], at.unknowns[unknown], &m);
        }
    }
    let mut out = format!("\nThe truth beside the estimate, at the last cut\n\n{table}\n");
    for (cut, at) in demo.cuts.iter().zip(&wear.at) {
        if cut.wrong_entry {
            let fate = match at.discord {
                Some(Discord::Alone) => "it was found and stands alone",
                Some(_) => "it was found",
                None => "it was not found",
            };
            out.push_str(&format!(
                "\nFor cut {} one setting had gone into the controller with the wrong sign; {fate}.\n",
                cut.id
            ));
        }
    }
    out
}

fn label(unknown: Unknown, measure: &Measure) -> String {
    format!("{}, {}", unknown.name(), measure.word)
}
