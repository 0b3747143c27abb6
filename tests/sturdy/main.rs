//! Hard to break: kills, full disks, two copies, untrusted text, tested examples of every help, licences, and bytes
//! that no sane program writes.
//!
//! The tables with counts are printed by `cargo test --test sturdy -- --nocapture`.

mod absurd;
mod copies;
#[cfg(unix)]
mod disk;
mod fuzz;
mod help;
mod inches;
mod kills;
mod licences;
mod places;
mod shop;
mod words;
