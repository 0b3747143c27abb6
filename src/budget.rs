//! How large the position error is, and how sure that is.
//!
//! The estimate of the unknowns is off by delta ~ N(0, C). A field of displacements f0 then really is f0 + G delta,
//! G = its derivatives by the unknowns. Root mean square and largest vector are functions of delta; their
//! distribution is found by drawing delta many times (Monte Carlo, [JCGM 101](crate::references::JCGM_101)) from a fixed seed, so that the same
//! readings always give the same answer.

use crate::field::{Placement, WorkingArea, max_mm, vectors};
use crate::machine::{Attachment, COUNT};
use crate::record::{ErrorSize, Prediction};
use nalgebra::{DMatrix, DVector};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// Draws for the root mean square, which is cheap to work out.
const DRAWS_RMS: usize = 20_000;
/// Draws for the largest vector, which needs the whole field.
const DRAWS_MAX: usize = 1_000;
/// The largest vector is sought at every k-th point of the area; its rim and corners are among them.
const STRIDE_MAX: usize = 2;
/// Seed of the draws.
const SEED: u64 = 0x7461_7574;
/// Chance behind [`Prediction::bound95_mm`].
const BOUND: f64 = 0.95;

/// Standard normal numbers, drawn once and used for every error field.
#[derive(Debug, Clone)]
pub struct Draws {
    /// How many unknowns the machine has, the first of all.
    unknowns: usize,
    /// A row per draw; noughts beyond those unknowns.
    rows: Vec<[f64; COUNT]>,
}

impl Draws {
    /// Always the same ones, for a machine with this attachment.
    pub fn new(attachment: Attachment) -> Self {
        let unknowns = attachment.unknowns().len();
        let mut rng = Pcg64Mcg::seed_from_u64(SEED);
        let mut one = |k| if k < unknowns { StandardNormal.sample(&mut rng) } else { 0.0 };
        Self { unknowns, rows: (0..DRAWS_RMS).map(|_| std::array::from_fn(&mut one)).collect() }
    }
}

/// The distribution of the size of an error field.
#[derive(Debug, Clone)]
pub struct ErrorDistribution {
    /// Size at the estimate itself.
    pub at_estimate: ErrorSize,
    /// Drawn root mean squares, ascending, mm.
    rms_mm: Vec<f64>,
    /// Drawn largest vectors, mm.
    max_mm: Vec<f64>,
}

impl ErrorDistribution {
    /// Of the field `f0` (x1, y1, ... mm) over an area, with derivatives `by_truth` (a column per unknown), for the
    /// covariance of the unknowns.
    pub fn of(
        draws: &Draws,
        area: &WorkingArea,
        f0: &DVector<f64>,
        by_truth: &DMatrix<f64>,
        covariance: &DMatrix<f64>,
        placement: &Placement,
    ) -> Self {
        let f0 = placement.remove(f0);
        let n = draws.unknowns;
        let by_truth = by_truth.columns(0, n).into_owned();
        let g = placement.remove_columns(&by_truth) * root(&covariance.view((0, 0), (n, n)).into_owned());
        let weighted = area.weighted(&g);
        let weighted_f0 = area.weighted(&DMatrix::from_columns(std::slice::from_ref(&f0)));
        // Mean square = c + b'z + z'Mz; in the axes of M it is a sum over single draws.
        let axes = (weighted.transpose() * &weighted).symmetric_eigen();
        let constant = weighted_f0.norm_squared();
        let linear = axes.eigenvectors.transpose() * weighted.transpose() * &weighted_f0 * 2.0;
        let mut rms: Vec<f64> = draws
            .rows
            .iter()
            .map(|z| {
                let sum: f64 = (0..n).map(|i| z[i] * (linear[i] + axes.eigenvalues[i] * z[i])).sum();
                (constant + sum).max(0.0).sqrt()
            })
            .collect();
        rms.sort_unstable_by(f64::total_cmp);
        Self {
            at_estimate: ErrorSize { rms_mm: area.rms_mm(&f0), max_mm: max_mm(&f0) },
            rms_mm: rms,
            max_mm: largest(draws, area, &f0, &g),
        }
    }

    /// What to expect: the root of the mean square, the mean of the largest, and the bound on the root mean square.
    pub fn prediction(&self) -> Prediction {
        let mean_square = self.rms_mm.iter().map(|r| r * r).sum::<f64>() / self.rms_mm.len() as f64;
        Prediction {
            size: ErrorSize {
                rms_mm: mean_square.sqrt(),
                max_mm: self.max_mm.iter().sum::<f64>() / self.max_mm.len() as f64,
            },
            bound95_mm: self.quantile(BOUND),
        }
    }

    /// Quantile of the root mean square, mm.
    pub fn quantile(&self, probability: f64) -> f64 {
        let k = (probability * self.rms_mm.len() as f64).ceil() as usize;
        self.rms_mm[k.clamp(1, self.rms_mm.len()) - 1]
    }

    /// Quantile of the largest vector, mm.
    pub fn worst_quantile(&self, probability: f64) -> f64 {
        let mut ascending = self.max_mm.clone();
        ascending.sort_unstable_by(f64::total_cmp);
        let k = (probability * ascending.len() as f64).ceil() as usize;
        ascending[k.clamp(1, ascending.len()) - 1]
    }

    /// Standard uncertainty of the root mean square, mm.
    pub fn rms_u_mm(&self) -> f64 {
        let n = self.rms_mm.len() as f64;
        let mean = self.rms_mm.iter().sum::<f64>() / n;
        (self.rms_mm.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / n).sqrt()
    }

    /// Chance that the root mean square is within a limit.
    pub fn chance_rms_within(&self, limit_mm: f64) -> f64 {
        self.rms_mm.partition_point(|&r| r <= limit_mm) as f64 / self.rms_mm.len() as f64
    }

    /// Chance that the largest vector is within a limit.
    pub fn chance_within(&self, limit_mm: f64) -> f64 {
        self.max_mm.iter().filter(|&&m| m <= limit_mm).count() as f64 / self.max_mm.len() as f64
    }
}

/// The largest vector of each drawn field, mm.
fn largest(draws: &Draws, area: &WorkingArea, f0: &DVector<f64>, g: &DMatrix<f64>) -> Vec<f64> {
    let rows: Vec<usize> = area.every(STRIDE_MAX).flat_map(|i| [2 * i, 2 * i + 1]).collect();
    let (g, f0) = (g.select_rows(&rows), f0.select_rows(&rows));
    let z = DMatrix::from_fn(draws.unknowns, DRAWS_MAX, |i, k| draws.rows[k][i]);
    let mut fields = g * z;
    for mut field in fields.column_iter_mut() {
        field += &f0;
    }
    let squares = |v: &[f64]| v[0] * v[0] + v[1] * v[1];
    fields
        .column_iter()
        .map(|field| field.as_slice().chunks_exact(2).map(squares).fold(0.0, f64::max).sqrt())
        .collect()
}

/// Standard uncertainty of each vector of a field, both axes together, mm.
pub fn vector_u_mm(by_truth: &DMatrix<f64>, covariance: &DMatrix<f64>, placement: &Placement) -> Vec<f64> {
    let g = placement.remove_columns(by_truth) * root(covariance);
    let squares = DVector::from_iterator(g.nrows(), g.row_iter().map(|r| r.norm_squared().sqrt()));
    vectors(&squares).map(|v| v.norm_mm()).collect()
}

/// A matrix S with S S' = C, for a covariance C that may be singular.
pub fn root(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    // Scaled to unit diagonal first, as the unknowns differ in unit and size.
    let n = covariance.nrows();
    let scale = DVector::from_fn(n, |i, _| {
        let v = covariance[(i, i)];
        if v > 0.0 { v.sqrt() } else { 1.0 }
    });
    let scaled = DMatrix::from_fn(n, n, |i, j| covariance[(i, j)] / (scale[i] * scale[j]));
    let eigen = scaled.symmetric_eigen();
    let mut s = eigen.eigenvectors;
    for (k, mut column) in s.column_iter_mut().enumerate() {
        column *= eigen.eigenvalues[k].max(0.0).sqrt();
    }
    for (i, mut row) in s.row_iter_mut().enumerate() {
        row *= scale[i];
    }
    s
}
