//! Newton's method for a few equations, and derivatives of its answer by the implicit-function theorem.

use super::real::{Dual, Real};

/// How often a step may be halved before giving up.
const HALVINGS: i32 = 30;
/// Steps before giving up; from any sensible start four or five suffice.
const PATIENCE: usize = 60;

/// A root, with the Jacobian of the equations there.
pub struct Root<const N: usize> {
    /// The root.
    pub at: [f64; N],
    /// Row i: derivatives of equation i.
    pub jacobian: [[f64; N]; N],
}

/// Finds z with f(z) = 0 near `start`, by Newton's method with steps halved until the residual shrinks.
///
/// `f` gives each equation divided by the accuracy wanted of it: the search ends when their root sum of squares is
/// below 1. `None` when there is no such z in reach.
pub fn root<const N: usize>(start: [f64; N], f: impl Fn([Dual<N>; N]) -> [Dual<N>; N]) -> Option<Root<N>> {
    let evaluate = |z: &[f64; N]| f(std::array::from_fn(|k| Dual::variable(z[k], k)));
    let size = |y: &[Dual<N>; N]| {
        let s = y.iter().fold(0.0_f64, |m, e| m + e.value * e.value).sqrt();
        if s.is_finite() { s } else { f64::INFINITY }
    };
    let mut z = start;
    let mut y = evaluate(&z);
    let mut now = size(&y);
    for _ in 0..PATIENCE {
        if now < 1.0 {
            return Some(Root { at: z, jacobian: y.map(|e| e.partials) });
        }
        let step = solve(y.map(|e| e.partials), y.map(|e| e.value))?;
        let (trial, there, then) = (0..HALVINGS).find_map(|halving| {
            let share = 0.5_f64.powi(halving);
            let trial: [f64; N] = std::array::from_fn(|k| z[k] - share * step[k]);
            let there = evaluate(&trial);
            let then = size(&there);
            (then < now).then_some((trial, there, then))
        })?;
        (z, y, now) = (trial, there, then);
    }
    None
}

/// The root as a function of M parameters: z - J^-1 F(z; p), exact in value and first derivatives when `equations`
/// holds F at the root with its partials by the parameters (implicit-function theorem).
pub fn implicit<const N: usize, const M: usize>(
    root: &Root<N>,
    equations: [Dual<M>; N],
) -> Option<[Dual<M>; N]> {
    let mut z = root.at.map(Dual::constant);
    for m in 0..M {
        let column = solve(root.jacobian, equations.map(|e| e.partials[m]))?;
        for k in 0..N {
            z[k].partials[m] = -column[k];
        }
    }
    Some(z)
}

/// Solves A x = b by elimination with row pivoting; `None` when A is singular.
fn solve<const N: usize>(mut a: [[f64; N]; N], mut b: [f64; N]) -> Option<[f64; N]> {
    for k in 0..N {
        let pivot = (k..N).max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs()))?;
        a.swap(k, pivot);
        b.swap(k, pivot);
        if a[k][k] == 0.0 || !a[k][k].is_finite() {
            return None;
        }
        for i in k + 1..N {
            let factor = a[i][k] / a[k][k];
            for j in k..N {
                a[i][j] -= factor * a[k][j];
            }
            b[i] -= factor * b[k];
        }
    }
    for k in (0..N).rev() {
        for j in k + 1..N {
            b[k] -= a[k][j] * b[j];
        }
        b[k] /= a[k][k];
    }
    Some(b)
}
