//! An arc as a control draws it.

use crate::frame::Point;
use std::f64::consts::TAU;

/// Start and end may differ by this in their distance from the middle, mm: what two decimals of a millimetre make.
const OUT_OF_ROUND_MM: f64 = 0.02;
/// Start and end nearer than this are the same place: a whole circle, mm.
const SAME_MM: f64 = 1e-6;
/// The largest radius that is drawn, mm; beyond it the middle is lost in rounding.
const LARGEST_MM: f64 = 1e7;

/// An arc in the XY plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    middle: Point,
    start: Point,
    end: Point,
    start_rad: f64,
    /// Radius at the start and at the end, mm; the files' rounding makes them differ a little.
    radii_mm: [f64; 2],
    /// Turned on the way, rad; positive anticlockwise.
    pub sweep_rad: f64,
}

impl Arc {
    /// From start to end round a middle (I and J: NIST IR 6556, 3.5.3.2); a whole circle when they are the same.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn around(start: Point, end: Point, middle: Point, clockwise: bool) -> Result<Self, String> {
        let (from, to) = (start - middle, end - middle);
        let radii_mm = [from.norm_mm(), to.norm_mm()];
        if radii_mm[0] < SAME_MM {
            return Err("its middle is its start".to_owned());
        }
        if radii_mm[0] > LARGEST_MM {
            return Err("its radius is larger than any machine".to_owned());
        }
        let off = (radii_mm[1] - radii_mm[0]).abs();
        if off > OUT_OF_ROUND_MM {
            return Err(format!("its end is {off:.3} mm off the circle through its start"));
        }
        let start_rad = from.y_mm.atan2(from.x_mm);
        let turned = to.y_mm.atan2(to.x_mm) - start_rad;
        let sweep_rad = if start.distance_mm(end) < SAME_MM {
            TAU
        } else if clockwise {
            (-turned).rem_euclid(TAU)
        } else {
            turned.rem_euclid(TAU)
        };
        let sweep_rad = if clockwise { -sweep_rad } else { sweep_rad };
        Ok(Self { middle, start, end, start_rad, radii_mm, sweep_rad })
    }

    /// From start to end with a radius: the short way round, or the long way when it is negative (NIST IR 6556,
    /// 3.5.3.1).
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn with_radius(start: Point, end: Point, radius_mm: f64, clockwise: bool) -> Result<Self, String> {
        let along = end - start;
        let chord = along.norm_mm();
        if chord < SAME_MM {
            return Err("a whole circle has no one middle when only R is given".to_owned());
        }
        let radius = radius_mm.abs();
        if radius > LARGEST_MM {
            return Err("its radius is larger than any machine".to_owned());
        }
        let half = chord / 2.0;
        if radius < half - OUT_OF_ROUND_MM / 2.0 {
            return Err(format!("start and end are {chord:.3} mm apart, more than twice its radius"));
        }
        let height = ((radius - half).max(0.0) * (radius + half)).sqrt();
        let side = if clockwise == (radius_mm > 0.0) { -1.0 } else { 1.0 };
        let normal = Point::new(-along.y_mm, along.x_mm) * (1.0 / chord);
        let middle = start + along * 0.5 + normal * (side * height);
        Self::around(start, end, middle, clockwise)
    }

    /// The place after a share of the way, 0 to 1.
    pub fn at(&self, share: f64) -> Point {
        if share <= 0.0 {
            return self.start;
        }
        if share >= 1.0 {
            return self.end;
        }
        let (sin, cos) = (self.start_rad + share * self.sweep_rad).sin_cos();
        let radius = self.radii_mm[0] + share * (self.radii_mm[1] - self.radii_mm[0]);
        self.middle + Point::new(cos, sin) * radius
    }

    /// The larger of its radii, mm.
    pub fn radius_mm(&self) -> f64 {
        self.radii_mm[0].max(self.radii_mm[1])
    }

    /// Corners of an upright rectangle that holds it.
    pub fn around_it(&self) -> (Point, Point) {
        if self.sweep_rad.abs() < 0.5 {
            // A flat arc rises over its chord by its sagitta; the whole circle would be far too large a frame.
            let rise = self.radius_mm() * (1.0 - (self.sweep_rad / 2.0).cos());
            let room = Point::new(rise, rise);
            let low = Point::new(self.start.x_mm.min(self.end.x_mm), self.start.y_mm.min(self.end.y_mm));
            let high = Point::new(self.start.x_mm.max(self.end.x_mm), self.start.y_mm.max(self.end.y_mm));
            return (low - room, high + room);
        }
        let room = Point::new(self.radius_mm(), self.radius_mm());
        (self.middle - room, self.middle + room)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    #[test]
    fn quarter_circles_turn_the_right_way() {
        let arc = Arc::around(p(10.0, 0.0), p(0.0, 10.0), p(0.0, 0.0), false).unwrap();
        assert!((arc.sweep_rad - TAU / 4.0).abs() < 1e-12);
        assert!(arc.at(0.5).distance_mm(p(50.0_f64.sqrt(), 50.0_f64.sqrt())) < 1e-12);
        let long = Arc::around(p(10.0, 0.0), p(0.0, 10.0), p(0.0, 0.0), true).unwrap();
        assert!((long.sweep_rad + 0.75 * TAU).abs() < 1e-12);
        assert!(long.at(1.0 / 3.0).distance_mm(p(0.0, -10.0)) < 1e-12);
    }

    #[test]
    fn the_sign_of_r_chooses_the_way_round() {
        let (start, end) = (p(10.0, 0.0), p(0.0, 10.0));
        for (r, clockwise, middle, sweep) in [
            (10.0, false, p(0.0, 0.0), 0.25),
            (-10.0, false, p(10.0, 10.0), 0.75),
            (10.0, true, p(10.0, 10.0), -0.25),
            (-10.0, true, p(0.0, 0.0), -0.75),
        ] {
            let arc = Arc::with_radius(start, end, r, clockwise).unwrap();
            assert!(arc.middle.distance_mm(middle) < 1e-12, "{r} {clockwise}: {:?}", arc.middle);
            assert!((arc.sweep_rad - sweep * TAU).abs() < 1e-12);
        }
        // Half a circle whose radius was rounded down.
        let half = Arc::with_radius(p(0.0, 0.0), p(10.0, 0.0), 4.999, true).unwrap();
        assert!((half.sweep_rad.abs() - TAU / 2.0).abs() < 1e-6);
    }

    #[test]
    fn what_is_no_arc_is_refused() {
        assert!(Arc::around(p(0.0, 0.0), p(1.0, 1.0), p(0.0, 0.0), true).is_err());
        assert!(Arc::around(p(0.0, 0.0), p(1.0, 1.0), p(5.0, 0.0), true).is_err());
        assert!(Arc::with_radius(p(0.0, 0.0), p(0.0, 0.0), 5.0, true).is_err());
        assert!(Arc::with_radius(p(0.0, 0.0), p(11.0, 0.0), 5.0, true).is_err());
    }

    #[test]
    fn the_frame_holds_the_arc() {
        for (end, clockwise) in [(p(0.0, 10.0), false), (p(9.9, 1.41), false), (p(9.9, 1.41), true)] {
            let arc = Arc::around(p(10.0, 0.0), end, p(0.0, 0.0), clockwise).unwrap();
            let (low, high) = arc.around_it();
            for k in 0..=100 {
                let at = arc.at(f64::from(k) / 100.0);
                assert!(at.x_mm >= low.x_mm - 1e-9 && at.x_mm <= high.x_mm + 1e-9);
                assert!(at.y_mm >= low.y_mm - 1e-9 && at.y_mm <= high.y_mm + 1e-9);
            }
        }
    }
}
