//! The command on the disk: names that are taken, jobs that are refused, and that nothing else is touched.

use std::fs;
use std::path::Path;
use std::process::Command;

fn run(at: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_tautgrid")).args(arguments).current_dir(at).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn names(at: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(at).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn a_job_is_bent_once_and_nothing_is_overwritten_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    assert_eq!(run(at, &["demo", "shop"]).0, Some(0));
    let at = &at.join("shop");
    fs::write(at.join("job.nc"), super::JOB).unwrap();
    let (code, out, err) = run(at, &["compensate", "job.nc", "-o", "bent.nc"]);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    assert!(out.contains("Largest shift: ") && out.contains("bent.svg") && out.contains("WARNING"), "{out}");
    assert_eq!(names(at), ["bent.nc", "bent.svg", "cuts", "job.nc", "machine.toml"]);
    assert_eq!(fs::read_to_string(at.join("job.nc")).unwrap(), super::JOB);
    let first = fs::read(at.join("bent.nc")).unwrap();
    assert!(String::from_utf8_lossy(&first).starts_with("%\n(Bent by tautgrid for the machine "));

    // A name that is taken, the job's own name, a bent job bent again.
    for (arguments, said) in [
        (&["compensate", "job.nc", "-o", "bent.nc"][..], "bent.nc exists already; --replace writes over it"),
        (&["compensate", "job.nc", "-o", "job.nc", "--replace"], "the job itself is never overwritten"),
        (&["compensate", "job.nc", "-o", "job.svg", "--replace"], "end the bent job's name in .nc"),
        (&["compensate", "bent.nc", "-o", "twice.nc"], "this job has been bent already"),
        (&["compensate", "none.nc", "-o", "new.nc"], "none.nc"),
        (&["compensate", "job.nc", "-o", "no/such/new.nc"], "cannot save no/such/new.nc"),
        (&["compensate", "job.nc", "-o", "new.nc", "--chord", "0"], "0.002 to 1 mm"),
    ] {
        let (code, out, err) = run(at, arguments);
        assert_eq!((code, out.as_str()), (Some(2), ""), "{arguments:?}: {err}");
        assert!(err.contains(said), "{arguments:?}: {err}");
        assert_eq!(names(at), ["bent.nc", "bent.svg", "cuts", "job.nc", "machine.toml"]);
        assert_eq!(fs::read(at.join("bent.nc")).unwrap(), first);
    }
    assert_eq!(run(at, &["compensate", "job.nc", "-o", "bent.nc", "--replace", "--chord", "0.5"]).0, Some(0));
    assert!(fs::read(at.join("bent.nc")).unwrap().len() < first.len());
    assert_eq!(run(at, &["compensate", "job.nc", "-o", "c.nc", "--no-picture", "--unit", "inch"]).0, Some(0));
    assert_eq!(names(at), ["bent.nc", "bent.svg", "c.nc", "cuts", "job.nc", "machine.toml"]);

    // Bent for the settings in force now, not for those of the cut.
    let machine = fs::read_to_string(at.join("machine.toml")).unwrap();
    assert!(machine.contains("length_left = "), "{machine}");
    let key = machine.lines().find(|l| l.starts_with("spacing = ") && !l.contains('{')).unwrap();
    fs::write(at.join("machine.toml"), machine.replacen(key, "spacing = 3305.0", 1)).unwrap();
    let (code, out, _) = run(at, &["compensate", "job.nc", "-o", "now.nc", "--no-picture"]);
    assert!(code == Some(0) && out.contains("The settings have changed since that cut"), "{out}");
    assert_ne!(fs::read(at.join("now.nc")).unwrap(), first);
}
