//! The demo: an invented workshop, a router with stated faults, a cut, and readings with one slip in them.
//!
//! Everything here is invented. It goes through the same files as a real cut.

mod months;

pub use months::{Month, Months, months};

use crate::cut::{self, Conditions};
use crate::frame::{Point, Unit};
use crate::machine::{Unknown, Unreachable, Values};
use crate::mistake::Mistake;
use crate::pattern::{Hole, Pattern};
use crate::planner::{Planned, Request, plan};
use crate::readings::{self, How, Known, Place, Row};
use crate::setup::{self, Setup};
use crate::simulation::{Disturbance, cut_and_read};
use jiff::civil::Date;

/// The invented workshop's machine.
const MACHINE_NAME: &str = "Heron Yard wall router";
/// What is really wrong with it: estimate these.
const FAULTS: [(Unknown, f64); 9] = [
    (Unknown::Spacing, 2.6),
    (Unknown::Height, -3.5),
    (Unknown::Tilt, 0.8),
    (Unknown::Offset, 2.0),
    (Unknown::LengthLeft, -3.4),
    (Unknown::LengthRight, 1.9),
    (Unknown::PitchLeft, 1.1),
    (Unknown::PitchRight, 0.3),
    (Unknown::Stretch, 0.55),
];
/// Readings are noted to the nearest half millimetre.
const ROUNDING_MM: f64 = 0.5;
/// Seed of the demo's scatter and noise.
const SEED: u64 = 25;
/// The pattern it cuts.
const PATTERN: Pattern = Pattern {
    columns: 7,
    rows: 5,
    width_mm: 2300.0,
    height_mm: 1050.0,
    centre: Point { x_mm: 0.0, y_mm: 0.0 },
    hole_diameter_mm: 6.0,
    key: true,
};
/// The distance in whose reading two digits are swapped, counted from 0.
const SLIP: usize = 9;

/// Everything the demo writes, and the truth behind it.
#[derive(Debug, Clone)]
pub struct Demo {
    /// `machine.toml`.
    pub machine_text: String,
    /// `cut.toml`.
    pub cut_text: String,
    /// `readings.csv`, filled in.
    pub readings_text: String,
    /// The machine as its owner describes it.
    pub setup: Setup,
    /// The pattern.
    pub pattern: Pattern,
    /// Its holes.
    pub holes: Vec<Hole>,
    /// The real machine.
    pub truth: Values<f64>,
    /// Line of `readings.csv` with the slip, and the reading as it should have been, mm.
    pub slip: (usize, f64),
}

/// Why the demo could not be made: only ever a mistake in the program itself.
#[derive(Debug)]
pub enum DemoError {
    /// A file it wrote does not read.
    File(Vec<Mistake>),
    /// The machine cannot reach a hole.
    Unreachable(Unreachable),
    /// A cut it made has no answer.
    NoAnswer(String),
}

impl From<Unreachable> for DemoError {
    fn from(e: Unreachable) -> Self {
        Self::Unreachable(e)
    }
}

impl std::fmt::Display for DemoError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::File(mistakes) => write!(f, "the demo's own files do not read: {mistakes:?}"),
            Self::Unreachable(e) => write!(f, "the demo's machine cannot cut its pattern: {e}"),
            Self::NoAnswer(e) => write!(f, "a cut of the demo has no answer: {e}"),
        }
    }
}

/// Makes the demo for a day.
///
/// # Errors
/// None unless the program itself is wrong.
pub fn demo(date: Date) -> Result<Demo, DemoError> {
    let machine_text = setup::template(MACHINE_NAME, Unit::Mm);
    let (setup, _) = setup::read(&machine_text).map_err(DemoError::File)?;
    let pattern = PATTERN;
    let conditions = Conditions {
        temperature_c: Some(20.0),
        humidity_percent: Some(58.0),
        material: Some("18 mm MDF".to_owned()),
        bit: Some("6 mm two-flute".to_owned()),
        operator: None,
        note: Some("invented: made by the demo".to_owned()),
    };
    let cut_text =
        cut::write(date, Unit::Mm, &pattern, &conditions, &machine_text).map_err(DemoError::File)?;
    let holes = pattern.holes();
    let request = Request { readings: 28, edges: true, ..Request::default() };
    let distances = plan(&setup, &holes, &request)?.distances;
    let mut truth = Values::from_fn(|u| setup.settings[u]);
    for (unknown, fault) in FAULTS {
        truth[unknown] += fault;
    }
    let disturbance = Disturbance { noise: true, rounding_mm: ROUNDING_MM, seed: SEED };
    let simulated = cut_and_read(&setup, truth, &holes, &distances, &disturbance)?;
    let mut rows = Vec::new();
    let mut slip = (0, 0.0);
    for (k, (planned, reading)) in distances.iter().zip(&simulated.readings).enumerate() {
        let mut spelling = format!("{:.1}", reading.as_read_mm);
        if k == SLIP {
            slip = (k + 2, reading.as_read_mm);
            spelling = with_two_digits_swapped(&spelling);
        }
        rows.push(row(planned, spelling));
    }
    let known = Known {
        temperature_c: conditions.temperature_c,
        holes: &holes,
        instruments: &setup.instruments,
        unit: Unit::Mm,
        hole_diameter_mm: pattern.hole_diameter_mm,
    };
    let readings_text = readings::write(&rows, &known);
    Ok(Demo { machine_text, cut_text, readings_text, setup, pattern, holes, truth, slip })
}

/// A row of the table, taken.
fn row(planned: &Planned, spelling: String) -> Row {
    let from: Place = planned.from;
    Row { spelling, ..Row::to_take(from, planned.to, How::Centre, planned.instrument) }
}

/// The last two unlike digits of the whole part exchanged, as a tired person does.
fn with_two_digits_swapped(spelling: &str) -> String {
    let mut digits: Vec<char> = spelling.chars().collect();
    let whole = spelling.find('.').unwrap_or(spelling.len());
    if let Some(k) = (1..whole).rev().find(|&k| digits[k] != digits[k - 1]) {
        digits.swap(k - 1, k);
    }
    digits.into_iter().collect()
}
