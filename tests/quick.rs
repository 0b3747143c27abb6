//! The quick check: its power against tables, its choice against all choices, its promise against machines of chance.
//!
//! The table: `cargo test --test quick -- --nocapture`

#[path = "common/reference.rs"]
#[allow(dead_code, reason = "each test takes what it needs")]
mod reference;

use nalgebra::{DMatrix, DVector};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use serde::Deserialize;
use tautgrid::adjustment::{Model, Quantity};
use tautgrid::analysis::{Cut, analyse};
use tautgrid::carry_over;
use tautgrid::machine::{Unknown, Values};
use tautgrid::pattern::{Pattern, library};
use tautgrid::planner::{LEVEL, Planned, Quick, Request, exceeds, noncentrality, plan, power, quick};
use tautgrid::readings::{How, Reading};
use tautgrid::record::Notice;
use tautgrid::setup::{self, Setup, template};
use tautgrid::simulation::{Disturbance, cut_and_read, cut_and_read_with, draw_machine};

#[derive(Deserialize)]
struct Tail {
    x: f64,
    dof: usize,
    lambda: f64,
    scipy: f64,
    exact: f64,
}

#[test]
fn noncentral_chi_square_is_that_of_the_tables() {
    let tails: Vec<Tail> = reference::rows("power/noncentral-chi-square.csv");
    let (mut by_scipy, mut by_exact) = (0.0_f64, 0.0_f64);
    for t in &tails {
        let found = exceeds(t.x, t.dof, t.lambda);
        by_exact = by_exact.max((found / t.exact - 1.0).abs());
        by_scipy = by_scipy.max((found - t.scipy).abs());
    }
    println!("{} tails: {by_exact:.1e} of the exact ones, SciPy's within {by_scipy:.1e}", tails.len());
    assert!(by_exact < 1e-10 && by_scipy < 1e-10);
    for (chance, dof) in [(0.5, 6), (0.9, 6), (0.99, 1)] {
        let lambda = noncentrality(LEVEL, dof, chance);
        assert!((power(LEVEL, dof, lambda) - chance).abs() < 1e-10);
    }
    assert!((power(LEVEL, 6, 0.0) - LEVEL).abs() < 1e-8);
}

/// The example machine as it is known after a whole test cut, and the drift of both chains by so many mm/m.
fn after_a_cut(drift: f64) -> (Setup, Pattern, Values<f64>) {
    let unit = tautgrid::frame::Unit::Mm;
    let text = template("Shed", unit);
    let (first, _) = setup::read(&text).unwrap();
    let pattern = library::by_name("standard-2500x1250").unwrap().pattern;
    let holes = pattern.holes();
    let distances = plan(&first, &holes, &Request::default()).unwrap().distances;
    let noise = Disturbance { noise: true, rounding_mm: 0.0, seed: 11 };
    let cut = cut_and_read(&first, draw_machine(&first, 10), &holes, &distances, &noise).unwrap();
    let cut = Cut { id: "first", setup: &first, pattern: &pattern, readings: &cut.readings, blank: 0 };
    let renewed =
        carry_over::renewed(&text, &analyse(&cut).unwrap(), unit, jiff::civil::date(2026, 11, 25)).unwrap();
    let (known, _) = setup::read(&renewed).unwrap();
    let both = [Unknown::PitchLeft, Unknown::PitchRight];
    let drift = Values::from_fn(|u| if both.contains(&u) { drift } else { 0.0 });
    (known, library::by_name("quick-2500x1250").unwrap().pattern, drift)
}

fn six() -> Request {
    Request { readings: 6, ..Request::default() }
}

fn readings(distances: &[Planned]) -> Vec<Reading> {
    distances
        .iter()
        .map(|p| Reading {
            line: 0,
            from: p.from,
            to: p.to,
            as_read_mm: p.length_mm,
            start_mm: 0.0,
            thermal_mm_per_m: 0.0,
            how: How::Centre,
            distance_mm: p.length_mm,
            instrument: p.instrument,
            note: String::new(),
        })
        .collect()
}

/// s'V^-1 s of the whole check, worked out with every scatter of a hole as an unknown of its own.
fn lambda_at_length(setup: &Setup, pattern: &Pattern, distances: &[Planned], drift: &Values<f64>) -> f64 {
    let holes = pattern.holes();
    let readings = readings(distances);
    let model = Model::new(setup, &holes, &readings).unwrap();
    let rows = model.rows_at_start().unwrap();
    let p = model.parameters.len();
    let mut whole = rows.by_phi.clone().resize_horizontally(p + 2 * holes.len(), 0.0);
    for (i, row) in rows.by_scatter.iter().enumerate() {
        for &(hole, by) in row {
            whole[(i, p + 2 * hole)] = by[0];
            whole[(i, p + 2 * hole + 1)] = by[1];
        }
    }
    let mut prior = DMatrix::identity(whole.ncols(), whole.ncols()) * setup.hole_scatter_mm.powi(2);
    prior.view_mut((0, 0), (p, p)).copy_from(model.prior_covariance());
    let delta = DVector::from_fn(p, |k, _| match model.parameters[k].quantity {
        Quantity::Unknown(u) => drift[u],
        _ => 0.0,
    });
    let s = &rows.by_phi * delta;
    let v = &whole * prior * whole.transpose() + DMatrix::identity(s.len(), s.len());
    v.lu().solve(&s).unwrap().dot(&s)
}

#[test]
fn no_other_two_or_three_distances_see_more() {
    let (setup, _, drift) = after_a_cut(0.2);
    // Six holes: fifteen pairs, few enough to try every choice.
    let pattern =
        Pattern { columns: 3, rows: 2, key: false, ..library::by_name("quick-2500x1250").unwrap().pattern };
    let holes = pattern.holes();
    let all: Vec<Planned> =
        quick(&setup, &holes, &Request { readings: 15, uses: 9, ..six() }, &drift).unwrap().distances;
    assert_eq!(all.len(), 15);
    for count in [1, 2, 3] {
        let found = quick(&setup, &holes, &Request { readings: count, ..six() }, &drift).unwrap();
        let mut best = 0.0_f64;
        for mask in (0_u32..1 << 15).filter(|m| m.count_ones() as usize == count) {
            let some: Vec<Planned> = (0..15).filter(|k| mask >> k & 1 == 1).map(|k| all[k]).collect();
            best = best.max(lambda_at_length(&setup, &pattern, &some, &drift));
        }
        println!("{count} distances: lambda {:.4}, best of all {best:.4}", found.noncentrality);
        assert!((found.noncentrality / best - 1.0).abs() < 1e-9);
    }
}

/// Share of machines of which a cut's report says that the readings do not go with what was expected.
fn called(setup: &Setup, pattern: &Pattern, check: &Quick, drift: &Values<f64>, times: f64) -> f64 {
    const MACHINES: u64 = 400;
    let holes = pattern.holes();
    let distances = &check.distances;
    let model = Model::new(setup, &holes, &readings(distances)).unwrap();
    // A root of the joint covariance of the unknowns and the tape's scale, which a cut has taught together.
    let eigen = model.prior_covariance().clone().symmetric_eigen();
    let sizes = eigen.eigenvalues.map(|v| v.max(0.0).sqrt());
    let calls = (0..MACHINES).filter(|k| {
        let rng = &mut Pcg64Mcg::seed_from_u64(2 * k);
        let z = sizes.map(|s| s * Distribution::<f64>::sample(&StandardNormal, rng));
        let drawn = model.start() + &eigen.eigenvectors * z;
        let value = |q| model.index_of(q).map(|i| drawn[i]);
        let truth = Values::from_fn(|u| {
            value(Quantity::Unknown(u)).unwrap_or(setup.expected[u].value) + times * drift[u]
        });
        let shared: Vec<(f64, f64)> = (0..setup.instruments.len())
            .map(|i| [Quantity::Scale(i), Quantity::Zero(i)].map(|q| value(q).unwrap_or_default()).into())
            .collect();
        let noise = Disturbance { noise: true, rounding_mm: 0.0, seed: 2 * k + 1 };
        let cut = cut_and_read_with(setup, truth, &holes, distances, &noise, Some(&shared)).unwrap();
        let model = Model::new(setup, &holes, &cut.readings).unwrap();
        let fitted = tautgrid::adjustment::Fitted::of(&model, &model.start()).unwrap();
        let cut = Cut { id: "check", setup, pattern, readings: &cut.readings, blank: 0 };
        let analysis = analyse(&cut).unwrap();
        let said = !analysis.set_aside.is_empty()
            || analysis.notices.iter().any(|n| {
                matches!(
                    n,
                    Notice::ReadingsDisagree { .. }
                        | Notice::FarFromExpected { .. }
                        | Notice::WholePitch { .. }
                )
            });
        // What is beyond chance must be told in the report, whichever way it explains it.
        let beyond = exceeds(fitted.chi_square, fitted.dof, 0.0) < LEVEL;
        assert!(said || !beyond, "machine {k}: chi-square {} unsaid", fitted.chi_square);
        beyond
    });
    calls.count() as f64 / MACHINES as f64
}

#[test]
fn the_promised_share_of_drifted_machines_is_found_out() {
    let (setup, pattern, drift) = after_a_cut(0.2);
    let check = quick(&setup, &pattern.holes(), &six(), &drift).unwrap();
    assert_eq!(check.distances.len(), 6);
    assert!(
        (check.noncentrality - lambda_at_length(&setup, &pattern, &check.distances, &drift)).abs() < 1e-8
    );
    let counted_on = check.counted_on.unwrap();
    println!(
        "0.2 mm/m on both chains: lambda {:.2}, moves the sheet by {:.3} mm rms",
        check.noncentrality, check.drift_rms_mm
    );
    for (times, promised) in [(0.0, LEVEL), (1.0, check.power), (counted_on, 0.9)] {
        let found = called(&setup, &pattern, &check, &drift, times);
        println!("drift {:.3} mm/m: promised {promised:.3}, found {found:.3}", 0.2 * times);
        // Four standard errors of a share of 400.
        assert!((found - promised).abs() < 4.0 * (promised * (1.0 - promised) / 400.0).sqrt());
    }
}
