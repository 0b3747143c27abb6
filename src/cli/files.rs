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
    let real = behind_links(path);
    let part = written_beside(&real, bytes).map_err(|e| cannot_save(path, &e))?;
    if let Ok(old) = std::fs::metadata(&real) {
        part.as_file().set_permissions(old.permissions()).map_err(|e| cannot_save(path, &e))?;
    }
    step();
    part.persist(&real).map_err(|e| cannot_save(path, &e.error))?;
    step();
    sync_folder(&real)
}

/// Saves bytes under a name that must not be taken yet.
///
/// # Errors
/// As [`save`], and `AlreadyExists` when the name is taken.
pub fn save_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let part = written_beside(path, bytes).map_err(|e| cannot_save(path, &e))?;
    step();
    part.persist_noclobber(path).map_err(|e| taken_or_failed(path, &e.error))?;
    step();
    sync_folder(path)
}

/// A file that is being written, bit by bit, and gets its name only when it is whole. Dropped before that, it is gone.
pub struct Part {
    path: PathBuf,
    writer: io::BufWriter<tempfile::NamedTempFile>,
}

impl Part {
    /// Begins a file in the folder where it will be.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn begin(path: &Path) -> io::Result<Self> {
        let part = empty_beside(path).map_err(|e| cannot_save(path, &e))?;
        Ok(Self { path: path.to_owned(), writer: io::BufWriter::with_capacity(1 << 17, part) })
    }

    /// Gives it its name, once it is safely on the disk; over a file of that name only when `replace` says so.
    ///
    /// # Errors
    /// When the disk is full, or the name is taken.
    pub fn finish(self, replace: bool) -> io::Result<()> {
        let path = self.path;
        let part = self.writer.into_inner().map_err(|e| cannot_save(&path, e.error()))?;
        part.as_file().sync_all().map_err(|e| cannot_save(&path, &e))?;
        step();
        if replace {
            let real = behind_links(&path);
            part.persist(&real).map_err(|e| cannot_save(&path, &e.error))?;
            return sync_folder(&real);
        }
        part.persist_noclobber(&path).map_err(|e| taken_or_failed(&path, &e.error))?;
        sync_folder(&path)
    }
}

impl Write for Part {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.writer.write(bytes).map_err(|e| cannot_save(&self.path, &e))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.writer.flush().map_err(|e| cannot_save(&self.path, &e))
    }
}

fn taken_or_failed(path: &Path, e: &io::Error) -> io::Error {
    match e.kind() {
        kind @ io::ErrorKind::AlreadyExists => {
            io::Error::new(kind, format!("{} exists already and is not overwritten", path.display()))
        }
        _ => cannot_save(path, e),
    }
}

/// Bytes safely on the disk, in the folder of `path` but not yet under its name.
fn written_beside(path: &Path, bytes: &[u8]) -> io::Result<tempfile::NamedTempFile> {
    let mut part = empty_beside(path)?;
    step();
    let (first, rest) = bytes.split_at(bytes.len() / 2);
    part.write_all(first)?;
    step();
    part.write_all(rest)?;
    part.as_file().sync_all()?;
    Ok(part)
}

/// An empty file without a name of its own yet, in the folder of `path`.
fn empty_beside(path: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tautgrid-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder_of(path))
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A moment at which the power may fail. The tests of a debug build set `TAUTGRID_DIES_AT` to be stopped dead at the
/// n-th of them, as `kill -9` would; a release knows nothing of this.
fn step() {
    #[cfg(debug_assertions)]
    {
        use std::sync::atomic::{AtomicU64, Ordering};
        static PASSED: AtomicU64 = AtomicU64::new(0);
        let here = PASSED.fetch_add(1, Ordering::SeqCst) + 1;
        if std::env::var("TAUTGRID_DIES_AT").is_ok_and(|at| at == here.to_string()) {
            std::process::abort();
        }
    }
}

/// The file that a path leads to, by way of any links; a link may lead to a file that is not there yet.
fn behind_links(path: &Path) -> PathBuf {
    if let Ok(real) = std::fs::canonicalize(path) {
        return real;
    }
    match std::fs::read_link(path) {
        Ok(target) => folder_of(path).join(target),
        Err(_) => path.to_owned(),
    }
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
