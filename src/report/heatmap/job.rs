//! A job on the sheet: the way that was meant, where the bit would go, and what the bent job asks for.

use super::panel::{HEAD, INK, Place, RIM, TYPE_EM, WIDTH, height};
use super::scale;
use crate::frame::{Point, Sheet, Unit};
use crate::job::Summary;
use crate::report::drawing::canvas::{Align, Canvas, Failed, Type};
use crate::report::drawing::path::{self, Xy};
use crate::report::drawing::vector;
use crate::report::numbers::{Measure, fixed};
use crate::report::plain;
use plotters::prelude::*;

/// Length at which the longest shift is drawn, units.
const LONGEST: f64 = 34.0;
/// Room for the title of the whole picture, units.
const TITLE: f64 = 64.0;
/// Room between the maps, units.
const GAP: f64 = 14.0;
/// Room for the words under a map, units.
const FOOT: f64 = 44.0;

/// The way as meant. Okabe and Ito's colours for the other two (Wong, Nature Methods 8, 2011, 441; from memory).
const MEANT: RGBColor = RGBColor(140, 140, 140);
const LANDED: RGBColor = RGBColor(196, 78, 0);
const SENT: RGBColor = RGBColor(0, 114, 178);

/// What is drawn.
#[derive(Debug, Clone)]
pub struct JobPicture<'a> {
    /// Name of the job.
    pub name: &'a str,
    /// The sheet.
    pub sheet: Sheet,
    /// Unit of the words.
    pub unit: Unit,
    /// The job and its way.
    pub summary: &'a Summary,
    /// For each stroke of the way, where its points would land without bending.
    pub landed: &'a [Vec<Point>],
}

/// The picture as a stand-alone SVG document.
pub fn svg(job: &JobPicture<'_>) -> String {
    let times = exaggeration(job);
    let step = height(&job.sheet) + FOOT + GAP;
    let body = vector::draw((WIDTH, TITLE + 2.0 * step), |on| draw(job, times, step, on));
    let title = title(job);
    vector::document(&body, &title, &describe(job, times))
}

fn title(job: &JobPicture<'_>) -> String {
    format!("{}, before and after", plain(job.name))
}

/// The picture in words.
fn describe(job: &JobPicture<'_>, times: f64) -> String {
    let mm = Measure::length(job.unit);
    let largest = job.summary.largest.map_or(0.0, |l| l.shift.norm_mm());
    format!(
        "Two maps of the sheet with the way of the job. First where the bit would go, then what the bent job asks for, \
         each beside the way that was meant, shifts drawn {} times larger. The largest shift is {}.",
        fixed(times, 0),
        mm.size_unit(largest)
    )
}

/// How much longer than they are the shifts are drawn, so that none leaves the picture.
fn exaggeration(job: &JobPicture<'_>) -> f64 {
    let units_per_mm = Place::of(&job.sheet).units_per_mm;
    let largest = job.summary.largest.map_or(0.0, |l| l.shift.norm_mm());
    let most = LONGEST / units_per_mm / largest;
    if most.is_finite() { scale::round_down(most).max(1.0) } else { 1.0 }
}

fn draw<DB: DrawingBackend>(
    job: &JobPicture<'_>,
    times: f64,
    step: f64,
    on: &Canvas<'_, DB>,
) -> Result<(), Failed<DB>> {
    let head = Type { em: 30.0, bold: false, align: Align::Left, colour: INK };
    on.text(&title(job), (RIM, TITLE / 2.0), head)?;
    let strokes = &job.summary.strokes;
    let stretched = |meant: Point, other: Point| meant + (other - meant) * times;
    let landed: Vec<Vec<Point>> = strokes
        .iter()
        .zip(job.landed)
        .map(|(s, landed)| s.points.iter().zip(landed).map(|(p, l)| stretched(p.meant, *l)).collect())
        .collect();
    let sent: Vec<Vec<Point>> =
        strokes.iter().map(|s| s.points.iter().map(|p| stretched(p.meant, p.sent)).collect()).collect();
    let by = if times > 1.0 { format!(", shift {} times larger", fixed(times, 0)) } else { String::new() };
    map(job, "As it is", &format!("where the bit would go{by}"), &landed, LANDED, &on.at(0.0, TITLE))?;
    map(job, "Bent", &format!("what the bent job asks for{by}"), &sent, SENT, &on.at(0.0, TITLE + step))
}

/// One map: the way meant, and another way over it.
fn map<DB: DrawingBackend>(
    job: &JobPicture<'_>,
    heading: &str,
    words: &str,
    way: &[Vec<Point>],
    colour: RGBColor,
    on: &Canvas<'_, DB>,
) -> Result<(), Failed<DB>> {
    let place = Place::of(&job.sheet);
    let (low, high) = place.rim(&job.sheet);
    on.text(
        heading,
        (RIM, HEAD / 2.0 - 2.0),
        Type { em: 36.0, bold: true, align: Align::Left, colour: INK },
    )?;
    on.frame(low, high, 3.0, INK)?;
    // What leaves the picture is drawn on its rim.
    let xy = |p: Point| -> Xy {
        let (x, y) = place.xy(p);
        (x.clamp(2.0, WIDTH - 2.0), y.clamp(HEAD - 12.0, low.1.max(high.1) + 12.0))
    };
    let line =
        |points: &mut dyn Iterator<Item = Point>| path::simplify(&points.map(xy).collect::<Vec<_>>(), 0.3);
    for stroke in &job.summary.strokes {
        on.line(&line(&mut stroke.points.iter().map(|p| p.meant)), 2.0, &MEANT)?;
    }
    for stroke in way {
        on.line(&line(&mut stroke.iter().copied()), 2.5, &colour)?;
    }
    let foot = low.1.max(high.1) + FOOT / 2.0 + 6.0;
    let kind = Type { em: TYPE_EM, bold: false, align: Align::Left, colour: INK };
    on.line(&[(RIM, foot), (RIM + 44.0, foot)], 4.0, &MEANT)?;
    on.text("meant", (RIM + 54.0, foot), kind)?;
    let next = RIM + 54.0 + on.text_width("meant", TYPE_EM, false) + 36.0;
    on.line(&[(next, foot), (next + 44.0, foot)], 4.0, &colour)?;
    on.text(words, (next + 54.0, foot), kind)
}
