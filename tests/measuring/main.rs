//! The way of a reading: on the sheet, in the form, at the prompt, and into the analysis.

mod browser;
mod form;
mod more;
#[cfg(unix)]
mod prompt;
mod sheet;
mod shop;
