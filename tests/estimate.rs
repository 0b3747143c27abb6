//! The estimate against truths it was not told: simulated machines, pure faults, planted slips.
//!
//! Invented data serve here for simulation only; the reference figures are those of the design (stated where used).

mod workshop;

use tautgrid::analysis::{Cut, Notice, analyse};
use tautgrid::field::{Field, WorkingArea};
use tautgrid::frame::Point;
use tautgrid::machine::{Unknown, Values};
use tautgrid::readings::Place;
use tautgrid::setup::{Expected, Setup};
use tautgrid::simulation::{Disturbance, cut_and_read, draw_machine};
use tautgrid::trials::{self, trials};
use workshop::{all_pairs, pattern, planned_24, reading, with_edges};

const QUIET: Disturbance = Disturbance { noise: false, rounding_mm: 0.0, seed: 0 };

/// An instrument and holes so good that only the model itself can be wrong.
fn faultless(mut setup: Setup) -> Setup {
    setup.instruments.truncate(1);
    setup.instruments[0].random_a_mm = 0.002;
    setup.instruments[0].random_b_mm_per_m = 0.0;
    setup.instruments[0].scale_u_mm_per_m = 0.0;
    setup.hole_scatter_mm = 0.002;
    setup
}

/// From noise-free readings of any machine within three expected uncertainties, the unknowns come back to 0.01 mm and
/// 0.002 mm/m when nothing is expected of them, and a controller told all of them lands within 0.01 mm.
#[test]
fn noise_free_readings_give_the_machine_back() {
    let usual = Setup::example();
    let holes = pattern().holes();
    let mut setup = faultless(usual.clone());
    for u in Unknown::ALL {
        setup.expected[u].u *= 1000.0;
    }
    let distances = with_edges(&setup, &holes, all_pairs(&holes));
    let area = WorkingArea::of_sheet(&setup.sheet);
    for seed in 0..8 {
        let drawn = draw_machine(&usual, seed);
        // Three expected uncertainties away at most; a stretch below nought is no machine.
        let truth = Values::from_fn(|u| {
            let e = usual.expected[u];
            let z = ((drawn[u] - e.value) / e.u * 1.5).clamp(-3.0, 3.0);
            if u == Unknown::Stretch { (e.value + z * e.u).abs() } else { e.value + z * e.u }
        });
        let simulated = cut_and_read(&setup, truth, &holes, &distances, &QUIET).unwrap();
        let cut = Cut { id: "", setup: &setup, pattern: &pattern(), readings: &simulated.readings, blank: 0 };
        let analysis = analyse(&cut).unwrap();
        assert!(analysis.fit.converged && analysis.set_aside.is_empty());
        assert!(analysis.error.placement_known);
        let mut told = setup.belief();
        told.sag = true;
        for r in &analysis.unknowns {
            let within = if r.unknown.is_length() { 0.01 } else { 0.002 };
            let off = r.estimate.value - truth[r.unknown];
            assert!(off.abs() < within, "machine {seed}: {} off by {off}", r.unknown.name());
            told.values[r.unknown] = r.estimate.value;
        }
        let left = Field::displacement(&told, &setup.nature(truth), &area.points).unwrap();
        assert!(area.rms_mm(&left) < 0.01, "machine {seed}: {} mm rms left", area.rms_mm(&left));
    }
}

/// The figures of the design, for machines drawn from what is expected, 7 x 5 holes and 24 well-chosen distances: about
/// 2.0 mm as cut, 1.3 mm left by scale and skew alone, at most 0.20 mm between prediction and truth. And the
/// theory: the normalised squared error has the mean of its chi-square distribution, 9 for nine unknowns.
#[test]
fn a_hundred_machines_are_seen_as_they_are() {
    let setup = Setup::example();
    let distances = planned_24(&setup);
    let plan = trials::Plan { setup: &setup, pattern: &pattern(), distances: &distances, rounding_mm: 0.0 };
    let trials = trials(&plan, 0, 100).unwrap();
    let mean = |f: &dyn Fn(&trials::Trial) -> f64| trials.iter().map(f).sum::<f64>() / trials.len() as f64;
    let as_cut = mean(&|t| t.as_cut_rms_mm);
    let linear = mean(&|t| t.linear_rest_rms_mm);
    let predicted = mean(&|t| t.predicted_rms_mm);
    println!("as cut {as_cut:.3}, scale and skew only {linear:.3}, predicted {predicted:.3} mm rms");
    assert!((1.7..2.3).contains(&as_cut), "{as_cut}");
    assert!((1.1..1.5).contains(&linear), "{linear}");
    assert!(predicted < 0.20, "{predicted}");
    let squares: Vec<f64> = trials.iter().filter_map(|t| t.normalised_square).collect();
    assert_eq!(squares.len(), 100);
    let square = squares.iter().sum::<f64>() / 100.0;
    // The mean of 100 chi-squares of 9 degrees has a standard deviation of sqrt(18/100) = 0.42.
    println!("normalised squared error {square:.2}");
    assert!((square - 9.0).abs() < 3.0 * 0.42, "{square}");
}

/// A sheet wider by 1 mm/m and nothing else is read as just that.
#[test]
fn a_sheet_stretched_sideways_reads_as_scale_x_alone() {
    let setup = faultless(Setup::example());
    let holes = pattern().holes();
    let readings: Vec<_> = all_pairs(&holes)
        .iter()
        .map(|p| reading(p, |i| Point::new(holes[i].target.x_mm * 1.001, holes[i].target.y_mm)))
        .collect();
    let mut setup = setup;
    // The stretch is no fault of the machine: let the holes take it.
    setup.hole_scatter_mm = 1.0;
    let belief_lands = setup.settings;
    for u in Unknown::ALL {
        setup.expected[u] = Expected { value: belief_lands[u], u: 0.0 };
    }
    let analysis =
        analyse(&Cut { id: "", setup: &setup, pattern: &pattern(), readings: &readings, blank: 0 }).unwrap();
    let s = &analysis.symptoms;
    println!("{:?} {:?} {:?}", s.scale_x, s.scale_y, s.skew);
    assert!((s.scale_x.estimate.value - 1.0).abs() < 0.01);
    assert!(s.scale_y.estimate.value.abs() < 0.01);
    assert!(s.skew.estimate.value.abs() < 0.01);
}

/// Readings of a machine with these faults against its settings, 24 planned distances, scatter and noise as stated.
fn read_with(faults: &[(Unknown, f64)], seed: u64) -> (Setup, Vec<tautgrid::readings::Reading>) {
    let setup = Setup::example();
    let mut truth = Values::from_fn(|u| setup.expected[u].value);
    for &(u, fault) in faults {
        truth[u] += fault;
    }
    let disturbance = Disturbance { noise: true, rounding_mm: 0.5, seed };
    let distances = planned_24(&setup);
    let cut = cut_and_read(&setup, truth, &pattern().holes(), &distances, &disturbance).unwrap();
    (setup, cut.readings)
}

/// Of the same holes and readings with and without the fault, so that scatter and sag are in both.
#[test]
fn unequal_pitch_shows_as_skew() {
    let symptoms = |faults: &[(Unknown, f64)]| {
        let (setup, readings) = read_with(faults, 3);
        let cut = Cut { id: "", setup: &setup, pattern: &pattern(), readings: &readings, blank: 0 };
        analyse(&cut).unwrap().symptoms
    };
    let with = symptoms(&[(Unknown::PitchLeft, 1.5), (Unknown::PitchRight, -1.5)]);
    let without = symptoms(&[]);
    let (skew, u) = (with.skew.estimate.value - without.skew.estimate.value, with.skew.estimate.u);
    let x = with.scale_x.estimate.value - without.scale_x.estimate.value;
    let y = with.scale_y.estimate.value - without.scale_y.estimate.value;
    println!("skew {skew} +- {u}, x {x}, y {y}");
    assert!(skew.abs() > 5.0 * u, "{skew} {u}");
    assert!(x.abs() < 0.1 * skew.abs() && y.abs() < 0.1 * skew.abs(), "{skew} {x} {y}");
}

/// A chain hung two teeth off (16 mm, over five expected uncertainties) is named as just that.
#[test]
fn a_jump_of_two_teeth_is_named() {
    for (unknown, pitches, seed) in
        [(Unknown::LengthLeft, 2, 1), (Unknown::LengthRight, -2, 2), (Unknown::LengthRight, 2, 3)]
    {
        let (setup, readings) = read_with(&[(unknown, f64::from(pitches) * 8.0)], seed);
        let cut = Cut { id: "", setup: &setup, pattern: &pattern(), readings: &readings, blank: 0 };
        let analysis = analyse(&cut).unwrap();
        assert!(
            analysis.notices.contains(&Notice::WholePitch { unknown, pitches }),
            "{unknown:?} {pitches}: {:?}",
            analysis.notices
        );
        assert_eq!(analysis.causes[0].unknown, unknown);
        let r = analysis.unknowns.iter().find(|r| r.unknown == unknown).unwrap();
        assert!((r.correction() - f64::from(pitches) * 8.0).abs() < 3.0 * r.estimate.u, "{r:?}");
    }
}

/// A sheet read from behind swaps every left and right; the odd hole gives it away.
#[test]
fn a_sheet_read_from_behind_is_found_out() {
    let (setup, mut readings) = read_with(&[(Unknown::LengthLeft, 3.0), (Unknown::PitchRight, -1.0)], 5);
    let holes = pattern().holes();
    let mirrored = |place| match place {
        Place::Hole(i) if holes[i].id != "KEY" => {
            let (column, row) = (i % 7, i / 7);
            Place::Hole(row * 7 + 6 - column)
        }
        other => other,
    };
    for r in &mut readings {
        (r.from, r.to) = (mirrored(r.from), mirrored(r.to));
    }
    let cut = Cut { id: "", setup: &setup, pattern: &pattern(), readings: &readings, blank: 0 };
    let analysis = analyse(&cut).unwrap();
    assert!(analysis.notices.contains(&Notice::ReadFromBehind), "{:?}", analysis.notices);
}

/// Without readings to the edges, height, tilt and offset stay what they were expected to be, and are said to be so.
#[test]
fn placement_is_not_determinable_without_edges() {
    let (setup, readings) = read_with(&[(Unknown::Height, 6.0), (Unknown::Offset, -5.0)], 7);
    let cut = Cut { id: "", setup: &setup, pattern: &pattern(), readings: &readings, blank: 0 };
    let analysis = analyse(&cut).unwrap();
    assert_eq!(analysis.not_determined, ["height", "tilt", "offset"]);
    assert!(!analysis.error.placement_known);
    for r in &analysis.unknowns {
        if r.unknown.is_placement() {
            assert!((r.estimate.value - r.expected.value).abs() < 0.05 * r.expected.u, "{r:?}");
            assert!(r.estimate.u > 0.99 * r.expected.u, "{r:?}");
        }
    }
}
