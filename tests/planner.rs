//! The planner against published designs, against the bound that no design can pass, and against plainer ways to choose.

#[path = "common/reference.rs"]
mod reference;

use nalgebra::{DMatrix, DVector};
use rand::seq::index::sample;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use serde::Deserialize;
use std::time::Instant;
use tautgrid::frame::Point;
use tautgrid::machine::Unknown;
use tautgrid::pattern::{Hole, Pattern};
use tautgrid::planner::{Limits, Planned, Planner, Request, Row, Search, more, plan, second_pass};
use tautgrid::readings::{Place, Reading};
use tautgrid::setup::{Expected, Setup};
use tautgrid::simulation::{Disturbance, cut_and_read, draw_machine};

#[derive(Deserialize)]
struct Published {
    #[serde(rename = "exact_15_runs_cube")]
    for_d: Figures,
    #[serde(rename = "exact_15_runs_cube_I_criterion")]
    for_i: Figures,
}

#[derive(Deserialize)]
struct Figures {
    #[serde(rename = "D_published")]
    d: f64,
    #[serde(rename = "A_published")]
    a: f64,
    #[serde(rename = "I_published")]
    i: f64,
    #[serde(rename = "I_approximate_optimum_published")]
    i_of_shares: Option<f64>,
}

/// A quadratic in three variables of levels -2 to 2: rows for all 125 places.
fn cube() -> Vec<Row> {
    let levels = [-2.0, -1.0, 0.0, 1.0, 2.0];
    let mut rows = Vec::new();
    for x in levels {
        for y in levels {
            for z in levels {
                let f = [1.0, x, y, z, x * x, y * y, z * z, x * y, x * z, y * z];
                rows.push(f.into_iter().enumerate().filter(|(_, v)| *v != 0.0).collect());
            }
        }
    }
    rows
}

fn dense(row: &Row) -> DVector<f64> {
    let mut f = DVector::zeros(10);
    row.iter().for_each(|&(i, v)| f[i] = v);
    f
}

fn quadratic() -> (Vec<Row>, Search) {
    let rows = cube();
    let mut mean = DMatrix::zeros(10, 10);
    for row in &rows {
        let f = dense(row);
        mean += &f * f.transpose() / rows.len() as f64;
    }
    // nothing known before: a variance of a million
    let search = Search::new(rows.clone(), DMatrix::identity(10, 10) * 1e6, mean, Limits::default());
    (rows, search)
}

/// X'X / n of some rows.
fn information(rows: &[Row], taken: &[usize]) -> DMatrix<f64> {
    taken.iter().map(|&k| dense(&rows[k])).map(|f| &f * f.transpose() / taken.len() as f64).sum()
}

/// The published design's own criterion, with a plain exchange that has nothing to do with the planner.
fn best_determinant(rows: &[Row], random: &mut Pcg64Mcg) -> Vec<usize> {
    let worth = |taken: &[usize]| information(rows, taken).determinant();
    let from_chance = |_| {
        let mut taken = sample(random, rows.len(), 15).into_vec();
        let mut best = worth(&taken);
        loop {
            let before = best;
            for place in 0..taken.len() {
                for k in 0..rows.len() {
                    let old = std::mem::replace(&mut taken[place], k);
                    let now = worth(&taken);
                    if now > best * (1.0 + 1e-9) { best = now } else { taken[place] = old }
                }
            }
            if best <= before * (1.0 + 1e-9) {
                return (best, taken);
            }
        }
    };
    (0..20).map(from_chance).max_by(|a, b| a.0.total_cmp(&b.0)).expect("twenty").1
}

#[test]
fn fifteen_runs_of_a_quadratic_as_published() {
    let published: Published = reference::toml("design/d-optimal-reference.toml");
    let (rows, empty) = quadratic();
    let mut random = Pcg64Mcg::seed_from_u64(15);
    println!("15 runs of 125                 published       here");

    // The design of largest determinant: what the planner makes of it.
    let taken = best_determinant(&rows, &mut random);
    let found = information(&rows, &taken);
    let d = found.determinant().powf(0.1);
    let a = found.try_inverse().expect("a design that determines all").trace() / 10.0;
    let mut search = empty.clone();
    taken.iter().for_each(|&k| search.take(k));
    let i = 15.0 * search.left();
    println!("best D: D                     {:10.6} {d:10.6}", published.for_d.d);
    println!("        A                     {:10.6} {a:10.6}", published.for_d.a);
    println!("        I, from the planner   {:10.6} {i:10.6}", published.for_d.i);
    reference::close("D", d, published.for_d.d, 1e-6);
    reference::close("A", a, published.for_d.a, 1e-6);
    reference::close("I", i, published.for_d.i, 2e-5);

    // The design of least mean variance: the planner's own search.
    let from_chance = |_| {
        let mut search = empty.clone();
        sample(&mut random, rows.len(), 15).into_iter().for_each(|k| search.take(k));
        search.exchange();
        15.0 * search.left()
    };
    let searched = (0..60).map(from_chance).fold(f64::INFINITY, f64::min);
    let greedy = {
        let mut search = empty.clone();
        search.take_until(15);
        search.exchange();
        15.0 * search.left()
    };
    println!("best I: I, best of 60 starts  {:10.6} {searched:10.6}", published.for_i.i);
    println!("        I, the planner's start           {greedy:10.6}");
    let shares = empty.bound(15, f64::INFINITY).expect("a bound");
    let of_shares = published.for_i.i_of_shares.expect("a figure");
    println!(
        "        I of shares           {of_shares:10.2} {:10.6}, none below {:.6}",
        15.0 * shares.left,
        15.0 * shares.bound
    );
    assert!(searched <= published.for_i.i + 1e-6 && greedy <= 1.02 * published.for_i.i);
    assert!(published.for_i.d < published.for_d.d && published.for_i.a < published.for_d.a);
    reference::close("I of shares", 15.0 * shares.left, of_shares, 0.05);
    assert!(15.0 * shares.bound <= of_shares + 0.005 && shares.bound >= 0.985 * shares.left);
}

fn holes(columns: usize, rows: usize, key: bool) -> Vec<Hole> {
    let (width_mm, height_mm) = (2300.0, 1050.0);
    Pattern { columns, rows, width_mm, height_mm, centre: Point::default(), hole_diameter_mm: 6.0, key }
        .holes()
}

/// The machine for which the customer's table was made: one tape, no shared errors, unknown spacing, lengths, pitches
/// and stretch.
fn bare() -> Setup {
    let mut setup = Setup::example();
    for (unknown, u) in [
        (Unknown::Spacing, 2.0),
        (Unknown::Height, 0.0),
        (Unknown::Tilt, 0.0),
        (Unknown::Offset, 0.0),
        (Unknown::LengthLeft, 3.0),
        (Unknown::LengthRight, 3.0),
        (Unknown::PitchLeft, 1.0),
        (Unknown::PitchRight, 1.0),
        (Unknown::Stretch, 0.67),
    ] {
        setup.expected[unknown] = Expected { u, ..setup.expected[unknown] };
    }
    setup.hole_scatter_mm = 0.25;
    setup.instruments.truncate(1);
    let tape = &mut setup.instruments[0];
    (tape.random_a_mm, tape.random_b_mm_per_m) = (0.35, 0.115);
    (tape.scale_u_mm_per_m, tape.zero_u_mm) = (0.0, 0.0);
    setup
}

/// What readings of these distances leave, mm.
fn left_by(setup: &Setup, holes: &[Hole], pairs: &[(usize, usize)]) -> f64 {
    let planned: Vec<Planned> = pairs
        .iter()
        .map(|&(i, j)| Planned {
            from: Place::Hole(i),
            to: Place::Hole(j),
            instrument: 0,
            length_mm: holes[i].target.distance_mm(holes[j].target),
        })
        .collect();
    let request = Request { readings: 0, ..Request::default() };
    more(setup, holes, &request, &read(setup, holes, &planned))
        .expect("a machine that can be planned for")
        .before_rms_mm
}

/// Readings without noise of some distances.
fn read(setup: &Setup, holes: &[Hole], planned: &[Planned]) -> Vec<Reading> {
    let still = Disturbance { noise: false, rounding_mm: 0.0, seed: 1 };
    cut_and_read(setup, draw_machine(setup, 1), holes, planned, &still).expect("a machine that cuts").readings
}

#[test]
fn the_plan_beats_plainer_choices_by_what_was_promised() {
    let setup = bare();
    let holes = holes(7, 5, false);
    let planner = Planner::new(&setup, &holes, &Request::default()).expect("a planner");
    let planned = planner.plan().predicted_rms_mm;
    let index = |c: usize, r: usize| 7 * r + c;
    let corners = [index(0, 0), index(6, 0), index(6, 4), index(0, 4)];
    let six = [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)].map(|(a, b)| (corners[a], corners[b]));
    let mut random = Pcg64Mcg::seed_from_u64(24);
    let draws: Vec<f64> = (0..60)
        .map(|_| {
            let mut pairs = Vec::new();
            while pairs.len() < 24 {
                let (i, j) = (random.random_range(0..35), random.random_range(0..35));
                if i < j && !pairs.contains(&(i, j)) {
                    pairs.push((i, j));
                }
            }
            left_by(&setup, &holes, &pairs)
        })
        .collect();
    let by_chance = draws.iter().sum::<f64>() / draws.len() as f64;
    let sides = left_by(&setup, &holes, &six);
    let all = planner.all();
    let least = planner.least_rms_mm(24).expect("a bound");
    println!("left, mm                      asked for    here");
    println!("24 planned                      0.17     {planned:.3} (none below {least:.3})");
    println!("24 at random, mean of 60        0.26     {by_chance:.3}");
    println!("four sides and two diagonals    0.40     {sides:.3}");
    println!("all {}                         0.11     {:.3}", all.readings, all.rms_mm);
    assert!(planned <= 0.17);
    assert_eq!(all.readings, 595);
    reference::close("at random", by_chance, 0.26, 0.02);
    reference::close("sides and diagonals", sides, 0.40, 0.02);
    reference::close("all", all.rms_mm, 0.11, 0.01);
    assert!(least <= planned && planned <= 1.08 * least, "{least} {planned}");
}

#[test]
fn more_readings_leave_less_and_no_plan_passes_the_bound() {
    let setup = Setup::example();
    let holes = holes(7, 5, true);
    for edges in [false, true] {
        let request = Request { edges, ..Request::default() };
        let planner = Planner::new(&setup, &holes, &request).expect("a planner");
        let ladder = planner.ladder(&[6, 12, 24, 40]);
        assert_eq!(ladder.len(), 4);
        assert!(ladder.windows(2).all(|w| w[1].rms_mm < w[0].rms_mm), "{ladder:?}");
        assert!(planner.all().rms_mm < ladder[3].rms_mm);
        for rung in &ladder {
            let least = planner.least_rms_mm(rung.readings).expect("a bound");
            println!(
                "{edges} {rung:?}: none below {least:.3}, over by {:.1} %",
                100.0 * (rung.rms_mm / least - 1.0)
            );
            assert!(least <= rung.rms_mm);
        }
    }
}

#[test]
fn six_more_are_new_and_settle_what_was_left() {
    let setup = Setup::example();
    let holes = holes(7, 5, true);
    let ends = |from: Place, to: Place| (from.min(to), from.max(to));
    let first = plan(&setup, &holes, &Request { readings: 12, ..Request::default() }).expect("a plan");
    let known = read(&setup, &holes, &first.distances);
    let six = more(&setup, &holes, &Request { readings: 6, ..Request::default() }, &known).expect("a plan");
    assert_eq!(six.distances.len(), 6);
    // The readings themselves may be known a little better or worse than planned ones, as their lengths differ.
    reference::close("before", six.before_rms_mm, first.predicted_rms_mm, 0.01 * first.predicted_rms_mm);
    assert!(six.predicted_rms_mm < 0.95 * six.before_rms_mm);
    for p in &six.distances {
        assert!(known.iter().all(|r| ends(r.from, r.to) != ends(p.from, p.to)), "{p:?} is there already");
    }
    let eighteen = plan(&setup, &holes, &Request { readings: 18, ..Request::default() }).expect("a plan");
    assert!(six.predicted_rms_mm < 1.06 * eighteen.predicted_rms_mm);
}

#[test]
fn the_second_pass_is_the_first_turned_round_and_shuffled() {
    let setup = Setup::example();
    let holes = holes(7, 5, true);
    let first =
        plan(&setup, &holes, &Request { edges: true, ..Request::default() }).expect("a plan").distances;
    let second = second_pass(&holes, &first);
    let mut ends: Vec<_> = first.iter().map(|p| (p.from.min(p.to), p.from.max(p.to))).collect();
    let mut again: Vec<_> = second.iter().map(|p| (p.from.min(p.to), p.from.max(p.to))).collect();
    let neighbours = ends.windows(2).filter(|w| again.windows(2).any(|v| v == *w)).count();
    assert!(neighbours <= first.len() / 5, "{neighbours} of {} follow each other as before", first.len());
    ends.sort();
    again.sort();
    assert_eq!(ends, again);
    for p in second.iter().filter(|p| matches!(p.from, Place::Hole(_))) {
        assert!(first.iter().any(|q| q.from == p.to && q.to == p.from), "{p:?} is not from the other end");
    }
}

/// Not asserted, since machines differ: run it on a release build.
#[test]
fn how_long_it_takes() {
    let setup = Setup::example();
    for (columns, rows) in [(7, 5), (10, 10)] {
        let holes = holes(columns, rows, false);
        let begun = Instant::now();
        let planner =
            Planner::new(&setup, &holes, &Request { edges: true, ..Request::default() }).expect("a planner");
        planner.plan();
        let planned = begun.elapsed();
        let rungs = planner.ladder(&[10, 16, 28, 44]);
        let ladder = begun.elapsed();
        planner.all();
        let all = begun.elapsed();
        let least = planner.least_rms_mm(28);
        println!(
            "{} holes: plan {planned:.0?}, with the table {ladder:.0?}, all {all:.0?}, bound {:.0?} {rungs:?} {least:?}",
            holes.len(),
            begun.elapsed()
        );
    }
}
