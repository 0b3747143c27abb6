//! Why a command gave no answer, and how that is shown: the line of the file underlined, all mistakes at once.

use super::excerpt::excerpt;
use annotate_snippets::{AnnotationKind, Level, Message, Origin, Renderer, Snippet};
use std::io::Write;
use std::path::{Path, PathBuf};
use tautgrid::mistake::{Mistake, Severity};
use tautgrid::text::harmless;

/// Mistakes of one file that are shown; whoever has more mends these first.
const SHOWN: usize = 100;

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
    /// Several things are wrong.
    Several(Vec<Failure>),
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
            Self::Several(failures) => failures.iter().for_each(Self::print),
            Self::Io(e) => tell(&format!("error: {}", harmless(&e.to_string()))),
            Self::Plain(message) => tell(&format!("error: {}", lines_harmless(message))),
        }
    }
}

/// Prints every mistake of a file to standard error, in the order of the file, and how many there were.
pub fn print_mistakes(path: &Path, text: &str, mistakes: &[Mistake]) {
    for mistake in mistakes.iter().take(SHOWN) {
        tell(&format!("{}\n", render(path, text, mistake)));
    }
    let name = path.shown();
    let wrong = mistakes.iter().filter(|m| m.severity == Severity::Error).count();
    match wrong {
        0 => {}
        1 => tell(&format!("{name}: 1 mistake")),
        n => tell(&format!("{name}: {n} mistakes")),
    }
    if mistakes.len() > SHOWN {
        tell(&format!("the first {SHOWN} are shown"));
    }
}

/// Prints something the person should know to standard error.
pub fn warn(message: &str) {
    tell(&format!("warning: {}", lines_harmless(message)));
}

/// Writes a line to standard error; when nobody listens there, there is nobody to tell.
fn tell(line: &str) {
    let _ = writeln!(anstream::stderr(), "{line}");
}

fn lines_harmless(message: &str) -> String {
    message.lines().map(harmless).collect::<Vec<_>>().join("\n")
}

/// A path as it is shown to a person.
pub trait Shown {
    /// On one line, harmless to any terminal, without a leading `./`.
    fn shown(&self) -> String;
}

impl Shown for Path {
    fn shown(&self) -> String {
        let short = self.strip_prefix(".").ok().filter(|p| !p.as_os_str().is_empty());
        harmless(&short.unwrap_or(self).display().to_string()).into_owned()
    }
}

/// One mistake as text, its line underlined. A mistake at `0..0` concerns the file as a whole: no line is shown.
fn render(path: &Path, text: &str, mistake: &Mistake) -> String {
    let level = match mistake.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let name = path.shown();
    let (title, found, expected) =
        (harmless(&mistake.title), harmless(&mistake.found), harmless(&mistake.expected));
    let help = mistake.help.as_deref().map(harmless);
    let note = |name, text| -> Message<'_> { Level::NOTE.with_name(Some(name)).message(text) };

    let group = level.primary_title(&*title);
    let shown = excerpt(text, &mistake.span);
    let mut elements = if mistake.span == (0..0) {
        group.element(Origin::path(name))
    } else {
        let label = if found.is_empty() { None } else { Some(&*found) };
        let underline = AnnotationKind::Primary.span(shown.span.clone()).label(label);
        group.element(Snippet::source(&shown.line).path(name).line_start(mistake.line).annotation(underline))
    };
    if mistake.span == (0..0) && !found.is_empty() {
        elements = elements.element(note("found", &*found));
    }
    if !expected.is_empty() {
        elements = elements.element(note("expected", &*expected));
    }
    if let Some(help) = &help {
        elements = elements.element(Level::HELP.message(&**help));
    }
    Renderer::styled().term_width(110).render(&[elements])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str, mistake: &Mistake) -> String {
        anstream::adapter::strip_str(&render(Path::new("readings.csv"), text, mistake)).to_string()
    }

    #[test]
    fn the_line_is_underlined_where_it_is_wrong() {
        let text = "from,to,reading\nA1,B3,12l9.4\n";
        let mistake = Mistake::at(text, 22..28, "the reading is not a length")
            .found("it has the letter l in it")
            .expected("such as 1234.5")
            .help("did you mean 1219.4?");
        assert_eq!(
            plain(text, &mistake),
            "error: the reading is not a length\n --> readings.csv:2:7\n  |\n2 | A1,B3,12l9.4\n  |       ^^^^^^ \
             it has the letter l in it\n  |\n  = expected: such as 1234.5\n  = help: did you mean 1219.4?"
        );
    }

    #[test]
    fn a_mistake_of_the_whole_file_shows_no_line() {
        let mistake = Mistake::at("x", 0..0, "the file is empty").expected("a first line").warning();
        assert_eq!(
            plain("x", &mistake),
            "warning: the file is empty\n--> readings.csv\n = expected: a first line"
        );
    }

    #[test]
    fn a_long_line_is_cut_to_what_stands_around_the_mistake() {
        let text = format!("{}WRONG{}", "x".repeat(50_000), "y".repeat(50_000));
        let shown = plain(&text, &Mistake::at(&text, 50_000..50_005, "a word").found("this"));
        assert!(shown.contains("readings.csv:1:50001") && shown.contains("xWRONGy"), "{shown}");
        assert!(shown.lines().all(|l| l.chars().count() < 130), "{shown}");
    }

    #[test]
    fn nothing_in_a_file_moves_the_cursor() {
        let text = "a\u{1b}]0;x\u{7}\u{9b}2J\n";
        let mistake = Mistake::at(text, 0..3, "\u{1b}[2J").found("\u{1b}").expected("\r").help("\u{202e}");
        let shown = plain(text, &mistake);
        assert!(shown.chars().all(|c| c == '\n' || !tautgrid::text::is_unruly(c)), "{shown:?}");
    }
}
