//! The record of one analysis: everything a report shows, and nothing that has yet to be worked out.
//!
//! Lengths in mm, ratios in mm/m, uncertainties standard (1 sigma) unless a name says otherwise.

use crate::frame::{Edge, Point, Sheet, Unit};
use crate::knowledge::Knowledge;
use crate::machine::{COUNT, Unknown};
use serde::{Deserialize, Serialize};

mod errors;
mod verification;

pub use errors::{ChosenArea, ErrorBudget, ErrorMap, ErrorSize, Prediction, Verdict};
pub use verification::{Confirmed, EntrySlip, Suspected, Verification};

/// A value with its standard uncertainty, in the same unit.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Estimate {
    /// Best value.
    pub value: f64,
    /// Standard uncertainty.
    pub u: f64,
}

/// What the knowledge of an unknown rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum KnownFrom {
    /// The readings: u is under half of what it was before them.
    Readings,
    /// Readings and set-up together.
    Both,
    /// The set-up: u is over nine tenths of what it was before.
    SetUp,
    /// The readings do not see it at all.
    NotDeterminable,
}

/// One unknown of the machine, before and after the readings. All in the unknown's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnknownResult {
    /// Which.
    pub unknown: Unknown,
    /// What the controller believed at the cut.
    pub setting: f64,
    /// What was expected before the readings.
    pub expected: Estimate,
    /// What the readings say.
    pub estimate: Estimate,
    /// What the estimate rests on.
    pub known_from: KnownFrom,
}

impl UnknownResult {
    /// Estimate - setting.
    pub fn correction(&self) -> f64 {
        self.estimate.value - self.setting
    }
}

/// Shared errors of one instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentResult {
    /// Its name.
    pub name: String,
    /// Readings of it that took part.
    pub readings: usize,
    /// Scale error, mm/m, if it has one.
    pub scale: Option<Estimate>,
    /// Zero error, mm, if it has one.
    pub zero: Option<Estimate>,
    /// Correlation of the estimate of its scale with that of each unknown.
    pub scale_correlation: [f64; COUNT],
}

/// One reading against what the fit says of it.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingResult {
    /// Line of the file.
    pub line: usize,
    /// First end, as written in the file.
    pub from: String,
    /// Second end, as written in the file.
    pub to: String,
    /// Instrument.
    pub instrument: String,
    /// Centre to centre as read, mm.
    pub reading_mm: f64,
    /// What the fit makes of this distance, mm; for a reading set aside, without that reading's help.
    pub expected_mm: f64,
    /// Standard uncertainty of this reading's own noise, mm.
    pub u_mm: f64,
    /// Standardised residual (Baarda's w); absent when no other reading checks this one.
    pub w: Option<f64>,
    /// Redundancy number, 0 (nothing checks it) to 1 (wholly checked by the others).
    pub redundancy: f64,
    /// For a reading set aside, the likeliest slip in plain words; empty when none stands out.
    pub hint: String,
}

impl ReadingResult {
    /// Reading - expected, mm.
    pub fn excess_mm(&self) -> f64 {
        self.reading_mm - self.expected_mm
    }
}

/// How the fit went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitQuality {
    /// Did it settle?
    pub converged: bool,
    /// Steps taken.
    pub iterations: usize,
    /// Degrees of freedom of `chi_square`.
    pub dof: usize,
    /// Weighted sum of squares at the solution, expectations included as observations.
    pub chi_square: f64,
    /// Chance of a sum as large when everything is as stated; absent with no degree of freedom.
    pub p_value: Option<f64>,
}

/// One component of the displacement of the holes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Symptom {
    /// mm for a shift, mm/m for the others.
    pub estimate: Estimate,
    /// Share of the mean square displacement that it explains, 0 to 1.
    pub share: f64,
}

/// The displacement of the holes split into what a person can see with a tape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Symptoms {
    /// Whole pattern to the right, mm; absent when the placement is not known.
    pub shift_x: Option<Symptom>,
    /// Whole pattern up, mm; absent when the placement is not known.
    pub shift_y: Option<Symptom>,
    /// Whole pattern turned anticlockwise, mm/m; absent when the placement is not known.
    pub turn: Option<Symptom>,
    /// Too wide, mm/m.
    pub scale_x: Symptom,
    /// Too tall, mm/m.
    pub scale_y: Symptom,
    /// Departure of the y axis from square, mm/m; positive when the top leans right.
    pub skew: Symptom,
    /// The curved rest, mm rms, and its share.
    pub rest_rms_mm: f64,
    /// Share of the mean square displacement left to the curved rest.
    pub rest_share: f64,
}

/// Displacement over the working area for which one unknown's correction is responsible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// Which unknown.
    pub unknown: Unknown,
    /// Root mean square displacement, mm.
    pub rms: Estimate,
    /// Largest displacement, mm.
    pub max_mm: f64,
}

/// Unknowns that imitate each other in these readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Lookalikes {
    /// First.
    pub a: Unknown,
    /// Second.
    pub b: Unknown,
    /// Correlation of their estimates.
    pub correlation: f64,
}

/// A setting to change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SettingChange {
    /// Which.
    pub unknown: Unknown,
    /// Setting at the cut.
    pub from: f64,
    /// Setting to enter.
    pub to: f64,
}

/// One hole of the cut.
#[derive(Debug, Clone, PartialEq)]
pub struct HoleResult {
    /// Its id.
    pub id: String,
    /// Where it should be.
    pub target: Point,
    /// How far from there it is, shift and turn removed when the placement is not known.
    pub displacement: Point,
    /// Standard uncertainty of the displacement, both axes together, mm.
    pub u_mm: f64,
}

/// A pattern over the sheet that the machine's unknowns cannot make.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Leftover {
    /// Lines that should be straight are bowed: rows up or down, columns sideways, as the square of the distance
    /// from the middle.
    Bow,
    /// The right side is stretched more than the left, or less.
    LeftRight,
    /// The top is stretched more than the bottom, or less.
    TopBottom,
    /// An error that changes along the left chain.
    AlongLeft,
    /// An error that changes along the right chain.
    AlongRight,
}

/// Something the person should know, as facts; worded in one place by the report.
#[derive(Debug, Clone, PartialEq)]
pub enum Notice {
    /// The readings disagree with each other or with the set-up more than stated.
    ReadingsDisagree {
        /// Chance of it when everything is as stated.
        p_value: f64,
        /// By how much the stated scatter would have to grow.
        factor: f64,
    },
    /// The readings agree better than stated.
    ReadingsTooGood {
        /// Chance of it when everything is as stated.
        p_value: f64,
    },
    /// What the readings leave over forms a pattern over the sheet.
    PatternLeft {
        /// Which.
        pattern: Leftover,
        /// Its size over the holes, mm rms.
        rms_mm: Estimate,
        /// Chance that any of the patterns shows as clearly when everything is as stated.
        p_value: f64,
    },
    /// A chain's length is near a whole number of pitches away from what was expected: a skipped tooth.
    WholePitch {
        /// Which length.
        unknown: Unknown,
        /// How many pitches, signed.
        pitches: i32,
    },
    /// The sheet seems to have been read from behind (left and right swapped).
    ReadFromBehind,
    /// The fit did not settle.
    NotSettled,
    /// Fewer readings than needed to check each other.
    FewReadings {
        /// How many took part.
        used: usize,
    },
    /// The improvement is smaller than its own uncertainty: leave the settings alone.
    LeaveAlone,
    /// The estimate of an unknown is far from what was expected of it.
    FarFromExpected {
        /// Which.
        unknown: Unknown,
        /// Difference in expected standard uncertainties.
        sigmas: f64,
    },
    /// The controller seems not to have been given the settings of this cut as they are written.
    NotAsEntered {
        /// What seems to have happened instead.
        slip: EntrySlip,
    },
    /// These edges were measured, but the placement is still not fixed by them.
    PlacementIncomplete {
        /// The edges that were used.
        edges: Vec<Edge>,
    },
}

impl Notice {
    /// Should the settings stay as they are because of it?
    pub const fn speaks_against_correcting(&self) -> bool {
        matches!(
            self,
            Self::ReadingsDisagree { .. }
                | Self::WholePitch { .. }
                | Self::ReadFromBehind
                | Self::NotSettled
                | Self::LeaveAlone
                | Self::NotAsEntered { .. }
        )
    }
}

/// The whole result for one cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// Id of the cut: its date, and a suffix for a second one on the same day.
    pub cut: String,
    /// Name of the machine.
    pub machine: String,
    /// Unit that the person works in.
    pub unit: Unit,
    /// The sheet.
    pub sheet: Sheet,
    /// Diameter of the holes, mm.
    pub hole_diameter_mm: f64,
    /// Scatter of a hole's place as stated, mm per axis.
    pub hole_scatter_mm: f64,
    /// The same as the readings have it, mm per axis; absent when they check too few of the holes.
    pub hole_scatter: Option<Estimate>,
    /// Readings that took part.
    pub used: Vec<ReadingResult>,
    /// Readings set aside, in the order they were.
    pub set_aside: Vec<ReadingResult>,
    /// Planned distances without a reading yet.
    pub blank: usize,
    /// How the fit went.
    pub fit: FitQuality,
    /// The unknowns.
    pub unknowns: Vec<UnknownResult>,
    /// Correlation of the estimates of [`Analysis::unknowns`] that are not held fixed, and whose they are.
    pub correlation_names: Vec<Unknown>,
    /// Row by row, one row per name.
    pub correlation: Vec<Vec<f64>>,
    /// Pairs that cannot be told apart.
    pub lookalikes: Vec<Lookalikes>,
    /// Combinations of unknowns on which the readings say nothing, in words such as `height`.
    pub not_determined: Vec<String>,
    /// Shared errors of the instruments.
    pub instruments: Vec<InstrumentResult>,
    /// Symptoms.
    pub symptoms: Symptoms,
    /// Causes, largest first.
    pub causes: Vec<Cause>,
    /// Errors before and after.
    pub error: ErrorBudget,
    /// Every setting that the controller can store, with its new value.
    pub settings_new: Vec<SettingChange>,
    /// The holes.
    pub holes: Vec<HoleResult>,
    /// The error map.
    pub map: ErrorMap,
    /// What else the person should know.
    pub notices: Vec<Notice>,
    /// Whether the settings that were changed before this cut do what was promised of them; absent when none were.
    pub verification: Option<Verification>,
    /// What the readings say by themselves, for joining this cut with others.
    pub knowledge: Knowledge,
}
