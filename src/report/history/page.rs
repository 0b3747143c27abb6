//! The history as one HTML page that fetches nothing.

use super::story;
use crate::history::History;
use crate::report::{html, plain};

/// The page as a whole document.
pub fn html(history: &History) -> String {
    let title = format!("{}, the months", plain(&history.machine));
    let below = match (history.entries.first(), history.entries.last()) {
        (Some(a), Some(b)) => format!(
            "{} cuts, {} to {}; looked at on {}",
            history.entries.len(),
            a.date,
            b.date,
            history.today
        ),
        _ => "No cuts yet".to_owned(),
    };
    html::plain_page(&title, &plain(&history.machine), &below, &story::sections(history))
}
