//! A workshop in an empty folder, with one prepared cut of a machine that never was.

use assert_cmd::Command;
use std::fs;
use std::path::PathBuf;
use tautgrid::cut::{self, Cut};
use tautgrid::frame::Unit;
use tautgrid::pattern::Hole;
use tautgrid::planner::Planned;
use tautgrid::readings::{self, Known, Place, Row, Table};
use tautgrid::report::numbers::to_64ths;
use tautgrid::simulation::{Disturbance, cut_and_read, draw_machine};

/// The day of the cut.
pub const DAY: &str = "2026-11-25";

/// The workshop.
pub struct Shop {
    pub folder: tempfile::TempDir,
    pub cut: Cut,
    pub holes: Vec<Hole>,
}

impl Shop {
    /// With a machine in a unit, and a cut prepared with some words more.
    pub fn new(unit: &str, words: &[&str]) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        run(&folder, &["new", ".", "--unit", unit, "--name", "Shed"]);
        run(&folder, &[&["prepare", "--date", DAY], words].concat());
        let text = fs::read_to_string(folder.path().join("cuts").join(DAY).join("cut.toml")).expect("a cut");
        let cut = cut::read(&text).expect("a good cut").0;
        let holes = cut.pattern.holes();
        Self { folder, cut, holes }
    }

    /// A file of the cut.
    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join("cuts").join(DAY).join(name)
    }

    /// Runs the program in the machine folder; its exit code and what it said.
    pub fn run(&self, words: &[&str]) -> (i32, String) {
        run(&self.folder, words)
    }

    /// What the table says now.
    pub fn table(&self) -> Table {
        let bytes = fs::read(self.file("readings.csv")).expect("a table");
        readings::read(&bytes, &self.known()).unwrap_or_else(|(_, mistakes)| panic!("{mistakes:#?}"))
    }

    fn known(&self) -> Known<'_> {
        Known {
            holes: &self.holes,
            instruments: &self.cut.setup.instruments,
            unit: self.cut.unit,
            hole_diameter_mm: self.cut.pattern.hole_diameter_mm,
            temperature_c: self.cut.conditions.temperature_c,
        }
    }

    /// Readings of all distances in the order of the list, as a tape of that unit shows them: 0.5 mm or 1/32 inch.
    pub fn spellings(&self, seed: u64) -> Vec<String> {
        let unit = self.cut.unit;
        let rows = self.table().rows;
        let planned: Vec<Planned> = rows.iter().map(|row| self.planned(row)).collect();
        let rounding_mm = if unit == Unit::Mm { 0.5 } else { 25.4 / 32.0 };
        let disturbance = Disturbance { noise: true, rounding_mm, seed };
        let setup = &self.cut.setup;
        let read = cut_and_read(setup, draw_machine(setup, seed), &self.holes, &planned, &disturbance)
            .expect("readings");
        read.readings
            .iter()
            .map(|r| match unit {
                Unit::Mm => format!("{:.1}", r.as_read_mm),
                Unit::Inch => to_64ths(unit.from_mm(r.as_read_mm)),
            })
            .collect()
    }

    fn planned(&self, row: &Row) -> Planned {
        let place = |p: Place| match p {
            Place::Hole(i) => Some(self.holes[i].target),
            Place::Edge(_) => None,
        };
        let length_mm = match (place(row.from), place(row.to), row.from) {
            (Some(a), Some(b), _) => a.distance_mm(b),
            (None, Some(b), Place::Edge(edge)) => self.cut.setup.sheet.from_edge_mm(edge, b),
            _ => panic!("a distance of another kind"),
        };
        Planned { from: row.from, to: row.to, instrument: row.instrument, length_mm }
    }
}

fn run(folder: &tempfile::TempDir, words: &[&str]) -> (i32, String) {
    let output = Command::cargo_bin("tautgrid")
        .expect("the program")
        .current_dir(folder.path())
        .env("NO_COLOR", "1")
        .args(words)
        .output()
        .expect("it runs");
    let said = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).expect("UTF-8")).concat();
    (output.status.code().expect("an exit code"), said)
}
