//! What else the person should know.

use super::edges::Edges;
use super::errors::Errors;
use crate::adjustment::Fitted;
use crate::machine::Unknown;
use crate::record::*;
use crate::screening::{ALPHA, Screened, pattern_left};
use crate::setup::Setup;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Chance of chi-square beyond which readings and statements are said to disagree.
pub const DISAGREE: f64 = 0.01;
/// Readings below which a blunder may hide.
const FEW: usize = 12;

/// Chance of a chi-square as large.
pub fn p_value(fitted: &Fitted) -> Option<f64> {
    let distribution = ChiSquared::new(fitted.dof as f64).ok()?;
    Some(distribution.sf(fitted.chi_square))
}

/// What else the person should know.
pub fn notices(
    setup: &Setup,
    screened: &Screened,
    unknowns: &[UnknownResult],
    error: &Errors,
    edges: &Edges,
) -> Vec<Notice> {
    let fitted = &screened.fitted;
    let mut notices = Vec::new();
    if !fitted.converged {
        notices.push(Notice::NotSettled);
    }
    if let Some(p) = p_value(fitted) {
        if p < DISAGREE {
            let factor = (fitted.chi_square / fitted.dof as f64).sqrt();
            notices.push(Notice::ReadingsDisagree { p_value: p, factor });
        } else if p > 1.0 - DISAGREE {
            notices.push(Notice::ReadingsTooGood { p_value: p });
        }
    }
    let used = screened.model.weights.iter().filter(|&&w| w > 0.0).count();
    if used < FEW {
        notices.push(Notice::FewReadings { used });
    }
    if let Some(left) = pattern_left(screened).filter(|left| left.p_value < ALPHA) {
        let crate::screening::Left { pattern, rms_mm, p_value } = left;
        notices.push(Notice::PatternLeft { pattern, rms_mm, p_value });
    }
    notices.extend(whole_pitch(setup, screened));
    for result in unknowns {
        if result.expected.u > 0.0 && screened.expectations_dropped.contains(&result.unknown) {
            let sigmas = (result.estimate.value - result.expected.value) / result.expected.u;
            notices.push(Notice::FarFromExpected { unknown: result.unknown, sigmas });
        }
    }
    let budget = &error.budget;
    if budget.after.bound95_mm >= budget.as_cut.rms_mm {
        notices.push(Notice::LeaveAlone);
    }
    if !edges.used.is_empty() && !edges.fix_placement {
        notices.push(Notice::PlacementIncomplete { edges: edges.used.clone() });
    }
    notices
}

/// A length nearer to what was expected of it than this many standard uncertainties needs no skipped tooth: 1 good
/// machine in 80 passes it for each chain.
const UNEXPECTED: f64 = 2.5;

/// A chain length near a whole number of pitches away from what was expected of it (a setting may stand in for sag by
/// as much): found by the screening, or estimated so well that nothing else is near.
pub fn whole_pitch(setup: &Setup, screened: &Screened) -> Option<Notice> {
    if let Some(jump) = screened.jump {
        return Some(Notice::WholePitch { unknown: jump.unknown, pitches: jump.pitches });
    }
    let pitch = setup.hardware.pitch_mm;
    [Unknown::LengthLeft, Unknown::LengthRight].into_iter().find_map(|unknown| {
        let correction = screened.fitted.theta[unknown] - setup.expected[unknown].value;
        let u = screened.fitted.u(&screened.model, unknown);
        let pitches = (correction / pitch).round();
        let near = (correction - pitches * pitch).abs() < 2.0 * u.max(0.02 * pitch);
        let unexpected = correction.abs() > UNEXPECTED * setup.expected[unknown].u;
        (pitches != 0.0 && u < pitch / 6.0 && near && unexpected)
            .then_some(Notice::WholePitch { unknown, pitches: pitches as i32 })
    })
}
