//! The words at the head of a program: what it is, where its zero lies, and the cautions.

use super::job::Job;
use super::text::{length, plain};
use crate::frame::Sheet;
use crate::pattern::Pattern;

/// Hazard, consequence, how to avoid it; signal words by ANSI Z535.6, none louder than the harm. A line each.
const CAUTIONS: [&str; 8] = [
    "WARNING - Turning bit: deep cuts. Hands, sleeves and hair away.",
    "WARNING - Hung carriage: it crushes if a chain slips. Stay clear.",
    "WARNING - Fire: chips smoulder unseen. Stay, and look again later.",
    "CAUTION - Chains and sprockets: pinched fingers. Keep hands off.",
    "CAUTION - Noise and dust: lasting harm. Wear muffs, goggles, mask.",
    "NOTICE - Bit on a screw or a clamp: it breaks. Clear its whole way.",
    "Before reaching in: stop, unplug the router, wait until it stands.",
    "Machine and router manuals and local rules come before this file.",
];
const DRY_FIRST: &str = "Run it dry first: router off, bit clear, a hand on the stop.";
const DRY_NOW: &str = "DRY RUN: router unplugged, the bit stays clear of the sheet.";

/// Longest name taken from a file, characters.
const LONGEST_NAME: usize = 40;

/// All lines of the header, facts first.
pub(super) fn lines(pattern: &Pattern, sheet: &Sheet, job: &Job, minutes: f64) -> Vec<String> {
    let size = |width_mm, height_mm| {
        format!("{} x {}", length(width_mm, job.unit, 1), length(height_mm, job.unit, 1))
    };
    let mut lines = Vec::new();
    let names = [("Test cut", &job.cut), ("Machine", &job.machine)];
    for (what, name) in names.into_iter().filter(|(_, name)| !name.is_empty()) {
        let name: String = plain(name).chars().take(LONGEST_NAME).collect();
        lines.push(format!("{what}: {name}"));
    }
    let key = if pattern.key { " and KEY" } else { "" };
    let (columns, rows) = (pattern.columns, pattern.rows);
    lines.push(format!(
        "Pattern: {columns} columns, {rows} rows{key}, {}",
        size(pattern.width_mm, pattern.height_mm)
    ));
    lines.push(format!("Sheet: {}", size(sheet.width_mm, sheet.height_mm)));
    lines.push(format!(
        "Bit {}, holes {} deep. The sheet must be thicker.",
        length(pattern.hole_diameter_mm, job.unit, 2),
        length(job.depth_mm, job.unit, 2)
    ));
    lines.push("X0 Y0 is the middle of the sheet, Z0 its top face.".to_owned());
    lines.push(format!("About {:.0} minutes.", minutes.ceil()));
    lines.push(if job.dry_run { DRY_NOW } else { DRY_FIRST }.to_owned());
    lines.extend(CAUTIONS.map(str::to_owned));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gcode::text::LONGEST_COMMENT;

    #[test]
    fn our_own_words_need_no_mending_and_fit_a_line() {
        for line in CAUTIONS.into_iter().chain([DRY_FIRST, DRY_NOW]) {
            assert_eq!(plain(line), line);
            assert!(line.len() <= LONGEST_COMMENT, "{line}");
        }
    }
}
