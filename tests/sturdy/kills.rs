//! Killed at any moment, a command leaves the old file or the new one under each name, and nothing typed is lost.

use super::shop::{
    OTHERS, Writes, all_that_write, command, commands, end, files, folder, halves, put, run, shops, start,
};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::time::{Duration, Instant};

/// Kills at times spread over each command's run.
const AT_RANDOM: u32 = 12;

#[test]
fn every_command_is_in_the_list() {
    let at = folder();
    let known: Vec<&str> = all_that_write().iter().map(|w| w.name).chain(OTHERS).collect();
    let new: Vec<String> = commands(at.path()).into_iter().filter(|c| !known.contains(&c.as_str())).collect();
    assert!(new.is_empty(), "{new:?}: add them to all_that_write(), or to OTHERS when they write nothing");
}

/// After a kill: what is wrong with the names, and with the same command typed once more.
fn aftermath(
    writes: &Writes,
    at: &Path,
    before: &super::shop::Files,
    after: &super::shop::Files,
) -> Vec<String> {
    let mut wrong = halves(&files(at), before, after);
    // What was done to its end cannot be done again.
    if writes.repeats && files(at) != *after {
        let again = end(start(writes.command(at), &writes.input));
        if !matches!(again.code, Some(0 | 1)) || files(at) != *after {
            wrong.push(format!("typed again, {} does not finish the work: {}", writes.name, again.err));
        }
    }
    wrong
}

#[test]
fn killed_at_every_step() {
    let mut failures = Vec::new();
    println!("{:12} {:>6} {:>8}", "command", "kills", "files");
    for writes in all_that_write() {
        let before = writes.from.files();
        // An answer typed and saved stays; the files of `enter` after each number of answers.
        let stages: Vec<_> = if writes.name == "enter" {
            (0..=4)
                .map(|n| {
                    Writes {
                        input: writes.input.lines().take(n).map(|l| format!("{l}\n")).collect(),
                        ..all_that_write().remove(2)
                    }
                    .undisturbed()
                    .0
                })
                .collect()
        } else {
            vec![writes.undisturbed().0]
        };
        let (mut kills, mut seen) = (0, 0);
        for step in 1..1000 {
            let at = writes.shop();
            let mut command = writes.command(at.path());
            command.env("TAUTGRID_DIES_AT", step.to_string());
            let run = end(start(command, &writes.input));
            if run.code.is_some() {
                break;
            }
            kills += 1;
            let now = files(at.path());
            seen += now.len();
            let wrong = if writes.name == "enter" {
                let whole = stages.contains(&now);
                if whole { Vec::new() } else { vec!["the readings are no stage of the work".to_owned()] }
            } else {
                aftermath(&writes, at.path(), &before, &stages[0])
            };
            failures
                .extend(wrong.into_iter().map(|w| format!("{}, killed at step {step}: {w}", writes.name)));
        }
        println!("{:12} {kills:>6} {seen:>8}", writes.name);
        assert!(kills >= 4, "{}: only {kills} steps to be killed at", writes.name);
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn killed_at_random() {
    let mut failures = Vec::new();
    println!("{:12} {:>6} {:>10}", "command", "kills", "in time");
    for writes in all_that_write().iter().filter(|w| w.name != "enter") {
        let begun = Instant::now();
        let (after, _) = writes.undisturbed();
        let usual = begun.elapsed();
        let mut in_time = 0;
        for k in 0..AT_RANDOM {
            let at = writes.shop();
            let mut child = start(writes.command(at.path()), &writes.input);
            std::thread::sleep(usual * k / AT_RANDOM);
            in_time += usize::from(child.try_wait().unwrap().is_none());
            child.kill().unwrap();
            child.wait().unwrap();
            let wrong = aftermath(writes, at.path(), &writes.from.files(), &after);
            failures.extend(wrong.into_iter().map(|w| format!("{}: {w}", writes.name)));
        }
        println!("{:12} {AT_RANDOM:>6} {in_time:>10}", writes.name);
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// What was answered before the next question appeared is on the disk, however the program ends.
#[test]
fn an_answer_that_was_taken_is_saved() {
    for answered in 1..=5 {
        let at = folder();
        put(at.path(), &shops().blank);
        let mut child = command(at.path(), &["enter"]).spawn().unwrap();
        let mut input = child.stdin.take().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
        let asks = |n: usize, line: &str| line.starts_with(&format!("{n} of "));
        for n in 1..=answered {
            lines.by_ref().find(|l| asks(n, l)).unwrap();
            writeln!(input, "{}", shops().answers[n - 1]).unwrap();
        }
        lines.by_ref().find(|l| asks(answered + 1, l)).unwrap();
        child.kill().unwrap();
        child.wait().unwrap();
        let check = run(at.path(), &["check"]).out;
        assert!(check.contains(&format!(" {answered} reading")), "{answered}: {check}");
    }
}

/// With nobody reading its answer, a command still does its work.
#[test]
fn a_closed_pipe_stops_nothing() {
    for writes in all_that_write() {
        let (after, code) = writes.undisturbed();
        let at = writes.shop();
        let mut child = writes.command(at.path()).spawn().unwrap();
        drop((child.stdout.take(), child.stderr.take()));
        std::thread::sleep(Duration::from_millis(1));
        child.stdin.take().unwrap().write_all(writes.input.as_bytes()).unwrap();
        assert_eq!(child.wait().unwrap().code(), code, "{}", writes.name);
        assert!(files(at.path()) == after, "{}: other files than with a reader", writes.name);
    }
}
