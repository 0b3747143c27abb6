//! One map: the sheet with its bands of error, the limit, the holes with their arrows.

use super::bands::{Grid, Loop};
use super::canvas::{Align, Canvas, Failed, Type};
use super::field::Field;
use super::path;
use super::scale::{Scale, ink_on};
use crate::frame::{Point, Sheet};
use plotters::prelude::*;

/// Width of a map, units. Its type is large enough to be read when this is the width of a phone.
pub(super) const WIDTH: f64 = 1000.0;
/// Room for the heading, units.
pub(super) const HEAD: f64 = 62.0;
/// Nothing is drawn nearer to the rim, units.
const RIM: f64 = 6.0;
/// A map is never higher than this, units.
const HIGHEST: f64 = 1000.0;
/// Points across at which the field is sampled for its bands.
const SAMPLES: usize = 97;

pub(super) const INK: RGBColor = RGBColor(26, 26, 26);
const WHITE: RGBColor = RGBColor(255, 255, 255);
pub(super) const TYPE_EM: f64 = 28.0;

/// A hole as a map shows it.
pub(super) struct Mark {
    pub(super) id: String,
    pub(super) target: Point,
    pub(super) displacement: Point,
    /// Keeps its id even where there is no room for all of them.
    pub(super) landmark: bool,
}

/// Everything one map shows.
pub(super) struct Panel<'a> {
    pub(super) title: &'static str,
    pub(super) figures: String,
    pub(super) sheet: Sheet,
    pub(super) field: Option<Field<'a>>,
    pub(super) marks: Vec<Mark>,
    pub(super) scale: Scale,
    pub(super) limit_mm: f64,
    /// Arrow length over displacement.
    pub(super) exaggeration: f64,
}

/// How the sheet lies on the picture.
#[derive(Clone, Copy)]
pub(super) struct Place {
    /// Units per mm, the same both ways.
    pub(super) units_per_mm: f64,
    middle: (f64, f64),
}

impl Place {
    /// As large as the width allows.
    pub(super) fn of(sheet: &Sheet) -> Self {
        let units_per_mm = ((WIDTH - 2.0 * RIM) / sheet.width_mm).min(HIGHEST / sheet.height_mm);
        Self { units_per_mm, middle: (WIDTH / 2.0, HEAD + units_per_mm * sheet.height_mm / 2.0) }
    }

    fn xy(&self, p: Point) -> (f64, f64) {
        (self.middle.0 + p.x_mm * self.units_per_mm, self.middle.1 - p.y_mm * self.units_per_mm)
    }
}

/// Height of a map with its heading, units.
pub(super) fn height(sheet: &Sheet) -> f64 {
    HEAD + Place::of(sheet).units_per_mm * sheet.height_mm + RIM
}

impl Panel<'_> {
    /// Draws the map.
    pub(super) fn draw<DB: DrawingBackend>(&self, on: &Canvas<'_, DB>) -> Result<(), Failed<DB>> {
        let kind = |em, bold, align| Type { em, bold, align, colour: INK };
        on.text(self.title, (RIM, HEAD / 2.0 - 4.0), kind(36.0, true, Align::Left))?;
        on.text(&self.figures, (WIDTH - RIM, HEAD / 2.0 - 4.0), kind(TYPE_EM, false, Align::Right))?;
        let place = Place::of(&self.sheet);
        if let Some(field) = &self.field {
            self.draw_bands(on, field, place)?;
        }
        let corner = Point::new(self.sheet.width_mm / 2.0, self.sheet.height_mm / 2.0);
        let (low, high) = (place.xy(corner * -1.0), place.xy(corner));
        on.line(&[low, (high.0, low.1), high, (low.0, high.1), low, (high.0, low.1)], 3.0, &INK)?;
        self.draw_marks(on, place)
    }

    fn draw_bands<DB: DrawingBackend>(
        &self,
        on: &Canvas<'_, DB>,
        field: &Field<'_>,
        place: Place,
    ) -> Result<(), Failed<DB>> {
        let (low, high) = field.corners;
        let size = high - low;
        let columns = SAMPLES;
        let rows = ((size.y_mm / size.x_mm * SAMPLES as f64) as usize).clamp(9, 4 * SAMPLES);
        let values = field.sizes(columns, rows);
        let grid = Grid { columns, rows, values: &values };
        let xy = |&(c, r): &(f64, f64)| {
            let x = low.x_mm + size.x_mm * c / (columns - 1) as f64;
            place.xy(Point::new(x, low.y_mm + size.y_mm * r / (rows - 1) as f64))
        };
        let line = |points: &[(f64, f64)]| path::simplify(&points.iter().map(xy).collect::<Vec<_>>(), 0.2);
        // Large areas first: each loop is filled with the band just inside it, so that smaller ones lie on top.
        let mut loops: Vec<(usize, Loop)> = (1..self.scale.bands)
            .flat_map(|k| grid.loops(self.scale.edge_mm(k)).into_iter().map(move |l| (k, l)))
            .collect();
        loops.sort_by(|a, b| b.1.area.abs().total_cmp(&a.1.area.abs()).then(a.0.cmp(&b.0)));
        on.fill_rect(place.xy(low), place.xy(high), self.scale.colour(0))?;
        for (k, ring) in &loops {
            let band = if ring.area > 0.0 { *k } else { *k - 1 };
            on.fill(&line(&ring.points), self.scale.colour(band))?;
        }
        for (k, ring) in &loops {
            let ink = ink_on(&[self.scale.colour(*k)]);
            for part in grid.inner_parts(ring) {
                on.line(&line(&part), 1.0, &ink.mix(0.45))?;
            }
        }
        for ring in grid.loops(self.limit_mm) {
            for part in grid.inner_parts(&ring) {
                on.line(&line(&part), 7.0, &WHITE)?;
                on.dashes(&line(&part), 4.0, INK)?;
            }
        }
        Ok(())
    }

    fn draw_marks<DB: DrawingBackend>(&self, on: &Canvas<'_, DB>, place: Place) -> Result<(), Failed<DB>> {
        let room = self.room_units(place);
        let arrow = |mark: &Mark| {
            let from = place.xy(mark.target);
            (from, place.xy(mark.target + mark.displacement * self.exaggeration))
        };
        for mark in &self.marks {
            let (from, to) = arrow(mark);
            let length = (to.0 - from.0).hypot(to.1 - from.1);
            let head = path::arrow_head(from, to, 17.0_f64.min(length));
            if length > 3.0 {
                let neck = ((head[1].0 + head[2].0) / 2.0, (head[1].1 + head[2].1) / 2.0);
                let casing = path::arrow_head(from, outward(from, to, 5.0), 26.0_f64.min(length + 5.0));
                on.line(&[from, neck], 7.0, &WHITE)?;
                on.fill(&casing, WHITE)?;
                on.dot(from, 7.0, WHITE)?;
                on.line(&[from, neck], 3.5, &INK)?;
                on.fill(&head, INK)?;
            } else {
                on.dot(from, 7.0, WHITE)?;
            }
            on.dot(from, 5.0, INK)?;
        }
        for mark in &self.marks {
            let value = self.scale.at_hole(mark.displacement.norm_mm());
            let full = format!("{} {value}", mark.id);
            let label = if on.text_width(&full, TYPE_EM, false) < room {
                full
            } else if mark.landmark {
                mark.id.clone()
            } else if on.text_width(&value, TYPE_EM, false) < room {
                value
            } else {
                continue;
            };
            let (from, to) = arrow(mark);
            // On the side that the arrow does not go to.
            let below = to.1 <= from.1;
            let at = (from.0, from.1 + if below { 27.0 } else { -27.0 });
            let colour = self.ink_at(place, at, on.text_width(&label, TYPE_EM, false));
            on.text(&label, at, Type { em: TYPE_EM, bold: false, align: Align::Middle, colour })?;
        }
        Ok(())
    }

    /// Room for a label: the distance of the nearest neighbours in the same row, units.
    fn room_units(&self, place: Place) -> f64 {
        let mut xs: Vec<f64> = self
            .marks
            .iter()
            .filter(|m| !m.landmark || m.id != crate::pattern::KEY)
            .map(|m| m.target.x_mm)
            .collect();
        xs.sort_by(f64::total_cmp);
        let gaps = xs.windows(2).map(|w| w[1] - w[0]).filter(|&g| g > 1.0);
        gaps.fold(self.sheet.width_mm, f64::min) * place.units_per_mm - 8.0
    }

    /// Black or white for a label of `width` units in the middle of `at`, whatever bands it lies on.
    fn ink_at(&self, place: Place, at: (f64, f64), width: f64) -> RGBColor {
        let ground = |dx: f64, dy: f64| {
            let x_mm = (at.0 + dx - place.middle.0) / place.units_per_mm;
            let y_mm = (place.middle.1 - at.1 - dy) / place.units_per_mm;
            let field = self.field.as_ref();
            field
                .map_or(WHITE, |f| self.scale.colour(self.scale.band(f.at(Point::new(x_mm, y_mm)).norm_mm())))
        };
        let spots = [-0.5, 0.0, 0.5].map(|k| [ground(k * width, -10.0), ground(k * width, 10.0)]);
        ink_on(spots.as_flattened())
    }
}

/// The point `by` units beyond `to`, seen from `from`.
fn outward(from: (f64, f64), to: (f64, f64), by: f64) -> (f64, f64) {
    let length = (to.0 - from.0).hypot(to.1 - from.1).max(f64::MIN_POSITIVE);
    (to.0 + by * (to.0 - from.0) / length, to.1 + by * (to.1 - from.1) / length)
}
