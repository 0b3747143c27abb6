//! Typing readings in, one distance after the other, while the tape is still in hand.
//!
//! A [`Session`] is a state machine without a screen: it says which distance is asked for ([`Question`]), is given a
//! line of text, and hands back what became of it ([`Reply`]) and the file's new text. It knows no clock and no file.
//!
//! # When a reading is doubted
//!
//! Each new reading is held against what the readings before it, and the set-up, predict for that distance
//! ([`Doubt`]): the [adjustment](crate::adjustment) of the others gives the prediction and its uncertainty, the new
//! reading's own noise is added, and beyond the critical value that the [screening](crate::screening) uses the
//! person is asked to read once more. What was expected is not said before that second reading is in: a known target
//! pulls readings towards itself (MacCoun and Perlmutter, Nature 526 (2015) 187). Whatever is read twice stands.

mod band;
mod check;
mod reply;
mod session;
mod typed;

pub use band::Band;
pub use check::{Doubt, judge};
pub use reply::{Echo, Question, Reply, Summary};
pub use session::{Session, Task};
pub use typed::{Typed, Word, understand};
