//! Distances as they were read: `readings.csv`.

use crate::frame::Edge;

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

/// One distance that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Line of the file, from 1.
    pub line: usize,
    /// First end.
    pub from: Place,
    /// Second end.
    pub to: Place,
    /// As it was read, mm.
    pub as_read_mm: f64,
    /// Between which rims.
    pub how: How,
    /// Centre to centre (or edge to centre), mm: `as_read_mm` with the rims taken care of.
    pub distance_mm: f64,
    /// Index of the instrument in [`crate::setup::Setup::instruments`].
    pub instrument: usize,
    /// The person's note.
    pub note: String,
}
