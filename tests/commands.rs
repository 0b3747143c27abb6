//! Whole commands, as a person runs them in an empty folder.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

fn tautgrid(folder: &Path, args: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("tautgrid").unwrap().current_dir(folder).args(args).assert()
}

fn stdout(assert: &assert_cmd::assert::Assert) -> String {
    String::from_utf8(assert.get_output().stdout.clone()).unwrap()
}

/// A machine folder with one prepared cut.
fn prepared() -> TempDir {
    let folder = TempDir::new().unwrap();
    tautgrid(folder.path(), &["new", "."]).success();
    tautgrid(folder.path(), &["prepare", "--date", "2026-11-25"]).success();
    folder
}

#[test]
fn demo_does_the_whole_job_in_an_empty_folder() {
    let folder = TempDir::new().unwrap();
    let first = tautgrid(folder.path(), &["demo"]).success();
    let said = stdout(&first);
    assert!(said.contains("The truth beside the estimate"), "{said}");
    assert!(said.contains("it was found and set aside"), "{said}");
    let cuts: Vec<_> = fs::read_dir(folder.path().join("tautgrid-demo/cuts")).unwrap().collect();
    assert_eq!(cuts.len(), 1);
    let cut = cuts.into_iter().next().unwrap().unwrap().path();
    for file in ["cut.toml", "readings.csv", "report.html", "heatmap.svg", "heatmap.png"] {
        assert!(fs::metadata(cut.join(file)).unwrap().len() > 500, "{file}");
    }
    // The second one takes another folder and touches nothing of the first.
    tautgrid(folder.path(), &["demo"]).success();
    assert!(folder.path().join("tautgrid-demo-2").is_dir());
    // The demo's folder is a machine folder like any other.
    tautgrid(&folder.path().join("tautgrid-demo"), &["check"]).success();
}

/// The JSON of the format description, field by field, and the exit codes.
#[test]
fn analyse_gives_the_json_that_is_promised() {
    let folder = prepared();
    let blank = tautgrid(folder.path(), &["analyse", "--json"]).code(2);
    assert!(String::from_utf8_lossy(&blank.get_output().stderr).contains("no reading"));
    tautgrid(folder.path(), &["simulate", "--fault", "spacing=+3", "--fault", "pitch_left=1"]).success();
    let out = stdout(&tautgrid(folder.path(), &["analyse", "--json"]).code(1));
    let json: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["format"], 1);
    assert_eq!(json["cut"], "2026-11-25");
    assert_eq!(json["unit"], "mm");
    assert_eq!(json["readings"]["total"], 28);
    let numbers = [
        "/fit/dof",
        "/fit/chi_square",
        "/fit/p_value",
        "/fit/iterations",
        "/symptoms/scale_x/value",
        "/symptoms/scale_y/u",
        "/symptoms/skew/value",
        "/error/as_cut/rms",
        "/error/as_cut/max",
        "/error/after_correction/rms",
        "/error/after_correction/max",
        "/error/after_correction/bound95",
        "/error/floor/rms",
        "/error/floor/max",
        "/settings_new/spacing",
        "/holes/0/x",
        "/holes/0/y",
        "/holes/0/dx",
        "/holes/0/dy",
        "/holes/0/u",
        "/unknowns/0/setting",
        "/unknowns/0/expected",
        "/unknowns/0/expected_u",
        "/unknowns/0/estimate",
        "/unknowns/0/u",
        "/unknowns/0/correction",
        "/causes/0/rms",
        "/causes/0/max",
        "/causes/0/u",
        "/correlation/matrix/0/0",
    ];
    for path in numbers {
        assert!(json.pointer(path).is_some_and(Value::is_number), "{path} in {out}");
    }
    assert_eq!(json["fit"]["converged"], true);
    assert_eq!(json["error"]["placement_known"], true);
    assert_eq!(json["error"]["verdict"], "fail");
    assert_eq!(json["symptoms"]["skew"]["unit"], "mm/m");
    assert_eq!(json["holes"].as_array().unwrap().len(), 36);
    let names: Vec<&str> =
        json["unknowns"].as_array().unwrap().iter().map(|u| u["name"].as_str().unwrap()).collect();
    assert_eq!(names.len(), 9);
    // Nine significant digits: 3300 mm to 0.00001.
    for unknown in json["unknowns"].as_array().unwrap() {
        let (estimate, setting) =
            (unknown["estimate"].as_f64().unwrap(), unknown["setting"].as_f64().unwrap());
        assert!((unknown["correction"].as_f64().unwrap() - (estimate - setting)).abs() < 1e-5);
    }
    // JSON alone writes no files.
    assert!(!folder.path().join("cuts/2026-11-25/report.html").exists());
}

/// A machine as good as its settings is within tolerance: exit code 0.
#[test]
fn a_good_machine_passes() {
    let folder = prepared();
    let file = folder.path().join("machine.toml");
    let mut text = fs::read_to_string(&file).unwrap();
    // Stiff chains without weight, so that a plain controller can be right, and a generous limit.
    text = text.replace("stretch = { value = 0.35, u = 0.35 }", "stretch = { value = 0.0, u = 0.05 }");
    text = text.replace("mass = 0.18", "mass = 0.01").replace("position = 0.8", "position = 3.0");
    fs::write(&file, &text).unwrap();
    tautgrid(folder.path(), &["prepare", "--date", "2026-11-26"]).success();
    tautgrid(folder.path(), &["simulate", "2026-11-26"]).success();
    let said = stdout(&tautgrid(folder.path(), &["analyse", "2026-11-26"]).code(0));
    assert!(said.contains("ithin the limit"), "{said}");
    assert!(folder.path().join("cuts/2026-11-26/report.html").exists());
}

#[test]
fn simulate_never_replaces_readings_unasked() {
    let folder = prepared();
    tautgrid(folder.path(), &["simulate"]).success();
    let readings = folder.path().join("cuts/2026-11-25/readings.csv");
    let first = fs::read(&readings).unwrap();
    tautgrid(folder.path(), &["simulate", "--seed", "9"]).code(2);
    assert_eq!(fs::read(&readings).unwrap(), first);
    tautgrid(folder.path(), &["simulate", "--seed", "9", "--replace"]).success();
    assert_ne!(fs::read(&readings).unwrap(), first);
}

#[test]
fn many_machines_against_the_truth() {
    let folder = TempDir::new().unwrap();
    let said = stdout(&tautgrid(folder.path(), &["simulate", "--machines", "20"]).success());
    assert!(said.starts_with("20 machines"), "{said}");
    assert!(said.contains("predicted positions against the truth"), "{said}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}
