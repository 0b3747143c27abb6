//! Displacement over many places at once, and the removal of what no tape between holes can see.

use crate::frame::{Point, Sheet};
use crate::machine::{COUNT, Machine, Unreachable, land};
use nalgebra::{DMatrix, DVector};

/// Points across the working area.
pub const COLUMNS: usize = 25;
/// Points up the working area.
pub const ROWS: usize = 13;
/// Edge of the sheet left out of the working area, mm: a carriage hanging over the edge tips (common practice, no
/// source).
pub const MARGIN_MM: f64 = 100.0;

/// The places over which errors are judged: a regular lattice.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkingArea {
    /// Points across.
    pub columns: usize,
    /// Points up.
    pub rows: usize,
    /// The points, row by row from the lower left.
    pub points: Vec<Point>,
}

impl WorkingArea {
    /// The sheet less its margin (a tenth of a small sheet's side at the most).
    pub fn of_sheet(sheet: &Sheet) -> Self {
        let margin = MARGIN_MM.min(0.1 * sheet.width_mm.min(sheet.height_mm));
        Self { columns: COLUMNS, rows: ROWS, points: sheet.lattice(COLUMNS, ROWS, margin) }
    }

    /// The smallest upright rectangle around some places.
    pub fn around(places: &[Point]) -> Self {
        let fold = |f: fn(f64, f64) -> f64, start: f64, get: fn(&Point) -> f64| {
            places.iter().map(get).fold(start, f)
        };
        let low =
            Point::new(fold(f64::min, f64::INFINITY, |p| p.x_mm), fold(f64::min, f64::INFINITY, |p| p.y_mm));
        let high = Point::new(
            fold(f64::max, f64::NEG_INFINITY, |p| p.x_mm),
            fold(f64::max, f64::NEG_INFINITY, |p| p.y_mm),
        );
        let size = high - low;
        let sheet = Sheet { width_mm: size.x_mm, height_mm: size.y_mm };
        let middle = (low + high) * 0.5;
        let points = sheet.lattice(COLUMNS, ROWS, 0.0).into_iter().map(|p| p + middle).collect();
        Self { columns: COLUMNS, rows: ROWS, points }
    }
}

/// How far each of some places is missed, x1, y1, x2, y2 ..., with derivatives.
#[derive(Debug, Clone)]
pub struct Field {
    /// Landing - target, mm.
    pub displacement: DVector<f64>,
    /// By the unknowns of the real machine.
    pub by_truth: DMatrix<f64>,
    /// By the settings of the controller.
    pub by_belief: DMatrix<f64>,
}

impl Field {
    /// The field of a controller's belief on a real machine.
    ///
    /// # Errors
    /// When the carriage cannot hang at one of the places.
    pub fn of(belief: &Machine, truth: &Machine, places: &[Point]) -> Result<Self, Unreachable> {
        let n = 2 * places.len();
        let mut field = Self {
            displacement: DVector::zeros(n),
            by_truth: DMatrix::zeros(n, COUNT),
            by_belief: DMatrix::zeros(n, COUNT),
        };
        for (i, &place) in places.iter().enumerate() {
            let payout = belief.pay_out(place)?;
            let landing = truth.settle(payout.paid_mm, place)?;
            let by_belief = landing.by_belief(&payout);
            let miss = landing.at - place;
            for (axis, value) in [miss.x_mm, miss.y_mm].into_iter().enumerate() {
                let row = 2 * i + axis;
                field.displacement[row] = value;
                for k in 0..COUNT {
                    field.by_truth[(row, k)] = landing.by_truth[axis][k];
                    field.by_belief[(row, k)] = by_belief[axis][k];
                }
            }
        }
        Ok(field)
    }

    /// The displacement alone, which is much quicker to look at than to derive.
    ///
    /// # Errors
    /// As [`Field::of`].
    pub fn displacement(
        belief: &Machine,
        truth: &Machine,
        places: &[Point],
    ) -> Result<DVector<f64>, Unreachable> {
        let mut d = DVector::zeros(2 * places.len());
        for (i, &place) in places.iter().enumerate() {
            let miss = land(belief, truth, place)?.at - place;
            d[2 * i] = miss.x_mm;
            d[2 * i + 1] = miss.y_mm;
        }
        Ok(d)
    }
}

/// Removes shift and turn from fields over fixed places when the placement of the cut on the sheet is not known.
///
/// Shift x, shift y and a small turn about the places' middle are made orthonormal; what is removed is the
/// orthogonal projection on them.
#[derive(Debug, Clone)]
pub struct Placement {
    basis: Option<DMatrix<f64>>,
}

impl Placement {
    /// The placement is known: nothing is removed.
    pub fn known() -> Self {
        Self { basis: None }
    }

    /// The placement over these places is not known.
    pub fn unknown(places: &[Point]) -> Self {
        Self { basis: Some(Self::rigid(places)) }
    }

    /// Orthonormal columns: shift x, shift y, turn anticlockwise.
    pub fn rigid(places: &[Point]) -> DMatrix<f64> {
        let n = places.len();
        let middle = places.iter().fold(Point::default(), |m, p| m + *p) * (1.0 / n.max(1) as f64);
        let mut basis = DMatrix::zeros(2 * n, 3);
        for (i, p) in places.iter().enumerate() {
            let arm = *p - middle;
            basis[(2 * i, 0)] = 1.0;
            basis[(2 * i + 1, 1)] = 1.0;
            basis[(2 * i, 2)] = -arm.y_mm;
            basis[(2 * i + 1, 2)] = arm.x_mm;
        }
        for mut column in basis.column_iter_mut() {
            let norm = column.norm();
            if norm > 0.0 {
                column /= norm;
            }
        }
        basis
    }

    /// Is it known?
    pub fn is_known(&self) -> bool {
        self.basis.is_none()
    }

    /// A field without shift and turn, when these are not known.
    pub fn remove(&self, field: &DVector<f64>) -> DVector<f64> {
        match &self.basis {
            None => field.clone(),
            Some(q) => field - q * (q.transpose() * field),
        }
    }

    /// The same for every column of a matrix.
    pub fn remove_columns(&self, fields: &DMatrix<f64>) -> DMatrix<f64> {
        match &self.basis {
            None => fields.clone(),
            Some(q) => fields - q * (q.transpose() * fields),
        }
    }
}

/// Root mean square length of the vectors of a field, mm.
pub fn rms_mm(field: &DVector<f64>) -> f64 {
    if field.is_empty() { 0.0 } else { (2.0 * field.norm_squared() / field.len() as f64).sqrt() }
}

/// Length of the longest vector of a field, mm.
pub fn max_mm(field: &DVector<f64>) -> f64 {
    vectors(field).map(Point::norm_mm).fold(0.0, f64::max)
}

/// The vectors of a field.
pub fn vectors(field: &DVector<f64>) -> impl Iterator<Item = Point> {
    field.as_slice().chunks_exact(2).map(|v| Point::new(v[0], v[1]))
}
