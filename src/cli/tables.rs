//! Tables over many simulated machines, with progress for whoever waits.

use super::failure::Failure;
use super::load::{cut_folder, load_cut};
use super::simulate::planned;
use super::{Outcome, say};
use std::io::{IsTerminal, Write};
use std::path::Path;
use tautgrid::analysis::NoAnswer;
use tautgrid::frame::Point;
use tautgrid::pattern::Pattern;
use tautgrid::planner::{Planned, Request, plan};
use tautgrid::report::trials as report;
use tautgrid::setup::Setup;
use tautgrid::trials::{self, Misfit, Plan, Planted};

/// Which table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    /// Answers against the truth.
    Theory,
    /// Planted slips.
    Slips,
    /// Machines that are not as modelled.
    Misfits,
}

/// Trials worked on between two reports of progress.
const PORTION: u64 = 50;
/// Slips planted in a cut at most.
const MOST_SLIPS: usize = 3;
/// Readings with slips are rounded as a person does, mm.
const ROUNDED_MM: f64 = 0.5;

/// Makes and prints a table of `count` machines (a row), readings rounded to `round` in the unit of the machine.
///
/// # Errors
/// When there is no such cut, or a machine drawn from its expectations cannot cut it.
pub fn print(
    table: Table,
    count: u64,
    cut: Option<&Path>,
    seed: u64,
    round: Option<f64>,
) -> Result<Outcome, Failure> {
    let (setup, pattern, distances) = match cut {
        Some(named) => from_cut(named)?,
        None => usual()?,
    };
    let usual_mm = if table == Table::Slips { ROUNDED_MM } else { 0.0 };
    let rounding_mm = round.map_or(usual_mm, |step| setup.unit.to_mm(step)).max(0.0);
    let plan = Plan { setup: &setup, pattern: &pattern, distances: &distances, rounding_mm };
    let count = count.clamp(1, 100_000);
    let (readings, unit) = (distances.len(), setup.unit);
    let text = match table {
        Table::Theory => {
            let mut progress = Progress::of(count);
            let mut all = Vec::new();
            for (first, some) in portions(seed, count) {
                all.extend(trials::trials(&plan, first, some).map_err(impossible)?);
                progress.done(some);
            }
            report::theory(&all, readings, unit)
        }
        Table::Slips => {
            let kinds: Vec<(Planted, usize)> = [(Planted::WholeCm, 0), (Planted::WholeInch, 0)]
                .into_iter()
                .chain(Planted::ALL.into_iter().flat_map(|kind| (1..=MOST_SLIPS).map(move |n| (kind, n))))
                .collect();
            let mut progress = Progress::of(count * kinds.len() as u64);
            let mut rows = Vec::new();
            for (kind, per_cut) in kinds {
                let shares = trials::slips(&plan, kind, per_cut, seed, count).map_err(impossible)?;
                rows.push((kind, per_cut, shares));
                progress.done(count);
            }
            report::slips(&rows, readings)
        }
        Table::Misfits => {
            let mut progress = Progress::of(count * Misfit::ALL.len() as u64);
            let mut rows = Vec::new();
            for misfit in Misfit::ALL {
                rows.push((misfit, trials::misfitted(&plan, misfit, seed, count).map_err(impossible)?));
                progress.done(count);
            }
            report::misfits(&rows, readings, unit)
        }
    };
    say(&text)?;
    Ok(Outcome::Fine)
}

fn impossible(e: NoAnswer) -> Failure {
    Failure::Plain(e.to_string())
}

/// `count` trials from `first` on, a portion at a time.
fn portions(first: u64, count: u64) -> impl Iterator<Item = (u64, u64)> {
    (0..count.div_ceil(PORTION)).map(move |k| (first + k * PORTION, PORTION.min(count - k * PORTION)))
}

/// How far it has come, on the terminal only.
struct Progress {
    done: u64,
    all: u64,
    shown: bool,
}

impl Progress {
    fn of(all: u64) -> Self {
        Self { done: 0, all, shown: std::io::stderr().is_terminal() }
    }

    fn done(&mut self, some: u64) {
        self.done += some;
        if self.shown {
            // Progress that cannot be shown is no reason to stop.
            let end = if self.done == self.all { "\r                              \r" } else { "" };
            let _ = write!(std::io::stderr(), "\r{} of {} cuts {end}", self.done, self.all);
        }
    }
}

fn from_cut(named: &Path) -> Result<(Setup, Pattern, Vec<Planned>), Failure> {
    let loaded = load_cut(&cut_folder(Some(named))?)?;
    let distances = planned(&loaded.table.value.rows);
    Ok((loaded.cut.value.setup.clone(), loaded.cut.value.pattern.clone(), distances))
}

/// The example machine, the usual pattern, 24 distances.
fn usual() -> Result<(Setup, Pattern, Vec<Planned>), Failure> {
    let setup = Setup::example();
    let pattern = Pattern {
        columns: 7,
        rows: 5,
        width_mm: 2300.0,
        height_mm: 1050.0,
        centre: Point::default(),
        hole_diameter_mm: 6.0,
        key: true,
    };
    let chosen =
        plan(&setup, &pattern.holes(), &Request::default()).map_err(|e| Failure::Plain(e.to_string()))?;
    Ok((setup, pattern, chosen.distances))
}
