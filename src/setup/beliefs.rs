//! How the expectations hang together: `[expected.correlation]`, and what is known of an instrument's scale.
//!
//! What readings teach of spacing and chain lengths is strong as a set and weak value by value, and all of it
//! leans on the tape that took them. Kept without these correlations, it would be taken for more than it is.

use super::{Expected, Instrument, Setup};
use crate::document::{Document, Quantity, Section};
use crate::machine::{COUNT, Unknown, Values};
use nalgebra::DMatrix;
use std::ops::Range;

/// Correlation of what is expected of each pair of unknowns; row and column as [`Unknown::ALL`].
pub type Correlation = [[f64; COUNT]; COUNT];

/// No pair of expectations has to do with each other.
pub const UNCORRELATED: Correlation = {
    let mut c = [[0.0; COUNT]; COUNT];
    let mut k = 0;
    while k < COUNT {
        c[k][k] = 1.0;
        k += 1;
    }
    c
};

/// A pivot below this share of its variance means that the correlations contradict each other.
const SINGULAR: f64 = 1e-12;

impl Setup {
    /// Covariance of what is expected of the unknowns, row and column as [`Unknown::ALL`]; nought for one held fixed.
    pub fn expected_covariance(&self) -> DMatrix<f64> {
        covariance(&self.expected, &self.correlation)
    }

    /// Covariance of each unknown with the scale error of an instrument, by its index.
    pub fn covariance_with_scale(&self, instrument: usize) -> [f64; COUNT] {
        let i = &self.instruments[instrument];
        std::array::from_fn(|k| i.scale_correlation[k] * self.expected.0[k].u * i.scale_u_mm_per_m)
    }
}

fn covariance(expected: &Values<Expected>, correlation: &Correlation) -> DMatrix<f64> {
    let u = |k: usize| expected.0[k].u;
    DMatrix::from_fn(COUNT, COUNT, |i, j| u(i) * u(j) * if i == j { 1.0 } else { correlation[i][j] })
}

/// Lower triangular L with L L' = C, a row of noughts where C has one (Cholesky's method); `None` when C is no
/// covariance.
pub fn lower_root(c: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = c.nrows();
    let mut l = DMatrix::<f64>::zeros(n, n);
    for j in 0..n {
        let pivot = c[(j, j)] - (0..j).map(|k| l[(j, k)].powi(2)).sum::<f64>();
        if c[(j, j)] == 0.0 {
            continue;
        }
        if pivot.is_nan() || pivot <= SINGULAR * c[(j, j)] {
            return None;
        }
        l[(j, j)] = pivot.sqrt();
        for i in j + 1..n {
            let rest = c[(i, j)] - (0..j).map(|k| l[(i, k)] * l[(j, k)]).sum::<f64>();
            l[(i, j)] = rest / l[(j, j)];
        }
    }
    Some(l)
}

/// Reads `[expected.correlation]`: under the name of an unknown those that come after it in the usual order.
pub(super) fn read(section: Option<Section<'_>>, unknowns: &[Unknown]) -> Correlation {
    let mut correlation = UNCORRELATED;
    let Some(mut section) = section else { return correlation };
    for (i, &unknown) in unknowns.iter().enumerate() {
        let Some(mut row) = section.section_if_any(unknown.name(), "{ height = 0.5, ... }") else { continue };
        for (j, other) in unknowns.iter().enumerate().skip(i + 1) {
            let value = row.number_or(other.name(), 0.0, &one_correlation()).value;
            (correlation[i][j], correlation[j][i]) = (value, value);
        }
        row.close();
    }
    section.close();
    correlation
}

/// What a correlation must be.
pub(super) fn one_correlation() -> Quantity {
    Quantity::plain("correlation of two expectations", "", -1.0..=1.0)
}

/// Refuses correlations that no quantities can have.
pub(super) fn check(
    document: &Document<'_>,
    span: Range<usize>,
    expected: &Values<Expected>,
    correlation: &Correlation,
    instruments: &[Instrument],
) {
    let n = COUNT + instruments.len();
    let mut joint = DMatrix::zeros(n, n);
    joint.view_mut((0, 0), (COUNT, COUNT)).copy_from(&covariance(expected, correlation));
    for (k, instrument) in instruments.iter().enumerate() {
        let at = COUNT + k;
        joint[(at, at)] = instrument.scale_u_mm_per_m.powi(2);
        for i in 0..COUNT {
            let c = instrument.scale_correlation[i] * expected.0[i].u * instrument.scale_u_mm_per_m;
            (joint[(at, i)], joint[(i, at)]) = (c, c);
        }
    }
    if lower_root(&joint).is_none() {
        let mistake = document
            .mistake(span, "these correlations contradict each other")
            .expected(
                "the numbers as tautgrid correct wrote them, or no [expected.correlation] and no `learnt`",
            )
            .help("take them out: the expectations are then used one by one");
        document.report(mistake);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Unit;
    use crate::setup::{read, template};

    const ADDED: &str = "stretch = { value = 0.35, u = 0.35 }";

    #[test]
    fn correlations_read_into_a_covariance() {
        let text = template("m", Unit::Inch)
            .replace(ADDED, &format!("{ADDED}\n[expected.correlation]\nspacing = {{ length_left = -0.9 }}"))
            .replacen(
                "class = \"II\"",
                "class = \"II\"\nlearnt = { scale = 0.05, u = 0.1, pitch_left = -0.8 }",
                1,
            );
        let (setup, _) = read(&text).unwrap_or_else(|e| panic!("{e:#?}"));
        let c = setup.expected_covariance();
        let (s, l) = (Unknown::Spacing as usize, Unknown::LengthLeft as usize);
        // 0.08 and 0.12 inch.
        assert!((c[(s, l)] + 0.9 * 2.032 * 3.048).abs() < 1e-9 && c[(l, s)] == c[(s, l)]);
        let tape = &setup.instruments[0];
        assert_eq!((tape.scale_mm_per_m, tape.scale_u_mm_per_m), (0.05, 0.1));
        assert!((setup.covariance_with_scale(0)[Unknown::PitchLeft as usize] + 0.08).abs() < 1e-12);
        let root = lower_root(&c).unwrap();
        assert!((&root * root.transpose() - &c).amax() < 1e-12);
    }

    #[test]
    fn correlations_that_cannot_be_are_refused() {
        let impossible =
            "[expected.correlation]\nspacing = { height = 0.9, tilt = 0.9 }\nheight = { tilt = -0.9 }";
        let text = template("m", Unit::Mm).replace(ADDED, &format!("{ADDED}\n{impossible}"));
        let mistakes = read(&text).unwrap_err();
        assert!(mistakes[0].title.contains("contradict"), "{mistakes:#?}");
    }
}
