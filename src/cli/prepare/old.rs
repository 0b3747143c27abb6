//! The holes that a sheet may have already.

use crate::cli::failure::{Failure, Shown, warn};
use crate::cli::files::{CUT_FILE, CUTS_FOLDER};
use crate::cli::load::toml;
use fs_err as fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use tautgrid::cut;
use tautgrid::frame::Point;
use tautgrid::setup::Setup;

/// Cuts looked at, the newest: a sheet holds no more.
const MOST_CUTS: usize = 8;

/// The holes of the newest cuts on a sheet of this size.
///
/// # Errors
/// When there is no cut yet.
pub fn holes(folder: &Path, setup: &Setup) -> Result<Vec<Point>, Failure> {
    let none =
        || Failure::Plain("--verify: there is no cut yet that this one could be set beside".to_owned());
    let entries = match fs::read_dir(folder.join(CUTS_FOLDER)) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Err(none()),
        entries => entries?,
    };
    let mut files: Vec<PathBuf> =
        entries.filter_map(|e| Some(e.ok()?.path().join(CUT_FILE))).filter(|f| f.is_file()).collect();
    if files.is_empty() {
        return Err(none());
    }
    files.sort();
    let mut holes = Vec::new();
    for file in files.into_iter().rev().take(MOST_CUTS) {
        match toml(file.clone(), cut::read) {
            Ok(old) if old.value.setup.sheet == setup.sheet => {
                holes.extend(old.value.pattern.holes().iter().map(|h| h.target));
            }
            Ok(_) => {}
            Err(_) => warn(&format!("{} cannot be read: its holes are not kept clear of", file.shown())),
        }
    }
    Ok(holes)
}
