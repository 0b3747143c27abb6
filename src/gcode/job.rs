//! How a pattern is to be drilled, with defaults for a light hanging carriage, and what makes it impossible.

use crate::frame::Unit;

/// Who starts the router.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spindle {
    /// The person, at its switch.
    ByHand,
    /// The controller, at this speed.
    Switched {
        /// Turns per minute.
        speed_per_min: u32,
    },
}

/// Engraved labels: every hole's id beside it, and TOP with an arrow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Height of the letters, mm.
    pub height_mm: f64,
    /// Depth of the strokes, mm.
    pub depth_mm: f64,
    /// Feed along the strokes, mm per minute.
    pub feed_mm_per_min: f64,
}

/// How a pattern is to be drilled.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Unit of the program.
    pub unit: Unit,
    /// Name of the machine, for the header.
    pub machine: String,
    /// Date or id of the cut, for the header.
    pub cut: String,
    /// Leave the router off and the bit clear of the sheet, all along the same way?
    pub dry_run: bool,
    /// Who starts the router.
    pub spindle: Spindle,
    /// Height above the sheet at which the carriage travels, mm.
    pub clearance_mm: f64,
    /// Depth of the holes, mm.
    pub depth_mm: f64,
    /// Most that is drilled between two lifts, mm.
    pub peck_mm: f64,
    /// Feed down into the wood and back out, mm per minute.
    pub plunge_mm_per_min: f64,
    /// Length of the slow last stretch to a hole, mm.
    pub approach_mm: f64,
    /// Feed of that stretch, mm per minute.
    pub approach_mm_per_min: f64,
    /// Labels, if wanted.
    pub labels: Option<Lettering>,
    /// What the machine makes of G0, mm per minute: only for the run time.
    pub rapid_mm_per_min: f64,
}

impl Job {
    /// Blind holes of a quarter inch or 6 mm by hand-held router, in round figures of the unit.
    ///
    /// A light carriage wants 300-600 mm/min down with a bit of 6 mm, pecks of 2-3 mm lifted clear, and blind
    /// holes of 5-8 mm for crisp rims (common practice, no source).
    pub fn new(unit: Unit) -> Self {
        let of = |mm: f64, inch: f64| match unit {
            Unit::Mm => mm,
            Unit::Inch => unit.to_mm(inch),
        };
        Self {
            unit,
            machine: String::new(),
            cut: String::new(),
            dry_run: false,
            spindle: Spindle::ByHand,
            clearance_mm: of(6.0, 0.25),
            depth_mm: of(6.0, 0.25),
            peck_mm: of(2.0, 0.1),
            plunge_mm_per_min: of(300.0, 12.0),
            approach_mm: of(50.0, 2.0),
            approach_mm_per_min: of(300.0, 12.0),
            labels: None,
            rapid_mm_per_min: of(1500.0, 60.0),
        }
    }

    /// The numbers that no job can have.
    pub(super) fn refusals(&self) -> Vec<Refusal> {
        let feed = 10.0..=100_000.0;
        let mut numbers = vec![
            ("clearance height", self.clearance_mm, 1.0..=200.0),
            ("depth of the holes", self.depth_mm, 0.5..=100.0),
            ("depth of a peck", self.peck_mm, 0.5..=100.0),
            ("plunge feed", self.plunge_mm_per_min, feed.clone()),
            ("length of the last stretch", self.approach_mm, 1.0..=1000.0),
            ("feed of the last stretch", self.approach_mm_per_min, feed.clone()),
            ("rapid speed", self.rapid_mm_per_min, feed.clone()),
        ];
        if let Some(labels) = &self.labels {
            numbers.push(("height of the labels", labels.height_mm, 5.0..=500.0));
            numbers.push(("depth of the labels", labels.depth_mm, 0.1..=5.0));
            numbers.push(("feed of the labels", labels.feed_mm_per_min, feed));
        }
        let mut refusals: Vec<Refusal> = numbers
            .into_iter()
            .filter(|(_, value, possible)| !possible.contains(value))
            .map(|(what, value_mm, possible)| Refusal::ImpossibleNumber { what, value_mm, possible })
            .collect();
        if let Spindle::Switched { speed_per_min } = self.spindle
            && !SPEEDS.contains(&speed_per_min)
        {
            refusals.push(Refusal::ImpossibleSpeed { speed_per_min });
        }
        refusals
    }
}

/// Speeds that a router turns at, per minute.
const SPEEDS: std::ops::RangeInclusive<u32> = 100..=100_000;

impl Lettering {
    /// Labels for a bit of that diameter: a stroke is as wide as the bit, and letters under five strokes high
    /// close up.
    pub fn for_bit(diameter_mm: f64) -> Self {
        Self { height_mm: (5.0 * diameter_mm).max(15.0), depth_mm: 0.6, feed_mm_per_min: 600.0 }
    }
}

/// Why there is no program.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// A number that no job can have.
    ImpossibleNumber {
        /// Which.
        what: &'static str,
        /// Its value, mm or mm per minute.
        value_mm: f64,
        /// What it may be, likewise.
        possible: std::ops::RangeInclusive<f64>,
    },
    /// A speed that no router turns at.
    ImpossibleSpeed {
        /// Turns per minute.
        speed_per_min: u32,
    },
    /// The last stretch to a hole begins beyond the lower edge of the sheet.
    ApproachLeavesSheet {
        /// The hole.
        hole: String,
    },
    /// A label would be cut into a hole or its rim.
    LabelTouchesHole {
        /// The label.
        label: String,
        /// The hole.
        hole: String,
    },
    /// A label would be cut into another.
    LabelsTouch {
        /// One of them.
        a: String,
        /// The other.
        b: String,
    },
    /// A label would run off the sheet.
    LabelLeavesSheet {
        /// The label.
        label: String,
    },
}

impl Refusal {
    /// What is wrong and what may be done, lengths in the person's unit.
    pub fn words(&self, unit: Unit) -> String {
        match self {
            Self::ImpossibleNumber { what, value_mm, possible } => {
                let [value, least, most] =
                    [*value_mm, *possible.start(), *possible.end()].map(|v| short(v, unit));
                let per_minute =
                    if what.contains("feed") || what.contains("speed") { " per minute" } else { "" };
                format!("the {what} cannot be {value}, but {least} to {most} {}{per_minute}", unit.name())
            }
            Self::ImpossibleSpeed { speed_per_min } => format!(
                "a router does not turn {speed_per_min} times a minute; {} to {} is possible",
                SPEEDS.start(),
                SPEEDS.end()
            ),
            Self::ApproachLeavesSheet { hole } => format!(
                "the last stretch to hole {hole} would begin below the sheet; shorten it, or move the pattern up"
            ),
            Self::LabelTouchesHole { label, hole } => {
                format!("there is no room for the label {label}: it would touch hole {hole}; {LEAVE_OUT}")
            }
            Self::LabelsTouch { a, b } => {
                format!("there is no room for the label {a}: it would touch the label {b}; {LEAVE_OUT}")
            }
            Self::LabelLeavesSheet { label } => {
                format!("there is no room for the label {label}: it would run off the sheet; {LEAVE_OUT}")
            }
        }
    }
}

const LEAVE_OUT: &str = "use fewer holes or a thinner bit, or leave the labels out";

/// A number in the person's unit, without needless noughts.
fn short(length_mm: f64, unit: Unit) -> String {
    let text = format!("{:.3}", unit.from_mm(length_mm));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
