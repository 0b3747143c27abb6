//! The statistics against theory, on fewer machines than `tautgrid simulate` takes and with seeds that never change. Every
//! limit is stated in standard deviations of what chance does to so many machines.

mod workshop;

use tautgrid::record::Notice;
use tautgrid::setup::Setup;
use tautgrid::trials::{Misfit, Plan, Planted, Theory, misfitted, slips, trials, uniformity};
use workshop::{pattern, planned_24};

/// Standard deviations of chance that are allowed: one test in some 15 000 fails by luck with a new seed.
const ALLOWED: f64 = 4.0;

#[test]
fn intervals_cover_and_the_variance_is_the_least_possible() {
    let setup = Setup::example();
    let distances = planned_24(&setup);
    let plan = Plan { setup: &setup, pattern: &pattern(), distances: &distances, rounding_mm: 0.0 };
    let t = Theory::of(&trials(&plan, 7000, 120).unwrap());
    let n = t.trials as f64;
    let of_share = ALLOWED * (0.95_f64 * 0.05 / n).sqrt();
    println!("{t:#?}");
    assert!((t.bound_coverage - 0.95).abs() < of_share, "bound {}", t.bound_coverage);
    assert!((t.compensated_coverage - 0.95).abs() < of_share, "compensate {}", t.compensated_coverage);
    for (unknown, share) in &t.coverage {
        assert!((share - 0.95).abs() < of_share, "{}: {share}", unknown.name());
    }
    for (unknown, ratio) in &t.over_bound {
        assert!((ratio - 1.0).abs() < ALLOWED * (2.0 / n).sqrt(), "{}: {ratio}", unknown.name());
    }
    let k = t.unknowns as f64;
    let m = t.normalised.unwrap();
    assert!((m.mean - k).abs() < ALLOWED * (2.0 * k / n).sqrt(), "{m:?}");
    assert!((m.variance - 2.0 * k).abs() < ALLOWED * ((8.0 * k * k + 48.0 * k) / n).sqrt(), "{m:?}");
    let all = t.over_bound_all.unwrap();
    assert!((all - 1.0).abs() < ALLOWED * (2.0 / (n * k)).sqrt(), "{all}");
    assert!(t.uniformity.unwrap().p_value > 1e-4, "{:?}", t.uniformity);
    let of_alarm = 0.01 + ALLOWED * (0.01_f64 * 0.99 / n).sqrt();
    assert!(t.losing < of_alarm && t.false_patterns < of_alarm, "{} {}", t.losing, t.false_patterns);
}

/// D worked out by hand; the 5 % point of the limit distribution by SciPy 1.17.1, scipy.special.kolmogi(0.05) = 1.35810.
#[test]
fn kolmogorov_smirnov() {
    // Squares of an even spread crowd towards nought: the 100th of 200 is (99.5/200)^2, its share 1/2; and so D.
    let squares: Vec<f64> = (0..200).map(|i| ((f64::from(i) + 0.5) / 200.0).powi(2)).collect();
    let crowded = uniformity(&squares).unwrap();
    assert!((crowded.distance - 0.252_493_75).abs() < 1e-12, "{crowded:?}");
    assert!(crowded.p_value < 1e-10, "{crowded:?}");
    let even: Vec<f64> = (0..200).map(|i| (f64::from(i) + 0.5) / 200.0).collect();
    assert!((uniformity(&even).unwrap().distance - 0.0025).abs() < 1e-12);
    // The 5 % point of the limit distribution is 1.3581: a shift that makes z just that.
    let root = 200.0_f64.sqrt();
    let shift = 1.3581 / (root + 0.12 + 0.11 / root) - 0.0025;
    let shifted: Vec<f64> = even.iter().map(|v| v + shift).collect();
    assert!((uniformity(&shifted).unwrap().p_value - 0.05).abs() < 1e-4, "{:?}", uniformity(&shifted));
}

#[test]
fn planted_slips_are_found_and_named() {
    let setup = Setup::example();
    let distances = planned_24(&setup);
    let plan = Plan { setup: &setup, pattern: &pattern(), distances: &distances, rounding_mm: 0.5 };
    for kind in Planted::ALL {
        for (per_cut, wanted) in [(1, 0.9), (3, 0.8)] {
            let s = slips(&plan, kind, per_cut, 500, 8).unwrap();
            println!("{kind:?} x {per_cut}: {s:?}");
            assert_eq!(s.planted, 8 * per_cut, "{kind:?}");
            assert!(s.plain_found as f64 >= wanted * s.plain as f64, "{kind:?} x {per_cut}: {s:?}");
            assert!(s.named as f64 >= 0.5 * s.found as f64, "{kind:?} x {per_cut}: {s:?}");
            assert!(s.good_lost as f64 <= 0.02 * s.good as f64, "{kind:?} x {per_cut}: {s:?}");
        }
    }
}

/// A sheet read from behind must never pass without a word, and a machine as stated must.
#[test]
fn only_what_is_wrong_is_noticed() {
    let setup = Setup::example();
    let distances = planned_24(&setup);
    let plan = Plan { setup: &setup, pattern: &pattern(), distances: &distances, rounding_mm: 0.0 };
    let noticed = |misfit| {
        let cuts = misfitted(&plan, misfit, 900, 12).unwrap();
        cuts.iter()
            .filter(|c| {
                c.analysis.notices.iter().any(|n| {
                    matches!(
                        n,
                        Notice::PatternLeft { .. } | Notice::ReadingsDisagree { .. } | Notice::ReadFromBehind
                    )
                })
            })
            .count()
    };
    let (none, mirror) = (noticed(Misfit::Nothing), noticed(Misfit::MirrorRead));
    println!("noticed, of 12: {none} where there is nothing, {mirror} read from behind");
    assert!(none <= 2, "{none}");
    assert_eq!(mirror, 12);
}
