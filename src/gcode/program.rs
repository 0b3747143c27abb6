//! The program as a list of steps: what the carriage does, before anything is written.

use super::header;
use super::job::{Job, Lettering, Refusal, Spindle};
use super::label;
use crate::frame::{Point, Sheet, Unit};
use crate::pattern::{Hole, Pattern};

/// One step. Heights are above the top face of the sheet, mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Words for the person, in plain characters.
    Comment(String),
    /// G0 to a place, at the clearance height.
    Travel(Point),
    /// G1 to a place, at the height where the bit is.
    Slide {
        /// Where to.
        to: Point,
        /// Feed, mm per minute.
        mm_per_min: f64,
    },
    /// G1 to a height.
    Plumb {
        /// Which.
        z_mm: f64,
        /// Feed, mm per minute.
        mm_per_min: f64,
    },
    /// M0: wait for the person.
    Wait,
    /// M3 at a speed, in turns per minute.
    SpindleOn(u32),
    /// M5.
    SpindleOff,
    /// M2.
    End,
}

/// A whole program.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    /// Unit in which it is written.
    pub unit: Unit,
    /// What the person should know first, a line each: facts, then cautions.
    pub header: Vec<String>,
    /// The steps, in order.
    pub steps: Vec<Step>,
    /// About how long the motion takes, minutes; waiting for the person is not counted.
    pub minutes: f64,
}

impl Program {
    /// Plans the drilling of a pattern.
    ///
    /// Whether the pattern suits the sheet and the machine is for [`crate::pattern::check`] to say before.
    ///
    /// # Errors
    /// Every number no job can have; every hole and label for which there is no room.
    pub fn plan(pattern: &Pattern, sheet: &Sheet, job: &Job) -> Result<Self, Vec<Refusal>> {
        let mut refusals = job.refusals();
        let holes = pattern.holes();
        let beyond = |h: &&Hole| sheet.inside_by_mm(job.approach_start(h.target)) < 0.0;
        if let Some(hole) = holes.iter().find(beyond) {
            refusals.push(Refusal::ApproachLeavesSheet { hole: hole.id.clone() });
        }
        let labels = match &job.labels {
            Some(lettering) => label::place(pattern, &holes, sheet, lettering).map(|l| Some((lettering, l))),
            None => Ok(None),
        };
        let labels = labels.unwrap_or_else(|no_room| {
            refusals.extend(no_room);
            None
        });
        if !refusals.is_empty() {
            return Err(refusals);
        }

        let order = tour(pattern);
        let mut bench = Bench::new(job);
        for (k, &index) in order.iter().enumerate() {
            bench.comment(format!("Hole {}, {} of {}", holes[index].id, k + 1, order.len()));
            bench.drill(holes[index].target, k == 0);
        }
        if let Some((lettering, labels)) = labels {
            // holes first: a cut that is stopped early can still be measured. Then back the way it came.
            let top = labels.len() - 1;
            for index in std::iter::once(top).chain(order.into_iter().rev()) {
                bench.engrave(&labels[index], lettering);
            }
        }
        bench.finish();
        let (steps, minutes) = (bench.steps, bench.minutes);
        let header = header::lines(pattern, sheet, job, minutes);
        Ok(Self { unit: job.unit, header, steps, minutes })
    }
}

impl Job {
    /// Where the slow last stretch to a hole begins: straight below it.
    pub fn approach_start(&self, hole: Point) -> Point {
        hole - Point::new(0.0, self.approach_mm)
    }
}

/// Indices of the holes in the order of drilling: the lowest row first, row after row there and back; `KEY`
/// where the second row ends, which is beside it.
fn tour(pattern: &Pattern) -> Vec<usize> {
    let mut order = Vec::new();
    let key = pattern.columns * pattern.rows;
    for row in 0..pattern.rows {
        let indices = row * pattern.columns..(row + 1) * pattern.columns;
        if row % 2 == 0 {
            order.extend(indices);
        } else {
            order.extend(indices.rev());
        }
        if pattern.key && row == 1.min(pattern.rows - 1) {
            order.push(key);
        }
    }
    order
}

/// Where steps are put together: knows where the bit is.
struct Bench<'a> {
    job: &'a Job,
    steps: Vec<Step>,
    minutes: f64,
    at: Point,
    z_mm: f64,
}

impl<'a> Bench<'a> {
    /// The bit may be anywhere, so it is lifted by G1: a rapid out of the wood would be one too many.
    fn new(job: &'a Job) -> Self {
        let mut bench = Self { job, steps: Vec::new(), minutes: 0.0, at: Point::default(), z_mm: 0.0 };
        bench.comment("Lift the bit clear");
        bench.plumb(job.clearance_mm);
        bench
    }

    fn comment(&mut self, words: impl Into<String>) {
        self.steps.push(Step::Comment(words.into()));
    }

    fn travel(&mut self, to: Point) {
        self.minutes += self.at.distance_mm(to) / self.job.rapid_mm_per_min;
        self.at = to;
        self.steps.push(Step::Travel(to));
    }

    fn slide(&mut self, to: Point, mm_per_min: f64) {
        self.minutes += self.at.distance_mm(to) / mm_per_min;
        self.at = to;
        self.steps.push(Step::Slide { to, mm_per_min });
    }

    /// To a height, at the plunge feed; in a dry run never below the clearance height.
    fn plumb(&mut self, z_mm: f64) {
        let z_mm = if self.job.dry_run { z_mm.max(self.job.clearance_mm) } else { z_mm };
        if z_mm == self.z_mm {
            return;
        }
        let mm_per_min = self.job.plunge_mm_per_min;
        self.minutes += (z_mm - self.z_mm).abs() / mm_per_min;
        self.z_mm = z_mm;
        self.steps.push(Step::Plumb { z_mm, mm_per_min });
    }

    fn drill(&mut self, hole: Point, first: bool) {
        self.travel(self.job.approach_start(hole));
        if first {
            self.start_router();
        }
        self.slide(hole, self.job.approach_mm_per_min);
        let pecks = (self.job.depth_mm / self.job.peck_mm - 1e-9).ceil().max(1.0) as usize;
        for k in 1..=pecks {
            self.plumb(-self.job.depth_mm * k as f64 / pecks as f64);
            self.plumb(self.job.clearance_mm);
        }
    }

    /// Before the last stretch to the first hole, so that a switched spindle is up to speed at its end.
    fn start_router(&mut self) {
        match self.job.spindle {
            _ if self.job.dry_run => {
                self.comment("Dry run: leave the router off and unplugged, then resume");
                self.steps.push(Step::Wait);
            }
            Spindle::ByHand => {
                self.comment("When all is clear, start the router by hand, then resume");
                self.steps.push(Step::Wait);
            }
            Spindle::Switched { speed_per_min } => {
                self.comment("When all is clear, resume: the router starts");
                self.steps.push(Step::Wait);
                self.steps.push(Step::SpindleOn(speed_per_min));
            }
        }
    }

    fn engrave(&mut self, label: &label::Label, lettering: &Lettering) {
        self.comment(format!("Label {}", label.word.trim_end_matches(super::glyphs::ARROW_UP)));
        for line in label.lines() {
            let mut points = line.into_iter();
            let Some(start) = points.next() else { continue };
            self.travel(start);
            self.plumb(-lettering.depth_mm);
            for p in points {
                self.slide(p, lettering.feed_mm_per_min);
            }
            self.plumb(self.job.clearance_mm);
        }
    }

    fn finish(&mut self) {
        match self.job.spindle {
            _ if self.job.dry_run => self.comment("End of the dry run"),
            Spindle::ByHand => self.comment("Stop the router by hand and wait until the bit is still"),
            Spindle::Switched { .. } => {
                self.steps.push(Step::SpindleOff);
                self.comment("Wait until the bit is still");
            }
        }
        self.steps.push(Step::End);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::KEY;

    #[test]
    fn the_tour_goes_there_and_back_and_takes_key_on_its_way() {
        let pattern = Pattern {
            columns: 3,
            rows: 3,
            width_mm: 1000.0,
            height_mm: 1000.0,
            centre: Point::default(),
            hole_diameter_mm: 6.0,
            key: true,
        };
        let holes = pattern.holes();
        let ids: Vec<&str> = tour(&pattern).into_iter().map(|k| holes[k].id.as_str()).collect();
        assert_eq!(ids, ["A1", "B1", "C1", "C2", "B2", "A2", KEY, "A3", "B3", "C3"]);
    }
}
