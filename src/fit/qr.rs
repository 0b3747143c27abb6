//! Householder QR with column pivoting (Businger and Golub 1965; Björck 1996, section 2.7).

use nalgebra::{DMatrix, DVector};

/// A P = Q R with Q (m x m) orthogonal, R upper triangular with falling diagonal, P a permutation.
///
/// A with fewer rows than columns is padded with rows of noughts, so that R is always n x n.
pub(super) struct PivotedQr {
    /// Column j holds the Householder vector v_j in rows j.. and the finished R above the diagonal.
    packed: DMatrix<f64>,
    /// Diagonal of R.
    diagonal: Vec<f64>,
    /// 2 / (v_j' v_j), or 0 where column j needed no reflection.
    beta: Vec<f64>,
    /// Column j of A P is column `pivots[j]` of A.
    pub pivots: Vec<usize>,
    /// Rows of A as given.
    rows: usize,
}

impl PivotedQr {
    /// Factors `a` (m x n), using its storage.
    pub fn of(mut a: DMatrix<f64>) -> Self {
        let (rows, n) = a.shape();
        if rows < n {
            a = a.resize_vertically(n, 0.0);
        }
        let m = a.nrows();
        let mut qr =
            Self { diagonal: vec![0.0; n], beta: vec![0.0; n], pivots: (0..n).collect(), rows, packed: a };
        // Squared norms of what is left of each column: running values, and those last computed in full.
        let mut left: Vec<f64> = (0..n).map(|j| qr.packed.column(j).norm_squared()).collect();
        let mut full = left.clone();
        for j in 0..n {
            let best = (j..n).max_by(|&a, &b| left[a].total_cmp(&left[b])).unwrap_or(j);
            qr.packed.swap_columns(j, best);
            qr.pivots.swap(j, best);
            left.swap(j, best);
            full.swap(j, best);
            let (done, rest) = qr.packed.as_mut_slice().split_at_mut((j + 1) * m);
            let v = &mut done[j * m + j..];
            let norm = norm(v);
            if norm > 0.0 {
                qr.beta[j] = 1.0 / (norm * (norm + v[0].abs()));
                qr.diagonal[j] = -norm.copysign(v[0]);
                v[0] -= qr.diagonal[j];
            }
            for (k, column) in (j + 1..n).zip(rest.chunks_exact_mut(m)) {
                reflect(v, qr.beta[j], &mut column[j..]);
                // Downdating loses digits by cancellation; start afresh when about half of them are gone.
                left[k] -= column[j] * column[j];
                if left[k] <= 1e-8 * full[k] {
                    left[k] = column[j + 1..].iter().map(|c| c * c).sum();
                    full[k] = left[k];
                }
            }
        }
        qr
    }

    /// R, n x n.
    pub fn r(&self) -> DMatrix<f64> {
        let n = self.diagonal.len();
        DMatrix::from_fn(n, n, |i, j| match i.cmp(&j) {
            std::cmp::Ordering::Less => self.packed[(i, j)],
            std::cmp::Ordering::Equal => self.diagonal[j],
            std::cmp::Ordering::Greater => 0.0,
        })
    }

    /// Q' b, for b of length m (with noughts for the padding of a wide A).
    pub fn qt(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut b = b.clone().resize_vertically(self.packed.nrows(), 0.0);
        for j in 0..self.beta.len() {
            reflect(self.reflector(j), self.beta[j], &mut b.as_mut_slice()[j..]);
        }
        b
    }

    /// Q b, cut back to the rows of A.
    pub fn q(&self, mut b: DVector<f64>) -> DVector<f64> {
        for j in (0..self.beta.len()).rev() {
            reflect(self.reflector(j), self.beta[j], &mut b.as_mut_slice()[j..]);
        }
        b.resize_vertically(self.rows, 0.0)
    }

    /// The first n elements of Q' b.
    pub fn first_of_qt(&self, b: &DVector<f64>) -> DVector<f64> {
        self.qt(b).resize_vertically(self.beta.len(), 0.0)
    }

    fn reflector(&self, j: usize) -> &[f64] {
        let m = self.packed.nrows();
        &self.packed.as_slice()[j * m + j..(j + 1) * m]
    }

    /// Number of diagonal elements above `tolerance` times the first.
    pub fn rank(&self, tolerance: f64) -> usize {
        let first = self.diagonal.first().map_or(0.0, |d| d.abs());
        self.diagonal.iter().take_while(|d| d.abs() > tolerance * first).count()
    }

    /// The first `rank` columns of Q, as given rows only: an orthonormal basis of the columns of A.
    pub fn basis(&self, rank: usize) -> DMatrix<f64> {
        let m = self.packed.nrows();
        let mut q = DMatrix::identity(m, rank);
        for j in (0..rank).rev() {
            for column in q.as_mut_slice().chunks_exact_mut(m).skip(j) {
                reflect(self.reflector(j), self.beta[j], &mut column[j..]);
            }
        }
        q.resize_vertically(self.rows, 0.0)
    }
}

/// Euclidean norm without needless overflow or underflow.
fn norm(v: &[f64]) -> f64 {
    let largest = v.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    if largest == 0.0 { 0.0 } else { largest * v.iter().map(|x| (x / largest).powi(2)).sum::<f64>().sqrt() }
}

/// c becomes c - beta v (v' c).
fn reflect(v: &[f64], beta: f64, c: &mut [f64]) {
    let factor = beta * dot(v, c);
    for (c, v) in c.iter_mut().zip(v) {
        *c -= factor * v;
    }
}

/// a' b, in four interleaved sums: quicker, and with a quarter of the rounding.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let ((a, a_rest), (b, b_rest)) = (a.as_chunks::<4>(), b.as_chunks::<4>());
    let mut sums = [0.0; 4];
    for (a, b) in a.iter().zip(b) {
        for k in 0..4 {
            sums[k] += a[k] * b[k];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    sums[0] + sums[1] + (sums[2] + sums[3]) + rest
}
