//! What came of bending a job: counts, the largest shift, and the way for a picture.

use crate::frame::{Point, Unit};

/// Most points kept for a picture.
const MOST_POINTS: usize = 20_000;
/// Distance between points kept at first, mm.
const FIRST_SPACING_MM: f64 = 1.0;

/// The largest shift of a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Largest {
    /// Where the carriage is sent, minus where the job means it to be.
    pub shift: Point,
    /// Where that is, from the middle of the sheet.
    pub at: Point,
    /// Line of the job.
    pub line: usize,
}

/// A place of the job on its way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TracePoint {
    /// Where the job means the carriage to be.
    pub meant: Point,
    /// Where it is sent.
    pub sent: Point,
}

/// A way without a rapid motion in it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stroke {
    /// Its places, thinned out.
    pub points: Vec<TracePoint>,
}

/// What came of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Summary {
    /// Unit in which the job ended.
    pub unit: Unit,
    /// Lines read.
    pub lines: usize,
    /// Lines changed.
    pub changed: usize,
    /// Lines added by cutting arcs and long lines into chords.
    pub added: usize,
    /// Arcs turned into chords.
    pub arcs: usize,
    /// Motions in X and Y.
    pub motions: usize,
    /// Places to which the carriage is sent.
    pub points: usize,
    /// The largest shift.
    pub largest: Option<Largest>,
    /// Sum of the squared shifts of all points, mm².
    pub squares_mm2: f64,
    /// Lower left and upper right corner of all places meant.
    pub corners: Option<(Point, Point)>,
    /// Had G90 to be assumed?
    pub absolute_assumed: bool,
    /// The way, thinned out, for a picture.
    pub strokes: Vec<Stroke>,
    kept: usize,
    spacing_mm: f64,
    /// The last point, when it was left out.
    pending: Option<TracePoint>,
}

impl Summary {
    /// Root mean square shift of all points, mm.
    pub fn rms_mm(&self) -> f64 {
        if self.points == 0 { 0.0 } else { (self.squares_mm2 / self.points as f64).sqrt() }
    }

    /// Takes note of one point.
    pub(super) fn note(&mut self, point: TracePoint, rapid: bool, line: usize) {
        self.points += 1;
        let shift = point.sent - point.meant;
        let size = shift.norm_mm();
        self.squares_mm2 += size * size;
        if self.largest.is_none_or(|l| size > l.shift.norm_mm()) {
            self.largest = Some(Largest { shift, at: point.meant, line });
        }
        let (low, high) = self.corners.unwrap_or((point.meant, point.meant));
        self.corners = Some((
            Point::new(low.x_mm.min(point.meant.x_mm), low.y_mm.min(point.meant.y_mm)),
            Point::new(high.x_mm.max(point.meant.x_mm), high.y_mm.max(point.meant.y_mm)),
        ));
        self.trace(point, rapid);
    }

    fn trace(&mut self, point: TracePoint, rapid: bool) {
        if rapid || self.strokes.is_empty() {
            self.finish_stroke();
            self.strokes.push(Stroke::default());
        }
        let spacing = self.spacing_mm.max(FIRST_SPACING_MM);
        let Some(stroke) = self.strokes.last_mut() else { return };
        if stroke.points.last().is_some_and(|p| p.meant.distance_mm(point.meant) < spacing) {
            self.pending = Some(point);
            return;
        }
        self.pending = None;
        stroke.points.push(point);
        self.kept += 1;
        if self.kept > MOST_POINTS {
            self.thin();
        }
    }

    /// Keeps the end of a stroke, and forgets one that was only a rapid motion.
    pub(super) fn finish_stroke(&mut self) {
        let pending = self.pending.take();
        if let Some(stroke) = self.strokes.last_mut() {
            if let Some(point) = pending {
                stroke.points.push(point);
                self.kept += 1;
            }
            if stroke.points.len() < 2 {
                self.kept -= stroke.points.len();
                self.strokes.pop();
            }
        }
    }

    /// Thins the trace to half or less; when the strokes themselves are too many, every second one goes.
    fn thin(&mut self) {
        self.spacing_mm = 2.0 * self.spacing_mm.max(FIRST_SPACING_MM);
        let last = self.strokes.len() - 1;
        for stroke in &mut self.strokes {
            let end = stroke.points.last().copied();
            let mut before: Option<Point> = None;
            stroke.points.retain(|p| {
                let keep = before.is_none_or(|b| b.distance_mm(p.meant) >= self.spacing_mm);
                if keep {
                    before = Some(p.meant);
                }
                keep
            });
            if let Some(end) = end.filter(|e| stroke.points.last() != Some(e)) {
                stroke.points.push(end);
            }
        }
        let count = |strokes: &[Stroke]| strokes.iter().map(|s| s.points.len()).sum::<usize>();
        if count(&self.strokes) > MOST_POINTS / 2 {
            let mut index = 0;
            self.strokes.retain(|_| {
                index += 1;
                index % 2 == 0 || index == last + 1
            });
        }
        self.kept = count(&self.strokes);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_trace_stays_small_and_keeps_both_ends() {
        let mut long = Summary::default();
        let mut many = Summary::default();
        for k in 0..300_000 {
            let meant = Point::new(f64::from(k % 2000), f64::from(k / 2000));
            let point = TracePoint { meant, sent: meant + Point::new(0.0, f64::from(k) * 1e-5) };
            long.note(point, k == 0, k as usize);
            many.note(point, k % 2 == 0, k as usize);
        }
        long.finish_stroke();
        for summary in [&long, &many] {
            let kept: usize = summary.strokes.iter().map(|s| s.points.len()).sum();
            assert!(kept > 3000 && kept <= MOST_POINTS + 1, "{kept}");
            assert_eq!((summary.points, summary.largest.unwrap().line), (300_000, 299_999));
        }
        let points = &long.strokes[0].points;
        assert_eq!(
            (points[0].meant, points[points.len() - 1].meant),
            (Point::new(0.0, 0.0), Point::new(1999.0, 149.0))
        );
    }
}
