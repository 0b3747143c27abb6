//! Hard to break: kills, full disks, two copies, tested examples of every help, licences.
//!
//! The tables with counts are printed by `cargo test --test sturdy -- --nocapture`.

mod copies;
#[cfg(unix)]
mod disk;
mod help;
mod kills;
mod licences;
mod places;
mod shop;
