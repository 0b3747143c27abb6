//! One motion of the job, on the sheet.

use super::arc::Arc;
use crate::frame::Point;

/// A motion between places of the sheet (origin in its middle, mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Travel {
    /// G0: only its end matters, the way there is the control's own.
    Rapid {
        /// Where to.
        to: Point,
    },
    /// G1.
    Straight {
        /// Where from, when that is known.
        from: Option<Point>,
        /// Where to.
        to: Point,
    },
    /// G2 or G3.
    Arc(Arc),
}

impl Travel {
    /// The place after a share of the way, 0 to 1.
    pub fn at(&self, share: f64) -> Point {
        match self {
            Self::Rapid { to } | Self::Straight { from: None, to } => *to,
            Self::Straight { to, .. } if share >= 1.0 => *to,
            Self::Straight { from: Some(from), to } => *from + (*to - *from) * share,
            Self::Arc(arc) => arc.at(share),
        }
    }
}
