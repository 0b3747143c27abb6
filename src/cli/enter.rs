//! `tautgrid enter`: the readings of a cut, typed at a prompt or piped in, each saved as it is given.

use super::failure::{Failure, Shown};
use super::files::{READINGS_FILE, save};
use super::load::{cut_folder, known, load_cut};
use super::lock::{Lock, What};
use super::{Outcome, say};
use fs_err as fs;
use rustyline::DefaultEditor;
use rustyline::error::ReadlineError;
use std::io::{BufRead, IsTerminal};
use std::path::{Path, PathBuf};
use tautgrid::entry::{Reply, Session, Task};
use tautgrid::report::entry as words;

/// Takes the readings of a cut, one after the other, and doubts them while the tape is still in your hand.
///
/// Asks for each distance that is still blank in readings.csv. Every answer is saved before the next question, so
/// stop whenever you like and start again later. One window at a time can enter a cut's readings. Type help at the prompt for the words it knows.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n\
    \x20 tautgrid enter\n\
    \x20 tautgrid enter 2026-11-25\n\
    \x20 tautgrid enter --start 100")]
pub struct Args {
    /// Folder of the cut, or its date; the newest cut when left out
    cut: Option<PathBuf>,
    /// The mark at which you start the tape in place of its hook; it is taken off each tape reading
    #[arg(long, value_name = "LENGTH")]
    start: Option<String>,
}

/// Asks until the list is done, the person stops, or the input ends.
///
/// # Errors
/// When there is no such cut, its files hold mistakes, or an answer cannot be saved.
pub fn run(args: &Args) -> Result<Outcome, Failure> {
    let folder = cut_folder(args.cut.as_deref())?;
    let _lock = Lock::now(&folder, What::Readings)?;
    let loaded = load_cut(&folder)?;
    loaded.print_warnings();
    let cut = &loaded.cut.value;
    let task = Task {
        setup: &cut.setup,
        pattern: &cut.pattern,
        holes: &loaded.holes,
        known: known(cut, &loaded.holes),
    };
    let path = folder.join(READINGS_FILE);
    let mut file = Saved::of(&path)?;
    let fresh = Session::new(task, &loaded.table.text);
    let mut session = fresh.map_err(|mistakes| Failure::File {
        path: path.clone(),
        text: loaded.table.text.clone(),
        mistakes,
    })?;
    let unit = cut.unit;
    if let Some(start) = &args.start {
        let reply = session.answer(&format!("start {start}"));
        if let Reply::Refused { why, .. } = &reply {
            return Err(Failure::Plain(format!("--start {start}: {why}")));
        }
    }
    say(&greeting(&session, &loaded.id))?;

    let mut input = Input::new()?;
    loop {
        let question = session.question();
        match &question {
            Some(question) => say(&format!("\n{}\n", words::question(question, unit)))?,
            None => {
                say("\nThat was the last. Enter ends; back, or two holes such as A1 G5, to change one.\n")?
            }
        }
        let Some(line) = input.line()? else { break };
        if question.is_none() && line.trim().is_empty() {
            break;
        }
        let reply = session.answer(&line);
        file.save(session.text())?;
        let said = words::reply(&reply, unit);
        if !said.is_empty() {
            say(&format!("{said}\n"))?;
        }
        if reply == Reply::Stopped {
            break;
        }
    }
    let shown = folder.shown();
    say(&format!("\n{}", words::summary(&session.summary(), &shown)))?;
    Ok(Outcome::Fine)
}

fn greeting(session: &Session<'_>, id: &str) -> String {
    let s = session.summary();
    format!(
        "Cut {id}: {} of {} distances taken. Same rim to same rim, or middle to middle; type help for more.\n",
        s.taken,
        s.taken + s.blank
    )
}

/// Where lines come from: an editable line at a terminal, plain lines otherwise.
pub(super) enum Input {
    Editor(Box<DefaultEditor>),
    Piped(std::io::Lines<std::io::StdinLock<'static>>),
}

impl Input {
    /// # Errors
    /// When the terminal cannot be read.
    pub fn new() -> Result<Self, Failure> {
        if !std::io::stdin().is_terminal() {
            return Ok(Self::Piped(std::io::stdin().lock().lines()));
        }
        let editor = DefaultEditor::new().map_err(|e| {
            Failure::Plain(format!("this terminal cannot be read: {e}; pipe the readings in"))
        })?;
        Ok(Self::Editor(Box::new(editor)))
    }

    /// The next line; `None` at the end, Ctrl-C or Ctrl-D.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn line(&mut self) -> Result<Option<String>, Failure> {
        match self {
            Self::Piped(lines) => Ok(lines.next().transpose()?),
            Self::Editor(editor) => match editor.readline("> ") {
                Ok(line) => {
                    let _ = editor.add_history_entry(&line);
                    Ok(Some(line))
                }
                Err(ReadlineError::Interrupted | ReadlineError::Eof) => Ok(None),
                Err(e) => Err(Failure::Plain(format!("this terminal cannot be read: {e}"))),
            },
        }
    }
}

/// `readings.csv` as this session last saw it, so that nobody else's change is written over.
pub(super) struct Saved<'p> {
    path: &'p Path,
    bytes: Vec<u8>,
    mark: &'static [u8],
}

/// The byte-order mark of UTF-8, which some spreadsheets want.
const MARK: &[u8] = b"\xef\xbb\xbf";

impl<'p> Saved<'p> {
    /// The file as it is now.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn of(path: &'p Path) -> Result<Self, Failure> {
        let bytes = fs::read(path)?;
        let mark = if bytes.starts_with(MARK) { MARK } else { &[] };
        Ok(Self { path, bytes, mark })
    }

    /// Is this the text that it holds?
    pub fn holds(&self, text: &str) -> bool {
        same_text(&self.bytes, text)
    }

    /// Saves a text if it is new.
    ///
    /// # Errors
    /// When it cannot be saved, or the file is no longer as it was last seen.
    pub fn save(&mut self, text: &str) -> Result<(), Failure> {
        let bytes = [self.mark, text.as_bytes()].concat();
        if bytes == self.bytes || (self.mark.is_empty() && same_text(&self.bytes, text)) {
            return Ok(());
        }
        let on_disk = fs::read(self.path)?;
        if on_disk != self.bytes {
            return Err(Failure::Plain(format!(
                "{} was changed by another program meanwhile, so this is not saved; start the command again and give it \
                 once more",
                self.path.shown()
            )));
        }
        save(self.path, &bytes)?;
        self.bytes = bytes;
        Ok(())
    }
}

/// Is a file in another encoding still the text as it was read?
fn same_text(bytes: &[u8], text: &str) -> bool {
    tautgrid::text::decode(bytes).is_ok_and(|(read, _)| read == text)
}
