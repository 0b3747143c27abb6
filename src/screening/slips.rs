//! The likeliest slip behind a doubtful reading.
//!
//! Each kind of slip (common practice, no source) says what the reading would have been without it. The slip
//! whose undone reading lies nearest what the other readings expect, weighed by how common it is and by how
//! many ways it could have come about, is named; none is when all leave the reading doubtful.

use crate::adjustment::Prediction;
use crate::frame::{Point, Unit};
use crate::pattern::{Hole, KEY, Pattern};
use crate::readings::{How, Place, Reading};

/// A kind of slip.
#[derive(Debug, Clone, PartialEq)]
pub enum Slip {
    /// Two neighbouring digits changed places; the value meant, as read.
    DigitsSwapped {
        /// What was probably meant, mm.
        meant_mm: f64,
    },
    /// A 6 read for a 9 or the other way round.
    SixForNine {
        /// What was probably meant, mm.
        meant_mm: f64,
    },
    /// Off by whole inches, centimetres, or 100 mm.
    WholeUnits {
        /// How many, signed: positive when the reading is too long.
        count: i32,
        /// Of what: `inch`, `cm`, `100 mm`, `10 inch`.
        of: &'static str,
    },
    /// The tape was started at this mark, and it was not taken off (or was added instead).
    BurnForgotten {
        /// The mark, in words.
        mark: &'static str,
    },
    /// The mark was taken off twice: by twice this mark in words.
    BurnAdded {
        /// The mark, in words.
        mark: &'static str,
    },
    /// A start of the tape was stated, and the tape began at its hook after all (or the start was taken off already).
    StartNotUsed,
    /// The reading fits the same two holes as seen from behind the sheet.
    FromBehind,
    /// Read between the inner rims but noted as centre to centre, or the like.
    Rims {
        /// What was probably read.
        read: &'static str,
    },
    /// A fraction of an inch misread by this many sixty-fourths.
    Fraction {
        /// Signed; positive when the reading is too long.
        sixty_fourths: i32,
    },
    /// Typed in the other unit, or with the decimal point elsewhere.
    Scale {
        /// What happened.
        what: &'static str,
    },
    /// The reading fits another pair of holes.
    WrongHole {
        /// The pair it would fit.
        from: String,
        /// The pair it would fit.
        to: String,
        /// Another pair that it would fit about as well: a regular grid has many alike.
        or: Option<(String, String)>,
    },
}

impl Slip {
    /// The slip in plain words, lengths in the person's unit.
    pub fn words(&self, unit: Unit) -> String {
        let length = |mm: f64| match unit {
            Unit::Mm => format!("{mm:.1}"),
            Unit::Inch => format!("{:.3} in", mm / unit.mm()),
        };
        match self {
            Self::DigitsSwapped { meant_mm } => {
                format!("two digits swapped? {} would fit", length(*meant_mm))
            }
            Self::SixForNine { meant_mm } => {
                format!("6 read for 9, or 9 for 6? {} would fit", length(*meant_mm))
            }
            Self::WholeUnits { count, of } => {
                let way = if *count > 0 { "long" } else { "short" };
                format!("{} x {of} too {way}?", count.abs())
            }
            Self::BurnForgotten { mark } => format!("tape started at {mark}, and that not taken off?"),
            Self::BurnAdded { mark } => {
                format!("tape started at {mark}, and that added in place of taken off?")
            }
            Self::StartNotUsed => {
                "tape begun at its hook after all, or the start taken off already?".to_owned()
            }
            Self::FromBehind => "sheet read from behind, left for right? it would fit then".to_owned(),
            Self::Rims { read } => format!("read {read}?"),
            Self::Fraction { sixty_fourths } => {
                let way = if *sixty_fourths > 0 { "long" } else { "short" };
                let (mut top, mut bottom) = (sixty_fourths.abs(), 64);
                while top % 2 == 0 {
                    (top, bottom) = (top / 2, bottom / 2);
                }
                format!("fraction misread: {top}/{bottom} inch too {way}?")
            }
            Self::Scale { what } => (*what).to_owned(),
            Self::WrongHole { from, to, or: None } => format!("another hole? it would fit {from} to {to}"),
            Self::WrongHole { from, to, or: Some((a, b)) } => {
                format!("another hole? it would fit {from} to {to}, or {a} to {b}")
            }
        }
    }
}

/// What is known of a doubtful reading.
#[derive(Debug, Clone)]
pub struct SlipContext {
    /// Unit in which it was read.
    pub unit: Unit,
    /// As it was read, before rims are taken care of, mm.
    pub as_read_mm: f64,
    /// What the same reading should have been by the other readings, mm.
    pub expected_mm: f64,
    /// Standard uncertainty of the difference, mm.
    pub u_mm: f64,
    /// Diameter of the holes, mm; half of it for a reading to an edge.
    pub rims_mm: f64,
    /// The mark at which the tape was started as noted, mm; 0 for none.
    pub start_mm: f64,
    /// What these two places would read seen from behind the sheet, mm, when that is another length.
    pub behind_mm: Option<f64>,
    /// Other distances that might have been read instead: from, to, as they should read, mm.
    pub others: Vec<(String, String, f64)>,
}

impl SlipContext {
    /// What is known of a reading: its prediction by the others, and where the holes are.
    pub fn of(
        unit: Unit,
        pattern: &Pattern,
        holes: &[Hole],
        reading: &Reading,
        prediction: &Prediction,
        places: &[Point],
    ) -> Self {
        let between_holes = matches!((reading.from, reading.to), (Place::Hole(_), Place::Hole(_)));
        let rims_mm = if between_holes { pattern.hole_diameter_mm } else { pattern.hole_diameter_mm / 2.0 };
        // Start, warmth and rims as noted were taken care of in the distance; undo that to see what was read.
        let shift = reading.as_read_mm - reading.distance_mm;
        let mut others = Vec::new();
        let mut behind_mm = None;
        if let (Place::Hole(i), Place::Hole(j)) = (reading.from, reading.to) {
            for (x, hole) in holes.iter().enumerate() {
                if x != i && x != j {
                    let at = |a: usize, b: usize| places[a].distance_mm(places[b]) + shift;
                    others.push((holes[i].id.clone(), hole.id.clone(), at(i, x)));
                    others.push((hole.id.clone(), holes[j].id.clone(), at(x, j)));
                }
            }
            if pattern.key {
                let mirror = |h: usize| mirrored(pattern, holes, h);
                let seen = places[mirror(i)].distance_mm(places[mirror(j)]) + shift;
                // A difference that a band of chance could not hide.
                let differs =
                    (seen - prediction.distance_mm - shift).abs() > 20.0 * prediction.difference_u_mm;
                behind_mm = differs.then_some(seen);
            }
        }
        Self {
            unit,
            as_read_mm: reading.as_read_mm,
            expected_mm: prediction.distance_mm + shift,
            u_mm: prediction.difference_u_mm,
            rims_mm: if reading.how == How::Centre { rims_mm } else { 2.0 * rims_mm },
            start_mm: reading.start_mm,
            behind_mm,
            others,
        }
    }
}

/// The hole that a person behind the sheet takes for this one: left for right. The odd hole alone is known again.
pub fn mirrored(pattern: &Pattern, holes: &[Hole], i: usize) -> usize {
    if holes[i].id == KEY {
        return i;
    }
    let here = holes[i].target;
    let there = Point::new(2.0 * pattern.centre.x_mm - here.x_mm, here.y_mm);
    holes.iter().position(|h| h.id != KEY && h.target.distance_mm(there) < 1e-6).unwrap_or(i)
}

/// A slip leaves the reading doubtful when, undone, it is still further off than this many deviations.
const FIT_WITHIN: f64 = 2.6;

/// A second pair of holes is named beside the first when the odds between them are under e^1.5, about 4 to 1.
const ALIKE: f64 = 1.5;

/// The likeliest slip, if one explains the reading.
pub fn likeliest(context: &SlipContext) -> Option<Slip> {
    let mut fitting: Vec<(f64, Slip)> = candidates(context)
        .into_iter()
        .filter_map(|(slip, undone_mm, rarity)| {
            let z = (undone_mm - context.expected_mm) / context.u_mm;
            (z.abs() < FIT_WITHIN).then_some((0.5 * z * z + rarity, slip))
        })
        .collect();
    fitting.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut fitting = fitting.into_iter();
    let (score, mut best) = fitting.next()?;
    if let Slip::WrongHole { or, .. } = &mut best {
        *or = fitting.take_while(|(other, _)| other - score < ALIKE).find_map(|(_, slip)| match slip {
            Slip::WrongHole { from, to, .. } => Some((from, to)),
            _ => None,
        });
    }
    Some(best)
}

/// Each slip, the reading without it, and its rarity: minus the logarithm of how often it is met, up to a constant.
fn candidates(c: &SlipContext) -> Vec<(Slip, f64, f64)> {
    let mut all = Vec::new();
    let read = c.as_read_mm;
    for meant in swapped(c) {
        all.push((Slip::DigitsSwapped { meant_mm: meant }, meant, 0.0));
    }
    for meant in six_for_nine(c) {
        all.push((Slip::SixForNine { meant_mm: meant }, meant, 2.0));
    }
    let wholes: &[(f64, &'static str, f64)] = match c.unit {
        Unit::Mm => &[(10.0, "cm", 0.5), (100.0, "100 mm", 1.5)],
        Unit::Inch => &[(25.4, "inch", 0.5), (254.0, "10 inch", 1.5)],
    };
    for &(size, of, rarity) in wholes {
        for count in [-3, -2, -1, 1, 2, 3_i32] {
            let undone = read - f64::from(count) * size;
            let more = f64::from(count.abs() - 1);
            all.push((Slip::WholeUnits { count, of }, undone, rarity + more));
        }
    }
    let burns: &[(f64, &'static str)] = match c.unit {
        Unit::Mm => &[(100.0, "the 100 mm mark")],
        Unit::Inch => &[(25.4, "the 1 inch mark"), (254.0, "the 10 inch mark")],
    };
    for &(size, mark) in burns {
        all.push((Slip::BurnForgotten { mark }, read - size, 0.4));
        all.push((Slip::BurnAdded { mark }, read - 2.0 * size, 1.6));
    }
    if c.start_mm > 0.0 {
        all.push((Slip::StartNotUsed, read + c.start_mm, 0.2));
    }
    if let Some(behind_mm) = c.behind_mm {
        all.push((Slip::FromBehind, read - behind_mm + c.expected_mm, 0.5));
    }
    for (read_as, change) in [("from inner rim to inner rim", 1.0), ("from outer rim to outer rim", -1.0)] {
        all.push((Slip::Rims { read: read_as }, read + change * c.rims_mm, 0.3));
    }
    if c.unit == Unit::Inch {
        for sixty_fourths in [-16, -8, -4, -2, 2, 4, 8, 16_i32] {
            let size = f64::from(sixty_fourths) * c.unit.mm() / 64.0;
            all.push((Slip::Fraction { sixty_fourths }, read - size, 1.5));
        }
    }
    for (what, factor) in [
        ("typed in inches but taken as mm?", 25.4),
        ("typed in mm but taken as inches?", 1.0 / 25.4),
        ("decimal point one place too far left, or typed in cm?", 10.0),
        ("decimal point one place too far right?", 0.1),
        ("decimal point two places too far left?", 100.0),
        ("decimal point two places too far right?", 0.01),
        ("typed in metres?", 1000.0),
    ] {
        all.push((Slip::Scale { what }, read * factor, 1.0));
    }
    // One among many pairs fits by chance the sooner, the more there are.
    let ways = (1.0 + c.others.len() as f64).ln();
    for (from, to, should_mm) in &c.others {
        let slip = Slip::WrongHole { from: from.clone(), to: to.clone(), or: None };
        all.push((slip, read - should_mm + c.expected_mm, 0.5 * ways));
    }
    all
}

/// The reading with each pair of unlike neighbouring digits exchanged, in the unit it was read in, mm.
fn swapped(c: &SlipContext) -> Vec<f64> {
    edited(c, |digits, k| {
        let next = (k + 1..digits.len()).find(|&j| digits[j].is_ascii_digit())?;
        (digits[k] != digits[next]).then(|| {
            let mut d = digits.to_vec();
            d.swap(k, next);
            d
        })
    })
}

/// The reading with a 6 turned into a 9 or the other way round, mm.
fn six_for_nine(c: &SlipContext) -> Vec<f64> {
    edited(c, |digits, k| {
        let other = match digits[k] {
            b'6' => b'9',
            b'9' => b'6',
            _ => return None,
        };
        let mut d = digits.to_vec();
        d[k] = other;
        Some(d)
    })
}

/// Applies an edit at each digit of the reading as it was written down; in inches only the whole part is digits.
fn edited(c: &SlipContext, edit: impl Fn(&[u8], usize) -> Option<Vec<u8>>) -> Vec<f64> {
    let value = c.unit.from_mm(c.as_read_mm);
    let (written, rest) = match c.unit {
        Unit::Mm => {
            let one = format!("{value:.1}");
            let written = if (value - value.round()).abs() < 1e-6 { format!("{value:.0}") } else { one };
            let rest = value - written.parse::<f64>().unwrap_or(value);
            (written, rest)
        }
        Unit::Inch => (format!("{:.0}", value.trunc()), value.fract()),
    };
    let digits = written.as_bytes();
    (0..digits.len())
        .filter(|&k| digits[k].is_ascii_digit())
        .filter_map(|k| edit(digits, k))
        .filter_map(|d| String::from_utf8(d).ok()?.parse::<f64>().ok())
        .map(|v| c.unit.to_mm(v + rest))
        .collect()
}
