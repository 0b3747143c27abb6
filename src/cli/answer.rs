//! What `analyse` and `correct` share: which cut, in which form, and its analysis.

use super::failure::Failure;
use super::load::{LoadedCut, cut_folder, load_cut, machine_folder};
use super::note::text_and_events;
use std::path::PathBuf;
use tautgrid::analysis::{self, Analysis, NoAnswer};
use tautgrid::frame::{Rectangle, Unit};
use tautgrid::setup::Setup;

/// Which cut is asked about, and in which form the answer is wanted.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// Folder of the cut, or its date; the newest cut when left out
    cut: Option<PathBuf>,
    /// Print the result as JSON (always mm and mm/m), without report and pictures
    #[arg(long)]
    pub json: bool,
    /// Unit of the answer: mm or inch; that of the machine when left out
    #[arg(long, value_parser = super::unit)]
    unit: Option<Unit>,
}

impl Asked {
    /// Reads the cut, prints the warnings, and works it out.
    ///
    /// # Errors
    /// When the cut cannot be read or gives no answer.
    pub fn analysis(&self) -> Result<(LoadedCut, Analysis), Failure> {
        self.analysis_over(|_| Ok(None))
    }

    /// The same with errors judged over a part of the sheet, if one is `chosen` for the machine.
    ///
    /// # Errors
    /// As [`Asked::analysis`], and when there is no such part.
    pub fn analysis_over(
        &self,
        chosen: impl FnOnce(&Setup) -> Result<Option<Rectangle>, Failure>,
    ) -> Result<(LoadedCut, Analysis), Failure> {
        let loaded = load_cut(&cut_folder(self.cut.as_deref())?)?;
        loaded.print_warnings();
        let chosen = chosen(&loaded.cut.value.setup)?;
        let answer = analysis::analyse_over(&input(&loaded), chosen.as_ref());
        let mut analysis = answer.map_err(|e| no_answer(&loaded, &e))?;
        check_promise(&loaded, &mut analysis)?;
        if let Some(unit) = self.unit {
            analysis.unit = unit;
        }
        Ok((loaded, analysis))
    }
}

/// The analysis of a cut that has been read.
///
/// # Errors
/// When there are no readings, or the machine as described cannot have cut the pattern.
pub fn analysis_of(loaded: &LoadedCut) -> Result<Analysis, Failure> {
    analysis::analyse(&input(loaded)).map_err(|e| no_answer(loaded, &e))
}

/// Holds the cut against what was promised of settings that were changed before it, where any were.
fn check_promise(loaded: &LoadedCut, analysis: &mut Analysis) -> Result<(), Failure> {
    let (_, events) = text_and_events(&machine_folder(&loaded.folder))?;
    let cut = &loaded.cut.value;
    let changes = analysis::changes_before(&events, &loaded.id, cut.date, &cut.setup.settings);
    if !changes.is_empty() {
        analysis::hold_to_promise(&input(loaded), &changes, analysis).map_err(|e| no_answer(loaded, &e))?;
    }
    Ok(())
}

fn input(loaded: &LoadedCut) -> analysis::Cut<'_> {
    let (cut, table) = (&loaded.cut.value, &loaded.table.value);
    analysis::Cut {
        id: &loaded.id,
        setup: &cut.setup,
        pattern: &cut.pattern,
        readings: &table.readings,
        blank: table.blank(),
    }
}

fn no_answer(loaded: &LoadedCut, why: &NoAnswer) -> Failure {
    Failure::Plain(format!("{}: {why}", loaded.folder.display()))
}
