//! What `analyse` and `correct` share: which cut, in which form, and its analysis.

use super::failure::Failure;
use super::load::{LoadedCut, cut_folder, load_cut};
use std::path::PathBuf;
use tautgrid::analysis::{self, Analysis};
use tautgrid::frame::Unit;

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
        let loaded = load_cut(&cut_folder(self.cut.as_deref())?)?;
        loaded.print_warnings();
        let mut analysis = analysis_of(&loaded)?;
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
