//! `tautgrid check`: reads the machine, a cut and its readings, and says everything that is wrong with them.

use super::failure::Failure;
use super::files::{CUTS_FOLDER, MACHINE_FILE, newest_cut};
use super::load::{self, LoadedCut};
use super::{Outcome, say};
use std::collections::BTreeSet;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use tautgrid::frame::Edge;
use tautgrid::readings::{Place, Row};
use tautgrid::setup::Setup;

/// Reads machine.toml, a cut and its readings, and reports every mistake in them
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid check\n\
    \x20 tautgrid check 2026-11-25")]
pub struct Args {
    /// Cut: its folder or its date; the newest one when left out
    cut: Option<PathBuf>,
}

/// Checks what is there; says in one paragraph what was found when all is well.
///
/// # Errors
/// All mistakes of all files.
pub fn run(args: Args) -> Result<Outcome, Failure> {
    let here = Path::new(".");
    let cut_folder = match &args.cut {
        Some(named) => Some(load::cut_folder(Some(named))?),
        None => match newest_cut(here) {
            Err(e) if e.kind() == ErrorKind::NotFound => None,
            newest => Some(newest?),
        },
    };
    let machine_folder = cut_folder.as_deref().map_or_else(|| here.to_owned(), load::machine_folder);
    let has_machine = machine_folder.join(MACHINE_FILE).is_file();
    if !has_machine && cut_folder.is_none() {
        return Err(Failure::Plain(format!(
            "there is nothing to check here: no {MACHINE_FILE}, and no cut in {CUTS_FOLDER}. \
             tautgrid new DIR starts a machine's folder"
        )));
    }
    let machine = has_machine.then(|| load::machine(&machine_folder)).transpose();
    let cut = cut_folder.map(|folder| load::load_cut(&folder)).transpose();
    let (machine, cut) = match (machine, cut) {
        (Ok(machine), Ok(cut)) => (machine, cut),
        (Err(a), Err(b)) => return Err(Failure::Several(vec![a, b])),
        (Err(e), _) | (_, Err(e)) => return Err(e),
    };
    let mut summary = String::new();
    if let Some(machine) = &machine {
        machine.print_warnings();
        summary += &machine_summary(&machine.value);
    }
    if let Some(cut) = &cut {
        cut.print_warnings();
        summary += &cut_summary(cut);
        if machine.is_some_and(|machine| machine.value != cut.cut.value.setup) {
            summary += " machine.toml has changed since this cut was prepared; the cut keeps the old one.";
        }
    }
    say(&format!("{}\n", summary.trim()))?;
    Ok(Outcome::Fine)
}

fn machine_summary(setup: &Setup) -> String {
    let names: Vec<&str> = setup.instruments.iter().map(|i| i.name.as_str()).collect();
    format!("{} is in order ({}; {}).", setup.name, setup.unit.name(), names.join(", "))
}

/// What a cut's files hold, in a few sentences.
fn cut_summary(loaded: &LoadedCut) -> String {
    let (pattern, table) = (&loaded.cut.value.pattern, &loaded.table.value);
    let key = if pattern.key { " and KEY" } else { "" };
    let mut text = format!(
        " Cut {}: {} by {} holes{key}, {}",
        loaded.id,
        pattern.columns,
        pattern.rows,
        count(table.readings.len(), "reading"),
    );
    let by_instrument: Vec<String> = (loaded.cut.value.setup.instruments.iter().enumerate())
        .map(|(i, instrument)| (table.readings.iter().filter(|r| r.instrument == i).count(), instrument))
        .filter(|(n, _)| *n > 0)
        .map(|(n, instrument)| format!("{n} with {}", instrument.name))
        .collect();
    if !by_instrument.is_empty() {
        text += &format!(" ({})", by_instrument.join(", "));
    }
    text += &match table.blank() {
        0 => ", none still to take.".to_owned(),
        n => format!(", {n} still to take."),
    };
    let repeats = table.readings.len()
        - table.rows.iter().filter(|r| r.reading.is_some()).map(ends).collect::<BTreeSet<_>>().len();
    if repeats > 0 {
        text += &format!(" {} of a distance taken before.", count(repeats, "repeat"));
    }
    let edges: BTreeSet<Edge> = table.readings.iter().flat_map(|r| [r.from, r.to]).filter_map(edge).collect();
    if !edges.is_empty() {
        let names: Vec<&str> = edges.into_iter().map(Edge::name).collect();
        text += &format!(" Edges used: {}.", names.join(", "));
    } else if !table.readings.is_empty() {
        text += " No reading to an edge: where the pattern sits on the sheet stays unknown.";
    }
    text
}

fn count(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

/// The two ends of a distance, whichever way it was taken.
fn ends(row: &Row) -> (Place, Place) {
    (row.from.min(row.to), row.from.max(row.to))
}

fn edge(place: Place) -> Option<Edge> {
    match place {
        Place::Edge(edge) => Some(edge),
        Place::Hole(_) => None,
    }
}
