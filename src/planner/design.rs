//! A set of distances, what it leaves unknown, and how that changes with one distance more or less.

use super::{Planned, Request};
use crate::adjustment::{Model, Quantity};
use crate::field::{Field, WorkingArea};
use crate::frame::{Edge, Point};
use crate::machine::Unreachable;
use crate::pattern::{Hole, KEY};
use crate::readings::{How, Place, Reading};
use crate::setup::{InstrumentKind, Setup};
use nalgebra::{DMatrix, DVector};

/// An exchange has to lower the criterion by this share, or the search would circle among equals.
const WORTH: f64 = 1e-9;
/// What an instrument must reach beyond the distance as planned, mm: several expected errors of a careful set-up and
/// the outer rims of two holes.
const SPARE_MM: f64 = 15.0;
/// Rounds of exchange; three or four is usual.
const ROUNDS: usize = 30;

/// A distance that could be taken.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The distance.
    pub planned: Planned,
    /// Whitened row on the joint unknowns: (index, value).
    row: Vec<(usize, f64)>,
    /// Chosen already, and not to be exchanged.
    fixed: bool,
}

impl Candidate {
    /// Does it end at a place?
    pub fn touches(&self, place: Place) -> bool {
        self.planned.from == place || self.planned.to == place
    }
}

/// The candidates, those taken, and the joint covariance these leave.
#[derive(Debug, Clone)]
pub struct Design {
    candidates: Vec<Candidate>,
    taken: Vec<usize>,
    /// Uses of each hole by the distances taken.
    uses: Vec<usize>,
    /// Joint covariance S: parameters first, then the scatters.
    covariance: DMatrix<f64>,
    /// M over the parameters.
    weight: DMatrix<f64>,
    parameters: usize,
    /// The odd hole.
    key: Option<usize>,
}

impl Design {
    /// No distance taken yet.
    ///
    /// # Errors
    /// When the machine as described cannot reach a hole or the working area.
    pub fn new(setup: &Setup, holes: &[Hole], request: &Request) -> Result<Self, Unreachable> {
        let mut planned = pairs(setup, holes, request);
        if request.edges {
            planned.extend(edge_distances(setup, holes));
        }
        let readings: Vec<Reading> = planned.iter().map(as_reading).collect();
        let model = Model::new(setup, holes, &readings)?;
        let rows = model.rows_at_start()?;
        let p = model.parameters.len();
        let scatters = if setup.hole_scatter_mm > 0.0 { 2 * holes.len() } else { 0 };
        let mut covariance = DMatrix::zeros(p + scatters, p + scatters);
        covariance.view_mut((0, 0), (p, p)).copy_from(model.prior_covariance());
        for k in p..p + scatters {
            covariance[(k, k)] = setup.hole_scatter_mm.powi(2);
        }
        let candidates = planned
            .into_iter()
            .enumerate()
            .map(|(i, planned)| {
                let by_phi = (0..p).map(|k| (k, rows.by_phi[(i, k)])).filter(|(_, v)| *v != 0.0);
                let by_scatter = rows.by_scatter[i]
                    .iter()
                    .flat_map(|&(hole, by)| [(p + 2 * hole, by[0]), (p + 2 * hole + 1, by[1])])
                    .filter(|_| scatters > 0);
                Candidate { planned, row: by_phi.chain(by_scatter).collect(), fixed: false }
            })
            .collect();
        Ok(Self {
            candidates,
            taken: Vec::new(),
            uses: vec![0; holes.len()],
            covariance,
            weight: weight(setup, holes, &model, request.edges)?,
            parameters: p,
            key: holes.iter().position(|h| h.id == KEY),
        })
    }

    /// All distances that could be taken.
    pub fn candidates(&self) -> &[Candidate] {
        &self.candidates
    }

    /// Indices of those taken, in the order they were.
    pub fn taken(&self) -> &[usize] {
        &self.taken
    }

    /// Predicted root mean square position error after correction, mm.
    pub fn rms_mm(&self) -> f64 {
        let p = self.parameters;
        self.weight.component_mul(&self.covariance.view((0, 0), (p, p))).sum().max(0.0).sqrt()
    }

    /// Takes a distance.
    pub fn take(&mut self, k: usize) {
        self.update(k, 1.0);
        self.taken.push(k);
        self.count(k, |n| n + 1);
    }

    /// Gives a distance back.
    fn give_back(&mut self, k: usize) {
        self.update(k, -1.0);
        self.taken.retain(|&t| t != k);
        self.count(k, |n| n - 1);
    }

    /// Takes the most telling distance that passes a test; false when there is none.
    pub fn take_best(&mut self, uses: usize, test: impl Fn(&Candidate) -> bool) -> bool {
        let best = self.best(uses, test);
        if let Some((k, _)) = best {
            self.take(k);
        }
        best.is_some()
    }

    /// Takes the edge distances, for good.
    pub fn take_edges(&mut self) {
        for k in 0..self.candidates.len() {
            if matches!(self.candidates[k].planned.from, Place::Edge(_)) {
                self.candidates[k].fixed = true;
                self.take(k);
            }
        }
    }

    /// Exchanges distances one for one until no exchange is worth it.
    pub fn exchange(&mut self, uses: usize) {
        for _ in 0..ROUNDS {
            let mut changed = false;
            for k in self.taken.clone() {
                if self.candidates[k].fixed {
                    continue;
                }
                // The last distance from the odd hole may only be exchanged for another such.
                let last_key = self.touches_key(k) && self.key.is_some_and(|i| self.uses[i] == 1);
                self.give_back(k);
                let worth = self.gain(k) * (1.0 + WORTH);
                let test = |c: &Candidate| !last_key || self.key.is_some_and(|i| c.touches(Place::Hole(i)));
                let better = self.best(uses, test).filter(|(j, gain)| *gain > worth && *j != k);
                match better {
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

    /// The most telling distance not yet taken, and its gain in mm^2.
    fn best(&self, uses: usize, test: impl Fn(&Candidate) -> bool) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for (k, candidate) in self.candidates.iter().enumerate() {
            if self.taken.contains(&k) || !test(candidate) || !self.has_room(candidate, uses) {
                continue;
            }
            let gain = self.gain(k);
            if best.is_none_or(|(_, g)| gain > g) {
                best = Some((k, gain));
            }
        }
        best
    }

    /// By how much one distance more lowers the mean variance of position, mm^2.
    pub fn gain(&self, k: usize) -> f64 {
        let row = &self.candidates[k].row;
        let p = self.parameters;
        let mut along = DVector::<f64>::zeros(p);
        let mut variance = 1.0;
        for &(j, v) in row {
            for (i, a) in along.iter_mut().enumerate() {
                *a += self.covariance[(i, j)] * v;
            }
            for &(i, w) in row {
                variance += w * self.covariance[(i, j)] * v;
            }
        }
        let mut worth = 0.0;
        for (j, b) in along.iter().enumerate() {
            for (i, a) in along.iter().enumerate() {
                worth += a * self.weight[(i, j)] * b;
            }
        }
        worth / variance
    }

    /// Rank-one change of the joint covariance for a distance taken (`sign` 1) or given back (-1).
    fn update(&mut self, k: usize, sign: f64) {
        let mut along = DVector::zeros(self.covariance.nrows());
        for &(j, v) in &self.candidates[k].row {
            along.axpy(v, &self.covariance.column(j), 1.0);
        }
        let spread: f64 = self.candidates[k].row.iter().map(|&(j, v)| v * along[j]).sum();
        self.covariance.ger(-sign / (1.0 + sign * spread), &along, &along, 1.0);
    }

    fn touches_key(&self, k: usize) -> bool {
        self.key.is_some_and(|i| self.candidates[k].touches(Place::Hole(i)))
    }

    fn holes_of(planned: &Planned) -> impl Iterator<Item = usize> {
        [planned.from, planned.to].into_iter().filter_map(|place| match place {
            Place::Hole(i) => Some(i),
            Place::Edge(_) => None,
        })
    }

    fn has_room(&self, candidate: &Candidate, uses: usize) -> bool {
        Self::holes_of(&candidate.planned).all(|i| self.uses[i] < uses)
    }

    fn count(&mut self, k: usize, change: impl Fn(usize) -> usize) {
        for i in Self::holes_of(&self.candidates[k].planned) {
            self.uses[i] = change(self.uses[i]);
        }
    }
}

/// All pairs of holes that one person can measure, each with the finest instrument that reaches.
fn pairs(setup: &Setup, holes: &[Hole], request: &Request) -> Vec<Planned> {
    (0..holes.len())
        .flat_map(|i| (i + 1..holes.len()).map(move |j| (i, j)))
        .filter_map(|(i, j)| {
            let length_mm = holes[i].target.distance_mm(holes[j].target);
            let instrument = instrument_for(setup, length_mm)?;
            (length_mm <= request.longest_mm).then_some(Planned {
                from: Place::Hole(i),
                to: Place::Hole(j),
                instrument,
                length_mm,
            })
        })
        .collect()
}

/// A caliper where it reaches with room to spare, else the first instrument that does: nobody knows yet how long the
/// distance came out.
fn instrument_for(setup: &Setup, length_mm: f64) -> Option<usize> {
    let reaches = |k: &usize| setup.instruments[*k].range_mm >= length_mm + SPARE_MM;
    let all = 0..setup.instruments.len();
    all.clone()
        .filter(reaches)
        .find(|&k| setup.instruments[k].kind == InstrumentKind::Caliper)
        .or_else(|| all.clone().find(reaches))
}

/// Two holes to the left edge and two to the bottom edge, as far apart as they come.
fn edge_distances(setup: &Setup, holes: &[Hole]) -> Vec<Planned> {
    let grid: Vec<usize> = (0..holes.len()).filter(|&i| holes[i].id != KEY).collect();
    let extreme = |score: fn(Point) -> f64| {
        grid.iter().copied().max_by(|&a, &b| score(holes[a].target).total_cmp(&score(holes[b].target)))
    };
    let lower_left = extreme(|p| -p.x_mm - p.y_mm);
    let upper_left = extreme(|p| -p.x_mm + p.y_mm);
    let lower_right = extreme(|p| p.x_mm - p.y_mm);
    [
        (Edge::Left, lower_left),
        (Edge::Left, upper_left),
        (Edge::Bottom, lower_left),
        (Edge::Bottom, lower_right),
    ]
    .into_iter()
    .filter_map(|(edge, hole)| {
        let hole = hole?;
        let length_mm = setup.sheet.from_edge_mm(edge, holes[hole].target);
        let instrument = instrument_for(setup, length_mm)?;
        Some(Planned { from: Place::Edge(edge), to: Place::Hole(hole), instrument, length_mm })
    })
    .collect()
}

/// A distance as if it had been read, for the rows of the adjustment.
fn as_reading(planned: &Planned) -> Reading {
    Reading {
        line: 0,
        from: planned.from,
        to: planned.to,
        as_read_mm: planned.length_mm,
        start_mm: 0.0,
        thermal_mm_per_m: 0.0,
        how: How::Centre,
        distance_mm: planned.length_mm,
        instrument: planned.instrument,
        note: String::new(),
    }
}

/// M: mean over the working area of G'G, on the parameters of the adjustment.
fn weight(setup: &Setup, holes: &[Hole], model: &Model, edges: bool) -> Result<DMatrix<f64>, Unreachable> {
    let belief = setup.belief();
    let truth = model.truth_at(&model.start());
    let sheet = WorkingArea::of_sheet(&setup.sheet);
    let (area, field) = match Field::of(&belief, &truth, &sheet.points) {
        Ok(field) => (sheet, field),
        Err(_) => {
            let targets: Vec<Point> = holes.iter().map(|h| h.target).collect();
            let area = WorkingArea::around(&targets);
            let field = Field::of(&belief, &truth, &area.points)?;
            (area, field)
        }
    };
    let g = area.weighted(&area.placement(edges).remove_columns(&field.by_truth));
    let full = g.transpose() * &g;
    let unknown = |k: usize| match model.parameters[k].quantity {
        Quantity::Unknown(u) => Some(u as usize),
        Quantity::Scale(_) | Quantity::Zero(_) => None,
    };
    let p = model.parameters.len();
    Ok(DMatrix::from_fn(p, p, |i, j| match (unknown(i), unknown(j)) {
        (Some(a), Some(b)) => full[(a, b)],
        _ => 0.0,
    }))
}
