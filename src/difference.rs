//! Has a quantity changed, and does it matter? Three answers, by its uncertainty and by what would matter.
//!
//! With the difference d, its standard uncertainty u and a limit: *unchanged* when |d| <= 1.96 u, so that with
//! nothing changed it is said to have in 5 of 100; else *too little to matter* when |d| + 1.645 u is under the limit, so
//! that a change that matters is passed over in 5 of 100 at most (the guard band of
//! [ISO 14253-1](crate::references::ISO_14253)); else *changed*.

/// Two-sided quantile of the normal distribution at 95 %.
const TWO_SIDED: f64 = 1.959_963_984_540_054;
/// One-sided quantile at 95 %.
const ONE_SIDED: f64 = 1.644_853_626_951_472;

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// No change is seen beyond the uncertainty.
    Unchanged,
    /// It has changed, but by less than matters.
    TooLittle,
    /// It has changed.
    Changed,
}

/// The answer for a difference, its standard uncertainty and the size that would matter, all in one unit.
pub fn compare(difference: f64, u: f64, limit: f64) -> Change {
    let size = difference.abs();
    if size <= TWO_SIDED * u || !size.is_finite() {
        Change::Unchanged
    } else if size + ONE_SIDED * u < limit {
        Change::TooLittle
    } else {
        Change::Changed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_answer_has_its_place() {
        for (d, u, limit, answer) in [
            (0.0, 0.1, 0.2, Change::Unchanged),
            (-0.19, 0.1, 0.2, Change::Unchanged),
            (0.05, 0.02, 0.2, Change::TooLittle),
            (-0.18, 0.02, 0.2, Change::Changed),
            (0.5, 0.0, 0.6, Change::TooLittle),
            (f64::NAN, 0.1, 0.2, Change::Unchanged),
        ] {
            assert_eq!(compare(d, u, limit), answer, "{d} {u} {limit}");
        }
    }
}
