//! Doubtful readings: found, set aside one at a time, and never hidden.
//!
//! # Criterion
//!
//! Setting a reading aside lowers chi-square by w^2, its squared standardised residual ([Baarda](crate::references::BAARDA_1968)), and is worth doing when w^2 > c^2. Which readings to set aside is therefore
//! the choice that minimises
//!
//! Q = chi-square(the rest) + c^2 * (number set aside),
//!
//! the penalised form of the mean-shift outlier model ([She and Owen](crate::references::SHE_OWEN_2011)). c is the
//! two-sided normal quantile at the multiple-test level 1 - (1 - alpha)^(1/n) (Sidak), so that a cut of n good
//! readings loses one with a chance of about alpha.
//!
//! # Search
//!
//! From a start, the single move that lowers Q most is made until none does: set one reading aside, take one back,
//! set an expectation aside, or allow for a chain that jumped a whole number of teeth. As several blunders can hide
//! each other from any search that begins with all readings, a second start begins with those that a robust fit
//! (bounded influence, then Tukey's biweight) leaves out; the lower Q wins.

mod leftover;
mod moves;
mod robust;
mod slips;

pub use leftover::{Left, pattern_left};
pub use moves::{Screened, ToothJump, criterion_at_start, screen};
pub use slips::{Slip, SlipContext, likeliest, mirrored};

use statrs::distribution::{ContinuousCDF, Normal};

/// Chance that a cut of good readings loses one of them.
pub const ALPHA: f64 = 0.01;

/// Critical value c of the standardised residual for `n` readings judged at once at the level `alpha`.
pub fn critical_w(n: usize, alpha: f64) -> f64 {
    // 1 - (1 - alpha)^(1/n) without loss of digits for large n.
    let each = -f64::exp_m1(f64::ln_1p(-alpha) / n.max(1) as f64);
    Normal::standard().inverse_cdf(1.0 - each / 2.0)
}
