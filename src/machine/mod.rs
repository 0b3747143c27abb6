//! The machine: two sprockets, two chains, a carriage; where it lands for what its controller believes.
//!
//! [`Machine`] is both a belief (settings) and a truth (unknowns); [`land`] joins them: the belief pays out chain
//! for a target ([`Machine::pay_out`]), the truth settles where that chain lets it ([`Machine::settle`]). Every
//! result carries exact partial derivatives.

mod chain;
mod geometry;
mod hardware;
mod newton;
mod real;
mod sled;
mod unknowns;

pub use chain::{ChainEnd, ChainKind};
pub use geometry::{Landing, Machine, Payout, Side, Unreachable, land};
pub use hardware::{Attachment, ChainLeaves, G_M_PER_S2, Hardware};
pub use real::{Dual, Real};
pub use sled::{Sled, Turn};
pub use unknowns::{COMMON, COUNT, Unknown, Values};
