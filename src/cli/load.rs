//! A machine folder and its cuts, read from the disk.

use super::failure::{Failure, print_mistakes};
use super::files::{CUT_FILE, CUTS_FOLDER, MACHINE_FILE, READINGS_FILE, newest_cut};
use fs_err as fs;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use tautgrid::cut::{self, Cut};
use tautgrid::mistake::Mistake;
use tautgrid::pattern::Hole;
use tautgrid::readings::{self, Known, Table};
use tautgrid::setup::{self, Setup};
use tautgrid::text;

/// Something read from a file, with that file's text and what the person should look at in it.
#[derive(Debug)]
pub struct Loaded<T> {
    /// The file.
    pub path: PathBuf,
    /// Its text, as decoded.
    pub text: String,
    /// What it says.
    pub value: T,
    /// What the person should look at.
    pub warnings: Vec<Mistake>,
}

impl<T> Loaded<T> {
    /// Prints the warnings to standard error.
    pub fn print_warnings(&self) {
        print_mistakes(&self.path, &self.text, &self.warnings);
    }
}

/// A cut with its readings.
#[derive(Debug)]
pub struct LoadedCut {
    /// Name of its folder: its date, and a suffix for a second one on the same day.
    pub id: String,
    /// Its folder.
    pub folder: PathBuf,
    /// `cut.toml`.
    pub cut: Loaded<Cut>,
    /// The holes of its pattern.
    pub holes: Vec<Hole>,
    /// `readings.csv`.
    pub table: Loaded<Table>,
}

impl LoadedCut {
    /// Prints the warnings of both files to standard error.
    pub fn print_warnings(&self) {
        self.cut.print_warnings();
        self.table.print_warnings();
    }
}

/// What the readings of a cut refer to.
pub fn known<'a>(cut: &'a Cut, holes: &'a [Hole]) -> Known<'a> {
    Known {
        holes,
        instruments: &cut.setup.instruments,
        unit: cut.unit,
        hole_diameter_mm: cut.pattern.hole_diameter_mm,
        temperature_c: cut.conditions.temperature_c,
    }
}

/// Reads `machine.toml` of a machine folder.
///
/// # Errors
/// When it cannot be read, or holds mistakes.
pub fn machine(folder: &Path) -> Result<Loaded<Setup>, Failure> {
    toml(folder.join(MACHINE_FILE), setup::read)
}

/// Reads `cut.toml` and `readings.csv` of a cut's folder.
///
/// # Errors
/// When one of them cannot be read, or holds mistakes. Readings are looked at only when the cut is in order.
pub fn load_cut(folder: &Path) -> Result<LoadedCut, Failure> {
    let cut = toml(folder.join(CUT_FILE), cut::read)?;
    let holes = cut.value.pattern.holes();
    let path = folder.join(READINGS_FILE);
    let bytes = bytes(&path)?;
    let table = match readings::read(&bytes, &known(&cut.value, &holes)) {
        Ok(mut table) => {
            let text = std::mem::take(&mut table.text);
            let warnings = std::mem::take(&mut table.warnings);
            Loaded { path, text, value: table, warnings }
        }
        Err((text, mistakes)) => return Err(Failure::File { path, text, mistakes }),
    };
    Ok(LoadedCut { id: id(folder), folder: folder.to_owned(), cut, holes, table })
}

/// The folder of the cut that a command is about: the one named (as a path, or as a date in the machine folder
/// at hand), or else the newest of the machine folder at hand.
///
/// # Errors
/// When there is no such cut.
pub fn cut_folder(named: Option<&Path>) -> Result<PathBuf, Failure> {
    let Some(named) = named else { return Ok(newest_cut(Path::new("."))?) };
    let by_date = Path::new(CUTS_FOLDER).join(named);
    if named.join(CUT_FILE).is_file() {
        Ok(named.to_owned())
    } else if by_date.join(CUT_FILE).is_file() {
        Ok(by_date)
    } else if named.join(MACHINE_FILE).is_file() {
        Ok(newest_cut(named)?)
    } else {
        let name = named.display();
        Err(Failure::Plain(format!(
            "{name} is no cut: there is no {CUT_FILE} in it, nor in {CUTS_FOLDER}/{name}"
        )))
    }
}

/// The machine folder that a cut's folder belongs to: `shop` for `shop/cuts/2026-11-25`.
pub fn machine_folder(cut_folder: &Path) -> PathBuf {
    let above = |path: &Path| path.parent().and_then(Path::parent).map(Path::to_owned);
    let names = cut_folder.components().rev().take(2);
    if names.filter(|c| matches!(c, Component::Normal(_))).count() == 2 {
        let folder = above(cut_folder).unwrap_or_default();
        return if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder };
    }
    // Given as `.` or `../2026-11-25`: only the file system knows what is above it.
    fs::canonicalize(cut_folder).ok().as_deref().and_then(above).unwrap_or_else(|| PathBuf::from("."))
}

/// Name of a cut's folder.
fn id(folder: &Path) -> String {
    let real = fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    real.file_name().unwrap_or(real.as_os_str()).to_string_lossy().into_owned()
}

/// Reads a TOML file.
///
/// # Errors
/// When it cannot be read, or holds mistakes.
pub fn toml<T>(
    path: PathBuf,
    read: impl Fn(&str) -> tautgrid::mistake::Read<T>,
) -> Result<Loaded<T>, Failure> {
    let (text, mut warnings) = match text::decode(&bytes(&path)?) {
        Ok(decoded) => decoded,
        Err(mistakes) => return Err(Failure::File { path, text: String::new(), mistakes }),
    };
    match read(&text) {
        Ok((value, more)) => {
            warnings.extend(more);
            Ok(Loaded { path, text, value, warnings })
        }
        Err(mistakes) => Err(Failure::File { path, text, mistakes }),
    }
}

/// The bytes of a file, one more than is read at most when it is larger.
fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    fs::File::open(path)?.take(text::LARGEST_FILE as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}
