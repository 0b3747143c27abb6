//! `tautgrid simulate`: readings of a machine with stated faults, or a table over many machines ([`super::tables`]).

use super::failure::{Failure, Shown};
use super::files::{READINGS_FILE, save};
use super::load::{cut_folder, known, load_cut};
use super::lock::{Lock, What};
use super::tables::{self, Table};
use super::{Outcome, say};
use std::path::PathBuf;
use tautgrid::frame::Unit;
use tautgrid::machine::{Unknown, Values};
use tautgrid::planner::Planned;
use tautgrid::readings::{self, Row};
use tautgrid::report::numbers::to_64ths;
use tautgrid::simulation::{Disturbance, cut_and_read};

/// Makes up the readings of a cut, as a machine with stated faults would give them.
///
/// Fills the blank readings.csv of a cut, so that you can see what analyse makes of faults that you know. With
/// --machines, --slips or --misfits it draws many machines instead, analyses each, and prints how near the answers come to
/// the truth, how many planted slips are found, or whether a machine that is not as modelled is noticed.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid simulate --fault spacing=+2.5 --fault pitch_left=0.8\n\
    \x20 tautgrid simulate 2026-11-25 --exact --replace\n\
    \x20 tautgrid simulate --replace --held spacing=3300\n\
    \x20 tautgrid simulate --machines 20")]
pub struct Args {
    /// Folder of the cut, or its date; the newest cut when left out
    cut: Option<PathBuf>,
    /// A fault of the real machine against its settings, such as spacing=+2.5 (lengths in the unit of machine.toml,
    /// ratios in mm/m); may be repeated
    #[arg(long = "fault", value_parser = fault, allow_hyphen_values = true)]
    faults: Vec<(Unknown, f64)>,
    /// What the controller really holds where that is not what machine.toml says, such as spacing=3300, to see whether a
    /// setting that was entered wrongly is noticed; may be repeated
    #[arg(long, value_name = "NAME=VALUE", value_parser = held, allow_hyphen_values = true)]
    held: Vec<(Unknown, f64)>,
    /// Number behind the scatter and noise: the same number gives the same readings
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Round readings to this, in the unit of machine.toml; 0.5 mm or 1/64 in when left out (0 with --machines, --misfits)
    #[arg(long)]
    round: Option<f64>,
    /// No scatter, no noise, no rounding
    #[arg(long)]
    exact: bool,
    /// Replace readings that are there already
    #[arg(long)]
    replace: bool,
    /// Draw this many machines from [expected] and compare every answer with the truth; writes no file
    #[arg(long, value_name = "N", conflicts_with_all = ["faults", "held", "replace", "exact"])]
    machines: Option<u64>,
    /// Plant 0 to 3 slips of each kind in this many cuts each, and print how many are found; writes no file
    #[arg(long, value_name = "N", conflicts_with_all = ["faults", "held", "replace", "exact", "machines"])]
    slips: Option<u64>,
    /// Draw this many machines for each way of not being as modelled, and print whether it shows; writes no file
    #[arg(long, value_name = "N", conflicts_with_all = ["faults", "held", "replace", "exact", "machines", "slips"])]
    misfits: Option<u64>,
}

/// `spacing=+2.5`.
fn fault(text: &str) -> Result<(Unknown, f64), String> {
    match named(text, "NAME=CHANGE, such as spacing=+2.5")? {
        (unknown, v) if v.abs() < 1000.0 => Ok((unknown, v)),
        _ => Err("a change in mm or mm/m, under 1000".to_owned()),
    }
}

/// `spacing=3300`.
fn held(text: &str) -> Result<(Unknown, f64), String> {
    named(text, "NAME=VALUE, such as spacing=3300")
}

/// An unknown and a number.
fn named(text: &str, form: &str) -> Result<(Unknown, f64), String> {
    let names = || Unknown::ALL.map(Unknown::name).join(", ");
    let (name, value) = text.split_once('=').ok_or_else(|| form.to_owned())?;
    let unknown = Unknown::from_name(name.trim()).ok_or_else(|| format!("one of {}", names()))?;
    match value.trim().parse::<f64>() {
        Ok(v) if v.is_finite() => Ok((unknown, v)),
        _ => Err(form.to_owned()),
    }
}

/// Runs it.
///
/// # Errors
/// When there is no cut, its readings are there already, or the machine cannot cut it.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let tables = [(Table::Theory, args.machines), (Table::Slips, args.slips), (Table::Misfits, args.misfits)];
    for (table, count) in tables {
        if let Some(count) = count {
            return tables::print(table, count, args.cut.as_deref(), args.seed, args.round);
        }
    }
    one(args)
}

/// Fills in the readings of one cut.
fn one(args: &Args) -> Result<Outcome, Failure> {
    let folder = cut_folder(args.cut.as_deref())?;
    let _lock = Lock::now(&folder, What::Readings)?;
    let loaded = load_cut(&folder)?;
    let (cut, table) = (&loaded.cut.value, &loaded.table.value);
    if !table.readings.is_empty() && !args.replace {
        return Err(Failure::Plain(format!(
            "{} holds {} readings already; --replace puts simulated ones in their place",
            folder.join(READINGS_FILE).shown(),
            table.readings.len()
        )));
    }
    let mut truth = Values::from_fn(|u| cut.setup.expected[u].value);
    for &(unknown, change) in &args.faults {
        let one = if unknown.is_length() { cut.unit.mm() } else { 1.0 };
        truth[unknown] = cut.setup.settings[unknown] + change * one;
    }
    let mut controller = cut.setup.clone();
    for &(unknown, value) in &args.held {
        controller.settings[unknown] = if unknown.is_length() { cut.unit.to_mm(value) } else { value };
    }
    let distances = planned(&table.rows);
    let disturbance = Disturbance {
        noise: !args.exact,
        rounding_mm: if args.exact {
            0.0
        } else {
            args.round.map_or(usual_step_mm(cut.unit), |r| cut.unit.to_mm(r)).max(0.0)
        },
        seed: args.seed,
    };
    let simulated = cut_and_read(&controller, truth, &loaded.holes, &distances, &disturbance)
        .map_err(|e| Failure::Plain(format!("this machine cannot cut the pattern: {e}")))?;
    let rows: Vec<Row> = table
        .rows
        .iter()
        .zip(&simulated.readings)
        .map(|(row, reading)| {
            // Written in the unit of the cut, to more digits than any tape has.
            let value = cut.unit.from_mm(reading.as_read_mm);
            let spelling = match (args.exact, args.round, cut.unit) {
                (true, ..) => format!("{value:.9}"),
                // As a tape shows it.
                (false, None, Unit::Inch) => to_64ths(value),
                _ => format!("{value:.4}"),
            };
            Row { spelling, unit: None, how: readings::How::Centre, ..row.clone() }
        })
        .collect();
    let text = readings::write(&rows, &known(cut, &loaded.holes));
    save(&folder.join(READINGS_FILE), text.as_bytes())?;
    say(&format!(
        "{} simulated readings are in {}. Now: tautgrid analyse {}\n",
        rows.len(),
        folder.join(READINGS_FILE).shown(),
        folder.shown()
    ))?;
    Ok(Outcome::Fine)
}

/// To what a person reads a tape, mm.
fn usual_step_mm(unit: Unit) -> f64 {
    match unit {
        Unit::Mm => 0.5,
        Unit::Inch => unit.to_mm(1.0 / 64.0),
    }
}

/// The distances of a table.
pub(super) fn planned(rows: &[Row]) -> Vec<Planned> {
    rows.iter()
        .map(|r| Planned { from: r.from, to: r.to, instrument: r.instrument, length_mm: 0.0 })
        .collect()
}
