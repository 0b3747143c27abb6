//! What was done to the machine, placed between the cuts.

use super::Entry;
use crate::events::{Event, Kind};
use crate::machine::Unknown;
use jiff::civil::Date;

/// Something that was done to the machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Day.
    pub date: Date,
    /// It comes before this cut, by place in the list; the number of cuts when after all of them.
    pub before: usize,
    /// What sort of thing.
    pub kind: Kind,
    /// In the person's words.
    pub words: String,
    /// The unknowns that it may have moved.
    pub moves: Vec<Unknown>,
    /// Settings that were changed by it, as name, from and to in the file's unit.
    pub settings: Vec<(Unknown, Option<f64>, Option<f64>)>,
}

/// Events as marks, in order; changes of settings of one occasion together.
pub(super) fn marks(entries: &[Entry], events: &[Event]) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    for event in events {
        let before = entries.iter().take_while(|e| !is_before(event, e)).count();
        if let Some(unknown) = event.unknown() {
            let change = (unknown, event.from, event.to);
            match marks.iter_mut().rev().find(|m| m.before == before && m.date == event.date) {
                Some(mark) if mark.kind == Kind::Setting => mark.settings.push(change),
                _ => marks.push(Mark {
                    date: event.date,
                    before,
                    kind: Kind::Setting,
                    words: String::new(),
                    moves: Vec::new(),
                    settings: vec![change],
                }),
            }
        } else {
            let words = [event.what.as_str(), event.note.as_str()];
            let words: Vec<&str> = words.into_iter().filter(|w| !w.is_empty()).collect();
            let (date, kind, words) = (event.date, event.kind, words.join(": "));
            let moves = kind.moves(event.sides());
            marks.push(Mark { date, before, kind, words, moves, settings: Vec::new() });
        }
    }
    marks.sort_by_key(|m| (m.before, m.date));
    marks
}

/// Was the event before this cut was made?
fn is_before(event: &Event, entry: &Entry) -> bool {
    !event.is_after(&entry.id, entry.date)
}
