//! One chain: wrapped on its sprocket, then hanging free to the carriage.
//!
//! Everything here is seen from the sprocket: `inward` towards the other sprocket, `down` towards the floor, so
//! that one set of formulas serves both sides.

use super::hardware::ChainLeaves;
use super::real::Real;
use std::f64::consts::PI;

/// The far end of a hanging chain, as its sprocket's axis sees it.
#[derive(Debug, Clone, Copy)]
pub struct ChainEnd<T> {
    /// Inward of the axis, mm.
    pub inward_mm: T,
    /// Below the axis, mm.
    pub down_mm: T,
    /// Vertical force that the chain exerts on the carriage, upwards, N.
    pub lift_n: T,
}

/// What one chain is made of, seen in the working plane.
#[derive(Debug, Clone, Copy)]
pub struct ChainKind<T> {
    /// Pitch radius R of its sprocket, mm.
    pub radius_mm: f64,
    /// Side on which it leaves.
    pub leaves: ChainLeaves,
    /// Weight w per unstretched length, N/mm.
    pub weight_n_per_mm: f64,
    /// Strain per tension, 1/N.
    pub compliance_per_n: T,
}

impl<T: Real> ChainKind<T> {
    /// Length on the sprocket from the 12 o'clock tooth to the tangent point, mm, where the chain leaves at
    /// `beta` rad below the horizontal.
    pub fn wrapped_mm(&self, beta: T) -> T {
        match self.leaves {
            ChainLeaves::Over => beta * self.radius_mm,
            ChainLeaves::Under => (-beta + PI) * self.radius_mm,
        }
    }

    /// Plain length, mm, from the 12 o'clock tooth to a point, as if the free span were a straight line:
    /// sqrt(d^2 - R^2) + R (asin(R/d) + phi) for a chain over the sprocket.
    pub fn plain_length_mm(&self, inward_mm: T, down_mm: T) -> T {
        let d_squared = inward_mm * inward_mm + down_mm * down_mm;
        let straight = (d_squared - self.radius_mm * self.radius_mm).sqrt();
        straight + self.wrapped_mm(self.plain_angle(inward_mm, down_mm))
    }

    /// Angle beta, rad, below the horizontal at which a straight free span to a point leaves the sprocket.
    pub fn plain_angle(&self, inward_mm: T, down_mm: T) -> T {
        let d = (inward_mm * inward_mm + down_mm * down_mm).sqrt();
        let half = (T::constant(self.radius_mm) / d).asin();
        let phi = down_mm.atan2(inward_mm);
        match self.leaves {
            ChainLeaves::Over => phi + half,
            ChainLeaves::Under => phi - half,
        }
    }

    /// Where a chain of unstretched length `length_mm` from 12 o'clock ends, when it leaves its sprocket with the
    /// horizontal force H and the vertical force V.
    ///
    /// The free span is the exact elastic catenary of [Irvine](crate::references::IRVINE_1981), section 1.4, in the form
    /// x(s) = H s/EA + (H/w) [asinh(V/H) - asinh((V - w s)/H)],
    /// y(s) = (w s/EA)(V/w - s/2) + (1/w)[sqrt(H^2 + V^2) - sqrt(H^2 + (V - w s)^2)],
    /// rewritten without a difference of near-equal terms, so that it also holds for w = 0.
    pub fn hang(&self, horizontal_n: T, vertical_n: T, length_mm: T) -> ChainEnd<T> {
        let (h, v) = (horizontal_n, vertical_n);
        let beta = v.atan2(h);
        let s = length_mm - self.wrapped_mm(beta);
        let w = self.weight_n_per_mm;
        let v_end = v - s * w;
        let tension = (h * h + v * v).sqrt();
        let tension_end = (h * h + v_end * v_end).sqrt();
        let slope = (v + v_end) / (tension + tension_end);
        let growth = (slope + 1.0) / (v_end + tension_end);
        let x = s * h * (growth * (s * growth * w).ln_1p_over() + self.compliance_per_n);
        let y = s * (slope + (v + v_end) * self.compliance_per_n * 0.5);
        // The tangent point lies R from the axis, square to the chain, above it (over) or below it (under).
        let (normal_inward, normal_down) = (v / tension, -(h / tension));
        let r = match self.leaves {
            ChainLeaves::Over => self.radius_mm,
            ChainLeaves::Under => -self.radius_mm,
        };
        ChainEnd { inward_mm: x + normal_inward * r, down_mm: y + normal_down * r, lift_n: v_end }
    }
}
