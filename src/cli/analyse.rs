//! `tautgrid analyse`: what the readings of a cut say, on the screen, as JSON, and as report and pictures.

use super::answer::Asked;
pub use super::answer::analysis_of;
use super::failure::{Failure, Shown};
use super::files::save;
use super::lock::{Lock, What};
use super::{Outcome, say, width};
use std::path::Path;
use tautgrid::analysis::{Analysis, Verdict};
use tautgrid::report;

/// Works out what a cut's readings say, and what to change.
///
/// Prints the answer, and writes report.html, heatmap.svg and heatmap.png into the cut's folder. Ends with exit code
/// 0 when the machine as cut is within tolerance, 1 when it is not or that cannot be told, 2 when there is no answer.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid analyse\n\
    \x20 tautgrid analyse 2026-11-25 --unit inch\n\
    \x20 tautgrid analyse --json")]
pub struct Args {
    #[command(flatten)]
    asked: Asked,
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
    let (loaded, analysis) = args.asked.analysis()?;
    if args.asked.json {
        say(&report::json::render(&analysis))?;
    } else {
        let saved = save_pictures(&loaded.folder, &analysis);
        say(&report::text::render(&analysis, width()))?;
        saved?;
        say(&format!("\nThe whole report: {}\n", loaded.folder.join("report.html").shown()))?;
        if let Some(count) = args.more {
            super::more::run(&loaded, &analysis, usize::from(count), args.add)?;
        }
    }
    Ok(match analysis.error.verdict {
        Verdict::Pass => Outcome::Fine,
        Verdict::Fail | Verdict::CannotTell => Outcome::NotWithin,
    })
}

/// Writes the report and the pictures into a folder. They are results, worked out anew each time.
///
/// # Errors
/// When a file cannot be saved, or another copy is at it.
pub fn save_pictures(folder: &Path, analysis: &Analysis) -> Result<(), Failure> {
    let _lock = Lock::wait(folder, What::Report)?;
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
