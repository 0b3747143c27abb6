//! Whole cuts against an independent estimate: tests/reference/estimate/estimate.py solves the same files with SciPy,
//! a catenary solver of its own, and nothing eliminated.
//!
//! The table: `cargo test --test scipy -- --nocapture`

#[path = "common/reference.rs"]
#[allow(dead_code, reason = "each test takes what it needs")]
mod reference;

use nalgebra::DMatrix;
use serde::Deserialize;
use std::collections::BTreeMap;
use tautgrid::adjustment::{Fitted, Model, Quantity};
use tautgrid::analysis::{Cut, analyse};
use tautgrid::cut;
use tautgrid::readings::{self, Known};

/// One figure of the independent estimate.
#[derive(Deserialize)]
struct Figure {
    problem: String,
    what: String,
    a: String,
    b: String,
    value: f64,
}

/// How far the worst figure of a problem is off.
#[derive(Default)]
struct Worst {
    /// Of an estimate or a hole's place, in its standard uncertainties.
    estimate: f64,
    /// Of a covariance, relative to the two standard uncertainties it belongs to.
    covariance: f64,
    /// Of an unknown's estimate, relative to itself or its uncertainty, whichever is larger.
    relative: f64,
    chi_square: f64,
}

/// The parameter's name in the table of the script.
fn name(model: &Model, k: usize, instruments: &[tautgrid::setup::Instrument]) -> String {
    match model.parameters[k].quantity {
        Quantity::Unknown(u) => u.name().to_owned(),
        Quantity::Scale(i) => format!("scale {}", instruments[i].name),
        Quantity::Zero(i) => format!("zero {}", instruments[i].name),
    }
}

fn compare(problem: &str, figures: &[&Figure]) -> Worst {
    let folder = format!("estimate/problems/{problem}");
    let (cut, _) = cut::read(&reference::text(&format!("{folder}/cut.toml"))).unwrap();
    let holes = cut.pattern.holes();
    let known = Known {
        holes: &holes,
        instruments: &cut.setup.instruments,
        unit: cut.unit,
        hole_diameter_mm: cut.pattern.hole_diameter_mm,
        temperature_c: cut.conditions.temperature_c,
    };
    let table =
        readings::read(reference::text(&format!("{folder}/readings.csv")).as_bytes(), &known).unwrap();
    let model = Model::new(&cut.setup, &holes, &table.readings).unwrap();
    let fitted = Fitted::of(&model, &model.start()).unwrap();
    let places = fitted.places_covariance();
    let cut = Cut { id: "", setup: &cut.setup, pattern: &cut.pattern, readings: &table.readings, blank: 0 };
    let analysis = analyse(&cut).unwrap();
    assert!(analysis.set_aside.is_empty(), "{problem}: a good reading was set aside");

    let names: Vec<String> =
        (0..model.parameters.len()).map(|k| name(&model, k, &cut.setup.instruments)).collect();
    let parameter = |n: &str| names.iter().position(|m| m == n).unwrap_or_else(|| panic!("{problem}: {n}"));
    let hole = |id: &str| holes.iter().position(|h| h.id == id).unwrap();
    let u = |c: &DMatrix<f64>, k: usize| c[(k, k)].sqrt();
    let mut worst = Worst::default();
    let mut seen = 0;
    for figure in figures {
        let value = figure.value;
        seen += 1;
        match figure.what.as_str() {
            "chi_square" => {
                worst.chi_square = (fitted.chi_square / value - 1.0).abs();
                assert_eq!(fitted.chi_square.to_bits(), analysis.fit.chi_square.to_bits());
            }
            "estimate" => {
                let k = parameter(&figure.a);
                let u = u(&fitted.covariance, k);
                let off = (fitted.phi[k] - value).abs();
                worst.estimate = worst.estimate.max(off / u);
                worst.relative = worst.relative.max(off / value.abs().max(u));
                // The record that every report shows holds the same.
                if let Some(r) = analysis.unknowns.iter().find(|r| r.unknown.name() == figure.a) {
                    let recorded = r.estimate.value;
                    assert!(
                        (recorded - value).abs() < 1e-6 * u,
                        "{problem}: {recorded} for {value} {:?}",
                        analysis.notices
                    );
                    assert!((r.estimate.u / u - 1.0).abs() < 1e-9, "{problem}: {}", figure.a);
                }
            }
            "covariance" => {
                let (i, j) = (parameter(&figure.a), parameter(&figure.b));
                let c = &fitted.covariance;
                worst.covariance = worst.covariance.max((c[(i, j)] - value).abs() / (u(c, i) * u(c, j)));
            }
            "place" => {
                let i = hole(&figure.a);
                let (at, k) = if figure.b == "x" {
                    (fitted.places[i].x_mm, 2 * i)
                } else {
                    (fitted.places[i].y_mm, 2 * i + 1)
                };
                worst.estimate = worst.estimate.max((at - value).abs() / u(&places, k));
            }
            "place_covariance" => {
                let i = 2 * hole(&figure.a);
                let (r, c) = match figure.b.as_str() {
                    "xx" => (i, i),
                    "xy" => (i, i + 1),
                    _ => (i + 1, i + 1),
                };
                let off = (places[(r, c)] - value).abs() / (u(&places, r) * u(&places, c));
                worst.covariance = worst.covariance.max(off);
            }
            other => panic!("{other}"),
        }
    }
    let p = names.len();
    assert_eq!(seen, 1 + p + p * (p + 1) / 2 + 5 * holes.len(), "{problem}: figures are missing");
    worst
}

#[test]
fn estimates_are_those_of_scipy() {
    let figures: Vec<Figure> = reference::rows("estimate/results.csv");
    let mut problems: BTreeMap<&str, Vec<&Figure>> = BTreeMap::new();
    for figure in &figures {
        problems.entry(&figure.problem).or_default().push(figure);
    }
    assert_eq!(problems.len(), 8);
    println!(
        "largest differences from SciPy; estimates (and places of holes) in their standard uncertainties,"
    );
    println!("covariances relative to the two standard uncertainties they belong to\n");
    println!("{:18}{:>10}{:>12}{:>12}{:>12}", "machine", "estimate", "relative", "covariance", "chi-square");
    for (problem, figures) in problems {
        let w = compare(problem, &figures);
        println!(
            "{problem:18}{:>10.0e}{:>12.0e}{:>12.0e}{:>12.0e}",
            w.estimate, w.relative, w.covariance, w.chi_square
        );
        assert!(w.estimate < 1e-6 && w.relative < 1e-6, "{problem}: {:e} {:e}", w.estimate, w.relative);
        assert!(w.covariance < 1e-4, "{problem}: {:e}", w.covariance);
        assert!(w.chi_square < 1e-6, "{problem}: {:e}", w.chi_square);
    }
}
