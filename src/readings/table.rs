//! `readings.csv`: bytes to readings, with every mistake of the file in one pass.

use super::cells::{Cell, Record, Records, separator};
use super::columns::Columns;
use super::length::{Context, ReadingUnit};
use super::{How, Known, Place, Places, Reading, Row, Table, length};
use crate::mistake::{MOST, Mistake, in_order};
use crate::text::{decode, harmless, nearest};
use std::collections::HashMap;

/// Reads a table.
///
/// # Errors
/// The text as it was decoded, and everything that is wrong with it, in the order of the file.
pub fn read(bytes: &[u8], known: &Known<'_>) -> Result<Table, (String, Vec<Mistake>)> {
    let (text, warnings) = decode(bytes).map_err(|mistakes| (String::new(), mistakes))?;
    let mut reader = Reader::new(&text, known);
    reader.mistakes.extend(warnings);
    reader.read();
    let Reader { rows, readings, mistakes, stopped, .. } = reader;
    let warnings = in_order(&text, mistakes);
    if stopped { Err((text, warnings)) } else { Ok(Table { text, rows, readings, warnings }) }
}

struct Reader<'a> {
    text: &'a str,
    known: &'a Known<'a>,
    places: Places<'a>,
    instruments: HashMap<String, usize>,
    separator: u8,
    rows: Vec<Row>,
    readings: Vec<Reading>,
    /// Mistakes and warnings.
    mistakes: Vec<Mistake>,
    /// Has there been a mistake that is not a warning?
    stopped: bool,
    /// Has it been said that fractions are taken as inches?
    inches_said: bool,
}

impl<'a> Reader<'a> {
    fn new(text: &'a str, known: &'a Known<'a>) -> Self {
        Self {
            text,
            known,
            places: Places::new(known.holes),
            instruments: (known.instruments.iter().enumerate())
                .map(|(i, instrument)| (instrument.name.to_lowercase(), i))
                .collect(),
            separator: b',',
            rows: Vec::new(),
            readings: Vec::new(),
            mistakes: Vec::new(),
            stopped: false,
            inches_said: false,
        }
    }

    fn report(&mut self, mistake: Mistake) {
        self.stopped = true;
        self.mistakes.push(mistake);
    }

    fn read(&mut self) {
        let Some(header_line) = self.text.lines().find(|l| !l.trim().is_empty()) else {
            return self.report(
                Mistake::new(0..0, "the file is empty")
                    .expected("a first line with the names of the columns, such as from,to,reading"),
            );
        };
        if header_line.to_lowercase().starts_with("sep=") {
            let start = self.text.find(header_line).unwrap_or(0);
            return self.report(
                Mistake::new(start..start + header_line.trim_end().len(), "this line is not part of a table")
                    .expected("the names of the columns")
                    .help("delete the line; the separator is found without it"),
            );
        }
        let separator = separator(header_line);
        self.separator = separator.unwrap_or(b',');
        let mut records = Records::new(self.text, self.separator).filter(|r| !r.is_blank());
        let Some(header) = records.next() else { return };
        if separator.is_none() {
            return self.report(
                Mistake::new(header.span, "the first line is one single cell")
                    .expected("names of columns with commas, semicolons or tabs between: from,to,reading"),
            );
        }
        if self.places.find(&header.cells[0].text).is_some() {
            return self.report(
                Mistake::new(header.span, "the names of the columns are missing")
                    .found("a reading on the first line")
                    .expected("from,to,reading on the first line, and in this order below it")
                    .help("put this line above: from,to,reading,how,instrument,note"),
            );
        }
        let (columns, mistakes) = Columns::read(&header);
        mistakes.into_iter().for_each(|m| self.report(m));
        let (Some(from), Some(to), Some(reading)) =
            (columns.of("from"), columns.of("to"), columns.of("reading"))
        else {
            return;
        };
        for record in records {
            if self.mistakes.len() >= MOST {
                return;
            }
            if let Some(at) = record.unclosed_quote {
                self.report(
                    Mistake::new(at..at + 1, "this quote is never closed")
                        .expected("a second quote at the end of the cell")
                        .help("an inch mark inside a quoted cell is doubled: \"4' 5/8\"\"\""),
                );
                continue;
            }
            self.row(&record, &columns, [from, to, reading], header.cells.len());
        }
    }

    /// One row: its mistakes, or a row of the table.
    fn row(&mut self, record: &Record<'a>, columns: &Columns, [from, to, reading]: [usize; 3], width: usize) {
        if record.cells[0].text.starts_with('#') {
            return self.report(
                Mistake::new(record.span.clone(), "a table has no lines of comment")
                    .expected("a distance")
                    .help("move it to the note of a distance, or delete the line"),
            );
        }
        if let Some(extra) = record.cells.iter().skip(width).find(|c| !c.text.is_empty()) {
            let mistake = Mistake::new(extra.span.clone(), "there are more cells than columns")
                .found(format!("`{}`", harmless(&extra.text)))
                .expected(format!("at most {width} cells on this line"));
            return self.report(self.maybe_decimal_comma(mistake));
        }
        let end = record.span.end..record.span.end;
        let empty = Cell { text: "".into(), span: end.clone(), whole: end };
        let cell = |column: Option<usize>| column.and_then(|i| record.cells.get(i)).unwrap_or(&empty);
        let (from_cell, to_cell, reading_cell) = (cell(Some(from)), cell(Some(to)), cell(Some(reading)));
        let ends = (self.end(from_cell, "from", record), self.end(to_cell, "to", record));
        if let (Some(a), Some(b)) = ends {
            self.check_ends(a, b, from_cell, to_cell);
        }
        let how = self.how(cell(columns.of("how")));
        let instrument = self.instrument(cell(columns.of("instrument")));
        let unit = self.unit(cell(columns.of("unit")));
        let as_read_mm = self.length(reading_cell, unit.flatten());
        let start_cell = cell(columns.of("start"));
        let start_mm = self.start(start_cell, unit.flatten(), instrument);
        let (Some(from), Some(to)) = ends else { return };
        let (Some(how), Some(instrument), Some(unit), Some(as_read_mm), Some(start_mm)) =
            (how, instrument, unit, as_read_mm, start_mm)
        else {
            return;
        };
        let note = tidy_note(&cell(columns.of("note")).text);
        let mut row = Row {
            line: record.line,
            from,
            to,
            how,
            instrument,
            unit,
            spelling: reading_cell.text.clone().into_owned(),
            start_spelling: start_cell.text.clone().into_owned(),
            note,
            reading: None,
        };
        if let Some(as_read_mm) = as_read_mm {
            let thermal_mm_per_m = (self.known.instruments.get(instrument))
                .map_or(0.0, |i| i.thermal_mm_per_m(self.known.temperature_c));
            let along_tape_mm = (as_read_mm - start_mm) * (1.0 + thermal_mm_per_m / 1000.0);
            let distance_mm = how.distance_mm(along_tape_mm, row.touches_edge(), self.known.hole_diameter_mm);
            self.check_length(reading_cell, as_read_mm, start_mm, distance_mm, instrument);
            row.reading = Some(self.readings.len());
            let Row { line, from, to, ref note, .. } = row;
            let note = note.clone();
            self.readings.push(Reading {
                line,
                from,
                to,
                as_read_mm,
                start_mm,
                thermal_mm_per_m,
                how,
                distance_mm,
                instrument,
                note,
            });
        }
        self.rows.push(row);
    }

    /// One end of a distance.
    fn end(&mut self, cell: &Cell<'_>, column: &str, record: &Record<'_>) -> Option<Place> {
        if let Some(place) = self.places.find(&cell.text) {
            return Some(place);
        }
        let mut mistake = if cell.text.is_empty() {
            Mistake::new(record.span.clone(), format!("the cell `{column}` is empty"))
        } else {
            Mistake::new(cell.span.clone(), "there is no such hole or edge")
                .found(format!("`{}`", harmless(&cell.text)))
        };
        mistake = mistake.expected(self.places.expectation());
        mistake.help = self.places.likely(&cell.text).map(|name| format!("did you mean {name}?"));
        self.report(mistake);
        None
    }

    fn check_ends(&mut self, a: Place, b: Place, from: &Cell<'_>, to: &Cell<'_>) {
        let span = from.span.start.min(to.span.start)..from.span.end.max(to.span.end);
        let found = format!("`{}` and `{}`", from.text, to.text);
        if a == b {
            let mistake = Mistake::new(span, "both ends are the same place").found(found);
            self.report(mistake.expected("two different holes, or a hole and an edge"));
        } else if let (Place::Edge(_), Place::Edge(_)) = (a, b) {
            let mistake = Mistake::new(span, "both ends are edges of the sheet").found(found);
            self.report(
                mistake.expected("a hole at one end: the sheet's own size says nothing of the machine"),
            );
        }
    }

    fn how(&mut self, cell: &Cell<'_>) -> Option<How> {
        let words = [("", How::Centre), ("centre", How::Centre), ("center", How::Centre)]
            .into_iter()
            .chain([("inside", How::Inside), ("outside", How::Outside)]);
        let lower = cell.text.to_lowercase();
        if let Some((_, how)) = words.clone().find(|(word, _)| *word == lower) {
            return Some(how);
        }
        let mut mistake = Mistake::new(cell.span.clone(), "`how` has no such value")
            .found(format!("`{}`", harmless(&cell.text)))
            .expected("centre (or nothing), inside or outside");
        mistake.help = nearest(&lower, words.map(|(word, _)| word)).map(|w| format!("did you mean {w}?"));
        if lower.bytes().all(|b| b.is_ascii_digit()) {
            mistake = self.maybe_decimal_comma(mistake);
        }
        self.report(mistake);
        None
    }

    /// Adds the likeliest cause of a stray number in a file separated by commas.
    fn maybe_decimal_comma(&self, mistake: Mistake) -> Mistake {
        if self.separator == b',' {
            mistake.help(
                "a decimal comma? Put the reading in quotes (\"389,3\") or separate cells by semicolons",
            )
        } else {
            mistake
        }
    }

    fn instrument(&mut self, cell: &Cell<'_>) -> Option<usize> {
        if cell.text.is_empty() {
            return Some(0);
        }
        if let Some(i) = self.instruments.get(&cell.text.to_lowercase()) {
            return Some(*i);
        }
        let names: Vec<&str> = self.known.instruments.iter().map(|i| i.name.as_str()).collect();
        let mut mistake = Mistake::new(cell.span.clone(), "there is no such instrument")
            .found(format!("`{}`", harmless(&cell.text)))
            .expected(format!("an [[instrument]] of the machine: {}", names.join(", ")));
        mistake.help = nearest(&cell.text, names).map(|name| format!("did you mean {name}?"));
        self.report(mistake);
        None
    }

    /// The unit stated for a reading, if any; `None` when it is no unit.
    fn unit(&mut self, cell: &Cell<'_>) -> Option<Option<ReadingUnit>> {
        if cell.text.is_empty() {
            return Some(None);
        }
        let unit = ReadingUnit::from_name(&cell.text);
        if unit.is_none() {
            self.report(
                Mistake::new(cell.span.clone(), "there is no such unit")
                    .found(format!("`{}`", harmless(&cell.text)))
                    .expected("mm, cm, m, inch or ft"),
            );
        }
        unit.map(Some)
    }

    /// The length read, mm; `Some(None)` for a distance not yet taken.
    fn length(&mut self, cell: &Cell<'_>, stated: Option<ReadingUnit>) -> Option<Option<f64>> {
        if cell.text.is_empty() {
            return Some(None);
        }
        let context = Context {
            unit: stated.unwrap_or(self.known.unit.into()),
            unit_is_stated: stated.is_some(),
            decimal_comma: self.separator != b',',
        };
        match length::read(&cell.text, context) {
            Ok(length) => {
                if length.assumed_inches && !self.inches_said {
                    self.inches_said = true;
                    self.mistakes.push(
                        Mistake::new(cell.span.clone(), "fractions without a unit are taken as inches")
                            .found(format!("`{}`, read as {:.1} mm", harmless(&cell.text), length.mm))
                            .expected("an inch mark, or a column `unit`, in a cut in mm")
                            .warning(),
                    );
                }
                Some(Some(length.mm))
            }
            Err(refusal) => {
                let mut mistake = Mistake::new(cell.span.clone(), "the reading is not a length")
                    .found(format!("`{}`: {}", harmless(&cell.text), refusal.why))
                    .expected("such as 1234.5, 48 5/8 or 4' 0 5/8\"");
                mistake.help = refusal.help;
                if !cell.text.contains(char::is_numeric) {
                    mistake.help = Some("leave the cell empty for a distance not yet taken".to_owned());
                }
                self.report(mistake);
                None
            }
        }
    }

    /// The mark at which the tape was started, mm: the row's own, or else the instrument's.
    fn start(
        &mut self,
        cell: &Cell<'_>,
        stated: Option<ReadingUnit>,
        instrument: Option<usize>,
    ) -> Option<f64> {
        let usual_mm = || instrument.and_then(|i| self.known.instruments.get(i)).map_or(0.0, |i| i.start_mm);
        if cell.text.is_empty() {
            return Some(usual_mm());
        }
        let context = Context {
            unit: stated.unwrap_or(self.known.unit.into()),
            unit_is_stated: false,
            decimal_comma: self.separator != b',',
        };
        match length::read_start(&cell.text, context) {
            Ok(start_mm) => Some(start_mm),
            Err(refusal) => {
                let mut mistake = Mistake::new(cell.span.clone(), "the start of the tape is not a length")
                    .found(format!("`{}`: {}", harmless(&cell.text), refusal.why))
                    .expected(
                        "the mark that lay on the first place, such as 100 or 10\"; hook or 0 without one",
                    );
                mistake.help = refusal.help;
                self.report(mistake);
                None
            }
        }
    }

    fn check_length(
        &mut self,
        cell: &Cell<'_>,
        as_read_mm: f64,
        start_mm: f64,
        distance_mm: f64,
        instrument: usize,
    ) {
        let unit = self.known.unit;
        let show = |mm: f64| {
            let digits = if unit.mm() == 1.0 { 1 } else { 3 };
            format!("{:.digits$} {}", unit.from_mm(mm), unit.name())
        };
        let found = format!("`{}`, which is {}", harmless(&cell.text), show(as_read_mm));
        if let Some(instrument) = self.known.instruments.get(instrument)
            && as_read_mm > instrument.range_mm
        {
            let title = format!("the reading is longer than {} can read", instrument.name);
            let expected = format!("at most {}", show(instrument.range_mm));
            self.report(Mistake::new(cell.span.clone(), title).found(found).expected(expected));
        } else if as_read_mm <= start_mm {
            let title = "the reading ends before the tape was started";
            let expected = format!("more than the start, {}", show(start_mm));
            self.report(Mistake::new(cell.span.clone(), title).found(found).expected(expected));
        } else if distance_mm <= 0.0 {
            let rims_mm = as_read_mm - start_mm - distance_mm;
            let expected = format!("more than the holes' rims take off ({})", show(rims_mm));
            self.report(
                Mistake::new(cell.span.clone(), "the reading is shorter than the holes are wide")
                    .found(found)
                    .expected(expected),
            );
        }
    }
}

/// A note on one line that can harm no screen, without the mark that kept a spreadsheet from computing it.
fn tidy_note(text: &str) -> String {
    let text = match text.strip_prefix('\'') {
        Some(rest) if super::write::is_formula(rest) => rest,
        _ => text,
    };
    harmless(&text.replace("\r\n", " ")).trim().to_owned()
}
