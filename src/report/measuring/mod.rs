//! What goes to the machine in a pocket: the distances of a cut as a sheet of paper ([`sheet()`]), and as a page for a
//! phone that needs no network ([`form()`]).
//!
//! Neither shows what is expected of a distance, since a known target pulls readings towards itself (MacCoun and
//! Perlmutter, Nature 526 (2015) 187): only the coarse [`Band`] in which a wrong hole shows.

mod map;
mod page;
mod paper;

pub use page::form;
pub use paper::sheet;

use super::plain;
use crate::cut::Conditions;
use crate::entry::Band;
use crate::frame::{Sheet, Unit};
use crate::pattern::{Hole, Pattern};
use crate::planner::Planned;
use crate::readings::{How, Place};
use crate::setup::Instrument;

/// The measuring of one cut.
#[derive(Debug, Clone, Copy)]
pub struct Measuring<'a> {
    /// The machine's name.
    pub machine: &'a str,
    /// The cut's id: the name of its folder.
    pub cut: &'a str,
    /// The day of the cut, as it is to be printed.
    pub date: &'a str,
    /// Unit in which readings are written down.
    pub unit: Unit,
    /// The sheet of wood.
    pub sheet: &'a Sheet,
    /// The pattern.
    pub pattern: &'a Pattern,
    /// Its holes.
    pub holes: &'a [Hole],
    /// What the distances are taken with.
    pub instruments: &'a [Instrument],
    /// What is known of the day.
    pub conditions: &'a Conditions,
    /// The distances in the order to take them; one list for each pass.
    pub passes: &'a [Vec<Planned>],
}

/// One distance, in words.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    /// Its number, from 1, over all passes.
    number: usize,
    /// First end.
    from: String,
    /// Second end.
    to: String,
    /// The instrument.
    instrument: String,
    /// The band in which it should lie.
    band: Band,
}

impl Measuring<'_> {
    /// The lines of all passes, each pass by itself.
    fn lines(&self) -> Vec<Vec<Line>> {
        let mut number = 0;
        let mut line = |p: &Planned| {
            number += 1;
            let instrument = &self.instruments[p.instrument];
            Line {
                number,
                from: self.name(p.from),
                to: self.name(p.to),
                instrument: plain(&instrument.name),
                band: Band::about(p.length_mm, instrument.start_mm, self.unit),
            }
        };
        self.passes.iter().map(|pass| pass.iter().map(&mut line).collect()).collect()
    }

    fn name(&self, place: Place) -> String {
        match place {
            Place::Hole(i) => plain(&self.holes[i].id),
            Place::Edge(edge) => edge.name().to_owned(),
        }
    }

    /// A band in the unit of the readings: `1400\u{2013}1500`.
    fn band(&self, band: &Band) -> String {
        let one = |mm: f64| {
            let text = format!("{:.1}", self.unit.from_mm(mm));
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        };
        format!("{}\u{2013}{}", one(band.low_mm), one(band.high_mm))
    }

    /// The unit's short name.
    const fn short_unit(&self) -> &'static str {
        match self.unit {
            Unit::Mm => "mm",
            Unit::Inch => "in",
        }
    }
}

/// How the sheet tells same rim, inner rims and outer rims apart.
const HOW: [(How, &str); 3] = [(How::Centre, "="), (How::Inside, "in"), (How::Outside, "out")];
