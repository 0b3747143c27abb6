use super::*;
use nalgebra::{DMatrix, DVector};

fn vector(v: &[f64]) -> DVector<f64> {
    DVector::from_row_slice(v)
}

fn matrix<const N: usize>(rows: &[[f64; N]]) -> DMatrix<f64> {
    DMatrix::from_fn(rows.len(), N, |i, j| rows[i][j])
}

/// By hand: a level seen twice, with a known shift and some wander between.
#[test]
fn two_looks_by_hand() {
    let start = State::independent(vector(&[1.0]), &vector(&[2.0])).unwrap();
    let steps = [
        Step::still(1).seeing(matrix(&[[1.0]]), vector(&[3.0])),
        Step::still(1).shifted(0, 0.5).wandering(0, 0.25).seeing_with(
            matrix(&[[2.0]]),
            vector(&[8.0]),
            matrix(&[[4.0]]),
        ),
    ];
    let done = filter(&start, &steps).unwrap();
    // Variance 4 seen with 1: gain 0.8, mean 2.6, variance 0.8; on the way 3.1 and 1.05.
    let first = &done.steps[0].filtered;
    assert!((first.mean[0] - 2.6).abs() < 1e-14 && (first.u(0).powi(2) - 0.8).abs() < 1e-14);
    let second = &done.steps[1];
    assert!((second.predicted.mean[0] - 3.1).abs() < 1e-14);
    assert!((second.innovations_covariance[(0, 0)] - 8.2).abs() < 1e-13);
    assert!((second.innovations[0] - 1.8).abs() < 1e-14);
    let variance = 1.0 / (1.0 / 1.05 + 4.0 / 4.0);
    assert!((second.filtered.u(0).powi(2) - variance).abs() < 1e-14);
    let all = smooth(&done);
    // Gain back 0.8/1.05.
    let g = 0.8 / 1.05;
    let mean = 2.6 + g * (second.filtered.mean[0] - 3.1);
    assert!((all.states[0].mean[0] - mean).abs() < 1e-14);
    let lag = all.lag_one(1)[(0, 0)];
    assert!((lag - variance * g).abs() < 1e-14);
    assert_eq!(all.cross_covariance(0, 1), all.lag_one(1).transpose());
}

/// A state known for certain, one that copies another, a part replaced: singular covariances on the way.
#[test]
fn what_is_certain_stays_certain() {
    let start =
        State::new(vector(&[1.0, 5.0, 5.0]), &matrix(&[[0.0, 0.0, 0.0], [0.0, 4.0, 4.0], [0.0, 4.0, 4.0]]))
            .unwrap();
    let row = matrix(&[[1.0, 1.0, 0.0]]);
    let steps = [
        Step::still(3).seeing(row.clone(), vector(&[7.0])),
        Step::still(3).anew(1, 2.0, 9.0).seeing(row, vector(&[3.0])),
    ];
    let all = smooth(&filter(&start, &steps).unwrap());
    for state in [&all.start, &all.states[0], &all.states[1]] {
        assert_eq!((state.mean[0], state.u(0)), (1.0, 0.0));
    }
    assert!((all.states[0].mean[1] - all.states[0].mean[2]).abs() < 1e-12);
    // What came after the replacement says nothing of what was before it.
    assert!((all.states[0].mean[1] - 5.8).abs() < 1e-12);
    assert!((all.states[1].mean[1] - 2.0).abs() < 1e-12);
    let twice = filter(
        &start,
        &[Step::still(3).seeing_with(matrix(&[[1.0, 0.0, 0.0]]), vector(&[1.0]), matrix(&[[0.0]]))],
    );
    assert_eq!(twice.unwrap_err(), Fault::Certain { step: 0 });
}

#[test]
fn nonsense_is_refused() {
    let start = State::independent(vector(&[0.0, 0.0]), &vector(&[1.0, 1.0])).unwrap();
    let mut step = Step::still(2);
    step.noise = matrix(&[[1.0, 2.0], [2.0, 1.0]]);
    let fault = filter(&start, &[Step::still(2), step]).unwrap_err();
    assert_eq!(fault.to_string(), "step 1: noise is no covariance");
    let fault = filter(&start, &[Step::still(2).seeing(matrix(&[[1.0]]), vector(&[1.0]))]).unwrap_err();
    assert_eq!(fault.to_string(), "step 0: rows is 1 x 1, expected 1 x 2");
    let fault =
        filter(&start, &[Step::still(2).seeing(matrix(&[[1.0, 0.0]]), vector(&[f64::NAN]))]).unwrap_err();
    assert_eq!(fault.to_string(), "step 0: values holds a number that is not finite");
    assert!(State::new(DVector::zeros(2), &DMatrix::zeros(3, 3)).is_err());
    assert!(ahead(&start, &[]).unwrap().is_empty());
}
