//! The error map as a smooth field: what is between the points of its lattice.

use crate::analysis::ErrorMap;
use crate::frame::Point;

/// Displacements on a regular lattice, sampled anywhere by bilinear interpolation.
pub(super) struct Field<'a> {
    columns: usize,
    rows: usize,
    values: &'a [Point],
    /// Lower left and upper right point of the lattice.
    pub(super) corners: (Point, Point),
}

impl<'a> Field<'a> {
    /// The field of `values` (as cut or after) over the map's lattice; `None` when there is no area to draw or
    /// a value is not a number.
    pub(super) fn new(map: &ErrorMap, values: &'a [Point]) -> Option<Self> {
        let (columns, rows) = (map.columns, map.rows);
        let whole =
            columns >= 2 && rows >= 2 && values.len() == columns * rows && map.points.len() == values.len();
        let corners = (*map.points.first()?, *map.points.last()?);
        let area = corners.1 - corners.0;
        let sound = values.iter().all(|v| v.norm_mm().is_finite()) && area.x_mm > 0.0 && area.y_mm > 0.0;
        (whole && sound).then_some(Self { columns, rows, values, corners })
    }

    /// Displacement at a place; off the lattice, that of the nearest place on it.
    pub(super) fn at(&self, p: Point) -> Point {
        let (low, high) = self.corners;
        let place = |v: f64, low: f64, high: f64, n: usize| {
            let k = ((v - low) / (high - low)).clamp(0.0, 1.0) * (n - 1) as f64;
            let cell = (k as usize).min(n - 2);
            (cell, k - cell as f64)
        };
        let (c, s) = place(p.x_mm, low.x_mm, high.x_mm, self.columns);
        let (r, t) = place(p.y_mm, low.y_mm, high.y_mm, self.rows);
        let v = |c: usize, r: usize| self.values[r * self.columns + c];
        let below = v(c, r) * (1.0 - s) + v(c + 1, r) * s;
        let above = v(c, r + 1) * (1.0 - s) + v(c + 1, r + 1) * s;
        below * (1.0 - t) + above * t
    }

    /// Sizes of the displacement, mm, at `columns` x `rows` places, row by row from the lower left.
    pub(super) fn sizes(&self, columns: usize, rows: usize) -> Vec<f64> {
        let (low, high) = self.corners;
        let at = |k: usize, n: usize, low: f64, high: f64| low + (high - low) * k as f64 / (n - 1) as f64;
        (0..rows)
            .flat_map(|r| (0..columns).map(move |c| (c, r)))
            .map(|(c, r)| {
                let x = at(c, columns, low.x_mm, high.x_mm);
                self.at(Point::new(x, at(r, rows, low.y_mm, high.y_mm))).norm_mm()
            })
            .collect()
    }
}
