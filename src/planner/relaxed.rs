//! How good a choice could be at best: shares of readings in place of whole ones.
//!
//! Let x_i say how much of row i is taken, 0 to `most`, n in all. The criterion phi(x) = tr(M J(x)^-1) with
//! J(x) = S0^-1 + sum x_i a_i a_i' is convex, and falls by g_i = a_i' J^-1 M J^-1 a_i per share of row i. So for every
//! x, and every other choice x' of as many, phi(x') >= phi(x) + sum g_i x_i - max over x' of sum g_i x'_i. That is the
//! equivalence theorem ([Fedorov](crate::references::FEDOROV_1972), section 2.7) with a limit on each share; at the
//! best x the bound is phi itself. The shares are found by multiplying each with the root of its g_i.

use super::search::Row;
use crate::setup::lower_root;
use nalgebra::{Cholesky, DMatrix};

/// Most rounds of multiplying.
const ROUNDS: usize = 60;
/// Close enough, as a share of the criterion.
const CLOSE: f64 = 0.01;
/// A share never falls below this part of an even one, or it could not grow again.
const LEAST: f64 = 1e-9;

/// The best that shares can do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relaxed {
    /// The criterion of the shares found.
    pub left: f64,
    /// No choice leaves less than this.
    pub bound: f64,
}

/// Finds the best shares of `free` rows, so many in all, `always` taken besides; `before` is the covariance S0.
pub(super) fn relax(
    always: &[&Row],
    free: &[&Row],
    before: &DMatrix<f64>,
    weight: &DMatrix<f64>,
    count: f64,
    most: f64,
) -> Option<Relaxed> {
    let count = count.min(most * free.len() as f64);
    let (p, n) = (weight.nrows(), before.nrows());
    // In unknowns of unit variance J is 1 + sum x_i a_i a_i', even where a variance is nought.
    let root = lower_root(before)?;
    let whiten = |row: &&Row| -> Row {
        let mut out: Row = Vec::with_capacity(row.len() + p);
        for j in 0..n {
            let value: f64 = row.iter().map(|&(i, v)| root[(i, j)] * v).sum();
            if value != 0.0 {
                out.push((j, value));
            }
        }
        out
    };
    let (always, free): (Vec<Row>, Vec<Row>) =
        (always.iter().map(whiten).collect(), free.iter().map(whiten).collect());
    // M on the new unknowns; the root is triangular, so all of them enter that stand before p.
    let top = root.view((0, 0), (p, p)).into_owned();
    let weight = top.transpose() * weight * &top;
    let mut base = DMatrix::identity(n, n);
    always.iter().for_each(|row| add(&mut base, row, 1.0));
    let mut shares = vec![count / free.len().max(1) as f64; free.len()];
    let mut found = Relaxed { left: f64::INFINITY, bound: 0.0 };
    let unit = DMatrix::from_fn(n, p, |i, j| f64::from(u8::from(i == j)));
    for _ in 0..ROUNDS {
        let mut information = base.clone();
        free.iter().zip(&shares).for_each(|(row, &x)| add(&mut information, row, x));
        let z = Cholesky::new(information)?.solve(&unit);
        let left = weight.component_mul(&z.rows(0, p)).sum();
        let gains: Vec<f64> = free.iter().map(|row| gain(row, &z, &weight)).collect();
        let reached: f64 = gains.iter().zip(&shares).map(|(g, x)| g * x).sum();
        let bound = left + reached - most_of(&gains, count, most);
        found = Relaxed { left: found.left.min(left), bound: found.bound.max(bound) };
        if found.left - found.bound <= CLOSE * found.left {
            break;
        }
        let floor = LEAST * count / free.len().max(1) as f64;
        let wanted: Vec<f64> = gains.iter().zip(&shares).map(|(g, x)| x.max(floor) * g.sqrt()).collect();
        shares = scaled(&wanted, count, most);
    }
    Some(found)
}

/// a' J^-1 M J^-1 a, from J^-1 on the first unknowns.
fn gain(row: &Row, z: &DMatrix<f64>, weight: &DMatrix<f64>) -> f64 {
    let p = weight.nrows();
    let along: Vec<f64> = (0..p).map(|c| row.iter().map(|&(i, v)| z[(i, c)] * v).sum()).collect();
    (0..p).map(|j| along[j] * (0..p).map(|i| along[i] * weight[(i, j)]).sum::<f64>()).sum()
}

fn add(information: &mut DMatrix<f64>, row: &Row, share: f64) {
    // the lower half is all that the factorisation reads
    for (at, &(j, v)) in row.iter().enumerate() {
        for &(i, w) in &row[at..] {
            information[(i, j)] += share * v * w;
        }
    }
}

/// The most that so many shares can gather, each at most `most`.
fn most_of(gains: &[f64], count: f64, most: f64) -> f64 {
    let mut sorted = gains.to_vec();
    sorted.sort_by(|a, b| b.total_cmp(a));
    let mut left = count;
    let mut sum = 0.0;
    for g in sorted {
        let share = left.min(most);
        sum += share * g;
        left -= share;
        if left <= 0.0 {
            break;
        }
    }
    sum
}

/// Numbers scaled so that they add up to `count`, those that would pass `most` held there.
fn scaled(wanted: &[f64], count: f64, most: f64) -> Vec<f64> {
    let mut shares = vec![0.0; wanted.len()];
    let mut held = vec![false; wanted.len()];
    loop {
        // summed, since `most` may be without end
        let room = count - held.iter().filter(|h| **h).map(|_| most).sum::<f64>();
        let sum: f64 = wanted.iter().zip(&held).filter(|(_, h)| !**h).map(|(w, _)| w).sum();
        let factor = if sum > 0.0 { room.max(0.0) / sum } else { 0.0 };
        let mut changed = false;
        for k in 0..wanted.len() {
            shares[k] = if held[k] { most } else { wanted[k] * factor };
            if !held[k] && shares[k] > most {
                (held[k], changed) = (true, true);
            }
        }
        if !changed {
            return shares;
        }
    }
}
