//! What was done to a machine and when: `events.csv` in its folder, one row an event.
//!
//! | column | meaning |
//! |---|---|
//! | `date` | year-month-day |
//! | `cut` | id of the last cut before it, on which it may rest; empty: before the cuts of its own day |
//! | `kind` | `setting`, `re-hung`, `chain`, `carriage`, `moved`, `tape` or `note` |
//! | `what` | for `setting` the setting's name as in `machine.toml`; free text otherwise |
//! | `from`, `to` | the numbers before and after, for `setting`; empty otherwise |
//! | `unit` | unit of both: `mm`, `inch`, `mm/m`, `mm/m per 100 N` |
//! | `note` | free text; for `setting` the evidence |
//!
//! Rows are only ever added at the end. Rows of one change stand together: same date, same cut.

use crate::frame::Unit;
use crate::machine::Unknown;
use crate::mistake::{MOST, Mistake, Read, in_order};
use crate::text::{harmless, is_unruly, nearest};
use jiff::civil::Date;

/// The columns, in the order in which they are written.
pub const COLUMNS: [&str; 8] = ["date", "cut", "kind", "what", "from", "to", "unit", "note"];

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A setting of the controller was changed.
    Setting,
    /// A chain was taken off and hung again, or jumped a tooth: chain lengths start anew.
    ReHung,
    /// A chain was replaced: its length, pitch and stretch start anew.
    Chain,
    /// The carriage weighs or hangs differently.
    Carriage,
    /// The machine was moved, or its frame changed.
    Moved,
    /// Another tape is in use.
    Tape,
    /// Anything else.
    Note,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 7] =
        [Self::Setting, Self::ReHung, Self::Chain, Self::Carriage, Self::Moved, Self::Tape, Self::Note];

    /// The word used in the file.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Setting => "setting",
            Self::ReHung => "re-hung",
            Self::Chain => "chain",
            Self::Carriage => "carriage",
            Self::Moved => "moved",
            Self::Tape => "tape",
            Self::Note => "note",
        }
    }

    /// In a sentence.
    pub const fn in_words(self) -> &'static str {
        match self {
            Self::Setting => "settings changed",
            Self::ReHung => "chain re-hung",
            Self::Chain => "new chain",
            Self::Carriage => "carriage weight changed",
            Self::Moved => "machine moved",
            Self::Tape => "another tape",
            Self::Note => "note",
        }
    }

    /// The unknowns that it may have moved, on the left and the right side as `sides` says.
    pub fn moves(self, [left, right]: [bool; 2]) -> Vec<Unknown> {
        use Unknown::*;
        let side = |l: Unknown, r: Unknown| [left.then_some(l), right.then_some(r)].into_iter().flatten();
        match self {
            Self::Setting | Self::Note | Self::Tape => Vec::new(),
            Self::ReHung => side(LengthLeft, LengthRight).collect(),
            Self::Chain => {
                side(LengthLeft, LengthRight).chain(side(PitchLeft, PitchRight)).chain([Stretch]).collect()
            }
            Self::Carriage => vec![Stretch],
            Self::Moved => vec![Spacing, Height, Tilt, Offset],
        }
    }

    /// The kind of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.name() == name)
    }
}

/// One event.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Day.
    pub date: Date,
    /// Id of the last cut before it, on which it may rest; empty when it comes before the cuts of its own day.
    pub cut: String,
    /// What happened.
    pub kind: Kind,
    /// Of a setting its name, else free text.
    pub what: String,
    /// Value before, in `unit`.
    pub from: Option<f64>,
    /// Value after, in `unit`.
    pub to: Option<f64>,
    /// Unit of both.
    pub unit: String,
    /// Free text.
    pub note: String,
}

impl Event {
    /// A change of a setting; values are given in library units and kept in the person's.
    pub fn setting(
        date: Date,
        cut: &str,
        unknown: Unknown,
        from: f64,
        to: f64,
        unit: Unit,
        note: &str,
    ) -> Self {
        let (word, one) = if unknown.is_length() { (unit.name(), unit.mm()) } else { (unknown.unit(), 1.0) };
        Self {
            date,
            cut: cut.to_owned(),
            kind: Kind::Setting,
            what: unknown.name().to_owned(),
            from: Some(from / one),
            to: Some(to / one),
            unit: word.to_owned(),
            note: note.to_owned(),
        }
    }

    /// An event in the person's words, after the cut of that id (see [`Event::cut`]).
    pub fn noted(date: Date, cut: &str, kind: Kind, note: &str) -> Self {
        let (what, unit) = (String::new(), String::new());
        let (cut, note) = (cut.to_owned(), note.to_owned());
        Self { date, cut, kind, what, from: None, to: None, unit, note }
    }

    /// Did it happen after a cut of that id and day? Ids begin with their day, so that they sort as they were made.
    pub fn is_after(&self, cut: &str, day: Date) -> bool {
        day < self.date || (day == self.date && !self.cut.is_empty() && cut <= self.cut.as_str())
    }

    /// The sides of the machine it is about, left and right: those that its words name, or both.
    pub fn sides(&self) -> [bool; 2] {
        let words = format!("{} {}", self.what, self.note).to_lowercase();
        let named = [words.contains("left"), words.contains("right")];
        if named == [false, false] { [true, true] } else { named }
    }

    /// The setting that was changed, from and to what, in library units; none for another event, or without a number.
    pub fn change(&self) -> Option<(Unknown, f64, f64)> {
        let unknown = self.unknown()?;
        let one = if unknown.is_length() { Unit::from_name(&self.unit)?.mm() } else { 1.0 };
        Some((unknown, self.from? * one, self.to? * one))
    }

    /// The setting that was changed, if this is such an event.
    pub fn unknown(&self) -> Option<Unknown> {
        if self.kind == Kind::Setting { Unknown::from_name(&self.what) } else { None }
    }
}

/// The file's text with events added at its end; an empty text gets the heading first.
pub fn append(text: &str, events: &[Event]) -> String {
    let mut out = text.to_owned();
    if !out.is_empty() && !out.ends_with('\n') {
        out.push('\n');
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory cannot fail.
    if text.trim().is_empty() {
        let _ = writer.write_record(COLUMNS);
    }
    for e in events {
        let number = |v: Option<f64>| v.filter(|v| v.is_finite()).map(number).unwrap_or_default();
        let date = e.date.to_string();
        let cells = [
            date,
            tame(&e.cut),
            e.kind.name().to_owned(),
            tame(&e.what),
            number(e.from),
            number(e.to),
            tame(&e.unit),
            tame(&e.note),
        ];
        let _ = writer.write_record(&cells);
    }
    out + &writer.into_inner().ok().and_then(|b| String::from_utf8(b).ok()).unwrap_or_default()
}

/// A number without the dust of binary fractions.
fn number(value: f64) -> String {
    let text = format!("{value:.6}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// Text on one line that no spreadsheet takes for a formula.
fn tame(text: &str) -> String {
    let line: String = text.chars().map(|c| if is_unruly(c) { ' ' } else { c }).collect();
    let line = line.trim();
    if line.starts_with(['=', '+', '-', '@']) { format!("'{line}") } else { line.to_owned() }
}

/// Reads `events.csv`. Columns go by name; those that are not known are passed over.
///
/// # Errors
/// Every row that cannot be understood.
pub fn read(text: &str) -> Read<Vec<Event>> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).has_headers(false).from_reader(text.as_bytes());
    let mut heading: Option<Vec<String>> = None;
    let (mut events, mut mistakes) = (Vec::new(), Vec::new());
    for record in reader.records() {
        let Ok(record) = record else {
            mistakes.push(Mistake::new(0..0, "this is not a table of text"));
            break;
        };
        let start = record.position().map_or(0, |p| p.byte() as usize).min(text.len());
        let skipped = text[start..].len() - text[start..].trim_start_matches(['\r', '\n']).len();
        let line = text[start + skipped..].lines().next().map_or(0, str::len);
        let span = start + skipped..start + skipped + line;
        match &heading {
            None => {
                let names: Vec<String> = record.iter().map(|c| c.trim().to_lowercase()).collect();
                for needed in ["date", "kind"].into_iter().filter(|n| !names.iter().any(|c| c == n)) {
                    mistakes.push(
                        Mistake::new(span.clone(), format!("there is no column `{needed}`"))
                            .expected(COLUMNS.join(",")),
                    );
                }
                if !mistakes.is_empty() {
                    break;
                }
                heading = Some(names);
            }
            Some(names) => {
                let cell = |name: &str| {
                    let k = names.iter().position(|n| n == name);
                    k.and_then(|k| record.get(k)).unwrap_or_default().trim()
                };
                match event(&cell) {
                    Ok(event) => events.push(event),
                    Err((title, found, expected)) if mistakes.len() < MOST => {
                        mistakes.push(Mistake::new(span, title).found(found).expected(expected));
                    }
                    Err(_) => {}
                }
            }
        }
    }
    if mistakes.is_empty() { Ok((events, Vec::new())) } else { Err(in_order(text, mistakes)) }
}

/// One row; what is wrong with it as title, found, expected.
fn event<'a>(cell: &impl Fn(&str) -> &'a str) -> Result<Event, (&'static str, String, String)> {
    let quoted = |text: &str| format!("{:?}", harmless(text));
    let date = cell("date").parse::<Date>().map_err(|_| {
        (
            "this is no day of the calendar",
            quoted(cell("date")),
            "year-month-day, such as 2026-11-25".to_owned(),
        )
    })?;
    let kind = Kind::from_name(&cell("kind").to_lowercase()).ok_or_else(|| {
        let names = Kind::ALL.map(Kind::name);
        let hint = nearest(cell("kind"), names).map_or(String::new(), |n| format!("; did you mean {n}?"));
        ("there is no such kind of event", quoted(cell("kind")), format!("one of {}{hint}", names.join(", ")))
    })?;
    let number = |name: &str| match cell(name) {
        "" => Ok(None),
        text => match text.parse::<f64>() {
            Ok(v) if v.is_finite() => Ok(Some(v)),
            _ => Err(("this is not a number", quoted(text), "such as 3302.4, or nothing".to_owned())),
        },
    };
    let free = |name: &str| tame(cell(name).trim_start_matches('\''));
    Ok(Event {
        date,
        cut: free("cut"),
        kind,
        what: free("what"),
        from: number("from")?,
        to: number("to")?,
        unit: free("unit"),
        note: free("note"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_added_reads_back_and_the_old_rows_stay_as_they_were() {
        let day = jiff::civil::date(2026, 11, 25);
        let first =
            Event::setting(day, "2026-11-24", Unknown::Spacing, 3300.0, 3302.91, Unit::Mm, "24 readings");
        let note = Event {
            date: day,
            cut: String::new(),
            kind: Kind::Note,
            what: "=1+1, \"quoted\"".to_owned(),
            from: None,
            to: None,
            unit: String::new(),
            note: "new\nbelt".to_owned(),
        };
        let one = append("", std::slice::from_ref(&first));
        let two = append(&one, std::slice::from_ref(&note));
        assert!(two.starts_with(&one));
        let (events, _) = read(&two).unwrap();
        assert_eq!(events[0], first);
        assert_eq!(events[0].unknown(), Some(Unknown::Spacing));
        assert_eq!((events[1].kind, events[1].note.as_str()), (Kind::Note, "new belt"));
        assert!(two.lines().nth(2).unwrap().contains("'=1+1"));
        // In inches the numbers are those that the person sees.
        let inch = Event::setting(day, "", Unknown::Offset, 0.0, 25.4, Unit::Inch, "");
        assert_eq!((inch.to, inch.unit.as_str()), (Some(1.0), "inch"));
    }

    #[test]
    fn an_event_knows_which_cuts_were_before_it() {
        let day = |d| jiff::civil::date(2026, 11, d);
        let named = Event::noted(day(25), "2026-11-25-b", Kind::ReHung, "");
        assert_eq!(read(&append("", std::slice::from_ref(&named))).unwrap().0, std::slice::from_ref(&named));
        for (cut, day, after) in
            [("2026-11-24", day(24), true), ("2026-11-25-b", day(25), true), ("2026-11-25-c", day(25), false)]
        {
            assert_eq!(named.is_after(cut, day), after, "{cut}");
        }
        let unnamed = Event::noted(day(25), "", Kind::Note, "");
        assert!(unnamed.is_after("2026-11-24", day(24)) && !unnamed.is_after("2026-11-25", day(25)));
    }

    #[test]
    fn every_bad_row_is_named() {
        let text = "date,kind,to\n2026-02-30,note,\n2026-02-01,seting,\n2026-02-01,note,much\n";
        let mistakes = read(text).unwrap_err();
        assert_eq!(mistakes.iter().map(|m| m.line).collect::<Vec<_>>(), [2, 3, 4]);
        assert!(mistakes[1].expected.contains("did you mean setting?"));
        assert!(read("").unwrap().0.is_empty());
        assert!(read("what\nx\n").is_err());
    }
}
