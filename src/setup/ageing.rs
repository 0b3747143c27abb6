//! What was learnt grows old: frames creep, chains wear. `[expected]` says in `as_of` on which day it was true; on a
//! later day each unknown is expected where it was, but less surely.
//!
//! Sizes are ours, chosen wide: common practice, no source.

use super::{Expected, Setup};
use crate::machine::{COUNT, Unknown, Values};
use jiff::civil::Date;

/// Days in a month, on average.
pub const DAYS_A_MONTH: f64 = 365.25 / 12.0;

/// What is believed of a chain's growth before any cut: 0 with this standard uncertainty, mm/m per month.
pub const GROWTH_U_A_MONTH: f64 = 0.1;

/// Creep of an unknown in a month, as a standard deviation in its unit; in n months the root of n times as much.
pub const fn creep_a_month(unknown: Unknown) -> f64 {
    match unknown {
        Unknown::Spacing | Unknown::Height | Unknown::Offset => 0.05,
        Unknown::LengthLeft | Unknown::LengthRight => 0.05,
        Unknown::Tilt => 0.02,
        Unknown::PitchLeft | Unknown::PitchRight => 0.02,
        Unknown::Stretch => 0.01,
    }
}

impl Setup {
    /// The same machine on a day: what was learnt before it (`as_of`) has aged since.
    #[must_use]
    pub fn aged(mut self, day: Date) -> Self {
        let Some(learnt) = self.expected_as_of else { return self };
        let months = f64::from((day - learnt).get_days()).max(0.0) / DAYS_A_MONTH;
        let old = self.expected;
        self.expected = Values::from_fn(|u| {
            let grown = match u {
                Unknown::PitchLeft | Unknown::PitchRight => (GROWTH_U_A_MONTH * months).powi(2),
                _ => 0.0,
            };
            let variance = old[u].u.powi(2) + creep_a_month(u).powi(2) * months + grown;
            // What is held fixed stays so.
            Expected { value: old[u].value, u: if old[u].u > 0.0 { variance.sqrt() } else { 0.0 } }
        });
        // Ageing adds to each variance alone, so covariances stay and correlations shrink.
        let kept = |k: usize| {
            let (before, after) = (old.0[k].u, self.expected.0[k].u);
            if after > 0.0 { before / after } else { 1.0 }
        };
        for i in 0..COUNT {
            for j in (0..COUNT).filter(|&j| j != i) {
                self.correlation[i][j] *= kept(i) * kept(j);
            }
        }
        for instrument in &mut self.instruments {
            for (k, c) in instrument.scale_correlation.iter_mut().enumerate() {
                *c *= kept(k);
            }
        }
        self.expected_as_of = Some(day.max(learnt));
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn old_knowledge_is_weaker_and_covariances_stay() {
        let mut setup = Setup::example();
        setup.expected_as_of = Some(date(2026, 1, 1));
        setup.expected[Unknown::PitchLeft].u = 0.1;
        let (p, l) = (Unknown::PitchLeft as usize, Unknown::LengthLeft as usize);
        (setup.correlation[p][l], setup.correlation[l][p]) = (-0.5, -0.5);
        let before = setup.expected_covariance();
        let same = setup.clone().aged(date(2026, 1, 1));
        assert_eq!(same, setup);
        let later = setup.aged(date(2026, 7, 1));
        let after = later.expected_covariance();
        assert!((after[(p, l)] - before[(p, l)]).abs() < 1e-12);
        // 181 days: (0.1 * 5.947)^2 of growth, 0.02^2 * 5.947 of creep.
        let months: f64 = 181.0 / DAYS_A_MONTH;
        let added = (0.1 * months).powi(2) + 0.0004 * months;
        assert!((after[(p, p)] - before[(p, p)] - added).abs() < 1e-12);
        assert_eq!(Setup::example().aged(date(2030, 1, 1)), Setup::example());
    }
}
