//! tautgrid finds, explains and corrects the geometry error of a two-chain upright router from a test cut.
//!
//! # The question
//!
//! A carriage hangs from two chains. The controller believes some settings; the machine is a little different.
//! A grid of holes is cut, some distances between them are measured. Which unknowns of the machine explain
//! the readings, how well are they known, and which settings leave the smallest error?
//!
//! # Axes and signs
//!
//! mm, seen from the front: x right, y up, origin in the middle of the sheet ([`frame`]).
//! With D the spacing, H = sheet height/2 + `height`, tau = `tilt`/1000 and c the offset, the left sprocket
//! axis is at (c - D/2 cos tau, H - D/2 sin tau), the right one at (c + D/2 cos tau, H + D/2 sin tau).
//!
//! | unknown | unit | meaning, positive when |
//! |---|---|---|
//! | `spacing` | mm | sprocket axis to sprocket axis |
//! | `height` | mm | middle of the beam's axis line above the sheet's top edge |
//! | `tilt` | mm/m | right end of the beam higher |
//! | `offset` | mm | middle of the beam right of the middle of the sheet |
//! | `length_left`, `length_right` | mm | that chain is longer than the controller thinks, the same everywhere |
//! | `pitch_left`, `pitch_right` | mm/m | that chain is longer per metre paid out |
//! | `stretch` | mm/m per 100 N | elastic strain of the chain under tension |
//! | `apart` | mm | pivot to pivot, on a sled with two pivots |
//! | `above` | mm | line of these pivots above the bit |
//! | `mass_above` | mm | such a sled's centre of mass above the bit |

#![forbid(unsafe_code)]

pub mod adjustment;
pub mod analysis;
pub mod budget;
pub mod carry_over;
pub mod charts;
pub mod correction;
pub mod cut;
pub mod demo;
pub mod difference;
pub mod document;
pub mod entry;
pub mod events;
pub mod field;
pub mod fit;
pub mod frame;
pub mod gcode;
pub mod history;
pub mod interval;
pub mod job;
pub mod knowledge;
pub mod machine;
pub mod mistake;
pub mod pattern;
pub mod planner;
pub mod readings;
pub mod record;
pub mod references;
pub mod report;
pub mod screening;
pub mod setup;
pub mod simulation;
pub mod statespace;
pub mod symptoms;
pub mod taping;
pub mod text;
pub mod trials;
