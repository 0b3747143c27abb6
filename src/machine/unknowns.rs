//! The unknowns of the machine, and a value for each of them.

use serde::{Deserialize, Serialize};
use std::ops::{Index, IndexMut};

/// Number of unknowns.
pub const COUNT: usize = 9;

/// A quantity of the machine that a test cut may teach. Signs and units are those of the table in [`crate`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Unknown {
    /// Sprocket axis to sprocket axis, mm.
    Spacing,
    /// Middle of the beam's axis line above the sheet's top edge, mm.
    Height,
    /// Right end of the beam higher, mm/m.
    Tilt,
    /// Middle of the beam right of the middle of the sheet, mm.
    Offset,
    /// Left chain longer than the controller thinks, the same everywhere, mm.
    LengthLeft,
    /// Right chain longer than the controller thinks, the same everywhere, mm.
    LengthRight,
    /// Left chain longer per metre paid out, mm/m.
    PitchLeft,
    /// Right chain longer per metre paid out, mm/m.
    PitchRight,
    /// Elastic strain of the chain, mm/m per 100 N.
    Stretch,
}

impl Unknown {
    /// All unknowns, in the order used by every vector and matrix of the library.
    pub const ALL: [Self; COUNT] = [
        Self::Spacing,
        Self::Height,
        Self::Tilt,
        Self::Offset,
        Self::LengthLeft,
        Self::LengthRight,
        Self::PitchLeft,
        Self::PitchRight,
        Self::Stretch,
    ];

    /// Its name in files and on the screen.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Spacing => "spacing",
            Self::Height => "height",
            Self::Tilt => "tilt",
            Self::Offset => "offset",
            Self::LengthLeft => "length_left",
            Self::LengthRight => "length_right",
            Self::PitchLeft => "pitch_left",
            Self::PitchRight => "pitch_right",
            Self::Stretch => "stretch",
        }
    }

    /// The unknown of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|u| u.name() == name)
    }

    /// Its unit inside the library and in JSON.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Tilt | Self::PitchLeft | Self::PitchRight => "mm/m",
            Self::Stretch => "mm/m per 100 N",
            _ => "mm",
        }
    }

    /// Is it a length, so that a file in inches gives it in inches? (Ratios stay in mm/m.)
    pub const fn is_length(self) -> bool {
        matches!(self, Self::Spacing | Self::Height | Self::Offset | Self::LengthLeft | Self::LengthRight)
    }

    /// Does it only shift or turn the whole cut, so that hole-to-hole distances cannot see it?
    pub const fn is_placement(self) -> bool {
        matches!(self, Self::Height | Self::Tilt | Self::Offset)
    }
}

/// One value for each unknown, indexed by [`Unknown`].
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Values<T>(pub [T; COUNT]);

impl<T> Index<Unknown> for Values<T> {
    type Output = T;
    fn index(&self, u: Unknown) -> &T {
        &self.0[u as usize]
    }
}

impl<T> IndexMut<Unknown> for Values<T> {
    fn index_mut(&mut self, u: Unknown) -> &mut T {
        &mut self.0[u as usize]
    }
}

impl<T> Values<T> {
    /// A value worked out for each unknown.
    pub fn from_fn(f: impl FnMut(Unknown) -> T) -> Self {
        Self(Unknown::ALL.map(f))
    }

    /// Each unknown with its value.
    pub fn iter(&self) -> impl Iterator<Item = (Unknown, &T)> {
        Unknown::ALL.into_iter().zip(self.0.iter())
    }
}
