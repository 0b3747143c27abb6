//! The machine as its tape says it is, and the readings that contradict each other.

use super::centre_line::CentreLine;
use super::model::{Model, Parameter};
use super::reading::{Look, Reading};
use crate::fit::{self, Options, OutOfDomain, Spectrum, Stop, leverages};
use crate::machine::{COUNT, Side, Unknown, Values};
use crate::record::{Estimate, KnownFrom};
use crate::screening::{ALPHA, Slip, SlipContext, critical_w, likeliest};
use crate::setup::Setup;
use nalgebra::DMatrix;

/// Singular values under this share of the largest count as nought; with an expectation or a reading for everything
/// none is.
const RANK_TOLERANCE: f64 = 1e-12;
/// A reading with less redundancy than this is not checked by anything else.
const UNCHECKED: f64 = 1e-6;
/// Readings whose residuals are within this share of the largest cannot be told from it: any of them may be wrong.
const ALIKE: f64 = 0.97;
/// As far from the others, in standard uncertainties, as an undone slip may still be.
const FIT_WITHIN: f64 = 2.6;
/// Most links by which a count is wrong.
const MOST_LINKS: f64 = 6.0;

/// One reading against all.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The reading.
    pub reading: Reading,
    /// Standard uncertainty of its own noise, mm.
    pub u_mm: f64,
    /// What all readings together make of it, mm.
    pub adjusted_mm: f64,
    /// Standardised residual, positive when it was read longer; `None` when nothing checks it.
    pub w: Option<f64>,
    /// Redundancy number, 0 (nothing checks it) to 1.
    pub redundancy: f64,
}

/// What probably happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Likely {
    /// A slip of the eye, the tape or the pen.
    Slip(Slip),
    /// Read from the other edge or at the other corner: it fits there.
    OtherSide,
    /// Links miscounted, by so many too many.
    Links(i32),
}

/// A reading that the others contradict.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Index among the readings.
    pub row: usize,
    /// What the others make of it, mm.
    pub others_mm: f64,
    /// Standardised residual.
    pub w: f64,
    /// What probably happened.
    pub likely: Option<Likely>,
}

/// What the tape says.
#[derive(Debug, Clone, PartialEq)]
pub struct Taped {
    /// The machine's unknowns, those held fixed included.
    pub theta: Values<f64>,
    /// Their covariance, row and column as [`Unknown::ALL`]; noughts for those held fixed.
    pub covariance: DMatrix<f64>,
    /// What each rests on: its own readings, readings and what is usual, or what is usual alone.
    pub known_from: Values<KnownFrom>,
    /// Index of the tape among the instruments.
    pub tape: usize,
    /// Its scale error, mm/m.
    pub scale: Estimate,
    /// Correlation of that with each unknown.
    pub scale_correlation: [f64; COUNT],
    /// The sheet's sides out of square to its top edge, mm/m, top to the right.
    pub lean: Estimate,
    /// The sheet's width, mm.
    pub width: Estimate,
    /// The readings.
    pub rows: Vec<Row>,
    /// Readings that the others contradict, none of which can be told from the worst; empty when all agree.
    pub doubts: Vec<Doubt>,
    /// Unknowns that the readings put far from what is usual, with how many standard uncertainties.
    pub unusual: Vec<(Unknown, f64)>,
    /// Weighted sum of squares, what is usual included.
    pub chi_square: f64,
    /// Its degrees of freedom.
    pub dof: usize,
    /// The marks of the beam's middle by themselves.
    pub centre_line: Option<CentreLine>,
}

impl Taped {
    /// Standard uncertainty of an unknown, in its unit.
    pub fn u(&self, unknown: Unknown) -> f64 {
        self.covariance[(unknown as usize, unknown as usize)].max(0.0).sqrt()
    }

    /// Correlation of two unknowns; 0 where one is held fixed.
    pub fn correlation(&self, a: Unknown, b: Unknown) -> f64 {
        let size = self.u(a) * self.u(b);
        if size > 0.0 { self.covariance[(a as usize, b as usize)] / size } else { 0.0 }
    }

    /// The same with all uncertainties widened by what the readings scatter beyond their stated uncertainties
    /// (the factor of Birge), for whoever keeps readings that contradict each other.
    #[must_use]
    pub fn widened(mut self) -> Self {
        let factor = (self.chi_square / self.dof.max(1) as f64).sqrt().max(1.0);
        self.covariance *= factor * factor;
        self.scale.u *= factor;
        self
    }
}

/// Adjusts all readings together. `fresh`: nothing was known of this very machine before, so that a reading takes the
/// place of what is usual; otherwise `[expected]` is what earlier readings taught, and stays an observation.
///
/// # Errors
/// When the machine cannot hang as described at its middle, or its numbers cannot be determined.
pub fn estimate(setup: &Setup, readings: &[Reading], fresh: bool) -> Result<Taped, OutOfDomain> {
    let model = Model::new(setup, readings, fresh)?;
    let solution = fit::solve(&model, &model.start, &Options::default());
    match &solution.stop {
        Stop::StartOutOfDomain(why) => return Err(OutOfDomain(why.clone())),
        stop if !stop.converged() => {
            return Err(OutOfDomain("these readings lead to no machine: one of them is far off".to_owned()));
        }
        _ => {}
    }
    let undetermined = || OutOfDomain("the readings determine no machine".to_owned());
    let phi_covariance =
        Spectrum::of(&solution.jacobian).covariance(RANK_TOLERANCE).map_err(|_| undetermined())?;
    let phi = &solution.x;
    let columns = Unknown::ALL.map(|u| model.column(Parameter::Unknown(u)));
    let between = |a: Option<usize>, b: Option<usize>| a.zip(b).map_or(0.0, |(i, j)| phi_covariance[(i, j)]);
    let covariance = DMatrix::from_fn(COUNT, COUNT, |i, j| between(columns[i], columns[j]));
    let estimate_of = |parameter: Parameter| {
        let k = model.column(parameter);
        Estimate { value: k.map_or(0.0, |k| phi[k]), u: between(k, k).max(0.0).sqrt() }
    };
    let scale_at = model.column(Parameter::Scale);
    let scale = match scale_at {
        Some(_) => estimate_of(Parameter::Scale),
        None => Estimate { value: model.instrument().scale_mm_per_m, u: 0.0 },
    };
    let scale_correlation = std::array::from_fn(|i| {
        let size = covariance[(i, i)].max(0.0).sqrt() * scale.u;
        if size > 0.0 { between(columns[i], scale_at) / size } else { 0.0 }
    });
    let leverage = leverages(&solution.jacobian);
    let rows: Vec<Row> = readings
        .iter()
        .enumerate()
        .map(|(i, reading)| {
            let redundancy = (1.0 - leverage[i]).max(0.0);
            Row {
                reading: reading.clone(),
                u_mm: model.u_mm[i],
                adjusted_mm: reading.as_read_mm + solution.residuals[i] * model.u_mm[i],
                w: (redundancy > UNCHECKED).then(|| -solution.residuals[i] / redundancy.sqrt()),
                redundancy,
            }
        })
        .collect();
    let critical = critical_w(rows.len(), ALPHA);
    let width = estimate_of(Parameter::Width);
    let width = Estimate { value: setup.sheet.width_mm + width.value, u: width.u };
    let state = model.state(phi)?;
    let other_side = |look: Look| other(look).map(|look| model.predicted(look, &state).0);
    Ok(Taped {
        known_from: Values::from_fn(|u| known_from(&model, u, covariance[(u as usize, u as usize)].sqrt())),
        theta: model.theta(phi),
        tape: model.tape,
        scale,
        scale_correlation,
        lean: estimate_of(Parameter::Lean),
        doubts: doubts(&rows, critical, &other_side),
        unusual: unusual(&model, phi, &covariance, critical),
        centre_line: CentreLine::of(readings, &setup.sheet, model.instrument(), width),
        width,
        covariance,
        rows,
        chi_square: solution.sum_of_squares,
        dof: solution.residuals.len() - phi.len(),
    })
}

/// What an unknown's knowledge rests on, with the thresholds of an analysis.
fn known_from(model: &Model<'_>, unknown: Unknown, u: f64) -> KnownFrom {
    let expected_u = model.setup.expected[unknown].u;
    match model.column(Parameter::Unknown(unknown)) {
        Some(k) if model.free[k] => KnownFrom::Readings,
        Some(_) if u < 0.5 * expected_u => KnownFrom::Readings,
        Some(_) if u < 0.9 * expected_u => KnownFrom::Both,
        Some(_) if u < 0.995 * expected_u => KnownFrom::SetUp,
        _ => KnownFrom::NotDeterminable,
    }
}

/// Unknowns far from what is usual: the readings make them so, with a standardised difference beyond the critical one.
fn unusual(
    model: &Model<'_>,
    phi: &nalgebra::DVector<f64>,
    covariance: &DMatrix<f64>,
    critical: f64,
) -> Vec<(Unknown, f64)> {
    let mut list = Vec::new();
    for u in Unknown::ALL {
        let Some(k) = model.column(Parameter::Unknown(u)).filter(|&k| !model.free[k]) else { continue };
        let expected = model.setup.expected[u];
        let learnt = expected.u.powi(2) - covariance[(u as usize, u as usize)];
        if learnt > 1e-6 * expected.u.powi(2) {
            let w = (phi[k] - expected.value) / learnt.sqrt();
            if w.abs() > critical {
                list.push((u, w));
            }
        }
    }
    list.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    list
}

/// The readings that may be the one that is wrong.
fn doubts(rows: &[Row], critical: f64, other_side: &dyn Fn(Look) -> Option<f64>) -> Vec<Doubt> {
    let worst = rows.iter().filter_map(|r| r.w).map(f64::abs).fold(0.0, f64::max);
    if worst <= critical {
        return Vec::new();
    }
    rows.iter()
        .enumerate()
        .filter_map(|(i, row)| {
            let w = row.w.filter(|w| w.abs() >= ALIKE * worst)?;
            let excess_mm = (row.reading.as_read_mm - row.adjusted_mm) / row.redundancy;
            let others_mm = row.reading.as_read_mm - excess_mm;
            Some(Doubt { row: i, others_mm, w, likely: likely(row, others_mm, other_side(row.reading.look)) })
        })
        .collect()
}

/// What probably happened with a reading that should have been `others_mm`; `other_side_mm` is what the same tape would
/// show at the other side of the machine.
fn likely(row: &Row, others_mm: f64, other_side_mm: Option<f64>) -> Option<Likely> {
    let reading = &row.reading;
    let u_mm = row.u_mm / row.redundancy.sqrt();
    let excess_mm = reading.as_read_mm - others_mm;
    if let Look::Links { pitch_mm, .. } = reading.look {
        let links = (excess_mm / pitch_mm).round();
        let fits = (excess_mm - links * pitch_mm).abs() < FIT_WITHIN * u_mm;
        return (links != 0.0 && links.abs() <= MOST_LINKS && fits).then_some(Likely::Links(links as i32));
    }
    if other_side_mm.is_some_and(|mm| (reading.as_read_mm - mm).abs() < FIT_WITHIN * u_mm) {
        return Some(Likely::OtherSide);
    }
    let context = SlipContext {
        unit: reading.unit,
        as_read_mm: reading.as_read_mm,
        expected_mm: others_mm,
        u_mm,
        rims_mm: 0.0,
        start_mm: 0.0,
        behind_mm: None,
        others: Vec::new(),
    };
    likeliest(&context).filter(|slip| !matches!(slip, Slip::Rims { .. })).map(Likely::Slip)
}

/// The same reading on the other side, where there is one.
fn other(look: Look) -> Option<Look> {
    let swapped = |side: Side| match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    };
    match look {
        Look::Top(side) => Some(Look::Top(swapped(side))),
        Look::Mark { from, down_mm } => Some(Look::Mark { from: swapped(from), down_mm }),
        Look::BitAcross(side) => Some(Look::BitAcross(swapped(side))),
        _ => None,
    }
}
