//! A part of the sheet as it was typed.

use crate::cli::failure::Failure;
use tautgrid::frame::{Point, Rectangle};
use tautgrid::setup::Setup;

/// A part smaller than this, mm, is a slip of the finger: no one cuts there alone.
const LEAST_MM: f64 = 50.0;
/// How far over the edge a corner may be, for rounding in inches, mm.
const ROUNDING_MM: f64 = 0.05;

/// `X0,Y0,X1,Y1` in the unit of the machine, from the middle of the sheet.
///
/// # Errors
/// When these are not four numbers, or not the corners of a part of the sheet.
pub fn read(text: &str, setup: &Setup) -> Result<Rectangle, Failure> {
    let (sheet, unit) = (&setup.sheet, setup.unit);
    let wrong = |why: String| Failure::Plain(format!("--area {text}: {why}"));
    let numbers: Option<Vec<f64>> =
        text.split(',').map(|n| n.trim().parse::<f64>().ok().filter(|v| v.is_finite())).collect();
    let Some(&[x0, y0, x1, y1]) = numbers.as_deref() else {
        return Err(wrong("four numbers are needed, such as --area -600,-400,600,400".to_owned()));
    };
    let at = |x: f64, y: f64| Point::new(unit.to_mm(x), unit.to_mm(y));
    let area = Rectangle { low: at(x0, y0), high: at(x1, y1) };
    let size = area.high - area.low;
    if size.x_mm < LEAST_MM || size.y_mm < LEAST_MM {
        return Err(wrong(format!(
            "the first corner must be left of and below the second, and the part at least {} {} wide and high",
            unit.from_mm(LEAST_MM).round(),
            unit.name()
        )));
    }
    if [area.low, area.high].iter().any(|&p| sheet.inside_by_mm(p) < -ROUNDING_MM) {
        let (x, y) = (unit.from_mm(sheet.width_mm / 2.0), unit.from_mm(sheet.height_mm / 2.0));
        return Err(wrong(format!("the sheet reaches from {},{} to {x},{y}", -x, -y)));
    }
    Ok(area)
}
