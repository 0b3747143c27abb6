//! What is known of the machine and not fitted: sprockets, chain, carriage.

use super::unknowns::{COMMON, Unknown};

/// Standard acceleration of free fall, m/s^2 (3rd CGPM, 1901).
pub const G_M_PER_S2: f64 = 9.80665;

/// On which side of its sprocket a chain leaves towards the carriage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChainLeaves {
    /// Over the top.
    Over,
    /// From underneath.
    Under,
}

/// How the chains meet the carriage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Attachment {
    /// The lines of both chains meet at the bit; any fixed reach is part of the chain's length.
    Converging,
    /// Each chain ends at a pivot of its own, and the sled turns until it is in balance ([`Sled`](super::Sled)).
    Apart,
}

impl Attachment {
    /// The unknowns that a machine with this attachment has, in the usual order.
    pub fn unknowns(self) -> &'static [Unknown] {
        match self {
            Self::Converging => &Unknown::ALL[..COMMON],
            Self::Apart => &Unknown::ALL,
        }
    }
}

/// The parts of the machine that a test cut does not teach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardware {
    /// Teeth on each sprocket.
    pub teeth: u32,
    /// Chain pitch, mm.
    pub pitch_mm: f64,
    /// Side on which the chains leave.
    pub chain_leaves: ChainLeaves,
    /// Mass of chain, kg per metre.
    pub chain_mass_kg_per_m: f64,
    /// Mass of the carriage, kg.
    pub carriage_mass_kg: f64,
    /// Lean of the working plane from the vertical, degrees.
    pub lean_deg: f64,
    /// How the chains meet the carriage.
    pub attachment: Attachment,
}

impl Hardware {
    /// Pitch radius R = p / (2 sin(pi/N)), mm ([ISO 606](crate::references::ISO_606), annex on sprockets; ASME B29.1).
    pub fn pitch_radius_mm(&self) -> f64 {
        self.pitch_mm / (2.0 * (std::f64::consts::PI / f64::from(self.teeth)).sin())
    }

    /// Weight of chain in the working plane, N per mm.
    pub fn chain_weight_n_per_mm(&self) -> f64 {
        self.chain_mass_kg_per_m * G_M_PER_S2 * self.lean_deg.to_radians().cos() / 1000.0
    }

    /// Weight of the carriage in the working plane, N.
    pub fn carriage_weight_n(&self) -> f64 {
        self.carriage_mass_kg * G_M_PER_S2 * self.lean_deg.to_radians().cos()
    }
}
