//! When to look again, after the two ideas of the guide on intervals
//! ([ILAC-G24 / OIML D 10](crate::references::ILAC_G24), methods from memory): the staircase, in which each check that
//! is passed lengthens the next interval and each that is failed shortens it; and the drift, in which the next check comes before
//! the error is likely to reach the limit. The shorter of the two is advised.

/// A check that was passed lengthens the interval by this.
const LONGER: f64 = 1.25;
/// A check that was failed shortens it to this.
const SHORTER: f64 = 0.6;
/// Shortest and longest interval that is advised, days.
const BOUNDS_DAYS: [f64; 2] = [7.0, 365.0];
/// Where nothing is known yet: a month.
const FIRST_DAYS: f64 = 30.0;

/// What an interval rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Checks passed and failed so far.
    Staircase,
    /// The growth of the error.
    Drift,
    /// The error is beyond the limit now.
    Beyond,
}

/// When to look again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// Days from the last check.
    pub days: f64,
    /// What that rests on.
    pub basis: Basis,
    /// What the staircase alone says, days.
    pub staircase_days: f64,
    /// What the drift alone says, days; absent when the error does not reach the limit within sight.
    pub drift_days: Option<f64>,
}

/// The staircase: from the interval before each check (days) and whether it was passed (`None`: could not be told).
pub fn staircase_days(checks: &[(f64, Option<bool>)]) -> f64 {
    let mut days = checks.first().map_or(FIRST_DAYS, |c| c.0);
    for &(_, passed) in checks {
        days *= match passed {
            Some(true) => LONGER,
            Some(false) => SHORTER,
            None => 1.0,
        };
        days = days.clamp(BOUNDS_DAYS[0], BOUNDS_DAYS[1]);
    }
    days
}

/// The interval to keep: `drift_days` is the time in which 5 of 100 machines like this one would pass the limit, 0 when it
/// is passed now.
pub fn advice(checks: &[(f64, Option<bool>)], drift_days: Option<f64>) -> Advice {
    let staircase = staircase_days(checks);
    let drift = drift_days.map(|d| d.clamp(BOUNDS_DAYS[0], BOUNDS_DAYS[1]));
    let (days, basis) = match (drift_days, drift) {
        (Some(d), _) if d <= 0.0 => (0.0, Basis::Beyond),
        (_, Some(d)) if d < staircase => (d, Basis::Drift),
        _ => (staircase, Basis::Staircase),
    };
    Advice { days, basis, staircase_days: staircase, drift_days }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passed_checks_lengthen_and_failed_ones_shorten() {
        assert_eq!(staircase_days(&[]), 30.0);
        assert!((staircase_days(&[(40.0, Some(true)), (50.0, Some(true))]) - 62.5).abs() < 1e-12);
        assert!((staircase_days(&[(40.0, Some(false)), (24.0, None)]) - 24.0).abs() < 1e-12);
        assert_eq!(staircase_days(&[(10.0, Some(false)), (6.0, Some(false))]), 7.0);
    }

    #[test]
    fn the_shorter_interval_is_advised() {
        let checks = [(40.0, Some(true))];
        assert_eq!(advice(&checks, None).basis, Basis::Staircase);
        let near = advice(&checks, Some(20.0));
        assert_eq!((near.days, near.basis), (20.0, Basis::Drift));
        assert_eq!(advice(&checks, Some(90.0)).days, 50.0);
        assert_eq!(advice(&checks, Some(0.0)).basis, Basis::Beyond);
    }
}
