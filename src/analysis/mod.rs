//! From a cut and its readings to the record that reports show.

mod analyse;
mod doubts;
mod edges;
mod errors;
mod notices;
mod results;

pub use crate::record::*;
pub use analyse::{Cut, NoAnswer, analyse};
pub use notices::DISAGREE;
