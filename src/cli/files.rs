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
/// The readings in a cut folder.
pub const READINGS_FILE: &str = "readings.csv";

/// Saves bytes under a name, atomically: written beside it, flushed to the disk, then renamed over it.
///
/// # Errors
/// When the folder cannot be written, or the disk is full; the old file is then untouched.
pub fn save(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let named = |e: io::Error| io::Error::new(e.kind(), format!("cannot save {}: {e}", path.display()));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tautgrid-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(named)?;
    file.write_all(bytes).map_err(named)?;
    file.as_file().sync_all().map_err(named)?;
    file.persist(path).map_err(|e| named(e.error))?;
    #[cfg(unix)]
    fs::File::open(folder)?.sync_all()?;
    Ok(())
}

/// Saves bytes under a name that must not be taken yet.
///
/// # Errors
/// As [`save`], and `AlreadyExists` when the name is taken.
pub fn save_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if path.exists() {
        return Err(io::Error::new(
            io::ErrorKind::AlreadyExists,
            format!("{} exists already and is not overwritten", path.display()),
        ));
    }
    save(path, bytes)
}

/// The newest cut of a machine folder: the last of the cut folders by name.
///
/// # Errors
/// When the folder of cuts cannot be read or holds no cut.
pub fn newest_cut(machine_folder: &Path) -> io::Result<PathBuf> {
    let cuts = machine_folder.join(CUTS_FOLDER);
    let mut found: Vec<PathBuf> = Vec::new();
    for entry in fs::read_dir(&cuts)? {
        let path = entry?.path();
        if path.join(CUT_FILE).is_file() {
            found.push(path);
        }
    }
    found.sort();
    found.pop().ok_or_else(|| {
        io::Error::new(io::ErrorKind::NotFound, format!("no cut in {}: prepare one first", cuts.display()))
    })
}
