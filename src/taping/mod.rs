//! The first set-up by tape: what is known of a machine before it has cut anything.
//!
//! # Readings
//!
//! With the tape's scale error s (mm/m), a reading is (1 + s/1000) times the length, and its noise. In the axes of
//! [`crate::machine`], W and h the sheet's width and height, H' = `height`, D, tau, c as there:
//!
//! | reading | length |
//! |---|---|
//! | sheet's width | W |
//! | shaft to shaft | D |
//! | sheet's top edge to the shafts' line, at its left and right corner | H' + (-W/2 - c) tan tau, H' + (W/2 - c) tan tau |
//! | left (right) edge to a mark of the beam's middle, d below the top edge | W/2 + o (W/2 - o), o = c + (H' + d) tan tau - g y/1000 + e |
//! | left (right) edge to the bit, driven to X0 Y0 | the same with o = x - g y/1000 + e |
//! | top edge to the bit, driven to X0 Y0 | h/2 - y + e |
//! | links from 12 o'clock to the last, driven to X0 Y0, r from there to the bit | (L - r) / (1 + pitch/1000) of nominal pitch |
//!
//! A *mark of the beam's middle* is a point equally far from both shafts, so that all of them lie on the line that is
//! square to the beam in its middle. g (mm/m) is how far the sheet's sides lean out of square to its top edge, top to
//! the right; sheets are seldom square, so g is an unknown of its own. e is where the mark, or the bit, really went.
//! (x, y) is where the real machine lands for what the controller pays out with the settings it holds, and L the
//! length of chain there: the same [`crate::machine`] as everywhere.
//!
//! # Solution
//!
//! All readings are adjusted together by [`crate::fit`], weighted with their standard uncertainties; what is usual
//! of a machine (`[expected]`) enters as one observation for each unknown, except where a reading of its own takes its
//! place. What no reading sees stays as it is usual. Readings that contradict each other show in their standardised
//! residuals ([Baarda](crate::references::BAARDA_1968)).

mod centre_line;
mod estimate;
mod key;
mod model;
mod outlook;
mod reading;
mod session;
mod understand;

pub use centre_line::CentreLine;
pub use estimate::{Doubt, Likely, Row, Taped, estimate};
pub use key::Key;
pub use model::{LEAN_U_MM_PER_M, SHEET_U_MM};
pub use outlook::{Expectation, Outlook, outlook};
pub use reading::{BIT_U_MM, Look, MARK_U_MM, Reading};
pub use session::{Reply, Session};
pub use understand::{Answers, Build, Refusal, Understood};
