//! From a cut and its readings to the record that reports show.

mod record;

pub use record::*;
