//! What came of bending a job, in words.

use super::numbers::{Measure, fixed};
use super::words::CAUTION_LINE;
use crate::frame::{Point, Unit};
use crate::job::{MARK, Summary};
use crate::record::Analysis;

/// Longest name in the head of a job, characters.
const LONGEST_NAME: usize = 30;

/// What is said of a bent job.
#[derive(Debug, Clone)]
pub struct BentJob<'a> {
    /// Counts and shifts.
    pub summary: &'a Summary,
    /// The cut behind it.
    pub analysis: &'a Analysis,
    /// Unit of the words.
    pub unit: Unit,
    /// Most that a chord may leave the way, mm.
    pub chord_mm: f64,
    /// Have the settings changed since the cut?
    pub settings_changed: bool,
}

/// Comment lines for the head of a bent job: what it is for, then cautions.
pub fn header(machine: &str, cut: &str) -> Vec<String> {
    let short = |name: &str| name.chars().take(LONGEST_NAME).collect::<String>();
    vec![
        format!("{MARK} for the machine {}", short(machine)),
        format!("as found by the cut {}. Do not bend it again.", short(cut)),
        "Only for that machine, its settings of today, this place on the sheet.".to_owned(),
        "Run it dry first: router off, bit clear, a hand on the stop.".to_owned(),
        "WARNING - Turning bit: deep cuts. Hung carriage: it crushes.".to_owned(),
        "Machine and router manuals and local rules come before this file.".to_owned(),
    ]
}

/// The answer for a screen, paragraphs without a last line end.
pub fn render(job: &BentJob<'_>) -> String {
    let s = job.summary;
    let mm = Measure::length(job.unit);
    let count =
        |n: usize, one: &str, many: &str| format!("{} {}", grouped(n), if n == 1 { one } else { many });
    let mut lines = vec![format!(
        "{} read, {} changed, {} added; {} cut into chords that keep within {} {} of the way.",
        count(s.lines, "line", "lines"),
        grouped(s.changed),
        grouped(s.added),
        if s.arcs == 0 {
            "long lines".to_owned()
        } else {
            format!("{} and long lines", count(s.arcs, "arc", "arcs"))
        },
        fixed(job.chord_mm / mm.one, mm.places + 1),
        mm.word
    )];
    match s.largest {
        Some(l) if l.shift.norm_mm() / mm.one >= 0.5 * 10f64.powi(-mm.places) => lines.push(format!(
            "Largest shift: {} ({}), line {}, {}. All points: {} rms.",
            mm.size_unit(l.shift.norm_mm()),
            way(l.shift, &mm, mm.places),
            l.line,
            place(l.at, &mm),
            mm.size_unit(s.rms_mm())
        )),
        Some(_) => lines.push("No point had to be moved by an amount that shows.".to_owned()),
        None => lines.push("This job moves nothing in X or Y: it was copied.".to_owned()),
    }
    let e = &job.analysis.error;
    lines.push(format!(
        "Error to expect over the sheet, {}: {} rms as cut, {} rms with the bent job, under {} with a chance of 95 %.",
        mm.word,
        mm.size(e.as_cut.rms_mm),
        mm.size(e.compensated.size.rms_mm),
        mm.size(e.compensated.bound95_mm)
    ));
    if !e.placement_known {
        lines.push(
            "Where the whole job lies on the sheet is not determinable from these readings; that part of the shift rests \
             on your set-up, and these errors leave it out. Readings to the sheet's edges would tell."
                .to_owned(),
        );
    }
    if job.settings_changed {
        lines.push(
            "The settings have changed since that cut. The job is bent for those in machine.toml now: they must be the \
             ones in the controller."
                .to_owned(),
        );
    }
    if s.absolute_assumed {
        lines.push(
            "The job says neither G90 nor G91: it was taken as G90, places counted from the zero.".to_owned(),
        );
    }
    lines.push("Run it dry first: router off, bit clear, a hand on the stop.".to_owned());
    lines.push(CAUTION_LINE.to_owned());
    lines.join("\n")
}

/// A shift as right, left, up and down.
fn way(shift: Point, mm: &Measure, places: i32) -> String {
    let part = |v: f64, plus: &str, minus: &str| {
        format!("{} {}", fixed(v.abs() / mm.one, places), if v < 0.0 { minus } else { plus })
    };
    format!("{}, {}", part(shift.x_mm, "right", "left"), part(shift.y_mm, "up", "down"))
}

/// A place on the sheet.
fn place(at: Point, mm: &Measure) -> String {
    let part = |v: f64, plus: &str, minus: &str| {
        format!("{} {}", fixed(v.abs() / mm.one, mm.places - 2), if v < 0.0 { minus } else { plus })
    };
    format!(
        "{} {} and {} the middle of the sheet",
        part(at.x_mm, "right of", "left of"),
        "",
        part(at.y_mm, "above", "below")
    )
    .replace("  ", " ")
    .replace("right of and", "right of,")
    .replace("left of and", "left of,")
}

/// A count with its digits in groups of three.
fn grouped(n: usize) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (k, digit) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k).is_multiple_of(3) && digits.len() > 4 {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_fits_the_lines_of_small_controls() {
        let long = "x".repeat(60);
        for line in header(&long, "2026-11-25-b") {
            assert!(line.len() <= 74, "{line}");
            assert_eq!(crate::text::plain_comment(&line), line);
        }
    }

    #[test]
    fn counts_are_grouped() {
        assert_eq!(
            [0, 999, 4711, 12_345, 1_000_000].map(grouped),
            ["0", "999", "4711", "12 345", "1 000 000"]
        );
    }
}
