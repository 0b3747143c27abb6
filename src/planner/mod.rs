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
//! S - S a a'S / (1 + a'S a), and lowers the criterion by |M^(1/2) (S a)_theta|^2 / (1 + a'S a).

mod design;
mod order;

pub use design::{Candidate, Design};
pub use order::walking_order;

use crate::machine::Unreachable;
use crate::pattern::{Hole, KEY};
use crate::readings::Place;
use crate::setup::Setup;

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
    /// Predicted root mean square position error after correction, mm, per number of readings taken so far in the
    /// order of their worth: element k for k readings.
    pub predicted_rms_mm: f64,
    /// The same with no reading at all, mm.
    pub before_rms_mm: f64,
}

/// Chooses the distances for a cut.
///
/// # Errors
/// When the machine as described cannot reach a hole or the working area.
pub fn plan(setup: &Setup, holes: &[Hole], request: &Request) -> Result<Plan, Unreachable> {
    let mut design = Design::new(setup, holes, request)?;
    let before_rms_mm = design.rms_mm();
    if request.edges {
        design.take_edges();
    }
    // One distance from the odd hole, so that a sheet read from behind is found out.
    if let Some(key) = holes.iter().position(|h| h.id == KEY) {
        design.take_best(request.uses, |c| c.touches(Place::Hole(key)));
    }
    while design.taken().len() < request.readings && design.take_best(request.uses, |_| true) {}
    design.exchange(request.uses);
    let taken: Vec<Planned> = design.taken().iter().map(|&k| design.candidates()[k].planned).collect();
    Ok(Plan { distances: walking_order(holes, taken), predicted_rms_mm: design.rms_mm(), before_rms_mm })
}
