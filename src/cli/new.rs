//! `tautgrid new`: a machine folder with a commented `machine.toml`.

use super::failure::{Failure, Shown};
use super::files::{MACHINE_FILE, save_new};
use super::{Outcome, say};
use fs_err as fs;
use std::path::PathBuf;
use tautgrid::frame::Unit;
use tautgrid::setup;

/// Starts a folder for a machine, with a commented machine.toml to fill in
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid new wall-router\n\
    \x20 tautgrid new big-table --unit inch --name \"Big table\"")]
pub struct Args {
    /// Folder to start; it may exist, its machine.toml may not
    folder: PathBuf,
    /// Unit of every length in the file: mm or inch
    #[arg(long, default_value = "mm", value_parser = super::unit)]
    unit: Unit,
    /// Name of the machine; the folder's name when left out
    #[arg(long)]
    name: Option<String>,
}

/// Writes the file and says what to do next.
///
/// # Errors
/// When the name cannot be used, the file is there already, or it cannot be written.
pub fn run(args: Args) -> Result<Outcome, Failure> {
    let name = args.name.unwrap_or_else(|| {
        let real = std::path::absolute(&args.folder).unwrap_or_else(|_| args.folder.clone());
        real.file_name().map_or_else(|| "router".to_owned(), |n| n.to_string_lossy().into_owned())
    });
    let text = setup::template(&name, args.unit);
    if setup::read(&text).is_err() {
        return Err(Failure::Plain(
            "this name cannot be used; give another one with --name: up to 60 printable characters"
                .to_owned(),
        ));
    }
    let path = args.folder.join(MACHINE_FILE);
    fs::create_dir_all(&args.folder)?;
    save_new(&path, text.as_bytes())?;
    let path = path.shown();
    say(&format!(
        "{path} is an example. Put in the numbers of your machine: each line says how to get them.\n\
         Then, in that folder: tautgrid check, and tautgrid prepare for a test cut.\n"
    ))?;
    Ok(Outcome::Fine)
}
