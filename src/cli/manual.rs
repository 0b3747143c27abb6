//! `tautgrid manual`: man pages and what shells need to complete commands.

use super::failure::{Failure, Shown};
use super::files::save_new;
use super::{Cli, Outcome, say};
use clap::CommandFactory;
use clap_complete::{Shell, generate};
use fs_err as fs;
use std::path::PathBuf;

/// Writes manual pages, and completions for the common shells, into a new folder
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  tautgrid manual pages")]
pub struct Args {
    /// Folder to make; it must not exist yet
    folder: PathBuf,
}

/// Runs it.
///
/// # Errors
/// When the folder exists or cannot be written.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    fs::create_dir(&args.folder)?;
    let mut whole = Cli::command();
    whole.build();
    let mut pages = vec![(whole.get_name().to_owned(), whole.clone())];
    for command in whole.get_subcommands().filter(|c| c.get_name() != "help") {
        let name = format!("tautgrid-{}", command.get_name());
        pages.push((name.clone(), command.clone().display_name(name)));
    }
    let count = pages.len();
    for (name, command) in pages {
        let mut page = Vec::new();
        clap_mangen::Man::new(command).render(&mut page)?;
        save_new(&args.folder.join(format!("{name}.1")), &page)?;
    }
    for shell in [Shell::Bash, Shell::Zsh, Shell::Fish, Shell::PowerShell, Shell::Elvish] {
        let mut script = Vec::new();
        generate(shell, &mut whole, "tautgrid", &mut script);
        save_new(&args.folder.join(format!("complete.{}", shell.to_string().to_lowercase())), &script)?;
    }
    say(&format!(
        "{} pages (man -l {}) and complete.bash, .zsh, .fish, .powershell, .elvish\n",
        count,
        args.folder.join("tautgrid.1").shown()
    ))?;
    Ok(Outcome::Fine)
}
