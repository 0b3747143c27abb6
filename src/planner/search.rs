//! A choice among rows, what it leaves unknown, and how that changes with one row more or less.

use super::relaxed::{self, Relaxed};
use nalgebra::{DMatrix, DVector};

/// An exchange has to lower the criterion by this share, or the search would circle among equals.
const WORTH: f64 = 1e-9;
/// Rounds of exchange; three or four is usual.
const ROUNDS: usize = 30;

/// A whitened observation on the joint unknowns: (index, value).
pub type Row = Vec<(usize, f64)>;

/// What a choice has to keep to.
#[derive(Debug, Clone, Default)]
pub struct Limits {
    /// The holes that each row takes part of; none where there are no holes.
    pub holes: Vec<[Option<usize>; 2]>,
    /// Times that each hole is used already.
    pub uses: Vec<usize>,
    /// Most uses of one hole.
    pub most_uses: usize,
    /// A hole whose last use is not given up.
    pub keep: Option<usize>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Free,
    Taken,
    /// Taken, and not to be exchanged.
    Fixed,
}

/// Rows, those taken, and the joint covariance these leave.
#[derive(Debug, Clone)]
pub struct Search {
    rows: Vec<Row>,
    state: Vec<State>,
    taken: Vec<usize>,
    limits: Limits,
    /// Before any row was taken.
    before: DMatrix<f64>,
    /// Joint covariance S: those that the criterion weighs first.
    covariance: DMatrix<f64>,
    /// M over the first unknowns: the criterion is tr(M S).
    weight: DMatrix<f64>,
    /// R with M = R'R.
    root: DMatrix<f64>,
    /// R S a for each row a, kept up to date with S.
    along: Vec<DVector<f64>>,
    /// a'S a for each row.
    variance: Vec<f64>,
}

impl Search {
    /// None taken yet.
    pub fn new(rows: Vec<Row>, covariance: DMatrix<f64>, weight: DMatrix<f64>, limits: Limits) -> Self {
        let mut search = Self {
            state: vec![State::Free; rows.len()],
            taken: Vec::new(),
            limits,
            before: covariance.clone(),
            covariance,
            root: root(&weight),
            weight,
            along: Vec::new(),
            variance: Vec::new(),
            rows,
        };
        search.look_again();
        search
    }

    /// Indices of the rows taken, in the order they were.
    pub fn taken(&self) -> &[usize] {
        &self.taken
    }

    /// The criterion tr(M S): for a cut, the mean variance of position that is left, mm^2.
    pub fn left(&self) -> f64 {
        let p = self.weight.nrows();
        self.weight.component_mul(&self.covariance.view((0, 0), (p, p))).sum().max(0.0)
    }

    /// Something that is known already, and not one of the rows.
    pub fn learn(&mut self, row: &Row) {
        self.change(row, 1.0);
        self.before.copy_from(&self.covariance);
        self.look_again();
    }

    /// Takes a row.
    pub fn take(&mut self, k: usize) {
        self.update(&self.rows[k].clone(), 1.0);
        self.state[k] = State::Taken;
        self.taken.push(k);
        self.count(k, |n| n + 1);
    }

    /// Takes a row that is not to be exchanged.
    pub fn take_for_good(&mut self, k: usize) {
        self.take(k);
        self.state[k] = State::Fixed;
    }

    /// Takes every row, whatever the limits.
    pub fn take_all(&mut self) {
        for k in 0..self.rows.len() {
            if self.state[k] == State::Free {
                let row = self.rows[k].clone();
                self.change(&row, 1.0);
                self.state[k] = State::Taken;
                self.taken.push(k);
            }
        }
        self.look_again();
    }

    /// Gives a row back.
    fn give_back(&mut self, k: usize) {
        self.update(&self.rows[k].clone(), -1.0);
        self.state[k] = State::Free;
        self.taken.retain(|&t| t != k);
        self.count(k, |n| n - 1);
    }

    /// Takes the most telling free row that passes a test; false when there is none.
    pub fn take_best(&mut self, test: impl Fn(usize) -> bool) -> bool {
        let best = self.best(test);
        if let Some((k, _)) = best {
            self.take(k);
        }
        best.is_some()
    }

    /// Takes the most telling rows until so many are taken, or none is left that may be.
    pub fn take_until(&mut self, count: usize) {
        while self.taken.len() < count && self.take_best(|_| true) {}
    }

    /// Exchanges rows one for one until no exchange is worth it.
    pub fn exchange(&mut self) {
        for _ in 0..ROUNDS {
            let mut changed = false;
            for k in self.taken.clone() {
                if self.state[k] == State::Fixed {
                    continue;
                }
                let keep = self.limits.keep.filter(|&hole| self.uses(k, hole) && self.limits.uses[hole] == 1);
                self.give_back(k);
                let worth = self.gain(k) * (1.0 + WORTH);
                let test = |j: usize| keep.is_none_or(|hole| self.uses(j, hole));
                match self.best(test).filter(|(j, gain)| *gain > worth && *j != k) {
                    Some((j, _)) => {
                        self.take(j);
                        changed = true;
                    }
                    None => self.take(k),
                }
            }
            if !changed {
                break;
            }
        }
    }

    /// By how much one row more lowers the criterion.
    pub fn gain(&self, k: usize) -> f64 {
        self.along[k].norm_squared() / (1.0 + self.variance[k])
    }

    /// A bound below what any choice of so many rows can leave, those taken for good among them, whatever the limits;
    /// `most` is how often one row may be taken. `None` when the covariance before has no root.
    pub fn bound(&self, count: usize, most: f64) -> Option<Relaxed> {
        let fixed = |k: &usize| self.state[*k] == State::Fixed;
        let (always, free): (Vec<usize>, Vec<usize>) = (0..self.rows.len()).partition(fixed);
        let rows = |indices: &[usize]| indices.iter().map(|&k| &self.rows[k]).collect::<Vec<_>>();
        let left = count.saturating_sub(always.len()) as f64;
        relaxed::relax(&rows(&always), &rows(&free), &self.before, &self.weight, left, most)
    }

    /// The most telling free row, and its gain.
    fn best(&self, test: impl Fn(usize) -> bool) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for k in 0..self.rows.len() {
            if self.state[k] != State::Free || !test(k) || !self.has_room(k) {
                continue;
            }
            let gain = self.gain(k);
            if best.is_none_or(|(_, g)| gain > g) {
                best = Some((k, gain));
            }
        }
        best
    }

    /// A row taken (`sign` 1) or given back (-1): the joint covariance, and what each row would add now.
    fn update(&mut self, row: &Row, sign: f64) {
        let (by, factor) = self.change(row, sign);
        let weighed = &self.root * by.rows(0, self.weight.nrows());
        for ((row, along), variance) in self.rows.iter().zip(&mut self.along).zip(&mut self.variance) {
            let with: f64 = row.iter().map(|&(j, v)| v * by[j]).sum();
            along.axpy(-factor * with, &weighed, 1.0);
            *variance -= factor * with * with;
        }
    }

    /// Rank-one change of the joint covariance, S - factor b b'; hands back b and the factor.
    fn change(&mut self, row: &Row, sign: f64) -> (DVector<f64>, f64) {
        let mut by = DVector::zeros(self.covariance.nrows());
        for &(j, v) in row {
            by.axpy(v, &self.covariance.column(j), 1.0);
        }
        let spread: f64 = row.iter().map(|&(j, v)| v * by[j]).sum();
        let factor = sign / (1.0 + sign * spread);
        self.covariance.ger(-factor, &by, &by, 1.0);
        (by, factor)
    }

    /// Works out anew what each row would add.
    fn look_again(&mut self) {
        let weighed = &self.root * self.covariance.rows(0, self.weight.nrows());
        let along = |row: &Row| {
            let mut sum = DVector::zeros(weighed.nrows());
            row.iter().for_each(|&(j, v)| sum.axpy(v, &weighed.column(j), 1.0));
            sum
        };
        let s = &self.covariance;
        let variance =
            |row: &Row| row.iter().flat_map(|&(j, v)| row.iter().map(move |&(i, w)| v * w * s[(i, j)])).sum();
        self.along = self.rows.iter().map(along).collect();
        self.variance = self.rows.iter().map(variance).collect();
    }

    fn holes_of(&self, k: usize) -> impl Iterator<Item = usize> + use<> {
        self.limits.holes.get(k).copied().unwrap_or_default().into_iter().flatten()
    }

    fn uses(&self, k: usize, hole: usize) -> bool {
        self.holes_of(k).any(|i| i == hole)
    }

    fn has_room(&self, k: usize) -> bool {
        self.holes_of(k).all(|i| self.limits.uses[i] < self.limits.most_uses)
    }

    fn count(&mut self, k: usize, change: impl Fn(usize) -> usize) {
        for i in self.holes_of(k) {
            self.limits.uses[i] = change(self.limits.uses[i]);
        }
    }
}

/// R with R'R = M, without the directions that M does not weigh.
fn root(weight: &DMatrix<f64>) -> DMatrix<f64> {
    let eigen = weight.clone().symmetric_eigen();
    let largest = eigen.eigenvalues.amax();
    let kept: Vec<usize> =
        (0..weight.nrows()).filter(|&k| eigen.eigenvalues[k] > f64::EPSILON * largest).collect();
    DMatrix::from_fn(kept.len(), weight.nrows(), |i, j| {
        eigen.eigenvalues[kept[i]].sqrt() * eigen.eigenvectors[(j, kept[i])]
    })
}
