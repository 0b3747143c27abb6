//! Two windows at once, and a clock that was set back.

use super::shop::{command, done, end, files, folder, put, run, shops, start};
use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::time::{Duration, SystemTime};

#[test]
fn readings_are_entered_in_one_window_at_a_time() {
    let at = folder();
    put(at.path(), &shops().blank);
    let mut first = command(at.path(), &["enter"]).spawn().unwrap();
    let mut input = first.stdin.take().unwrap();
    let mut lines = BufReader::new(first.stdout.take().unwrap()).lines().map(Result::unwrap);
    lines.by_ref().find(|l| l.starts_with("1 of ")).unwrap();
    // The second is told so, and what to do; it takes no answer that would be lost.
    for args in [&["enter"][..], &["simulate"], &["simulate", "--replace"]] {
        let second = end(start(command(at.path(), args), &(shops().answers[0].clone() + "\n")));
        assert_eq!(second.code, Some(2), "{second:?}");
        assert!(second.err.contains("another tautgrid is writing the readings"), "{second:?}");
        assert!(second.err.contains("finish there, or close that window"), "{second:?}");
    }
    // Looking on is allowed.
    assert!(done(at.path(), &["check"]).contains("0 readings"));
    for n in 1..=6 {
        writeln!(input, "{}", shops().answers[n - 1]).unwrap();
    }
    drop(input);
    lines.for_each(drop);
    assert_eq!(first.wait().unwrap().code(), Some(0));
    assert!(done(at.path(), &["check"]).contains("6 readings"));
    // Once it has ended, however it ended, the other may.
    let next = end(start(command(at.path(), &["enter"]), &(shops().answers[6].clone() + "\n")));
    assert_eq!(next.code, Some(0), "{next:?}");
    assert!(done(at.path(), &["check"]).contains("7 readings"));
}

#[test]
fn notes_written_at_once_are_all_kept() {
    const MANY: usize = 16;
    let at = folder();
    put(at.path(), &shops().measured);
    let writers: Vec<_> =
        (0..MANY).map(|k| start(command(at.path(), &["note", &format!("event number {k}.")]), "")).collect();
    for writer in writers {
        assert_eq!(end(writer).code, Some(0));
    }
    let events = fs::read_to_string(at.path().join("events.csv")).unwrap();
    let kept = (0..MANY).filter(|k| events.contains(&format!("event number {k}."))).count();
    println!("{kept} of {MANY} notes written at once are kept");
    assert_eq!((kept, events.lines().count()), (MANY, MANY + 1));
}

#[test]
fn cuts_prepared_at_once_each_get_their_folder() {
    const MANY: usize = 6;
    let at = folder();
    put(at.path(), &shops().blank);
    let writers: Vec<_> =
        (0..MANY).map(|_| start(command(at.path(), &["prepare", "--date", "2026-11-26"]), "")).collect();
    for writer in writers {
        assert_eq!(end(writer).code, Some(0));
    }
    let names = |cut: &str| -> BTreeSet<_> { files(&at.path().join("cuts").join(cut)).into_keys().collect() };
    for cut in ["2026-11-26", "2026-11-26-b", "2026-11-26-c", "2026-11-26-d", "2026-11-26-e", "2026-11-26-f"]
    {
        assert_eq!(names(cut), names("2026-11-25"), "{cut}");
    }
}

#[test]
fn settings_corrected_at_once_are_corrected_once() {
    let at = folder();
    put(at.path(), &shops().measured);
    let writers: Vec<_> =
        (0..4).map(|_| start(command(at.path(), &["correct", "--write", "--anyway"]), "")).collect();
    let ends: Vec<_> = writers.into_iter().map(end).collect();
    assert_eq!(ends.iter().filter(|e| e.code == Some(0)).count(), 1, "{ends:?}");
    assert!(
        ends.iter().filter(|e| e.code != Some(0)).all(|e| e.err.contains("nothing is written")),
        "{ends:?}"
    );
    let now = files(at.path());
    let kept: Vec<_> =
        now.keys().filter(|n| n.to_string_lossy().starts_with("machine.toml.before")).collect();
    assert_eq!(kept.len(), 1);
    assert_eq!(now[kept[0]], shops().measured[Path::new("machine.toml")]);
    let alone = folder();
    put(alone.path(), &shops().measured);
    done(alone.path(), &["correct", "--write", "--anyway"]);
    assert!(files(alone.path()) == now, "four at once leave what one leaves");
}

/// A clock set back mixes up nothing that is there, and is spoken of.
#[test]
fn a_clock_set_back() {
    let at = folder();
    put(at.path(), &shops().measured);
    done(at.path(), &["prepare", "--date", "2199-01-01"]);
    done(at.path(), &["note", "from a later day", "--date", "2199-01-01"]);
    let late = SystemTime::now() + Duration::from_secs(40 * 365 * 86_400);
    for name in files(at.path()).keys() {
        fs::File::options().append(true).open(at.path().join(name)).unwrap().set_modified(late).unwrap();
    }
    let before = files(at.path());
    let prepared = run(at.path(), &["prepare"]);
    assert_eq!(prepared.code, Some(0), "{prepared:?}");
    assert!(prepared.err.contains("is this computer's clock right?"), "{prepared:?}");
    let noted = run(at.path(), &["note", "from today"]);
    assert!(noted.err.contains("is its clock right?"), "{noted:?}");
    done(at.path(), &["analyse", "2026-11-25"]);
    done(at.path(), &["correct", "2026-11-25", "--write", "--anyway"]);
    let now = files(at.path());
    for (name, old) in before {
        let new = &now[&name];
        match name.to_str().unwrap() {
            "machine.toml" => assert!(now.values().any(|kept| *kept == old)),
            "events.csv" => assert!(new.starts_with(&old)),
            _ => assert!(*new == old, "{}", name.display()),
        }
    }
}
