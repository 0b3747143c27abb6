//! A sled that hangs from two pivots and is free to turn in its plane.
//!
//! The chains pull at the pivots with H outward and L_left, L_right upward, and the sled's weight W pulls down at its
//! centre of mass, on the sled's middle line. Turned counterclockwise by t, with the pivots a from each other and
//! their line d above the centre of mass, the moments about that centre are
//!
//! (a/2) (L_right - L_left) cos t - (a H + d W) sin t,
//!
//! common statics. They vanish at tan t = (a/2) (L_right - L_left) / (a H + d W), and the sled comes back there when
//! pushed as long as a H + d W > 0 (chains of finite length only help: a pivot that swings aside is lifted). So t
//! needs no search of its own: it follows from the forces. A centre of mass above the pivots is borne by a H alone.
//!
//! The sled is taken as one rigid body that slides on the sheet without friction, its pivots without friction too.

use super::real::Real;

/// Largest turn that is worked out, rad: 60 degrees. A sled that turns farther hangs in a way nobody would cut with.
const LARGEST_TURN_RAD: f64 = std::f64::consts::FRAC_PI_3;

/// The sled, in its own frame: the bit in the middle, the pivots to its left and right.
#[derive(Debug, Clone, Copy)]
pub struct Sled<T> {
    /// Pivot to pivot, mm.
    pub apart_mm: T,
    /// Line of the pivots above the bit, mm.
    pub above_mm: T,
    /// Centre of mass above the bit, mm.
    pub mass_above_mm: T,
    /// Its weight in the working plane, N.
    pub weight_n: f64,
}

/// How far a sled has turned counterclockwise, as cosine and sine.
#[derive(Debug, Clone, Copy)]
pub struct Turn<T> {
    /// Cosine.
    pub cos: T,
    /// Sine.
    pub sin: T,
}

impl<T: Real> Turn<T> {
    /// Not at all.
    pub fn level() -> Self {
        Self { cos: T::constant(1.0), sin: T::constant(0.0) }
    }

    /// The same, or the largest turn that is worked out: where to begin a search.
    pub fn at_most(self) -> Self {
        if !self.is_too_far() {
            return self;
        }
        let sign = if self.sin.value() < 0.0 { -1.0 } else { 1.0 };
        Self { cos: T::constant(LARGEST_TURN_RAD.cos()), sin: T::constant(sign * LARGEST_TURN_RAD.sin()) }
    }

    /// Too far to be cut with, or not a number?
    pub fn is_too_far(&self) -> bool {
        let enough = LARGEST_TURN_RAD.cos();
        self.cos.value().is_nan() || self.cos.value() < enough
    }
}

impl<T: Real> Sled<T> {
    /// The turn in which it is in balance under the chains' horizontal force and their lifts, left and right, N.
    pub fn turn(&self, horizontal_n: T, lift_n: [T; 2]) -> Turn<T> {
        let across = self.apart_mm * (lift_n[1] - lift_n[0]) * 0.5;
        let up = self.apart_mm * horizontal_n + (self.above_mm - self.mass_above_mm) * self.weight_n;
        let size = (up * up + across * across).sqrt();
        Turn { cos: up / size, sin: across / size }
    }

    /// From a pivot to the bit, to the right and up, mm; `inward` is 1 for the left pivot and -1 for the right one.
    pub fn pivot_to_bit(&self, inward: f64, turn: &Turn<T>) -> [T; 2] {
        let along = self.apart_mm * (0.5 * inward);
        [along * turn.cos + self.above_mm * turn.sin, along * turn.sin - self.above_mm * turn.cos]
    }
}
