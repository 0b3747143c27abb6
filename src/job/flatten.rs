//! How many chords keep a bent way within a tolerance of the way that was meant.

use super::arc::Arc;
use super::bend::Bend;
use super::travel::Travel;
use crate::frame::Point;

/// The finest tolerance that a file's three decimals can serve, mm.
pub const LEAST_CHORD_MM: f64 = 0.002;
/// The coarsest tolerance, mm.
pub const MOST_CHORD_MM: f64 = 1.0;
/// Most chords of one motion.
pub const MOST_CHORDS: usize = 100_000;
/// An arc has chords of at most this angle, rad, however coarse the tolerance.
const WIDEST_RAD: f64 = std::f64::consts::FRAC_PI_4;

/// Chords for a motion, so that none leaves the bent way by more than `tolerance_mm`.
///
/// Broken-line interpolation of a curve f over a step h misses it by at most h²/8 max|f''|
/// ([de Boor](crate::references::DE_BOOR_2001), chapter III). The bent way of a straight line has f'' bounded by the
/// curvature of the table. A chord of an arc of radius r and angle a leaves it by the sagitta r (1 - cos(a/2)),
/// which bending stretches by at most the slope of the table; what the bent chord leaves adds.
pub fn chords(travel: &Travel, bend: &Bend, tolerance_mm: f64) -> usize {
    match travel {
        Travel::Straight { from: None, .. } | Travel::Rapid { .. } => 1,
        Travel::Straight { from: Some(from), to } => straight(*from, *to, bend, tolerance_mm),
        Travel::Arc(arc) => round(arc, bend, tolerance_mm),
    }
}

fn straight(from: Point, to: Point, bend: &Bend, tolerance_mm: f64) -> usize {
    let low = Point::new(from.x_mm.min(to.x_mm), from.y_mm.min(to.y_mm));
    let high = Point::new(from.x_mm.max(to.x_mm), from.y_mm.max(to.y_mm));
    let curvature = bend.bounds(low, high).curvature_per_mm;
    let wanted = from.distance_mm(to) * (curvature / (8.0 * tolerance_mm)).sqrt();
    whole(wanted)
}

fn round(arc: &Arc, bend: &Bend, tolerance_mm: f64) -> usize {
    let (low, high) = arc.around_it();
    let bounds = bend.bounds(low, high);
    let (radius, sweep) = (arc.radius_mm(), arc.sweep_rad.abs());
    let off = |n: usize| {
        let angle = sweep / n as f64;
        let chord = 2.0 * radius * (angle / 2.0).sin();
        (1.0 + bounds.slope) * radius * (1.0 - (angle / 2.0).cos())
            + chord * chord / 8.0 * bounds.curvature_per_mm
    };
    // r (1 - cos(a/2)) is r a²/8 to within a hundredth, so this start is right or one short.
    let squared = radius * sweep * sweep * (1.0 + bounds.slope + radius * bounds.curvature_per_mm)
        / (8.0 * tolerance_mm);
    let mut n = whole((squared.sqrt() * 0.97).max(sweep / WIDEST_RAD));
    while n < MOST_CHORDS && off(n) > tolerance_mm {
        n += 1;
    }
    n
}

/// A count; one more than the most when it is too large or no number.
fn whole(wanted: f64) -> usize {
    let n = wanted.ceil().max(1.0);
    if n <= MOST_CHORDS as f64 { n as usize } else { MOST_CHORDS + 1 }
}
