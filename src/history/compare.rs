//! Two cuts against each other: has the machine changed, and does it matter?
//!
//! Both cuts are fitted together, each with unknowns of its own and what was expected before the first, but with one
//! scale and zero for an instrument that both used, so that its error cancels in the difference. The differences are then those
//! of the machine; settings that were changed in between play no part.

use super::over_sheet::OverSheet;
use super::{Entry, Mark};
use crate::difference::{self, Change};
use crate::events::Kind;
use crate::knowledge::Subject;
use crate::machine::{COUNT, Unknown, Values};
use crate::record::Estimate;
use crate::setup::Setup;
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// A change that moves nothing on the sheet by more than this share of the tolerance does not matter. Common
/// practice, no source: the rule of one to four.
const MATTERS: f64 = 0.25;
/// Level of the test for any change at all over the sheet.
const ALPHA: f64 = 0.05;
/// Directions of the difference that the readings see less than this are left out of that test.
const UNSEEN: f64 = 1e-3;

/// The answer to "has it changed?".
pub use crate::difference::Change as Answer;

/// One quantity of two cuts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighting {
    /// Later less earlier, in the quantity's unit.
    pub difference: Estimate,
    /// What would matter, same unit.
    pub limit: f64,
    /// Has it changed? Absent where that cannot be determined.
    pub answer: Option<Answer>,
    /// How large a change could be that is not seen, where that reaches what matters.
    pub could_hide: Option<f64>,
}

/// The map of the error in two cuts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapChange {
    /// Change over the sheet, mm rms, with its uncertainty.
    pub rms_mm: Estimate,
    /// Chance of readings as different when nothing has changed; absent when they say nothing.
    pub p_value: Option<f64>,
    /// What would matter, mm rms.
    pub limit_mm: f64,
    /// Has it changed? Absent where the readings say nothing of it.
    pub answer: Option<Answer>,
    /// How large a change could be that is not seen, mm rms, where that reaches what matters.
    pub could_hide_mm: Option<f64>,
}

/// Two cuts against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Id of the earlier.
    pub earlier: String,
    /// Id of the later.
    pub later: String,
    /// Did the same tape serve both?
    pub same_tape: bool,
    /// Scale x, scale y and skew with the same settings, mm/m.
    pub symptoms: [Sighting; 3],
    /// The unknowns; absent for one that the readings do not see in both.
    pub unknowns: Values<Option<Sighting>>,
    /// The whole map.
    pub map: MapChange,
}

/// Compares two entries; `None` where the machine cannot be worked out over the sheet.
pub(super) fn compare(
    setup: &Setup,
    earlier: &Entry,
    later: &Entry,
    marks: &[Mark],
    place: usize,
) -> Option<Comparison> {
    let new_tape = marks.iter().any(|m| m.kind == Kind::Tape && m.before == place);
    let (d, covariance) = difference(earlier, later, new_tape)?;
    let truth = Values::from_fn(|u| later.unknowns[u].value);
    let sheet = OverSheet::of(setup, &truth, earlier.placement_known && later.placement_known)?;
    let limit_mm = MATTERS * setup.tolerance_mm;
    let square = sheet.mean_square();
    let sight = |value: f64, variance: f64, limit: f64| {
        let e = Estimate { value, u: variance.max(0.0).sqrt() };
        Sighting {
            difference: e,
            limit,
            answer: difference::compare(value, e.u, limit),
            could_hide: difference::could_hide(value, e.u, limit),
        }
    };
    // A symptom matters when it alone moves the sheet's corner by the limit.
    let arms = [setup.sheet.width_mm, setup.sheet.height_mm, setup.sheet.height_mm];
    let spread = &sheet.symptoms * &covariance * sheet.symptoms.transpose();
    let values = &sheet.symptoms * &d;
    let symptoms = std::array::from_fn(|k| sight(values[k], spread[(k, k)], limit_mm / (arms[k] / 2000.0)));
    let unknowns = Values::from_fn(|u: Unknown| {
        let k = u as usize;
        let per_unit = square[(k, k)].sqrt();
        (per_unit > 0.0 && covariance[(k, k)] < expected_variance(earlier, u))
            .then(|| sight(d[k], covariance[(k, k)], limit_mm / per_unit))
    });
    Some(Comparison {
        earlier: earlier.id.clone(),
        later: later.id.clone(),
        same_tape: !new_tape && earlier.tapes.iter().any(|t| later.tapes.contains(t)),
        symptoms,
        unknowns,
        map: map_change(&d, &covariance, &square, earlier, limit_mm),
    })
}

/// Prior variance of a difference of two independent values of an unknown, less a little: what readings must improve on.
fn expected_variance(entry: &Entry, unknown: Unknown) -> f64 {
    let k = &entry.knowledge;
    let index = k.of.iter().position(|s| *s == Subject::Unknown(unknown));
    index.map_or(0.0, |i| 0.9 * 2.0 * k.expected_covariance[i][i])
}

/// Later less earlier, by the unknowns, with covariance.
fn difference(earlier: &Entry, later: &Entry, new_tape: bool) -> Option<(DVector<f64>, DMatrix<f64>)> {
    // Columns: unknowns of the earlier, of the later, then what is shared.
    let mut shared: Vec<(Subject, bool)> = Vec::new();
    let mut column = |subject: &Subject, is_later: bool, entry: &Entry| match subject {
        Subject::Unknown(u) => *u as usize + if is_later { COUNT } else { 0 },
        Subject::Scale(name) | Subject::Zero(name) => {
            let own = is_later && new_tape && entry.tapes.contains(name);
            let key = (subject.clone(), own);
            let at = shared.iter().position(|s| *s == key).unwrap_or_else(|| {
                shared.push(key);
                shared.len() - 1
            });
            2 * COUNT + at
        }
    };
    let columns: [Vec<usize>; 2] = [(earlier, false), (later, true)]
        .map(|(e, is_later)| e.knowledge.of.iter().map(|s| column(s, is_later, e)).collect());
    let n = 2 * COUNT + shared.len();
    let (mut normal, mut right) = (DMatrix::<f64>::zeros(n, n), DVector::<f64>::zeros(n));
    let mut add = |row: &[f64], at: &[usize], value: f64| {
        for (a, &i) in row.iter().zip(at) {
            right[i] += a * value;
            for (b, &j) in row.iter().zip(at) {
                normal[(i, j)] += a * b;
            }
        }
    };
    let first = &earlier.knowledge;
    for (entry, at) in [earlier, later].into_iter().zip(&columns) {
        let k = &entry.knowledge;
        for (row, &value) in k.rows.iter().zip(&k.values) {
            add(row, at, value);
        }
        // The same was expected of both machines: what was learnt in between must not decide whether it changed.
        for (i, subject) in k.of.iter().enumerate() {
            let from = first.of.iter().position(|s| s == subject);
            let (expected, variance) = from.map_or((k.expected[i], k.expected_covariance[i][i]), |f| {
                (first.expected[f], first.expected_covariance[f][f])
            });
            let is_shared = at[i] >= 2 * COUNT;
            let counted = is_shared && std::ptr::eq(entry, later) && columns[0].contains(&at[i]);
            if variance > 0.0 && !counted {
                add(&[1.0 / variance.sqrt()], &[at[i]], expected / variance.sqrt());
            }
        }
    }
    // An unknown that is held fixed in both stays what it is.
    for i in 0..2 * COUNT {
        if normal[(i, i)] == 0.0 {
            normal[(i, i)] = 1.0;
        }
    }
    // In units of each diagonal, which takes the units out.
    let size = normal.diagonal().map(f64::sqrt);
    let scaled = DMatrix::from_fn(n, n, |i, j| normal[(i, j)] / (size[i] * size[j]));
    let inverse = scaled.cholesky()?.inverse();
    let all = DMatrix::from_fn(n, n, |i, j| inverse[(i, j)] / (size[i] * size[j]));
    let x = &all * right;
    let d = DVector::from_fn(COUNT, |k, _| x[COUNT + k] - x[k]);
    let covariance = DMatrix::from_fn(COUNT, COUNT, |i, j| {
        let c = |a: usize, b: usize| all[(a, b)];
        c(COUNT + i, COUNT + j) + c(i, j) - c(COUNT + i, j) - c(i, COUNT + j)
    });
    Some((d, covariance))
}

/// The change of the whole map, with a test over the directions that the readings see.
fn map_change(
    d: &DVector<f64>,
    covariance: &DMatrix<f64>,
    square: &DMatrix<f64>,
    earlier: &Entry,
    limit_mm: f64,
) -> MapChange {
    let rms = d.dot(&(square * d)).max(0.0).sqrt();
    let spread = square * covariance;
    let u = if rms > 0.0 {
        (d.dot(&(&spread * (square * d)))).max(0.0).sqrt() / rms
    } else {
        spread.trace().max(0.0).sqrt()
    };
    let p_value = seen_square(d, covariance, earlier)
        .and_then(|(chi_square, dof)| Some(ChiSquared::new(dof as f64).ok()?.sf(chi_square)));
    let most = difference::at_most(rms, u);
    let answer = p_value.filter(|_| most.is_finite()).map(|p| match () {
        () if p >= ALPHA => Change::Unchanged,
        () if most < limit_mm => Change::TooLittle,
        () => Change::Changed,
    });
    let could_hide_mm = (answer == Some(Change::Unchanged) && most >= limit_mm).then_some(most);
    MapChange { rms_mm: Estimate { value: rms, u }, p_value, limit_mm, answer, could_hide_mm }
}

/// d'C^-1 d over the directions in which the readings shrink what was expected of the difference, and their number.
fn seen_square(d: &DVector<f64>, covariance: &DMatrix<f64>, earlier: &Entry) -> Option<(f64, usize)> {
    let k = &earlier.knowledge;
    let scale = DVector::from_fn(COUNT, |i, _| {
        let at = k.of.iter().position(|s| *s == Subject::Unknown(Unknown::ALL[i]));
        at.map_or(0.0, |a| (2.0 * k.expected_covariance[a][a]).sqrt())
    });
    let free: Vec<usize> = (0..COUNT).filter(|&i| scale[i] > 0.0).collect();
    let c = DMatrix::from_fn(free.len(), free.len(), |i, j| {
        covariance[(free[i], free[j])] / (scale[free[i]] * scale[free[j]])
    });
    let eigen = c.symmetric_eigen();
    let z = DVector::from_fn(free.len(), |i, _| d[free[i]] / scale[free[i]]);
    let along = eigen.eigenvectors.transpose() * z;
    let (mut sum, mut dof) = (0.0, 0);
    for (a, &c) in along.iter().zip(eigen.eigenvalues.iter()) {
        // With nothing changed, the shrunk estimate of a direction (expected 0 +- 1, left c) has variance c (1 - c).
        if c < 1.0 - UNSEEN && c > 0.0 {
            sum += a * a / (c * (1.0 - c));
            dof += 1;
        }
    }
    (dof > 0).then_some((sum, dof))
}
