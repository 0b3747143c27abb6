//! Points, the sheet, its edges, and units of length.
//!
//! Everything in the library is in millimetres, seen from the **front** of the machine: x to the right, y up,
//! origin in the middle of the sheet. Inches exist only where text is read or written.

use serde::{Deserialize, Serialize};
use std::ops::{Add, Mul, Sub};

/// Millimetres in one inch, exact by definition (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// A place on the sheet, or a displacement between two places.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right of the middle of the sheet, mm.
    pub x_mm: f64,
    /// Above the middle of the sheet, mm.
    pub y_mm: f64,
}

impl Point {
    /// A point from its two coordinates in mm.
    pub const fn new(x_mm: f64, y_mm: f64) -> Self {
        Self { x_mm, y_mm }
    }

    /// Length of the vector from the origin to this point, mm.
    pub fn norm_mm(self) -> f64 {
        self.x_mm.hypot(self.y_mm)
    }

    /// Straight distance to another point, mm.
    pub fn distance_mm(self, other: Self) -> f64 {
        (self - other).norm_mm()
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.x_mm + o.x_mm, self.y_mm + o.y_mm)
    }
}

impl Sub for Point {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.x_mm - o.x_mm, self.y_mm - o.y_mm)
    }
}

impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.x_mm * k, self.y_mm * k)
    }
}

/// One of the four edges of the sheet, seen from the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Edge {
    /// The edge at the smallest x.
    Left,
    /// The edge at the largest x.
    Right,
    /// The edge at the largest y.
    Top,
    /// The edge at the smallest y.
    Bottom,
}

impl Edge {
    /// All four edges.
    pub const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Top, Self::Bottom];

    /// The word used in files: `left`, `right`, `top` or `bottom`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }
}

/// The sheet in front of which the carriage hangs; its middle is the origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
}

impl Sheet {
    /// Perpendicular distance from an edge to a point, mm; positive on the sheet.
    pub fn from_edge_mm(&self, edge: Edge, p: Point) -> f64 {
        match edge {
            Edge::Left => p.x_mm + self.width_mm / 2.0,
            Edge::Right => self.width_mm / 2.0 - p.x_mm,
            Edge::Bottom => p.y_mm + self.height_mm / 2.0,
            Edge::Top => self.height_mm / 2.0 - p.y_mm,
        }
    }

    /// Distance from the nearest edge, mm; negative off the sheet.
    pub fn inside_by_mm(&self, p: Point) -> f64 {
        Edge::ALL.iter().map(|&e| self.from_edge_mm(e, p)).fold(f64::INFINITY, f64::min)
    }

    /// A regular lattice of `columns` x `rows` points over the sheet shrunk by `margin_mm` on every side,
    /// row by row from the lower left. One column or one row lies on the middle line.
    pub fn lattice(&self, columns: usize, rows: usize, margin_mm: f64) -> Vec<Point> {
        let at = |k: usize, n: usize, size: f64| {
            if n < 2 { 0.0 } else { (k as f64 / (n - 1) as f64 - 0.5) * (size - 2.0 * margin_mm) }
        };
        (0..rows)
            .flat_map(|r| (0..columns).map(move |c| (c, r)))
            .map(|(c, r)| Point::new(at(c, columns, self.width_mm), at(r, rows, self.height_mm)))
            .collect()
    }
}

/// An upright rectangle on the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rectangle {
    /// Its lower left corner.
    pub low: Point,
    /// Its upper right corner.
    pub high: Point,
}

impl Rectangle {
    /// The smallest one around some places; none around no place.
    pub fn around(places: &[Point]) -> Option<Self> {
        let first = *places.first()?;
        Some(places.iter().fold(Self { low: first, high: first }, |r, p| Self {
            low: Point::new(r.low.x_mm.min(p.x_mm), r.low.y_mm.min(p.y_mm)),
            high: Point::new(r.high.x_mm.max(p.x_mm), r.high.y_mm.max(p.y_mm)),
        }))
    }
}

/// Unit of length in a file or on a screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches of 25.4 mm.
    Inch,
}

impl Unit {
    /// The word used in files: `mm` or `inch`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Inch => "inch",
        }
    }

    /// The unit of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        [Self::Mm, Self::Inch].into_iter().find(|unit| unit.name() == name)
    }

    /// Millimetres in one of this unit.
    pub const fn mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => MM_PER_INCH,
        }
    }

    /// A length in this unit, as mm.
    pub fn to_mm(self, length: f64) -> f64 {
        length * self.mm()
    }

    /// A length in mm, in this unit.
    pub fn from_mm(self, length_mm: f64) -> f64 {
        length_mm / self.mm()
    }
}
