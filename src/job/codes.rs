//! What each G and M code means for the way of the bit.

use crate::frame::Unit;

/// The motion in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Motion {
    /// G0: as quickly as possible, on a way of its own.
    Rapid,
    /// G1: straight.
    Straight,
    /// G2: an arc, clockwise.
    Clockwise,
    /// G3: an arc, anticlockwise.
    Anticlockwise,
}

impl Motion {
    /// The digit of its code.
    pub const fn digit(self) -> u8 {
        match self {
            Self::Rapid => b'0',
            Self::Straight => b'1',
            Self::Clockwise => b'2',
            Self::Anticlockwise => b'3',
        }
    }

    /// Is it an arc?
    pub const fn is_arc(self) -> bool {
        matches!(self, Self::Clockwise | Self::Anticlockwise)
    }
}

/// What a G code does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum G {
    /// A motion.
    Motion(Motion),
    /// G80: no motion is in force.
    NoMotion,
    /// G20, G21.
    Unit(Unit),
    /// G90 (true), G91 (false).
    Absolute(bool),
    /// G4.
    Dwell,
    /// G53: this line counts from the machine's own zero.
    MachineZero,
    /// Moves the height by a tool's length.
    ToolLength,
    /// Does not change where the bit goes.
    Harmless,
    /// Refused, with the reason.
    Refused(&'static str),
}

/// What a G code does; tenths, so that G38.2 is 382. Groups and meanings: NIST IR 6556, tables 4 and 5.
pub fn g(tenths: i32) -> G {
    match tenths {
        0 => G::Motion(Motion::Rapid),
        10 => G::Motion(Motion::Straight),
        20 => G::Motion(Motion::Clockwise),
        30 => G::Motion(Motion::Anticlockwise),
        40 => G::Dwell,
        200 => G::Unit(Unit::Inch),
        210 => G::Unit(Unit::Mm),
        900 => G::Absolute(true),
        910 => G::Absolute(false),
        800 => G::NoMotion,
        530 => G::MachineZero,
        430 | 490 => G::ToolLength,
        // G17, G40, G54, paths, G91.1 (I and J from the start), G94 and G95, spindle modes, G98 and G99.
        170 | 400 | 540 | 610 | 611 | 640 | 911 | 940 | 950 | 970 | 980 | 990 => G::Harmless,
        180 | 190 => G::Refused("it turns arcs into another plane"),
        410 | 411 | 420 | 421 => {
            G::Refused("the control would move the bit aside by its radius (cutter compensation)")
        }
        280 | 281 | 300 | 301 => G::Refused("the machine goes to a place of its own"),
        100 | 520 | 920..=923 => G::Refused("it moves the zero while the job runs"),
        550 | 560 | 570 | 580 | 590..=593 => G::Refused("it counts from another zero"),
        730 | 740 | 760 | 810 | 820 | 830 | 840 | 850 | 860 | 870 | 880 | 890 => {
            G::Refused("a canned cycle moves by rules of the control")
        }
        930 => G::Refused("with feeds as inverse time every chord would need a feed of its own"),
        901 => G::Refused("it counts the middles of arcs from the zero"),
        50..=53 => G::Refused("a spline is no line and no arc"),
        330 | 331 => G::Refused("a thread follows the spindle"),
        380..=389 => G::Refused("a probe stops where it touches"),
        150 | 160 => G::Refused("it reads X and Y as radius and angle"),
        500 | 510 => G::Refused("it scales or mirrors the job"),
        680 | 690 => G::Refused("it turns the job"),
        _ => G::Refused("what it does to the way of the bit is not known here"),
    }
}

/// What an M code does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum M {
    /// M0, M1, M60: waits after the motion of its line.
    Wait,
    /// M2, M30: ends the program after the motion of its line.
    End,
    /// Does not change where the bit goes.
    Harmless,
    /// Refused, with the reason.
    Refused(&'static str),
}

/// What an M code does; tenths.
pub fn m(tenths: i32) -> M {
    match tenths {
        0 | 10 | 600 => M::Wait,
        20 | 300 => M::End,
        470 | 960 | 970 | 980 | 990 => M::Refused("it jumps to another line or a subprogram"),
        700..=730 => M::Refused("it takes back modes that were in force before"),
        _ => M::Harmless,
    }
}
