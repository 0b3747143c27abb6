//! `tautgrid compensate`: a job file bent the other way, so that the machine lands where the job meant.

use super::answer::analysis_of;
use super::failure::{Failure, Shown};
use super::files::{MACHINE_FILE, Part, save, save_new};
use super::load::{LoadedCut, cut_folder, load_cut, machine, machine_folder};
use super::{Outcome, say};
use fs_err as fs;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use tautgrid::analysis::Analysis;
use tautgrid::frame::{Point, Unit};
use tautgrid::job::{Bend, LEAST_CHORD_MM, MOST_CHORD_MM, Options, Stroke, Summary, compensate};
use tautgrid::machine::Values;
use tautgrid::report::heatmap::job::{JobPicture, svg};
use tautgrid::report::job::{BentJob, header, render};
use tautgrid::setup::Setup;

/// Bends a job file the other way, so that the machine lands where the job meant.
///
/// Reads any plain job (G0 G1 G2 G3 in the XY plane, mm or inch, G90 or G91), moves its points by what the last cut
/// taught, and turns arcs and long lines into chords. Feeds, heights and comments stay as they are; lines that cannot be
/// passed through are named, and then nothing is written. A picture of the job is saved beside the new file.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid compensate job.nc -o bent.nc\n\
    \x20 tautgrid compensate job.nc -o bent.nc --zero 100,50 --cut 2026-11-25")]
pub struct Args {
    /// The job, as it was drawn
    job: PathBuf,
    /// The bent job to write
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Folder of the cut that taught the error, or its date; the newest cut when left out
    #[arg(long)]
    cut: Option<PathBuf>,
    /// Most that a chord may leave the way, mm
    #[arg(long, value_name = "MM", default_value_t = 0.02)]
    chord: f64,
    /// Where the job's X0 Y0 lies, right of and above the middle of the sheet, in the unit of machine.toml
    #[arg(long, value_name = "X,Y", default_value = "0,0", allow_hyphen_values = true, value_parser = point)]
    zero: (f64, f64),
    /// How far past the sheet's edges the job may go, in the unit of machine.toml
    #[arg(long, value_name = "LENGTH", default_value_t = 0.0)]
    beyond: f64,
    /// Unit that the control takes when the job names none: mm or inch
    #[arg(long, value_name = "UNIT", value_parser = super::unit)]
    job_unit: Option<Unit>,
    /// Unit of the answer: mm or inch; that of the machine when left out
    #[arg(long, value_parser = super::unit)]
    unit: Option<Unit>,
    /// Write the new job and its picture over files of these names
    #[arg(long)]
    replace: bool,
    /// Save no picture
    #[arg(long)]
    no_picture: bool,
}

/// Two numbers, `-1250,-625`.
fn point(text: &str) -> Result<(f64, f64), String> {
    let number = |s: &str| s.trim().parse::<f64>().ok().filter(|v| v.is_finite() && v.abs() < 1e5);
    text.split_once(',')
        .and_then(|(x, y)| Some((number(x)?, number(y)?)))
        .ok_or_else(|| "two numbers, such as -1250,-625".to_owned())
}

/// Runs it.
///
/// # Errors
/// When there is no usable cut, the job cannot be passed through, or a file of that name is there already.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let picture = args.output.with_extension("svg");
    check_names(args, &picture)?;
    let loaded = load_cut(&cut_folder(args.cut.as_deref())?)?;
    loaded.print_warnings();
    let analysis = analysis_of(&loaded)?;
    if !analysis.fit.converged {
        return Err(Failure::Plain(
            "the readings of that cut did not settle on an answer: nothing to bend a job by".to_owned(),
        ));
    }
    let setup = setup_now(&loaded)?;
    let bend = bend(args, &analysis, &loaded.cut.value.setup, &setup)?;
    let options = Options {
        chord_mm: args.chord,
        zero: Point::new(setup.unit.to_mm(args.zero.0), setup.unit.to_mm(args.zero.1)),
        unit: args.job_unit,
        header: header(&setup.name, &loaded.id),
    };
    let summary = write_job(args, &bend, &options)?;
    let unit = args.unit.unwrap_or(setup.unit);
    if !args.no_picture {
        save_picture(args, &picture, &bend, &summary, unit)?;
    }
    let settings_changed =
        setup.settings != loaded.cut.value.setup.settings || setup.sag != loaded.cut.value.setup.sag;
    let bent =
        BentJob { summary: &summary, analysis: &analysis, unit, chord_mm: args.chord, settings_changed };
    say(&format!("{}\n\nThe bent job: {}\n", render(&bent), args.output.shown()))?;
    if !args.no_picture {
        say(&format!("Its picture:  {}\n", picture.shown()))?;
    }
    Ok(Outcome::Fine)
}

/// Refuses names that are taken, and numbers that no job can have, before any work is done.
fn check_names(args: &Args, picture: &Path) -> Result<(), Failure> {
    let mut wrong = Vec::new();
    let real = |path: &Path| std::fs::canonicalize(path).ok();
    if real(&args.job).is_some() && real(&args.job) == real(&args.output) {
        wrong.push("the job itself is never overwritten: give the bent job another name".to_owned());
    } else if !args.replace {
        let pictures = if args.no_picture { None } else { Some(picture) };
        for path in [Some(args.output.as_path()), pictures].into_iter().flatten() {
            if std::fs::symlink_metadata(path).is_ok() {
                wrong.push(format!("{} exists already; --replace writes over it", path.shown()));
            }
        }
    }
    if !args.no_picture
        && (picture == args.output || real(picture).is_some_and(|p| real(&args.job) == Some(p)))
    {
        wrong.push("the picture would have the name of a job: end the bent job's name in .nc".to_owned());
    }
    if !(LEAST_CHORD_MM..=MOST_CHORD_MM).contains(&args.chord) {
        wrong.push(format!("--chord {}: {LEAST_CHORD_MM} to {MOST_CHORD_MM} mm is possible", args.chord));
    }
    if !(0.0..=1000.0).contains(&args.beyond) {
        wrong.push(format!("--beyond {}: nought or more is possible", args.beyond));
    }
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Failure::Several(wrong.into_iter().map(Failure::Plain).collect()))
    }
}

/// The machine as it is set now: machine.toml, or the snapshot of the cut where there is none.
fn setup_now(cut: &LoadedCut) -> Result<Setup, Failure> {
    let folder = machine_folder(&cut.folder);
    if !folder.join(MACHINE_FILE).is_file() {
        return Ok(cut.cut.value.setup.clone());
    }
    let now = machine(&folder)?;
    now.print_warnings();
    Ok(now.value)
}

/// The table of shifts for the settings now and the machine that the cut showed.
fn bend(args: &Args, analysis: &Analysis, at_cut: &Setup, now: &Setup) -> Result<Bend, Failure> {
    let mut truth = Values::default();
    for unknown in &analysis.unknowns {
        truth[unknown.unknown] = unknown.estimate.value;
    }
    Bend::new(&now.belief(), &at_cut.nature(truth), now.unit.to_mm(args.beyond))
        .map_err(|e| Failure::Plain(e.to_string()))
}

/// Streams the job through, into a file that gets its name only at the end.
fn write_job(args: &Args, bend: &Bend, options: &Options) -> Result<Summary, Failure> {
    let mut input = BufReader::with_capacity(1 << 17, fs::File::open(&args.job)?);
    let mut part = Part::begin(&args.output)?;
    match compensate(&mut input, &mut part, bend, options)? {
        Ok(summary) => {
            part.finish(args.replace)?;
            Ok(summary)
        }
        Err(refused) => {
            Err(Failure::File { path: args.job.clone(), text: refused.text, mistakes: refused.mistakes })
        }
    }
}

fn save_picture(args: &Args, path: &Path, bend: &Bend, summary: &Summary, unit: Unit) -> Result<(), Failure> {
    let landed_of = |s: &Stroke| s.points.iter().map(|p| bend.lands(p.meant).unwrap_or(p.meant)).collect();
    let landed: Vec<Vec<Point>> = summary.strokes.iter().map(landed_of).collect();
    let name = args.job.file_name().unwrap_or_default().to_string_lossy();
    let picture = JobPicture { name: &name, sheet: *bend.sheet(), unit, summary, landed: &landed };
    let text = svg(&picture);
    if args.replace {
        save(path, text.as_bytes())?
    } else {
        save_new(path, text.as_bytes())?
    }
    Ok(())
}
