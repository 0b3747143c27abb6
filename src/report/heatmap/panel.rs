//! One map: the sheet with its bands of error, the limit, the holes with their arrows.

use super::bands::{Grid, Loop};
use super::field::Field;
use super::labels::{self, Wish};
use super::scale::{Scale, ink_on};
use crate::frame::{Point, Sheet};
use crate::report::drawing::canvas::{Align, Canvas, Failed, Type};
use crate::report::drawing::path::{self, Xy};
use plotters::prelude::*;

/// Width of a map, units. Its type is large enough to be read when this is the width of a phone.
pub(super) const WIDTH: f64 = 1000.0;
/// Room for the heading, units.
pub(super) const HEAD: f64 = 62.0;
/// Room beside the sheet for arrows that leave it, units.
pub(super) const RIM: f64 = 18.0;
/// A map is never higher than this, units.
const HIGHEST: f64 = 1000.0;
/// Points across at which the field is sampled for its bands.
const SAMPLES: usize = 97;

pub(super) const INK: RGBColor = RGBColor(26, 26, 26);
const WHITE: RGBColor = RGBColor(255, 255, 255);
pub(super) const TYPE_EM: f64 = 29.0;

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
    middle: Xy,
}

impl Place {
    /// As large as the width allows.
    pub(super) fn of(sheet: &Sheet) -> Self {
        let units_per_mm = ((WIDTH - 2.0 * RIM) / sheet.width_mm).min(HIGHEST / sheet.height_mm);
        Self { units_per_mm, middle: (WIDTH / 2.0, HEAD + units_per_mm * sheet.height_mm / 2.0) }
    }

    /// Lower left and upper right corner of the sheet, units.
    pub(super) fn rim(&self, sheet: &Sheet) -> (Xy, Xy) {
        let corner = Point::new(sheet.width_mm / 2.0, sheet.height_mm / 2.0);
        (self.xy(corner * -1.0), self.xy(corner))
    }

    fn point(&self, (x, y): Xy) -> Point {
        Point::new((x - self.middle.0) / self.units_per_mm, (self.middle.1 - y) / self.units_per_mm)
    }

    pub(super) fn xy(&self, p: Point) -> Xy {
        (self.middle.0 + p.x_mm * self.units_per_mm, self.middle.1 - p.y_mm * self.units_per_mm)
    }
}

/// Height of a map with its heading, units.
pub(super) fn height(sheet: &Sheet) -> f64 {
    HEAD + Place::of(sheet).units_per_mm * sheet.height_mm + 6.0
}

impl Panel<'_> {
    /// Draws the map.
    pub(super) fn draw<DB: DrawingBackend>(&self, on: &Canvas<'_, DB>) -> Result<(), Failed<DB>> {
        let place = Place::of(&self.sheet);
        let (low, high) = place.rim(&self.sheet);
        let kind = |em, bold, align| Type { em, bold, align, colour: INK };
        on.text(self.title, (RIM, HEAD / 2.0 - 2.0), kind(36.0, true, Align::Left))?;
        on.text(&self.figures, (WIDTH - RIM, HEAD / 2.0 - 2.0), kind(TYPE_EM, false, Align::Right))?;
        if let Some(field) = &self.field {
            self.draw_bands(on, field, place)?;
        }
        on.frame(low, high, 3.0, INK)?;
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
        let arrows: Vec<(Xy, Xy)> = self.marks.iter().map(|m| self.arrow(place, m)).collect();
        for &(from, to) in &arrows {
            draw_arrow(on, from, to)?;
        }
        let values: Vec<String> =
            self.marks.iter().map(|m| self.scale.at_hole(m.displacement.norm_mm())).collect();
        let wish = |(mark, value): (&Mark, &String)| Wish {
            at: place.xy(mark.target),
            id_width: on.text_width(&format!("{} ", mark.id), TYPE_EM, false),
            value_width: on.text_width(value, TYPE_EM, true),
            landmark: mark.landmark,
        };
        let wishes: Vec<Wish> = self.marks.iter().zip(&values).map(wish).collect();
        for label in labels::set(&wishes, &arrows, place.rim(&self.sheet)) {
            let (x, y) = label.start;
            let colour = self.ink_at(place, label.start, label.width);
            let kind = |bold| Type { em: TYPE_EM, bold, align: Align::Left, colour };
            if label.id {
                on.text(&self.marks[label.wish].id, (x, y), kind(false))?;
            }
            if label.value {
                let x = if label.id { x + wishes[label.wish].id_width } else { x };
                on.text(&values[label.wish], (x, y), kind(true))?;
            }
        }
        Ok(())
    }

    /// From a hole to where it came to lie, stretched.
    fn arrow(&self, place: Place, mark: &Mark) -> (Xy, Xy) {
        (place.xy(mark.target), place.xy(mark.target + mark.displacement * self.exaggeration))
    }

    /// Black or white for a label, whatever bands it lies on.
    fn ink_at(&self, place: Place, (x, y): Xy, width: f64) -> RGBColor {
        let Some(field) = &self.field else { return INK };
        let ground = |along: f64, dy: f64| {
            let size = field.at(place.point((x + along * width, y + dy))).norm_mm();
            self.scale.colour(self.scale.band(size))
        };
        let spots = [0.0, 0.25, 0.5, 0.75, 1.0].map(|t| [ground(t, -10.0), ground(t, 10.0)]);
        ink_on(spots.as_flattened())
    }
}

/// An arrow shorter than this is hidden by its own dot, units.
const SHORTEST: f64 = 8.0;

/// An arrow with a white edge, so that it shows on dark and light; a dot where it would be too short to see.
fn draw_arrow<DB: DrawingBackend>(on: &Canvas<'_, DB>, from: Xy, to: Xy) -> Result<(), Failed<DB>> {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = dx.hypot(dy);
    let head = (0.7 * length).min(15.0);
    on.dot(from, 7.0, WHITE)?;
    if length > SHORTEST {
        let beyond = (to.0 + 4.5 * dx / length, to.1 + 4.5 * dy / length);
        let neck = (to.0 - dx * head / length, to.1 - dy * head / length);
        on.line(&[from, neck], 7.0, &WHITE)?;
        on.fill(&path::arrow_head(from, beyond, head + 8.0), WHITE)?;
        on.line(&[from, neck], 3.5, &INK)?;
        on.fill(&path::arrow_head(from, to, head), INK)?;
    }
    on.dot(from, 5.0, INK)
}
