//! Which further readings would settle what is still unclear, after an analysis.

use super::enter::Saved;
use super::failure::{Failure, Shown};
use super::load::LoadedCut;
use super::lock::{Lock, What};
use super::say;
use std::path::Path;
use tautgrid::analysis::Analysis;
use tautgrid::planner::{Plan, Planned, Request, more};
use tautgrid::readings::{self, Place, Reading};
use tautgrid::report::numbers::Measure;

/// Names so many further distances, and writes them into `readings.csv` when asked to.
///
/// # Errors
/// When the machine cannot be planned for, or the table cannot be saved.
pub fn run(loaded: &LoadedCut, analysis: &Analysis, count: usize, add: bool) -> Result<(), Failure> {
    let setup = &loaded.cut.value.setup;
    let table = &loaded.table.value;
    let took_part = |r: &&Reading| analysis.used.iter().any(|u| u.line == r.line);
    let used: Vec<Reading> = table.readings.iter().filter(took_part).cloned().collect();
    let edges = used.iter().any(|r| matches!(r.from, Place::Edge(_)) || matches!(r.to, Place::Edge(_)));
    let request = Request { readings: count, edges, ..Request::default() };
    let plan = more(setup, &loaded.holes, &request, &used)
        .map_err(|e| Failure::Plain(format!("this machine cannot be planned for: {e}")))?;
    say(&words(loaded, analysis, &plan))?;
    if add {
        return added(loaded, &plan.distances);
    }
    let folder = loaded.folder.shown();
    say(&format!(
        "To have them in the list: tautgrid analyse {folder} --more {count} --add, then tautgrid enter {folder}\n"
    ))
}

fn name(loaded: &LoadedCut, place: Place) -> &str {
    match place {
        Place::Hole(i) => &loaded.holes[i].id,
        Place::Edge(edge) => edge.name(),
    }
}

fn words(loaded: &LoadedCut, analysis: &Analysis, plan: &Plan) -> String {
    let length = Measure::length(analysis.unit);
    let instruments = &loaded.cut.value.setup.instruments;
    let mut text = format!(
        "\nOf the position error, {} (root mean square over the sheet) is still unknown after these readings.\n\
         These {} would bring it to {}:\n",
        length.size_unit(plan.before_rms_mm),
        plan.distances.len(),
        length.size_unit(plan.predicted_rms_mm)
    );
    for p in &plan.distances {
        let instrument = tautgrid::report::plain(&instruments[p.instrument].name);
        text += &format!("  {} to {}, {instrument}\n", name(loaded, p.from), name(loaded, p.to));
    }
    if loaded.table.value.blank() > 0 {
        let blank = loaded.table.value.blank();
        text += &format!("But {blank} of the distances in the list are still blank: take those first.\n");
    }
    text
}

/// Writes the distances that are not in the table yet below the others; nothing else in the file changes.
fn added(loaded: &LoadedCut, distances: &[Planned]) -> Result<(), Failure> {
    let instruments = &loaded.cut.value.setup.instruments;
    let path: &Path = &loaded.table.path;
    let _lock = Lock::now(&loaded.folder, What::Readings)?;
    let mut file = Saved::of(path)?;
    if !file.holds(&loaded.table.text) {
        return Err(Failure::Plain(format!(
            "{} was changed by another program meanwhile; start the command again",
            path.shown()
        )));
    }
    let mut text = loaded.table.text.clone();
    let ends = |from: Place, to: Place| (from.min(to), from.max(to));
    let listed =
        |p: &Planned| loaded.table.value.rows.iter().any(|r| ends(r.from, r.to) == ends(p.from, p.to));
    let new: Vec<&Planned> = distances.iter().filter(|p| !listed(p)).collect();
    for p in &new {
        let mut cells = vec![("from", name(loaded, p.from)), ("to", name(loaded, p.to))];
        if p.instrument != 0 {
            cells.push(("instrument", &instruments[p.instrument].name));
        }
        text = readings::insert_below(&text, None, &cells)
            .ok_or_else(|| Failure::Plain(format!("{}: rows cannot be added to this table", path.shown())))?;
    }
    file.save(&text)?;
    let folder = loaded.folder.shown();
    say(&format!("{} added to {}. Next: tautgrid enter {folder}\n", new.len(), path.shown()))
}
