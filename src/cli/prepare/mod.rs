//! `tautgrid prepare`: a new cut, dated, with its program and the distances to take.

mod doubtful;
mod old;
mod outlook;
mod settle;

use super::failure::{Failure, Shown, print_mistakes, warn};
use super::files::{CUT_FILE, CUTS_FOLDER, READINGS_FILE, newest_cut, save_new};
use super::load::{Loaded, machine};
use super::{Outcome, say};
use fs_err as fs;
use jiff::civil::Date;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use tautgrid::cut::{self, Conditions};
use tautgrid::gcode::{Job, Program};
use tautgrid::machine::Unreachable;
use tautgrid::pattern::library;
use tautgrid::planner::{Planned, Planner, quick, second_pass};
use tautgrid::readings::{self, How, Known, Row};
use tautgrid::report::measuring::{self, Measuring as ToMeasure};
use tautgrid::setup::Setup;

/// The program in a cut folder.
const PROGRAM_FILE: &str = "holes.nc";
/// The same way with the bit clear of the sheet.
const DRY_RUN_FILE: &str = "dry-run.nc";
/// The distances on paper.
const SHEET_FILE: &str = "sheet.html";
/// What a cut beside old holes is good for.
const VERIFY_MEANS: &str = "\n\
    Its report will say whether the settings that were changed last went into the controller right, and\n\
    what was mixed up if not. Measure only the new holes: mark the old ones before you cut.\n";
/// The distances on a phone.
const FORM_FILE: &str = "form.html";

/// Prepares a test cut: the program that drills it, and the table of distances to take.
///
/// Lengths are in the unit of machine.toml and may be written as on a tape: 6, 48.5, 48-5/8.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid prepare\n\
    \x20 tautgrid prepare --pattern quick\n\
    \x20 tautgrid prepare --verify\n\
    \x20 tautgrid prepare --shift 40,-30 --hole 8 --material \"18 mm plywood\"\n\
    \x20 tautgrid prepare --temperature 19 --humidity 45 --labels")]
pub struct Args {
    /// Folder of the machine
    #[arg(default_value = ".")]
    folder: PathBuf,
    /// quick, standard or dense; a full name (see --list); or a file with a pattern of your own
    #[arg(long, default_value = "standard", default_value_if("quick", "true", "quick"))]
    pattern: String,
    /// List the known patterns, and do nothing else
    #[arg(long)]
    list: bool,
    #[command(flatten)]
    grid: Grid,
    #[command(flatten)]
    drilling: Drilling,
    #[command(flatten)]
    measuring: Measuring,
    #[command(flatten)]
    day: Day,
}

/// What differs from the named pattern.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Pattern")]
struct Grid {
    /// Columns of holes, A from the left
    #[arg(long, value_name = "N")]
    columns: Option<usize>,
    /// Rows of holes, 1 from the bottom
    #[arg(long, value_name = "N")]
    rows: Option<usize>,
    /// First to last column
    #[arg(long, value_name = "LENGTH")]
    width: Option<String>,
    /// First to last row
    #[arg(long, value_name = "LENGTH")]
    height: Option<String>,
    /// Diameter of the bit
    #[arg(long, value_name = "LENGTH")]
    hole: Option<String>,
    /// Middle of the pattern right of and above the middle of the sheet
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true)]
    shift: Option<String>,
    /// Set the pattern beside the holes of earlier cuts, to see on the same sheet whether new settings went in right
    #[arg(long, conflicts_with = "shift")]
    verify: bool,
    /// Leave out the odd hole KEY, which shows when a sheet was read from behind
    #[arg(long)]
    no_key: bool,
    /// Least distance of a hole from an edge [default: 100 mm or 4 in]
    #[arg(long, value_name = "LENGTH")]
    margin: Option<String>,
}

/// How the holes are drilled.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Drilling")]
struct Drilling {
    /// Depth of the holes [default: 6 mm or 1/4 in]
    #[arg(long, value_name = "LENGTH")]
    depth: Option<String>,
    /// Most that is drilled before the bit is lifted clear [default: 2 mm or 0.1 in]
    #[arg(long, value_name = "LENGTH")]
    peck: Option<String>,
    /// Height at which the bit travels [default: 6 mm or 1/4 in]
    #[arg(long, value_name = "LENGTH")]
    clearance: Option<String>,
    /// Feed into the wood, per minute [default: 300 mm or 12 in]
    #[arg(long, value_name = "LENGTH")]
    plunge: Option<String>,
    /// Let the controller start the router, at this many turns a minute; without it, you start it by hand
    #[arg(long, value_name = "SPEED")]
    spindle: Option<u32>,
    /// Engrave each hole's id beside it, and TOP; takes about as long again
    #[arg(long)]
    labels: bool,
}

/// Which distances are to be taken.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Measuring")]
struct Measuring {
    /// Distances between holes to take [default: 24]
    #[arg(long, value_name = "N", conflicts_with = "minutes")]
    readings: Option<usize>,
    /// Or: as many as fit into this time, at 1.5 minutes a reading and 5 to begin (common practice, no source)
    #[arg(long, value_name = "MINUTES", allow_negative_numbers = true)]
    minutes: Option<f64>,
    /// Only check in between whether the machine is still what machine.toml says: few holes, six distances
    #[arg(long, conflicts_with_all = ["readings", "minutes"])]
    quick: bool,
    /// Growth of both chains that the quick check is to see, mm per m [default: 0.2]
    #[arg(long, value_name = "MM_PER_M", requires = "quick", allow_negative_numbers = true)]
    drift: Option<f64>,
    /// Take each distance a second time, in another order and from the other end of the tape
    #[arg(long)]
    twice: bool,
    /// Take no distances to the edges of the sheet: height, tilt and offset of the beam then stay unknown
    #[arg(long)]
    no_edges: bool,
    /// Longest distance that you can take [default: 5 m, about 197 in]
    #[arg(long, value_name = "LENGTH")]
    longest: Option<String>,
}

/// When, and under which conditions.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "The day")]
struct Day {
    /// Date of the cut [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = date)]
    date: Option<Date>,
    /// Temperature in the shop, degrees C
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    temperature: Option<f64>,
    /// Relative humidity in the shop, percent
    #[arg(long, value_name = "PERCENT")]
    humidity: Option<f64>,
    /// Material of the sheet
    #[arg(long)]
    material: Option<String>,
    /// The bit
    #[arg(long)]
    bit: Option<String>,
    /// Who cuts
    #[arg(long)]
    operator: Option<String>,
    /// Anything else worth knowing in a year
    #[arg(long)]
    note: Option<String>,
}

impl Day {
    /// What is known of the day.
    fn conditions(&self) -> Conditions {
        Conditions {
            temperature_c: self.temperature,
            humidity_percent: self.humidity,
            material: self.material.clone(),
            bit: self.bit.clone(),
            operator: self.operator.clone(),
            note: self.note.clone(),
        }
    }
}

/// A day of the calendar, written in full.
fn date(text: &str) -> Result<Date, String> {
    match text.parse() {
        Ok(date) if text.len() == 10 => Ok(date),
        _ => Err("a day of the calendar as year-month-day, such as 2026-11-25".to_owned()),
    }
}

/// Prepares a cut and says what was written and what to do with it.
///
/// # Errors
/// When machine.toml or the pattern cannot be used, the pattern cannot be cut, or the folder cannot be written.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    if args.list {
        return list();
    }
    let machine = machine(&args.folder)?;
    machine.print_warnings();
    let old = if args.grid.verify { old::holes(&args.folder, &machine.value)? } else { Vec::new() };
    let settled = settle::settle(args, &machine.value, &old)?;
    for words in doubtful::words(&settled, &machine.value) {
        warn(&words);
    }
    let date = args.day.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let cut_text = cut_text(args, date, &settled, &machine)?;

    let setup = &machine.value;
    let holes = settled.pattern.holes();
    let unplannable = |e: Unreachable| Failure::Plain(format!("this machine cannot be planned for: {e}"));
    let count = if args.measuring.twice { 2 } else { 1 };
    let (first, buys) = if let Some(drift) = &settled.drift {
        let check = quick(setup, &holes, &settled.request, drift).map_err(unplannable)?;
        let words = outlook::quick_words(&check, drift, &settled, setup.tolerance_mm)?;
        (check.distances, words)
    } else {
        let planner = Planner::new(setup, &holes, &settled.request).map_err(unplannable)?;
        let plan = planner.plan();
        let words = outlook::words(&planner, &plan, &settled, count);
        (plan.distances, words)
    };
    let mut passes = vec![first];
    if args.measuring.twice {
        passes.push(second_pass(&holes, &passes[0]));
    }
    let readings_text = readings_text(&passes, &settled, setup);

    let cuts = args.folder.join(CUTS_FOLDER);
    let newest = newest_cut(&args.folder).ok();
    let (folder, id) = new_cut_folder(&cuts, date)?;
    let newest = newest.as_deref().and_then(Path::file_name).map(|n| n.to_string_lossy());
    if let Some(newest) = newest.filter(|newest| **newest > *id) {
        warn(&format!(
            "cut {newest} bears a later day than this one, and counts as the newest: is this computer's clock \
             right? Name this cut when you mean it, as in tautgrid enter {id}"
        ));
    }
    let to_measure = ToMeasure {
        machine: &setup.name,
        cut: &id,
        date: &date.to_string(),
        unit: setup.unit,
        sheet: &setup.sheet,
        pattern: &settled.pattern,
        holes: &holes,
        instruments: &setup.instruments,
        conditions: &args.day.conditions(),
        passes: &passes,
    };
    let texts = [
        (SHEET_FILE, measuring::sheet(&to_measure)),
        (FORM_FILE, measuring::form(&to_measure)),
        (READINGS_FILE, readings_text),
        // last: a folder without it is no cut yet
        (CUT_FILE, cut_text),
    ];
    let written = write_all(&folder, &id, &texts, &settled, setup);
    match written {
        Ok(minutes) => {
            let readings = passes.iter().map(Vec::len).sum();
            say(&what_there_is(&folder, &id, &settled, minutes, readings))?;
            say(&buys)?;
            say(&what_next(&folder))?;
            if settled.drift.is_some() {
                say(outlook::QUICK_MEANS)?;
            }
            if args.grid.verify {
                say(VERIFY_MEANS)?;
            }
        }
        Err(failure) => {
            // half a cut is none: leave the day's name free
            let _ = fs::remove_dir_all(&folder);
            return Err(failure);
        }
    }
    Ok(Outcome::Fine)
}

/// The known patterns, one a line.
fn list() -> Result<Outcome, Failure> {
    let known = library::names().filter_map(|name| Some((name, library::by_name(name)?)));
    let lines: String = known.map(|(name, d)| format!("{name:20} {}\n", d.about)).collect();
    say(&lines)?;
    Ok(Outcome::Fine)
}

/// `cut.toml`, read back once: conditions come from the command line, and what cannot be read is refused now.
fn cut_text(
    args: &Args,
    date: Date,
    settled: &settle::Settled,
    machine: &Loaded<Setup>,
) -> Result<String, Failure> {
    let conditions = args.day.conditions();
    let file = |text: &str, mistakes| Failure::File {
        path: PathBuf::from(CUT_FILE),
        text: text.to_owned(),
        mistakes,
    };
    let text = cut::write(date, machine.value.unit, &settled.pattern, &conditions, &machine.text)
        .map_err(|mistakes| file(&machine.text, mistakes))?;
    match cut::read(&text) {
        Ok((_, warnings)) => {
            print_mistakes(Path::new(CUT_FILE), &text, &warnings);
            Ok(text)
        }
        Err(mistakes) => Err(file(&text, mistakes)),
    }
}

/// `readings.csv` with the distances of a plan, none of them taken.
fn readings_text(passes: &[Vec<Planned>], settled: &settle::Settled, setup: &Setup) -> String {
    let holes = settled.pattern.holes();
    let known = Known {
        holes: &holes,
        instruments: &setup.instruments,
        unit: setup.unit,
        hole_diameter_mm: settled.pattern.hole_diameter_mm,
        temperature_c: None,
    };
    let to_take = |p: &Planned| Row::to_take(p.from, p.to, How::Centre, p.instrument);
    let rows: Vec<Row> = passes.iter().flatten().map(to_take).collect();
    readings::write(&rows, &known)
}

/// Makes the folder of a new cut and hands back its path and id: the date, or `-b`, `-c` after it when taken.
/// Making it is what claims the name, so that two programs at once cannot both have it.
fn new_cut_folder(cuts: &Path, date: Date) -> io::Result<(PathBuf, String)> {
    fs::create_dir_all(cuts)?;
    let ids = std::iter::once(date.to_string()).chain(('b'..='z').map(|letter| format!("{date}-{letter}")));
    for id in ids {
        let folder = cuts.join(&id);
        match fs::create_dir(&folder) {
            Ok(()) => return Ok((folder, id)),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {}
            Err(e) => return Err(e),
        }
    }
    let message = format!("{} holds 26 cuts of {date} already", cuts.shown());
    Err(io::Error::new(ErrorKind::AlreadyExists, message))
}

/// Writes the files of a cut, the programs and then the others in their order. Hands back the run time of the
/// program in minutes.
fn write_all(
    folder: &Path,
    id: &str,
    texts: &[(&str, String)],
    settled: &settle::Settled,
    setup: &Setup,
) -> Result<f64, Failure> {
    let named = Job { cut: id.to_owned(), ..settled.job.clone() };
    let mut minutes = 0.0;
    for (file, dry_run) in [(DRY_RUN_FILE, true), (PROGRAM_FILE, false)] {
        let job = Job { dry_run, ..named.clone() };
        let program = Program::plan(&settled.pattern, &setup.sheet, &job)
            .map_err(|refusals| settle::refused(refusals.iter().map(|r| r.words(setup.unit))))?;
        save_new(&folder.join(file), program.text().as_bytes())?;
        minutes = program.minutes;
    }
    for (file, text) in texts {
        save_new(&folder.join(file), text.as_bytes())?;
    }
    Ok(minutes)
}

/// What was written.
fn what_there_is(
    folder: &Path,
    id: &str,
    settled: &settle::Settled,
    minutes: f64,
    readings: usize,
) -> String {
    let p = &settled.pattern;
    let key = if p.key { " and KEY" } else { "" };
    let length = |mm: f64, decimals| settle::taped(mm, settled.job.unit, decimals);
    format!(
        "Cut {id}: {} by {} holes{key}, {} deep with a bit of {}, all {} or more from the edges.\n\
         \n\
         In {}:\n\
         \x20 {DRY_RUN_FILE:13} run this first: router unplugged, the bit stays clear of the sheet\n\
         \x20 {PROGRAM_FILE:13} the cut: about {:.0} minutes by machine\n\
         \x20 {SHEET_FILE:13} {readings} distances to take, in a good order: a page to print and write on\n\
         \x20 {FORM_FILE:13} the same list to type into on a phone, without a network\n\
         \x20 {READINGS_FILE:13} the same list for the computer\n\
         \x20 {CUT_FILE:13} the cut as prepared; leave it as it is\n\
         \n",
        p.columns,
        p.rows,
        length(settled.job.depth_mm, 1),
        length(p.hole_diameter_mm, 1),
        length(settled.margin_mm, 0),
        folder.shown(),
        minutes.ceil(),
    )
}

/// What to do with it.
fn what_next(folder: &Path) -> String {
    let folder = folder.shown();
    format!(
        "X0 Y0 is the middle of the sheet, Z0 its top face. The head of {PROGRAM_FILE} lists the dangers: read\n\
         it before you start, and stay with the machine.\n\
         Then measure, type the readings in (tautgrid enter), and: tautgrid analyse {folder}\n"
    )
}
