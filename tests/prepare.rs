//! `tautgrid prepare` as a program: what it writes, what it refuses, and that it never writes over anything.

mod rs274;

use assert_cmd::Command;
use rs274::What;
use std::fs;
use std::path::Path;
use tautgrid::cut;
use tautgrid::frame::{Point, Unit};

/// The program, run in a folder; its exit code, standard output and standard error.
fn tautgrid(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("tautgrid")
        .expect("the program")
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .args(args)
        .output()
        .expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code().expect("an exit code"), text(output.stdout), text(output.stderr))
}

/// A folder with the example machine in a unit.
fn machine(unit: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let (code, _, err) = tautgrid(folder.path(), &["new", ".", "--unit", unit, "--name", "Shed"]);
    assert_eq!(code, 0, "{err}");
    folder
}

fn read(folder: &Path, cut: &str, file: &str) -> String {
    fs::read_to_string(folder.join("cuts").join(cut).join(file)).expect(file)
}

/// Names of the cuts that are there.
fn cuts(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder.join("cuts")) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// Places where a program goes below the sheet's face, each once, in order, mm; and its deepest point.
fn drilled(program: &str) -> (Vec<Point>, f64) {
    let events = rs274::run(program).unwrap_or_else(|fault| panic!("{fault}"));
    let (mut places, mut deepest) = (Vec::new(), f64::INFINITY);
    for event in events {
        let What::Move(m) = event.what else { continue };
        let (Some(x), Some(y), Some(z)) = (m.to.x, m.to.y, m.to.z) else { continue };
        deepest = deepest.min(z);
        let at = Point::new(x, y);
        if z < 0.0 && !places.contains(&at) {
            places.push(at);
        }
    }
    (places, deepest)
}

#[test]
fn a_cut_holds_all_that_is_needed_and_its_files_agree() {
    for (unit, args) in [
        ("mm", &["--depth", "7", "--shift", "20,-10", "--spindle", "16000"][..]),
        ("inch", &["--depth", "5/16", "--hole", "3/16", "--pattern", "quick"][..]),
    ] {
        let shop = machine(unit);
        let all = [&["prepare", "--date", "2026-11-25", "--material", "MDF (\"18\")"], args].concat();
        let (code, said, err) = tautgrid(shop.path(), &all);
        assert_eq!(code, 0, "{err}");
        assert!(said.contains("tautgrid analyse cuts/2026-11-25\n"), "{said}");

        let (cut, warnings) = cut::read(&read(shop.path(), "2026-11-25", "cut.toml")).expect("a good cut");
        assert_eq!(warnings, []);
        assert_eq!(cut.setup.name, "Shed");
        assert_eq!(cut.conditions.material.as_deref(), Some("MDF (\"18\")"));
        let (depth_mm, hole_mm, unit) = if unit == "mm" {
            (7.0, 6.0, Unit::Mm)
        } else {
            (25.4 * 5.0 / 16.0, 25.4 * 3.0 / 16.0, Unit::Inch)
        };
        assert_eq!(cut.unit, unit);
        assert!((cut.pattern.hole_diameter_mm - hole_mm).abs() < 1e-9);

        let (places, deepest) = drilled(&read(shop.path(), "2026-11-25", "holes.nc"));
        let holes = cut.pattern.holes();
        assert_eq!(places.len(), holes.len());
        for hole in &holes {
            // half a unit in the last place, a ten-thousandth of an inch at worst, on each axis
            assert!(places.iter().any(|p| p.distance_mm(hole.target) < 0.002), "{}", hole.id);
        }
        assert!((deepest + depth_mm).abs() < 0.002, "{deepest}");
        let (dry, deepest) = drilled(&read(shop.path(), "2026-11-25", "dry-run.nc"));
        assert!(dry.is_empty() && deepest > 5.9);

        let table = read(shop.path(), "2026-11-25", "readings.csv");
        let rows: Vec<&str> = table.lines().collect();
        assert_eq!(rows[0], "from,to,reading,how,instrument,note");
        assert!(rows.len() > 20, "{table}");
        assert!(rows[1..].iter().all(|row| row.split(',').nth(2) == Some("")), "{table}");
        assert_eq!(tautgrid(shop.path(), &["check"]).0, 0);
    }
}

#[test]
fn a_second_cut_of_the_day_leaves_the_first_alone() {
    let shop = machine("mm");
    let prepare = ["prepare", "--date", "2026-11-25", "--pattern", "quick"];
    assert_eq!(tautgrid(shop.path(), &prepare).0, 0);
    let first = shop.path().join("cuts/2026-11-25/readings.csv");
    fs::write(&first, "from,to,reading\nA1,B1,766.5\n").expect("a written file");
    assert_eq!(tautgrid(shop.path(), &prepare).0, 0);
    assert_eq!(tautgrid(shop.path(), &prepare).0, 0);
    assert_eq!(cuts(shop.path()), ["2026-11-25", "2026-11-25-b", "2026-11-25-c"]);
    assert_eq!(fs::read_to_string(&first).expect("the file"), "from,to,reading\nA1,B1,766.5\n");
    assert!(read(shop.path(), "2026-11-25-c", "holes.nc").contains("(Test cut: 2026-11-25-c)"));
}

#[test]
fn a_pattern_of_ones_own_is_read_from_its_file() {
    let shop = machine("mm");
    let own = "format = 1\nunit = \"inch\"\n[sheet]\nwidth = 96\nheight = 48\n[pattern]\ncolumns = 3\nrows = 2\n\
               width = 40\nheight = 20\nhole_diameter = 0.25\nkey = false\n";
    fs::write(shop.path().join("own.toml"), own).expect("a written file");
    assert_eq!(tautgrid(shop.path(), &["prepare", "--pattern", "own.toml", "--date", "2026-11-25"]).0, 0);
    let (places, _) = drilled(&read(shop.path(), "2026-11-25", "holes.nc"));
    assert_eq!(places.len(), 6);
    assert_eq!(places[0], Point::new(-508.0, -254.0));

    fs::write(shop.path().join("bad.toml"), own.replace("rows = 2", "rows = 0\nrose = 2")).expect("a file");
    let (code, _, err) = tautgrid(shop.path(), &["prepare", "--pattern", "bad.toml"]);
    assert_eq!(code, 2);
    assert!(err.contains("bad.toml:8:") && err.contains("bad.toml:9:"), "{err}");
}

#[test]
fn what_cannot_be_cut_is_refused_and_nothing_is_written() {
    let shop = machine("mm");
    for (args, why) in [
        (&["--width", "2450"][..], "within 100.0 mm of an edge (the nearest is 25.0 mm from it)"),
        (&["--width", "2600"], "lie off the sheet"),
        (&["--columns", "700"], "2000 holes is the most"),
        (&["--columns", "300"], "leaves too little wood between them"),
        (&["--columns", "0"], "has no holes"),
        (&["--hole", "40", "--columns", "13", "--labels"], "there is no room for the label"),
        (&["--depth", "0.1"], "the depth of the holes cannot be 0.1, but 0.5 to 100 mm"),
        (&["--width", "twelve"], "--width twelve:"),
        (&["--shift", "20"], "two numbers are needed"),
        (&["--pattern", "standrad"], "did you mean standard?"),
        (&["--spindle", "5"], "a router does not turn 5 times a minute"),
        (&["--date", "2026-02-30"], "a day of the calendar"),
        (&["--humidity", "300"], "humidity"),
        (&["--minutes", "12"], "6 at least are needed for an answer (20 minutes)"),
        (&["--minutes", "-3"], "6 at least"),
        (&["--minutes", "NaN"], "6 at least"),
    ] {
        let (code, said, err) = tautgrid(shop.path(), &[&["prepare"], args].concat());
        assert_eq!(code, 2, "{args:?}: {said}");
        let one_line = err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(one_line.contains(why), "{args:?}: {err}");
        assert!(cuts(shop.path()).is_empty(), "{args:?}");
    }
}

#[test]
fn a_place_the_chains_cannot_hold_is_refused_with_the_reason() {
    let shop = machine("mm");
    let file = shop.path().join("machine.toml");
    let text = fs::read_to_string(&file).expect("machine.toml");
    // chains of 2 kg a metre on a carriage of 3 kg hang slack long before the lower corners
    let heavy = text.replace("mass = 0.18", "mass = 2.0").replace("mass = 13.0", "mass = 3.0");
    assert_ne!(heavy, text);
    fs::write(&file, heavy).expect("a written file");
    let (code, _, err) = tautgrid(shop.path(), &["prepare"]);
    assert_eq!(code, 2);
    assert!(err.contains("where the chains cannot hold the carriage"), "{err}");
    assert!(cuts(shop.path()).is_empty());
}

#[test]
fn the_known_patterns_are_listed() {
    let shop = tempfile::tempdir().expect("a folder");
    let (code, said, _) = tautgrid(shop.path(), &["prepare", "--list"]);
    assert_eq!(code, 0);
    assert_eq!(said.lines().count(), 15);
    assert!(said.contains("standard-96x48in     36 holes for a full sheet of 96 x 48 in\n"), "{said}");
}

#[test]
fn what_more_readings_buy_is_told_and_a_time_or_a_second_pass_can_be_asked_for() {
    let shop = machine("mm");
    let (code, said, err) =
        tautgrid(shop.path(), &["prepare", "--date", "2026-11-25", "--minutes", "40", "--twice"]);
    assert_eq!(code, 0, "{err}");
    // (40 - 5) / 1.5 is 23 readings, 11 for each of two passes
    let table = read(shop.path(), "2026-11-25", "readings.csv");
    assert_eq!(table.lines().count(), 1 + 22);
    let left = |readings: usize| {
        let start = format!("{readings} readings ");
        let line =
            said.lines().find(|l| l.trim_start().starts_with(&start)).unwrap_or_else(|| panic!("{said}"));
        line.split_whitespace().nth(2).and_then(|n| n.parse::<f64>().ok()).expect("a number")
    };
    let all: Vec<f64> = [10, 11, 16, 28, 44, 634].map(left).into();
    assert!(all.windows(2).all(|w| w[1] < w[0]), "{all:?}");
    assert!(
        said.contains("about 22 minutes: this list") && said.contains("needs about 38 minutes"),
        "{said}"
    );
    assert!(said.contains("No choice of 11 can leave less than "), "{said}");
    let pages = read(shop.path(), "2026-11-25", "sheet.html");
    assert!(pages.contains("second pass, from the other end") && pages.contains("page 2 of 2"));
    assert_eq!(tautgrid(shop.path(), &["check"]).0, 0);
}

#[test]
fn a_quick_check_takes_six_distances_and_says_what_they_see() {
    let shop = machine("mm");
    let day = ["prepare", "--date", "2026-11-25", "--quick"];
    let (code, said, err) = tautgrid(shop.path(), &[&day[..], &["--drift", "5"]].concat());
    assert_eq!(code, 0, "{err}");
    let table = read(shop.path(), "2026-11-25", "readings.csv");
    assert_eq!(table.lines().count(), 1 + 6);
    assert!(
        !table.contains("left") && !table.contains("bottom"),
        "an edge does not see the chains grow: {table}"
    );
    assert!(said.contains("4 by 3 holes") && said.contains("seen in 90 of 100 checks"), "{said}");
    // With the first, wide expectations no quick check is worth its time, and that is said.
    assert!(said.contains("too blunt for a tolerance of 0.80 mm"), "{said}");
    for (args, why) in [
        (&["--drift", "0"][..], "--drift 0: a growth in mm per m is expected"),
        (&["--columns", "2", "--rows", "1"], "too few distances for a quick check"),
        (&["--readings", "8"], "cannot be used with"),
    ] {
        let (code, _, err) = tautgrid(shop.path(), &[&day[..], args].concat());
        assert!(code == 2 && err.contains(why), "{err}");
    }
    assert_eq!(cuts(shop.path()), ["2026-11-25"]);
}
