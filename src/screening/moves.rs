//! The search for the readings to set aside.

use super::{critical_w, robust};
use crate::adjustment::{Fitted, Model, Quantity};
use crate::fit::OutOfDomain;
use crate::machine::Unknown;
use nalgebra::DVector;

/// At most this share of the readings is set aside: beyond it the rest proves nothing.
const LARGEST_SHARE: f64 = 0.34;
/// Whole pitches that a chain may have jumped.
const JUMPS: [i32; 6] = [-3, -2, -1, 1, 2, 3];
/// How much more, beyond c^2, it takes to give up an expectation than to set a reading aside: the person taped it.
const EXPECTATION_EXTRA: f64 = 3.0;
/// An expectation is only given up when the readings say at least this much of its unknown.
const LEAST_REDUNDANCY: f64 = 0.1;
/// The robust start is tried when a standardised residual passes this, or chi-square its mean by two deviations.
const SUSPICION: f64 = 2.5;

/// A chain that seems to have been hung, or to have skipped, a whole number of teeth off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToothJump {
    /// `LengthLeft` or `LengthRight`.
    pub unknown: Unknown,
    /// Pitches by which that chain is longer than expected.
    pub pitches: i32,
}

/// The adjustment after screening.
#[derive(Debug, Clone)]
pub struct Screened {
    /// The model with its weights, and its priors as they were used.
    pub model: Model,
    /// Its solution.
    pub fitted: Fitted,
    /// Observations set aside, in the order they were.
    pub set_aside: Vec<usize>,
    /// Unknowns whose expectation the readings contradict so clearly that it was not used.
    pub expectations_dropped: Vec<Unknown>,
    /// A jump by whole teeth that was allowed for.
    pub jump: Option<ToothJump>,
    /// The critical value c.
    pub critical_w: f64,
}

impl Screened {
    /// The criterion Q.
    pub fn criterion(&self) -> f64 {
        let c2 = self.critical_w * self.critical_w;
        self.fitted.chi_square
            + c2 * self.set_aside.len() as f64
            + (c2 + EXPECTATION_EXTRA) * self.expectations_dropped.len() as f64
            + if self.jump.is_some() { c2 } else { 0.0 }
    }
}

/// A move and by how much it lowers Q.
#[derive(Debug, Clone, Copy)]
enum Move {
    SetAside(usize),
    TakeBack(usize),
    DropExpectation(usize),
    Jump(usize, i32),
}

/// Fits the model and sets doubtful readings aside at the level `alpha`; `pitch_mm` is the chain's.
///
/// # Errors
/// When no machine near the expected one could have cut the pattern.
pub fn screen(model: &Model, pitch_mm: f64, alpha: f64) -> Result<Screened, OutOfDomain> {
    let c = critical_w(model.observations.len() + model.parameters.len(), alpha);
    let plain = Fitted::of(model, &model.start())?;
    if !suspicious(&plain) {
        return Ok(start(model.clone(), plain, Vec::new(), c));
    }
    let first = descend(start(model.clone(), plain, Vec::new(), c), pitch_mm)?;
    let suspects = robust::suspects(model, c, most(model));
    if suspects.is_empty() {
        return Ok(first);
    }
    let mut reduced = model.clone();
    for &i in &suspects {
        reduced.weights[i] = 0.0;
    }
    let fitted = Fitted::of(&reduced, &model.start())?;
    let second = descend(start(reduced, fitted, suspects, c), pitch_mm)?;
    Ok(if second.criterion() < first.criterion() - 1e-9 { second } else { first })
}

/// The criterion Q where the search would begin, with what a robust fit leaves out set aside: a quick answer to
/// whether readings could mean something else altogether.
///
/// # Errors
/// When the model's start is impossible.
pub fn criterion_at_start(model: &Model, alpha: f64) -> Result<f64, OutOfDomain> {
    let c = critical_w(model.observations.len() + model.parameters.len(), alpha);
    let suspects = robust::suspects(model, c, most(model));
    let mut reduced = model.clone();
    for &i in &suspects {
        reduced.weights[i] = 0.0;
    }
    let fitted = Fitted::of(&reduced, &model.start())?;
    Ok(start(reduced, fitted, suspects, c).criterion())
}

fn start(model: Model, fitted: Fitted, set_aside: Vec<usize>, critical_w: f64) -> Screened {
    Screened { model, fitted, set_aside, expectations_dropped: Vec::new(), jump: None, critical_w }
}

/// Largest number of readings that may be set aside.
fn most(model: &Model) -> usize {
    (LARGEST_SHARE * model.observations.len() as f64).floor() as usize
}

/// Could there be anything to find?
fn suspicious(fitted: &Fitted) -> bool {
    let readings = fitted.readings.iter().filter_map(|r| r.w);
    let largest =
        readings.chain(fitted.prior_w.iter().flatten().copied()).fold(0.0, |m: f64, w| m.max(w.abs()));
    let dof = fitted.dof as f64;
    largest > SUSPICION || fitted.chi_square > dof + 2.0 * (2.0 * dof).sqrt()
}

/// Makes the best move until none lowers Q.
fn descend(mut now: Screened, pitch_mm: f64) -> Result<Screened, OutOfDomain> {
    let patience = 3 * now.model.observations.len() + 10;
    for _ in 0..patience {
        let Some(step) = best_move(&now, pitch_mm) else { break };
        let mut next = now.clone();
        apply(&mut next, step, pitch_mm);
        next.fitted = Fitted::of(&next.model, &DVector::clone(&now.fitted.phi))?;
        // The gain was worked out on the linearised model; a move that does not keep its promise ends the search.
        if next.criterion() >= now.criterion() - 1e-9 {
            break;
        }
        now = next;
    }
    Ok(now)
}

/// The move that lowers Q most, if any does.
fn best_move(now: &Screened, pitch_mm: f64) -> Option<Move> {
    let c2 = now.critical_w * now.critical_w;
    let mut best: Option<(f64, Move)> = None;
    let mut offer = |gain: f64, step: Move| {
        if gain > 1e-9 && best.as_ref().is_none_or(|(g, _)| gain > *g) {
            best = Some((gain, step));
        }
    };
    let room = now.set_aside.len() < most(&now.model);
    for (i, reading) in now.fitted.readings.iter().enumerate() {
        let Some(w) = reading.w else { continue };
        if now.model.weights[i] == 0.0 {
            offer(c2 - w * w, Move::TakeBack(i));
        } else if room {
            offer(w * w - c2, Move::SetAside(i));
        }
    }
    for (k, parameter) in now.model.parameters.iter().enumerate() {
        let Quantity::Unknown(unknown) = parameter.quantity else { continue };
        if now.model.prior_weights[k] == 0.0 {
            continue;
        }
        let Some(w) = now.fitted.prior_w[k] else { continue };
        if now.fitted.prior_redundancy[k] < LEAST_REDUNDANCY {
            continue;
        }
        offer(w * w - c2 - EXPECTATION_EXTRA, Move::DropExpectation(k));
        if now.jump.is_none() && matches!(unknown, Unknown::LengthLeft | Unknown::LengthRight) {
            let redundancy = now.fitted.prior_redundancy[k];
            let residual = w * redundancy.sqrt();
            for jump in JUMPS {
                let shift = f64::from(jump) * pitch_mm / now.model.prior_own_u(k);
                offer(2.0 * shift * residual - shift * shift * redundancy - c2, Move::Jump(k, jump));
            }
        }
    }
    best.map(|(_, step)| step)
}

/// Changes weights and priors; the fit has to be made again.
fn apply(s: &mut Screened, step: Move, pitch_mm: f64) {
    match step {
        Move::SetAside(i) => {
            s.model.weights[i] = 0.0;
            s.set_aside.push(i);
        }
        Move::TakeBack(i) => {
            s.model.weights[i] = 1.0;
            s.set_aside.retain(|&k| k != i);
        }
        Move::DropExpectation(k) => {
            s.model.drop_prior(k);
            if let Quantity::Unknown(u) = s.model.parameters[k].quantity {
                s.expectations_dropped.push(u);
            }
        }
        Move::Jump(k, pitches) => {
            s.model.parameters[k].prior.value += f64::from(pitches) * pitch_mm;
            if let Quantity::Unknown(unknown) = s.model.parameters[k].quantity {
                s.jump = Some(ToothJump { unknown, pitches });
            }
        }
    }
}
