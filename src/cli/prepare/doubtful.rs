//! What may be cut, and is still not what anybody wants: said before the board is spoilt.

use super::settle::{Settled, taped};
use tautgrid::setup::Setup;

/// Deeper holes than this go through most boards; for measuring, rims are all that is needed. Common practice, no source.
const DEEP_MM: f64 = 12.0;
/// Rims of wider holes are hard to read to; bits that are thinner break. Common practice, no source.
const USUAL_BITS_MM: [f64; 2] = [2.5, 13.0];
/// Nearer to an edge the carriage has no board under it and tips. Common practice, no source.
const NEAR_EDGE_MM: f64 = 50.0;
/// A pattern that covers less of the sheet's width or height says little of its corners.
const LEAST_SHARE: f64 = 0.5;
/// Fewer columns or rows show no bow.
const LEAST_LINES: usize = 3;
/// Faster plunges into wood burn out a bit or pull the carriage along. Common practice, no source.
const FAST_MM_PER_MIN: f64 = 1500.0;
/// Longer distances are taken by no tape that one person holds.
const LONG_MM: f64 = 15_000.0;

/// Everything doubtful about a cut, a sentence each.
pub fn words(settled: &Settled, setup: &Setup) -> Vec<String> {
    let (p, job, unit) = (&settled.pattern, &settled.job, setup.unit);
    let length = |mm: f64| taped(mm, unit, 1);
    let mut doubts = Vec::new();
    if job.depth_mm > DEEP_MM {
        doubts.push(format!(
            "holes {} deep go through most boards and into what is behind; {} is enough to read a rim",
            length(job.depth_mm),
            length(unit_round(unit, 6.0, 0.25))
        ));
    }
    if p.hole_diameter_mm < USUAL_BITS_MM[0] {
        doubts.push(format!(
            "a bit of {} breaks easily, and its holes are hard to read to",
            length(p.hole_diameter_mm)
        ));
    }
    if p.hole_diameter_mm > USUAL_BITS_MM[1] {
        doubts.push(format!(
            "a bit of {} plunges hard, and its wide holes are hard to read to; {} is usual",
            length(p.hole_diameter_mm),
            length(unit_round(unit, 6.0, 0.25))
        ));
    }
    if settled.margin_mm < NEAR_EDGE_MM {
        doubts.push(format!(
            "holes may lie {} from an edge: there the carriage has no board under it and tips, unless the surround is flush",
            length(settled.margin_mm)
        ));
    }
    if p.width_mm < LEAST_SHARE * setup.sheet.width_mm || p.height_mm < LEAST_SHARE * setup.sheet.height_mm {
        doubts.push(format!(
            "the pattern is {} by {} on a sheet of {} by {}: of the corners it will say little",
            length(p.width_mm),
            length(p.height_mm),
            length(setup.sheet.width_mm),
            length(setup.sheet.height_mm)
        ));
    }
    if p.columns < LEAST_LINES || p.rows < LEAST_LINES {
        doubts.push(format!(
            "{} by {} holes show no bow of rows and columns; three of each do",
            p.columns, p.rows
        ));
    }
    if job.plunge_mm_per_min > FAST_MM_PER_MIN {
        doubts.push(format!(
            "a plunge of {} a minute is faster than a hanging carriage bears; {} is usual",
            length(job.plunge_mm_per_min),
            length(unit_round(unit, 300.0, 12.0))
        ));
    }
    if job.peck_mm > 2.0 * p.hole_diameter_mm {
        doubts.push(format!(
            "{} drilled before the bit is lifted clear is more than twice its diameter: chips pack, and wood burns",
            length(job.peck_mm)
        ));
    }
    if settled.request.longest_mm > LONG_MM {
        doubts.push(format!(
            "distances up to {} are longer than a tape in one person's hands",
            length(settled.request.longest_mm)
        ));
    }
    doubts
}

/// A round length in the person's unit, mm.
fn unit_round(unit: tautgrid::frame::Unit, mm: f64, inches: f64) -> f64 {
    match unit {
        tautgrid::frame::Unit::Mm => mm,
        tautgrid::frame::Unit::Inch => unit.to_mm(inches),
    }
}
