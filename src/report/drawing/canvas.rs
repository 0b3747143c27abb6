//! Drawing in our own units on either kind of picture: y downwards, one unit is one pixel of the finished PNG.

use super::path::{self, Xy};
use plotters::coord::Shift;
use plotters::drawing::DrawingAreaErrorKind;
use plotters::prelude::*;
use plotters::style::register_font;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::sync::Once;

/// Drawn this many times larger than shown, so that whole-pixel coordinates are fine enough.
pub(in crate::report) const OVERSAMPLE: u32 = 2;
/// Name under which the embedded fonts are drawn.
pub(in crate::report) const FAMILY: &str = "Tautgrid";
/// plotters counts a font's height from ascender to descender: 1.24 em.
const HEIGHT_PER_EM: f64 = 1.24;

/// A drawing that failed.
pub(in crate::report) type Failed<DB> = DrawingAreaErrorKind<<DB as DrawingBackend>::ErrorType>;

/// Makes the embedded fonts known to plotters.
pub(in crate::report) fn register_fonts() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let regular = include_bytes!("../fonts/inter-regular.ttf");
        let semibold = include_bytes!("../fonts/inter-semibold.ttf");
        // A font that does not parse would make every drawing fail with "font unavailable".
        let _ = register_font(FAMILY, FontStyle::Normal, regular);
        let _ = register_font(FAMILY, FontStyle::Bold, semibold);
    });
}

/// Which side of a text its place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::report) enum Align {
    Left,
    Middle,
    Right,
}

/// How a text is set.
#[derive(Debug, Clone, Copy)]
pub(in crate::report) struct Type {
    /// Size of the em, units.
    pub(in crate::report) em: f64,
    pub(in crate::report) bold: bool,
    pub(in crate::report) align: Align,
    pub(in crate::report) colour: RGBColor,
}

/// Which kind of picture is drawn on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::report) enum Kind {
    /// SVG.
    Vector,
    /// Pixels.
    Raster,
}

/// A picture, or a part of one, to draw on.
pub(in crate::report) struct Canvas<'a, DB: DrawingBackend> {
    pub(in crate::report) area: &'a DrawingArea<DB, Shift>,
    pub(in crate::report) kind: Kind,
    /// Upper left corner of the part, units.
    pub(in crate::report) origin: Xy,
}

impl<'a, DB: DrawingBackend> Canvas<'a, DB> {
    /// The same picture with another upper left corner.
    pub(in crate::report) fn at(&self, x: f64, y: f64) -> Self {
        Self { area: self.area, kind: self.kind, origin: (self.origin.0 + x, self.origin.1 + y) }
    }

    fn pixel(&self, (x, y): Xy) -> (i32, i32) {
        let k = f64::from(OVERSAMPLE);
        (((x + self.origin.0) * k).round() as i32, ((y + self.origin.1) * k).round() as i32)
    }

    fn pixels(&self, points: &[Xy]) -> Vec<(i32, i32)> {
        let mut pixels: Vec<_> = points.iter().map(|&p| self.pixel(p)).collect();
        pixels.dedup();
        pixels
    }

    /// Fills the area inside a line.
    pub(in crate::report) fn fill(&self, points: &[Xy], colour: RGBColor) -> Result<(), Failed<DB>> {
        let pixels = self.pixels(points);
        match self.kind {
            _ if pixels.len() < 3 => Ok(()),
            Kind::Vector => self.area.draw(&Polygon::new(pixels, colour.filled())),
            // plotters fills column by column and pixel by pixel, some twenty times slower than whole runs.
            Kind::Raster => path::runs(&pixels).into_iter().try_for_each(|(y, from, to)| {
                self.area.draw(&Rectangle::new([(from, y), (to, y + 1)], colour.filled()))
            }),
        }
    }

    /// Fills an upright rectangle between two corners.
    pub(in crate::report) fn fill_rect(&self, a: Xy, b: Xy, colour: RGBColor) -> Result<(), Failed<DB>> {
        self.area.draw(&Rectangle::new([self.pixel(a), self.pixel(b)], colour.filled()))
    }

    /// Draws an upright frame, its line centred on two opposite corners. (plotters' closed paths lose an edge.)
    pub(in crate::report) fn frame(
        &self,
        a: Xy,
        b: Xy,
        width: f64,
        colour: RGBColor,
    ) -> Result<(), Failed<DB>> {
        let half = width / 2.0;
        let (left, right) = (a.0.min(b.0), a.0.max(b.0));
        let (top, bottom) = (a.1.min(b.1), a.1.max(b.1));
        for x in [left, right] {
            self.fill_rect((x - half, top - half), (x + half, bottom + half), colour)?;
        }
        for y in [top, bottom] {
            self.fill_rect((left - half, y - half), (right + half, y + half), colour)?;
        }
        Ok(())
    }

    /// Draws a line through points.
    pub(in crate::report) fn line(
        &self,
        points: &[Xy],
        width: f64,
        colour: &impl Color,
    ) -> Result<(), Failed<DB>> {
        let pixels = self.pixels(points);
        let width = (width * f64::from(OVERSAMPLE)).round().max(1.0) as u32;
        if pixels.len() < 2 {
            return Ok(());
        }
        self.area.draw(&PathElement::new(pixels, colour.stroke_width(width)))
    }

    /// Draws a dashed line through points.
    pub(in crate::report) fn dashes(
        &self,
        points: &[Xy],
        width: f64,
        colour: RGBColor,
    ) -> Result<(), Failed<DB>> {
        for dash in path::dashes(points, 12.0, 7.0) {
            self.line(&dash, width, &colour)?;
        }
        Ok(())
    }

    /// Draws a filled dot.
    pub(in crate::report) fn dot(&self, at: Xy, radius: f64, colour: RGBColor) -> Result<(), Failed<DB>> {
        let radius = (radius * f64::from(OVERSAMPLE)).round() as i32;
        self.area.draw(&Circle::new(self.pixel(at), radius, colour.filled()))
    }

    /// Writes a text, its capitals centred on the height of `at`.
    pub(in crate::report) fn text(&self, text: &str, at: Xy, kind: Type) -> Result<(), Failed<DB>> {
        let weight = if kind.bold { FontStyle::Bold } else { FontStyle::Normal };
        let size = kind.em * HEIGHT_PER_EM * f64::from(OVERSAMPLE);
        let h = match kind.align {
            Align::Left => HPos::Left,
            Align::Middle => HPos::Center,
            Align::Right => HPos::Right,
        };
        let style = TextStyle::from((FAMILY, size, weight).into_font())
            .color(&kind.colour)
            .pos(Pos::new(h, VPos::Center));
        // plotters centres a text by its box, and by another box on each kind of picture.
        let drop_em = match self.kind {
            Kind::Vector => 0.09,
            Kind::Raster => 0.245,
        };
        let place = self.pixel((at.0, at.1 + drop_em * kind.em));
        self.area.draw(&Text::new(text, place, style))
    }

    /// Width of a text, units.
    pub(in crate::report) fn text_width(&self, text: &str, em: f64, bold: bool) -> f64 {
        let weight = if bold { FontStyle::Bold } else { FontStyle::Normal };
        let size = em * HEIGHT_PER_EM;
        let font = (FAMILY, size * 8.0, weight).into_font();
        font.box_size(text).map_or(text.chars().count() as f64 * 0.6 * em, |(w, _)| f64::from(w) / 8.0)
    }
}
