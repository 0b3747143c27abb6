//! Distances as they were read: `readings.csv`.

pub mod length;

mod cells;
mod columns;
mod edit;
mod places;
mod table;
#[cfg(test)]
mod tests;
mod write;

pub use edit::{Cells, insert_below, rewrite, takes_decimal_comma};
pub use places::Places;
pub use table::read;
pub use write::write;

use crate::frame::{Edge, Unit};
use crate::mistake::Mistake;
use crate::pattern::Hole;
use crate::setup::Instrument;
use length::ReadingUnit;

/// One end of a distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Place {
    /// A hole, by its index in [`crate::pattern::Pattern::holes`].
    Hole(usize),
    /// An edge of the sheet; the distance is perpendicular to it.
    Edge(Edge),
}

/// Between which points of the rims a distance was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum How {
    /// Centre to centre, or the same rim to the same rim.
    #[default]
    Centre,
    /// Inner rim to inner rim: the hole diameter is added.
    Inside,
    /// Outer rim to outer rim: the hole diameter is taken off.
    Outside,
}

impl How {
    /// Centre to centre (or edge to centre) distance of a reading, mm. An edge has no rim, so that one end's
    /// radius takes the place of the diameter.
    pub fn distance_mm(self, as_read_mm: f64, to_edge: bool, hole_diameter_mm: f64) -> f64 {
        let rims_mm = if to_edge { hole_diameter_mm / 2.0 } else { hole_diameter_mm };
        match self {
            Self::Centre => as_read_mm,
            Self::Inside => as_read_mm + rims_mm,
            Self::Outside => as_read_mm - rims_mm,
        }
    }
}

/// One distance that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Line of the file, from 1.
    pub line: usize,
    /// First end.
    pub from: Place,
    /// Second end.
    pub to: Place,
    /// As it was read, the start of the tape still in it, mm.
    pub as_read_mm: f64,
    /// The mark at which the tape was started, taken off in `distance_mm`, mm; 0 when it began at its hook or zero.
    pub start_mm: f64,
    /// How much longer than read the tape's warmth makes this distance, taken care of in `distance_mm`, mm/m.
    pub thermal_mm_per_m: f64,
    /// Between which rims.
    pub how: How,
    /// Centre to centre (or edge to centre), mm: `as_read_mm` with start, warmth and rims taken care of.
    pub distance_mm: f64,
    /// Index of the instrument in [`crate::setup::Setup::instruments`].
    pub instrument: usize,
    /// The person's note.
    pub note: String,
}

/// What a table of readings refers to.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The holes, in the order of [`crate::pattern::Pattern::holes`].
    pub holes: &'a [Hole],
    /// The instruments; a reading that names none was taken with the first.
    pub instruments: &'a [Instrument],
    /// Unit of readings that state none.
    pub unit: Unit,
    /// Diameter of the holes, mm.
    pub hole_diameter_mm: f64,
    /// Temperature in the shop, degrees C, when it was noted: steel tapes are corrected from it to 20.
    pub temperature_c: Option<f64>,
}

/// One line of the table: a distance to take, taken or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Line of the file, from 1; 0 for a row that is not from a file.
    pub line: usize,
    /// First end.
    pub from: Place,
    /// Second end.
    pub to: Place,
    /// Between which rims.
    pub how: How,
    /// Index of the instrument in [`Known::instruments`].
    pub instrument: usize,
    /// Unit stated for this reading.
    pub unit: Option<ReadingUnit>,
    /// The reading as the person wrote it; empty when not yet taken.
    pub spelling: String,
    /// The mark at which the tape was started, as the person wrote it; empty when nothing is said of it.
    pub start_spelling: String,
    /// The person's note.
    pub note: String,
    /// Index in [`Table::readings`]; absent when not yet taken.
    pub reading: Option<usize>,
}

impl Row {
    /// A distance to take.
    pub fn to_take(from: Place, to: Place, how: How, instrument: usize) -> Self {
        let none = String::new;
        Self {
            line: 0,
            from,
            to,
            how,
            instrument,
            unit: None,
            spelling: none(),
            start_spelling: none(),
            note: none(),
            reading: None,
        }
    }

    /// Is one end an edge of the sheet?
    pub fn touches_edge(&self) -> bool {
        matches!(self.from, Place::Edge(_)) || matches!(self.to, Place::Edge(_))
    }
}

/// A table of readings that could be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The file's text, as decoded; places of warnings refer to it.
    pub text: String,
    /// All distances in the order of the file, taken or not.
    pub rows: Vec<Row>,
    /// The distances taken, in the order of the file.
    pub readings: Vec<Reading>,
    /// What the person should look at.
    pub warnings: Vec<Mistake>,
}

impl Table {
    /// Distances not yet taken.
    pub fn blank(&self) -> usize {
        self.rows.len() - self.readings.len()
    }
}
