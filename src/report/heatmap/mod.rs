//! The heat map: how far the machine is off over the sheet, as cut and with the new settings, on one scale.
//!
//! [`svg()`] and [`png()`] are whole pictures, one map above the other so that a phone can show them; [`parts()`] are
//! the same maps apart, for a page that sets them side by side where it is wide enough.

mod bands;
mod field;
pub mod job;
mod key;
mod labels;
mod panel;
mod scale;

use super::drawing::canvas::{Align, Canvas, Failed, Type};
use super::drawing::{raster, vector};
use super::numbers::Measure;
use super::plain;
use crate::frame::Point;
use crate::pattern::KEY;
use crate::record::{Analysis, ErrorSize, HoleResult};
use field::Field;
use key::Key;
use panel::{INK, Mark, Panel, Place, WIDTH};
use plotters::prelude::DrawingBackend;
use scale::Scale;

/// Room for the title of the whole picture, units.
const TITLE: f64 = 64.0;
/// Length of the longest arrow, units.
const LONGEST: f64 = 76.0;
/// Room between the maps, units.
const GAP: f64 = 14.0;

/// The maps and their key as separate SVG elements, for use inside an HTML page that brings the font.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Parts {
    /// The map as cut.
    pub as_cut: String,
    /// The map with the new settings.
    pub after: String,
    /// Colours, limit and arrows.
    pub key: String,
}

/// The whole picture as a stand-alone SVG document.
pub fn svg(analysis: &Analysis) -> String {
    let picture = Picture::of(analysis);
    let body = vector::draw((WIDTH, picture.height()), |canvas| picture.draw(canvas));
    vector::document(&body, &picture.title, &picture.description())
}

/// The whole picture as the bytes of a PNG file, 1000 pixels wide.
pub fn png(analysis: &Analysis) -> Vec<u8> {
    let picture = Picture::of(analysis);
    raster::png((WIDTH, picture.height()), |canvas| picture.draw(canvas))
}

/// The maps and the key apart.
pub fn parts(analysis: &Analysis) -> Parts {
    let picture = Picture::of(analysis);
    let size = (WIDTH, panel::height(&analysis.sheet));
    let map = |panel: &Panel<'_>| {
        let body = vector::draw(size, |canvas| panel.draw(canvas));
        vector::element(&body, panel.title, &describe(panel))
    };
    let key = vector::draw((WIDTH, key::HEIGHT), |canvas| picture.key.draw(canvas));
    Parts {
        as_cut: map(&picture.as_cut),
        after: map(&picture.after),
        key: vector::element(&key, "Key to the maps", ""),
    }
}

struct Picture<'a> {
    title: String,
    as_cut: Panel<'a>,
    after: Panel<'a>,
    key: Key,
}

impl<'a> Picture<'a> {
    fn of(a: &'a Analysis) -> Self {
        let (as_cut, after) = (Field::new(&a.map, &a.map.as_cut), Field::new(&a.map, &a.map.after));
        let sizes = a.map.as_cut.iter().chain(&a.map.after).chain(a.holes.iter().map(|h| &h.displacement));
        let largest_mm = sizes.map(|p| p.norm_mm()).filter(|s| s.is_finite()).fold(0.0, f64::max);
        let scale = Scale::reaching(largest_mm, a.unit);
        let exaggeration = exaggeration(a);
        let limit_mm = a.error.tolerance_mm;
        let landmarks = landmarks(a);
        let marks = |displacement: &dyn Fn(usize) -> Option<Point>| {
            let mark = |(k, h): (usize, &HoleResult)| {
                let displacement = displacement(k).filter(|d| d.norm_mm().is_finite())?;
                Some(Mark {
                    id: plain(&h.id),
                    target: h.target,
                    displacement,
                    landmark: landmarks.contains(&k),
                })
            };
            a.holes.iter().enumerate().filter_map(mark).collect::<Vec<_>>()
        };
        let marks_as_cut = marks(&|k| Some(a.holes[k].displacement));
        let marks_after = marks(&|k| after.as_ref().map(|f| f.at(a.holes[k].target)));
        let panel = |title, size: ErrorSize, field, marks| Panel {
            title,
            figures: figures(a, size),
            sheet: a.sheet,
            field,
            marks,
            scale,
            limit_mm,
            exaggeration,
        };
        Self {
            title: format!("{}, cut {}", plain(&a.machine), plain(&a.cut)),
            as_cut: panel("As cut", a.error.as_cut, as_cut, marks_as_cut),
            after: panel("With the new settings", a.error.after.size, after, marks_after),
            key: Key { scale, limit_mm, exaggeration },
        }
    }

    fn height(&self) -> f64 {
        TITLE + 2.0 * (panel::height(&self.as_cut.sheet) + GAP) + key::HEIGHT
    }

    fn draw<DB: DrawingBackend>(&self, on: &Canvas<'_, DB>) -> Result<(), Failed<DB>> {
        let step = panel::height(&self.as_cut.sheet) + GAP;
        let kind = Type { em: 30.0, bold: false, align: Align::Left, colour: INK };
        on.text(&self.title, (panel::RIM, TITLE / 2.0), kind)?;
        self.as_cut.draw(&on.at(0.0, TITLE))?;
        self.after.draw(&on.at(0.0, TITLE + step))?;
        self.key.draw(&on.at(0.0, TITLE + 2.0 * step))
    }

    fn description(&self) -> String {
        format!("{}\n{}", describe(&self.as_cut), describe(&self.after))
    }
}

/// How much longer than they are the displacements can be drawn: the longest arrow comes to about [`LONGEST`]
/// units, and none leaves the picture.
fn exaggeration(a: &Analysis) -> f64 {
    let units_per_mm = Place::of(&a.sheet).units_per_mm;
    let beside_mm = panel::RIM / units_per_mm;
    let most = |h: &HoleResult| {
        let d = h.displacement;
        let room_mm = a.sheet.width_mm / 2.0 + beside_mm - h.target.x_mm.abs();
        let outward_mm = d.x_mm * h.target.x_mm.signum();
        let fits = if outward_mm > 0.0 { room_mm / outward_mm } else { f64::INFINITY };
        (LONGEST / units_per_mm / d.norm_mm()).min(fits)
    };
    let most = a.holes.iter().map(most).filter(|k| k.is_finite() && *k > 0.0).fold(f64::INFINITY, f64::min);
    if most.is_finite() { scale::round_down(most).max(1.0) } else { 1.0 }
}

/// Sizes for the heading of a map.
fn figures(a: &Analysis, size: ErrorSize) -> String {
    let mm = Measure::length(a.unit);
    format!("{} rms, {} {} at worst", mm.size(size.rms_mm), mm.size(size.max_mm), mm.word)
}

/// A map in words, hole by hole, for those who do not see it.
fn describe(panel: &Panel<'_>) -> String {
    let unit = Measure::length(panel.scale.unit).word;
    let hole = |m: &Mark| format!("{} {}", m.id, panel.scale.at_hole(m.displacement.norm_mm()));
    let holes: Vec<String> = panel.marks.iter().map(hole).collect();
    format!("{}: {}. Error at the holes, {unit}: {}.", panel.title, panel.figures, holes.join(", "))
}

/// The four outermost holes and the odd one, by index.
fn landmarks(a: &Analysis) -> Vec<usize> {
    let outermost = |(x, y): (f64, f64)| {
        let reach = |k: &usize| a.holes[*k].target.x_mm * x + a.holes[*k].target.y_mm * y;
        (0..a.holes.len()).max_by(|p, q| reach(p).total_cmp(&reach(q)))
    };
    let corners = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
    let odd = a.holes.iter().position(|h| h.id == KEY);
    corners.into_iter().filter_map(outermost).chain(odd).collect()
}
