//! Where the labels go: every hole's id beside it, on the side of the middle; TOP with an arrow near the top.

use super::glyphs::{self, ARROW_UP};
use super::job::{Lettering, Refusal};
use crate::frame::{Point, Sheet};
use crate::pattern::{Hole, Pattern};

/// One label, placed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    /// What it says.
    pub word: String,
    /// Its lower left corner, at the middle of the strokes.
    pub corner: Point,
    /// Width between the middles of the outermost strokes, mm.
    pub width_mm: f64,
    /// Height likewise, mm.
    pub height_mm: f64,
}

/// Least wood between a stroke and the rim of a hole, an edge or another label, mm: a tape or the jaws of a
/// caliper find a clean rim.
const GAP_MM: f64 = 6.0;

impl Label {
    /// Its strokes.
    pub fn lines(&self) -> Vec<Vec<Point>> {
        glyphs::word(&self.word, self.height_mm, self.corner)
    }

    /// Distance from the box around its strokes to a point, mm.
    fn distance_mm(&self, p: Point) -> f64 {
        let from = p - self.corner;
        let beyond = |v: f64, size: f64| (v - size).max(-v).max(0.0);
        beyond(from.x_mm, self.width_mm).hypot(beyond(from.y_mm, self.height_mm))
    }

    /// Widest gap between its box and another's, along x or y, mm; negative when they overlap.
    fn gap_mm(&self, other: &Self) -> f64 {
        let along = |a: f64, a_size: f64, b: f64, b_size: f64| (b - a - a_size).max(a - b - b_size);
        along(self.corner.x_mm, self.width_mm, other.corner.x_mm, other.width_mm).max(along(
            self.corner.y_mm,
            self.height_mm,
            other.corner.y_mm,
            other.height_mm,
        ))
    }
}

/// All labels of a pattern, TOP last.
///
/// # Errors
/// Every label without room, with what is in its way.
pub(super) fn place(
    pattern: &Pattern,
    holes: &[Hole],
    sheet: &Sheet,
    lettering: &Lettering,
) -> Result<Vec<Label>, Vec<Refusal>> {
    let bit_mm = pattern.hole_diameter_mm;
    let mut labels: Vec<Label> = holes.iter().map(|hole| beside(hole, pattern, lettering)).collect();
    labels.push(top(pattern, lettering));

    let mut refusals = Vec::new();
    for (k, label) in labels.iter().enumerate() {
        // half a bit beyond the stroke's middle, half a bit of the hole's own
        if let Some(hole) = holes.iter().find(|h| label.distance_mm(h.target) < bit_mm + GAP_MM - 1e-6) {
            refusals.push(Refusal::LabelTouchesHole { label: label.word.clone(), hole: hole.id.clone() });
        }
        if let Some(other) = labels[..k].iter().find(|other| label.gap_mm(other) < bit_mm + GAP_MM - 1e-6) {
            refusals.push(Refusal::LabelsTouch { a: label.word.clone(), b: other.word.clone() });
        }
        let far_corner = label.corner + Point::new(label.width_mm, label.height_mm);
        let inside_mm = sheet.inside_by_mm(label.corner).min(sheet.inside_by_mm(far_corner));
        if inside_mm < bit_mm / 2.0 + GAP_MM {
            refusals.push(Refusal::LabelLeavesSheet { label: label.word.clone() });
        }
    }
    if refusals.is_empty() { Ok(labels) } else { Err(refusals) }
}

/// The id of a hole, above it and towards the middle of the pattern.
fn beside(hole: &Hole, pattern: &Pattern, lettering: &Lettering) -> Label {
    let label = sized(&hole.id, lettering);
    let away_mm = pattern.hole_diameter_mm + GAP_MM;
    let left_mm = if hole.target.x_mm > pattern.centre.x_mm { -away_mm - label.width_mm } else { away_mm };
    Label { corner: hole.target + Point::new(left_mm, away_mm), ..label }
}

/// TOP and its arrow, in the middle of a cell of the topmost row of cells near the middle.
fn top(pattern: &Pattern, lettering: &Lettering) -> Label {
    let label = sized(&format!("TOP{ARROW_UP}"), lettering);
    let middle = pattern.at((pattern.columns.saturating_sub(1) / 2) as f64 + 0.5, pattern.rows as f64 - 1.5);
    Label { corner: middle - Point::new(label.width_mm, label.height_mm) * 0.5, ..label }
}

/// A label not yet placed.
fn sized(word: &str, lettering: &Lettering) -> Label {
    Label {
        word: word.to_owned(),
        corner: Point::default(),
        width_mm: glyphs::width_mm(word, lettering.height_mm),
        height_mm: lettering.height_mm,
    }
}
