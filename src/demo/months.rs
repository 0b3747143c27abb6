//! The demo over months: the same invented workshop, with chains that wear, seasons, a chain re-hung, a setting entered
//! wrongly once, and another tape. Every cut goes through the files and the corrections that a person would make.

use super::{DemoError, FAULTS, MACHINE_NAME, PATTERN, ROUNDING_MM, row};
use crate::analysis::{self, Analysis};
use crate::carry_over::{loosened, renewed};
use crate::cut::{self, Conditions};
use crate::events::{self, Event, Kind};
use crate::frame::Unit;
use crate::machine::{Unknown, Values};
use crate::planner::{Request, plan};
use crate::readings::{self, Known};
use crate::record::Verdict;
use crate::setup::{self, DAYS_A_MONTH, Setup};
use crate::simulation::{Disturbance, cut_and_read_with};
use jiff::civil::Date;
use jiff::{Span, ToSpan};

/// Months between cuts.
const STEP: f64 = 1.25;
/// Growth of the left and right pitch, mm/m per month.
const GROWTH: [f64; 2] = [0.06, 0.02];
/// Growth of both pitches per K: steel.
const PER_KELVIN: f64 = 0.0115;
/// Mean temperature of the workshop and half its yearly swing, degrees C.
const WARMTH: [f64; 2] = [17.0, 8.0];
/// The correction, counted from 0, of which one setting was entered wrongly.
const WRONG_ENTRY: usize = 1;
/// Month in which the left chain is re-hung, and what that did to its length, mm.
const RE_HUNG: (f64, f64) = (8.0, 4.2);
/// Month in which another tape is bought.
const NEW_TAPE: f64 = 12.0;
/// Scale errors of the old and the new tape, mm/m.
const TAPES: [f64; 2] = [0.10, -0.13];
/// Longest demo, months.
pub(super) const MOST_MONTHS: u32 = 60;

/// One cut of the demo.
#[derive(Debug, Clone)]
pub struct Month {
    /// Id of the cut, its day.
    pub id: String,
    /// `cut.toml`.
    pub cut_text: String,
    /// `readings.csv`.
    pub readings_text: String,
    /// The real machine on that day, pitches at 20 degrees C.
    pub truth: Values<f64>,
    /// Was a setting in the controller other than written?
    pub wrong_entry: bool,
}

/// Everything the demo writes, and the truth behind it.
#[derive(Debug, Clone)]
pub struct Months {
    /// `machine.toml` as it stands at the end.
    pub machine_text: String,
    /// `events.csv`.
    pub events_text: String,
    /// The cuts, in order.
    pub cuts: Vec<Month>,
    /// Growth of the left and right pitch, mm/m per month.
    pub growth: [f64; 2],
    /// Growth of both pitches per K, mm/m.
    pub per_kelvin: f64,
}

/// Makes the demo of so many months (2 to 60) up to a day.
///
/// # Errors
/// None unless the program itself is wrong.
pub fn months(today: Date, count: u32) -> Result<Months, DemoError> {
    let count = f64::from(count.clamp(2, MOST_MONTHS));
    let mut machine_text = able(&setup::template(MACHINE_NAME, Unit::Mm));
    let mut log: Vec<Event> = Vec::new();
    let mut cuts: Vec<Month> = Vec::new();
    // Settings that the controller really has where they are not those of machine.toml.
    let mut entered_wrongly: Option<Values<f64>> = None;
    let (mut corrections, mut re_hung, mut new_tape) = (0, false, false);
    for k in 0..=((count / STEP) as usize) {
        let month = k as f64 * STEP;
        let day = today.saturating_sub(days(count - month));
        let last = cuts.last().map_or(String::new(), |c: &Month| c.id.clone());
        if month > RE_HUNG.0 && !re_hung {
            re_hung = true;
            let on = today.saturating_sub(days(count - RE_HUNG.0));
            log.push(Event::noted(on, &last, Kind::ReHung, "left chain taken off, cleaned and re-hung"));
            machine_text = loosened(&machine_text, Kind::ReHung, [true, false], Unit::Mm).map_err(toml)?;
        }
        if month > NEW_TAPE && !new_tape {
            new_tape = true;
            let on = today.saturating_sub(days(count - NEW_TAPE));
            log.push(Event::noted(on, &last, Kind::Tape, "a new tape of the same class"));
            machine_text = loosened(&machine_text, Kind::Tape, [true, true], Unit::Mm).map_err(toml)?;
        }
        let made = cut(&machine_text, day, month, entered_wrongly.as_ref(), k as u64)?;
        let wrong = entered_wrongly.take().is_some();
        let analysis = &made.analysis;
        if wrong {
            // Seen, understood and put right: what machine.toml says is now what the controller has.
            let words = "length_right had gone into the controller with the wrong sign; put right";
            log.push(Event::noted(day, &made.month.id, Kind::Note, words));
        } else if analysis.error.verdict == Verdict::Fail
            && !analysis.notices.iter().any(|n| n.speaks_against_correcting())
        {
            machine_text = renewed(&machine_text, analysis, Unit::Mm, day).map_err(toml)?;
            log.extend(changes(analysis, day, &made.month.id));
            if corrections == WRONG_ENTRY {
                let (setup, _) = setup::read(&machine_text).map_err(DemoError::File)?;
                let mut real = setup.settings;
                real[Unknown::LengthRight] = -real[Unknown::LengthRight];
                entered_wrongly = Some(real);
            }
            corrections += 1;
        }
        cuts.push(Month { wrong_entry: wrong, ..made.month });
    }
    let events_text = events::append("", &log);
    Ok(Months { machine_text, events_text, cuts, growth: GROWTH, per_kelvin: PER_KELVIN })
}

/// The machine with a controller that allows for sag and stretch, so that its error comes from wear and not from
/// what it cannot hold; and with a limit for joinery.
fn able(template: &str) -> String {
    let wide = template.replace("sag = false", "sag = true").replace("position = 0.8", "position = 1.0");
    wide.replace("\"pitch_right\"]", "\"pitch_right\", \"stretch\"]")
}

fn toml(e: toml_edit::TomlError) -> DemoError {
    DemoError::NoAnswer(e.to_string())
}

fn days(months: f64) -> Span {
    ((months * DAYS_A_MONTH).round() as i64).days()
}

/// The settings that a correction changed, as events.
fn changes(analysis: &Analysis, day: Date, cut: &str) -> Vec<Event> {
    let note = format!(
        "{} readings; error over the sheet {:.2} mm rms as cut, {:.2} mm rms to be expected now",
        analysis.used.len(),
        analysis.error.as_cut.rms_mm,
        analysis.error.after.size.rms_mm
    );
    let changed = analysis.settings_new.iter().filter(|s| s.from != s.to);
    changed.map(|s| Event::setting(day, cut, s.unknown, s.from, s.to, Unit::Mm, &note)).collect()
}

/// A cut and what its readings say.
struct Made {
    month: Month,
    analysis: Analysis,
}

/// Temperature of the workshop: warmest in the middle of July.
fn temperature_c(day: Date) -> f64 {
    let turn = std::f64::consts::TAU * (f64::from(day.day_of_year()) - 196.0) / 365.25;
    ((WARMTH[0] + WARMTH[1] * turn.cos()) * 2.0).round() / 2.0
}

/// The real machine in some month, pitches at 20 degrees C.
fn truth(setup: &Setup, month: f64) -> Values<f64> {
    let example = Setup::example();
    let mut truth = Values::from_fn(|u| example.settings[u]);
    for (unknown, fault) in FAULTS {
        truth[unknown] += fault;
    }
    truth[Unknown::PitchLeft] += GROWTH[0] * month;
    truth[Unknown::PitchRight] += GROWTH[1] * month;
    if month > RE_HUNG.0 {
        truth[Unknown::LengthLeft] += RE_HUNG.1;
    }
    debug_assert_eq!(setup.sheet, example.sheet);
    truth
}

/// Cuts, reads and analyses.
fn cut(
    machine_text: &str,
    day: Date,
    month: f64,
    really: Option<&Values<f64>>,
    seed: u64,
) -> Result<Made, DemoError> {
    let (setup, _) = setup::read(machine_text).map_err(DemoError::File)?;
    let holes = PATTERN.holes();
    let conditions = Conditions {
        temperature_c: Some(temperature_c(day)),
        humidity_percent: Some(55.0),
        note: Some("invented: made by the demo".to_owned()),
        ..Conditions::default()
    };
    let cut_text = cut::write(day, Unit::Mm, &PATTERN, &conditions, machine_text).map_err(DemoError::File)?;
    let request = Request { readings: 24, ..Request::default() };
    let distances = plan(&setup, &holes, &request)?.distances;
    let truth = truth(&setup, month);
    let mut warm = truth;
    for pitch in [Unknown::PitchLeft, Unknown::PitchRight] {
        warm[pitch] += PER_KELVIN * (temperature_c(day) - 20.0);
    }
    let mut controller = setup.clone();
    if let Some(settings) = really {
        controller.settings = *settings;
    }
    let tape = TAPES[usize::from(month > NEW_TAPE)];
    let errors: Vec<(f64, f64)> = setup
        .instruments
        .iter()
        .map(|i| if i.scale_u_mm_per_m > 0.0 { (tape, 0.0) } else { (0.0, 0.0) })
        .collect();
    let disturbance = Disturbance { noise: true, rounding_mm: 0.0, seed: 1000 + seed };
    let simulated = cut_and_read_with(&controller, warm, &holes, &distances, &disturbance, Some(&errors))?;
    let rows: Vec<_> = distances
        .iter()
        .zip(&simulated.readings)
        .map(|(planned, reading)| {
            let instrument = &setup.instruments[planned.instrument];
            // A warm tape is longer and reads short; a fine instrument is read finer.
            let cold =
                reading.as_read_mm / (1.0 + instrument.thermal_mm_per_m(conditions.temperature_c) / 1000.0);
            let fine = ROUNDING_MM.min(2.0 * instrument.random_a_mm);
            row(planned, format!("{:.2}", (cold / fine).round() * fine))
        })
        .collect();
    let known = Known {
        temperature_c: conditions.temperature_c,
        holes: &holes,
        instruments: &setup.instruments,
        unit: Unit::Mm,
        hole_diameter_mm: PATTERN.hole_diameter_mm,
    };
    let readings_text = readings::write(&rows, &known);
    let table = readings::read(readings_text.as_bytes(), &known).map_err(|(_, m)| DemoError::File(m))?;
    let id = day.to_string();
    let input =
        analysis::Cut { id: &id, setup: &setup, pattern: &PATTERN, readings: &table.readings, blank: 0 };
    let analysis = analysis::analyse(&input).map_err(|e| DemoError::NoAnswer(e.to_string()))?;
    Ok(Made { month: Month { id, cut_text, readings_text, truth, wrong_entry: false }, analysis })
}
