//! A pattern beside the holes that a sheet has already.

use super::Pattern;
use crate::frame::Point;

/// New holes keep at least so many diameters from old ones, centre to centre: a rim must stay whole to be measured.
const DIAMETERS_APART: f64 = 3.0;
/// And at least this, mm: a label, and the jaws of a caliper.
const LEAST_APART_MM: f64 = 20.0;
/// The pattern gives way by up to this many steps on each side.
const MOST_STEPS: i32 = 16;

/// The largest pattern of the same columns and rows that keeps clear of the `old` holes and stays within the rectangle of `base`,
/// and so within its margins; sizes and shift are whole steps of `step_mm`. None when no such pattern keeps clear.
///
/// A shift alone would not do: the outermost holes stand at the margins already, and those of a pattern that gives way to
/// one side only would come down on them again.
pub fn beside(base: &Pattern, old: &[Point], step_mm: f64) -> Option<Pattern> {
    let steps = || 0..=MOST_STEPS;
    let mut ways: Vec<(i32, i32)> = steps().flat_map(|x| steps().map(move |y| (x, y))).collect();
    let lost = |&(x, y): &(i32, i32)| f64::from(x) * base.height_mm + f64::from(y) * base.width_mm;
    ways.sort_by(|a, b| lost(a).total_cmp(&lost(b)));
    ways.into_iter().find_map(|(x, y)| {
        let mut shifts: Vec<(i32, i32)> = (-x..=x).flat_map(|a| (-y..=y).map(move |b| (a, b))).collect();
        shifts.sort_by_key(|&(a, b)| (a * a + b * b, -a, b));
        let smaller = |(a, b): (i32, i32)| Pattern {
            width_mm: base.width_mm - 2.0 * f64::from(x) * step_mm,
            height_mm: base.height_mm - 2.0 * f64::from(y) * step_mm,
            centre: base.centre + Point::new(f64::from(a), f64::from(b)) * step_mm,
            ..base.clone()
        };
        shifts
            .into_iter()
            .map(smaller)
            .filter(|p| p.width_mm > 0.0 && p.height_mm > 0.0)
            .find(|p| is_clear(p, old))
    })
}

fn is_clear(pattern: &Pattern, old: &[Point]) -> bool {
    let apart_mm = (DIAMETERS_APART * pattern.hole_diameter_mm).max(LEAST_APART_MM);
    pattern.holes().iter().all(|hole| old.iter().all(|o| hole.target.distance_mm(*o) >= apart_mm))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_pattern_that_keeps_clear_within_the_margins_is_taken() {
        let pattern = Pattern {
            columns: 7,
            rows: 5,
            width_mm: 2300.0,
            height_mm: 1050.0,
            centre: Point::default(),
            hole_diameter_mm: 6.0,
            key: true,
        };
        let holes = |p: &Pattern| p.holes().iter().map(|h| h.target).collect::<Vec<_>>();
        assert_eq!(beside(&pattern, &[], 10.0), Some(pattern.clone()));
        let mut old = holes(&pattern);
        for cut in 2..4 {
            let next = beside(&pattern, &old, 10.0).unwrap();
            let nearest = |p: Point| old.iter().map(|o| o.distance_mm(p)).fold(f64::INFINITY, f64::min);
            for hole in holes(&next) {
                assert!(nearest(hole) >= 20.0, "cut {cut}");
                assert!(hole.x_mm.abs() <= 1150.0 && hole.y_mm.abs() <= 525.0, "cut {cut}");
            }
            assert!(next.width_mm * next.height_mm > 0.8 * 2300.0 * 1050.0, "cut {cut}: {next:?}");
            old.extend(holes(&next));
        }
        // A sheet that is full says so.
        let full: Vec<Point> = (-1200..1200)
            .step_by(20)
            .flat_map(|x| (-600..600).step_by(20).map(move |y| Point::new(f64::from(x), f64::from(y))))
            .collect();
        assert_eq!(beside(&pattern, &full, 10.0), None);
    }
}
