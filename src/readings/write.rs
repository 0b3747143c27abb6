//! A table of distances, taken or not, as text: comma separated, decimal points.

use super::{How, Known, Place, Row};
use std::borrow::Cow;

/// Signs with which a spreadsheet begins to compute.
const FORMULA_SIGNS: [char; 4] = ['=', '+', '-', '@'];

/// `readings.csv` with these rows. Reading it back gives the same rows.
pub fn write(rows: &[Row], known: &Known<'_>) -> String {
    let with_unit = rows.iter().any(|r| r.unit.is_some());
    let with_start = rows.iter().any(|r| !r.start_spelling.is_empty());
    let mut columns = vec!["from", "to", "reading", "how", "instrument", "note"];
    columns.extend(with_unit.then_some("unit"));
    columns.extend(with_start.then_some("start"));
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory cannot fail.
    let _ = writer.write_record(&columns);
    for row in rows {
        let how = match row.how {
            How::Centre => "",
            How::Inside => "inside",
            How::Outside => "outside",
        };
        let instrument = known.instruments.get(row.instrument).map_or("", |i| i.name.as_str());
        let reading = row.spelling.replace(',', ".");
        let note = one_line(&guarded(&row.note));
        let unit = row.unit.map_or("", |u| u.name());
        let start = row.start_spelling.replace(',', ".");
        let mut cells = vec![
            place(row.from, known),
            place(row.to, known),
            reading.as_str(),
            how,
            instrument,
            note.as_str(),
        ];
        cells.extend(with_unit.then_some(unit));
        cells.extend(with_start.then_some(start.as_str()));
        let _ = writer.write_record(&cells);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn place<'a>(place: Place, known: &Known<'a>) -> &'a str {
    match place {
        Place::Hole(i) => known.holes.get(i).map_or("", |h| h.id.as_str()),
        Place::Edge(edge) => edge.name(),
    }
}

/// Would a spreadsheet compute it, now or once a mark against that is taken off?
pub(super) fn is_formula(note: &str) -> bool {
    note.trim_start_matches('\'').starts_with(FORMULA_SIGNS)
}

/// A note that no spreadsheet takes for a formula.
pub(super) fn guarded(note: &str) -> Cow<'_, str> {
    let note = note.trim();
    if is_formula(note) { Cow::Owned(format!("'{note}")) } else { Cow::Borrowed(note) }
}

/// Text on one line.
pub(super) fn one_line(text: &str) -> String {
    text.replace(['\n', '\r', '\t'], " ")
}
