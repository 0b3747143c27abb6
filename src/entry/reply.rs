//! What is asked, and what became of an answer. Facts only: [`crate::report::entry`] has the words.

use crate::readings::How;
use crate::screening::Slip;

/// The distance that is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Its number, from 1.
    pub number: usize,
    /// Distances in all.
    pub of: usize,
    /// First end.
    pub from: String,
    /// Second end.
    pub to: String,
    /// Instrument.
    pub instrument: String,
    /// Between which rims.
    pub how: How,
    /// The mark at which the tape is started, mm; 0 for hook or zero.
    pub start_mm: f64,
    /// What stands there now, as it was written.
    pub now: Option<String>,
    /// The note that stands there.
    pub note: String,
    /// Is it a second reading of a distance taken before?
    pub repeat: bool,
    /// Has it just been doubted?
    pub doubted: bool,
}

/// A reading as it was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Echo {
    /// As it was written into the file.
    pub spelling: String,
    /// As read, mm.
    pub as_read_mm: f64,
    /// The mark at which the tape was started, mm.
    pub start_mm: f64,
    /// Between which rims.
    pub how: How,
    /// Centre to centre (or edge to centre), mm.
    pub distance_mm: f64,
    /// Was it taken as inches because of its fraction?
    pub assumed_inches: bool,
}

/// What became of an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Reply {
    /// A reading was taken.
    Taken(Echo),
    /// A reading was taken, and does not go with the others: it should be read once more.
    ReadAgain(Echo),
    /// Two readings of one distance differ by more than their noise: a third should be taken.
    PairDiffers(Echo),
    /// The second reading goes with the others; the first did not.
    TakenInstead {
        /// The one that stands.
        echo: Echo,
        /// What was typed first.
        first: String,
        /// What may have happened with the first.
        slip: Option<Slip>,
    },
    /// Read twice alike, and still not like the others: it stands.
    Kept {
        /// It.
        echo: Echo,
        /// How much longer it is than the others make it, mm.
        excess_mm: f64,
        /// What may have happened.
        slip: Option<Slip>,
    },
    /// The text is no reading.
    Refused {
        /// What is wrong with it.
        why: String,
        /// What may help.
        help: Option<String>,
    },
    /// Left for later.
    Skipped,
    /// What was there stays.
    Left,
    /// Now at the distance before.
    Back,
    /// There is none before.
    AtTheStart,
    /// Now at the distance named.
    Gone,
    /// There is no such distance in the list.
    NoSuchDistance {
        /// First end.
        from: String,
        /// Second end.
        to: String,
    },
    /// A note was written down.
    Noted {
        /// The note; empty when it was taken away.
        note: String,
    },
    /// A second reading of the distance just taken is asked for.
    SecondReading,
    /// There is nothing yet to read a second time.
    NothingToRepeat,
    /// From now on the tape is started here, mm.
    StartsAt(f64),
    /// An answer is needed: a reading, or `skip`.
    NoAnswer,
    /// The words that can be typed.
    Help,
    /// Distances still to take: number, from, to.
    List(Vec<(usize, String, String)>),
    /// Enough for now.
    Stopped,
    /// No such word.
    Unknown(Option<&'static str>),
}

/// Where a session stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// Distances taken.
    pub taken: usize,
    /// Distances still to take.
    pub blank: usize,
    /// Distances that were read twice alike and still do not go with the others: from, to.
    pub doubted: Vec<(String, String)>,
}
