//! The distances that could be taken on a cut, as rows of the search.

use super::candidates::{as_reading, edge_distances, pairs};
use super::search::{Limits, Row, Search};
use super::{Planned, Request};
use crate::adjustment::{Model, Quantity};
use crate::field::Field;
use crate::frame::Point;
use crate::machine::Unreachable;
use crate::pattern::{Hole, KEY};
use crate::readings::{Place, Reading};
use crate::setup::Setup;
use nalgebra::DMatrix;

/// The distances that could be taken, in the order of the rows of the search, and the search itself.
#[derive(Debug, Clone)]
pub struct Design {
    /// Could be taken.
    pub candidates: Vec<Planned>,
    /// What is known, and what each would add.
    pub search: Search,
    /// The odd hole.
    key: Option<usize>,
}

impl Design {
    /// Nothing chosen yet, and these readings known already.
    ///
    /// # Errors
    /// When the machine as described cannot reach a hole or the working area.
    pub fn new(
        setup: &Setup,
        holes: &[Hole],
        request: &Request,
        known: &[Reading],
    ) -> Result<Self, Unreachable> {
        let ends = |from: Place, to: Place| (from.min(to), from.max(to));
        let taken = |p: &Planned| known.iter().any(|r| ends(r.from, r.to) == ends(p.from, p.to));
        let mut candidates = pairs(setup, holes, request);
        if request.edges {
            candidates.extend(edge_distances(setup, holes));
        }
        candidates.retain(|p| !taken(p));
        let readings: Vec<Reading> = candidates.iter().map(as_reading).chain(known.iter().cloned()).collect();
        let model = Model::new(setup, holes, &readings)?;
        let rows = model.rows_at_start()?;
        let p = model.parameters.len();
        let scatters = if setup.hole_scatter_mm > 0.0 { 2 * holes.len() } else { 0 };
        let mut covariance = DMatrix::zeros(p + scatters, p + scatters);
        covariance.view_mut((0, 0), (p, p)).copy_from(model.prior_covariance());
        for k in p..p + scatters {
            covariance[(k, k)] = setup.hole_scatter_mm.powi(2);
        }
        let row = |i: usize| -> Row {
            let by_phi = (0..p).map(|k| (k, rows.by_phi[(i, k)])).filter(|(_, v)| *v != 0.0);
            let by_scatter = rows.by_scatter[i]
                .iter()
                .flat_map(|&(hole, by)| [(p + 2 * hole, by[0]), (p + 2 * hole + 1, by[1])])
                .filter(|_| scatters > 0);
            by_phi.chain(by_scatter).collect()
        };
        let key = holes.iter().position(|h| h.id == KEY);
        let mut limits = Limits {
            holes: candidates.iter().map(|p| used(p.from, p.to)).collect(),
            uses: vec![0; holes.len()],
            most_uses: request.uses,
            keep: key,
        };
        for reading in known {
            for i in used(reading.from, reading.to).into_iter().flatten() {
                limits.uses[i] += 1;
            }
        }
        let weight = weight(setup, holes, &model, request.edges)?;
        let mut search = Search::new((0..candidates.len()).map(row).collect(), covariance, weight, limits);
        for i in candidates.len()..readings.len() {
            search.learn(&row(i));
        }
        Ok(Self { candidates, search, key })
    }

    /// Takes the edge distances, for good.
    pub fn take_edges(&mut self) {
        for k in 0..self.candidates.len() {
            if matches!(self.candidates[k].from, Place::Edge(_)) {
                self.search.take_for_good(k);
            }
        }
    }

    /// Takes the most telling distance from the odd hole, so that a sheet read from behind is found out.
    pub fn take_key(&mut self) {
        if let Some(key) = self.key.map(Place::Hole) {
            let candidates = &self.candidates;
            self.search.take_best(|k| candidates[k].from == key || candidates[k].to == key);
        }
    }

    /// The distances chosen.
    pub fn chosen(&self) -> Vec<Planned> {
        self.search.taken().iter().map(|&k| self.candidates[k]).collect()
    }
}

/// The holes of a distance between two; a distance to an edge does not count as a use.
fn used(from: Place, to: Place) -> [Option<usize>; 2] {
    match (from, to) {
        (Place::Hole(a), Place::Hole(b)) => [Some(a), Some(b)],
        _ => [None, None],
    }
}

/// M: mean over the working area of G'G, on the parameters of the adjustment.
pub(super) fn weight(
    setup: &Setup,
    holes: &[Hole],
    model: &Model,
    edges: bool,
) -> Result<DMatrix<f64>, Unreachable> {
    let belief = setup.belief();
    let truth = model.truth_at(&model.start());
    let targets: Vec<Point> = holes.iter().map(|h| h.target).collect();
    let (area, field) = Field::over_sheet(&belief, &truth, &setup.sheet, &targets)?;
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
