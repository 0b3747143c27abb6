//! The marks of the beam's middle as a straight line over the sheet: how square it stands, how far off centre.

use super::reading::{Look, MARK_U_MM, Reading};
use crate::fit::{FittedLine, Line};
use crate::frame::Sheet;
use crate::machine::Side;
use crate::record::Estimate;
use crate::setup::Instrument;

/// What the marks say by themselves: offset from the sheet's middle against height, a weighted straight line
/// (ISO/TS 28037:2010, clause 6).
#[derive(Debug, Clone, PartialEq)]
pub struct CentreLine {
    /// Marks.
    pub marks: usize,
    /// The beam's middle right of the sheet's, at half the sheet's height, mm.
    pub off_centre: Estimate,
    /// The sheet's middle line out of square to the beam, mm/m: its top leaning to the right; absent with one height.
    pub out_of_square: Option<Estimate>,
    /// Weighted sum of squares, with `marks` - 2 degrees of freedom.
    pub chi_square: f64,
}

impl CentreLine {
    /// From the readings, where there are marks. `width` is what is known of the sheet's width, mm.
    pub(super) fn of(
        readings: &[Reading],
        sheet: &Sheet,
        tape: &Instrument,
        width: Estimate,
    ) -> Option<Self> {
        let mut points: Vec<Point> = Vec::new();
        for reading in readings {
            let Look::Mark { from, down_mm } = reading.look else { continue };
            let at = match points.iter().position(|p| p.down_mm == down_mm) {
                Some(k) => k,
                None => {
                    points.push(Point { down_mm, sums: Default::default() });
                    points.len() - 1
                }
            };
            let weight = 1.0 / reading.u_mm(tape).powi(2);
            let sum = &mut points[at].sums[from as usize];
            sum.0 += weight;
            sum.1 += weight * reading.as_read_mm;
        }
        let offsets: Vec<Offset> = points.iter().filter_map(|p| p.offset(width.value)).collect();
        // From one edge alone the sheet's width matters, and is the same error for all of them.
        let lean_on_width =
            offsets.iter().filter(|o| o.one_edge).count() as f64 / offsets.len().max(1) as f64;
        let line = Line {
            x: points.iter().map(|p| (sheet.height_mm / 2.0 - p.down_mm) / 1000.0).collect(),
            y: offsets.iter().map(|o| o.mm).collect(),
            u: offsets.iter().map(|o| o.u_mm.hypot(MARK_U_MM)).collect(),
        };
        let shared = 0.5 * width.u * lean_on_width;
        let (value, u, slope, chi_square) = match line.fitted() {
            Some(f @ FittedLine { .. }) => {
                (f.a, f.u_a(), Some(Estimate { value: -f.b, u: f.u_b() }), f.chi_square)
            }
            None => mean(&line)?,
        };
        let off_centre = Estimate { value, u: u.hypot(shared) };
        Some(Self { marks: points.len(), off_centre, out_of_square: slope, chi_square })
    }
}

/// A height where a mark was made, with weights and weighted readings from the left and the right edge.
struct Point {
    down_mm: f64,
    sums: [(f64, f64); 2],
}

/// How far right of the sheet's middle it is.
struct Offset {
    mm: f64,
    u_mm: f64,
    one_edge: bool,
}

impl Point {
    fn offset(&self, width_mm: f64) -> Option<Offset> {
        let read = |side: Side| {
            let (weight, sum) = self.sums[side as usize];
            (weight > 0.0).then(|| (sum / weight, weight.sqrt().recip()))
        };
        let half = width_mm / 2.0;
        Some(match (read(Side::Left), read(Side::Right)) {
            (Some((l, ul)), Some((r, ur))) => {
                Offset { mm: (l - r) / 2.0, u_mm: ul.hypot(ur) / 2.0, one_edge: false }
            }
            (Some((l, u)), None) => Offset { mm: l - half, u_mm: u, one_edge: true },
            (None, Some((r, u))) => Offset { mm: half - r, u_mm: u, one_edge: true },
            (None, None) => return None,
        })
    }
}

/// Weighted mean, its standard uncertainty, no slope, chi-square.
fn mean(line: &Line) -> Option<(f64, f64, Option<Estimate>, f64)> {
    let weights: Vec<f64> = line.u.iter().map(|u| u.powi(-2)).collect();
    let total: f64 = weights.iter().sum();
    let value = weights.iter().zip(&line.y).map(|(w, y)| w * y).sum::<f64>() / total;
    let chi_square = weights.iter().zip(&line.y).map(|(w, y)| w * (y - value).powi(2)).sum();
    (total > 0.0).then_some((value, total.sqrt().recip(), None, chi_square))
}
