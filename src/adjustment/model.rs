//! The observations, the parameters, and the rows that join them.

use super::elimination::{Eliminated, Rows, eliminate};
use super::prior::{covariance_of, whitening};
use crate::fit::{Evaluation, OutOfDomain, Problem};
use crate::frame::{Edge, Point};
use crate::machine::{COUNT, Landing, Machine, Unknown, Unreachable, Values};
use crate::pattern::Hole;
use crate::readings::{Place, Reading};
use crate::setup::{Expected, Setup};
use nalgebra::{DMatrix, DVector};

/// Between what a distance was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Two holes, by index.
    Holes(usize, usize),
    /// An edge of the sheet and a hole.
    Edge(Edge, usize),
}

/// One distance with its noise.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Between what.
    pub ends: Ends,
    /// Centre to centre (or edge to centre), mm.
    pub distance_mm: f64,
    /// Standard uncertainty of its own noise, mm.
    pub u_mm: f64,
    /// Index of the instrument.
    pub instrument: usize,
    /// Does it share the instrument's zero error? Not when the tape was started at a mark away from its hook.
    pub shares_zero: bool,
}

/// What a parameter of the adjustment stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// An unknown of the machine.
    Unknown(Unknown),
    /// The scale error shared by an instrument's readings, mm/m.
    Scale(usize),
    /// The zero error shared by an instrument's readings, mm.
    Zero(usize),
}

/// A parameter with what is believed of it before the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameter {
    /// What it stands for.
    pub quantity: Quantity,
    /// Prior value and standard uncertainty (over 0).
    pub prior: Expected,
}

/// The whole adjustment problem of one cut.
#[derive(Debug, Clone)]
pub struct Model {
    /// The real machine, with the values of unknowns that are held fixed.
    truth: Machine,
    /// Where each hole should be.
    pub(super) targets: Vec<Point>,
    /// Chain paid out for each hole, mm; `None` where the pattern asks for a place out of reach.
    paid_mm: Vec<[f64; 2]>,
    /// The distances.
    pub observations: Vec<Observation>,
    /// Weight of each distance, 1 for one that takes part and 0 for one set aside.
    pub weights: Vec<f64>,
    /// The parameters phi.
    pub parameters: Vec<Parameter>,
    /// Weight of each parameter's prior, 1 or 0; changed by [`Model::drop_prior`].
    pub prior_weights: Vec<f64>,
    /// Covariance of all priors.
    pub(super) prior_covariance: DMatrix<f64>,
    /// W: the whitened rows of the priors in use are W (phi - prior).
    pub(super) prior_rows: DMatrix<f64>,
    /// Standard deviation of a hole's scatter, mm per axis.
    pub(super) scatter_mm: f64,
}

impl Model {
    /// The problem for a machine, its holes and their readings.
    ///
    /// # Errors
    /// When the controller cannot have reached a hole with the settings of the cut.
    pub fn new(setup: &Setup, holes: &[Hole], readings: &[Reading]) -> Result<Self, Unreachable> {
        let belief = setup.belief();
        let paid_mm = holes
            .iter()
            .map(|h| belief.pay_out(h.target).map(|p| p.paid_mm))
            .collect::<Result<Vec<_>, _>>()?;
        let observations: Vec<Observation> = readings.iter().filter_map(|r| observation(setup, r)).collect();
        let mut parameters: Vec<Parameter> = setup
            .expected
            .iter()
            .filter(|(_, e)| e.u > 0.0)
            .map(|(u, e)| Parameter { quantity: Quantity::Unknown(u), prior: *e })
            .collect();
        for (k, instrument) in setup.instruments.iter().enumerate() {
            let in_use =
                |zero: bool| observations.iter().any(|o| o.instrument == k && (o.shares_zero || !zero));
            let shared = [
                (Quantity::Scale(k), instrument.scale_u_mm_per_m, in_use(false)),
                (Quantity::Zero(k), instrument.zero_u_mm, in_use(true)),
            ];
            for (quantity, u, in_use) in shared {
                if in_use && u > 0.0 {
                    let value = if quantity == Quantity::Scale(k) { instrument.scale_mm_per_m } else { 0.0 };
                    parameters.push(Parameter { quantity, prior: Expected { value, u } });
                }
            }
        }
        let prior_covariance = covariance_of(setup, &parameters);
        let prior_weights = vec![1.0; parameters.len()];
        Ok(Self {
            truth: setup.nature(Values::from_fn(|u| setup.expected[u].value)),
            targets: holes.iter().map(|h| h.target).collect(),
            paid_mm,
            weights: vec![1.0; observations.len()],
            observations,
            prior_rows: whitening(&prior_covariance, &prior_weights),
            prior_covariance,
            prior_weights,
            parameters,
            scatter_mm: setup.hole_scatter_mm,
        })
    }

    /// Number of holes.
    pub fn hole_count(&self) -> usize {
        self.targets.len()
    }

    /// The same problem with the scatters folded into the noise of each distance as if no two shared a hole.
    pub fn without_scatter(&self) -> Self {
        let mut simple = self.clone();
        for o in &mut simple.observations {
            let ends = match o.ends {
                Ends::Holes(..) => 2.0_f64,
                Ends::Edge(..) => 1.0,
            };
            o.u_mm = o.u_mm.hypot(ends.sqrt() * self.scatter_mm);
        }
        simple.scatter_mm = 0.0;
        simple
    }

    /// Prior values of the parameters: where the search begins.
    pub fn start(&self) -> DVector<f64> {
        DVector::from_iterator(self.parameters.len(), self.parameters.iter().map(|p| p.prior.value))
    }

    /// Index of a parameter, if it is one.
    pub fn index_of(&self, quantity: Quantity) -> Option<usize> {
        self.parameters.iter().position(|p| p.quantity == quantity)
    }

    /// The real machine for a parameter vector.
    pub fn truth_at(&self, phi: &DVector<f64>) -> Machine {
        let mut truth = self.truth;
        for (parameter, &value) in self.parameters.iter().zip(phi.iter()) {
            if let Quantity::Unknown(u) = parameter.quantity {
                truth.values[u] = value;
            }
        }
        truth
    }

    /// Partials by the unknowns spread over the columns of phi.
    pub(super) fn spread(&self, by_unknown: &[f64; COUNT]) -> Vec<f64> {
        self.parameters
            .iter()
            .map(|p| match p.quantity {
                Quantity::Unknown(u) => by_unknown[u as usize],
                Quantity::Scale(_) | Quantity::Zero(_) => 0.0,
            })
            .collect()
    }

    /// Where every hole lands without its scatter.
    fn landings(&self, phi: &DVector<f64>) -> Result<Vec<Landing>, Unreachable> {
        let truth = self.truth_at(phi);
        self.paid_mm.iter().zip(&self.targets).map(|(&paid, &target)| truth.settle(paid, target)).collect()
    }

    /// Whitened rows of the distances at phi, as a function of the scatters: the elimination asks for them.
    pub(super) fn rows(&self, phi: &DVector<f64>, landings: &[Landing], scatter: &[Point]) -> Rows {
        let mut rows = Rows::new(self.observations.len(), self.parameters.len());
        let place = |i: usize| landings[i].at + scatter[i];
        let value_of = |q| self.index_of(q).map_or(0.0, |k| phi[k]);
        for (row, o) in self.observations.iter().enumerate() {
            let scale = value_of(Quantity::Scale(o.instrument));
            let zero = if o.shares_zero { value_of(Quantity::Zero(o.instrument)) } else { 0.0 };
            let (distance, ends) = match o.ends {
                Ends::Holes(i, j) => {
                    let d = place(i) - place(j);
                    let length = d.norm_mm();
                    let unit = d * (1.0 / length);
                    (length, [Some((i, unit)), Some((j, unit * -1.0))])
                }
                Ends::Edge(edge, i) => {
                    let inward = match edge {
                        Edge::Left => Point::new(1.0, 0.0),
                        Edge::Right => Point::new(-1.0, 0.0),
                        Edge::Bottom => Point::new(0.0, 1.0),
                        Edge::Top => Point::new(0.0, -1.0),
                    };
                    (self.truth.sheet.from_edge_mm(edge, place(i)), [Some((i, inward)), None])
                }
            };
            let gain = (1.0 + scale / 1000.0) / o.u_mm;
            rows.residuals[row] = distance * gain + (zero - o.distance_mm) / o.u_mm;
            for (hole, direction) in ends.into_iter().flatten() {
                let by_hole = [direction.x_mm * gain, direction.y_mm * gain];
                rows.by_scatter[row].push((hole, by_hole));
                let by_unknown = std::array::from_fn(|k| {
                    by_hole[0] * landings[hole].by_truth[0][k] + by_hole[1] * landings[hole].by_truth[1][k]
                });
                for (column, value) in self.spread(&by_unknown).into_iter().enumerate() {
                    rows.by_phi[(row, column)] += value;
                }
            }
            if let Some(k) = self.index_of(Quantity::Scale(o.instrument)) {
                rows.by_phi[(row, k)] = distance / 1000.0 / o.u_mm;
            }
            if let Some(k) = self.index_of(Quantity::Zero(o.instrument)).filter(|_| o.shares_zero) {
                rows.by_phi[(row, k)] = 1.0 / o.u_mm;
            }
        }
        rows
    }

    /// Whitened rows where the search begins and no hole is scattered: what each distance says of what.
    ///
    /// # Errors
    /// When the expected machine cannot reach a hole.
    pub fn rows_at_start(&self) -> Result<Rows, Unreachable> {
        Ok(self.unscattered(&self.start())?.1)
    }

    /// Where every hole lands, and the whitened rows of the distances, when no hole is scattered.
    ///
    /// # Errors
    /// When that machine cannot reach a hole.
    pub fn unscattered(&self, phi: &DVector<f64>) -> Result<(Vec<Landing>, Rows), Unreachable> {
        let landings = self.landings(phi)?;
        let rows = self.rows(phi, &landings, &vec![Point::default(); self.hole_count()]);
        Ok((landings, rows))
    }

    /// Standard deviation of a hole's scatter, mm per axis.
    pub fn scatter_mm(&self) -> f64 {
        self.scatter_mm
    }

    /// Chain paid out for each hole, left and right, mm.
    pub fn paid_mm(&self) -> &[[f64; 2]] {
        &self.paid_mm
    }

    /// Where each hole should be.
    pub fn targets(&self) -> &[Point] {
        &self.targets
    }

    /// The scatters that fit best at phi, eliminated.
    pub(super) fn eliminated(&self, phi: &DVector<f64>) -> Result<(Vec<Landing>, Eliminated), OutOfDomain> {
        let landings = self.landings(phi).map_err(|e| OutOfDomain(e.to_string()))?;
        let eliminated = eliminate(self.scatter_mm, &self.weights, self.hole_count(), |scatter| {
            self.rows(phi, &landings, scatter)
        });
        Ok((landings, eliminated))
    }
}

/// Rows: the distances, the scatters (two a hole), the priors.
impl Problem for Model {
    fn unknowns(&self) -> usize {
        self.parameters.len()
    }

    fn evaluate(&self, phi: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let (_, eliminated) = self.eliminated(phi)?;
        let (n, h, p) = (self.observations.len(), 2 * self.hole_count(), self.parameters.len());
        let mut residuals = DVector::zeros(n + h + p);
        let mut jacobian = DMatrix::zeros(n + h + p, p);
        for i in 0..n {
            let root = self.weights[i].sqrt();
            residuals[i] = root * eliminated.rows.residuals[i];
            for k in 0..p {
                jacobian[(i, k)] = root * eliminated.projected[(i, k)];
            }
        }
        if self.scatter_mm > 0.0 {
            for (i, e) in eliminated.scatter.iter().enumerate() {
                residuals[n + 2 * i] = e.x_mm / self.scatter_mm;
                residuals[n + 2 * i + 1] = e.y_mm / self.scatter_mm;
            }
            jacobian.view_mut((n, 0), (h, p)).copy_from(&(&eliminated.pull * (-1.0 / self.scatter_mm)));
        }
        residuals.rows_mut(n + h, p).copy_from(&self.prior_residuals(phi));
        jacobian.view_mut((n + h, 0), (p, p)).copy_from(&self.prior_rows);
        Ok(Evaluation { residuals, jacobian })
    }
}

/// A reading as an observation; one between two edges says nothing of the machine.
fn observation(setup: &Setup, reading: &Reading) -> Option<Observation> {
    let ends = match (reading.from, reading.to) {
        (Place::Hole(i), Place::Hole(j)) => Ends::Holes(i, j),
        (Place::Edge(e), Place::Hole(i)) | (Place::Hole(i), Place::Edge(e)) => Ends::Edge(e, i),
        (Place::Edge(_), Place::Edge(_)) => return None,
    };
    Some(Observation {
        ends,
        distance_mm: reading.distance_mm,
        u_mm: setup.instruments[reading.instrument].random_u_mm(reading.distance_mm),
        instrument: reading.instrument,
        shares_zero: reading.start_mm == 0.0,
    })
}
