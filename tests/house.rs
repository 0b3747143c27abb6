//! The house rules: which room may know which, and that no room of the library touches files or the clock.

use std::fs;
use std::path::{Path, PathBuf};

/// Rooms from the ground up: each may use those on earlier lines (and itself), never those on its own or a later one.
const FLOORS: &[&[&str]] = &[
    &["frame", "mistake", "references"],
    &["text"],
    &["document"],
    &["machine", "fit", "statespace", "charts", "difference", "interval"],
    &["knowledge"],
    &["pattern", "setup"],
    &["gcode", "readings", "cut", "job", "events"],
    &["record"],
    &["field"],
    &["symptoms", "adjustment", "correction", "budget"],
    &["screening", "planner"],
    &["analysis", "simulation", "entry", "taping"],
    &["trials", "history", "carry_over"],
    &["demo"],
    &["report"],
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// (room, file, its code without its tests) of the library.
fn library() -> Vec<(String, PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    files
        .into_iter()
        .filter_map(|path| {
            let inside = path.strip_prefix(&root).unwrap().to_owned();
            let room = inside.iter().next().unwrap().to_string_lossy().trim_end_matches(".rs").to_owned();
            if ["cli", "main", "lib", "build"].contains(&room.as_str()) || inside.ends_with("tests.rs") {
                return None;
            }
            let text = fs::read_to_string(&path).unwrap();
            let code = text.split("#[cfg(test)]").next().unwrap().to_owned();
            Some((room, inside, code))
        })
        .collect()
}

fn floor(room: &str) -> Option<usize> {
    FLOORS.iter().position(|rooms| rooms.contains(&room))
}

#[test]
fn arrows_run_downward() {
    let mut wrong = Vec::new();
    for (room, file, code) in library() {
        let Some(own) = floor(&room) else {
            wrong.push(format!("{room} has no floor: add it to FLOORS"));
            continue;
        };
        for line in code.lines().filter(|l| !l.trim_start().starts_with("//")) {
            for used in line.split("crate::").skip(1) {
                let name: String = used.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                let allowed = name == room || floor(&name).is_none_or(|f| f < own);
                if !allowed {
                    wrong.push(format!("{}: {room} uses {name}", file.display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_library_opens_no_file_and_knows_no_clock() {
    let mut wrong = Vec::new();
    for (_, file, code) in library() {
        for forbidden in [
            "std::fs",
            "fs_err",
            "File::open",
            "SystemTime",
            "Instant::now",
            "ZonedDateTime::now",
            "std::env",
        ] {
            if code.contains(forbidden) {
                wrong.push(format!("{}: {forbidden}", file.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
