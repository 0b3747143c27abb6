//! The test cut: a grid of holes, what each is called, and where it should be.

mod beside;
mod check;
pub mod definition;
pub mod library;

pub use beside::beside;
pub use check::{DEFAULT_MARGIN_MM, MOST_TO_DRILL, Refusal, check};

use crate::frame::Point;
use check::ROUNDING_MM;

/// A hole of the pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    /// `A1`: column letter from the left, row number from the bottom; `KEY` for the odd one.
    pub id: String,
    /// Where it should be.
    pub target: Point,
}

/// A rectangular grid of equal holes.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// Columns, `A` from the left.
    pub columns: usize,
    /// Rows, 1 from the bottom.
    pub rows: usize,
    /// First to last column, mm.
    pub width_mm: f64,
    /// First to last row, mm.
    pub height_mm: f64,
    /// Middle of the grid.
    pub centre: Point,
    /// Diameter of every hole, mm.
    pub hole_diameter_mm: f64,
    /// Is there one odd hole, `KEY`, midway between A1, A2, B1 and B2?
    pub key: bool,
}

/// Id of the odd hole by which a sheet read from behind is found out.
pub const KEY: &str = "KEY";

impl Pattern {
    /// All holes: row by row from the lower left, `KEY` last. The order is the order of indices everywhere.
    pub fn holes(&self) -> Vec<Hole> {
        let mut holes: Vec<Hole> = (0..self.rows)
            .flat_map(|r| (0..self.columns).map(move |c| (c, r)))
            .map(|(c, r)| Hole { id: hole_id(c, r), target: self.at(c as f64, r as f64) })
            .collect();
        if self.key {
            holes.push(Hole { id: KEY.to_owned(), target: self.at(0.5, 0.5) });
        }
        holes
    }

    /// The place `column`, `row` steps from the lower left hole; a single column or row lies on the middle.
    pub(crate) fn at(&self, column: f64, row: f64) -> Point {
        let along = |k: f64, n: usize, size: f64| {
            if n < 2 { 0.0 } else { (k / (n - 1) as f64 - 0.5) * size }
        };
        self.centre
            + Point::new(along(column, self.columns, self.width_mm), along(row, self.rows, self.height_mm))
    }
}

/// Id of the hole in a column and a row, both counted from 0: `A1`, `B1` ... `Z1`, `AA1`.
pub fn hole_id(column: usize, row: usize) -> String {
    let mut letters = String::new();
    let mut k = column + 1;
    while k > 0 {
        let digit = (k - 1) % 26;
        letters.insert(0, char::from(b'A' + digit as u8));
        k = (k - 1) / 26;
    }
    format!("{letters}{}", row + 1)
}
