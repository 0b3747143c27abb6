//! From a cut and its readings to the record that reports show.

mod analyse;
mod doubts;

pub use crate::record::*;
pub use analyse::{Cut, NoAnswer, analyse};
