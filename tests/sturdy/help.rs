//! Every help has examples, and every example works as printed; every word of the report is explained.

use super::shop::{command, commands, end, files, folder, put, run, shops, start};
use std::fs;

/// The examples in the help of a command.
fn examples(help: &str) -> Vec<String> {
    let Some((_, after)) = help.split_once("\nExample") else { return Vec::new() };
    let lines = after.lines().skip(1).filter_map(|l| l.strip_prefix("  "));
    lines.filter(|l| l.trim_start().starts_with("tautgrid ")).map(|l| l.trim().to_owned()).collect()
}

/// Words of a command line as a shell takes them apart: double quotes hold together, `  # ...` is a remark.
fn words(line: &str) -> Vec<String> {
    let line = line.split("  #").next().unwrap().trim_end();
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|w| !w.is_empty());
    words
}

/// A machine folder in which every example finds what it names.
fn scratch() -> tempfile::TempDir {
    let at = folder();
    put(at.path(), &shops().measured);
    for date in ["2026-11-02", "2026-12-09"] {
        let made = run(at.path(), &["prepare", "--date", date]);
        assert_eq!(made.code, Some(0), "{made:?}");
        let made = run(at.path(), &["simulate", date, "--seed", &date[5..7]]);
        assert_eq!(made.code, Some(0), "{made:?}");
    }
    fs::write(at.path().join("list.txt"), shops().answers.join("\n")).unwrap();
    at
}

#[test]
fn every_example_works_as_printed() {
    let at = folder();
    let (mut ran, mut failures) = (0, Vec::new());
    for name in commands(at.path()).iter().filter(|c| *c != "help") {
        let help = run(at.path(), &[name, "--help"]).out;
        let examples = examples(&help);
        if examples.is_empty() {
            failures.push(format!("tautgrid {name} --help has no example"));
        }
        for example in examples {
            let at = scratch();
            let words = words(&example);
            let arguments: Vec<&str> = words.iter().skip(1).map(String::as_str).collect();
            assert_eq!(arguments[0], name, "{example}");
            // What fills a blank table needs one; what corrects must have something to correct.
            let blank = ["enter", "simulate"].contains(&name.as_str());
            if blank && !example.contains("--replace") {
                for cut in ["2026-11-02", "2026-11-25", "2026-12-09"] {
                    let table = at.path().join("cuts").join(cut).join("readings.csv");
                    let name = std::path::Path::new("cuts/2026-11-25/readings.csv");
                    fs::write(table, &shops().blank[name]).unwrap();
                }
            }
            let run = end(start(command(at.path(), &arguments), "skip\nstop\n"));
            ran += 1;
            if !matches!(run.code, Some(0 | 1)) {
                failures.push(format!("{example}: {}{}", run.out, run.err));
            }
        }
    }
    println!("{ran} examples of --help were run");
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// No line of any help is wider than a terminal, and each begins with what the command does.
#[test]
fn helps_are_of_one_form() {
    let at = folder();
    for name in commands(at.path()).iter().filter(|c| *c != "help") {
        for flag in ["-h", "--help"] {
            let help = run(at.path(), &[name, flag]).out;
            assert!(help.lines().all(|l| l.chars().count() <= 100), "{name} {flag}:\n{help}");
            let first = help.lines().next().unwrap();
            assert!(first.starts_with(char::is_uppercase) && first.len() > 20, "{name}: {first}");
            assert!(help.contains("Usage: "), "{name}");
        }
    }
}

/// What `explain` lists can be asked for, and each answer says what it is, what is usual, and what to do.
#[test]
fn every_word_is_explained() {
    let at = folder();
    let index = run(at.path(), &["explain"]).out;
    let entries: Vec<_> = tautgrid::report::explain::entries().collect();
    assert!(entries.len() >= 50);
    for entry in entries {
        assert!(index.contains(entry.word), "{}", entry.word);
        let asked: Vec<&str> = std::iter::once("explain").chain(entry.word.split(' ')).collect();
        let said = run(at.path(), &asked);
        assert_eq!(said.code, Some(0), "{}: {}", entry.word, said.err);
        assert!(said.out.lines().count() >= 3, "{}", said.out);
    }
    assert!(files(at.path()).is_empty());
}
