//! Which distances to take: the few that make the corrected machine most certain.
//!
//! # Criterion
//!
//! After the correction the machine misses a place by G delta, delta ~ N(0, C): what the readings leave unknown. A
//! plan is good when the mean over the working area of the variance of position, tr(M C) with M the mean of G'G
//! (shift and turn removed unless edges are read), is small. This is the V- or I-criterion of optimal design
//! ([Atkinson, Donev and Tobias](crate::references::ATKINSON_2007), chapter 10) for the mixed model of
//! [`crate::adjustment`], so shared holes, shared instrument errors and the scatter of holes all count.
//!
//! # Search
//!
//! Distances are added one at a time, the most telling first; then each is exchanged for any other that does better,
//! until none is ([Fedorov](crate::references::FEDOROV_1972)). In the joint covariance S of unknowns, instrument
//! errors and scatters one reading a (whitened) is a rank-one change,
//! S - S a a'S / (1 + a'S a), and lowers the criterion by |M^(1/2) (S a)_theta|^2 / (1 + a'S a). How far a choice is
//! from the best there could be is told by a bound from the continuous problem, in `relaxed`.
//!
//! A check in between asks something else, whether the machine is still what it was: see [`quick()`].

mod candidates;
mod design;
mod noncentral;
mod order;
mod quick;
mod relaxed;
mod search;

pub use noncentral::{exceeds, noncentrality, power};
pub use order::{second_pass, walking_order};
pub use quick::{COUNTED_ON, LEVEL, Quick, quick};
pub use relaxed::Relaxed;
pub use search::{Limits, Row, Search};

use crate::machine::Unreachable;
use crate::pattern::Hole;
use crate::readings::{Place, Reading};
use crate::setup::Setup;
use design::Design;

/// Minutes for one reading by one person: to lay the tape, read, write, walk on. Common practice, no source.
pub const MINUTES_PER_READING: f64 = 1.5;

/// Minutes to clean the rims and lay out the tools before the first reading. Common practice, no source.
pub const MINUTES_TO_BEGIN: f64 = 5.0;

/// About how long so many readings take, minutes.
pub fn minutes(readings: usize) -> f64 {
    MINUTES_TO_BEGIN + MINUTES_PER_READING * readings as f64
}

/// Readings that fit into so many minutes.
pub fn readings_in(minutes: f64) -> usize {
    ((minutes - MINUTES_TO_BEGIN) / MINUTES_PER_READING).max(0.0) as usize
}

/// What is asked of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Number of distances.
    pub readings: usize,
    /// Longest distance one person can take, mm.
    pub longest_mm: f64,
    /// Most distances that one hole takes part in.
    pub uses: usize,
    /// Read some holes to the sheet's edges too, so that height, tilt and offset are seen.
    pub edges: bool,
}

impl Default for Request {
    fn default() -> Self {
        Self { readings: 24, longest_mm: 5000.0, uses: 4, edges: false }
    }
}

/// One distance to take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planned {
    /// First end.
    pub from: Place,
    /// Second end.
    pub to: Place,
    /// Index of the instrument.
    pub instrument: usize,
    /// About how long it is, mm.
    pub length_mm: f64,
}

/// A plan and what it buys.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The distances, in the order to take them.
    pub distances: Vec<Planned>,
    /// Predicted root mean square position error after correction, mm: what the readings leave unknown.
    pub predicted_rms_mm: f64,
    /// The same with no reading at all, mm.
    pub before_rms_mm: f64,
}

/// What another number of readings would leave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rung {
    /// Readings in all, those to edges among them.
    pub readings: usize,
    /// Predicted root mean square position error, mm.
    pub rms_mm: f64,
}

/// Chooses distances for one cut.
#[derive(Debug, Clone)]
pub struct Planner<'a> {
    holes: &'a [Hole],
    request: Request,
    /// Edges and the odd hole taken, nothing else.
    begun: Design,
    before_rms_mm: f64,
}

impl<'a> Planner<'a> {
    /// Begins with what every plan of this cut has.
    ///
    /// # Errors
    /// When the machine as described cannot reach a hole or the working area.
    pub fn new(setup: &Setup, holes: &'a [Hole], request: &Request) -> Result<Self, Unreachable> {
        let mut begun = Design::new(setup, holes, request, &[])?;
        let before_rms_mm = begun.search.left().sqrt();
        begun.take_edges();
        begun.take_key();
        Ok(Self { holes, request: *request, begun, before_rms_mm })
    }

    /// The plan that was asked for.
    pub fn plan(&self) -> Plan {
        let mut design = self.begun.clone();
        design.search.take_until(self.request.readings);
        design.search.exchange();
        Plan {
            distances: walking_order(self.holes, design.chosen()),
            predicted_rms_mm: design.search.left().sqrt(),
            before_rms_mm: self.before_rms_mm,
        }
    }

    /// What plans of so many readings would leave, from few to many.
    pub fn ladder(&self, counts: &[usize]) -> Vec<Rung> {
        let mut design = self.begun.clone();
        let mut rungs = Vec::new();
        for &count in counts {
            design.search.take_until(count);
            if design.search.taken().len() < count {
                break;
            }
            let mut search = design.search.clone();
            search.exchange();
            rungs.push(Rung { readings: count, rms_mm: search.left().sqrt() });
        }
        rungs
    }

    /// What every distance that one person can take would leave, all together.
    pub fn all(&self) -> Rung {
        let mut search = self.begun.search.clone();
        search.take_all();
        Rung { readings: search.taken().len(), rms_mm: search.left().sqrt() }
    }

    /// No choice of so many distances, each taken once, leaves less than this, mm; `None` where that cannot be told.
    pub fn least_rms_mm(&self, readings: usize) -> Option<f64> {
        // the distance from the odd hole is a choice of ours, not a limit of the problem
        self.begun.search.bound(readings, 1.0).map(|r| r.bound.max(0.0).sqrt())
    }
}

/// Chooses the distances for a cut.
///
/// # Errors
/// When the machine as described cannot reach a hole or the working area.
pub fn plan(setup: &Setup, holes: &[Hole], request: &Request) -> Result<Plan, Unreachable> {
    Planner::new(setup, holes, request).map(|planner| planner.plan())
}

/// Chooses distances to take besides readings that are there: those that settle most of what these leave unknown.
/// The plan's `before_rms_mm` is what they leave, linearised at what was expected.
///
/// # Errors
/// When the machine as described cannot reach a hole or the working area.
pub fn more(
    setup: &Setup,
    holes: &[Hole],
    request: &Request,
    known: &[Reading],
) -> Result<Plan, Unreachable> {
    let mut design = Design::new(setup, holes, request, known)?;
    let before_rms_mm = design.search.left().sqrt();
    design.search.take_until(request.readings);
    design.search.exchange();
    Ok(Plan {
        distances: walking_order(holes, design.chosen()),
        predicted_rms_mm: design.search.left().sqrt(),
        before_rms_mm,
    })
}
