//! Commands: what was typed, what it means, and the exit code.
//!
//! One file a command. A command reads files, calls the library, and hands back what to print or save.

mod failure;
mod files;

use clap::{Parser, Subcommand};
use failure::Failure;
use std::process::ExitCode;

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
#[command(version, about, arg_required_else_help = true, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {}

/// Runs the command that was typed and says how it went: 0 fine, 1 not within or cannot tell, 2 no answer.
pub fn run() -> ExitCode {
    let cli = Cli::parse();
    let outcome: Result<Outcome, Failure> = match cli.command {};
    match outcome {
        Ok(Outcome::Fine) => ExitCode::SUCCESS,
        Ok(Outcome::NotWithin) => ExitCode::from(1),
        Err(failure) => {
            failure.print();
            ExitCode::from(2)
        }
    }
}
