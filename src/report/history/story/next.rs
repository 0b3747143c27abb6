//! When to look again.

use super::super::words;
use super::section;
use crate::history::History;
use crate::interval::{self, Advice};
use crate::report::outline::{Block, Section, Table, text};

pub(super) fn next(h: &History) -> Section {
    let Some(advice) = h.look_again else { return section("", Vec::new()) };
    let Some(last) = h.entries.last() else { return section("", Vec::new()) };
    let day = last.date.saturating_add(jiff::Span::new().days(advice.days.round() as i64));
    let by = || format!("Cut the next test by {day}, in {} from the last.", words::span(advice.days));
    let (what, why) = match advice.basis {
        interval::Basis::Beyond => (
            "Correct now, then cut again.".to_owned(),
            "The error is likely to be beyond the limit already.".to_owned(),
        ),
        interval::Basis::Drift => {
            (by(), "By then 5 of 100 machines like this one would be beyond the limit.".to_owned())
        }
        interval::Basis::Staircase => {
            (by(), "The growth that is seen does not ask for less than the tests passed so far.".to_owned())
        }
    };
    let late =
        if day < h.today && advice.basis != interval::Basis::Beyond { " That day is past." } else { "" };
    let mut blocks = vec![Block::Item { what, next: format!("{why}{late}") }, methods(&advice)];
    blocks.push(Block::Para(
        "The shorter of the two counts, a week at least and a year at most. Both are methods of the guide ILAC-G24 / OIML D 10; how \
         much longer and shorter is common practice. In between, `tautgrid prepare --quick` is that guide's check in use: six \
         distances, ten minutes."
            .to_owned(),
    ));
    section("When to look again", blocks)
}

/// What each method says, and its band.
fn methods(advice: &Advice) -> Block {
    let [failed, passed] = advice.staircase_after_days.map(words::span);
    let when = |days: Option<f64>| days.map_or_else(|| "out of sight".to_owned(), words::span);
    let (early, band) = match advice.drift {
        None => ("out of sight".to_owned(), "the limit is not reached in the months looked at".to_owned()),
        Some(d) if d.early_days <= 0.0 && d.late_days == Some(0.0) => {
            ("now".to_owned(), "beyond the limit".to_owned())
        }
        Some(d) => (
            if d.early_days <= 0.0 { "now".to_owned() } else { words::span(d.early_days) },
            format!("most likely {}; 95 of 100 by {}", when(d.middle_days), when(d.late_days)),
        ),
    };
    Block::Table(Table {
        caption: "From the last cut, and how sure".to_owned(),
        columns: vec![text("method"), text("interval"), text("band")],
        rows: vec![
            vec![
                "staircase: each test passed lengthens it by a quarter, each failed shortens it to six tenths".to_owned(),
                words::span(advice.staircase_days),
                format!("the one after: {failed} if the next test fails, {passed} if it passes"),
            ],
            vec!["drift: before 5 of 100 machines like this one pass the limit".to_owned(), early, band],
        ],
        strong: Some(1),
    })
}
