//! N = B'WB + I/sigma^2 of the holes' scatters: solved for, and inverted.
//!
//! N has a 2 x 2 block on its diagonal for each hole, and one off it for each pair of holes that share a reading. A
//! usual cut's N is factored as a whole. For a large cut that would cost the cube of the number of holes in every
//! round; there N is solved by conjugate gradients preconditioned with the diagonal blocks ([Golub and Van
//! Loan](crate::references::GOLUB_VAN_LOAN_2013), 11.5): the prior I/sigma^2 keeps its condition number near the
//! number of readings per hole, so that a few tens of rounds suffice, whatever the size. Only the inverse, wanted
//! once for the covariances, is worked out in full: by halves, in products of matrices.

use super::elimination::Rows;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Scatters (two a hole) beyond which N is not factored any more; about where both ways take as long.
const DENSE: usize = 240;
/// A solution has settled when its residual is below this share of the right side.
const SETTLED: f64 = 1e-14;
/// Most rounds of conjugate gradients.
const ROUNDS: usize = 400;
/// Matrices up to this size are inverted by their Cholesky factor, larger ones by halves.
const SMALL: usize = 96;

type Block = [[f64; 2]; 2];

/// The matrix N, ready to be solved for.
#[derive(Debug, Clone)]
pub struct Normal(Form);

#[derive(Debug, Clone)]
enum Form {
    Factored(Cholesky<f64, Dyn>),
    Sparse {
        /// The block of each hole.
        diagonal: Vec<Block>,
        /// Its inverse.
        inverse: Vec<Block>,
        /// Holes i < j that share a reading, and the block in row i, column j.
        off: Vec<(usize, usize, Block)>,
    },
}

impl Normal {
    /// From the rows of the readings; absent when a weight is not a number.
    pub fn of(rows: &Rows, weights: &[f64], precision: f64, holes: usize) -> Option<Self> {
        let (diagonal, off) = blocks(rows, weights, precision, holes);
        if 2 * holes <= DENSE {
            return Cholesky::new(dense(&diagonal, &off)).map(|factor| Self(Form::Factored(factor)));
        }
        let inverse = diagonal.iter().map(inverted).collect::<Option<_>>()?;
        Some(Self(Form::Sparse { diagonal, inverse, off }))
    }

    /// N^-1 times each column.
    pub fn solve(&self, right: &DMatrix<f64>) -> DMatrix<f64> {
        match &self.0 {
            Form::Factored(factor) => factor.solve(right),
            Form::Sparse { .. } => {
                let columns: Vec<DVector<f64>> = right
                    .column_iter()
                    .map(|column| self.conjugate_gradients(&column.into_owned()))
                    .collect();
                DMatrix::from_columns(&columns)
            }
        }
    }

    /// N^-1.
    pub fn inverse(&self) -> DMatrix<f64> {
        match &self.0 {
            Form::Factored(factor) => factor.inverse(),
            // N is positive definite by its prior, and so is every part of it.
            Form::Sparse { diagonal, off, .. } => {
                let n = 2 * diagonal.len();
                by_halves(dense(diagonal, off)).unwrap_or_else(|| DMatrix::zeros(n, n))
            }
        }
    }

    fn conjugate_gradients(&self, right: &DVector<f64>) -> DVector<f64> {
        let Form::Sparse { diagonal, inverse, off } = &self.0 else { return right.clone() };
        let mut x = DVector::zeros(right.len());
        let mut r = right.clone();
        let mut z = block_product(inverse, &[], &r);
        let mut p = z.clone();
        let mut rz = r.dot(&z);
        let enough = SETTLED * SETTLED * rz;
        for _ in 0..ROUNDS {
            if rz <= enough {
                break;
            }
            let np = block_product(diagonal, off, &p);
            let step = rz / p.dot(&np);
            x.axpy(step, &p, 1.0);
            r.axpy(-step, &np, 1.0);
            z = block_product(inverse, &[], &r);
            let next = r.dot(&z);
            p.axpy(1.0, &z, next / rz);
            rz = next;
        }
        x
    }
}

/// Blocks on the diagonal, and those off it, of B'WB + I/sigma^2.
fn blocks(
    rows: &Rows,
    weights: &[f64],
    precision: f64,
    holes: usize,
) -> (Vec<Block>, Vec<(usize, usize, Block)>) {
    let mut diagonal = vec![[[precision, 0.0], [0.0, precision]]; holes];
    let mut off = Vec::with_capacity(rows.by_scatter.len());
    let product = |w: f64, a: [f64; 2], b: [f64; 2]| a.map(|x| b.map(|y| w * x * y));
    for (parts, &w) in rows.by_scatter.iter().zip(weights) {
        for &(i, a) in parts {
            for (sum, row) in diagonal[i].iter_mut().zip(product(w, a, a)) {
                for (s, value) in sum.iter_mut().zip(row) {
                    *s += value;
                }
            }
        }
        if let [(i, a), (j, b)] = parts[..] {
            off.push(if i < j { (i, j, product(w, a, b)) } else { (j, i, product(w, b, a)) });
        }
    }
    (diagonal, off)
}

fn dense(diagonal: &[Block], off: &[(usize, usize, Block)]) -> DMatrix<f64> {
    let mut n = DMatrix::zeros(2 * diagonal.len(), 2 * diagonal.len());
    for (i, block) in diagonal.iter().enumerate() {
        for r in 0..2 {
            for c in 0..2 {
                n[(2 * i + r, 2 * i + c)] = block[r][c];
            }
        }
    }
    for &(i, j, block) in off {
        for r in 0..2 {
            for c in 0..2 {
                n[(2 * i + r, 2 * j + c)] += block[r][c];
                n[(2 * j + c, 2 * i + r)] += block[r][c];
            }
        }
    }
    n
}

fn inverted(block: &Block) -> Option<Block> {
    let [[a, b], [c, d]] = *block;
    let determinant = a * d - b * c;
    (determinant > 0.0).then(|| [[d / determinant, -b / determinant], [-c / determinant, a / determinant]])
}

/// The symmetric matrix of these blocks times a vector.
fn block_product(diagonal: &[Block], off: &[(usize, usize, Block)], v: &DVector<f64>) -> DVector<f64> {
    let v = v.as_slice();
    let mut out = vec![0.0; v.len()];
    for (i, m) in diagonal.iter().enumerate() {
        let (x, y) = (v[2 * i], v[2 * i + 1]);
        out[2 * i] = m[0][0] * x + m[0][1] * y;
        out[2 * i + 1] = m[1][0] * x + m[1][1] * y;
    }
    for &(i, j, m) in off {
        let (xi, yi, xj, yj) = (v[2 * i], v[2 * i + 1], v[2 * j], v[2 * j + 1]);
        out[2 * i] += m[0][0] * xj + m[0][1] * yj;
        out[2 * i + 1] += m[1][0] * xj + m[1][1] * yj;
        out[2 * j] += m[0][0] * xi + m[1][0] * yi;
        out[2 * j + 1] += m[0][1] * xi + m[1][1] * yi;
    }
    DVector::from_vec(out)
}

/// Inverse of a positive definite matrix. With its halves [A B'; B C], T = B A^-1 and the Schur complement
/// S = C - T B': [A^-1 + T'S^-1 T, -T'S^-1; -S^-1 T, S^-1].
fn by_halves(matrix: DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = matrix.nrows();
    if n <= SMALL {
        return Cholesky::new(matrix).map(|factor| factor.inverse());
    }
    let k = n / 2;
    let b = matrix.view((k, 0), (n - k, k)).into_owned();
    let mut s = matrix.view((k, k), (n - k, n - k)).into_owned();
    let mut a = by_halves(matrix.view((0, 0), (k, k)).into_owned())?;
    drop(matrix);
    let t = product(&b, &a);
    s -= product(&t, &b.transpose());
    let s = by_halves(s)?;
    let below = product(&s, &t);
    a += product(&t.transpose(), &below);
    let mut whole = DMatrix::zeros(n, n);
    whole.view_mut((0, 0), (k, k)).copy_from(&a);
    whole.view_mut((k, k), (n - k, n - k)).copy_from(&s);
    whole.view_mut((k, 0), (n - k, k)).copy_from(&-&below);
    whole.view_mut((0, k), (k, n - k)).copy_from(&-below.transpose());
    Some(whole)
}

/// A product of matrices, its left and right half on two cores where there are two.
fn product(a: &DMatrix<f64>, b: &DMatrix<f64>) -> DMatrix<f64> {
    let (n, half) = (b.ncols(), b.ncols() / 2);
    let mut out = DMatrix::zeros(a.nrows(), n);
    let (mut left, mut right) = out.columns_range_pair_mut(..half, half..);
    rayon::join(
        || left.gemm(1.0, a, &b.columns(0, half), 0.0),
        || right.gemm(1.0, a, &b.columns(half, n - half), 0.0),
    );
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Readings round and across a ring of holes, with directions that turn.
    fn ring(holes: usize) -> (Rows, Vec<f64>) {
        let mut rows = Rows::new(3 * holes, 1);
        for (k, parts) in rows.by_scatter.iter_mut().enumerate() {
            let (i, j) = (k % holes, (k % holes + 1 + 7 * (k / holes)) % holes);
            let (sin, cos) = (k as f64).sin_cos();
            parts.extend([(i, [3.0 * cos, 3.0 * sin]), (j, [-3.0 * cos, -3.0 * sin])]);
        }
        (rows, (0..3 * holes).map(|k| if k % 10 == 0 { 0.0 } else { 1.0 }).collect())
    }

    /// Both forms of the same matrix, against each other and against N N^-1 = I.
    #[test]
    fn a_large_matrix_is_solved_and_inverted_as_a_small_one() {
        let holes = DENSE / 2 + 30;
        let (rows, weights) = ring(holes);
        let normal = Normal::of(&rows, &weights, 16.0, holes).unwrap();
        assert!(matches!(normal.0, Form::Sparse { .. }));
        let (diagonal, off) = blocks(&rows, &weights, 16.0, holes);
        let whole = dense(&diagonal, &off);
        let right = DMatrix::from_fn(2 * holes, 3, |i, k| ((i * (k + 2)) as f64).sin());
        let factor = Cholesky::new(whole.clone()).unwrap();
        assert!((normal.solve(&right) - factor.solve(&right)).amax() < 1e-14);
        assert!((normal.inverse() - factor.inverse()).amax() < 1e-14);
        assert!((whole * normal.inverse() - DMatrix::identity(2 * holes, 2 * holes)).amax() < 1e-12);
    }
}
