//! Tables in all their spellings.

use super::*;
use crate::frame::Point;
use crate::pattern::Pattern;
use crate::setup::Setup;

fn holes() -> Vec<Hole> {
    let (width_mm, height_mm) = (2300.0, 1050.0);
    let centre = Point::default();
    Pattern { columns: 7, rows: 5, width_mm, height_mm, centre, hole_diameter_mm: 6.0, key: true }.holes()
}

fn with_known<T>(unit: Unit, f: impl FnOnce(&Known<'_>) -> T) -> T {
    let (holes, setup) = (holes(), Setup::example());
    f(&Known {
        holes: &holes,
        instruments: &setup.instruments,
        unit,
        hole_diameter_mm: 6.0,
        temperature_c: None,
    })
}

fn good(bytes: &[u8], unit: Unit) -> Table {
    with_known(unit, |known| read(bytes, known)).unwrap_or_else(|(text, e)| panic!("{text}\n{e:#?}"))
}

fn distances(text: &str) -> Vec<f64> {
    good(text.as_bytes(), Unit::Mm).readings.iter().map(|r| r.distance_mm).collect()
}

const A1: Place = Place::Hole(0);
const B1: Place = Place::Hole(1);
const G5: Place = Place::Hole(34);

#[test]
fn the_sample_of_the_format() {
    let text = "from,to,reading,how,instrument,note\nA1,G5,2528.5,,tape,\nA1,B1,389.3,outside,tape,\n\
                left,A1,100.5,,tape,\n";
    let table = good(text.as_bytes(), Unit::Mm);
    let seen: Vec<_> =
        table.readings.iter().map(|r| (r.line, r.from, r.to, r.as_read_mm, r.distance_mm)).collect();
    assert_eq!(
        seen,
        [
            (2, A1, G5, 2528.5, 2528.5),
            (3, A1, B1, 389.3, 383.3),
            (4, Place::Edge(Edge::Left), A1, 100.5, 100.5),
        ]
    );
    assert_eq!(table.warnings, []);
    assert_eq!(table.blank(), 0);
}

#[test]
fn rims_are_taken_care_of_at_holes_and_at_edges() {
    // Hole diameter 6: a whole one between two holes, half of it at an edge.
    let text = "from,to,reading,how\nA1,B1,100,centre\nA1,B1,100,inside\nA1,B1,100,OUTSIDE\n\
                left,A1,100,inside\nA1,bottom,100,outside\n";
    assert_eq!(distances(text), [100.0, 106.0, 94.0, 103.0, 97.0]);
}

#[test]
fn one_table_in_many_spellings() {
    let expected = [2528.5, 383.3];
    for text in [
        "from,to,reading,how\nA1,G5,2528.5,\nA1,B1,389.3,outside\n",
        "from;to;reading;how\nA1;G5;2528,5;\nA1;B1;389,3;outside\n",
        "from\tto\treading\thow\nA1\tG5\t2528,5\t\nA1\tB1\t389,3\toutside\n",
        "from,to,reading,how\nA1,G5,\"2528,5\",\nA1,B1,\"389,3\",outside\n",
        "How,READING,To,from\n,2528.5,g5,a1\noutside,389.3,b1,a1\n",
        "\nfrom , to , reading , how\r\n\r\n A1 , G5 , 2528.5 \r\n A1 , B1 , 389.3 , outside \r\n,,,\r\n",
        "from,to,reading,how,,,\nA1,G5,2528.5,,,,\nA1,B1,389.3,outside,,,\n",
        "\"from\",\"to\",\"reading\",\"how\"\n\"A1\",\"G5\",\"2528.5\",\"\"\n\"A1\",\"B1\",\"389.3\",\"outside\"",
        "from,to,reading,how\rA1,G5,2528.5,\rA1,B1,389.3,outside\r",
        "from,to,reading,how,unit\nA1,G5,252.85,,cm\nA1,B1,0.3893,outside,m\n",
    ] {
        assert_eq!(distances(text).len(), 2, "{text:?}");
        for (distance, expected) in distances(text).into_iter().zip(expected) {
            assert!((distance - expected).abs() < 1e-9, "{text:?}: {distance}");
        }
    }
}

#[test]
fn inches_in_an_inch_cut() {
    let text = "from,to,reading,instrument,unit\nA1,B1,48 5/8,tape,\nA1,B1,48-5/8,,\nA1,B1,\"4' 0 5/8\"\"\",,\n\
                A1,B1,4' 0 5/8\",,\nA1,B1,48.625,,in\nA1,B1,1235.075,,mm\n";
    let table = good(text.as_bytes(), Unit::Inch);
    assert_eq!(table.readings.len(), 6);
    for r in &table.readings {
        assert!((r.distance_mm - 48.625 * 25.4).abs() < 1e-9, "line {}: {}", r.line, r.distance_mm);
    }
}

#[test]
fn blanks_and_repeats_stay_in_the_order_of_the_file() {
    let text =
        "from,to,reading,how,instrument,note\nA1,G5,,,,\nA1,B1,389.3\nA1,B1,389.3,,TAPE,again\nA1,B1\n";
    let table = good(text.as_bytes(), Unit::Mm);
    let rows: Vec<_> = table.rows.iter().map(|r| (r.line, r.reading, r.spelling.as_str())).collect();
    assert_eq!(rows, [(2, None, ""), (3, Some(0), "389.3"), (4, Some(1), "389.3"), (5, None, "")]);
    assert_eq!((table.blank(), table.readings[1].note.as_str()), (2, "again"));
}

#[test]
fn untrusted_notes_come_out_harmless() {
    let text = "from,to,reading,note\nA1,B1,389.3,=HYPERLINK(1)\nA1,B1,389.3,\"two\nlines\"\n\
                A1,B1,389.3,\u{1b}[31mred\nA1,B1,389.3,'=1+1\n";
    let table = good(text.as_bytes(), Unit::Mm);
    let notes: Vec<&str> = table.rows.iter().map(|r| r.note.as_str()).collect();
    assert_eq!(notes, ["=HYPERLINK(1)", "two lines", "\u{241b}[31mred", "=1+1"]);
    let written = with_known(Unit::Mm, |known| write(&table.rows, known));
    assert!(written.lines().all(|l| !l.contains(",=") && !l.contains('\u{1b}')), "{written}");
    assert!(written.contains(",'=1+1\n"), "{written}");
}

#[test]
fn what_is_written_reads_back() {
    let text = "from;to;reading;how;instrument;note;unit\nA1;G5;2528,5;;;\"a; \"\"b\"\", c\";\nA1;B1;;inside;caliper;;\n\
                top;KEY;4' 0 5/8\";outside;tape;'-x;inch\n";
    let table = good(text.as_bytes(), Unit::Mm);
    let written = with_known(Unit::Mm, |known| write(&table.rows, known));
    let again = good(written.as_bytes(), Unit::Mm);
    let plain = |t: &Table| -> Vec<Row> {
        t.rows.iter().map(|r| Row { line: 0, spelling: r.spelling.replace(',', "."), ..r.clone() }).collect()
    };
    assert_eq!(plain(&again), plain(&table));
    assert_eq!(again.readings, table.readings);
}

#[test]
fn every_mistake_is_found_in_one_pass() {
    let text = "from,to,reading,how,instrument\nA1,A9,12l9.4,insde,tap\nleft,right,5,,\nA1,a1,-3,,\nB1,C1,300,,caliper\n";
    let (_, mistakes) = with_known(Unit::Mm, |known| read(text.as_bytes(), known)).unwrap_err();
    let places: Vec<_> = mistakes.iter().map(|m| (m.line, m.column, m.help.as_deref())).collect();
    assert_eq!(
        places,
        [
            (2, 4, None),
            (2, 7, Some("did you mean 1219.4?")),
            (2, 14, Some("did you mean inside?")),
            (2, 20, Some("did you mean tape?")),
            (3, 1, None),
            (4, 1, None),
            (4, 7, Some("write it without the minus")),
            (5, 7, None),
        ]
    );
    assert!(mistakes[7].title.contains("longer than caliper"));
}
