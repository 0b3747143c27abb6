//! Control charts held against the worked examples of the NIST/SEMATECH handbook, and their false alarms against tables.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use tautgrid::charts::{EWMA_WEIGHT, EWMA_WIDTH, Point, chart, ewma};

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
    assert!(chart.signals.iter().all(|s| s.1 != tautgrid::charts::Rule::Beyond));
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
