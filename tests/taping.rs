//! The first set-up by tape against an independent adjustment: tests/reference/setup/setup.py solves the same readings with
//! SciPy and a catenary solver of its own. Then what no outside figure can tell: intervals that hold the truth, and a person's
//! slips found.
//!
//! The tables: `cargo test --test taping -- --nocapture`

#[path = "common/reference.rs"]
#[allow(dead_code, reason = "each test takes what it needs")]
mod reference;

use serde::Deserialize;
use tautgrid::cut;
use tautgrid::frame::Unit;
use tautgrid::machine::{Side, Unknown};
use tautgrid::setup::Setup;
use tautgrid::taping::{Look, Reading, Taped, estimate};

#[derive(Deserialize)]
struct Row {
    problem: String,
    look: String,
    side: String,
    number: f64,
    reading: f64,
}

#[derive(Deserialize)]
struct Figure {
    problem: String,
    prior: String,
    what: String,
    a: String,
    b: String,
    value: f64,
}

fn setup(problem: &str) -> Setup {
    cut::read(&reference::text(&format!("estimate/problems/{problem}/cut.toml"))).unwrap().0.setup
}

fn readings(problem: &str, setup: &Setup) -> Vec<Reading> {
    let rows: Vec<Row> = reference::rows("setup/readings.csv");
    rows.iter()
        .filter(|r| r.problem == problem)
        .map(|r| {
            let side = if r.side == "left" { Side::Left } else { Side::Right };
            let look = match r.look.as_str() {
                "width" => Look::SheetWidth,
                "spacing" => Look::Spacing,
                "top" => Look::Top(side),
                "mark" => Look::Mark { from: side, down_mm: r.number },
                "bit_across" => Look::BitAcross(side),
                "bit_down" => Look::BitDown,
                _ => Look::Links { side, rest_mm: r.number, pitch_mm: setup.hardware.pitch_mm },
            };
            Reading { look, as_read_mm: r.reading, unit: Unit::Mm }
        })
        .collect()
}

/// Covariance of two of the machine's unknowns or the tape's scale, by the script's names.
fn covariance(taped: &Taped, a: &str, b: &str) -> f64 {
    match (Unknown::from_name(a), Unknown::from_name(b)) {
        (Some(a), Some(b)) => taped.covariance[(a as usize, b as usize)],
        (Some(u), None) | (None, Some(u)) => taped.scale_correlation[u as usize] * taped.u(u) * taped.scale.u,
        (None, None) => taped.scale.u.powi(2),
    }
}

fn u(taped: &Taped, name: &str) -> f64 {
    match name {
        "lean" => taped.lean.u,
        "width" => taped.width.u,
        name => covariance(taped, name, name).sqrt(),
    }
}

#[test]
fn set_up_by_tape_agrees_with_scipy() {
    let figures: Vec<Figure> = reference::rows("setup/results.csv");
    let mut cases: Vec<(&str, &str)> = figures.iter().map(|f| (&*f.problem, &*f.prior)).collect();
    cases.dedup();
    assert_eq!(cases.len(), 10);
    println!("{:16} {:6} {:>12} {:>12} {:>12}", "machine", "prior", "estimate/u", "covariance", "chi-square");
    for (problem, prior) in cases {
        let setup = setup(problem);
        let taped = estimate(&setup, &readings(problem, &setup), prior == "fresh").unwrap();
        let (mut estimates, mut covariances, mut chi_square) = (0.0_f64, 0.0_f64, 0.0_f64);
        for f in figures.iter().filter(|f| f.problem == problem && f.prior == prior) {
            match f.what.as_str() {
                "chi_square" => chi_square = (taped.chi_square / f.value - 1.0).abs(),
                "estimate" => {
                    let value = match f.a.as_str() {
                        "lean" => taped.lean.value,
                        "width" => taped.width.value - setup.sheet.width_mm,
                        "scale" => taped.scale.value,
                        name => taped.theta[Unknown::from_name(name).unwrap()],
                    };
                    estimates = estimates.max((value - f.value).abs() / u(&taped, &f.a));
                }
                "u" => covariances = covariances.max((u(&taped, &f.a) / f.value - 1.0).abs()),
                _ => {
                    let off = (covariance(&taped, &f.a, &f.b) - f.value).abs();
                    covariances = covariances.max(off / (u(&taped, &f.a) * u(&taped, &f.b)));
                }
            }
        }
        println!("{problem:16} {prior:6} {estimates:12.1e} {covariances:12.1e} {chi_square:12.1e}");
        // What is asked of whole estimates (tests/scipy.rs) is asked here too.
        assert!(estimates < 1e-6 && covariances < 1e-4 && chi_square < 1e-6, "{problem} {prior}");
    }
}

/// A hundred millimetres not taken off, and a link miscounted, in one reading at a time of five machines: whatever another
/// reading checks is found, named, and not laid to a reading that is good.
#[test]
fn a_slip_in_any_reading_that_another_checks_is_found() {
    let (mut planted, mut found, mut named, mut unchecked) = (0, 0, 0, 0);
    for problem in ["usual", "inch", "under", "heavy", "sag-controller"] {
        let setup = setup(problem);
        let good = readings(problem, &setup);
        let clean = estimate(&setup, &good, true).unwrap();
        assert!(clean.doubts.is_empty(), "{problem}: {:?}", clean.doubts);
        for k in 0..good.len() {
            let links = matches!(good[k].look, Look::Links { .. });
            let slip_mm = if links { setup.hardware.pitch_mm } else { 100.0 };
            // So little of an error shows in the residual that no test could see it.
            let visible = slip_mm * clean.rows[k].redundancy.sqrt() / clean.rows[k].u_mm;
            if visible < 6.0 {
                unchecked += 1;
                continue;
            }
            let mut bad = good.clone();
            bad[k].as_read_mm += slip_mm;
            planted += 1;
            let Ok(taped) = estimate(&setup, &bad, true) else { panic!("{problem}: reading {k}") };
            if let Some(doubt) = taped.doubts.iter().find(|d| d.row == k) {
                found += 1;
                let of_it = taped.doubts.len() == 1 || doubt.likely.is_some();
                named += usize::from(of_it && doubt.likely.is_some());
            }
        }
    }
    println!(
        "slips planted {planted}, found {found}, named {named}; readings that nothing checks well enough {unchecked}"
    );
    assert_eq!(found, planted);
    assert!(named as f64 > 0.9 * planted as f64);
}
