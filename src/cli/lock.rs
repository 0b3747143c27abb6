//! Two copies at once: whoever writes takes a lock first, so that neither writes over what the other has just saved.
//!
//! A lock is a hidden file that the system lets one program hold at a time. It is let go when that program ends,
//! however it ends, so that a lock never has to be taken away by hand. The file itself stays, empty.

use super::failure::Failure;
use std::fs::{File, TryLockError};
use std::path::Path;
use std::time::{Duration, Instant};

/// How long a command that is done in a moment waits for another one.
const PATIENCE: Duration = Duration::from_secs(10);
/// How often it looks whether the other one is done.
const AGAIN: Duration = Duration::from_millis(20);

/// What is to be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// `machine.toml` and `events.csv` of a machine folder.
    Machine,
    /// `readings.csv` of a cut's folder.
    Readings,
    /// Report and pictures in a cut's folder.
    Report,
}

impl What {
    const fn file(self) -> &'static str {
        match self {
            Self::Machine => ".tautgrid-machine.lock",
            Self::Readings => ".tautgrid-readings.lock",
            Self::Report => ".tautgrid-report.lock",
        }
    }

    const fn in_words(self) -> &'static str {
        match self {
            Self::Machine => "the machine's files",
            Self::Readings => "the readings",
            Self::Report => "the report",
        }
    }
}

/// The right to write something in a folder, as long as this lives.
#[derive(Debug)]
pub struct Lock {
    _held: File,
}

impl Lock {
    /// Takes the lock, or says that another copy has it.
    ///
    /// # Errors
    /// When another copy has it, or the folder cannot be written.
    pub fn now(folder: &Path, what: What) -> Result<Self, Failure> {
        Self::within(folder, what, Duration::ZERO)
    }

    /// Takes the lock, and waits some seconds for a copy that has it.
    ///
    /// # Errors
    /// When the other copy is not done by then, or the folder cannot be written.
    pub fn wait(folder: &Path, what: What) -> Result<Self, Failure> {
        Self::within(folder, what, PATIENCE)
    }

    fn within(folder: &Path, what: What, patience: Duration) -> Result<Self, Failure> {
        let path = folder.join(what.file());
        let cannot = |e: std::io::Error| {
            Failure::Plain(format!("nothing can be written in {}: {e}", folder.display()))
        };
        let file = File::options().create(true).append(true).open(path).map_err(cannot)?;
        let end = Instant::now() + patience;
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(Self { _held: file }),
                Err(TryLockError::WouldBlock) if Instant::now() < end => std::thread::sleep(AGAIN),
                Err(TryLockError::WouldBlock) => {
                    return Err(Failure::Plain(format!(
                        "another tautgrid is writing {} in {}: finish there, or close that window, and try again",
                        what.in_words(),
                        folder.display()
                    )));
                }
                // Some file systems of a network know no locks: there two copies are the person's own care.
                Err(TryLockError::Error(e)) if e.kind() == std::io::ErrorKind::Unsupported => {
                    return Ok(Self { _held: file });
                }
                Err(TryLockError::Error(e)) => return Err(cannot(e)),
            }
        }
    }
}
