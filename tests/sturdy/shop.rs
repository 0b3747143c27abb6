//! A machine folder to run commands in, and the list of all commands that write.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use tempfile::TempDir;

/// The program under test.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_tautgrid");

/// Files of a folder by their paths in it; those that are being written, and locks, are nobody's names.
pub type Files = BTreeMap<PathBuf, Vec<u8>>;

/// How a run ended.
#[derive(Debug)]
pub struct Run {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

pub fn command(at: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(PROGRAM);
    command.current_dir(at).args(args).env("NO_COLOR", "1").env("COLUMNS", "100");
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// Starts it and gives it its input, which it may not live to read.
pub fn start(mut command: Command, input: &str) -> Child {
    let mut child = command.spawn().unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let _ = stdin.write_all(input.as_bytes());
    child
}

pub fn end(child: Child) -> Run {
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("the program prints UTF-8");
    let run = Run { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) };
    assert!(!run.err.contains("panicked"), "{}", run.err);
    run
}

pub fn run(at: &Path, args: &[&str]) -> Run {
    end(start(command(at, args), ""))
}

/// Runs what must succeed.
pub fn done(at: &Path, args: &[&str]) -> String {
    let run = run(at, args);
    assert!(matches!(run.code, Some(0 | 1)), "{args:?}: {run:?}");
    run.out
}

/// A folder that anybody may enter.
pub fn folder() -> TempDir {
    let folder = tempfile::Builder::new().prefix("tautgrid-test-").tempdir().unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    }
    folder
}

pub fn files(at: &Path) -> Files {
    fn walk(root: &Path, at: &Path, found: &mut Files) {
        for entry in fs::read_dir(at).unwrap().map(Result::unwrap) {
            let path = entry.path();
            if path.is_dir() {
                walk(root, &path, found);
            } else if !entry.file_name().to_string_lossy().starts_with(".tautgrid-") {
                found.insert(path.strip_prefix(root).unwrap().to_owned(), fs::read(&path).unwrap());
            }
        }
    }
    let mut found = Files::new();
    walk(at, at, &mut found);
    found
}

pub fn put(at: &Path, files: &Files) {
    for (name, bytes) in files {
        let path = at.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
}

/// A job within any sheet.
pub const JOB: &str = "G21 G90\n(a frame)\nG0 Z5\nG0 X-300 Y-200\nG1 Z-3 F300\nG1 X300 F1500\nG1 Y200\nG3 X-300 I-300 J0\n\
                       G1 Y-200\nG0 Z5\nM2\n";

/// A machine with a measured cut, a bare one with a blank cut, and the answers to type into that.
#[derive(Debug)]
pub struct Shops {
    pub measured: Files,
    pub blank: Files,
    pub answers: Vec<String>,
}

pub fn shops() -> &'static Shops {
    static SHOPS: OnceLock<Shops> = OnceLock::new();
    SHOPS.get_or_init(|| {
        let at = folder();
        done(at.path(), &["new", "."]);
        done(at.path(), &["prepare", "--date", "2026-11-25"]);
        fs::write(at.path().join("job.nc"), JOB).unwrap();
        let blank = files(at.path());
        done(at.path(), &["simulate", "--fault", "spacing=+3"]);
        let measured = files(at.path());
        let table = String::from_utf8(measured[Path::new("cuts/2026-11-25/readings.csv")].clone()).unwrap();
        let reading = |line: &str| line.split(',').nth(2).unwrap().to_owned();
        Shops { measured, blank, answers: table.lines().skip(1).map(reading).collect() }
    })
}

/// Which folder a command starts from.
#[derive(Debug, Clone, Copy)]
pub enum From {
    Empty,
    Blank,
    Measured,
}

impl From {
    pub fn files(self) -> Files {
        match self {
            Self::Empty => Files::new(),
            Self::Blank => shops().blank.clone(),
            Self::Measured => shops().measured.clone(),
        }
    }
}

/// A command that writes.
#[derive(Debug)]
pub struct Writes {
    pub name: &'static str,
    pub from: From,
    pub args: &'static [&'static str],
    pub input: String,
    /// Typed again after it was stopped, it ends with the same files as if it had not been.
    pub repeats: bool,
}

/// Every command that writes; a test holds it against `--help`.
pub fn all_that_write() -> Vec<Writes> {
    let one = |name, from, args, repeats| Writes { name, from, args, input: String::new(), repeats };
    let answers = shops().answers[..4].join("\n") + "\n";
    vec![
        one("new", From::Empty, &["new", "shop"], false),
        one("prepare", From::Blank, &["prepare", "--date", "2026-11-26"], false),
        Writes { input: answers, ..one("enter", From::Blank, &["enter"], false) },
        one("simulate", From::Blank, &["simulate", "--fault", "spacing=+3"], false),
        one("analyse", From::Measured, &["analyse"], true),
        one("analyse", From::Measured, &["analyse", "--more", "3", "--add"], false),
        one("correct", From::Measured, &["correct", "--write", "--anyway"], true),
        one("compensate", From::Measured, &["compensate", "job.nc", "-o", "bent.nc"], false),
        one("note", From::Measured, &["note", "left chain re-hung", "--kind", "re-hung"], false),
        one("manual", From::Empty, &["manual", "pages"], false),
        one("demo", From::Empty, &["demo", "shop"], false),
    ]
}

/// Commands that write nothing, or write as `analyse` does: results worked out anew each time, by `files::save`.
pub const OTHERS: [&str; 4] = ["check", "explain", "help", "history"];

/// The commands that the program knows, as its help lists them.
pub fn commands(at: &Path) -> Vec<String> {
    let help = run(at, &["--help"]).out;
    let list = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let indented = |line: &&str| line.starts_with("  ") && !line.starts_with("   ");
    list.lines().filter(indented).filter_map(|l| l.split_whitespace().next()).map(str::to_owned).collect()
}

/// What went wrong with the names in a folder: every file must be the one before or the one after.
pub fn halves(now: &Files, before: &Files, after: &Files) -> Vec<String> {
    let mut wrong = Vec::new();
    for (name, bytes) in now {
        if before.get(name) != Some(bytes) && after.get(name) != Some(bytes) {
            wrong.push(format!(
                "{} is neither the old file nor the new one ({} bytes)",
                name.display(),
                bytes.len()
            ));
        }
    }
    for name in before.keys().filter(|n| !now.contains_key(*n)) {
        wrong.push(format!("{} is gone", name.display()));
    }
    wrong
}

impl Writes {
    /// A folder as the command finds it.
    pub fn shop(&self) -> TempDir {
        let at = folder();
        put(at.path(), &self.from.files());
        at
    }

    pub fn command(&self, at: &Path) -> Command {
        command(at, self.args)
    }

    /// The files as it leaves them, and its exit code, when nothing goes wrong.
    pub fn undisturbed(&self) -> (Files, Option<i32>) {
        let at = self.shop();
        let run = end(start(self.command(at.path()), &self.input));
        assert!(matches!(run.code, Some(0 | 1)), "{}: {run:?}", self.name);
        (files(at.path()), run.code)
    }
}
