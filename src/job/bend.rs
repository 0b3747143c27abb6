//! Where to send the carriage so that it lands on a place: the inverse of landing, exactly and as a table.

use super::patch::{self, Bounds, Node};
use crate::frame::{Point, Sheet};
use crate::machine::{Machine, Unreachable};
use rayon::prelude::*;
use std::fmt;

/// Largest difference allowed between the table and the exact inverse, mm.
pub const TABLE_MM: f64 = 0.0005;
/// Size of a cell to begin with, mm; halved until the table is good enough.
const CELL_MM: f64 = 60.0;
/// Cells are halved at most so often.
const HALVINGS: usize = 4;
/// Accuracy of the exact inverse, mm.
const EXACT_MM: f64 = 1e-8;
/// Steps of the exact inverse before giving up.
const PATIENCE: usize = 30;

/// Why a place cannot be bent.
#[derive(Debug, Clone, PartialEq)]
pub enum OffLimits {
    /// It lies beyond the sheet.
    Sheet {
        /// So far, mm.
        beyond_mm: f64,
    },
    /// The chains cannot hold the carriage there or close by.
    Chains(String),
    /// It is not a number.
    NotANumber,
}

/// No table of this size follows the machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TooCrooked {
    /// Largest difference from the exact inverse that was found, mm.
    pub off_by_mm: f64,
}

impl fmt::Display for TooCrooked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the error of this machine changes too quickly over the sheet to be bent away")
    }
}

impl std::error::Error for TooCrooked {}

/// Where to send a carriage whose controller believes `belief`, so that the machine `truth` lands on `meant`, and
/// the derivatives of that place (row per axis).
///
/// Newton's method on [`land`](crate::machine::land)`(belief, truth, sent) = meant`, with the exact derivatives.
///
/// # Errors
/// When the chains cannot hold the carriage on the way there.
pub fn sent_for(
    belief: &Machine,
    truth: &Machine,
    meant: Point,
) -> Result<(Point, [[f64; 2]; 2]), Unreachable> {
    let mut sent = meant;
    for _ in 0..PATIENCE {
        let payout = belief.pay_out(sent)?;
        let landing = truth.settle(payout.paid_mm, meant)?;
        let [[a, b], [c, d]] = landing.by_target(&payout);
        let determinant = a * d - b * c;
        if determinant.abs() < 1e-6 || !determinant.is_finite() {
            return Err(Unreachable::NoBalance);
        }
        let inverse = [[d / determinant, -b / determinant], [-c / determinant, a / determinant]];
        let miss = meant - landing.at;
        if miss.norm_mm() < EXACT_MM {
            return Ok((sent, inverse));
        }
        sent = sent
            + Point::new(
                inverse[0][0] * miss.x_mm + inverse[0][1] * miss.y_mm,
                inverse[1][0] * miss.x_mm + inverse[1][1] * miss.y_mm,
            );
    }
    Err(Unreachable::NoBalance)
}

/// A table of shifts over the sheet, with its error checked against the exact inverse in the middle of every cell.
#[derive(Debug, Clone)]
pub struct Bend {
    belief: Machine,
    truth: Machine,
    sheet: Sheet,
    beyond_mm: f64,
    columns: usize,
    rows: usize,
    low: Point,
    size: Point,
    nodes: Vec<Node>,
    cells: Vec<Bounds>,
    off_by_mm: f64,
}

impl Bend {
    /// The table for a controller's belief and a real machine, over the sheet and so far beyond its edges.
    ///
    /// # Errors
    /// When cells of a few millimetres do not follow the machine to [`TABLE_MM`].
    pub fn new(belief: &Machine, truth: &Machine, beyond_mm: f64) -> Result<Self, TooCrooked> {
        let mut off_by_mm = f64::INFINITY;
        for halving in 0..=HALVINGS {
            let cell_mm = CELL_MM / f64::from(1 << halving);
            let bend = Self::with_cells(belief, truth, beyond_mm, cell_mm);
            off_by_mm = bend.off_by_mm;
            if off_by_mm <= TABLE_MM {
                return Ok(bend);
            }
        }
        Err(TooCrooked { off_by_mm })
    }

    fn with_cells(belief: &Machine, truth: &Machine, beyond_mm: f64, cell_mm: f64) -> Self {
        let sheet = belief.sheet;
        let area = Point::new(sheet.width_mm + 2.0 * beyond_mm, sheet.height_mm + 2.0 * beyond_mm);
        let cells = |length: f64| (length / cell_mm).ceil().max(2.0) as usize;
        let (across, up) = (cells(area.x_mm), cells(area.y_mm));
        let (columns, rows) = (across + 1, up + 1);
        let size = Point::new(area.x_mm / across as f64, area.y_mm / up as f64);
        let low = area * -0.5;
        let place = |i: f64, j: f64| Point::new(low.x_mm + size.x_mm * i, low.y_mm + size.y_mm * j);
        let mut nodes: Vec<Node> = (0..columns * rows)
            .into_par_iter()
            .map(|k| node(belief, truth, place((k % columns) as f64, (k / columns) as f64)))
            .collect();
        cross_derivatives(&mut nodes, columns, rows, size);
        let mut bend = Self {
            belief: *belief,
            truth: *truth,
            sheet,
            beyond_mm,
            columns,
            rows,
            low,
            size,
            nodes,
            cells: Vec::new(),
            off_by_mm: 0.0,
        };
        bend.cells =
            (0..across * up).map(|k| patch::bounds(bend.corners(k % across, k / across), size)).collect();
        // Where the cells are worst: a third in from each side, where the error of the cross derivatives is largest,
        // and the middle, where that of the cubics is.
        let off: Vec<f64> = (0..across * up)
            .into_par_iter()
            .map(|k| {
                let (u, v) = if k % 2 == 0 { (0.5, 0.5) } else { (1.0 / 3.0, 1.0 / 3.0) };
                let meant = place((k % across) as f64 + u, (k / across) as f64 + v);
                let table = patch::at(bend.corners(k % across, k / across), size, u, v);
                // Beside the reach of the chains there is nothing to compare, and nothing is answered there.
                match sent_for(belief, truth, meant) {
                    Ok((sent, _)) if table.norm_mm().is_finite() => (sent - meant).distance_mm(table),
                    _ => 0.0,
                }
            })
            .collect();
        bend.off_by_mm = off.into_iter().fold(0.0, f64::max);
        bend
    }

    fn corners(&self, i: usize, j: usize) -> [&Node; 4] {
        let k = j * self.columns + i;
        let above = k + self.columns;
        [&self.nodes[k], &self.nodes[k + 1], &self.nodes[above], &self.nodes[above + 1]]
    }

    /// Column and row of cells, not yet rounded.
    fn cell(&self, p: Point) -> (f64, f64) {
        ((p.x_mm - self.low.x_mm) / self.size.x_mm, (p.y_mm - self.low.y_mm) / self.size.y_mm)
    }

    /// Where to send the carriage so that it lands on a place.
    ///
    /// # Errors
    /// When the place lies beyond the sheet (and what was allowed beyond it), or where the chains cannot hold it.
    pub fn at(&self, meant: Point) -> Result<Point, OffLimits> {
        const HAIR: f64 = 1e-9;
        let (s, t) = self.cell(meant);
        let (across, up) = ((self.columns - 1) as f64, (self.rows - 1) as f64);
        if !(s >= -HAIR && t >= -HAIR && s <= across + HAIR && t <= up + HAIR) {
            let beyond_mm = -self.sheet.inside_by_mm(meant);
            return Err(if beyond_mm.is_finite() {
                OffLimits::Sheet { beyond_mm }
            } else {
                OffLimits::NotANumber
            });
        }
        let (i, j) = (s.max(0.0).min(across - 1.0) as usize, t.max(0.0).min(up - 1.0) as usize);
        let shift = patch::at(self.corners(i, j), self.size, s - i as f64, t - j as f64);
        let sent = meant + shift;
        if sent.norm_mm().is_finite() { Ok(sent) } else { Err(self.beside_reach(meant)) }
    }

    /// Why the table has no answer for a place on it.
    fn beside_reach(&self, meant: Point) -> OffLimits {
        OffLimits::Chains(match sent_for(&self.belief, &self.truth, meant) {
            Err(reason) => reason.to_string(),
            Ok(_) => "this is next to places that the chains cannot hold".to_owned(),
        })
    }

    /// Where the machine lands when the carriage is sent to a place as it is; `None` beside the table.
    ///
    /// Q with at(Q) = sent, by repeated substitution: shifts change by a hundredth of the way at most.
    pub fn lands(&self, sent: Point) -> Option<Point> {
        let mut place = sent;
        for _ in 0..10 {
            place = place - (self.at(place).ok()? - sent);
        }
        Some(place)
    }

    /// Bounds on slope and curvature over an upright rectangle between two corners.
    pub fn bounds(&self, low: Point, high: Point) -> Bounds {
        let (across, up) = (self.columns - 1, self.rows - 1);
        let index = |v: f64, n: usize| (v.max(0.0) as usize).min(n - 1);
        let ((s0, t0), (s1, t1)) = (self.cell(low), self.cell(high));
        let mut most = Bounds::default();
        for j in index(t0, up)..=index(t1, up) {
            for i in index(s0, across)..=index(s1, across) {
                most = most.max(self.cells[j * across + i]);
            }
        }
        most
    }

    /// Largest difference from the exact inverse that was found, mm.
    pub fn off_by_mm(&self) -> f64 {
        self.off_by_mm
    }

    /// The sheet.
    pub fn sheet(&self) -> &Sheet {
        &self.sheet
    }

    /// How far beyond the sheet's edges the job may go, mm.
    pub fn beyond_mm(&self) -> f64 {
        self.beyond_mm
    }
}

/// A corner of the table; not a number where the chains cannot hold the carriage.
fn node(belief: &Machine, truth: &Machine, meant: Point) -> Node {
    match sent_for(belief, truth, meant) {
        Ok((sent, by)) => Node {
            shift: sent - meant,
            by_x: Point::new(by[0][0] - 1.0, by[1][0]),
            by_y: Point::new(by[0][1], by[1][1] - 1.0),
            by_xy: Point::default(),
        },
        Err(_) => Node { shift: Point::new(f64::NAN, f64::NAN), ..Node::default() },
    }
}

/// Cross derivatives by central differences of the exact first ones, one-sided at the rim.
fn cross_derivatives(nodes: &mut [Node], columns: usize, rows: usize, size: Point) {
    for j in 0..rows {
        for i in 0..columns {
            let sound = |k: usize| !nodes[k].shift.x_mm.is_nan();
            let here = j * columns + i;
            let left = if i > 0 && sound(here - 1) { here - 1 } else { here };
            let right = if i + 1 < columns && sound(here + 1) { here + 1 } else { here };
            let below = if j > 0 && sound(here - columns) { here - columns } else { here };
            let above = if j + 1 < rows && sound(here + columns) { here + columns } else { here };
            let mut sum = Point::default();
            let mut ways = 0.0;
            if right > left {
                sum = sum
                    + (nodes[right].by_y - nodes[left].by_y) * (1.0 / (size.x_mm * (right - left) as f64));
                ways += 1.0;
            }
            if above > below {
                let steps = ((above - below) / columns) as f64;
                sum = sum + (nodes[above].by_x - nodes[below].by_x) * (1.0 / (size.y_mm * steps));
                ways += 1.0;
            }
            if ways > 0.0 {
                nodes[here].by_xy = sum * (1.0 / ways);
            }
        }
    }
}
