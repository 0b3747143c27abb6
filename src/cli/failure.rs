//! Why a command gave no answer, and how that is shown: the line of the file underlined, all mistakes at once.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::path::{Path, PathBuf};
use tautgrid::mistake::{Mistake, Severity};

/// Why there is no answer.
#[derive(Debug)]
pub enum Failure {
    /// A file holds mistakes.
    File {
        /// Which file.
        path: PathBuf,
        /// Its text, as decoded.
        text: String,
        /// All of them.
        mistakes: Vec<Mistake>,
    },
    /// A file could not be read or written; the message names it.
    Io(std::io::Error),
    /// Anything else, with what to do about it.
    Plain(String),
}

impl From<std::io::Error> for Failure {
    fn from(e: std::io::Error) -> Self {
        Self::Io(e)
    }
}

impl Failure {
    /// Prints it to standard error.
    pub fn print(&self) {
        match self {
            Self::File { path, text, mistakes } => print_mistakes(path, text, mistakes),
            Self::Io(e) => anstream::eprintln!("error: {e}"),
            Self::Plain(message) => anstream::eprintln!("error: {message}"),
        }
    }
}

/// Prints every mistake of a file to standard error, in the order of the file.
pub fn print_mistakes(path: &Path, text: &str, mistakes: &[Mistake]) {
    for mistake in mistakes {
        anstream::eprintln!("{}\n", render(path, text, mistake));
    }
}

/// One mistake as text, its line underlined.
fn render(path: &Path, text: &str, mistake: &Mistake) -> String {
    let level = match mistake.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let label = match (mistake.found.as_str(), mistake.expected.as_str()) {
        ("", expected) => format!("expected {expected}"),
        (found, "") => found.to_owned(),
        (found, expected) => format!("{found}; expected {expected}"),
    };
    let name = path.display().to_string();
    let source = Snippet::source(text)
        .path(name)
        .annotation(AnnotationKind::Primary.span(mistake.span.clone()).label(label));
    let mut group = level.primary_title(mistake.title.as_str()).element(source);
    if let Some(help) = &mistake.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    Renderer::styled().render(&[group])
}
