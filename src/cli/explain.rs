//! `tautgrid explain`: the words of the report in plain words.

use super::failure::Failure;
use super::{Outcome, say, width};
use tautgrid::report::explain;
use tautgrid::text::harmless;

/// Says what a word of the report means, how large is usual, and what to do
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  tautgrid explain\n  tautgrid explain skew\n  tautgrid explain chain pitch"
)]
pub struct Args {
    /// The word, as the report prints it; all words are listed when it is left out
    word: Vec<String>,
}

/// Runs it.
///
/// # Errors
/// When the word is not one of the report.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let word = args.word.join(" ");
    if word.is_empty() {
        say(&explain::index(width()))?;
        return Ok(Outcome::Fine);
    }
    let Some(entry) = explain::find(&word) else {
        let near = explain::near(&word);
        let hint = match near.is_empty() {
            true => "tautgrid explain lists all words".to_owned(),
            false => format!("did you mean {}?", near.join(", or ")),
        };
        return Err(Failure::Plain(format!("{} is not a word of the report: {hint}", harmless(&word))));
    };
    say(&explain::render(entry, width()))?;
    Ok(Outcome::Fine)
}
