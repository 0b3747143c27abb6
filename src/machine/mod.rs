//! The machine: two sprockets, two chains, a carriage; where it lands for what its controller believes.

mod hardware;
mod unknowns;

pub use hardware::{Attachment, ChainLeaves, G_M_PER_S2, Hardware};
pub use unknowns::{COUNT, Unknown, Values};
