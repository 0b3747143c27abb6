//! Control charts held against the worked examples of the NIST/SEMATECH handbook, and their false alarms against tables.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use tautgrid::charts::{Basis, EWMA_WEIGHT, EWMA_WIDTH, Point, Rule, chart, ewma, false_call};

/// Columns of a table under tests/reference/control-charts, without its comments and heading.
fn table(name: &str) -> Vec<Vec<f64>> {
    let path = format!("{}/tests/reference/control-charts/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let lines = text.lines().filter(|l| !l.starts_with('#')).skip(1);
    lines.map(|l| l.split(',').filter(|c| !c.is_empty()).map(|c| c.parse().unwrap()).collect()).collect()
}

/// NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159, no point outside.
#[test]
fn individuals_of_the_handbook() {
    let points: Vec<Point> =
        table("nist-individuals-flowrate.csv").iter().map(|r| Point { value: r[1], u: 0.5 }).collect();
    let chart = chart(&points, &[]);
    let piece = &chart.pieces[0];
    let [low, high] = piece.limits(0).unwrap();
    println!(
        "centre {:.4}, mean range {:.4}, limits {low:.4} {high:.4}",
        piece.centre,
        piece.mean_range.unwrap()
    );
    assert!((piece.centre - 50.81).abs() < 5e-5);
    assert!((piece.mean_range.unwrap() - 1.8778).abs() < 5e-5);
    // The handbook divides by 1.128; d2 is 1.128379.
    assert!((high - 55.8041).abs() < 2e-3 && (low - 45.8159).abs() < 2e-3);
    assert!(chart.signals.iter().all(|s| s.1 != Rule::Beyond));
}

/// NIST/SEMATECH e-Handbook 6.3.2.4: weight 0.3, centre 50, s 2.0539; averages as printed, limits 52.5884 and 47.4115.
#[test]
fn moving_average_of_the_handbook() {
    let rows = table("nist-ewma.csv");
    let values: Vec<f64> = rows.iter().map(|r| r[1]).collect();
    let (averages, _) = ewma(&values, &[], 50.0, 0.3);
    for (row, z) in rows.iter().zip(&averages) {
        assert!((row[2] - z).abs() < 0.0051 && (row[3] - z).abs() < 1e-7, "{row:?} {z}");
    }
    let (_, spread) = ewma(&[50.0; 200], &[2.0539; 200], 50.0, 0.3);
    let high = 50.0 + 3.0 * spread[199];
    assert!((high - 52.5884).abs() < 5e-5, "{high}");
}

/// One false call in so many points: 370.4 of the individuals (1/P(|Z| > 3)), 499.7 of the average with steady limits
/// (`ewma-arl.csv`, after Montgomery, recomputed).
#[test]
fn false_alarms_are_as_rare_as_stated() {
    let published = table("ewma-arl.csv");
    let row = published.iter().find(|r| r[0] == EWMA_WEIGHT && r[1] == EWMA_WIDTH && r[2] == 0.0).unwrap();
    let steady = (EWMA_WEIGHT / (2.0 - EWMA_WEIGHT)).sqrt();
    let mut rng = Pcg64Mcg::seed_from_u64(3);
    let runs = 4000;
    let mut length = |outside: &mut dyn FnMut(f64) -> bool| {
        let mut total = 0.0;
        for _ in 0..runs {
            loop {
                total += 1.0;
                if outside(StandardNormal.sample(&mut rng)) {
                    break;
                }
            }
        }
        total / f64::from(runs)
    };
    let individuals = length(&mut |x| x.abs() > 3.0);
    let mut z = 0.0;
    let average = length(&mut |x| {
        z = EWMA_WEIGHT * x + (1.0 - EWMA_WEIGHT) * z;
        let out = f64::abs(z) > EWMA_WIDTH * steady;
        if out {
            z = 0.0;
        }
        out
    });
    println!("run lengths: individuals {individuals:.0} (370.4), average {average:.0} ({:.1})", row[3]);
    // Run lengths are nearly exponential: standard error about 370/63 and 500/63; four of them.
    assert!((individuals - 370.4).abs() < 24.0 && (average - row[3]).abs() < 32.0);
}

/// Limits of few points come from the uncertainty of the measurements; a cut begins a new piece.
#[test]
fn few_points_are_judged_by_their_uncertainty_and_pieces_stand_alone() {
    let point = |value: f64| Point { value, u: 0.1 };
    let values = [1.0, 1.1, 0.9, 1.0, 3.0, 3.1, 2.9, 3.0];
    let whole: Vec<Point> = values.iter().map(|&v| point(v)).collect();
    assert!(chart(&whole, &[4]).signals.is_empty());
    let jump: Vec<Point> = [1.0, 1.1, 0.9, 1.0, 2.0].iter().map(|&v| point(v)).collect();
    assert_eq!(chart(&jump, &[]).signals.last().map(|s| s.0), Some(4));
}

fn unchanged(rng: &mut Pcg64Mcg, n: usize) -> Vec<Point> {
    (0..n).map(|_| Point { value: StandardNormal.sample(rng), u: 1.0 }).collect()
}

/// Charts of points that judge themselves: the chance that any of them is called on, which the page states. And the limits of m
/// points kept for those to come: a call within the next 20 and 100. With known limits these would be 5.3 % and 23.7 % for
/// single points. Both held against another program (`few-points.csv`).
#[test]
fn limits_from_few_points_call_as_often_as_said() {
    const CHARTS: usize = 20_000;
    println!(
        "points: any call by a single point, the average, either; stated | within 20 and 100 more: single, average"
    );
    for row in table("few-points.csv") {
        let n = row[0] as usize;
        let mut rng = Pcg64Mcg::seed_from_u64(n as u64);
        let mut found = vec![0.0; row.len() - 1];
        for _ in 0..CHARTS {
            let c = chart(&unchanged(&mut rng, n), &[]);
            let piece = &c.pieces[0];
            // A point that is beyond itself is not called on a second time; the average is asked anew.
            let outside = |k| {
                piece.average_limits(k).is_some_and(|[low, high]| !(low..=high).contains(&piece.average[k]))
            };
            let single = c.signals.iter().any(|s| s.1 == Rule::Beyond);
            let mut calls = vec![single, (0..n).any(outside), !c.signals.is_empty()];
            if piece.basis == Basis::Spread {
                let first = run_lengths(&mut rng, piece.centre, piece.sigma[0]);
                calls.extend([first[0] <= 20, first[1] <= 20, first[0] <= 100, first[1] <= 100]);
            }
            found.iter_mut().zip(calls).for_each(|(sum, call)| *sum += f64::from(call) / CHARTS as f64);
        }
        let stated = false_call(n);
        println!("{n:3}: {found:.3?}; {stated:.3}");
        for (p, expected) in found.iter().zip(&row[1..]) {
            // Four standard errors of this and of the table.
            let error = 4.0 * (expected * (1.0 - expected) * (1.0 / CHARTS as f64 + 1.0 / 100_000.0)).sqrt();
            assert!((p - expected).abs() < error, "{n} points: {p}, there {expected}");
        }
        assert!((row[3] - stated).abs() < 2e-3, "{n} points: stated {stated}, there {}", row[3]);
    }
    assert_eq!(false_call(1), 0.0);
    assert!((false_call(10) - 0.0295).abs() < 5e-4 && false_call(5000) == false_call(1000));
}

/// New points until one is beyond 3 sigma, and until the average is beyond its limit; 101 when none of 100 is.
fn run_lengths(rng: &mut Pcg64Mcg, centre: f64, sigma: f64) -> [usize; 2] {
    let values: Vec<f64> = (0..100).map(|_| StandardNormal.sample(rng)).collect();
    let (average, spread) = ewma(&values, &[sigma; 100], centre, EWMA_WEIGHT);
    let first = |out: &dyn Fn(usize) -> bool| (0..100).find(|&k| out(k)).map_or(101, |k| k + 1);
    [
        first(&|k| (values[k] - centre).abs() > 3.0 * sigma),
        first(&|k| (average[k] - centre).abs() > EWMA_WIDTH * spread[k]),
    ]
}

/// From 8 points on, those that are measured worse have wider limits and count for less in the centre.
#[test]
fn points_measured_worse_count_for_less() {
    let point = |value: f64, u: f64| Point { value, u };
    let mut points: Vec<Point> = [1.0, 1.2, 0.9, 1.1, 1.0, 0.8, 1.0].iter().map(|&v| point(v, 0.1)).collect();
    points.push(point(2.0, 1.0));
    let c = chart(&points, &[]);
    // 700 points' worth at 1.0 and one at 2.0.
    assert!((c.pieces[0].centre - (7.0 * 100.0 + 2.0) / 701.0).abs() < 1e-12);
    assert!(c.signals.is_empty(), "{:?}", c.signals);
    assert!((c.pieces[0].sigma[7] / c.pieces[0].sigma[0] - 10.0).abs() < 1e-12);
}
