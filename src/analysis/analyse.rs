//! The one pure function that joins the rooms.

use super::doubts::{read_from_behind, reading_results};
use crate::adjustment::{Fitted, Model, Quantity};
use crate::budget::{Draws, ErrorDistribution, vector_u_mm};
use crate::correction::{adjustable, best_settings};
use crate::field::{Field, Placement, WorkingArea, max_mm, vectors};
use crate::fit::OutOfDomain;
use crate::frame::{Edge, Point};
use crate::machine::{Unknown, Values};
use crate::pattern::{Hole, Pattern};
use crate::readings::{Place, Reading};
use crate::record::*;
use crate::screening::{ALPHA, Screened, screen};
use crate::setup::Setup;
use crate::symptoms::symptoms;
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Correlation beyond which two unknowns are said to imitate each other.
const LOOKALIKE: f64 = 0.9;
/// Readings that lower the variance of an unknown by less than this share do not see it.
const UNSEEN: f64 = 1e-3;
/// Chance at which a verdict is given (ISO 14253-1:2017, default conformance probability).
const SURE: f64 = 0.95;
/// Chance of chi-square beyond which readings and statements are said to disagree.
const DISAGREE: f64 = 0.01;
/// Readings below which a blunder may hide.
const FEW: usize = 12;

/// What is analysed: one cut as it was made and read.
#[derive(Debug, Clone, Copy)]
pub struct Cut<'a> {
    /// Id of the cut.
    pub id: &'a str,
    /// The machine with the settings in force at the cut.
    pub setup: &'a Setup,
    /// The pattern.
    pub pattern: &'a Pattern,
    /// The readings.
    pub readings: &'a [Reading],
    /// Planned distances not read yet.
    pub blank: usize,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum NoAnswer {
    /// No reading at all.
    NoReadings,
    /// The machine as described cannot have cut this pattern.
    Impossible(String),
}

impl std::fmt::Display for NoAnswer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoReadings => write!(f, "there is no reading yet: enter some distances first"),
            Self::Impossible(why) => {
                write!(f, "the machine as described cannot have cut this pattern: {why}")
            }
        }
    }
}

impl std::error::Error for NoAnswer {}

impl From<OutOfDomain> for NoAnswer {
    fn from(e: OutOfDomain) -> Self {
        Self::Impossible(e.0)
    }
}

/// Works out everything that a cut's readings say.
///
/// # Errors
/// When there are no readings, or the machine as described cannot have cut the pattern.
pub fn analyse(cut: &Cut<'_>) -> Result<Analysis, NoAnswer> {
    if cut.readings.is_empty() {
        return Err(NoAnswer::NoReadings);
    }
    let setup = cut.setup;
    let holes = cut.pattern.holes();
    let impossible = |e: crate::machine::Unreachable| NoAnswer::Impossible(e.to_string());
    let model = Model::new(setup, &holes, cut.readings).map_err(impossible)?;
    let screened = screen(&model, setup.hardware.pitch_mm, ALPHA)?;
    let fitted = &screened.fitted;
    let edges = Edges::of(cut.readings, &screened, &holes);
    let error = errors(setup, &screened, &holes, edges.fix_placement)?;
    let (holes_out, symptoms) = hole_results(&holes, fitted, edges.fix_placement);
    let (used, set_aside) = reading_results(cut, &holes, &screened);
    let unknowns = unknown_results(setup, &screened);
    let (correlation_names, correlation) = correlations(&screened.model, fitted);
    let mut notices = notices(setup, &screened, &unknowns, &error, &edges);
    let disagree = p_value(fitted).is_some_and(|p| p < DISAGREE);
    if disagree && read_from_behind(cut, &holes, &model, fitted.chi_square) {
        notices.push(Notice::ReadFromBehind);
    }
    Ok(Analysis {
        cut: cut.id.to_owned(),
        machine: setup.name.clone(),
        unit: setup.unit,
        sheet: setup.sheet,
        hole_diameter_mm: cut.pattern.hole_diameter_mm,
        hole_scatter_mm: setup.hole_scatter_mm,
        used,
        set_aside,
        blank: cut.blank,
        fit: FitQuality {
            converged: fitted.converged,
            iterations: fitted.iterations,
            dof: fitted.dof,
            chi_square: fitted.chi_square,
            p_value: p_value(fitted),
        },
        lookalikes: lookalikes(&correlation_names, &correlation),
        not_determined: unknowns
            .iter()
            .filter(|u| u.known_from == KnownFrom::NotDeterminable)
            .map(|u| u.unknown.name().to_owned())
            .collect(),
        unknowns,
        correlation_names,
        correlation,
        instruments: instrument_results(setup, &screened),
        symptoms,
        causes: error.causes,
        error: error.budget,
        settings_new: error.changes,
        holes: holes_out,
        map: error.map,
        notices,
    })
}

/// Chance of a chi-square as large.
fn p_value(fitted: &Fitted) -> Option<f64> {
    let distribution = ChiSquared::new(fitted.dof as f64).ok()?;
    Some(distribution.sf(fitted.chi_square))
}

/// Which edges were read, and whether they fix shift and turn.
struct Edges {
    used: Vec<Edge>,
    fix_placement: bool,
}

impl Edges {
    /// Shift in x, shift in y and turn are fixed when the edge readings' rows have full rank on them.
    fn of(readings: &[Reading], screened: &Screened, holes: &[Hole]) -> Self {
        let mut used = Vec::new();
        let mut rows: Vec<[f64; 3]> = Vec::new();
        for (reading, &weight) in readings.iter().zip(&screened.model.weights) {
            let (edge, hole) = match (reading.from, reading.to) {
                (Place::Edge(e), Place::Hole(i)) | (Place::Hole(i), Place::Edge(e)) => (e, i),
                _ => continue,
            };
            if weight == 0.0 {
                continue;
            }
            let p = holes[hole].target;
            // In metres, so that a turn over an arm of 1 m weighs as much as a shift.
            rows.push(match edge {
                Edge::Left | Edge::Right => [1.0, 0.0, -p.y_mm / 1000.0],
                Edge::Top | Edge::Bottom => [0.0, 1.0, p.x_mm / 1000.0],
            });
            if !used.contains(&edge) {
                used.push(edge);
            }
        }
        let mut normal = DMatrix::<f64>::zeros(3, 3);
        for row in &rows {
            let v = DVector::from_row_slice(row);
            normal += &v * v.transpose();
        }
        let least = normal.symmetric_eigenvalues().min();
        // Two readings along one edge, 0.4 m apart, give a turn 0.2^2 + 0.2^2 = 0.08.
        Self { used, fix_placement: least > 0.05 }
    }
}

/// The unknowns before and after.
fn unknown_results(setup: &Setup, screened: &Screened) -> Vec<UnknownResult> {
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
fn seen(screened: &Screened, unknown: Unknown) -> bool {
    let Some(k) = screened.model.index_of(Quantity::Unknown(unknown)) else { return false };
    let rows = &screened.fitted.reading_rows;
    let information: f64 = (0..rows.nrows()).map(|i| screened.model.weights[i] * rows[(i, k)].powi(2)).sum();
    information * screened.model.parameters[k].prior.u.powi(2) > UNSEEN
}

/// Correlation of the unknowns that are not held fixed.
fn correlations(model: &Model, fitted: &Fitted) -> (Vec<Unknown>, Vec<Vec<f64>>) {
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
fn lookalikes(names: &[Unknown], correlation: &[Vec<f64>]) -> Vec<Lookalikes> {
    let mut pairs: Vec<Lookalikes> = (0..names.len())
        .flat_map(|i| (i + 1..names.len()).map(move |j| (i, j)))
        .filter(|&(i, j)| correlation[i][j].abs() > LOOKALIKE)
        .map(|(i, j)| Lookalikes { a: names[i], b: names[j], correlation: correlation[i][j] })
        .collect();
    pairs.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
    pairs
}

/// Shared errors of the instruments that took part.
fn instrument_results(setup: &Setup, screened: &Screened) -> Vec<InstrumentResult> {
    let model = &screened.model;
    let estimate = |quantity| {
        let k = model.index_of(quantity)?;
        let variance = screened.fitted.covariance[(k, k)];
        Some(Estimate { value: screened.fitted.phi[k], u: variance.max(0.0).sqrt() })
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
        })
        .filter(|r| r.readings > 0)
        .collect()
}

/// Displacement of the holes and its symptoms.
fn hole_results(holes: &[Hole], fitted: &Fitted, placement_known: bool) -> (Vec<HoleResult>, Symptoms) {
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

/// Everything about errors over the working area.
struct Errors {
    causes: Vec<Cause>,
    budget: ErrorBudget,
    changes: Vec<SettingChange>,
    map: ErrorMap,
}

fn errors(
    setup: &Setup,
    screened: &Screened,
    holes: &[Hole],
    placement_known: bool,
) -> Result<Errors, NoAnswer> {
    let fitted = &screened.fitted;
    let belief = setup.belief();
    let truth = setup.nature(fitted.theta);
    let sheet = WorkingArea::of_sheet(&setup.sheet);
    let (area, field) = match Field::of(&belief, &truth, &sheet.points) {
        Ok(field) => (sheet, field),
        Err(_) => {
            // Somewhere near the rim the chains cannot hold the carriage: judge where the cut was.
            let targets: Vec<Point> = holes.iter().map(|h| h.target).collect();
            let area = WorkingArea::around(&targets);
            let field =
                Field::of(&belief, &truth, &area.points).map_err(|e| NoAnswer::Impossible(e.to_string()))?;
            (area, field)
        }
    };
    let placement = area.placement(placement_known);
    let leaning = Values::from_fn(|u| (fitted.theta[u], setup.expected[u].u));
    let free = adjustable(&setup.can_set, placement_known);
    let settings = best_settings(&belief, &truth, &free, &leaning, &area, placement_known)?;
    let after = Field::of(&setup.controller(settings), &truth, &area.points)
        .map_err(|e| NoAnswer::Impossible(e.to_string()))?;

    let covariance = fitted.theta_covariance(&screened.model);
    let draws = Draws::new();
    let now =
        ErrorDistribution::of(&draws, &area, &field.displacement, &field.by_truth, &covariance, &placement);
    let then =
        ErrorDistribution::of(&draws, &area, &after.displacement, &after.by_truth, &covariance, &placement);
    let nothing = DVector::zeros(after.displacement.len());
    let bent = ErrorDistribution::of(&draws, &area, &nothing, &after.by_truth, &covariance, &placement);
    let chance_within = now.chance_within(setup.tolerance_mm);
    Ok(Errors {
        causes: causes(setup, screened, &area, &placement.remove_columns(&field.by_truth)),
        budget: ErrorBudget {
            placement_known,
            as_cut: now.at_estimate,
            as_cut_rms_u_mm: now.rms_u_mm(),
            after: then.prediction(),
            floor: then.at_estimate,
            compensated: bent.prediction(),
            tolerance_mm: setup.tolerance_mm,
            chance_within,
            verdict: if chance_within >= SURE {
                Verdict::Pass
            } else if chance_within <= 1.0 - SURE {
                Verdict::Fail
            } else {
                Verdict::CannotTell
            },
        },
        changes: setup
            .can_set
            .iter()
            .map(|&unknown| SettingChange { unknown, from: setup.settings[unknown], to: settings[unknown] })
            .collect(),
        map: ErrorMap {
            columns: area.columns,
            rows: area.rows,
            as_cut: vectors(&placement.remove(&field.displacement)).collect(),
            after: vectors(&placement.remove(&after.displacement)).collect(),
            u_mm: vector_u_mm(&field.by_truth, &covariance, &placement),
            points: area.points,
        },
    })
}

/// What each unknown's correction is responsible for, largest first.
fn causes(setup: &Setup, screened: &Screened, area: &WorkingArea, by_truth: &DMatrix<f64>) -> Vec<Cause> {
    let mut causes: Vec<Cause> = Unknown::ALL
        .into_iter()
        .map(|unknown| {
            let shape = by_truth.column(unknown as usize).into_owned();
            let correction = screened.fitted.theta[unknown] - setup.settings[unknown];
            let (rms, max) = (area.rms_mm(&shape), max_mm(&shape));
            let u = screened.fitted.u(&screened.model, unknown);
            Cause {
                unknown,
                rms: Estimate { value: correction.abs() * rms, u: u * rms },
                max_mm: correction.abs() * max,
            }
        })
        .collect();
    causes.sort_by(|a, b| b.rms.value.total_cmp(&a.rms.value));
    causes
}

/// What else the person should know.
fn notices(
    setup: &Setup,
    screened: &Screened,
    unknowns: &[UnknownResult],
    error: &Errors,
    edges: &Edges,
) -> Vec<Notice> {
    let fitted = &screened.fitted;
    let mut notices = Vec::new();
    if !fitted.converged {
        notices.push(Notice::NotSettled);
    }
    if let Some(p) = p_value(fitted) {
        if p < DISAGREE {
            let factor = (fitted.chi_square / fitted.dof as f64).sqrt();
            notices.push(Notice::ReadingsDisagree { p_value: p, factor });
        } else if p > 1.0 - DISAGREE {
            notices.push(Notice::ReadingsTooGood { p_value: p });
        }
    }
    let used = screened.model.weights.iter().filter(|&&w| w > 0.0).count();
    if used < FEW {
        notices.push(Notice::FewReadings { used });
    }
    notices.extend(whole_pitch(setup, screened));
    for result in unknowns {
        if result.expected.u > 0.0 && screened.expectations_dropped.contains(&result.unknown) {
            let sigmas = (result.estimate.value - result.expected.value) / result.expected.u;
            notices.push(Notice::FarFromExpected { unknown: result.unknown, sigmas });
        }
    }
    let budget = &error.budget;
    if budget.after.bound95_mm >= budget.as_cut.rms_mm {
        notices.push(Notice::LeaveAlone);
    }
    if !edges.used.is_empty() && !edges.fix_placement {
        notices.push(Notice::PlacementIncomplete { edges: edges.used.clone() });
    }
    notices
}

/// A chain length near a whole number of pitches away from its setting: found by the screening, or estimated so well
/// that nothing else is near.
fn whole_pitch(setup: &Setup, screened: &Screened) -> Option<Notice> {
    if let Some(jump) = screened.jump {
        return Some(Notice::WholePitch { unknown: jump.unknown, pitches: jump.pitches });
    }
    let pitch = setup.hardware.pitch_mm;
    [Unknown::LengthLeft, Unknown::LengthRight].into_iter().find_map(|unknown| {
        let correction = screened.fitted.theta[unknown] - setup.settings[unknown];
        let u = screened.fitted.u(&screened.model, unknown);
        let pitches = (correction / pitch).round();
        let near = (correction - pitches * pitch).abs() < 2.0 * u.max(0.02 * pitch);
        (pitches != 0.0 && u < pitch / 6.0 && near)
            .then_some(Notice::WholePitch { unknown, pitches: pitches as i32 })
    })
}
