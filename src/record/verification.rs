//! Whether settings that were changed do what was promised of them.

use super::{Estimate, Prediction, SettingChange};
use crate::frame::MM_PER_INCH;
use crate::machine::{Unknown, Values};

/// Was a promise kept? The three answers of [ISO 14253-1](crate::references::ISO_14253).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confirmed {
    /// The error is within what was promised, with a chance of at least 95 %.
    Yes,
    /// It is beyond, with a chance of at least 95 %.
    No,
    /// Neither can be said.
    CannotTell,
}

/// A mistake in putting settings into a controller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntrySlip {
    /// None of them was entered.
    NothingEntered,
    /// Only this one was entered.
    OnlyOne(Unknown),
    /// All but this one were entered.
    LeftOut(Unknown),
    /// Every one was changed by as much the other way.
    WrongWay,
    /// The sign of this one was reversed; of a spacing or height, the sign of the change.
    WrongSign(Unknown),
    /// What belongs to the left chain went to the right one, and the other way round.
    Swapped,
    /// The changes of lengths, in millimetres, were entered as inches.
    MmAsInches,
    /// The changes of lengths, in inches, were entered as millimetres.
    InchesAsMm,
}

impl EntrySlip {
    /// Every slip that these changes leave room for, the plain ones first.
    pub fn possible(changes: &[SettingChange]) -> Vec<Self> {
        let each = |slip: fn(Unknown) -> Self| changes.iter().map(move |c| slip(c.unknown));
        let mut all = vec![Self::NothingEntered, Self::WrongWay, Self::Swapped];
        if changes.iter().any(|c| c.unknown.is_length()) {
            all.extend([Self::MmAsInches, Self::InchesAsMm]);
        }
        if changes.len() > 1 {
            all.extend(each(Self::OnlyOne));
            all.extend(each(Self::WrongSign));
        }
        if changes.len() > 2 {
            all.extend(each(Self::LeftOut));
        }
        all
    }

    /// What the controller then believes, where `right` was to be entered.
    pub fn settings(self, right: &Values<f64>, changes: &[SettingChange]) -> Values<f64> {
        let mut held = *right;
        for c in changes {
            held[c.unknown] = match self {
                Self::NothingEntered => c.from,
                Self::OnlyOne(one) if one != c.unknown => c.from,
                Self::LeftOut(one) if one == c.unknown => c.from,
                Self::WrongWay => 2.0 * c.from - c.to,
                Self::WrongSign(one) if one == c.unknown => match one {
                    Unknown::Spacing | Unknown::Height | Unknown::Stretch => 2.0 * c.from - c.to,
                    _ => -c.to,
                },
                Self::MmAsInches if c.unknown.is_length() => c.from + (c.to - c.from) * MM_PER_INCH,
                Self::InchesAsMm if c.unknown.is_length() => c.from + (c.to - c.from) / MM_PER_INCH,
                _ => c.to,
            };
        }
        if self == Self::Swapped {
            for (left, right) in
                [(Unknown::LengthLeft, Unknown::LengthRight), (Unknown::PitchLeft, Unknown::PitchRight)]
            {
                (held[left], held[right]) = (held[right], held[left]);
            }
        }
        held
    }
}

/// A mistake that the readings make likely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suspected {
    /// Which.
    pub slip: EntrySlip,
    /// Its chance, given the readings.
    pub chance: f64,
}

/// A cut held against what was promised of the settings that were changed before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Verification {
    /// What was changed.
    pub changes: Vec<SettingChange>,
    /// What was foretold of the error over the sheet.
    pub promised: Prediction,
    /// Error as cut over the sheet, mm rms, with what is likeliest to have been entered; absent when the carriage could
    /// then not hang everywhere.
    pub found_rms_mm: Option<Estimate>,
    /// Chance that the error, rms, is within [`Prediction::bound95_mm`] of what was promised.
    pub chance_within: f64,
    /// The answer.
    pub confirmed: Confirmed,
    /// Mistakes that are likelier than that everything went in right, the likeliest first; a few at most.
    pub suspected: Vec<Suspected>,
}
