//! Machines that are not what the model takes them for: does it show, and how wrong is the answer then?

use super::{Plan, estimate, settings};
use crate::analysis::{Cut, NoAnswer, analyse};
use crate::field::{Field, WorkingArea};
use crate::frame::Point;
use crate::machine::{Machine, Unreachable, Values};
use crate::pattern::{Hole, KEY};
use crate::readings::{Place, Reading};
use crate::record::Analysis;
use crate::screening::mirrored;
use crate::simulation::{Disturbance, draw_machine, read_off};
use nalgebra::DVector;
use rayon::prelude::*;

/// In what the machine, or its reading, is not as the model has it. Figures in the words are what is simulated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Misfit {
    /// In nothing.
    Nothing,
    /// Play of the drives, holes reached to and fro.
    Backlash,
    /// The chains' plane is not that of the carriage.
    ChainPlane,
    /// One metre of the left chain is worn.
    UnevenWear,
    /// The carriage turns on its way to the sides, and the bit is not where the chains' lines meet.
    TurningSled,
    /// The sheet was read from behind.
    MirrorRead,
    /// The sheet swelled between cutting and reading.
    SwollenSheet,
    /// The tape is longer than its class allows at one standard uncertainty.
    LongTape,
}

/// Play of a drive, mm of chain.
const PLAY_MM: f64 = 0.5;
/// Distance between the planes of chains and carriage, mm.
const PLANE_MM: f64 = 50.0;
/// Where the worn part of the left chain begins and ends, mm paid out, and by how much it is longer.
const WORN_MM: [f64; 2] = [1500.0, 2500.0];
const WORN_BY: f64 = 2e-3;
/// Turn of the carriage at the sheet's side, rad, and of the bit below the point where the chains' lines meet, mm.
const TURN_RAD: f64 = 3.0 * std::f64::consts::PI / 180.0;
const BELOW_MM: f64 = 30.0;
/// Growth of the sheet.
const SWOLLEN_BY: f64 = 1e-3;
/// A tape this much too long.
const LONG_BY_MM_PER_M: f64 = 0.3;

impl Misfit {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Nothing,
        Self::Backlash,
        Self::ChainPlane,
        Self::UnevenWear,
        Self::TurningSled,
        Self::MirrorRead,
        Self::SwollenSheet,
        Self::LongTape,
    ];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nothing => "nothing: the machine is as modelled",
            Self::Backlash => "0.5 mm play, holes reached to and fro",
            Self::ChainPlane => "chains' plane 50 mm off",
            Self::UnevenWear => "1 m of left chain worn by 2 mm",
            Self::TurningSled => "sled turns to 3 deg, bit 30 mm low",
            Self::MirrorRead => "sheet read from behind",
            Self::SwollenSheet => "sheet swollen by 1 mm/m",
            Self::LongTape => "tape 0.3 mm/m too long",
        }
    }

    /// Where such a machine lands, visiting the targets in their order.
    fn landings(
        self,
        belief: &Machine,
        nature: &Machine,
        targets: &[Point],
    ) -> Result<Vec<Point>, Unreachable> {
        let mut before: Option<[f64; 2]> = None;
        let mut way = [1.0, 1.0];
        targets
            .iter()
            .map(|&target| {
                let mut paid = belief.pay_out(target)?.paid_mm;
                match self {
                    Self::Backlash => {
                        let now = paid;
                        for (k, length) in paid.iter_mut().enumerate() {
                            let moved = before.map_or(1.0, |b| now[k] - b[k]);
                            if moved.abs() > 1e-9 {
                                way[k] = moved.signum();
                            }
                            *length += way[k] * PLAY_MM / 2.0;
                        }
                        before = Some(now);
                    }
                    Self::ChainPlane => {
                        // A span s between planes PLANE_MM apart reaches only sqrt(s^2 - PLANE_MM^2) in the plane.
                        for length in &mut paid {
                            *length = (*length * *length - PLANE_MM * PLANE_MM).max(0.0).sqrt();
                        }
                    }
                    Self::UnevenWear => {
                        let [begin, end] = WORN_MM;
                        paid[0] += WORN_BY * (paid[0] - begin).clamp(0.0, end - begin);
                    }
                    _ => {}
                }
                let at = nature.settle(paid, target)?.at;
                Ok(match self {
                    Self::TurningSled => {
                        let turn = TURN_RAD * target.x_mm / (nature.sheet.width_mm / 2.0);
                        at + Point::new(BELOW_MM * turn.sin(), BELOW_MM * (1.0 - turn.cos()))
                    }
                    _ => at,
                })
            })
            .collect()
    }
}

/// What the analysis of one such machine said, and how wrong it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Misfitted {
    /// What it said.
    pub analysis: Analysis,
    /// True error as cut over the working area, shift and turn removed unless edges fix them, mm rms.
    pub as_cut_rms_mm: f64,
    /// Error of the predicted positions, mm rms.
    pub predicted_rms_mm: f64,
    /// True error with the new settings, mm rms.
    pub after_rms_mm: f64,
}

/// Cuts `first..first + count` of such machines.
///
/// # Errors
/// When one of the drawn machines cannot cut the pattern.
pub fn misfitted(
    plan: &Plan<'_>,
    misfit: Misfit,
    first: u64,
    count: u64,
) -> Result<Vec<Misfitted>, NoAnswer> {
    (first..first + count).into_par_iter().map(|k| one(plan, misfit, k)).collect()
}

fn one(plan: &Plan<'_>, misfit: Misfit, k: u64) -> Result<Misfitted, NoAnswer> {
    let setup = plan.setup;
    let impossible = |e: Unreachable| NoAnswer::Impossible(e.to_string());
    let holes = plan.pattern.holes();
    let truth = draw_machine(setup, 2 * k);
    let nature = setup.nature(truth);
    let order = there_and_back(plan.pattern.columns, &holes);
    let mut landings =
        visited(misfit, &setup.belief(), &nature, &order, &targets(&holes)).map_err(impossible)?;
    if misfit == Misfit::SwollenSheet {
        landings.iter_mut().for_each(|p| *p = *p * (1.0 + SWOLLEN_BY));
    }
    // A tape that is too long reads too little.
    let long = vec![(-LONG_BY_MM_PER_M, 0.0); setup.instruments.len()];
    let instruments = (misfit == Misfit::LongTape).then_some(long.as_slice());
    let disturbance = Disturbance { noise: true, rounding_mm: plan.rounding_mm, seed: 2 * k + 1 };
    let mut readings = read_off(setup, &landings, plan.distances, &disturbance, instruments).readings;
    if misfit == Misfit::MirrorRead {
        readings.iter_mut().for_each(|r| mirror(r, plan, &holes));
    }
    let cut = Cut { id: "trial", setup, pattern: plan.pattern, readings: &readings, blank: 0 };
    let analysis = analyse(&cut)?;

    let area = WorkingArea::of_sheet(&setup.sheet);
    let placement = area.placement(analysis.error.placement_known);
    let rows: Vec<usize> = (0..area.points.len()).map(|i| turned(i, area.columns)).collect();
    let truly = |belief: &Machine| {
        let at = visited(misfit, belief, &nature, &rows, &area.points).map_err(impossible)?;
        let field = at.iter().zip(&area.points).flat_map(|(a, p)| [a.x_mm - p.x_mm, a.y_mm - p.y_mm]);
        Ok::<_, NoAnswer>(placement.remove(&DVector::from_iterator(2 * at.len(), field)))
    };
    let as_cut = truly(&setup.belief())?;
    let guess: Values<f64> = estimate(&analysis);
    let predicted =
        Field::displacement(&setup.belief(), &setup.nature(guess), &area.points).map_err(impossible)?;
    let after = truly(&setup.controller(settings(setup, &analysis)))?;
    Ok(Misfitted {
        as_cut_rms_mm: area.rms_mm(&as_cut),
        predicted_rms_mm: area.rms_mm(&(placement.remove(&predicted) - &as_cut)),
        after_rms_mm: area.rms_mm(&after),
        analysis,
    })
}

/// A reading noted as by a person behind the sheet.
fn mirror(reading: &mut Reading, plan: &Plan<'_>, holes: &[Hole]) {
    let seen = |place| match place {
        Place::Hole(i) => Place::Hole(mirrored(plan.pattern, holes, i)),
        edge => edge,
    };
    (reading.from, reading.to) = (seen(reading.from), seen(reading.to));
}

fn targets(holes: &[Hole]) -> Vec<Point> {
    holes.iter().map(|h| h.target).collect()
}

/// Landings at places that are visited in an order, in the order of the places.
fn visited(
    misfit: Misfit,
    belief: &Machine,
    nature: &Machine,
    order: &[usize],
    places: &[Point],
) -> Result<Vec<Point>, Unreachable> {
    let way: Vec<Point> = order.iter().map(|&i| places[i]).collect();
    let mut at = vec![Point::default(); places.len()];
    for (&i, landing) in order.iter().zip(misfit.landings(belief, nature, &way)?) {
        at[i] = landing;
    }
    Ok(at)
}

/// Row after row, there and back; the odd hole last.
fn there_and_back(columns: usize, holes: &[Hole]) -> Vec<usize> {
    let grid = holes.iter().filter(|h| h.id != KEY).count();
    (0..holes.len()).map(|i| if i < grid { turned(i, columns) } else { i }).collect()
}

/// Index of the `i`-th place visited of a lattice, row after row, there and back.
fn turned(i: usize, columns: usize) -> usize {
    let (row, column) = (i / columns, i % columns);
    row * columns + if row.is_multiple_of(2) { column } else { columns - 1 - column }
}
