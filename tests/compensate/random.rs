//! Jobs drawn at random, and comments that try to become commands.

use super::control::carry_out;
use super::{BESIDE_MM, CHORD_MM, after, bend, bent, options, pairs};
use proptest::prelude::*;
use std::fmt::Write;
use tautgrid::frame::Point;

/// One motion: its kind, a place on the sheet in tenths of a mm, a bulge for arcs, a spelling.
type Step = (u8, i32, i32, f64, u8);

fn steps() -> impl Strategy<Value = Vec<Step>> {
    prop::collection::vec((0_u8..6, -9000..9000_i32, -4000..4000_i32, -1.0..1.0_f64, 0_u8..16), 1..12)
}

/// Writes the steps as a job, in the modes and spellings they ask for.
fn job(steps: &[Step], inch: bool) -> String {
    let mm = if inch { 25.4 } else { 1.0 };
    let places = if inch { 4 } else { 3 };
    let number = |v: f64| format!("{v:.places$}");
    let rounded = |v: f64| number(v).parse::<f64>().unwrap();
    let mut text = format!("G{}\nG17 G90 G94\nG0 Z0\nG0 X0 Y0\n", if inch { 20 } else { 21 });
    let (mut at, mut relative) = ((0.0, 0.0), false);
    for &(kind, x, y, bulge, spelling) in steps {
        let mut to = (rounded(f64::from(x) / 10.0 / mm), rounded(f64::from(y) / 10.0 / mm));
        if spelling & 1 != 0 {
            to.1 = at.1;
        }
        let shown = |to: (f64, f64), from: (f64, f64), relative: bool| {
            let (dx, dy) = if relative { (to.0 - from.0, to.1 - from.1) } else { to };
            if to.1 == from.1 {
                format!("X{}", number(dx))
            } else {
                format!("X{} Y{}", number(dx), number(dy))
            }
        };
        if spelling & 2 != 0 {
            relative = !relative;
            let _ = write!(text, "G9{} ", u8::from(relative));
        }
        let z = if spelling & 4 != 0 && !relative {
            format!(" Z{}", number(-f64::from(kind)))
        } else {
            String::new()
        };
        let chord = (to.0 - at.0).hypot(to.1 - at.1);
        match kind {
            0 => writeln!(text, "G0 {}", shown(to, at, relative)).unwrap(),
            1 | 2 => writeln!(text, "G1 {}{z} F{}", shown(to, at, relative), 100 + x.abs()).unwrap(),
            // An arc whose middle lies on the line that bisects its chord.
            _ if chord * mm > 1.0 && bulge.abs() > 0.02 => {
                // Bulges that leave the sheet are flattened until they stay on it.
                let half = chord / 2.0;
                let radius = (half / bulge.abs().min(0.9)).max(half * 1.05);
                let rise = radius - (radius * radius - half * half).sqrt();
                let code = if bulge < 0.0 { 2 } else { 3 };
                if rise * mm > 180.0 || radius * mm > 50_000.0 {
                    writeln!(text, "G1 {}{z}", shown(to, at, relative)).unwrap();
                } else {
                    writeln!(text, "G{code} {} R{}{z} (arc)", shown(to, at, relative), number(radius))
                        .unwrap();
                }
            }
            _ => {
                let (i, j) = (rounded(bulge * 30.0 / mm + 10.0 / mm), rounded(-bulge * 20.0 / mm));
                writeln!(text, "G2 I{} J{}{z}", number(i), number(j)).unwrap();
                continue;
            }
        }
        at = to;
    }
    text + "G0 Z5\nM2\n"
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_job_lands_where_it_means(steps in steps(), inch in any::<bool>(), which in 0_usize..4) {
        let pair = &pairs()[which];
        let text = job(&steps, inch);
        let (out, _) = bent(&text, &bend(pair), &options(None)).map_err(|r| {
            TestCaseError::fail(format!("{text}\n{:?}", r.mistakes))
        })?;
        let after = after(&carry_out(&text), &carry_out(&out), pair, Point::default());
        prop_assert!(after.worst < CHORD_MM + BESIDE_MM, "{after:?}\n{text}\n{out}");
    }
}

/// A piece of a line that may be anything.
fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "(",
            ")",
            ";",
            "%",
            "/",
            "\r",
            "\n",
            "\r\n",
            "\t",
            " ",
            "G0 Z-50",
            "G1 X5 Y5",
            "X1",
            "Y2",
            "Z-3",
            "G2 X9 Y9 I3 J3",
            "M30",
            "M2",
            "G91",
            "G90",
            "G20",
            "G21",
            "N7",
            "F100",
            "\0",
            "\u{1b}",
            "\u{85}",
            "\u{2028}",
            "é",
            "#1=2",
            "O5",
            "(MSG,x)",
            "*9",
            "$H",
            "A9",
            "I5",
            "R9",
            "G80",
            "G53 Z0",
            "M0",
            "(G0 Z-50)",
            "; G0 Z-50",
        ])
        .prop_map(str::to_owned),
        "[ -~]{0,12}",
        "\\PC{0,4}",
    ]
}

/// Words outside comments, and comments, as a control reads them that closes a comment at the first bracket; `None`
/// where such a control and another could differ.
fn active(text: &str) -> Option<String> {
    let mut words = String::new();
    for line in text.split('\n') {
        let mut inside = false;
        for c in line.trim_end_matches('\r').chars() {
            match c {
                '(' if inside => return None,
                '(' => inside = true,
                ')' if !inside => return None,
                ')' => inside = false,
                ';' if !inside => break,
                c if inside => {
                    if c.is_ascii_control() && c != '\t' {
                        return None;
                    }
                }
                c => words.push(c),
            }
        }
        if inside {
            return None;
        }
        words.push('\n');
    }
    Some(words)
}

/// Letters of words that the job never had.
fn letters(words: &str, all: &str) -> usize {
    words.chars().filter(|c| all.contains(c.to_ascii_uppercase())).count()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_comment_becomes_a_command(pieces in prop::collection::vec(piece(), 0..14)) {
        thread_local! { static BEND: tautgrid::job::Bend = bend(&pairs()[0]); }
        let text = format!("G21 G90 G0 X10 Y10 Z5\n{}", pieces.concat());
        BEND.with(|bend| -> Result<(), TestCaseError> {
            match bent(&text, bend, &options(None)) {
                Err(refused) => {
                    prop_assert!(!refused.mistakes.is_empty());
                    for m in &refused.mistakes {
                        prop_assert!(refused.text.get(m.span.clone()).is_some(), "{m:?}");
                        prop_assert!(m.line >= 1 && m.line <= text.split('\n').count());
                    }
                }
                Ok((out, _)) => {
                    let (meant, sent) = (active(&text), active(&out));
                    prop_assert!(meant.is_some() && sent.is_some(), "doubtful: {text:?}");
                    let (meant, sent) = (meant.unwrap(), sent.unwrap());
                    // What is not a place is as it was; heights and stops are neither more nor fewer.
                    let commands = |words: &str| letters(words, "MFSTNHDQLPABCE");
                    prop_assert_eq!(commands(&meant), commands(&sent), "{:?}\n{:?}", &text, &out);
                    prop_assert!(letters(&sent, "Z") >= letters(&meant, "Z"));
                    prop_assert!(sent.lines().count() >= meant.lines().count());
                }
            }
            Ok(())
        })?;
    }
}
