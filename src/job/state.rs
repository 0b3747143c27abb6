//! What is in force between the lines of a job.

use super::codes::Motion;
use super::given::Given;
use crate::frame::Unit;

/// Modes, and where the carriage is meant to be and has been sent.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Unit of lengths, once known.
    pub unit: Option<Unit>,
    /// Are places counted from the zero (G90)? Otherwise from the last place.
    pub absolute: bool,
    /// Has the job said so?
    pub absolute_is_stated: bool,
    /// Motion in force in the job.
    pub motion: Option<Motion>,
    /// Motion in force in what is written.
    pub written_motion: Option<Motion>,
    /// Where the job means the carriage to be, X and Y from the job's zero, mm; each once known.
    pub meant_mm: [Option<f64>; 2],
    /// Where the control believes the carriage to be, from the job's zero, mm; each once known.
    pub sent_mm: [Option<f64>; 2],
    /// Height, mm from the job's zero, once known.
    pub z_mm: Option<f64>,
    /// Has a first word or `%` been seen?
    pub begun: bool,
    /// Has the program ended?
    pub ended: bool,
}

impl State {
    /// Before the first line.
    pub fn new(unit: Option<Unit>) -> Self {
        Self {
            unit,
            absolute: true,
            absolute_is_stated: false,
            motion: None,
            written_motion: None,
            meant_mm: [None; 2],
            sent_mm: [None; 2],
            z_mm: None,
            begun: false,
            ended: false,
        }
    }

    /// Takes over the modes that a line sets; they hold for the line itself (NIST IR 6556, table 8).
    pub fn take_modes(&mut self, given: &Given) {
        if let Some(unit) = given.unit {
            self.unit = Some(unit);
        }
        if let Some(absolute) = given.absolute {
            self.absolute = absolute;
            self.absolute_is_stated = true;
        }
        if let Some((motion, _)) = given.motion {
            self.motion = Some(motion);
        }
        if given.no_motion {
            self.motion = None;
            self.written_motion = None;
        }
    }

    /// Takes over where a line goes on one axis; `None` when that cannot be known. Value in the job's unit.
    pub fn go(&self, axis: usize, value: Option<f64>) -> Option<f64> {
        let unit = self.unit?;
        match value {
            None => self.meant_mm[axis],
            Some(value) if self.absolute => Some(unit.to_mm(value)),
            Some(value) => self.meant_mm[axis].map(|before| before + unit.to_mm(value)),
        }
    }

    /// The same for the height.
    pub fn go_z(&self, value: Option<f64>) -> Option<f64> {
        let unit = self.unit?;
        match value {
            None => self.z_mm,
            Some(value) if self.absolute => Some(unit.to_mm(value)),
            Some(value) => self.z_mm.map(|before| before + unit.to_mm(value)),
        }
    }
}
