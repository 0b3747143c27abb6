//! Orthogonal triangularisation of stacked roots.

use nalgebra::{DMatrix, DVector};

/// A column is taken to follow from earlier ones when less than this share of it is left.
const FOLLOWS: f64 = 1e-13;

/// Makes the first `columns` columns of an array A triangular: A becomes Q'A with Q orthogonal, so A'A stays.
///
/// Returns the columns that carry a pivot, in order: the k-th has nothing below row k. A column without one follows from
/// earlier columns. Rows are sorted by size first: Householder's method then keeps small rows beside large ones
/// ([Björck](crate::references::BJORCK_1996), section 4.4.2).
pub(super) fn echelon(array: &mut DMatrix<f64>, columns: usize) -> Vec<usize> {
    let m = array.nrows();
    if m == 0 {
        return Vec::new();
    }
    sort_rows(array);
    let norms: Vec<f64> = (0..columns).map(|j| array.column(j).norm()).collect();
    let mut pivots = Vec::with_capacity(columns);
    for j in 0..columns {
        let row = pivots.len();
        if row == m {
            break;
        }
        let (done, rest) = array.as_mut_slice().split_at_mut((j + 1) * m);
        let v = &mut done[j * m + row..];
        let largest = v.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        let norm = if largest > 0.0 {
            largest * v.iter().map(|x| (x / largest).powi(2)).sum::<f64>().sqrt()
        } else {
            0.0
        };
        if norm <= FOLLOWS * norms[j] {
            v.fill(0.0);
            continue;
        }
        let pivot = -norm.copysign(v[0]);
        let beta = 1.0 / (norm * (norm + v[0].abs()));
        v[0] -= pivot;
        for column in rest.chunks_exact_mut(m) {
            let c = &mut column[row..];
            let factor = beta * v.iter().zip(c.iter()).map(|(v, c)| v * c).sum::<f64>();
            c.iter_mut().zip(v.iter()).for_each(|(c, v)| *c -= factor * v);
        }
        v.fill(0.0);
        v[0] = pivot;
        pivots.push(j);
    }
    pivots
}

/// Root of A'A as an n x n matrix: upper triangular but for columns that follow from earlier ones.
pub(super) fn root_of(mut array: DMatrix<f64>) -> DMatrix<f64> {
    let n = array.ncols();
    let rank = echelon(&mut array, n).len();
    let mut root = DMatrix::zeros(n, n);
    root.rows_mut(0, rank).copy_from(&array.rows(0, rank));
    root
}

/// One matrix above another.
pub(super) fn stacked(above: &DMatrix<f64>, below: &DMatrix<f64>) -> DMatrix<f64> {
    let (a, b) = (above.nrows(), below.nrows());
    let mut both = DMatrix::zeros(a + b, above.ncols());
    both.rows_mut(0, a).copy_from(above);
    both.rows_mut(a, b).copy_from(below);
    both
}

/// U^(-T) v, for an upper triangular U without noughts on its diagonal.
pub(super) fn forward(u: &DMatrix<f64>, v: &DVector<f64>) -> DVector<f64> {
    let mut e = v.clone();
    for i in 0..e.len() {
        let known: f64 = (0..i).map(|k| u[(k, i)] * e[k]).sum();
        e[i] = (e[i] - known) / u[(i, i)];
    }
    e
}

fn sort_rows(array: &mut DMatrix<f64>) {
    let sizes: Vec<f64> = array.row_iter().map(|r| r.amax()).collect();
    let mut order: Vec<usize> = (0..sizes.len()).collect();
    order.sort_by(|&a, &b| sizes[b].total_cmp(&sizes[a]));
    *array = array.select_rows(&order);
}
