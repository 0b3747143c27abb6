//! A table of distances, taken or not, as text: comma separated, decimal points.

use super::{How, Known, Place, Row};
use std::borrow::Cow;
use std::fmt::Write;

/// Signs with which a spreadsheet begins to compute.
const FORMULA_SIGNS: [char; 4] = ['=', '+', '-', '@'];

/// `readings.csv` with these rows. Reading it back gives the same rows.
pub fn write(rows: &[Row], known: &Known<'_>) -> String {
    let with_unit = rows.iter().any(|r| r.unit.is_some());
    let mut out = String::from("from,to,reading,how,instrument,note");
    out.push_str(if with_unit { ",unit\n" } else { "\n" });
    for row in rows {
        let how = match row.how {
            How::Centre => "",
            How::Inside => "inside",
            How::Outside => "outside",
        };
        let instrument = known.instruments.get(row.instrument).map_or("", |i| i.name.as_str());
        let unit = row.unit.map(|u| u.name());
        let cells = [
            Cow::Borrowed(place(row.from, known)),
            Cow::Borrowed(place(row.to, known)),
            Cow::Owned(row.spelling.replace(',', ".")),
            Cow::Borrowed(how),
            Cow::Borrowed(instrument),
            guarded(&row.note),
        ];
        let cells: Vec<Cow<'_, str>> = cells.iter().map(|c| quoted(c)).collect();
        let _ = write!(out, "{}", cells.join(","));
        if with_unit {
            let _ = write!(out, ",{}", quoted(unit.unwrap_or_default()));
        }
        out.push('\n');
    }
    out
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
fn guarded(note: &str) -> Cow<'_, str> {
    let note = note.trim();
    if is_formula(note) { Cow::Owned(format!("'{note}")) } else { Cow::Borrowed(note) }
}

/// A cell in quotes where it needs them (RFC 4180), on one line.
fn quoted(cell: &str) -> Cow<'_, str> {
    if cell.contains([',', ';', '"', '\t', '\n', '\r']) {
        Cow::Owned(format!("\"{}\"", cell.replace(['\n', '\r'], " ").replace('"', "\"\"")))
    } else {
        Cow::Borrowed(cell)
    }
}
