//! The quick check: a few distances that see a stated drift of the machine, and how often.
//!
//! # The test
//!
//! If nothing has changed, the readings differ from what is expected of the machine by d ~ N(0, V): their own noise, the
//! scatter of the holes, the shared errors of the instruments, and what the last cut left unknown of the machine, all with
//! their correlations. Then d'V^-1 d is chi-square with one degree of freedom a reading; it is the very chi-square of
//! [`crate::adjustment`], in which every expectation counts as an observation. A drift delta of the unknowns moves d by
//! s = A delta, and chi-square becomes noncentral, with lambda = s'V^-1 s. The test sees the drift with the chance that
//! this exceeds the critical value ([`power`](super::power)).
//!
//! # Search
//!
//! Distances are added one at a time, that which raises lambda most first, then exchanged one for one until nothing is
//! gained ([Atkinson, Donev and Tobias](crate::references::ATKINSON_2007), chapter 12). Which are best does not depend on
//! the size of the drift, as lambda grows with its square.

use super::candidates::{as_reading, pairs};
use super::design::weight;
use super::{Planned, Request, noncentral, walking_order};
use crate::adjustment::{Model, Quantity};
use crate::machine::{Unreachable, Values};
use crate::pattern::Hole;
use crate::readings::{Place, Reading};
use crate::setup::Setup;
use nalgebra::{DMatrix, DVector};

/// Chance at which a machine that has not changed is said to have: that of the notice in a cut's report.
pub const LEVEL: f64 = 0.01;
/// A change that is seen this often can be counted on to be seen.
pub const COUNTED_ON: f64 = 0.9;
/// An exchange has to raise lambda by this share.
const WORTH: f64 = 1e-9;
/// Rounds of exchange; two or three are usual.
const ROUNDS: usize = 20;
/// What is held for certain can drift too: to have its partials it is given this uncertainty, which adds nothing.
const HARDLY: f64 = 1e-9;

/// A quick check and what it sees.
#[derive(Debug, Clone, PartialEq)]
pub struct Quick {
    /// The distances, in the order to take them.
    pub distances: Vec<Planned>,
    /// lambda for the drift as stated.
    pub noncentrality: f64,
    /// Chance that the check sees the drift as stated.
    pub power: f64,
    /// How many times the stated drift is seen with the chance [`COUNTED_ON`]; absent when these distances do not see
    /// such a drift at all.
    pub counted_on: Option<f64>,
    /// What the drift as stated moves on the sheet, mm rms, shift and turn left out.
    pub drift_rms_mm: f64,
}

/// Chooses distances, `request.readings` of them, that see a drift of the unknowns (each in its unit) best.
///
/// # Errors
/// When the machine as described cannot reach a hole or the working area.
pub fn quick(
    setup: &Setup,
    holes: &[Hole],
    request: &Request,
    drift: &Values<f64>,
) -> Result<Quick, Unreachable> {
    let mut setup = setup.clone();
    for (unknown, &by) in drift.iter() {
        let expected = &mut setup.expected[unknown];
        if by != 0.0 && expected.u == 0.0 {
            expected.u = HARDLY;
        }
    }
    let planned = pairs(&setup, holes, request);
    let readings: Vec<Reading> = planned.iter().map(as_reading).collect();
    let model = Model::new(&setup, holes, &readings)?;
    let delta = DVector::from_iterator(
        model.parameters.len(),
        model.parameters.iter().map(|p| match p.quantity {
            Quantity::Unknown(u) => drift[u],
            Quantity::Scale(_) | Quantity::Zero(_) => 0.0,
        }),
    );
    let seen = Seen::of(&model, &delta, setup.hole_scatter_mm, request)?;
    let mut taken: Vec<usize> = Vec::new();
    while taken.len() < request.readings {
        let Some((best, _)) = seen.best(&taken, taken.len(), &planned) else { break };
        taken.push(best);
    }
    seen.exchange(&mut taken, &planned);
    let lambda = seen.lambda(&taken);
    let dof = taken.len();
    let sheet = weight(&setup, holes, &model, false)?;
    Ok(Quick {
        noncentrality: lambda,
        power: if dof > 0 { noncentral::power(LEVEL, dof, lambda) } else { 0.0 },
        counted_on: (lambda > 0.0 && dof > 0)
            .then(|| (noncentral::noncentrality(LEVEL, dof, COUNTED_ON) / lambda).sqrt()),
        drift_rms_mm: delta.dot(&(sheet * &delta)).max(0.0).sqrt(),
        distances: walking_order(holes, taken.iter().map(|&k| planned[k]).collect()),
    })
}

/// What every distance sees of the drift, and their covariance when nothing has changed, both whitened by the readings' noise.
struct Seen {
    shift: DVector<f64>,
    covariance: DMatrix<f64>,
    uses: usize,
}

impl Seen {
    fn of(
        model: &Model,
        delta: &DVector<f64>,
        scatter_mm: f64,
        request: &Request,
    ) -> Result<Self, Unreachable> {
        let rows = model.rows_at_start()?;
        let a = &rows.by_phi;
        let n = a.nrows();
        let mut covariance = a * model.prior_covariance() * a.transpose() + DMatrix::identity(n, n);
        for i in 0..n {
            for j in 0..n {
                for (hole, b) in &rows.by_scatter[i] {
                    for (_, c) in rows.by_scatter[j].iter().filter(|(other, _)| other == hole) {
                        covariance[(i, j)] += scatter_mm.powi(2) * (b[0] * c[0] + b[1] * c[1]);
                    }
                }
            }
        }
        Ok(Self { shift: a * delta, covariance, uses: request.uses })
    }

    /// s'V^-1 s of some distances.
    fn lambda(&self, taken: &[usize]) -> f64 {
        let v = self.covariance.select_rows(taken).select_columns(taken);
        let s = self.shift.select_rows(taken);
        v.cholesky().map_or(0.0, |root| root.solve(&s).dot(&s))
    }

    /// The distance that does best in place `at` of those taken, and lambda with it; a place past the last adds one.
    fn best(&self, taken: &[usize], at: usize, planned: &[Planned]) -> Option<(usize, f64)> {
        let others: Vec<usize> =
            taken.iter().enumerate().filter(|(k, _)| *k != at).map(|(_, &t)| t).collect();
        let uses = |place: Place| {
            others.iter().filter(|&&t| planned[t].from == place || planned[t].to == place).count()
        };
        let mut with = others.clone();
        with.push(0);
        (0..planned.len())
            .filter(|k| !others.contains(k))
            .filter(|&k| uses(planned[k].from) < self.uses && uses(planned[k].to) < self.uses)
            .map(|k| {
                with[others.len()] = k;
                (k, self.lambda(&with))
            })
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }

    fn exchange(&self, taken: &mut [usize], planned: &[Planned]) {
        for _ in 0..ROUNDS {
            let mut changed = false;
            for at in 0..taken.len() {
                let now = self.lambda(taken);
                if let Some((k, lambda)) = self.best(taken, at, planned)
                    && lambda > now * (1.0 + WORTH)
                {
                    taken[at] = k;
                    changed = true;
                }
            }
            if !changed {
                break;
            }
        }
    }
}
