//! A plane survey network as a least-squares problem: distances, and directions of stations whose zero of the
//! circle is unknown. Bearings turn from the first axis to the second.

use std::collections::HashMap;
use std::f64::consts::PI;

use nalgebra::{DMatrix, DVector};
use tautgrid::fit::{Evaluation, OutOfDomain, Problem};

pub enum Kind {
    Distance,
    Direction,
}

/// One observation between two points; m, or rad.
pub struct Observation {
    pub kind: Kind,
    pub from: String,
    pub to: String,
    pub value: f64,
    pub sd: f64,
}

/// Coordinates of all points (start values for those not held fixed) and what was observed.
pub struct Network {
    pub points: HashMap<String, [f64; 2]>,
    pub observations: Vec<Observation>,
    /// Column of each free coordinate.
    coordinates: HashMap<(String, usize), usize>,
    /// Column of the orientation of each station with directions.
    orientations: HashMap<String, usize>,
}

impl Network {
    /// `free` lists the coordinates to be found, as point and axis.
    pub fn new(
        points: HashMap<String, [f64; 2]>,
        observations: Vec<Observation>,
        free: impl IntoIterator<Item = (String, usize)>,
    ) -> Self {
        let coordinates: HashMap<_, _> =
            free.into_iter().enumerate().map(|(column, key)| (key, column)).collect();
        let mut orientations = HashMap::new();
        for observation in observations.iter().filter(|o| matches!(o.kind, Kind::Direction)) {
            let next = coordinates.len() + orientations.len();
            orientations.entry(observation.from.clone()).or_insert(next);
        }
        Self { points, observations, coordinates, orientations }
    }

    /// The start: coordinates as given, orientations from the first direction of each station.
    pub fn start(&self) -> DVector<f64> {
        let mut x = DVector::zeros(self.unknowns());
        for ((point, axis), column) in &self.coordinates {
            x[*column] = self.points[point][*axis];
        }
        for observation in self.observations.iter().rev().filter(|o| matches!(o.kind, Kind::Direction)) {
            let [dx, dy] = self.difference(&x, observation);
            x[self.orientations[&observation.from]] = dy.atan2(dx) - observation.value;
        }
        x
    }

    pub fn coordinate(&self, x: &DVector<f64>, point: &str, axis: usize) -> f64 {
        self.column(point, axis).map_or(self.points[point][axis], |column| x[column])
    }

    pub fn column(&self, point: &str, axis: usize) -> Option<usize> {
        self.coordinates.get(&(point.to_owned(), axis)).copied()
    }

    fn difference(&self, x: &DVector<f64>, observation: &Observation) -> [f64; 2] {
        [0, 1].map(|axis| {
            self.coordinate(x, &observation.to, axis) - self.coordinate(x, &observation.from, axis)
        })
    }
}

impl Problem for Network {
    fn unknowns(&self) -> usize {
        self.coordinates.len() + self.orientations.len()
    }

    /// Residuals are computed minus observed, over the standard deviation.
    fn evaluate(&self, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let m = self.observations.len();
        let mut residuals = DVector::zeros(m);
        let mut jacobian = DMatrix::zeros(m, self.unknowns());
        for (i, observation) in self.observations.iter().enumerate() {
            let [dx, dy] = self.difference(x, observation);
            let distance = dx.hypot(dy);
            let (misfit, by_to) = match observation.kind {
                Kind::Distance => (distance - observation.value, [dx / distance, dy / distance]),
                Kind::Direction => {
                    let column = self.orientations[&observation.from];
                    jacobian[(i, column)] = -1.0 / observation.sd;
                    let turn = dy.atan2(dx) - x[column] - observation.value;
                    let by_to = [-dy / (distance * distance), dx / (distance * distance)];
                    (turn - 2.0 * PI * (turn / (2.0 * PI)).round(), by_to)
                }
            };
            residuals[i] = misfit / observation.sd;
            for (axis, partial) in by_to.iter().enumerate() {
                for (point, sign) in [(&observation.to, 1.0), (&observation.from, -1.0)] {
                    if let Some(column) = self.column(point, axis) {
                        jacobian[(i, column)] += sign * partial / observation.sd;
                    }
                }
            }
        }
        Ok(Evaluation { residuals, jacobian })
    }
}
