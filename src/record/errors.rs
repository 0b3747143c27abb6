//! How large position errors are, as cut and after a correction.

use crate::frame::{Point, Rectangle};
use serde::{Deserialize, Serialize};

/// Size of a position error over the working area.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct ErrorSize {
    /// Root mean square, mm.
    pub rms_mm: f64,
    /// Largest, mm.
    pub max_mm: f64,
}

/// The error that the new settings should leave.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Prediction {
    /// To be expected, what is left and what is not known together.
    pub size: ErrorSize,
    /// The root mean square will be under this with a chance of 95 %, mm.
    pub bound95_mm: f64,
}

/// Is the machine, as cut, within the tolerance?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Verdict {
    /// The largest error is under the tolerance with a chance of at least 95 %.
    Pass,
    /// The largest error is over the tolerance with a chance of at least 95 %.
    Fail,
    /// Neither can be said.
    CannotTell,
}

/// A part of the sheet that errors are judged over, and what is then to be expected of the whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChosenArea {
    /// The part.
    pub rectangle: Rectangle,
    /// Over the whole sheet, with the settings that serve that part best.
    pub on_sheet: Prediction,
}

/// Position errors as cut, after correction, and the floors below which this controller cannot go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ErrorBudget {
    /// Do readings to the sheet's edges fix shift and turn? If not, both are left out of every figure here.
    pub placement_known: bool,
    /// Set when the person chose a part of the sheet; every other figure here is then over that part alone.
    pub chosen: Option<ChosenArea>,
    /// As cut.
    pub as_cut: ErrorSize,
    /// Standard uncertainty of the root mean square as cut, mm.
    pub as_cut_rms_u_mm: f64,
    /// After the correction.
    pub after: Prediction,
    /// What the best settings of this controller would leave if everything were known.
    pub floor: ErrorSize,
    /// What bending the job file (`compensate`) should leave: only what is not known.
    pub compensated: Prediction,
    /// The limit the work needs, mm.
    pub tolerance_mm: f64,
    /// Chance that the largest error as cut is under the tolerance.
    pub chance_within: f64,
    /// Verdict.
    pub verdict: Verdict,
}

/// The machine's error over the sheet, on a regular lattice, row by row from the lower left.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorMap {
    /// Points across.
    pub columns: usize,
    /// Points up.
    pub rows: usize,
    /// Where.
    pub points: Vec<Point>,
    /// Displacement as cut.
    pub as_cut: Vec<Point>,
    /// Displacement with the new settings.
    pub after: Vec<Point>,
    /// Standard uncertainty of either, both axes together, mm.
    pub u_mm: Vec<f64>,
}
