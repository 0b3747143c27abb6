//! Displacement over many places at once, and the removal of what no tape between holes can see.

use crate::frame::{Point, Rectangle, Sheet};
use crate::machine::{COUNT, Machine, Unreachable, land};
use nalgebra::{DMatrix, DVector};

/// Points across the working area.
pub const COLUMNS: usize = 25;
/// Points up the working area.
pub const ROWS: usize = 13;

/// The places over which errors are judged: a regular lattice with a weight for each point, so that sums over the
/// points are means over the area (trapezoidal rule: half weight on the rim, a quarter in the corners).
#[derive(Debug, Clone, PartialEq)]
pub struct WorkingArea {
    /// Points across.
    pub columns: usize,
    /// Points up.
    pub rows: usize,
    /// The points, row by row from the lower left.
    pub points: Vec<Point>,
    /// Weight of each point; together 1.
    pub weights: Vec<f64>,
}

impl WorkingArea {
    /// The whole sheet.
    pub fn of_sheet(sheet: &Sheet) -> Self {
        Self::lattice(sheet, Point::default())
    }

    /// A rectangle.
    pub fn of(rectangle: &Rectangle) -> Self {
        let Rectangle { low, high } = *rectangle;
        let size = high - low;
        Self::lattice(&Sheet { width_mm: size.x_mm, height_mm: size.y_mm }, (low + high) * 0.5)
    }

    fn lattice(sheet: &Sheet, middle: Point) -> Self {
        let half = |k: usize, n: usize| if k == 0 || k == n - 1 { 0.5 } else { 1.0 };
        let whole = ((COLUMNS - 1) * (ROWS - 1)) as f64;
        Self {
            columns: COLUMNS,
            rows: ROWS,
            points: sheet.lattice(COLUMNS, ROWS, 0.0).into_iter().map(|p| p + middle).collect(),
            weights: (0..COLUMNS * ROWS)
                .map(|i| half(i % COLUMNS, COLUMNS) * half(i / COLUMNS, ROWS) / whole)
                .collect(),
        }
    }

    /// Indices of every `stride`-th point across and up.
    pub fn every(&self, stride: usize) -> impl Iterator<Item = usize> {
        let on = move |k: usize| k.is_multiple_of(stride);
        (0..self.points.len()).filter(move |i| on(i % self.columns) && on(i / self.columns))
    }

    /// Every `stride`-th point across and up, for work that need not look at each.
    pub fn thinned(&self, stride: usize) -> Self {
        let indices: Vec<usize> = self.every(stride).collect();
        let total: f64 = indices.iter().map(|&i| self.weights[i]).sum();
        Self {
            columns: self.columns.div_ceil(stride),
            rows: self.rows.div_ceil(stride),
            points: indices.iter().map(|&i| self.points[i]).collect(),
            weights: indices.iter().map(|&i| self.weights[i] / total).collect(),
        }
    }

    /// Root mean square length of a field's vectors over the area, mm.
    pub fn rms_mm(&self, field: &DVector<f64>) -> f64 {
        let squares = vectors(field).zip(&self.weights).map(|(v, w)| w * v.norm_mm().powi(2));
        squares.sum::<f64>().sqrt()
    }

    /// Fields (a column each) with every vector times the root of its point's weight, so that plain sums of squares
    /// are means over the area.
    pub fn weighted(&self, fields: &DMatrix<f64>) -> DMatrix<f64> {
        DMatrix::from_fn(fields.nrows(), fields.ncols(), |i, j| self.weights[i / 2].sqrt() * fields[(i, j)])
    }

    /// Removal of shift and turn from fields over the area, or of nothing when the placement is known.
    pub fn placement(&self, known: bool) -> Placement {
        if known { Placement::known() } else { Placement::unknown(&self.points, &self.weights) }
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

    /// The field over the sheet; where the carriage cannot hang somewhere near its rim, over the smallest rectangle around
    /// `targets` instead.
    ///
    /// # Errors
    /// When the carriage cannot hang there either.
    pub fn over_sheet(
        belief: &Machine,
        truth: &Machine,
        sheet: &Sheet,
        targets: &[Point],
    ) -> Result<(WorkingArea, Self), Unreachable> {
        let whole = WorkingArea::of_sheet(sheet);
        if let Ok(field) = Self::of(belief, truth, &whole.points) {
            return Ok((whole, field));
        }
        let part = WorkingArea::of(&Rectangle::around(targets).unwrap_or_default());
        let field = Self::of(belief, truth, &part.points)?;
        Ok((part, field))
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
/// Shift x, shift y and a small turn about the places' middle are made orthonormal under the places' weights; what is
/// removed is the orthogonal projection on them.
#[derive(Debug, Clone)]
pub struct Placement {
    /// Q (a column per motion), and Q'W.
    basis: Option<(DMatrix<f64>, DMatrix<f64>)>,
}

impl Placement {
    /// The placement is known: nothing is removed.
    pub fn known() -> Self {
        Self { basis: None }
    }

    /// The placement over these places, of these weights, is not known.
    pub fn unknown(places: &[Point], weights: &[f64]) -> Self {
        let n = places.len();
        let total: f64 = weights.iter().sum();
        let middle = places.iter().zip(weights).fold(Point::default(), |m, (p, w)| m + *p * (w / total));
        let mut q = DMatrix::zeros(2 * n, 3);
        for (i, p) in places.iter().enumerate() {
            let arm = *p - middle;
            q[(2 * i, 0)] = 1.0;
            q[(2 * i + 1, 1)] = 1.0;
            q[(2 * i, 2)] = -arm.y_mm;
            q[(2 * i + 1, 2)] = arm.x_mm;
        }
        for mut column in q.column_iter_mut() {
            let squares: f64 = (0..2 * n).map(|i| weights[i / 2] * column[i] * column[i]).sum();
            if squares > 0.0 {
                column /= squares.sqrt();
            }
        }
        let qtw = DMatrix::from_fn(3, 2 * n, |k, i| q[(i, k)] * weights[i / 2]);
        Self { basis: Some((q, qtw)) }
    }

    /// Is it known?
    pub fn is_known(&self) -> bool {
        self.basis.is_none()
    }

    /// A field without shift and turn, when these are not known.
    pub fn remove(&self, field: &DVector<f64>) -> DVector<f64> {
        match &self.basis {
            None => field.clone(),
            Some((q, qtw)) => field - q * (qtw * field),
        }
    }

    /// The same for every column of a matrix.
    pub fn remove_columns(&self, fields: &DMatrix<f64>) -> DMatrix<f64> {
        match &self.basis {
            None => fields.clone(),
            Some((q, qtw)) => fields - q * (qtw * fields),
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
