//! The names of things, in one place.

use crate::machine::Unknown;
use crate::record::{FitQuality, KnownFrom, Verdict};

/// An unknown as a person says it in the middle of a sentence.
pub const fn label(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::Spacing => "sprocket spacing",
        Unknown::Height => "beam height",
        Unknown::Tilt => "beam tilt",
        Unknown::Offset => "beam offset",
        Unknown::LengthLeft => "left chain length",
        Unknown::LengthRight => "right chain length",
        Unknown::PitchLeft => "left chain pitch",
        Unknown::PitchRight => "right chain pitch",
        Unknown::Stretch => "chain stretch",
        Unknown::Apart => "pivot to pivot",
        Unknown::Above => "height of the pivots",
        Unknown::MassAbove => "centre of mass",
    }
}

/// What it means when an unknown is larger than its setting.
pub const fn meaning(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::Spacing => "sprocket axis to sprocket axis",
        Unknown::Height => "beam above the sheet's top edge",
        Unknown::Tilt => "right end of the beam higher",
        Unknown::Offset => "beam right of the middle of the sheet",
        Unknown::LengthLeft | Unknown::LengthRight => "extra chain, same everywhere",
        Unknown::PitchLeft | Unknown::PitchRight => "extra chain per metre paid out",
        Unknown::Stretch => "chain gives under load",
        Unknown::Apart => "pivots of the sled farther apart",
        Unknown::Above => "pivots farther above the bit",
        Unknown::MassAbove => "sled's centre of mass farther above the bit",
    }
}

/// The verdict in the words of the JSON document.
pub const fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "pass",
        Verdict::Fail => "fail",
        Verdict::CannotTell => "cannot tell",
    }
}

/// The cautions in one line, for a screen; the page has all of them.
pub const CAUTION_LINE: &str = "WARNING: a turning bit cuts and a falling carriage crushes. Stop the router, unplug it \
    and wait for standstill before you reach in; support the carriage before you touch a chain, sprocket or motor.";

/// What an estimate rests on.
pub const fn known_from(known_from: KnownFrom) -> &'static str {
    match known_from {
        KnownFrom::Readings => "readings",
        KnownFrom::Both => "both",
        KnownFrom::SetUp => "set-up",
        KnownFrom::NotDeterminable => "not determinable",
    }
}

/// Scatter that the readings show, as a multiple of the scatter stated: the root of chi-square per degree of
/// freedom; `None` when there is none to judge by.
pub fn observed_over_stated(fit: &FitQuality) -> Option<f64> {
    (fit.dof > 0).then(|| (fit.chi_square / fit.dof as f64).sqrt()).filter(|ratio| ratio.is_finite())
}

/// `one`, `one and two`, `one, two and three`.
pub fn list(items: &[impl AsRef<str>]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}
