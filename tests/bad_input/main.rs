//! Bad files, each with the place and the words of its message; and no bytes at all that make a reader panic.
//!
//! The table of all messages is printed by `cargo test --test bad_input -- --nocapture the_program`.

mod cut;
mod machine;
mod panic;
mod readings;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tautgrid::cut::Conditions;
use tautgrid::frame::{Point, Unit};
use tautgrid::mistake::line_and_column;
use tautgrid::pattern::Pattern;

/// A piece of a good file, what stands in its place (`«` at the mistake), and a piece of what is said.
pub type Edit = (&'static str, &'static str, &'static str);

/// A whole file (`«` at the mistake), and a piece of what is said.
pub type Whole = (&'static str, &'static str);

/// A bad file, where its mistake stands (`None`: the file as a whole), and a piece of what is said.
struct Bad {
    file: &'static str,
    text: String,
    place: Option<(usize, usize)>,
    said: &'static str,
}

/// The template without its comments, so that these may be reworded.
fn good_machine() -> String {
    let text = tautgrid::setup::template("shop", Unit::Mm);
    let lines = text.lines().filter(|l| !l.starts_with('#'));
    lines.map(|l| l.split("  #").next().unwrap_or_default().trim_end().to_owned() + "\n").collect()
}

fn good_cut() -> String {
    let (width_mm, height_mm) = (2300.0, 1050.0);
    let centre = Point::default();
    let pattern =
        Pattern { columns: 7, rows: 5, width_mm, height_mm, centre, hole_diameter_mm: 6.0, key: true };
    let date = jiff::civil::date(2026, 11, 25);
    tautgrid::cut::write(date, Unit::Mm, &pattern, &Conditions::default(), &good_machine()).unwrap()
}

const GOOD_READINGS: &str = "from,to,reading\nA1,G5,2528.5\n";

fn all() -> Vec<Bad> {
    let marked = |file, text: String, said| {
        let place = text.find('«').map(|at| line_and_column(&text, at));
        Bad { file, text: text.replace('«', ""), place, said }
    };
    let edited = |file, good: &str, &(old, new, said): &Edit| {
        assert!(good.contains(old), "the good {file} has no {old:?}");
        marked(file, good.replacen(old, new, 1), said)
    };
    let (machine, cut) = (good_machine(), good_cut());
    let mut bad: Vec<Bad> = machine::CASES.iter().map(|e| edited("machine.toml", &machine, e)).collect();
    bad.extend(cut::CASES.iter().map(|e| edited("cut.toml", &cut, e)));
    bad.extend(readings::CASES.iter().map(|(text, said)| marked("readings.csv", (*text).to_owned(), said)));
    bad
}

/// A machine folder on the disk, good but for one file.
fn folder(at: &Path, bad: &Bad) -> PathBuf {
    let cut_folder = at.join("cuts/2026-11-25");
    fs::create_dir_all(&cut_folder).unwrap();
    fs::write(at.join("machine.toml"), good_machine()).unwrap();
    fs::write(cut_folder.join("cut.toml"), good_cut()).unwrap();
    fs::write(cut_folder.join("readings.csv"), GOOD_READINGS).unwrap();
    let path = if bad.file == "machine.toml" { at.join(bad.file) } else { cut_folder.join(bad.file) };
    fs::write(&path, &bad.text).unwrap();
    path
}

fn files(at: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(at).unwrap().map(Result::unwrap) {
        let path = entry.path();
        if path.is_dir() {
            all.extend(files(&path))
        } else {
            all.push((path.clone(), fs::read(&path).unwrap()))
        }
    }
    all.sort();
    all
}

fn check(at: &Path) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_tautgrid")).arg("check").current_dir(at).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

#[test]
fn the_good_files_are_good() {
    let at = tempfile::tempdir().unwrap();
    let bad = Bad { file: "readings.csv", text: GOOD_READINGS.to_owned(), place: None, said: "" };
    folder(at.path(), &bad);
    let (code, out, err) = check(at.path());
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    assert!(out.contains("7 by 5 holes and KEY, 1 reading"), "{out}");
}

#[test]
fn the_program_says_what_is_wrong_where_and_changes_nothing() {
    let all = all();
    assert!(all.len() >= 150, "only {} bad files", all.len());
    let mut failures = Vec::new();
    for bad in &all {
        let at = tempfile::tempdir().unwrap();
        let path = folder(at.path(), bad);
        let before = files(at.path());
        let (code, out, err) = check(at.path());
        let shown = path.strip_prefix(at.path()).unwrap().display().to_string();
        let place = bad.place.map_or(format!("--> {shown}\n"), |(l, c)| format!("--> {shown}:{l}:{c}\n"));
        let one_line = err.lines().next().unwrap_or_default();
        println!("{}  {one_line} | {}", place.trim(), bad.said);
        if code != Some(2) || !out.is_empty() {
            failures.push(format!("exit code {code:?}, {out:?} for {:?}", bad.said));
        }
        if files(at.path()) != before {
            failures.push(format!("a file was changed: {:?}", bad.said));
        }
        if !err.ends_with(&format!("{shown}: 1 mistake\n")) {
            failures.push(format!("more than one mistake for {:?}:\n{err}", bad.said));
        }
        if !err.contains(&place) || !err.contains(bad.said) {
            failures.push(format!("wanted {place:?} and {:?} in\n{err}", bad.said));
        }
    }
    assert!(failures.is_empty(), "{} of {}:\n{}", failures.len(), all.len(), failures.join("\n"));
}
