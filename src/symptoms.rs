//! What a person with a tape would see: scale x, scale y, skew, and the curved rest.
//!
//! The displacement d of the holes is split by least squares into
//! dx = shift_x + scale_x x + (skew - turn) y,  dy = shift_y + turn x + scale_y y  and a rest.
//! Turn is that of the x axis; skew is the departure of the y axis from square to it.

use crate::field::rms_mm;
use crate::frame::Point;
use crate::record::{Estimate, Symptom, Symptoms};
use nalgebra::{DMatrix, DVector};

/// Symptoms of a displacement (x1, y1, x2, y2 ..., mm) of the holes at `targets`, with its covariance.
///
/// When `placement_known` is false, shift and turn are left out. The holes must not all lie on one line.
pub fn symptoms(
    targets: &[Point],
    displacement: &DVector<f64>,
    covariance: &DMatrix<f64>,
    placement_known: bool,
) -> Symptoms {
    let n = targets.len();
    let middle = targets.iter().fold(Point::default(), |m, p| m + *p) * (1.0 / n.max(1) as f64);
    let shapes: [fn(Point) -> Point; 6] = [
        |_| Point::new(1.0, 0.0),
        |_| Point::new(0.0, 1.0),
        |p| Point::new(-p.y_mm, p.x_mm) * 1e-3,
        |p| Point::new(p.x_mm, 0.0) * 1e-3,
        |p| Point::new(0.0, p.y_mm) * 1e-3,
        |p| Point::new(p.y_mm, 0.0) * 1e-3,
    ];
    // Gram-Schmidt in the order shift, turn, scales, skew: the rows of `dual` give the coefficients from d.
    let mut q: Vec<DVector<f64>> = Vec::new();
    let mut upper = DMatrix::<f64>::zeros(6, 6);
    for (k, shape) in shapes.iter().enumerate() {
        let mut column = DVector::zeros(2 * n);
        for (i, &p) in targets.iter().enumerate() {
            let v = shape(p - middle);
            column[2 * i] = v.x_mm;
            column[2 * i + 1] = v.y_mm;
        }
        let size = column.norm();
        for _ in 0..2 {
            for (j, basis) in q.iter().enumerate() {
                let along = basis.dot(&column);
                upper[(j, k)] += along;
                column -= basis * along;
            }
        }
        let rest = column.norm();
        if rest > 1e-9 * size && rest > 0.0 {
            upper[(k, k)] = rest;
            column /= rest;
        } else {
            column.fill(0.0);
        }
        q.push(column);
    }
    let mut dual = DMatrix::<f64>::zeros(6, 2 * n);
    for k in (0..6).rev() {
        if upper[(k, k)] == 0.0 {
            continue;
        }
        let mut row = q[k].transpose();
        for j in k + 1..6 {
            row -= dual.row(j) * upper[(k, j)];
        }
        dual.set_row(k, &(row / upper[(k, k)]));
    }
    let coefficients = &dual * displacement;
    let spread = &dual * covariance * dual.transpose();
    let first = if placement_known { 0 } else { 3 };
    let mut rest = displacement.clone();
    for basis in &q {
        rest -= basis * basis.dot(displacement);
    }
    let explained: Vec<f64> = q.iter().map(|basis| basis.dot(displacement).powi(2)).collect();
    let total = explained[first..].iter().sum::<f64>() + rest.norm_squared();
    let share = |part: f64| if total > 0.0 { part / total } else { 0.0 };
    let symptom = |k: usize| Symptom {
        estimate: Estimate { value: coefficients[k], u: spread[(k, k)].max(0.0).sqrt() },
        share: share(explained[k]),
    };
    let placed = |k: usize| placement_known.then(|| symptom(k));
    Symptoms {
        shift_x: placed(0),
        shift_y: placed(1),
        turn: placed(2),
        scale_x: symptom(3),
        scale_y: symptom(4),
        skew: symptom(5),
        rest_rms_mm: rms_mm(&rest),
        rest_share: share(rest.norm_squared()),
    }
}
