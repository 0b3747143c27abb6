use super::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// The model of `tests/reference/statespace/check.py`.
fn step(k: usize) -> Step {
    let t = k as f64;
    let days = if k == 0 { 0.0 } else { 1.0 + 0.5 * (k % 3) as f64 };
    let mut transition = DMatrix::from_row_slice(3, 3, &[1.0, days, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0]);
    let mut noise = DMatrix::from_diagonal(&DVector::from_column_slice(&[0.04 * days, 1e-4 * days, 0.0]));
    let mut shift = DVector::zeros(3);
    if k == 5 {
        transition.row_mut(0).fill(0.0);
        shift[0] = 2.0;
        noise[(0, 0)] = 9.0;
    }
    if k == 8 {
        noise[(2, 2)] += 4.0;
    }
    let seen = if k == 3 || k == 9 { 0 } else { 2 };
    Step {
        transition,
        noise,
        shift,
        rows: DMatrix::from_row_slice(2, 3, &[1.0, 0.0, (0.7 * t).cos(), 0.3, 0.0, 1.0 + 0.1 * t])
            .rows(0, seen)
            .into_owned(),
        values: DVector::from_column_slice(&[(0.9 * t).sin() + 0.2 * t, 1.5 + (1.3 * t).cos()])
            .rows(0, seen)
            .into_owned(),
        rows_noise: DMatrix::from_row_slice(2, 2, &[0.25, 0.05, 0.05, 0.5 + 0.02 * t])
            .view((0, 0), (seen, seen))
            .into_owned(),
    }
}

fn initial() -> Belief {
    Belief {
        mean: DVector::from_column_slice(&[0.5, 0.1, -0.3]),
        covariance: DMatrix::from_row_slice(3, 3, &[4.0, 0.2, 0.5, 0.2, 0.09, 0.0, 0.5, 0.0, 2.25]),
    }
}

#[test]
fn filter_and_smoother_agree_with_statsmodels() {
    let steps: Vec<Step> = (0..12).map(step).collect();
    let filtered = filter(&initial(), &steps).unwrap();
    let smoothed = smooth(&filtered);
    let table = include_str!("../../tests/reference/statespace/results.csv");
    let mut worst = 0.0_f64;
    let mut rows = 0;
    for line in table.lines().skip(2) {
        let mut cells = line.split(',');
        let kind = cells.next().unwrap();
        let k: usize = cells.next().unwrap().parse().unwrap();
        let published: Vec<f64> = cells.map(|c| c.parse().unwrap()).collect();
        let own = |mean: &DVector<f64>, c: &DMatrix<f64>| {
            let upper = [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)];
            mean.iter().copied().chain(upper.map(|at| c[at])).collect::<Vec<_>>()
        };
        let ours = match kind {
            "filtered" => own(&filtered.updated[k].mean, &filtered.updated[k].covariance),
            "smoothed" => own(&smoothed.means[k], &smoothed.covariances[k]),
            _ => vec![filtered.log_likelihood],
        };
        for (a, b) in ours.iter().zip(&published) {
            worst = worst.max((a - b).abs() / b.abs().max(1.0));
        }
        rows += 1;
    }
    println!("state space against statsmodels: {rows} rows, largest difference {worst:.1e}");
    assert!(rows == 25 && worst < 1e-9, "{worst:e}");
}

#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    let mut rng = Pcg64Mcg::seed_from_u64(7);
    let mut normal = move || -> f64 { StandardNormal.sample(&mut rng) };
    let root = |c: &DMatrix<f64>| {
        if c.is_empty() {
            return c.clone();
        }
        let e = c.clone().symmetric_eigen();
        let sizes = e.eigenvalues.map(|v| v.max(0.0).sqrt());
        e.eigenvectors * DMatrix::from_diagonal(&sizes)
    };
    let (mut inside, mut all) = (0, 0);
    for _ in 0..400 {
        let mut steps: Vec<Step> = (0..12).map(step).collect();
        let mut x = &initial().mean + root(&initial().covariance) * DVector::from_fn(3, |_, _| normal());
        let mut truth = Vec::new();
        for s in &mut steps {
            x = &s.transition * &x + &s.shift + root(&s.noise) * DVector::from_fn(3, |_, _| normal());
            let m = s.values.len();
            s.values = &s.rows * &x + root(&s.rows_noise) * DVector::from_fn(m, |_, _| normal());
            truth.push(x.clone());
        }
        let smoothed = smooth(&filter(&initial(), &steps).unwrap());
        for (k, x) in truth.iter().enumerate() {
            for i in 0..3 {
                let off = (smoothed.means[k][i] - x[i]).abs();
                inside += usize::from(off < 1.96 * smoothed.covariances[k][(i, i)].sqrt());
                all += 1;
            }
        }
    }
    let share = f64::from(inside as u32) / f64::from(all as u32);
    assert!((0.94..0.96).contains(&share), "{share}");
}
