//! Commands: what was typed, what it means, and the exit code.
//!
//! One file a command. A command reads files, calls the library, and hands back what to print or save.

mod analyse;
mod answer;
mod check;
mod compensate;
mod correct;
mod demo;
mod enter;
mod excerpt;
mod explain;
mod failure;
mod files;
mod history;
mod load;
mod lock;
mod manual;
mod more;
mod new;
mod note;
mod prepare;
mod simulate;
mod tables;

use clap::{Parser, Subcommand};
use failure::Failure;
use std::io::{ErrorKind, Write};
use std::process::ExitCode;
use tautgrid::frame::Unit;

/// Version, and the commit that a release was built from where that is known.
const VERSION: &str = match option_env!("TAUTGRID_COMMIT") {
    Some(commit) => commit,
    None => env!("CARGO_PKG_VERSION"),
};

/// How a command that could answer ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Done, or within tolerance: exit code 0.
    Fine,
    /// Not within tolerance, or it cannot be told: exit code 1.
    NotWithin,
}

/// Finds, explains and corrects the geometry error of a two-chain upright router from a test cut.
#[derive(Debug, Parser)]
#[command(version = VERSION, about, arg_required_else_help = true, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::Args),
    New(new::Args),
    Prepare(prepare::Args),
    Enter(enter::Args),
    Check(check::Args),
    Analyse(analyse::Args),
    Correct(correct::Args),
    Compensate(compensate::Args),
    History(history::Args),
    Note(note::Args),
    Simulate(simulate::Args),
    Explain(explain::Args),
    Manual(manual::Args),
}

/// Runs the command that was typed and says how it went: 0 fine, 1 not within or cannot tell, 2 no answer.
pub fn run() -> ExitCode {
    let cli = Cli::parse();
    let outcome: Result<Outcome, Failure> = match cli.command {
        Command::Demo(args) => demo::run(&args),
        Command::New(args) => new::run(args),
        Command::Prepare(args) => prepare::run(&args),
        Command::Enter(args) => enter::run(&args),
        Command::Check(args) => check::run(args),
        Command::Analyse(args) => analyse::run(&args),
        Command::Correct(args) => correct::run(&args),
        Command::Compensate(args) => compensate::run(&args),
        Command::History(args) => history::run(&args),
        Command::Note(args) => note::run(&args),
        Command::Simulate(args) => simulate::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::Manual(args) => manual::run(&args),
    };
    match outcome {
        Ok(Outcome::Fine) => ExitCode::SUCCESS,
        Ok(Outcome::NotWithin) => ExitCode::from(1),
        Err(failure) => {
            failure.print();
            ExitCode::from(2)
        }
    }
}

/// Writes text to standard output. When its reader has gone away, that is no failure: the work goes on, as there may
/// be files to save and typed answers to take.
///
/// # Errors
/// When it cannot be written for another reason, such as a full disk.
fn say(text: &str) -> Result<(), Failure> {
    let mut out = anstream::stdout();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(()),
        result => result.map_err(|e| Failure::Plain(format!("the answer cannot be written: {e}"))),
    }
}

/// A unit as typed.
fn unit(word: &str) -> Result<Unit, String> {
    match word {
        "mm" => Ok(Unit::Mm),
        "inch" | "in" => Ok(Unit::Inch),
        _ => Err("mm or inch".to_owned()),
    }
}

/// Characters in a line of the terminal; 100 when it is not one, or wider.
fn width() -> usize {
    const MOST: usize = 100;
    comfy_table::Table::new().width().map_or(MOST, |w| usize::from(w).min(MOST))
}

/// Today's date where the person is.
fn today() -> jiff::civil::Date {
    jiff::ZonedDateTime::now().date()
}
