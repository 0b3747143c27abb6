//! The state machine: where the person is in the list, and what an answer does to the file.

use super::check::judge;
use super::reply::{Echo, Question, Reply, Summary};
use super::typed::{Typed, Word, understand};
use crate::mistake::{Mistake, Severity};
use crate::pattern::{Hole, Pattern};
use crate::readings::length::{self, Context, ReadingUnit};
use crate::readings::{self, How, Known, Place, Places, Reading, Row, Table};
use crate::screening::Slip;
use crate::setup::{Instrument, InstrumentKind, Setup};

/// Two readings of one distance differ too much beyond this many standard uncertainties of their difference: one
/// pair in four hundred does so by chance.
const PAIR_W: f64 = 3.0;

/// A cut whose distances are read.
#[derive(Debug, Clone, Copy)]
pub struct Task<'a> {
    /// The machine of the cut.
    pub setup: &'a Setup,
    /// Its pattern.
    pub pattern: &'a Pattern,
    /// The holes of that pattern.
    pub holes: &'a [Hole],
    /// What its table refers to.
    pub known: Known<'a>,
}

/// A reading that was doubted, until it is read again.
#[derive(Debug, Clone, PartialEq)]
struct Doubted {
    row: usize,
    spelling: String,
    distance_mm: f64,
    slip: Option<Slip>,
}

/// One sitting at the prompt.
#[derive(Debug, Clone)]
pub struct Session<'a> {
    task: Task<'a>,
    table: Table,
    /// The row asked for; the number of rows when all are done.
    at: usize,
    /// A second reading of this row is asked for; it gets a row of its own once it is given.
    repeat_of: Option<usize>,
    /// The row answered last.
    last: Option<usize>,
    doubted: Option<Doubted>,
    /// Rows that were read twice alike and do not go with the others.
    kept: Vec<usize>,
    /// The start that was stated for the session, as typed.
    start: Option<String>,
}

impl<'a> Session<'a> {
    /// Begins at the first distance that is still to be taken.
    ///
    /// # Errors
    /// Everything that is wrong with the table.
    pub fn new(task: Task<'a>, text: &str) -> Result<Self, Vec<Mistake>> {
        let table = readings::read(text.as_bytes(), &task.known).map_err(|(_, mistakes)| mistakes)?;
        let mut session = Self {
            task,
            table,
            at: 0,
            repeat_of: None,
            last: None,
            doubted: None,
            kept: Vec::new(),
            start: None,
        };
        session.at = session.blank_from(0);
        Ok(session)
    }

    /// The file as it should be saved.
    pub fn text(&self) -> &str {
        &self.table.text
    }

    /// What is asked for; `None` when the end of the list is reached.
    pub fn question(&self) -> Option<Question> {
        let index = self.repeat_of.unwrap_or(self.at);
        let row = self.table.rows.get(index)?;
        let taken = row.reading.is_some() && self.repeat_of.is_none();
        let earlier = self.table.rows[..index].iter().any(|r| ends(r) == ends(row) && r.reading.is_some());
        Some(Question {
            number: index + 1,
            of: self.table.rows.len(),
            from: self.name(row.from),
            to: self.name(row.to),
            instrument: self.task.known.instruments[row.instrument].name.clone(),
            how: row.how,
            start_mm: self.start_mm(row),
            now: taken.then(|| row.spelling.clone()),
            note: row.note.clone(),
            repeat: self.repeat_of.is_some() || (earlier && !taken),
            doubted: self.doubted.as_ref().is_some_and(|d| d.row == index),
        })
    }

    /// Where the session stands.
    pub fn summary(&self) -> Summary {
        Summary {
            taken: self.table.readings.len(),
            blank: self.table.blank(),
            doubted: self.kept.iter().map(|&k| self.names(&self.table.rows[k])).collect(),
        }
    }

    /// Takes a line of the person's.
    pub fn answer(&mut self, line: &str) -> Reply {
        match understand(line) {
            Word::Reading(typed) => self.reading(&typed),
            Word::Nothing => self.nothing(),
            Word::Skip => {
                self.doubted = None;
                if self.repeat_of.take().is_none() {
                    self.at = self.blank_from((self.at + 1).min(self.table.rows.len()));
                }
                Reply::Skipped
            }
            Word::Back => self.back(),
            Word::Note(note) => self.note(&note),
            Word::Again => match self.last.filter(|_| self.doubted.is_none()) {
                Some(last) => {
                    self.repeat_of = Some(last);
                    Reply::SecondReading
                }
                None => Reply::NothingToRepeat,
            },
            Word::Go(from, to) => self.go(&from, &to),
            Word::Start(text) => match length::read_start(&text, self.context(None)) {
                Ok(mm) => {
                    self.start = Some(text);
                    Reply::StartsAt(mm)
                }
                Err(refusal) => Reply::Refused { why: refusal.why, help: refusal.help },
            },
            Word::Help => Reply::Help,
            Word::List => Reply::List(
                (self.table.rows.iter().enumerate())
                    .filter(|(_, row)| row.reading.is_none())
                    .map(|(k, row)| (k + 1, self.name(row.from), self.name(row.to)))
                    .collect(),
            ),
            Word::Stop => Reply::Stopped,
            Word::Unknown(near) => Reply::Unknown(near),
        }
    }

    /// An empty line keeps what is there.
    fn nothing(&mut self) -> Reply {
        let taken = self.table.rows.get(self.at).is_some_and(|row| row.reading.is_some());
        if self.repeat_of.is_some() || !taken || self.doubted.is_some() {
            return Reply::NoAnswer;
        }
        self.at = self.blank_from(self.at + 1);
        Reply::Left
    }

    fn back(&mut self) -> Reply {
        self.doubted = None;
        if self.repeat_of.take().is_some() {
            return Reply::Back;
        }
        match self.at.checked_sub(1) {
            Some(before) => {
                self.at = before;
                Reply::Back
            }
            None => Reply::AtTheStart,
        }
    }

    fn go(&mut self, from: &str, to: &str) -> Reply {
        let places = Places::new(self.task.known.holes);
        let wanted = places.find(from).zip(places.find(to)).map(|(a, b)| (a.min(b), a.max(b)));
        // The first of them that is blank, or else the first.
        let fits = |row: &Row| Some(ends(row)) == wanted;
        let blank = self.table.rows.iter().position(|row| fits(row) && row.reading.is_none());
        match blank.or_else(|| self.table.rows.iter().position(fits)) {
            Some(found) => {
                (self.at, self.repeat_of, self.doubted) = (found, None, None);
                Reply::Gone
            }
            None => Reply::NoSuchDistance { from: from.to_uppercase(), to: to.to_uppercase() },
        }
    }

    fn note(&mut self, note: &str) -> Reply {
        let index = self.repeat_of.unwrap_or(self.at);
        let Some(line) = self.table.rows.get(index).map(|row| row.line) else { return Reply::AtTheStart };
        let written = readings::rewrite(self.text(), line, &[("note", note)]);
        match written.and_then(|text| readings::read(text.as_bytes(), &self.task.known).ok()) {
            Some(table) => {
                self.table = table;
                Reply::Noted { note: self.table.rows[index].note.clone() }
            }
            None => Reply::Refused { why: "this note cannot be written down".to_owned(), help: None },
        }
    }

    /// How a bare number is understood.
    fn context(&self, unit: Option<ReadingUnit>) -> Context {
        Context {
            unit: unit.unwrap_or(self.task.known.unit.into()),
            unit_is_stated: unit.is_some(),
            decimal_comma: readings::takes_decimal_comma(self.text()),
        }
    }

    fn reading(&mut self, typed: &Typed) -> Reply {
        let Some(row) = self.table.rows.get(self.repeat_of.unwrap_or(self.at)).cloned() else {
            return Reply::Refused { why: "the list is at its end".to_owned(), help: None };
        };
        let length = match length::read(&typed.reading, self.context(row.unit)) {
            Ok(length) => length,
            Err(refusal) => return Reply::Refused { why: refusal.why, help: refusal.help },
        };
        let mut spelling = typed.reading.clone();
        if length.assumed_inches {
            spelling.push('"');
        }
        let (table, index) = match self.written(&row, &spelling, typed) {
            Ok(written) => written,
            Err(refused) => return *refused,
        };
        let before = std::mem::replace(&mut self.table, table);
        if self.repeat_of.take().is_some() {
            self.moved_down(index);
        }
        self.kept.retain(|&k| k != index);
        let reply = self.judged(index, length.assumed_inches, &before);
        self.last = Some(index);
        if self.doubted.is_none() {
            self.at = if index == self.at { self.blank_from(index + 1) } else { self.at };
        } else {
            self.at = index;
        }
        reply
    }

    /// The table with an answer in it, and the answer's row.
    fn written(&self, row: &Row, spelling: &str, typed: &Typed) -> Result<(Table, usize), Box<Reply>> {
        let again = self.doubted.is_some();
        let instruments = self.task.known.instruments;
        let named = |name: &str| instruments.iter().position(|i| i.name.eq_ignore_ascii_case(name));
        let used = typed.instrument.as_deref().and_then(named).unwrap_or(row.instrument);
        let session = self.start.as_deref().filter(|_| !again && is_started(&instruments[used]));
        let start = typed.start.as_deref().or(session);
        let how = typed.how.map(|how| match how {
            How::Centre => "centre",
            How::Inside => "inside",
            How::Outside => "outside",
        });
        let (from, to) = self.names(row);
        let own = &self.task.known.instruments[row.instrument].name;
        let mut cells: Vec<(&str, &str)> = vec![("reading", spelling)];
        cells.extend(start.map(|start| ("start", start)));
        cells.extend(how.map(|how| ("how", how)));
        cells.extend(typed.note.as_deref().map(|note| ("note", note)));
        cells.extend(typed.instrument.as_deref().map(|name| ("instrument", name)));
        let text = if self.repeat_of.is_some() {
            cells.extend([("from", from.as_str()), ("to", to.as_str())]);
            if typed.instrument.is_none() && row.instrument != 0 {
                cells.push(("instrument", own));
            }
            if how.is_none() && row.how != How::Centre {
                cells.push(("how", if row.how == How::Inside { "inside" } else { "outside" }));
            }
            if let Some(unit) = row.unit {
                cells.push(("unit", unit.name()));
            }
            if start.is_none() && !row.start_spelling.is_empty() {
                cells.push(("start", &row.start_spelling));
            }
            readings::insert_below(self.text(), Some(row.line), &cells)
        } else {
            readings::rewrite(self.text(), row.line, &cells)
        };
        let line = row.line + usize::from(self.repeat_of.is_some());
        let lost =
            || Box::new(Reply::Refused { why: "this answer cannot be written down".to_owned(), help: None });
        let text = text.ok_or_else(lost)?;
        let table = readings::read(text.as_bytes(), &self.task.known).map_err(|(_, mistakes)| {
            let mistake = mistakes.into_iter().find(|m| m.severity == Severity::Error);
            mistake.map_or_else(lost, |m| {
                let help = m.help.or(Some(m.expected).filter(|e| !e.is_empty()));
                Box::new(Reply::Refused { why: m.title, help })
            })
        })?;
        let index = table.rows.iter().position(|r| r.line >= line).ok_or_else(lost)?;
        Ok((table, index))
    }

    /// A row was put in at `index`: what refers to rows behind it moves on by one.
    fn moved_down(&mut self, index: usize) {
        for k in self.kept.iter_mut().chain(std::iter::once(&mut self.at)).chain(self.last.iter_mut()) {
            *k += usize::from(*k >= index);
        }
    }

    /// What is to be said of the reading in a row; notes down whether it is doubted.
    fn judged(&mut self, index: usize, assumed_inches: bool, before: &Table) -> Reply {
        let row = &self.table.rows[index];
        let Some(new) = row.reading.map(|k| self.table.readings[k].clone()) else { return Reply::NoAnswer };
        let echo = Echo {
            spelling: row.spelling.clone(),
            as_read_mm: new.as_read_mm,
            start_mm: new.start_mm,
            how: new.how,
            distance_mm: new.distance_mm,
            assumed_inches,
        };
        let others: Vec<Reading> =
            self.table.readings.iter().filter(|r| r.line != new.line).cloned().collect();
        let doubt = judge(&self.task, &others, &new, self.table.rows.len());
        let noise_mm = self.task.setup.instruments[new.instrument].random_u_mm(new.distance_mm);
        let agrees = |mm: f64| (mm - new.distance_mm).abs() <= PAIR_W * noise_mm * f64::sqrt(2.0);
        let first = self.doubted.take().filter(|d| d.row == index);
        let doubtful = doubt.as_ref().is_some_and(|d| d.doubtful);
        let pair = pair_of(&others, &new);
        match (first, doubt) {
            (Some(first), Some(doubt)) if doubtful && agrees(first.distance_mm) => {
                self.kept.push(index);
                Reply::Kept { echo, excess_mm: doubt.excess_mm, slip: doubt.slip }
            }
            (Some(first), _) if !doubtful && !agrees(first.distance_mm) => {
                Reply::TakenInstead { echo, first: first.spelling, slip: first.slip }
            }
            (_, Some(doubt)) if doubtful => {
                self.doubted = Some(Doubted {
                    row: index,
                    spelling: echo.spelling.clone(),
                    distance_mm: new.distance_mm,
                    slip: doubt.slip,
                });
                Reply::ReadAgain(echo)
            }
            // Only said once of a pair: whoever corrects one of the two is not asked for ever.
            _ if pair.is_some_and(|mm| !agrees(mm)) && before.readings.len() < self.table.readings.len() => {
                Reply::PairDiffers(echo)
            }
            _ => Reply::Taken(echo),
        }
    }

    /// The first blank row at or behind an index, or the end.
    fn blank_from(&self, index: usize) -> usize {
        let behind = self.table.rows.iter().skip(index).position(|row| row.reading.is_none());
        behind.map_or(self.table.rows.len(), |k| index + k)
    }

    /// The mark at which a row's tape is started, mm: its own, the session's, or its instrument's.
    fn start_mm(&self, row: &Row) -> f64 {
        let session =
            self.start.as_deref().filter(|_| is_started(&self.task.known.instruments[row.instrument]));
        let text = if row.start_spelling.is_empty() { session } else { Some(&*row.start_spelling) };
        text.and_then(|text| length::read_start(text, self.context(row.unit)).ok())
            .unwrap_or_else(|| self.task.known.instruments[row.instrument].start_mm)
    }

    fn name(&self, place: Place) -> String {
        match place {
            Place::Hole(i) => self.task.holes[i].id.clone(),
            Place::Edge(edge) => edge.name().to_owned(),
        }
    }

    fn names(&self, row: &Row) -> (String, String) {
        (self.name(row.from), self.name(row.to))
    }
}

/// Can it be started at a mark of its own? A caliper cannot.
fn is_started(instrument: &Instrument) -> bool {
    instrument.kind != InstrumentKind::Caliper
}

/// The two ends of a distance, whichever way it was taken.
fn ends(row: &Row) -> (Place, Place) {
    (row.from.min(row.to), row.from.max(row.to))
}

/// The last other reading of the same distance with the same instrument, mm.
fn pair_of(others: &[Reading], new: &Reading) -> Option<f64> {
    let ends = |r: &Reading| (r.from.min(r.to), r.from.max(r.to), r.instrument);
    others.iter().rev().find(|r| ends(r) == ends(new)).map(|r| r.distance_mm)
}
