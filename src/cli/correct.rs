//! `tautgrid correct`: the settings to enter, and with `--write` machine.toml brought up to date.

mod area;

use super::answer::Asked;
use super::failure::{Failure, Shown};
use super::files::{EVENTS_FILE, MACHINE_FILE, save, save_new};
use super::load::{self, LoadedCut, machine_folder};
use super::lock::{Lock, What};
use super::note::add_events;
use super::{Outcome, say, today, width};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use tautgrid::analysis::{Analysis, Notice};
use tautgrid::carry_over::renewed;
use tautgrid::events::Event;
use tautgrid::frame::Unit;
use tautgrid::setup::{self, Setup};
use tautgrid::{report, report::notices};

/// Gives the settings to enter, and writes them into machine.toml when asked
///
/// The settings are those that this controller can store and that leave the smallest error over the sheet. With
/// --write they go into machine.toml, together with what is now known of the machine, so that the next cut starts
/// wiser; the old file is kept beside it, and events.csv tells what was changed and on what evidence.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  tautgrid correct\n  tautgrid correct --area -600,-400,600,400\n  tautgrid correct 2026-11-25 --write"
)]
pub struct Args {
    #[command(flatten)]
    asked: Asked,
    /// Serve this part of the sheet best, from its lower left to its upper right corner, measured from the middle of the
    /// sheet in the unit of machine.toml; the whole sheet when left out
    #[arg(long, value_name = "X0,Y0,X1,Y1", allow_hyphen_values = true)]
    area: Option<String>,
    /// Write the new settings into machine.toml. You still have to put them into the controller
    #[arg(long)]
    write: bool,
    /// Write even where something speaks against it
    #[arg(long, requires = "write")]
    anyway: bool,
}

/// Runs it.
///
/// # Errors
/// When the cut cannot be read or gives no answer, when something speaks against writing, or a file cannot be saved.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let chosen = |setup: &Setup| args.area.as_deref().map(|text| area::read(text, setup)).transpose();
    let (cut, analysis) = args.asked.analysis_over(chosen)?;
    let backup = if args.write { Some(write(&cut, &analysis, args.anyway)?) } else { None };
    if args.asked.json {
        say(&report::json::correction(&analysis, args.write))?;
        return Ok(Outcome::Fine);
    }
    say(&report::text::correction(&analysis, width()))?;
    match backup {
        Some(backup) => say(&format!(
            "\nWritten into {MACHINE_FILE}; what stood there is kept as {}, and {EVENTS_FILE} tells of the change.\n\
             Now put the same numbers into the controller, all of them, and cut a fresh pattern beside the old holes: \
             tautgrid prepare --verify.\n",
            backup.shown()
        ))?,
        None => say(
            "\nNothing is written yet: tautgrid correct --write puts the new settings into machine.toml.\n",
        )?,
    }
    Ok(Outcome::Fine)
}

/// Brings machine.toml up to date; the name under which the old one is kept.
fn write(cut: &LoadedCut, analysis: &Analysis, anyway: bool) -> Result<PathBuf, Failure> {
    let home = machine_folder(&cut.folder);
    let lock = Lock::wait(&home, What::Machine)?;
    let machine = load::machine(&home)?;
    let against: Vec<String> = analysis
        .notices
        .iter()
        .filter(|n| n.speaks_against_correcting())
        .map(|n: &Notice| {
            let words = notices::words(n);
            format!("  {} {}", words.what, words.next)
        })
        .collect();
    if !anyway && !against.is_empty() {
        return Err(Failure::Plain(format!(
            "nothing is written, as this speaks against it:\n{}\nIf you know better: tautgrid correct --write --anyway",
            against.join("\n")
        )));
    }
    let (now, then) = (&machine.value, &cut.cut.value.setup);
    if now.settings != then.settings || now.hardware != then.hardware || now.sag != then.sag {
        return Err(Failure::Plain(format!(
            "nothing is written: {MACHINE_FILE} is no longer what it was when cut {} was prepared, so what that cut says \
             does not fit it. Prepare, cut and measure a new one",
            cut.id
        )));
    }
    let text = renewed(&machine.text, analysis, now.unit, cut.cut.value.date)
        .map_err(|e| Failure::Plain(format!("{MACHINE_FILE} cannot be rewritten: {e}")))?;
    // Only what can be read again, and says what it should, replaces the person's file.
    let good = setup::read(&text).is_ok_and(|(new, _)| {
        analysis.settings_new.iter().all(|s| (new.settings[s.unknown] - s.to).abs() < 1e-3)
    });
    if !good {
        return Err(Failure::Plain(format!(
            "nothing is written: {MACHINE_FILE} is laid out in a way that cannot be rewritten safely. Enter the new \
             settings by hand"
        )));
    }
    let backup = keep(&home, &machine.text)?;
    let e = &analysis.error;
    let note = format!(
        "{} readings; error over {} {} rms as cut, {} rms to be expected now",
        analysis.used.len(),
        if e.chosen.is_some() { "the part chosen" } else { "the sheet" },
        evidence(e.as_cut.rms_mm, now.unit),
        evidence(e.after.size.rms_mm, now.unit)
    );
    let events: Vec<Event> = analysis
        .settings_new
        .iter()
        .filter(|s| s.from != s.to)
        .map(|s| Event::setting(today(), &cut.id, s.unknown, s.from, s.to, now.unit, &note))
        .collect();
    // The settings come last: whoever is stopped before that finds them as they were, and the same command does the
    // rest. The other way round, a change of the settings could stay untold for ever.
    add_events(&lock, &home, &events)?;
    save(&home.join(MACHINE_FILE), text.as_bytes())?;
    Ok(backup)
}

/// A size as the file of events holds it: plain text, in the machine's unit.
fn evidence(size_mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => format!("{size_mm:.2} mm"),
        Unit::Inch => format!("{:.3} in", unit.from_mm(size_mm)),
    }
}

/// Keeps the old text beside the new one, under a name that is not taken yet.
///
/// # Errors
/// When it cannot be saved, or there are too many already.
pub fn keep(home: &Path, text: &str) -> Result<PathBuf, Failure> {
    let mut name = format!("{MACHINE_FILE}.before-{}", today());
    for letter in 'b'..='z' {
        // Kept already, by a run that was stopped before its end.
        if std::fs::read(home.join(&name)).is_ok_and(|kept| kept == text.as_bytes()) {
            return Ok(home.join(name));
        }
        match save_new(&home.join(&name), text.as_bytes()) {
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {
                name = format!("{MACHINE_FILE}.before-{}-{letter}", today());
            }
            result => return result.map(|()| home.join(name)).map_err(Failure::from),
        }
    }
    Err(Failure::Plain(format!("there are too many copies of {MACHINE_FILE} of today: move some away")))
}
