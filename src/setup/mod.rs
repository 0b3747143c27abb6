//! The machine as its owner describes it: `machine.toml`.
//!
//! [`Setup`] holds everything in mm, kg, N and mm/m whatever unit the file speaks.

mod ageing;
mod beliefs;
mod geometry;
mod instrument;
mod machines;
mod read;
mod template;
#[cfg(test)]
mod tests;

pub use ageing::{DAYS_A_MONTH, GROWTH_U_A_MONTH, creep_a_month};
pub use beliefs::{Correlation, UNCORRELATED, lower_root};
pub use instrument::{CLASS_SLOPES_MM_PER_M, CLASSES};
pub use read::{from_section, read};
pub use template::template;

use crate::frame::{Sheet, Unit};
use crate::machine::{COUNT, Hardware, Unknown, Values};
use jiff::civil::Date;

/// What is believed of one unknown before any reading: a value and its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Expected {
    /// Value, in the unknown's unit.
    pub value: f64,
    /// Standard uncertainty, same unit; 0 means "held fixed".
    pub u: f64,
}

/// Kind of length-measuring instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum InstrumentKind {
    /// A steel tape.
    Tape,
    /// A caliper, good up to its range.
    Caliper,
    /// Anything else.
    Other,
}

/// Something that measures lengths, and how well.
///
/// A reading of length L has the standard uncertainty `sqrt(a^2 + (b L)^2)` of its own, and shares with all the
/// other readings of this instrument one unknown scale error and one unknown zero error.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Name, as readings call it.
    pub name: String,
    /// Kind.
    pub kind: InstrumentKind,
    /// Constant part a of a reading's own standard uncertainty, mm.
    pub random_a_mm: f64,
    /// Part b of a reading's own standard uncertainty that grows with length, mm per m.
    pub random_b_mm_per_m: f64,
    /// What is believed of the shared scale error, mm/m: 0, or what earlier cuts taught of this very instrument.
    pub scale_mm_per_m: f64,
    /// Standard uncertainty of the shared scale error, mm/m; 0 when there is none.
    pub scale_u_mm_per_m: f64,
    /// Correlation of that belief with what is expected of each unknown.
    pub scale_correlation: [f64; COUNT],
    /// Standard uncertainty of the shared zero error, mm; 0 when there is none.
    pub zero_u_mm: f64,
    /// Longest length it can read, mm.
    pub range_mm: f64,
    /// The mark at which its readings are usually started, mm; 0 for its hook or zero. A row of readings may say
    /// otherwise.
    pub start_mm: f64,
}

/// Linear expansion of the steel of tapes and calipers, per K
/// ([GUM](crate::references::GUM), example H.1: 11.5e-6).
const STEEL_PER_K: f64 = 11.5e-6;

/// Temperature at which a tape is right, degrees C (ISO 1).
const REFERENCE_C: f64 = 20.0;

impl Instrument {
    /// How much longer than it reads a distance is, mm per m, because the steel has grown at a temperature in degrees
    /// C. None for an instrument of unknown stuff, or without a temperature.
    pub fn thermal_mm_per_m(&self, temperature_c: Option<f64>) -> f64 {
        match (self.kind, temperature_c) {
            (InstrumentKind::Tape | InstrumentKind::Caliper, Some(t)) => {
                1000.0 * STEEL_PER_K * (t - REFERENCE_C)
            }
            _ => 0.0,
        }
    }

    /// Standard uncertainty of one reading's own noise at a length, mm.
    pub fn random_u_mm(&self, length_mm: f64) -> f64 {
        self.random_a_mm.hypot(self.random_b_mm_per_m * length_mm / 1000.0)
    }
}

/// A machine with its settings, what is expected of it, and what it is measured with.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// The machine's name.
    pub name: String,
    /// Unit of the lengths in the file and of reports.
    pub unit: Unit,
    /// The sheet.
    pub sheet: Sheet,
    /// What the controller believes now.
    pub settings: Values<f64>,
    /// Does the controller allow for the chains' sag?
    pub sag: bool,
    /// What is believed before any reading.
    pub expected: Values<Expected>,
    /// The day on which these expectations were learnt, if a cut taught them.
    pub expected_as_of: Option<Date>,
    /// Correlation of these expectations.
    pub correlation: Correlation,
    /// Sprockets, chain, carriage.
    pub hardware: Hardware,
    /// The settings that this controller can store.
    pub can_set: Vec<Unknown>,
    /// Step in which the controller stores each setting, in the unknown's unit.
    pub step: Values<f64>,
    /// Standard deviation of a hole's place about where the geometry puts it, per axis, mm.
    pub hole_scatter_mm: f64,
    /// Position error the work can bear, mm.
    pub tolerance_mm: f64,
    /// Instruments, in file order; never empty.
    pub instruments: Vec<Instrument>,
}

impl Setup {
    /// The machine of [`template()`] in mm: a full sheet, a light chain, a class II tape. For demos and tests.
    pub fn example() -> Self {
        let (setup, _) =
            read(&template("Wall router", Unit::Mm)).expect("the template is part of the program and tested");
        setup
    }
}
