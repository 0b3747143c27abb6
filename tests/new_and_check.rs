//! `tautgrid new` and `tautgrid check` as their user meets them.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use tautgrid::cut::{self, Conditions};
use tautgrid::frame::{Point, Unit};
use tautgrid::pattern::Pattern;

fn tautgrid(at: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tautgrid")).args(args).current_dir(at).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A machine folder with one cut of that name.
fn shop(at: &Path, cut_name: &str, readings: &str) {
    if !at.join("machine.toml").exists() {
        assert!(tautgrid(at, &["new", ".", "--name", "shop"]).status.success());
    }
    let machine = fs::read_to_string(at.join("machine.toml")).unwrap();
    let (width_mm, height_mm) = (2300.0, 1050.0);
    let centre = Point::default();
    let pattern =
        Pattern { columns: 7, rows: 5, width_mm, height_mm, centre, hole_diameter_mm: 6.0, key: true };
    let date = jiff::civil::date(2026, 11, 25);
    let text = cut::write(date, Unit::Mm, &pattern, &Conditions::default(), &machine).unwrap();
    let folder = at.join("cuts").join(cut_name);
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("cut.toml"), text).unwrap();
    fs::write(folder.join("readings.csv"), readings).unwrap();
}

#[test]
fn new_writes_a_machine_once_and_check_accepts_it() {
    let at = tempfile::tempdir().unwrap();
    for (folder, unit) in [("mm shop", "mm"), ("tiefer/Wände", "inch")] {
        let made = tautgrid(at.path(), &["new", folder, "--unit", unit]);
        assert_eq!((made.status.code(), err(&made).as_str()), (Some(0), ""));
        let folder = at.path().join(folder);
        let checked = tautgrid(&folder, &["check"]);
        let name = folder.file_name().unwrap().to_string_lossy();
        assert_eq!(err(&checked), "");
        assert_eq!(out(&checked), format!("{name} is in order ({unit}; tape, caliper).\n"));
    }
    let path = at.path().join("mm shop/machine.toml");
    fs::write(&path, "mine").unwrap();
    let again = tautgrid(at.path(), &["new", "mm shop"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(err(&again).contains("exists already and is not overwritten"), "{}", err(&again));
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    assert_eq!(fs::read_dir(at.path().join("mm shop")).unwrap().count(), 1, "a part was left behind");
}

#[test]
fn new_refuses_a_name_that_could_harm_a_screen() {
    let at = tempfile::tempdir().unwrap();
    let made = tautgrid(at.path(), &["new", "shop", "--name", "a\u{1b}[2Jb"]);
    assert_eq!(made.status.code(), Some(2));
    assert!(err(&made).contains("--name") && !err(&made).contains('\u{1b}'));
    assert!(!at.path().join("shop").exists());
}

#[test]
fn check_finds_the_cut_that_is_meant() {
    let at = tempfile::tempdir().unwrap();
    let nothing = tautgrid(at.path(), &["check"]);
    assert_eq!(nothing.status.code(), Some(2));
    assert!(err(&nothing).contains("tautgrid new DIR"), "{}", err(&nothing));

    shop(
        at.path(),
        "2026-11-25",
        "from,to,reading,how,instrument\nA1,G5,2528.5\nG5,A1,2528\nleft,A1,100.5\nA1,B1\n",
    );
    shop(at.path(), "2026-11-25-b", "from,to,reading\nA1,G5,\n");
    let old = "shop is in order (mm; tape, caliper). Cut 2026-11-25: 7 by 5 holes and KEY, 3 readings (3 with tape), \
               1 still to take. 1 repeat of a distance taken before. Edges used: left.\n";
    let newest = "shop is in order (mm; tape, caliper). Cut 2026-11-25-b: 7 by 5 holes and KEY, 0 readings, \
                  1 still to take.\n";
    let in_cut = at.path().join("cuts/2026-11-25");
    let in_shop = at.path();
    for (folder, args, expected) in [
        (in_shop, vec!["check"], newest),
        (in_shop, vec!["check", "2026-11-25"], old),
        (in_shop, vec!["check", "cuts/2026-11-25/"], old),
        (in_shop, vec!["check", "."], newest),
        (&in_cut, vec!["check", "."], old),
        (&in_cut, vec!["check", "../2026-11-25-b"], newest),
        (&in_cut, vec!["check", "../.."], newest),
    ] {
        let checked = tautgrid(folder, &args);
        assert_eq!(
            (out(&checked).as_str(), err(&checked).as_str()),
            (expected, ""),
            "{args:?} in {folder:?}"
        );
    }
    let missing = tautgrid(at.path(), &["check", "2026-11-26"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(err(&missing).contains("2026-11-26 is no cut"), "{}", err(&missing));
}

#[test]
fn mistakes_of_all_files_come_at_once() {
    let at = tempfile::tempdir().unwrap();
    shop(at.path(), "2026-11-25", "from,to,reading\nA1,G9,2528.5\nA1,B1,3l9\n");
    let machine = at.path().join("machine.toml");
    let good = fs::read_to_string(&machine).unwrap();
    fs::write(&machine, good.replace("teeth = 12", "teeth = 0")).unwrap();
    let checked = tautgrid(at.path(), &["check"]);
    assert_eq!(checked.status.code(), Some(2));
    for said in
        ["machine.toml: 1 mistake", "readings.csv:2:4", "did you mean 319?", "readings.csv: 2 mistakes"]
    {
        assert!(err(&checked).contains(said), "{said} not in {}", err(&checked));
    }
}

#[test]
fn a_changed_machine_is_told_from_the_one_that_cut() {
    let at = tempfile::tempdir().unwrap();
    shop(at.path(), "2026-11-25", "from,to,reading\nA1,G5,2528.5\n");
    let machine = at.path().join("machine.toml");
    let text = fs::read_to_string(&machine).unwrap();
    fs::write(&machine, text.replace("spacing = 3300.0", "spacing = 3301.0")).unwrap();
    assert!(out(&tautgrid(at.path(), &["check"])).contains("machine.toml has changed since this cut"));
}

#[test]
fn nobody_listening_is_no_failure() {
    let at = tempfile::tempdir().unwrap();
    shop(at.path(), "2026-11-25", "from,to,reading\nA1,G5,9l\n");
    for readings in ["from,to,reading\nA1,G5,9l\n", "from,to,reading\nA1,G5,95\n"] {
        fs::write(at.path().join("cuts/2026-11-25/readings.csv"), readings).unwrap();
        let mut child = Command::new(env!("CARGO_BIN_EXE_tautgrid"))
            .arg("check")
            .current_dir(at.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop((child.stdout.take(), child.stderr.take()));
        let expected = if readings.contains("9l") { 2 } else { 0 };
        assert_eq!(child.wait().unwrap().code(), Some(expected));
    }
}
