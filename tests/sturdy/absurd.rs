//! Values that are legal and yet absurd: refused, or warned of in words of the trade.

use super::shop::{done, folder, run};
use std::fs;

/// A line of machine.toml, what stands in its place, the exit code of `check`, and what is said.
const MACHINES: &[(&str, &str, i32, &str)] = &[
    ("spacing = 3300.0", "spacing = 2000.0", 2, "the sprockets are closer together than the sheet is wide"),
    ("spacing = 3300.0", "spacing = 9000.0", 0, "no common beam is longer"),
    ("height = 520.0", "height = 20.0", 0, "the chains are nearly flat"),
    ("height = 520.0", "height = 3000.0", 0, "was it taken from the floor?"),
    ("offset = 0.0", "offset = 1500.0", 2, "a sprocket stands inside the sheet's edge"),
    ("width = 2500.0", "width = 1.0", 2, "the sheet's width, 150 to 10000 mm"),
    ("height = 1250.0", "height = 1.0", 2, "the sheet's height, 100 to 6000 mm"),
    ("random = [0.3, 0.1]", "random = [0.0, 0.0]", 2, "no instrument is without noise"),
    ("random = [0.3, 0.1]", "random = [0.0, 0.1]", 0, "no tape is read better than to 0.05 mm"),
    ("random = [0.3, 0.1]", "random = [20.0, 0.1]", 0, "0.3 to 0.5 mm"),
    ("random = [0.05, 0.0]", "random = [0.0001, 0.0]", 0, "holes in wood have no sharper rims"),
    ("hole = 0.25", "hole = 0.0", 0, "no hole lands twice in one place"),
    ("hole = 0.25", "hole = 20.0", 0, "the tolerance is finer than the machine's own scatter"),
    ("position = 0.8", "position = 0.001", 2, "position error that the work can bear"),
    ("pitch = 8.0", "pitch = 60.0", 0, "from pin to pin"),
    ("teeth = 12", "teeth = 4", 2, "teeth on each sprocket, 5 to 150"),
    ("mass = 13.0", "mass = 0.2", 2, "the carriage's mass"),
    ("mass = 0.18", "mass = 8.0", 2, "the chain's mass"),
    ("lean = 12.0", "lean = 50.0", 0, "measured from the vertical and not from the floor"),
    ("tilt = 0.0", "tilt = 300.0", 2, "right end of the beam higher"),
    ("stretch = 0.0", "stretch = 50.0", 2, "elastic strain of the chain"),
];

/// What `prepare` is given, its exit code, and what is said.
const CUTS: &[(&[&str], i32, &str)] = &[
    (&["--humidity", "100"], 0, "a board changes size while it is measured"),
    (&["--humidity", "120"], 2, "relative humidity"),
    (&["--temperature", "-40"], 2, "temperature"),
    (&["--depth", "40"], 0, "go through most boards"),
    (&["--depth", "0.1"], 2, "the depth of the holes cannot be"),
    (&["--hole", "1"], 0, "breaks easily"),
    (&["--hole", "20"], 0, "plunges hard"),
    (&["--hole", "60"], 2, ""),
    (&["--margin", "5"], 0, "no board under it and tips"),
    (&["--columns", "2", "--rows", "2"], 0, "show no bow"),
    (&["--width", "300"], 0, "of the corners it will say little"),
    (&["--width", "2499"], 2, ""),
    (&["--plunge", "5000"], 0, "faster than a hanging carriage bears"),
    (&["--peck", "20", "--depth", "20"], 0, "chips pack, and wood burns"),
    (&["--longest", "16 m"], 0, "longer than a tape in one person's hands"),
    (&["--clearance", "0.2"], 2, "the clearance height cannot be"),
];

#[test]
fn machines_that_nobody_has() {
    for (good, absurd, code, said) in MACHINES {
        let at = folder();
        done(at.path(), &["new", "."]);
        let path = at.path().join("machine.toml");
        let text = fs::read_to_string(&path).unwrap();
        let line = text.lines().find(|l| l.starts_with(good)).unwrap_or_else(|| panic!("no line {good}"));
        fs::write(&path, text.replacen(line, absurd, 1)).unwrap();
        let check = run(at.path(), &["check"]);
        assert_eq!(check.code, Some(*code), "{absurd}: {check:?}");
        assert!(check.err.contains(said), "{absurd}: {}", check.err);
        println!("{absurd:24} {}  {said}", if *code == 2 { "refused" } else { "warned " });
    }
}

#[test]
fn cuts_that_nobody_wants() {
    let at = folder();
    done(at.path(), &["new", "."]);
    let ordinary = run(at.path(), &["prepare"]);
    assert_eq!((ordinary.code, ordinary.err.as_str()), (Some(0), ""));
    for (arguments, code, said) in CUTS {
        let arguments: Vec<&str> = ["prepare"].iter().chain(*arguments).copied().collect();
        let prepared = run(at.path(), &arguments);
        assert_eq!(prepared.code, Some(*code), "{arguments:?}: {prepared:?}");
        assert!(prepared.err.contains(said) && !prepared.err.is_empty(), "{arguments:?}: {}", prepared.err);
        println!(
            "{:32} {}  {said}",
            arguments[1..].join(" "),
            if *code == 2 { "refused" } else { "warned " }
        );
    }
}
