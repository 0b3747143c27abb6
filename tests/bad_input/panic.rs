//! Whatever the bytes, a reader answers: a value without NaN, or mistakes at places of the text.

use proptest::prelude::*;
use tautgrid::frame::Unit;
use tautgrid::machine::Unknown;
use tautgrid::mistake::{Mistake, Severity};
use tautgrid::pattern::{Hole, Pattern};
use tautgrid::readings::{Known, length};
use tautgrid::setup::Setup;
use tautgrid::{cut, readings, setup, text};

fn sound(text: &str, mistakes: &[Mistake]) {
    for m in mistakes {
        assert!(m.span.start <= m.span.end && m.span.end <= text.len(), "{m:?} in {text:?}");
        assert!(text.get(m.span.clone()).is_some(), "a mistake inside a character: {m:?} in {text:?}");
        assert!(m.line >= 1 && m.column >= 1 && !m.title.is_empty());
    }
    assert!(mistakes.is_sorted_by_key(|m| m.span.start));
}

fn refused(text: &str, mistakes: &[Mistake]) {
    sound(text, mistakes);
    assert!(mistakes.iter().any(|m| m.severity == Severity::Error));
}

fn finite(setup: &Setup) {
    for u in Unknown::ALL {
        assert!(setup.settings[u].is_finite() && setup.expected[u].value.is_finite());
        assert!(setup.expected[u].u.is_finite() && setup.expected[u].u >= 0.0);
    }
    assert!(!setup.instruments.is_empty());
    assert!(setup.settings[Unknown::Spacing] > setup.sheet.width_mm);
    assert!(setup.instruments.iter().all(|i| i.random_u_mm(100.0) > 0.0 && i.range_mm > 0.0));
}

fn try_machine(text: &str) {
    match setup::read(text) {
        Ok((setup, warnings)) => {
            sound(text, &warnings);
            finite(&setup);
        }
        Err(mistakes) => refused(text, &mistakes),
    }
}

fn try_cut(text: &str) {
    match cut::read(text) {
        Ok((cut, warnings)) => {
            sound(text, &warnings);
            finite(&cut.setup);
            assert!(cut.pattern.holes().iter().all(|h| cut.setup.sheet.inside_by_mm(h.target) > 0.0));
        }
        Err(mistakes) => refused(text, &mistakes),
    }
}

fn holes() -> Vec<Hole> {
    let centre = Default::default();
    Pattern {
        columns: 7,
        rows: 5,
        width_mm: 2300.0,
        height_mm: 1050.0,
        centre,
        hole_diameter_mm: 6.0,
        key: true,
    }
    .holes()
}

fn try_readings(bytes: &[u8]) {
    let (holes, setup) = (holes(), Setup::example());
    for unit in [Unit::Mm, Unit::Inch] {
        let known = Known {
            holes: &holes,
            instruments: &setup.instruments,
            unit,
            hole_diameter_mm: 6.0,
            temperature_c: None,
        };
        match readings::read(bytes, &known) {
            Ok(table) => {
                sound(&table.text, &table.warnings);
                assert!(table.readings.iter().all(|r| r.distance_mm > 0.0 && r.distance_mm < 20_100.0));
                // What was understood can be written, and is then understood again as the same.
                let again = readings::read(readings::write(&table.rows, &known).as_bytes(), &known).unwrap();
                let distances =
                    |t: &readings::Table| t.readings.iter().map(|r| r.distance_mm).collect::<Vec<_>>();
                assert_eq!(distances(&again), distances(&table), "{}", table.text);
                assert_eq!(again.rows.len(), table.rows.len());
                let notes = |t: &readings::Table| t.rows.iter().map(|r| r.note.clone()).collect::<Vec<_>>();
                assert_eq!(notes(&again), notes(&table));
            }
            Err((text, mistakes)) => refused(&text, &mistakes),
        }
    }
}

/// A good file with a few pieces cut out, doubled, or replaced by strange ones.
fn mangled(good: String) -> impl Strategy<Value = String> {
    let strange = prop_oneof![
        Just(String::new()),
        "[-0-9.,;'\"/ =\\[\\]{}\n\t#]{1,4}",
        "\\PC{1,3}",
        prop::sample::select(vec![
            "nan",
            "-inf",
            "1e400",
            "\u{feff}",
            "\r",
            "½",
            "true",
            "{}",
            "[]",
            "\"\"\"",
            "99999999999"
        ])
        .prop_map(str::to_owned),
    ];
    prop::collection::vec((any::<prop::sample::Index>(), 0_usize..12, strange), 1..4).prop_map(move |edits| {
        let mut text: Vec<char> = good.chars().collect();
        for (at, length, new) in edits {
            let at = at.index(text.len() + 1);
            let end = (at + length).min(text.len());
            text.splice(at..end, new.chars());
        }
        text.into_iter().collect()
    })
}

const READINGS: &str = "from,to,reading,how,instrument,note,unit\nA1,G5,2528.5,,tape,,\nA1,B1,149.3,outside,caliper,x,mm\n\
    left,A1,48 5/8\",inside,tape,\"a, b\",\nA1,KEY,,,,,\nA1,G5,\"4' 0 5/8\"\"\",centre,,=1,in\n";

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        if let Ok((text, _)) = text::decode(&bytes) {
            try_machine(&text);
            try_cut(&text);
        }
        try_readings(&bytes);
    }

    #[test]
    fn any_text(text in "\\PC{0,80}") {
        try_machine(&text);
        try_cut(&text);
        try_readings(text.as_bytes());
    }

    #[test]
    fn mangled_machines(text in mangled(super::good_machine())) {
        try_machine(&text);
    }

    #[test]
    fn mangled_cuts(text in mangled(super::good_cut())) {
        try_cut(&text);
    }

    #[test]
    fn mangled_readings(text in mangled(READINGS.to_owned())) {
        try_readings(text.as_bytes());
    }

    #[test]
    fn any_cell(cell in "[-0-9.,;'\"/ lOmcinftINa½⅝′″−+eE:=#]{0,14}") {
        try_readings(format!("from;to;reading\nA1;G5;{cell}\n").as_bytes());
        try_readings(format!("from,to,reading\nA1,G5,\"{}\"\n", cell.replace('"', "\"\"")).as_bytes());
        for unit in [Unit::Mm, Unit::Inch] {
            if let Ok(length) = length::read(&cell, length::Context::of(unit)) {
                assert!(length.mm > 0.0 && length.mm <= length::LONGEST_MM);
            }
        }
    }
}
