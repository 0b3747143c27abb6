//! `reports/` holds the demo's report as a living specimen: made anew here and compared.
//!
//! After a wanted change, `REGENERATE=1 cargo test --test reports` writes it again; look at it before you commit.

use std::fs;
use std::path::Path;
use tautgrid::analysis::{self, Analysis};
use tautgrid::{cut, demo, readings, report};

/// The demo of a fixed day, through its own files.
fn demo_analysis() -> Analysis {
    let demo = demo::demo(jiff::civil::date(2026, 11, 25)).unwrap();
    let (cut, _) = cut::read(&demo.cut_text).unwrap();
    let holes = cut.pattern.holes();
    let known = readings::Known {
        holes: &holes,
        instruments: &cut.setup.instruments,
        unit: cut.unit,
        hole_diameter_mm: cut.pattern.hole_diameter_mm,
        temperature_c: cut.conditions.temperature_c,
    };
    let table = readings::read(demo.readings_text.as_bytes(), &known).unwrap();
    let input = analysis::Cut {
        id: "2026-11-25",
        setup: &cut.setup,
        pattern: &cut.pattern,
        readings: &table.readings,
        blank: table.blank(),
    };
    let analysis = analysis::analyse(&input).unwrap();
    // The slip is found, named, and what was meant is given; nothing else is set aside.
    assert_eq!(analysis.set_aside.iter().map(|r| r.line).collect::<Vec<_>>(), [demo.slip.0]);
    assert!(analysis.set_aside[0].hint.starts_with("two digits swapped"), "{:?}", analysis.set_aside);
    assert!(analysis.set_aside[0].hint.contains(&format!("{:.1}", demo.slip.1)));
    // Every unknown is within three of its own uncertainties of the truth that was planted.
    for r in &analysis.unknowns {
        let off = (r.estimate.value - demo.truth[r.unknown]) / r.estimate.u;
        assert!(off.abs() < 3.0, "{} is {off:.1} u off", r.unknown.name());
    }
    analysis
}

#[test]
fn the_specimen_is_what_the_program_makes() {
    let analysis = demo_analysis();
    let files = [
        (
            "report.txt",
            anstream::adapter::strip_str(&report::text::render(&analysis, 96)).to_string().into_bytes(),
        ),
        ("report.html", report::html::render(&analysis).into_bytes()),
        ("analysis.json", report::json::render(&analysis).into_bytes()),
        ("heatmap.svg", report::heatmap::svg(&analysis).into_bytes()),
        ("heatmap.png", report::heatmap::png(&analysis)),
    ];
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reports");
    let mut stale = Vec::new();
    for (name, bytes) in files {
        let path = folder.join(name);
        if std::env::var_os("REGENERATE").is_some() {
            fs::create_dir_all(&folder).unwrap();
            fs::write(&path, &bytes).unwrap();
        }
        if fs::read(&path).unwrap_or_default() != bytes {
            stale.push(name);
        }
    }
    assert!(stale.is_empty(), "reports/ is not what the program makes: {stale:?}; see the head of this test");
}
