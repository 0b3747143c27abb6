//! The machine over the months: all its cuts read together.
//!
//! Each cut is worked out by itself first ([`Entry`]). What its readings alone say ([`crate::knowledge`]) then goes
//! into one state-space estimate of everything that lasts from cut to cut: the unknowns, how fast each chain grows, and the
//! scale of the tape, which all cuts share ([`Wear`]). What was done to the machine ([`crate::events`]) sets the states it
//! touched free again. From that follow comparisons, in which the shared tape cancels, and the outlook.

mod compare;
mod entry;
mod layout;
mod marks;
mod outlook;
mod over_sheet;
mod series;
mod wear;

pub use compare::{Answer, Comparison, MapChange, Sighting};
pub use entry::{Context, Entry};
pub use layout::State;
pub use marks::Mark;
pub use outlook::{Outlook, Reached};
pub use series::{Charted, Tracked};
pub use wear::{Discord, Growth, Season, Wear, WearAt};

use crate::events::Event;
use crate::frame::Unit;
use crate::interval::Advice;
pub use crate::setup::DAYS_A_MONTH;
use crate::setup::Setup;
use jiff::civil::Date;

/// What the history of a machine shows. Cuts are in the order in which they were made.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Name of the machine.
    pub machine: String,
    /// Unit that the person works in.
    pub unit: Unit,
    /// The day on which it was looked at.
    pub today: Date,
    /// The limit that the work needs, mm.
    pub tolerance_mm: f64,
    /// The cuts.
    pub entries: Vec<Entry>,
    /// What was done to the machine, in order.
    pub marks: Vec<Mark>,
    /// The joint estimate; absent with fewer than two cuts.
    pub wear: Option<Wear>,
    /// Each cut against the one before it.
    pub comparisons: Vec<Comparison>,
    /// Control charts.
    pub charts: Vec<Charted>,
    /// When the error reaches the tolerance.
    pub outlook: Option<Outlook>,
    /// When to cut the next test.
    pub look_again: Option<Advice>,
}

/// The history of a machine from its cuts, in order, and its events. `setup` is the machine as it stands.
pub fn history(setup: &Setup, entries: Vec<Entry>, events: &[Event], today: Date) -> History {
    let marks = marks::marks(&entries, events);
    let wear = wear::wear(&entries, &marks);
    let comparisons = (1..entries.len())
        .filter_map(|k| compare::compare(setup, &entries[k - 1], &entries[k], &marks, k))
        .collect();
    let charts = series::charts(&entries, &marks, wear.as_ref());
    let outlook = wear.as_ref().and_then(|w| outlook::outlook(setup, &entries, w));
    let look_again = outlook::look_again(&entries, outlook.as_ref());
    History {
        machine: setup.name.clone(),
        unit: setup.unit,
        today,
        tolerance_mm: setup.tolerance_mm,
        entries,
        marks,
        wear,
        comparisons,
        charts,
        outlook,
        look_again,
    }
}

/// Any two cuts against each other, by their places in the list, the earlier first.
pub fn between(setup: &Setup, history: &History, earlier: usize, later: usize) -> Option<Comparison> {
    compare::compare(setup, history.entries.get(earlier)?, history.entries.get(later)?, &history.marks, later)
}
