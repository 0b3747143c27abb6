//! Readings of the tape as rows of a least-squares problem.

use super::reading::{Look, MARK_U_MM, Reading};
use crate::fit::{Evaluation, OutOfDomain, Problem};
use crate::frame::Point;
use crate::machine::{COUNT, Landing, Payout, Side, Unknown, Values};
use crate::setup::{Instrument, InstrumentKind, Setup, lower_root};
use nalgebra::{DMatrix, DVector};

/// How far a sheet's sides may lean out of square, mm/m: standard uncertainty from the 2 mm/m that mill tables allow
/// (trade tables of plywood mills; EN 315 allows 1 mm/m).
pub const LEAN_U_MM_PER_M: f64 = 1.2;

/// How far a sheet that was not measured may be from the width in the file, mm: from the 4 mm that mill tables allow.
pub const SHEET_U_MM: f64 = 2.3;

/// What is solved for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Parameter {
    /// An unknown of the machine.
    Unknown(Unknown),
    /// The tape's scale error, mm/m.
    Scale,
    /// The sheet's sides out of square, mm/m, top to the right.
    Lean,
    /// The sheet's width beyond that in the file, mm.
    Width,
    /// Where the mark at this depth really is, mm to the right of where it should be.
    Mark(f64),
    /// Where the bit went, mm to the right of where the geometry puts it.
    BitX,
    /// The same, mm up.
    BitY,
}

/// The problem.
pub(super) struct Model<'a> {
    pub setup: &'a Setup,
    pub readings: &'a [Reading],
    /// Standard uncertainty of each reading, mm.
    pub u_mm: Vec<f64>,
    pub parameters: Vec<Parameter>,
    /// Where to begin, and what is expected of each.
    pub start: DVector<f64>,
    /// Which have no expectation, as a reading takes its place.
    pub free: Vec<bool>,
    /// Rows of the expectations: W (phi - start), W' W their inverse covariance.
    pub whitening: DMatrix<f64>,
    /// What the controller pays out for the middle, where a reading asks for it.
    payout: Option<Payout>,
    /// Index of the tape among the instruments.
    pub tape: usize,
}

impl<'a> Model<'a> {
    /// `fresh`: nothing was known of this very machine before, so that a reading takes the place of what is usual.
    pub fn new(setup: &'a Setup, readings: &'a [Reading], fresh: bool) -> Result<Self, OutOfDomain> {
        let tape = setup.instruments.iter().position(|i| i.kind == InstrumentKind::Tape).unwrap_or(0);
        let instrument = &setup.instruments[tape];
        let replaced: Vec<Unknown> = if fresh { replaced(readings) } else { Vec::new() };
        let width_read = readings.iter().any(|r| r.look == Look::SheetWidth);
        let known = setup.hardware.attachment.unknowns().iter();
        let mut parameters: Vec<Parameter> = known
            .filter(|&u| replaced.contains(u) || setup.expected[*u].u > 0.0)
            .map(|&u| Parameter::Unknown(u))
            .collect();
        if instrument.scale_u_mm_per_m > 0.0 {
            parameters.push(Parameter::Scale);
        }
        parameters.extend([Parameter::Lean, Parameter::Width]);
        parameters.extend(places(setup, readings));
        let free: Vec<bool> = parameters
            .iter()
            .map(|p| match p {
                Parameter::Unknown(u) => replaced.contains(u),
                Parameter::Width => width_read,
                _ => false,
            })
            .collect();
        let start = DVector::from_iterator(
            parameters.len(),
            parameters.iter().map(|p| match *p {
                Parameter::Unknown(u) => taped(u, readings, &replaced).unwrap_or(setup.expected[u].value),
                Parameter::Scale => instrument.scale_mm_per_m,
                _ => 0.0,
            }),
        );
        let whitening = whitening(&prior(setup, tape, &parameters), &free)
            .ok_or_else(|| OutOfDomain("what is expected of the machine contradicts itself".to_owned()))?;
        let at_middle =
            |r: &Reading| matches!(r.look, Look::BitAcross(_) | Look::BitDown | Look::Links { .. });
        let payout = match readings.iter().any(at_middle) {
            true => {
                let middle = setup.belief().pay_out(Point::default());
                Some(middle.map_err(|e| OutOfDomain(format!("at the machine's middle {e}")))?)
            }
            false => None,
        };
        let u_mm = readings.iter().map(|r| r.u_mm(instrument)).collect();
        Ok(Self { setup, readings, u_mm, parameters, start, free, whitening, payout, tape })
    }

    pub fn instrument(&self) -> &Instrument {
        &self.setup.instruments[self.tape]
    }

    /// Column of a parameter.
    pub fn column(&self, parameter: Parameter) -> Option<usize> {
        self.parameters.iter().position(|p| *p == parameter)
    }

    pub fn value(&self, phi: &DVector<f64>, parameter: Parameter) -> f64 {
        self.column(parameter).map_or(0.0, |k| phi[k])
    }

    /// The machine's unknowns, those held fixed included.
    pub fn theta(&self, phi: &DVector<f64>) -> Values<f64> {
        Values::from_fn(|u| {
            self.column(Parameter::Unknown(u)).map_or(self.setup.expected[u].value, |k| phi[k])
        })
    }

    /// What a tape without noise would show, mm, with its derivatives by phi.
    pub fn predicted(&self, look: Look, state: &State) -> (f64, DVector<f64>) {
        let mut by = DVector::zeros(self.parameters.len());
        let mut add = |parameter: Parameter, slope: f64| {
            if let Some(k) = self.column(parameter) {
                by[k] += slope;
            }
        };
        let unknown = Parameter::Unknown;
        let (v, sheet) = (&state.theta, &self.setup.sheet);
        let tau = v[Unknown::Tilt] * 1e-3;
        let length = match look {
            Look::SheetWidth => {
                add(Parameter::Width, 1.0);
                sheet.width_mm + state.width_mm
            }
            Look::Spacing => {
                add(unknown(Unknown::Spacing), 1.0);
                v[Unknown::Spacing]
            }
            Look::Top(side) => {
                let arm = outward(side) * sheet.width_mm / 2.0 - v[Unknown::Offset];
                add(unknown(Unknown::Height), 1.0);
                add(unknown(Unknown::Tilt), arm * 1e-3 / tau.cos().powi(2));
                add(unknown(Unknown::Offset), -tau.tan());
                v[Unknown::Height] + arm * tau.tan()
            }
            Look::Mark { from, down_mm } => {
                let below = v[Unknown::Height] + down_mm;
                let y = sheet.height_mm / 2.0 - down_mm;
                let sign = -outward(from);
                add(unknown(Unknown::Offset), sign);
                add(unknown(Unknown::Tilt), sign * below * 1e-3 / tau.cos().powi(2));
                add(unknown(Unknown::Height), sign * tau.tan());
                add(Parameter::Lean, -sign * y * 1e-3);
                add(Parameter::Mark(down_mm), sign);
                add(Parameter::Width, 0.5);
                let right = v[Unknown::Offset] + below * tau.tan() - state.lean * y * 1e-3;
                let mark = state.marks.iter().find(|m| m.0 == down_mm).map_or(0.0, |m| m.1);
                (sheet.width_mm + state.width_mm) / 2.0 + sign * (right + mark)
            }
            Look::BitAcross(from) => {
                let Some(landing) = &state.landing else { return (f64::NAN, by) };
                let sign = -outward(from);
                for u in Unknown::ALL {
                    let axes = [0, 1].map(|axis| landing.by_truth[axis][u as usize]);
                    add(unknown(u), sign * (axes[0] - state.lean * 1e-3 * axes[1]));
                }
                add(Parameter::Lean, -sign * landing.at.y_mm * 1e-3);
                add(Parameter::BitX, sign);
                add(Parameter::Width, 0.5);
                let right = landing.at.x_mm - state.lean * landing.at.y_mm * 1e-3 + state.bit[0];
                (sheet.width_mm + state.width_mm) / 2.0 + sign * right
            }
            Look::BitDown => {
                let Some(landing) = &state.landing else { return (f64::NAN, by) };
                for u in Unknown::ALL {
                    add(unknown(u), -landing.by_truth[1][u as usize]);
                }
                add(Parameter::BitY, -1.0);
                sheet.height_mm / 2.0 - landing.at.y_mm - state.bit[1]
            }
            Look::Links { side, rest_mm, .. } => {
                let Some(payout) = &self.payout else { return (f64::NAN, by) };
                let (length, pitch) = match side {
                    Side::Left => (Unknown::LengthLeft, Unknown::PitchLeft),
                    Side::Right => (Unknown::LengthRight, Unknown::PitchRight),
                };
                let longer = 1.0 + v[pitch] * 1e-3;
                add(unknown(length), 1.0 / longer);
                add(unknown(pitch), -(v[length] - rest_mm) * 1e-3 / longer.powi(2));
                return (payout.paid_mm[side as usize] + (v[length] - rest_mm) / longer, by);
            }
        };
        let scale = 1.0 + state.scale * 1e-3;
        by *= scale;
        if let Some(k) = self.column(Parameter::Scale) {
            by[k] = length * 1e-3;
        }
        (length * scale, by)
    }

    pub fn state(&self, phi: &DVector<f64>) -> Result<State, OutOfDomain> {
        let theta = self.theta(phi);
        let landing = match &self.payout {
            Some(payout) => {
                let truth = self.setup.nature(theta);
                let landing = truth.settle(payout.paid_mm, Point::default());
                Some(landing.map_err(|e| OutOfDomain(format!("at the machine's middle {e}")))?)
            }
            None => None,
        };
        Ok(State {
            theta,
            landing,
            scale: match self.column(Parameter::Scale) {
                Some(k) => phi[k],
                None => self.instrument().scale_mm_per_m,
            },
            lean: self.value(phi, Parameter::Lean),
            width_mm: self.value(phi, Parameter::Width),
            bit: [self.value(phi, Parameter::BitX), self.value(phi, Parameter::BitY)],
            marks: self
                .parameters
                .iter()
                .zip(phi.iter())
                .filter_map(|(p, v)| match p {
                    Parameter::Mark(down) => Some((*down, *v)),
                    _ => None,
                })
                .collect(),
        })
    }
}

/// The parameters as the formulas want them.
pub(super) struct State {
    pub theta: Values<f64>,
    landing: Option<Landing>,
    scale: f64,
    lean: f64,
    width_mm: f64,
    bit: [f64; 2],
    marks: Vec<(f64, f64)>,
}

impl Problem for Model<'_> {
    fn unknowns(&self) -> usize {
        self.parameters.len()
    }

    fn evaluate(&self, phi: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        let state = self.state(phi)?;
        let (n, m, p) = (self.readings.len(), self.whitening.nrows(), self.parameters.len());
        let mut residuals = DVector::zeros(n + m);
        let mut jacobian = DMatrix::zeros(n + m, p);
        for (i, reading) in self.readings.iter().enumerate() {
            let (length, by) = self.predicted(reading.look, &state);
            residuals[i] = (length - reading.as_read_mm) / self.u_mm[i];
            jacobian.set_row(i, &(by / self.u_mm[i]).transpose());
        }
        residuals.rows_mut(n, m).copy_from(&(&self.whitening * (phi - &self.start)));
        jacobian.view_mut((n, 0), (m, p)).copy_from(&self.whitening);
        Ok(Evaluation { residuals, jacobian })
    }
}

/// +1 on the right, -1 on the left.
const fn outward(side: Side) -> f64 {
    match side {
        Side::Left => -1.0,
        Side::Right => 1.0,
    }
}

/// The unknowns that have readings of their own.
fn replaced(readings: &[Reading]) -> Vec<Unknown> {
    let any = |f: &dyn Fn(Look) -> bool| readings.iter().any(|r| f(r.look));
    let top = |side: Side| any(&|look| look == Look::Top(side));
    let mut list = Vec::new();
    if any(&|look| look == Look::Spacing) {
        list.push(Unknown::Spacing);
    }
    if top(Side::Left) || top(Side::Right) {
        list.push(Unknown::Height);
    }
    if top(Side::Left) && top(Side::Right) {
        list.push(Unknown::Tilt);
    }
    if any(&|look| matches!(look, Look::Mark { .. })) {
        list.push(Unknown::Offset);
    }
    list
}

/// Mean of the readings of an unknown that is read outright.
fn taped(unknown: Unknown, readings: &[Reading], replaced: &[Unknown]) -> Option<f64> {
    if !replaced.contains(&unknown) {
        return None;
    }
    let of = |look: Look| match unknown {
        Unknown::Spacing => look == Look::Spacing,
        Unknown::Height => matches!(look, Look::Top(_)),
        _ => false,
    };
    let values: Vec<f64> = readings.iter().filter(|r| of(r.look)).map(|r| r.as_read_mm).collect();
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// The places of marks and bit that the readings speak of.
fn places(setup: &Setup, readings: &[Reading]) -> Vec<Parameter> {
    let mut list: Vec<Parameter> = Vec::new();
    for reading in readings {
        let place = match reading.look {
            Look::Mark { down_mm, .. } => Parameter::Mark(down_mm),
            Look::BitAcross(_) if setup.hole_scatter_mm > 0.0 => Parameter::BitX,
            Look::BitDown if setup.hole_scatter_mm > 0.0 => Parameter::BitY,
            _ => continue,
        };
        if !list.contains(&place) {
            list.push(place);
        }
    }
    list
}

/// Covariance of what is expected of the parameters.
fn prior(setup: &Setup, tape: usize, parameters: &[Parameter]) -> DMatrix<f64> {
    let unknowns = setup.expected_covariance();
    let with_scale: [f64; COUNT] = setup.covariance_with_scale(tape);
    DMatrix::from_fn(parameters.len(), parameters.len(), |i, j| match (parameters[i], parameters[j]) {
        (Parameter::Unknown(a), Parameter::Unknown(b)) => unknowns[(a as usize, b as usize)],
        (Parameter::Unknown(u), Parameter::Scale) | (Parameter::Scale, Parameter::Unknown(u)) => {
            with_scale[u as usize]
        }
        _ if i != j => 0.0,
        (Parameter::Scale, _) => setup.instruments[tape].scale_u_mm_per_m.powi(2),
        (Parameter::Lean, _) => LEAN_U_MM_PER_M.powi(2),
        (Parameter::Width, _) => SHEET_U_MM.powi(2),
        (Parameter::Mark(_), _) => MARK_U_MM.powi(2),
        (Parameter::BitX | Parameter::BitY, _) => setup.hole_scatter_mm.powi(2),
        (Parameter::Unknown(_), _) => 0.0,
    })
}

/// Rows W with W'W the inverse of the covariance of those that are not free; the free ones have columns of noughts.
fn whitening(covariance: &DMatrix<f64>, free: &[bool]) -> Option<DMatrix<f64>> {
    let kept: Vec<usize> = (0..free.len()).filter(|&k| !free[k]).collect();
    let part = covariance.select_rows(&kept).select_columns(&kept);
    let root = lower_root(&part)?;
    let inverse = root.solve_lower_triangular(&DMatrix::identity(kept.len(), kept.len()))?;
    let mut rows = DMatrix::zeros(kept.len(), free.len());
    for (b, &k) in kept.iter().enumerate() {
        rows.set_column(k, &inverse.column(b));
    }
    Some(rows)
}
