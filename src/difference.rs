//! Has a quantity changed, and does it matter? Three answers, by its uncertainty and by what would matter.
//!
//! With the difference d, its standard uncertainty u and a limit: *unchanged* when |d| <= 1.96 u, so that with
//! nothing changed it is said to have in 5 of 100; else *too little to matter* when |d| + 1.645 u is under the limit, so
//! that a change that matters is passed over in 5 of 100 at most (the guard band of
//! [ISO 14253-1](crate::references::ISO_14253)); else *changed*.
//!
//! *Unchanged* alone would say too much where u is large: a change that matters may lie within it unseen. Then
//! [`could_hide`] says how large it can be, by the same guard band.

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

/// The answer for a difference, its standard uncertainty and the size that would matter, all in one unit; `None` when they
/// are not numbers that one could be given by.
pub fn compare(difference: f64, u: f64, limit: f64) -> Option<Change> {
    let size = difference.abs();
    if !size.is_finite() || !u.is_finite() || u < 0.0 || limit.is_nan() {
        return None;
    }
    Some(if size <= TWO_SIDED * u {
        Change::Unchanged
    } else if at_most(size, u) < limit {
        Change::TooLittle
    } else {
        Change::Changed
    })
}

/// How large a change can be of which none is seen, where that reaches what matters: in 5 of 100 cases it is larger still.
/// `None` where a change that matters would have been seen, and where the answer is another.
pub fn could_hide(difference: f64, u: f64, limit: f64) -> Option<f64> {
    let most = at_most(difference.abs(), u);
    (compare(difference, u, limit) == Some(Change::Unchanged) && most >= limit).then_some(most)
}

/// Upper end of a size with its guard band: in 5 of 100 cases it is larger.
pub fn at_most(size: f64, u: f64) -> f64 {
    size + ONE_SIDED * u
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_answer_has_its_place() {
        for (d, u, limit, answer) in [
            (0.0, 0.1, 0.2, Some(Change::Unchanged)),
            (-0.19, 0.1, 0.2, Some(Change::Unchanged)),
            (0.05, 0.02, 0.2, Some(Change::TooLittle)),
            (-0.18, 0.02, 0.2, Some(Change::Changed)),
            (0.5, 0.0, 0.6, Some(Change::TooLittle)),
            (0.0, 0.0, 0.6, Some(Change::Unchanged)),
            (f64::NAN, 0.1, 0.2, None),
            (f64::NEG_INFINITY, 0.1, 0.2, None),
            (0.1, f64::INFINITY, 0.2, None),
            (0.1, f64::NAN, 0.2, None),
            (0.1, -0.1, 0.2, None),
            (0.1, 0.1, f64::NAN, None),
        ] {
            assert_eq!(compare(d, u, limit), answer, "{d} {u} {limit}");
        }
    }

    #[test]
    fn what_could_hide_is_said_only_where_it_matters() {
        // 0.05 + 1.645 x 0.1 = 0.214.
        let most = could_hide(-0.05, 0.1, 0.2).unwrap();
        assert!((most - 0.214_485).abs() < 1e-6);
        // With half the uncertainty a change of 0.2 would have been seen.
        assert_eq!(could_hide(-0.05, 0.05, 0.2), None);
        // Changed, and no number: nothing hides.
        assert_eq!(could_hide(0.3, 0.1, 0.2), None);
        assert_eq!(could_hide(0.0, f64::NAN, 0.2), None);
    }
}
