//! From a cut and its readings to the record that reports show.

mod analyse;
mod doubts;

pub use analyse::{Cut, NoAnswer, analyse};
pub use crate::record::*;
