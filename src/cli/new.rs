//! `tautgrid new`: a machine folder with a commented `machine.toml`.

mod tape;

use super::failure::{Failure, Shown};
use super::files::{MACHINE_FILE, save_new};
use super::{Outcome, say};
use fs_err as fs;
use std::path::PathBuf;
use tautgrid::frame::Unit;
use tautgrid::setup;

/// Starts a folder for a machine, with a commented machine.toml to fill in
///
/// With --ask, or with readings of the tape as flags, the numbers of a first set-up go into it: first settings, how
/// well each is known, and the accuracy to expect before any cut. Readings are adjusted together, and those that
/// contradict each other are told.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid new wall-router\n\
    \x20 tautgrid new big-table --unit inch --name \"Big table\"\n\
    \x20 tautgrid new wall-router --spacing 3301 --top-left 521 --top-right 519.5 --mark \"1248 at 200\" --mark \"1249 at 1100\"\n\
    \x20 tautgrid new big-table --unit inch --spacing \"130 1/16\" --top-left \"20 3/8\" --top-right \"20 5/16\"\n\
\n\
At the machine, with the tape in hand: tautgrid new wall-router --ask")]
pub struct Args {
    /// Folder to start; it may exist, its machine.toml may not
    folder: PathBuf,
    /// Unit of every length in the file: mm or inch
    #[arg(long, default_value = "mm", value_parser = super::unit)]
    unit: Unit,
    /// Name of the machine; the folder's name when left out
    #[arg(long)]
    name: Option<String>,
    /// Ask for the readings of a first set-up, one after the other
    #[arg(long)]
    ask: bool,
    /// Write even where readings contradict each other
    #[arg(long)]
    anyway: bool,
    #[command(flatten)]
    tape: tape::Flags,
}

/// Writes the file and says what to do next.
///
/// # Errors
/// When the name or a reading cannot be used, the file is there already, or it cannot be written.
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
    let answers = args.tape.answers();
    if !args.ask && answers.is_empty() {
        fs::create_dir_all(&args.folder)?;
        save_new(&path, text.as_bytes())?;
        let path = path.shown();
        say(&format!(
            "{path} is an example. Put in the numbers of your machine: each line says how to get them.\n\
             Then, in that folder: tautgrid check, and tautgrid prepare for a test cut.\n"
        ))?;
        return Ok(Outcome::Fine);
    }
    // Said before a dozen questions are answered, not after.
    if path.exists() {
        return Err(Failure::Plain(format!("{} exists already and is not overwritten", path.shown())));
    }
    let Some(done) = tape::set_up(&text, args.unit, answers, args.ask, args.anyway)? else {
        say("Stopped; nothing is written.\n")?;
        return Ok(Outcome::Fine);
    };
    fs::create_dir_all(&args.folder)?;
    save_new(&path, done.text.as_bytes())?;
    say(&done.said)?;
    say(&format!(
        "Written: {}. What you did not give is an example there: look it through, each line says how to get its number.\n\
         Put the settings into the controller, then, in that folder: tautgrid check, and tautgrid prepare for a test cut.\n",
        path.shown()
    ))?;
    Ok(Outcome::Fine)
}
