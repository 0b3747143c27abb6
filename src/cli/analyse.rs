//! `tautgrid analyse`: what the readings of a cut say, on the screen, as JSON, and as report and pictures.

use super::failure::Failure;
use super::files::save;
use super::load::{LoadedCut, cut_folder, load_cut};
use super::{Outcome, say, width};
use std::path::{Path, PathBuf};
use tautgrid::analysis::{self, Analysis, Verdict};
use tautgrid::frame::Unit;
use tautgrid::report;

/// Works out what a cut's readings say, and what to change.
///
/// Prints the answer, and writes report.html, heatmap.svg and heatmap.png into the cut's folder. Ends with exit code
/// 0 when the machine as cut is within tolerance, 1 when it is not or that cannot be told, 2 when there is no answer.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Folder of the cut, or its date; the newest cut when left out
    cut: Option<PathBuf>,
    /// Print the result as JSON (always mm and mm/m) and write no files
    #[arg(long)]
    json: bool,
    /// Unit of the answer: mm or inch; that of the machine when left out
    #[arg(long, value_parser = super::unit)]
    unit: Option<Unit>,
    /// Name so many further distances that would settle most of what is still unclear
    #[arg(long, value_name = "N", conflicts_with = "json", value_parser = clap::value_parser!(u16).range(1..=100))]
    more: Option<u16>,
    /// With --more: write them into readings.csv too, below what is there
    #[arg(long, requires = "more")]
    add: bool,
}

/// Runs it.
///
/// # Errors
/// When the cut cannot be read, there are no readings, or the answer cannot be saved.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let folder = cut_folder(args.cut.as_deref())?;
    let loaded = load_cut(&folder)?;
    loaded.print_warnings();
    let mut analysis = analysis_of(&loaded)?;
    if let Some(unit) = args.unit {
        analysis.unit = unit;
    }
    if args.json {
        say(&report::json::render(&analysis))?;
    } else {
        save_pictures(&folder, &analysis)?;
        say(&report::text::render(&analysis, width()))?;
        say(&format!("\nThe whole report: {}\n", folder.join("report.html").display()))?;
        if let Some(count) = args.more {
            super::more::run(&loaded, &analysis, usize::from(count), args.add)?;
        }
    }
    Ok(match analysis.error.verdict {
        Verdict::Pass => Outcome::Fine,
        Verdict::Fail | Verdict::CannotTell => Outcome::NotWithin,
    })
}

/// The analysis of a cut that has been read.
///
/// # Errors
/// When there are no readings, or the machine as described cannot have cut the pattern.
pub fn analysis_of(loaded: &LoadedCut) -> Result<Analysis, Failure> {
    let cut = &loaded.cut.value;
    let table = &loaded.table.value;
    let input = analysis::Cut {
        id: &loaded.id,
        setup: &cut.setup,
        pattern: &cut.pattern,
        readings: &table.readings,
        blank: table.blank(),
    };
    analysis::analyse(&input).map_err(|e| Failure::Plain(format!("{}: {e}", loaded.folder.display())))
}

/// Writes the report and the pictures into a folder. They are results, worked out anew each time.
///
/// # Errors
/// When a file cannot be saved.
pub fn save_pictures(folder: &Path, analysis: &Analysis) -> Result<(), Failure> {
    // Two halves of about the same length, on two cores where there are two.
    let (raster, vector) = rayon::join(
        || save(&folder.join("heatmap.png"), &report::heatmap::png(analysis)),
        || {
            save(&folder.join("heatmap.svg"), report::heatmap::svg(analysis).as_bytes())?;
            save(&folder.join("report.html"), report::html::render(analysis).as_bytes())
        },
    );
    raster.and(vector)?;
    Ok(())
}
