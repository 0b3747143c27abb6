//! Do the readings to the sheet's edges fix the placement of the pattern?

use crate::frame::Edge;
use crate::pattern::Hole;
use crate::readings::{Place, Reading};
use crate::screening::Screened;
use nalgebra::{DMatrix, DVector};

/// Which edges were read, and whether they fix shift and turn.
pub struct Edges {
    pub used: Vec<Edge>,
    pub fix_placement: bool,
}

impl Edges {
    /// Shift in x, shift in y and turn are fixed when the edge readings' rows have full rank on them.
    pub fn of(readings: &[Reading], screened: &Screened, holes: &[Hole]) -> Self {
        let mut used = Vec::new();
        let mut rows: Vec<[f64; 3]> = Vec::new();
        for (reading, &weight) in readings.iter().zip(&screened.model.weights) {
            let (edge, hole) = match (reading.from, reading.to) {
                (Place::Edge(e), Place::Hole(i)) | (Place::Hole(i), Place::Edge(e)) => (e, i),
                _ => continue,
            };
            if weight == 0.0 {
                continue;
            }
            let p = holes[hole].target;
            // In metres, so that a turn over an arm of 1 m weighs as much as a shift.
            rows.push(match edge {
                Edge::Left | Edge::Right => [1.0, 0.0, -p.y_mm / 1000.0],
                Edge::Top | Edge::Bottom => [0.0, 1.0, p.x_mm / 1000.0],
            });
            if !used.contains(&edge) {
                used.push(edge);
            }
        }
        let mut normal = DMatrix::<f64>::zeros(3, 3);
        for row in &rows {
            let v = DVector::from_row_slice(row);
            normal += &v * v.transpose();
        }
        let least = normal.symmetric_eigenvalues().min();
        // Two readings along one edge, 0.4 m apart, give a turn 0.2^2 + 0.2^2 = 0.08.
        Self { used, fix_placement: least > 0.05 }
    }
}
