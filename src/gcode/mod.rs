//! A pattern as an RS274/NGC program (NIST IR 6556): holes drilled once each, all approached alike.
//!
//! X0 Y0 is the middle of the sheet, Z0 its top face. Only G20/G21 G17 G90 G94 G0 G1 F S M3 M5 M0 M2 and plain
//! comments are written: codes that every control reads the same way. (No G4: some controls take its P for
//! seconds, others for milliseconds. No drilling cycles, arcs or variables.)
//!
//! The rules of the motion, held by an interpreter of these programs in the tests:
//!
//! - one motion a line, Z alone or X and Y together;
//! - G0 only at the clearance height; everything below it, and the very first lift, is G1;
//! - the last stretch to every hole is straight up the sheet, slowly: both chains are then being wound in, both
//!   drives and the drag of the carriage act the same way at every hole, and any swing dies;
//! - a hole is drilled in equal pecks, with a full lift to the clearance height after each, and no dwell;
//! - M0 before the bit first goes down.

mod glyphs;
mod header;
mod job;
mod label;
mod program;
mod text;

pub use job::{Job, Lettering, Refusal, Spindle};
pub use program::{Program, Step};
