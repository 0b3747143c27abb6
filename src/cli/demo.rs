//! `tautgrid demo`: the whole job on an invented machine, with the truth beside the estimate.

use super::analyse::{analysis_of, save_pictures};
use super::failure::{Failure, Shown};
use super::files::{CUT_FILE, CUTS_FOLDER, EVENTS_FILE, MACHINE_FILE, READINGS_FILE, save, save_new};
use super::history::history_of;
use super::load::load_cut;
use super::{Outcome, say, today, width};
use fs_err as fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use tautgrid::{demo, report};

/// Shows the whole job in a new folder: an invented router with known faults, a cut, readings, the answer.
///
/// Writes a machine folder as yours will look, then prints what the readings say and, as only a demo can, the truth
/// beside it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid demo\n\
    \x20 tautgrid demo my-first-look\n\
    \x20 tautgrid demo --months 6")]
pub struct Args {
    /// Folder to make; tautgrid-demo when left out
    folder: Option<PathBuf>,
    /// Show so many months of such cuts instead, 2 to 60: wear, a season, a chain re-hung, a wrong entry, a new tape
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(2..=60))]
    months: Option<u32>,
}

/// Runs it.
///
/// # Errors
/// When the folder cannot be made.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    if let Some(count) = args.months {
        return months(args, count);
    }
    let date = today();
    let demo = demo::demo(date).map_err(|e| Failure::Plain(e.to_string()))?;
    let folder = new_folder(args.folder.as_deref())?;
    let cut_folder = folder.join(CUTS_FOLDER).join(date.to_string());
    fs::create_dir_all(&cut_folder)?;
    save_new(&folder.join(MACHINE_FILE), demo.machine_text.as_bytes())?;
    save_new(&cut_folder.join(CUT_FILE), demo.cut_text.as_bytes())?;
    save_new(&cut_folder.join(READINGS_FILE), demo.readings_text.as_bytes())?;

    let loaded = load_cut(&cut_folder)?;
    let analysis = analysis_of(&loaded)?;
    save_pictures(&cut_folder, &analysis)?;
    say(&report::text::render(&analysis, width()))?;
    say(&report::truth::render(&analysis, &demo.truth, Some(demo.slip), width()))?;
    say(&format!(
        "\nEverything here is invented. The folder {} looks as yours will:\n{}",
        folder.shown(),
        listing(&folder, &cut_folder)
    ))?;
    Ok(Outcome::Fine)
}

/// Many cuts of the same machine, and what they say together.
fn months(args: &Args, count: u32) -> Result<Outcome, Failure> {
    let demo = demo::months(today(), count).map_err(|e| Failure::Plain(e.to_string()))?;
    let folder = new_folder(args.folder.as_deref())?;
    save_new(&folder.join(MACHINE_FILE), demo.machine_text.as_bytes())?;
    save_new(&folder.join(EVENTS_FILE), demo.events_text.as_bytes())?;
    for cut in &demo.cuts {
        let cut_folder = folder.join(CUTS_FOLDER).join(&cut.id);
        fs::create_dir_all(&cut_folder)?;
        save_new(&cut_folder.join(CUT_FILE), cut.cut_text.as_bytes())?;
        save_new(&cut_folder.join(READINGS_FILE), cut.readings_text.as_bytes())?;
    }
    let history = history_of(&folder, None)?;
    save(&folder.join("history.csv"), report::history::csv(&history).as_bytes())?;
    save(&folder.join("history.html"), report::history::html(&history).as_bytes())?;
    say(&report::history::text(&history, width()))?;
    say(&report::truth::months(&history, &demo, width()))?;
    say(&format!("\nEverything here is invented. The charts: {}\n", folder.join("history.html").shown()))?;
    Ok(Outcome::Fine)
}

/// Makes the folder; a default name that is taken gets a number.
fn new_folder(named: Option<&Path>) -> Result<PathBuf, Failure> {
    if let Some(named) = named {
        fs::create_dir(named)?;
        return Ok(named.to_owned());
    }
    for k in 1..1000 {
        let name = if k == 1 { "tautgrid-demo".to_owned() } else { format!("tautgrid-demo-{k}") };
        match fs::create_dir(&name) {
            Ok(()) => return Ok(PathBuf::from(name)),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {}
            Err(e) => return Err(e.into()),
        }
    }
    Err(Failure::Plain("there are a thousand demos here already: delete some".to_owned()))
}

/// What was written, a line each.
fn listing(folder: &Path, cut: &Path) -> String {
    let facts = [
        (folder.join(MACHINE_FILE), "the machine as its owner describes it"),
        (cut.join(CUT_FILE), "the cut: pattern and machine of the day"),
        (cut.join(READINGS_FILE), "the distances as they were read"),
        (cut.join("report.html"), "the whole report: open it in a browser, print it"),
        (cut.join("heatmap.svg"), "the error over the sheet"),
        (cut.join("heatmap.png"), "the same as a picture for anywhere"),
    ];
    let wide = facts.iter().map(|(p, _)| p.shown().chars().count()).max().unwrap_or(0);
    facts.iter().map(|(p, what)| format!("  {:wide$}  {what}\n", p.shown())).collect()
}
