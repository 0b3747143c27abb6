//! The state-space room against other programs (tests/reference/statespace) and against machines of chance.
//!
//! The table: `cargo test --test statespace -- --nocapture`

#[path = "common/reference.rs"]
#[allow(dead_code, reason = "each test takes what it needs")]
mod reference;

use nalgebra::{DMatrix, DVector};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use serde::Deserialize;
use std::collections::BTreeMap;
use tautgrid::statespace::{Filtered, Smoothed, State, Step, ahead, filter, smooth};

/// One element of a problem or of its answer.
#[derive(Deserialize)]
struct Element {
    problem: String,
    what: String,
    step: usize,
    i: usize,
    j: usize,
    value: f64,
}

fn posed(elements: &[&Element]) -> (State, Vec<Step>) {
    let n = elements.iter().find(|e| e.what == "size").unwrap().j;
    let (mut mean, mut covariance) = (DVector::zeros(n), DMatrix::zeros(n, n));
    let mut steps = Vec::new();
    for e in elements.iter().filter(|e| e.what == "size") {
        assert_eq!(e.step, steps.len());
        let mut step = Step::still(n).seeing(DMatrix::zeros(e.i, n), DVector::zeros(e.i));
        step.transition.fill(0.0);
        step.rows_noise.fill(0.0);
        steps.push(step);
    }
    for e in elements {
        let at = (e.i, e.j);
        match e.what.as_str() {
            "a" => mean[e.i] = e.value,
            "P" => covariance[at] = e.value,
            "F" => steps[e.step].transition[at] = e.value,
            "Q" => steps[e.step].noise[at] = e.value,
            "b" => steps[e.step].shift[e.i] = e.value,
            "H" => steps[e.step].rows[at] = e.value,
            "z" => steps[e.step].values[e.i] = e.value,
            "R" => steps[e.step].rows_noise[at] = e.value,
            _ => {}
        }
    }
    (State::new(mean, &covariance).unwrap(), steps)
}

/// (found, what its error is measured by); `None` for an element of the problem.
fn found(e: &Element, forward: &Filtered, back: &Smoothed) -> Option<(f64, f64)> {
    let step = &forward.steps[e.step];
    let of_mean = |s: &State| (s.mean[e.i], s.u(e.i));
    let of_covariance = |s: &State| (s.covariance()[(e.i, e.j)], s.u(e.i) * s.u(e.j));
    let spread = |k: usize| step.innovations_covariance[(k, k)].sqrt();
    Some(match e.what.as_str() {
        "predicted" => of_mean(&step.predicted),
        "predicted_covariance" => of_covariance(&step.predicted),
        "filtered" => of_mean(&step.filtered),
        "filtered_covariance" => of_covariance(&step.filtered),
        "smoothed" => of_mean(&back.states[e.step]),
        "smoothed_covariance" => of_covariance(&back.states[e.step]),
        "lag_one" => {
            (back.lag_one(e.step)[(e.i, e.j)], back.states[e.step].u(e.i) * back.states[e.step - 1].u(e.j))
        }
        "innovation" => (step.innovations[e.i], spread(e.i)),
        "innovation_covariance" => (step.innovations_covariance[(e.i, e.j)], spread(e.i) * spread(e.j)),
        "log_likelihood" => (forward.log_likelihood(), e.value.abs()),
        _ => return None,
    })
}

#[test]
fn agrees_with_other_programs() {
    let all: Vec<Element> = reference::rows("statespace/results.csv");
    let mut problems: BTreeMap<&str, Vec<&Element>> = BTreeMap::new();
    for e in &all {
        problems.entry(&e.problem).or_default().push(e);
    }
    assert_eq!(problems.len(), 5);
    for (name, elements) in problems {
        let (start, steps) = posed(&elements);
        let forward = filter(&start, &steps).unwrap();
        let back = smooth(&forward);
        let mut worst: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
        for e in &elements {
            let Some((found, size)) = found(e, &forward, &back) else { continue };
            let off = (found - e.value).abs() / size;
            let entry = worst.entry(&e.what).or_default();
            *entry = (entry.0 + 1, entry.1.max(off));
        }
        for (what, (count, off)) in worst {
            println!("{name:6} {what:22} {count:4} figures, worst {off:.1e} of their uncertainty");
            assert!(off < 1e-10, "{name}, {what}: off by {off:e} of its uncertainty");
        }
    }
}

fn draw(rng: &mut Pcg64Mcg) -> f64 {
    StandardNormal.sample(rng)
}

/// Three states that wander, grow and are replaced, drawn from the model itself.
fn drawn(seed: u64) -> (State, Vec<Step>, Vec<DVector<f64>>) {
    const STEPS: usize = 30;
    let rng = &mut Pcg64Mcg::seed_from_u64(seed);
    let u = DVector::from_row_slice(&[1.0, 0.05, 2.0]);
    let start = State::independent(DVector::zeros(3), &u).unwrap();
    let mut x = u.map(|u| u * draw(rng));
    let mut steps = Vec::new();
    let mut truth = Vec::new();
    for t in 0..STEPS {
        let mut step = Step::still(3).wandering(0, 0.01).wandering(1, 1e-5);
        step.transition[(0, 1)] = 1.0;
        if t == 12 {
            step = step.anew(2, 0.5, 4.0);
        }
        x = &step.transition * &x + &step.shift + step.noise.diagonal().map(|q| q.sqrt() * draw(rng));
        let m = t % 3;
        let rows = DMatrix::from_fn(m, 3, |_, _| draw(rng));
        let values = &rows * &x + DVector::from_fn(m, |_, _| draw(rng));
        steps.push(step.seeing(rows, values));
        truth.push(x.clone());
    }
    (start, steps, truth)
}

/// Of machines drawn from the model, 95 % intervals hold the truth in 95 of 100, whether filtered, smoothed, of a change
/// between two looks or looking ahead; and the normalised innovations are white.
#[test]
fn intervals_hold_what_they_promise() {
    const MACHINES: u64 = 3000;
    let mut inside: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    let (mut sum_of_squares, mut products, mut count, mut pairs) = (0.0, 0.0, 0.0, 0.0);
    for seed in 0..MACHINES {
        let (start, steps, truth) = drawn(seed);
        let forward = filter(&start, &steps).unwrap();
        let back = smooth(&forward);
        let future = ahead(&forward.steps[19].filtered, &steps[20..]).unwrap();
        let mut note = |what, off: f64, u: f64| {
            let (hits, all) = inside.entry(what).or_default();
            *hits += f64::from(off.abs() <= 1.959_964 * u);
            *all += 1.0;
        };
        let growth = DVector::from_row_slice(&[1.0, 3.0, 0.5]);
        for k in 0..3 {
            note(
                "filtered",
                truth[20][k] - forward.steps[20].filtered.mean[k],
                forward.steps[20].filtered.u(k),
            );
            note("smoothed", truth[10][k] - back.states[10].mean[k], back.states[10].u(k));
            note("ahead", truth[29][k] - future[9].mean[k], future[9].u(k));
        }
        let (change, u) = back.change(&growth, 8, 25);
        note("change", growth.dot(&truth[25]) - growth.dot(&truth[8]) - change, u);
        let e: Vec<f64> = forward.steps.iter().flat_map(|s| s.normalised.iter().copied()).collect();
        sum_of_squares += e.iter().map(|e| e * e).sum::<f64>();
        count += e.len() as f64;
        products += e.windows(2).map(|w| w[0] * w[1]).sum::<f64>();
        pairs += (e.len() - 1) as f64;
    }
    for (what, (hits, all)) in inside {
        let share = hits / all;
        println!("{what:10} {:.2} % of {all} intervals of 95 % hold the truth", 100.0 * share);
        assert!((0.94..0.96).contains(&share), "{what}: {share}");
    }
    // Variance 1 within 4 sqrt(2/N), correlation of neighbours 0 within 4/sqrt(N).
    let (variance, correlation) = (sum_of_squares / count, products / pairs);
    println!(
        "innovations: mean square {variance:.4}, correlation of neighbours {correlation:.4} ({count} of them)"
    );
    assert!((variance - 1.0).abs() < 4.0 * (2.0_f64 / count).sqrt());
    assert!(correlation.abs() < 4.0 / pairs.sqrt());
}
