//! A job file bent the other way: every point moved so that the machine lands where the job meant.
//!
//! A plain controller holds no sag and no stretch; a job that asks for the wrong place on purpose gets the right one.
//! [`Bend`] is where to send the carriage for a place, as a table with a checked error; [`compensate`] reads a job
//! in RS274/NGC line by line ([NIST IR 6556](crate::references::NIST_IR_6556)), moves its points, and turns arcs and
//! long lines into chords that keep within a stated tolerance of the way that was meant.
//!
//! What is not understood is passed on as it stands when it cannot change where the bit goes, and refused by line when
//! it can: other planes, other zeros, cutter compensation, cycles, variables, subprograms. Only the coordinates of a
//! line are touched; its comments, feeds and everything else keep their bytes, on their own line, so that no comment
//! can become a command.

mod arc;
mod bend;
mod codes;
mod edit;
mod engine;
mod flatten;
mod given;
mod patch;
mod read;
mod refuse;
mod source;
mod state;
mod summary;
mod travel;

pub use bend::{Bend, OffLimits, TABLE_MM, TooCrooked, sent_for};
pub use engine::{Options, Refused, compensate};
pub use flatten::{LEAST_CHORD_MM, MOST_CHORD_MM};
pub use read::MARK;
pub use summary::{Largest, Stroke, Summary, TracePoint};
