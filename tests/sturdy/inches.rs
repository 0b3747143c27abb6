//! A machine kept in inches is spoken of in inches, wherever a length stands; a tape's lengths as fractions.

use super::shop::{command, done, end, folder, run, start};
use std::fs;

/// Lengths in mm that stand in a text; `mm/m` is a ratio and the same for everyone.
fn metric(text: &str) -> Vec<String> {
    let plain = text.replace('\u{a0}', " ").replace("mm/m", "");
    plain
        .lines()
        .filter(|l| l.split(|c: char| !c.is_alphanumeric()).any(|w| w == "mm"))
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_command_speaks_inches() {
    let at = folder();
    let at = at.path();
    let mut said = Vec::new();
    let mut all = |args: &[&str]| -> String {
        let out = done(at, args);
        said.extend(metric(&out).into_iter().map(|l| format!("{args:?}: {l}")));
        out
    };
    all(&["new", ".", "--unit", "inch", "--name", "shop"]);
    let prepared = all(&["prepare", "--date", "2026-11-25"]);
    assert!(
        prepared.contains("1/4 in deep with a bit of 1/4 in, all 4 in or more from the edges"),
        "{prepared}"
    );
    all(&["simulate", "--fault", "spacing=+0.125"]);
    let path = at.join("cuts/2026-11-25/readings.csv");
    let table = fs::read_to_string(&path).unwrap();
    // A tape's reading is a fraction.
    let reading = |line: &str| line.split(',').nth(2).unwrap().to_owned();
    let fractions = table.lines().skip(1).filter(|l| reading(l).contains('/')).count();
    assert!(fractions > 20, "{table}");
    all(&["check"]);
    // A slip: two inches too long.
    let line = table.lines().nth(8).unwrap();
    let whole: u32 = reading(line).split(' ').next().unwrap().parse().unwrap();
    let slipped = line.replacen(&format!(",{whole} "), &format!(",{} ", whole + 2), 1);
    assert_ne!(slipped, line);
    fs::write(&path, table.replacen(line, &slipped, 1)).unwrap();
    let answer = all(&["analyse"]);
    assert!(answer.contains(" in off") || answer.contains(" in rms"), "{answer}");
    all(&["correct"]);
    all(&["correct", "--write", "--anyway"]);
    all(&["history"]);
    let events = fs::read_to_string(at.join("events.csv")).unwrap();
    assert!(events.contains(" in rms as cut"), "{events}");
    said.extend(metric(&events));
    fs::write(at.join("job.nc"), "G20 G90\nG0 X-10 Y-5\nG1 X10 F60\nM2\n").unwrap();
    let bent = done(at, &["compensate", "job.nc", "-o", "bent.nc"]);
    said.extend(metric(&bent));
    said.extend(metric(&fs::read_to_string(at.join("bent.nc")).unwrap()));
    said.extend(metric(&fs::read_to_string(at.join("cuts/2026-11-25/holes.nc")).unwrap()));
    // At the prompt, too: what is taken is said back as the tape shows it.
    done(at, &["prepare", "--date", "2026-11-26"]);
    let typed = "start 4\nstart hook\n6 1/16\nstop\n";
    let entered = end(start(command(at, &["enter", "2026-11-26"]), typed));
    assert!(entered.out.contains("6 1/16 in"), "{}", entered.out);
    said.extend(metric(&entered.out));
    assert!(said.is_empty(), "{}", said.join("\n"));
}

/// `--unit inch` on a machine kept in mm, and the other way round.
#[test]
fn an_answer_in_the_other_unit() {
    let at = folder();
    done(at.path(), &["new", "."]);
    done(at.path(), &["prepare", "--date", "2026-11-25"]);
    done(at.path(), &["simulate", "--fault", "spacing=+3"]);
    for args in
        [&["analyse", "--unit", "inch"][..], &["correct", "--unit", "inch"], &["history", "--unit", "inch"]]
    {
        let out = done(at.path(), args);
        assert!(metric(&out).is_empty() && out.contains(" in"), "{args:?}: {:?}", metric(&out));
    }
    // JSON keeps to mm whatever is asked for.
    let plain = run(at.path(), &["analyse", "--json"]).out;
    let inch = run(at.path(), &["analyse", "--json", "--unit", "inch"]).out;
    let spacing = |text: &str| {
        serde_json::from_str::<serde_json::Value>(text).unwrap()["settings_new"]["spacing"].as_f64().unwrap()
    };
    assert_eq!(spacing(&plain), spacing(&inch));
}
