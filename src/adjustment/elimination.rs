//! Elimination of the holes' scatters from the whitened rows.

use super::normal::Normal;
use crate::frame::Point;
use nalgebra::{DMatrix, DVector};

/// A scatter has settled when no component moves by more than this, mm: over spans of a metre the next step would be
/// of the order of this squared over the span, some 1e-15 mm.
const SETTLED_MM: f64 = 1e-6;
/// Most rounds; the rows are so nearly linear in the scatters that three or four suffice.
const ROUNDS: usize = 25;

/// Whitened, unweighted rows of the distances.
#[derive(Debug, Clone)]
pub struct Rows {
    /// (model - reading) / u.
    pub residuals: DVector<f64>,
    /// Derivatives by phi, one row a distance.
    pub by_phi: DMatrix<f64>,
    /// Derivatives by the scatters of the holes it touches: hole, (by x, by y).
    pub by_scatter: Vec<Vec<(usize, [f64; 2])>>,
}

impl Rows {
    /// Rows of nought for `n` distances and `p` parameters.
    pub fn new(n: usize, p: usize) -> Self {
        Self {
            residuals: DVector::zeros(n),
            by_phi: DMatrix::zeros(n, p),
            by_scatter: vec![Vec::with_capacity(2); n],
        }
    }
}

/// The rows with the scatters eliminated. Matrices use the scatters' order x1, y1, x2, y2 ...
#[derive(Debug, Clone)]
pub struct Eliminated {
    /// The rows at the best scatters.
    pub rows: Rows,
    /// The best scatters.
    pub scatter: Vec<Point>,
    /// N = B'WB + I/sigma^2; absent when there is no scatter.
    pub normal: Option<Normal>,
    /// K = N^-1 B'WA: how the scatters give way to phi (de = -K dphi).
    pub pull: DMatrix<f64>,
    /// A - B K, unweighted rows.
    pub projected: DMatrix<f64>,
}

/// Finds the scatters that minimise the weighted sum of squares at a fixed phi, by Gauss-Newton, and eliminates
/// them.
pub fn eliminate(
    scatter_mm: f64,
    weights: &[f64],
    holes: usize,
    rows_at: impl Fn(&[Point]) -> Rows,
) -> Eliminated {
    let mut scatter = vec![Point::default(); holes];
    let mut rows = rows_at(&scatter);
    let p = rows.by_phi.ncols();
    if scatter_mm <= 0.0 {
        let projected = rows.by_phi.clone();
        return Eliminated { rows, scatter, normal: None, pull: DMatrix::zeros(2 * holes, p), projected };
    }
    let precision = 1.0 / (scatter_mm * scatter_mm);
    let mut factor = None;
    for _ in 0..ROUNDS {
        let mut gradient = DMatrix::zeros(2 * holes, 1);
        for (i, e) in scatter.iter().enumerate() {
            gradient[2 * i] = e.x_mm * precision;
            gradient[2 * i + 1] = e.y_mm * precision;
        }
        for (row, parts) in rows.by_scatter.iter().enumerate() {
            for &(hole, by) in parts {
                for (axis, derivative) in by.into_iter().enumerate() {
                    gradient[2 * hole + axis] += weights[row] * derivative * rows.residuals[row];
                }
            }
        }
        let Some(normal) = Normal::of(&rows, weights, precision, holes) else { break };
        let step = normal.solve(&gradient);
        factor = Some(normal);
        for (i, e) in scatter.iter_mut().enumerate() {
            *e = *e - Point::new(step[2 * i], step[2 * i + 1]);
        }
        rows = rows_at(&scatter);
        if step.amax() < SETTLED_MM {
            break;
        }
    }
    let mut coupling = DMatrix::zeros(2 * holes, p);
    for (row, parts) in rows.by_scatter.iter().enumerate() {
        for &(hole, by) in parts {
            for (axis, derivative) in by.into_iter().enumerate() {
                for k in 0..p {
                    coupling[(2 * hole + axis, k)] += weights[row] * derivative * rows.by_phi[(row, k)];
                }
            }
        }
    }
    let pull = factor.as_ref().map_or_else(|| DMatrix::zeros(2 * holes, p), |f| f.solve(&coupling));
    let mut projected = rows.by_phi.clone();
    for (row, parts) in rows.by_scatter.iter().enumerate() {
        for &(hole, by) in parts {
            for (axis, derivative) in by.into_iter().enumerate() {
                for k in 0..p {
                    projected[(row, k)] -= derivative * pull[(2 * hole + axis, k)];
                }
            }
        }
    }
    Eliminated { rows, scatter, normal: factor, pull, projected }
}
