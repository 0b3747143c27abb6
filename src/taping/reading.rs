//! One thing that the tape was laid to, and how well it can be.

use crate::frame::Unit;
use crate::machine::Side;
use crate::setup::Instrument;

/// How well a mark of the beam's middle is where it should be, mm: two arcs of the tape from the shafts and a pencil.
/// Common practice, no source.
pub const MARK_U_MM: f64 = 0.7;

/// How well the middle of the bit is judged, mm. Common practice, no source.
pub const BIT_U_MM: f64 = 0.5;

/// How well the end of a tape is laid to each thing, mm; as above.
const FLANK_U_MM: f64 = 0.5;
const STRING_U_MM: f64 = 1.0;
const EDGE_U_MM: f64 = 0.5;
const TWELVE_O_CLOCK_U_MM: f64 = 1.0;

/// From where to where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Look {
    /// From the sheet's left edge to its right one.
    SheetWidth,
    /// From shaft to shaft.
    Spacing,
    /// From the sheet's top edge up to the shafts' line, at that corner.
    Top(Side),
    /// From that edge to a mark of the beam's middle.
    Mark {
        /// The edge.
        from: Side,
        /// The mark below the sheet's top edge, mm.
        down_mm: f64,
    },
    /// From that edge to the bit at the machine's middle.
    BitAcross(Side),
    /// From the top edge to the bit at the machine's middle.
    BitDown,
    /// Along a chain, from the tooth at 12 o'clock to its last link, the carriage at the machine's middle.
    Links {
        /// Which chain.
        side: Side,
        /// From the last link to the bit, or to the pivot of a sled that has two, mm.
        rest_mm: f64,
        /// Nominal length of one link, mm.
        pitch_mm: f64,
    },
}

impl Look {
    /// How well the ends of the tape are laid to it, mm.
    const fn end_u_mm(self) -> f64 {
        match self {
            Self::SheetWidth | Self::Mark { .. } => EDGE_U_MM,
            Self::Spacing => FLANK_U_MM,
            Self::Top(_) => STRING_U_MM,
            Self::BitAcross(_) | Self::BitDown => BIT_U_MM,
            Self::Links { .. } => TWELVE_O_CLOCK_U_MM,
        }
    }
}

/// What the tape showed.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// From where to where.
    pub look: Look,
    /// As read, mm; of links, their number times the nominal pitch.
    pub as_read_mm: f64,
    /// Unit in which it was read.
    pub unit: Unit,
}

impl Reading {
    /// Standard uncertainty of its own noise, mm, with that tape.
    pub fn u_mm(&self, tape: &Instrument) -> f64 {
        let taped_mm = match self.look {
            Look::Links { rest_mm, .. } => rest_mm,
            _ => self.as_read_mm,
        };
        self.look.end_u_mm().hypot(tape.random_u_mm(taped_mm))
    }
}
