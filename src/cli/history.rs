//! `tautgrid history`: all cuts of a machine together, over the months.

use super::analyse::analysis_of;
use super::failure::{Failure, Shown, print_mistakes};
use super::files::{CUT_FILE, CUTS_FOLDER, save};
use super::load::{load_cut, machine};
use super::note::text_and_events;
use super::{Outcome, say, today, width};
use fs_err as fs;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::hash::{DefaultHasher, Hasher};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use tautgrid::frame::Unit;
use tautgrid::history::{Context, Entry, History, between, history};
use tautgrid::record::Verdict;
use tautgrid::report;

/// What earlier runs worked out, so that only new cuts take time. Made anew when it is missing or of another version.
const KEPT_FILE: &str = ".history-kept.json";
/// Cuts that are worked out before what is done so far is kept.
const BATCH: usize = 64;

/// Shows what the machine's accuracy is doing over the months, what wears, and when to look again
///
/// Works out every cut of the machine folder from its raw readings and joins them: trends with their uncertainty, changes
/// told from noise, growth of the chains, when the error will reach the tolerance. Prints the answer and writes
/// history.html and history.csv into the folder. Ends with exit code 0 when the newest cut is within tolerance, 1 when it is not
/// or that cannot be told.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid history\n\
    \x20 tautgrid history --between 2026-11-02 2026-11-25\n\
    \x20 tautgrid history --json")]
pub struct Args {
    /// Machine folder; the one at hand when left out
    folder: Option<PathBuf>,
    /// Print what changed between two cuts, by their dates, and write no files
    #[arg(long, num_args = 2, value_names = ["EARLIER", "LATER"])]
    between: Option<Vec<String>>,
    /// Print the result as JSON (always mm and mm/m) and write no files
    #[arg(long)]
    json: bool,
    /// Unit of the answer: mm or inch; that of the machine when left out
    #[arg(long, value_parser = super::unit)]
    unit: Option<Unit>,
}

/// Runs it.
///
/// # Errors
/// When there is no machine, none of its cuts has an answer, or a file cannot be saved.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let folder = args.folder.clone().unwrap_or_else(|| PathBuf::from("."));
    let history = history_of(&folder, args.unit)?;
    if let Some(two) = &args.between {
        return compared(&folder, &history, two, args.json);
    }
    if args.json {
        say(&report::history::json(&history))?;
    } else {
        save(&folder.join("history.csv"), report::history::csv(&history).as_bytes())?;
        save(&folder.join("history.html"), report::history::html(&history).as_bytes())?;
        say(&report::history::text(&history, width()))?;
        say(&format!(
            "\nThe charts: {}\nAll figures: {}\n",
            folder.join("history.html").shown(),
            folder.join("history.csv").shown()
        ))?;
    }
    Ok(match history.entries.last().map(|e| e.verdict) {
        Some(Verdict::Pass) => Outcome::Fine,
        _ => Outcome::NotWithin,
    })
}

/// The history of a machine folder.
///
/// # Errors
/// When there is no machine, or none of its cuts has an answer.
pub fn history_of(folder: &Path, unit: Option<Unit>) -> Result<History, Failure> {
    let machine = machine(folder)?;
    machine.print_warnings();
    let (_, events) = text_and_events(folder)?;
    let entries = entries(folder)?;
    if entries.is_empty() {
        return Err(Failure::Plain(format!(
            "there is no cut with readings in {} yet: tautgrid prepare makes one",
            folder.join(CUTS_FOLDER).shown()
        )));
    }
    let mut history = history(&machine.value, entries, &events, today());
    if let Some(unit) = unit {
        history.unit = unit;
    }
    Ok(history)
}

fn compared(folder: &Path, history: &History, two: &[String], json: bool) -> Result<Outcome, Failure> {
    let place = |id: &String| {
        let known = || history.entries.iter().map(|e| e.id.as_str()).collect::<Vec<_>>().join(", ");
        let at = history.entries.iter().position(|e| e.id == *id);
        at.ok_or_else(|| Failure::Plain(format!("there is no cut {id} with readings; there are {}", known())))
    };
    let (mut a, mut b) = (place(&two[0])?, place(&two[1])?);
    if a == b {
        return Err(Failure::Plain("name two different cuts".to_owned()));
    }
    if a > b {
        (a, b) = (b, a);
    }
    let setup = machine(folder)?.value;
    let comparison = between(&setup, history, a, b).ok_or_else(|| {
        Failure::Plain("the machine as it is now cannot be worked out over the sheet".to_owned())
    })?;
    if json {
        say(&report::history::compared_json(&comparison))?;
    } else {
        say(&report::history::compared(history, &comparison, width()))?;
    }
    Ok(Outcome::Fine)
}

/// What was worked out before, by the content it was worked out from.
#[derive(Serialize, Deserialize, Default)]
struct Kept {
    version: String,
    cuts: HashMap<String, Entry>,
}

/// One cut's folder and what is in it.
struct Source {
    folder: PathBuf,
    key: String,
}

/// All cuts with readings, in the order in which they were made. Cuts that cannot be read are named and passed over.
fn entries(folder: &Path) -> Result<Vec<Entry>, Failure> {
    let sources = sources(&folder.join(CUTS_FOLDER))?;
    let path = folder.join(KEPT_FILE);
    let mut kept = read_kept(&path);
    let missing: Vec<&Source> = sources.iter().filter(|s| !kept.cuts.contains_key(&s.key)).collect();
    let mut refused: Vec<(String, Failure)> = Vec::new();
    let mut done = 0;
    for batch in missing.chunks(BATCH) {
        let worked: Vec<_> = batch.par_iter().map(|s| (s.key.clone(), worked_out(s))).collect();
        for (key, result) in worked {
            match result {
                Ok(Some(entry)) => {
                    kept.cuts.insert(key, entry);
                }
                Ok(None) => {}
                Err(failure) => refused.push((key, failure)),
            }
        }
        done += batch.len();
        if missing.len() > BATCH {
            anstream::eprintln!("{done} of {} cuts worked out", missing.len());
        }
        keep(&path, &kept);
    }
    for (_, failure) in &refused {
        failure.print();
    }
    if !refused.is_empty() {
        anstream::eprintln!("warning: {} of {} cuts are left out", refused.len(), sources.len());
    }
    let before = kept.cuts.len();
    let mut entries: Vec<Entry> = sources.iter().filter_map(|s| kept.cuts.remove(&s.key)).collect();
    if before > entries.len() {
        // Cuts that are no longer there, or were changed since.
        kept.cuts = sources.iter().map(|s| s.key.clone()).zip(entries.iter().cloned()).collect();
        keep(&path, &kept);
    }
    entries.sort_by(|a, b| (a.date, &a.id).cmp(&(b.date, &b.id)));
    Ok(entries)
}

/// The cuts of a folder.
fn sources(cuts: &Path) -> Result<Vec<Source>, Failure> {
    let listing = match fs::read_dir(cuts) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        listing => listing?,
    };
    let mut folders = Vec::new();
    for entry in listing {
        let folder = entry?.path();
        if folder.join(CUT_FILE).is_file() {
            folders.push(folder);
        }
    }
    folders.sort();
    Ok(folders.into_iter().map(|folder| Source { key: key(&folder), folder }).collect())
}

/// The content of a cut as a number; another version of the program has other numbers.
fn key(folder: &Path) -> String {
    let mut hasher = DefaultHasher::new();
    hasher.write(super::VERSION.as_bytes());
    hasher.write(folder.file_name().unwrap_or_default().as_encoded_bytes());
    for name in [CUT_FILE, super::files::READINGS_FILE] {
        // A file that cannot be read is named when the cut is worked out.
        hasher.write(&std::fs::read(folder.join(name)).unwrap_or_default());
        hasher.write_u8(0);
    }
    format!("{:016x}", hasher.finish())
}

/// One cut; `None` when it has no readings yet.
fn worked_out(source: &Source) -> Result<Option<Entry>, Failure> {
    let loaded = load_cut(&source.folder)?;
    if loaded.table.value.readings.is_empty() {
        return Ok(None);
    }
    print_mistakes(&loaded.cut.path, &loaded.cut.text, &loaded.cut.warnings);
    print_mistakes(&loaded.table.path, &loaded.table.text, &loaded.table.warnings);
    let analysis = analysis_of(&loaded)?;
    let cut = &loaded.cut.value;
    let context = Context { date: cut.date, conditions: &cut.conditions, setup: &cut.setup };
    Ok(Some(Entry::of(&analysis, &context)))
}

/// What was kept, if it is of this version and whole.
fn read_kept(path: &Path) -> Kept {
    let text = std::fs::read(path).unwrap_or_default();
    let kept: Kept = serde_json::from_slice(&text).unwrap_or_default();
    if kept.version == super::VERSION {
        kept
    } else {
        Kept { version: super::VERSION.to_owned(), cuts: HashMap::new() }
    }
}

/// Keeps it for the next time. Where that cannot be done, the next time takes longer: no reason to stop.
fn keep(path: &Path, kept: &Kept) {
    if let Ok(text) = serde_json::to_vec(kept) {
        let _ = save(path, &text);
    }
}
