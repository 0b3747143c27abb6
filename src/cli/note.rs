//! `tautgrid note`: writes down what happened to the machine, and the file that keeps it.

use super::correct::keep;
use super::failure::{Failure, Shown, warn};
use super::files::{EVENTS_FILE, MACHINE_FILE, newest_cut, save};
use super::load::{self, toml};
use super::lock::{Lock, What};
use super::{Outcome, say, today};
use jiff::civil::Date;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use tautgrid::carry_over::loosened;
use tautgrid::events::{self, Event, Kind};
use tautgrid::setup;

/// Writes down what happened to the machine, so that wear can later be told from work done on it
///
/// Adds a line to events.csv in the machine folder. Settings that `correct --write` changes are written down by
/// themselves. What a kind of work may have moved is expected less surely from then on: machine.toml is brought up to date,
/// its comments stay, and what stood there is kept beside it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid note \"left chain re-hung\" --kind re-hung\n\
    \x20 tautgrid note \"oiled both chains\" --date 2026-11-20")]
pub struct Args {
    /// What happened, in your words
    text: String,
    /// What sort of thing it was: re-hung, chain (a new one), carriage (its weight), moved, tape (another one), setting,
    /// or note
    #[arg(long, default_value = "note", value_parser = kind)]
    kind: Kind,
    /// Day on which it happened; today when left out
    #[arg(long)]
    date: Option<Date>,
}

fn kind(word: &str) -> Result<Kind, String> {
    let word = word.to_lowercase();
    Kind::ALL
        .into_iter()
        .find(|k| k.name() == word || k.name().replace('-', "") == word)
        .ok_or_else(|| format!("one of {}", Kind::ALL.map(Kind::name).join(", ")))
}

/// Runs it in the machine folder at hand.
///
/// # Errors
/// When there is no machine here, or its events cannot be read or saved.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let here = Path::new(".");
    if !here.join(MACHINE_FILE).is_file() {
        return Err(Failure::Plain(format!(
            "there is no {MACHINE_FILE} here: run this in a machine's folder"
        )));
    }
    if args.text.trim().is_empty() {
        return Err(Failure::Plain("say in a few words what happened".to_owned()));
    }
    // An event of today comes after the cuts that are there; one of another day finds its place by its date.
    let cut = match args.date {
        Some(_) => String::new(),
        None => newest_id(here),
    };
    let event = Event::noted(args.date.unwrap_or_else(today), &cut, args.kind, &args.text);
    let lock = Lock::wait(here, What::Machine)?;
    let backup = loosen(here, &event)?;
    add_events(&lock, here, std::slice::from_ref(&event))?;
    say(&format!("{}, {}: written into {EVENTS_FILE}.\n", event.date, event.kind.in_words()))?;
    if let Some(backup) = backup {
        say(&format!(
            "{MACHINE_FILE} now expects what that may have moved as loosely as before the first cut; what stood there is kept \
             as {}.\n",
            backup.shown()
        ))?;
    }
    Ok(Outcome::Fine)
}

/// Brings `[expected]` of machine.toml up to date with an event; the name under which the old text is kept, if it changed.
fn loosen(home: &Path, event: &Event) -> Result<Option<PathBuf>, Failure> {
    if event.kind.moves(event.sides()).is_empty() && event.kind != Kind::Tape {
        return Ok(None);
    }
    let machine = load::machine(home)?;
    let text = loosened(&machine.text, event.kind, event.sides(), machine.value.unit)
        .map_err(|e| Failure::Plain(format!("{MACHINE_FILE} cannot be rewritten: {e}")))?;
    if text == machine.text {
        return Ok(None);
    }
    // Only what can be read again replaces the person's file.
    if setup::read(&text).is_err() {
        warn(&format!("{MACHINE_FILE} stays as it is: widen u under [expected] by hand for what was moved"));
        return Ok(None);
    }
    let backup = keep(home, &machine.text)?;
    save(&home.join(MACHINE_FILE), text.as_bytes())?;
    Ok(Some(backup))
}

/// Id of the newest cut; empty when there is none.
fn newest_id(folder: &Path) -> String {
    let newest = newest_cut(folder).ok();
    newest.and_then(|p| p.file_name().map(|n| n.to_string_lossy().into_owned())).unwrap_or_default()
}

/// Adds events at the end of a machine folder's file of them, which stays as it is otherwise. What was changed on the
/// machine is written once: when the file ends with the very same changes, a run before this one was stopped halfway.
///
/// # Errors
/// When the file cannot be read or saved, or holds mistakes; it is then untouched.
pub fn add_events(_lock: &Lock, machine_folder: &Path, new: &[Event]) -> Result<(), Failure> {
    let (text, old) = text_and_events(machine_folder)?;
    let changes = |events: &[Event]| -> Vec<Event> {
        events.iter().map(|e| Event { date: Date::ZERO, ..e.clone() }).collect()
    };
    let is_change = new.iter().all(|e| e.kind == Kind::Setting);
    if new.is_empty() || (is_change && changes(&old).ends_with(&changes(new))) {
        return Ok(());
    }
    if let Some(late) = old.iter().map(|e| e.date).max().filter(|&date| date > today()) {
        warn(&format!(
            "{EVENTS_FILE} tells of {late}, and this computer says that today is {}: is its clock right?",
            today()
        ));
    }
    Ok(save(&machine_folder.join(EVENTS_FILE), events::append(&text, new).as_bytes())?)
}

/// The text of a machine folder's events, and what it says; nothing where there is none.
///
/// # Errors
/// When the file cannot be read, or holds mistakes.
pub fn text_and_events(machine_folder: &Path) -> Result<(String, Vec<Event>), Failure> {
    let path = machine_folder.join(EVENTS_FILE);
    match toml(path.clone(), events::read) {
        Ok(loaded) => Ok((loaded.text, loaded.value)),
        Err(Failure::Io(e)) if e.kind() == ErrorKind::NotFound && !path.exists() => Ok(Default::default()),
        Err(e) => Err(e),
    }
}
