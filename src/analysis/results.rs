//! What the fit says of the unknowns, the instruments and the holes.

use crate::adjustment::{Fitted, Model, Quantity};
use crate::field::{Placement, vectors};
use crate::frame::Point;
use crate::knowledge::{Knowledge, Subject};
use crate::machine::Unknown;
use crate::pattern::Hole;
use crate::record::*;
use crate::screening::Screened;
use crate::setup::{Setup, lower_root};
use crate::symptoms::symptoms;
use nalgebra::{DMatrix, DVector};

/// Correlation beyond which two unknowns are said to imitate each other.
const LOOKALIKE: f64 = 0.9;
/// Readings that lower the variance of an unknown by less than this share do not see it: its standard uncertainty
/// would shrink by under 1 %.
const UNSEEN: f64 = 0.02;

/// Scatters that the readings must check, in redundancy, before their size is estimated from them.
const SCATTERS_CHECKED: f64 = 4.0;

/// The unknowns before and after.
pub fn unknown_results(setup: &Setup, screened: &Screened) -> Vec<UnknownResult> {
    Unknown::ALL
        .into_iter()
        .map(|unknown| {
            let expected = setup.expected[unknown];
            let u = screened.fitted.u(&screened.model, unknown);
            let value = screened.fitted.theta[unknown];
            let known_from = if expected.u == 0.0 {
                KnownFrom::SetUp
            } else if !seen(screened, unknown) {
                KnownFrom::NotDeterminable
            } else if u < 0.5 * expected.u {
                KnownFrom::Readings
            } else if u > 0.9 * expected.u {
                KnownFrom::SetUp
            } else {
                KnownFrom::Both
            };
            UnknownResult {
                unknown,
                setting: setup.settings[unknown],
                expected: Estimate { value: expected.value, u: expected.u },
                estimate: Estimate { value, u },
                known_from,
            }
        })
        .collect()
}

/// Do the readings say anything of an unknown? Its column over the readings that take part, in units of its prior.
pub fn seen(screened: &Screened, unknown: Unknown) -> bool {
    let Some(k) = screened.model.index_of(Quantity::Unknown(unknown)) else { return false };
    let rows = &screened.fitted.reading_rows;
    let information: f64 = (0..rows.nrows()).map(|i| screened.model.weights[i] * rows[(i, k)].powi(2)).sum();
    information * screened.model.parameters[k].prior.u.powi(2) > UNSEEN
}

/// Correlation of the unknowns that are not held fixed.
pub fn correlations(model: &Model, fitted: &Fitted) -> (Vec<Unknown>, Vec<Vec<f64>>) {
    let free: Vec<(Unknown, usize)> =
        Unknown::ALL.into_iter().filter_map(|u| Some((u, model.index_of(Quantity::Unknown(u))?))).collect();
    let c = &fitted.covariance;
    let matrix = free
        .iter()
        .map(|&(_, i)| {
            free.iter()
                .map(|&(_, j)| if i == j { 1.0 } else { c[(i, j)] / (c[(i, i)] * c[(j, j)]).sqrt() })
                .collect()
        })
        .collect();
    (free.into_iter().map(|(u, _)| u).collect(), matrix)
}

/// Pairs that imitate each other, the worst first.
pub fn lookalikes(names: &[Unknown], correlation: &[Vec<f64>]) -> Vec<Lookalikes> {
    let mut pairs: Vec<Lookalikes> = (0..names.len())
        .flat_map(|i| (i + 1..names.len()).map(move |j| (i, j)))
        .filter(|&(i, j)| correlation[i][j].abs() > LOOKALIKE)
        .map(|(i, j)| Lookalikes { a: names[i], b: names[j], correlation: correlation[i][j] })
        .collect();
    pairs.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
    pairs
}

/// Shared errors of the instruments that took part.
pub fn instrument_results(setup: &Setup, screened: &Screened) -> Vec<InstrumentResult> {
    let model = &screened.model;
    let estimate = |quantity| {
        let k = model.index_of(quantity)?;
        let variance = screened.fitted.covariance[(k, k)];
        Some(Estimate { value: screened.fitted.phi[k], u: variance.max(0.0).sqrt() })
    };
    let correlation = |a, b| match (model.index_of(a), model.index_of(b)) {
        (Some(i), Some(j)) => {
            let c = &screened.fitted.covariance;
            let sizes = (c[(i, i)] * c[(j, j)]).sqrt();
            if sizes > 0.0 { c[(i, j)] / sizes } else { 0.0 }
        }
        _ => 0.0,
    };
    setup
        .instruments
        .iter()
        .enumerate()
        .map(|(k, instrument)| InstrumentResult {
            name: instrument.name.clone(),
            readings: model
                .observations
                .iter()
                .zip(&model.weights)
                .filter(|(o, w)| o.instrument == k && **w > 0.0)
                .count(),
            scale: estimate(Quantity::Scale(k)),
            zero: estimate(Quantity::Zero(k)),
            scale_correlation: Unknown::ALL.map(|u| correlation(Quantity::Scale(k), Quantity::Unknown(u))),
        })
        .filter(|r| r.readings > 0)
        .collect()
}

/// Displacement of the holes and its symptoms.
pub fn hole_results(holes: &[Hole], fitted: &Fitted, placement_known: bool) -> (Vec<HoleResult>, Symptoms) {
    let targets: Vec<Point> = holes.iter().map(|h| h.target).collect();
    let displacement = DVector::from_iterator(
        2 * holes.len(),
        holes.iter().zip(&fitted.places).flat_map(|(h, p)| {
            let d = *p - h.target;
            [d.x_mm, d.y_mm]
        }),
    );
    let covariance = fitted.places_covariance();
    let placement = if placement_known {
        Placement::known()
    } else {
        Placement::unknown(&targets, &vec![1.0; targets.len()])
    };
    let shown = placement.remove(&displacement);
    let half = placement.remove_columns(&covariance);
    let shown_covariance = placement.remove_columns(&half.transpose());
    let results = holes
        .iter()
        .enumerate()
        .zip(vectors(&shown))
        .map(|((i, hole), d)| HoleResult {
            id: hole.id.clone(),
            target: hole.target,
            displacement: d,
            u_mm: (shown_covariance[(2 * i, 2 * i)] + shown_covariance[(2 * i + 1, 2 * i + 1)])
                .max(0.0)
                .sqrt(),
        })
        .collect();
    (results, symptoms(&targets, &shown, &shown_covariance, placement_known))
}

/// Scatter of the holes as the readings have it: sigma_h^2 (sum of squares)/(sum of redundancy numbers), the estimate of a
/// variance component by [Förstner](crate::references::FOERSTNER_1979), with the relative uncertainty 1/sqrt(2 r) of
/// the square root of a sum of r squares.
pub fn hole_scatter(setup: &Setup, fitted: &Fitted) -> Option<Estimate> {
    let r = fitted.scatter_redundancy;
    (r > SCATTERS_CHECKED).then(|| {
        let value = setup.hole_scatter_mm * (fitted.scatter_squares / r).sqrt();
        Estimate { value, u: value / (2.0 * r).sqrt() }
    })
}

/// What the readings say by themselves.
pub fn knowledge(setup: &Setup, screened: &Screened) -> Knowledge {
    let (model, fitted) = (&screened.model, &screened.fitted);
    let name = |k: usize| setup.instruments[k].name.clone();
    let of = model
        .parameters
        .iter()
        .map(|p| match p.quantity {
            Quantity::Unknown(u) => Subject::Unknown(u),
            Quantity::Scale(k) => Subject::Scale(name(k)),
            Quantity::Zero(k) => Subject::Zero(name(k)),
        })
        .collect();
    let prior: Vec<f64> = model.parameters.iter().map(|p| p.prior.value).collect();
    let off = &fitted.phi - DVector::from_column_slice(&prior);
    let gradient = model.prior_rows().transpose() * (model.prior_rows() * off);
    let root = lower_root(model.prior_covariance()).unwrap_or_else(|| {
        DMatrix::from_diagonal(&model.prior_covariance().diagonal().map(|v| v.max(0.0).sqrt()))
    });
    Knowledge::of_fit(of, &fitted.phi, &fitted.information, &gradient, &root, prior)
}
