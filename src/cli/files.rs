//! Reading and saving files. Every save is atomic: the old file or the new one, never half of either.

use fs_err as fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The settings file in a machine folder.
pub const MACHINE_FILE: &str = "machine.toml";
/// The folder of cuts in a machine folder.
pub const CUTS_FOLDER: &str = "cuts";
/// The snapshot in a cut folder.
pub const CUT_FILE: &str = "cut.toml";
/// What happened to the machine, in a machine folder.
pub const EVENTS_FILE: &str = "events.csv";
/// The readings in a cut folder.
pub const READINGS_FILE: &str = "readings.csv";

/// Saves bytes under a name, atomically: written beside it, flushed to the disk, then renamed over it. A link is
/// followed, and the file keeps its permissions.
///
/// # Errors
/// When the folder cannot be written, or the disk is full; the old file is then untouched.
pub fn save(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let real = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let part = written_beside(&real, bytes).map_err(|e| cannot_save(path, &e))?;
    if let Ok(old) = std::fs::metadata(&real) {
        part.as_file().set_permissions(old.permissions()).map_err(|e| cannot_save(path, &e))?;
    }
    part.persist(&real).map_err(|e| cannot_save(path, &e.error))?;
    sync_folder(&real)
}

/// Saves bytes under a name that must not be taken yet.
///
/// # Errors
/// As [`save`], and `AlreadyExists` when the name is taken.
pub fn save_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let part = written_beside(path, bytes).map_err(|e| cannot_save(path, &e))?;
    part.persist_noclobber(path).map_err(|e| match e.error.kind() {
        kind @ io::ErrorKind::AlreadyExists => {
            io::Error::new(kind, format!("{} exists already and is not overwritten", path.display()))
        }
        _ => cannot_save(path, &e.error),
    })?;
    sync_folder(path)
}

/// Bytes safely on the disk, in the folder of `path` but not yet under its name.
fn written_beside(path: &Path, bytes: &[u8]) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tautgrid-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut part = builder.tempfile_in(folder_of(path))?;
    part.write_all(bytes)?;
    part.as_file().sync_all()?;
    Ok(part)
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Makes a new name last through a loss of power, where folders can be flushed.
fn sync_folder(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    fs::File::open(folder_of(path))?.sync_all()?;
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}

fn cannot_save(path: &Path, e: &io::Error) -> io::Error {
    io::Error::new(e.kind(), format!("cannot save {}: {e}", path.display()))
}

/// The newest cut of a machine folder: the last of the cut folders by name.
///
/// # Errors
/// When the folder of cuts cannot be read or holds no cut.
pub fn newest_cut(machine_folder: &Path) -> io::Result<PathBuf> {
    let cuts = machine_folder.join(CUTS_FOLDER);
    let none = || {
        let message = format!("there is no cut in {}: tautgrid prepare makes one", cuts.display());
        io::Error::new(io::ErrorKind::NotFound, message)
    };
    let entries = match fs::read_dir(&cuts) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Err(none()),
        entries => entries?,
    };
    let mut found: Vec<PathBuf> = Vec::new();
    for entry in entries {
        let path = entry?.path();
        if path.join(CUT_FILE).is_file() {
            found.push(path);
        }
    }
    found.sort();
    found.pop().ok_or_else(none)
}
