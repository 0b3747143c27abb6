//! When to look again, after two methods of the guide on intervals
//! ([ILAC-G24 / OIML D 10](crate::references::ILAC_G24), methods from memory): the staircase, in which each check that
//! is passed lengthens the next interval and each that is failed shortens it; and the drift that the checks show, from which it is
//! foretold when the error reaches the limit. The shorter of the two is advised. How much longer, how much shorter and the
//! bounds are ours: common practice, no source.

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

/// Days from the last check until the error passes the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drift {
    /// 5 of 100 machines like this one pass it earlier; 0 when it is passed now.
    pub early_days: f64,
    /// Half of them; absent beyond what is looked at.
    pub middle_days: Option<f64>,
    /// 95 of 100.
    pub late_days: Option<f64>,
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
    /// The staircase's next interval, days: when the coming check fails, and when it passes.
    pub staircase_after_days: [f64; 2],
    /// What the drift alone says; absent when the error does not reach the limit within sight.
    pub drift: Option<Drift>,
}

/// The staircase: from the interval before each check (days) and whether it was passed (`None`: could not be told).
pub fn staircase_days(checks: &[(f64, Option<bool>)]) -> f64 {
    let days = checks.first().map_or(FIRST_DAYS, |c| c.0);
    checks.iter().fold(days, |days, &(_, passed)| stepped(days, passed))
}

/// The interval after a check.
fn stepped(days: f64, passed: Option<bool>) -> f64 {
    let factor = match passed {
        Some(true) => LONGER,
        Some(false) => SHORTER,
        None => 1.0,
    };
    (days * factor).clamp(BOUNDS_DAYS[0], BOUNDS_DAYS[1])
}

/// The interval to keep.
pub fn advice(checks: &[(f64, Option<bool>)], drift: Option<Drift>) -> Advice {
    let staircase = staircase_days(checks);
    let (days, basis) = match drift.map(|d| d.early_days) {
        Some(early) if early <= 0.0 => (0.0, Basis::Beyond),
        Some(early) if early.clamp(BOUNDS_DAYS[0], BOUNDS_DAYS[1]) < staircase => {
            (early.clamp(BOUNDS_DAYS[0], BOUNDS_DAYS[1]), Basis::Drift)
        }
        _ => (staircase, Basis::Staircase),
    };
    let staircase_after_days =
        [Some(false), Some(true)].map(|passed| stepped(days.max(BOUNDS_DAYS[0]), passed));
    Advice { days, basis, staircase_days: staircase, staircase_after_days, drift }
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
        let from =
            |early_days| Some(Drift { early_days, middle_days: Some(2.0 * early_days), late_days: None });
        assert_eq!(advice(&checks, None).basis, Basis::Staircase);
        let near = advice(&checks, from(20.0));
        assert_eq!((near.days, near.basis), (20.0, Basis::Drift));
        // The band: 20 days again after a test that could not tell, 12 after a failed one, 25 after a passed one.
        assert_eq!(near.staircase_after_days, [12.0, 25.0]);
        assert_eq!(advice(&checks, from(90.0)).days, 50.0);
        assert_eq!(advice(&checks, from(0.0)).basis, Basis::Beyond);
    }
}
