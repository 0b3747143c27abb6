//! From a cut and its readings to the record that reports show.

mod analyse;
mod doubts;
mod edges;
mod errors;
mod notices;
mod results;
mod verify;

pub use crate::record::*;
pub use analyse::{Cut, NoAnswer, analyse, analyse_over};
pub use notices::DISAGREE;
pub use verify::{changes_before, hold_to_promise, verify};
