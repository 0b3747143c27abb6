//! The machine over the months, for the screen, paper, spreadsheets and programs.
//!
//! What is said, and in which order, is laid down once in `story`; [`text()`] and [`html()`] only set it.

mod export;
mod page;
mod picture;
mod plot;
mod story;
mod words;

pub use export::{compared as compared_json, csv, json};
pub use page::html;

use super::{plain, text};
use crate::history::{Comparison, History};
use crate::record::Estimate;

/// An estimate of a quantity that is shown in units of `one` library units.
fn scaled(e: Estimate, one: f64) -> Estimate {
    Estimate { value: e.value / one, u: e.u / one }
}

/// The history for a terminal of `width` columns, ending in a line feed.
pub fn text(history: &History, width: usize) -> String {
    let title = format!("{}, {} cuts", plain(&history.machine), history.entries.len());
    text::set_all(&title, &story::sections(history), width)
}

/// Two cuts of it against each other, for a terminal of `width` columns.
pub fn compared(history: &History, comparison: &Comparison, width: usize) -> String {
    let title = format!(
        "{}, cut {} against cut {}",
        plain(&history.machine),
        plain(&comparison.later),
        plain(&comparison.earlier)
    );
    text::set_all(&title, &story::comparison(history, comparison), width)
}
