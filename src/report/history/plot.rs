//! A small chart over the days: points with bars, lines with bands, limits, and letters for what was done.

use crate::report::drawing::canvas::{Align, Canvas, Failed, Type};
use crate::report::drawing::path::Xy;
use crate::report::drawing::vector;
use crate::report::numbers::fixed;
use jiff::civil::Date;
use plotters::prelude::*;

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 300.0;
/// Room left, right, above and below the chart, units.
const LEFT: f64 = 64.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 66.0;
const BOTTOM: f64 = 34.0;
const EM: f64 = 17.0;

const INK: RGBColor = RGBColor(26, 26, 26);
const SOFT: RGBColor = RGBColor(85, 88, 92);
const RULE: RGBColor = RGBColor(217, 218, 214);
/// Okabe and Ito's blue and a darkened vermillion (Wong, Nature Methods 8, 2011, 441; from memory), and a green between.
pub(super) const COLOURS: [RGBColor; 3] = [RGBColor(0, 114, 178), RGBColor(196, 78, 0), RGBColor(0, 110, 80)];

/// One point.
#[derive(Debug, Clone, Copy)]
pub(super) struct Dot {
    pub(super) day: f64,
    pub(super) value: f64,
    /// Ends of its bar or of the band there.
    pub(super) low: f64,
    pub(super) high: f64,
}

/// How a series is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Look {
    /// Dots with bars.
    Dots,
    /// A line in a band.
    Band,
    /// A thin line without more.
    Thin,
}

/// Points that belong together.
#[derive(Debug, Clone)]
pub(super) struct Series {
    /// Named over the chart; empty for one that goes without.
    pub(super) name: String,
    pub(super) colour: RGBColor,
    pub(super) look: Look,
    pub(super) dots: Vec<Dot>,
}

/// A chart.
#[derive(Debug, Clone)]
pub(super) struct Plot<'a> {
    pub(super) title: String,
    pub(super) description: String,
    /// Day nought.
    pub(super) first: Date,
    /// Last day shown.
    pub(super) days: f64,
    pub(super) series: Vec<Series>,
    /// A level that matters, and what it is.
    pub(super) level: Option<(f64, &'static str)>,
    /// Does the axis begin at nought?
    pub(super) from_nought: bool,
    /// Days and letters of what was done.
    pub(super) marks: &'a [(f64, String)],
}

impl Plot<'_> {
    /// As an SVG element for a page that brings the font.
    pub(super) fn svg(&self) -> String {
        let body = vector::draw((WIDTH, HEIGHT), |canvas| self.draw(canvas));
        vector::element(&body, &self.title, &self.description)
    }

    fn draw<DB: DrawingBackend>(&self, on: &Canvas<'_, DB>) -> Result<(), Failed<DB>> {
        let (low, high) = self.range();
        let step = nice((high - low) / 4.0);
        let floor = if self.from_nought { 0.0 } else { (low / step).floor() * step };
        let (low, high) = (floor, (high / step).ceil() * step);
        let y = |v: f64| {
            let share = (v.clamp(low, high) - low) / (high - low);
            HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)
        };
        let x = |day: f64| LEFT + day / self.days.max(1.0) * (WIDTH - LEFT - RIGHT);
        let kind = |align: Align| Type { em: EM, bold: false, align, colour: SOFT };
        on.text(
            &self.title,
            (0.0, 14.0),
            Type { em: EM + 1.0, bold: true, align: Align::Left, colour: INK },
        )?;
        let places = (-step.log10().floor()).max(0.0) as i32;
        let count = ((high - low) / step).round().clamp(0.0, 20.0) as i32;
        for k in 0..=count {
            let v = low + f64::from(k) * step;
            on.line(&[(LEFT, y(v)), (WIDTH - RIGHT, y(v))], 1.0, &RULE)?;
            on.text(&fixed(v, places), (LEFT - 8.0, y(v)), kind(Align::Right))?;
        }
        for (day, name) in months(self.first, self.days) {
            on.line(&[(x(day), HEIGHT - BOTTOM), (x(day), HEIGHT - BOTTOM + 5.0)], 1.0, &SOFT)?;
            on.text(&name, (x(day), HEIGHT - BOTTOM + 19.0), kind(Align::Middle))?;
        }
        for (day, letter) in self.marks {
            on.dashes(&[(x(*day), TOP - 2.0), (x(*day), HEIGHT - BOTTOM)], 1.0, SOFT)?;
            on.text(letter, (x(*day), TOP - 12.0), kind(Align::Middle))?;
        }
        for series in &self.series {
            self.series(series, on, &|dot: &Dot, v: f64| (x(dot.day), y(v)))?;
        }
        if let Some((v, name)) = self.level {
            on.line(&[(LEFT, y(v)), (WIDTH - RIGHT, y(v))], 2.0, &INK)?;
            let colour = Type { colour: INK, ..kind(Align::Right) };
            on.text(name, (WIDTH - RIGHT - 4.0, y(v) - 12.0), colour)?;
        }
        self.legend(on)
    }

    fn series<DB: DrawingBackend>(
        &self,
        series: &Series,
        on: &Canvas<'_, DB>,
        xy: &impl Fn(&Dot, f64) -> Xy,
    ) -> Result<(), Failed<DB>> {
        let line: Vec<Xy> = series.dots.iter().map(|d| xy(d, d.value)).collect();
        match series.look {
            Look::Band => {
                let mut rim: Vec<Xy> = series.dots.iter().map(|d| xy(d, d.high)).collect();
                rim.extend(series.dots.iter().rev().map(|d| xy(d, d.low)));
                on.fill(&rim, pale(series.colour))?;
                on.line(&line, 2.0, &series.colour)
            }
            Look::Thin => on.line(&line, 1.5, &series.colour),
            Look::Dots => {
                for (d, &at) in series.dots.iter().zip(&line) {
                    on.line(&[xy(d, d.low), xy(d, d.high)], 1.5, &series.colour)?;
                    on.dot(at, 4.0, series.colour)?;
                }
                Ok(())
            }
        }
    }

    fn legend<DB: DrawingBackend>(&self, on: &Canvas<'_, DB>) -> Result<(), Failed<DB>> {
        let mut at = LEFT;
        for series in self.series.iter().filter(|s| !s.name.is_empty()) {
            let kind = Type { em: EM, bold: false, align: Align::Left, colour: INK };
            match series.look {
                Look::Dots => on.dot((at + 10.0, 38.0), 4.0, series.colour)?,
                Look::Band | Look::Thin => {
                    on.line(&[(at, 38.0), (at + 20.0, 38.0)], 2.5, &series.colour)?;
                }
            }
            on.text(&series.name, (at + 26.0, 38.0), kind)?;
            at += 26.0 + on.text_width(&series.name, EM, false) + 22.0;
        }
        Ok(())
    }

    /// What must be in sight. A bar much longer than the values' own range does not squeeze them flat.
    fn range(&self) -> (f64, f64) {
        let dots = || self.series.iter().flat_map(|s| &s.dots);
        let fold = |f: fn(f64, f64) -> f64, start: f64, of: fn(&Dot) -> f64| dots().map(of).fold(start, f);
        let (mut low, mut high) =
            (fold(f64::min, f64::INFINITY, |d| d.value), fold(f64::max, f64::NEG_INFINITY, |d| d.value));
        let room = 1.2 * (high - low).max(f64::MIN_POSITIVE);
        low = fold(f64::min, f64::INFINITY, |d| d.low).max(low - room);
        high = fold(f64::max, f64::NEG_INFINITY, |d| d.high).min(high + room);
        if let Some((level, _)) = self.level {
            (low, high) = (low.min(level), high.max(level));
        }
        if self.from_nought {
            low = low.min(0.0);
        }
        if !(low.is_finite() && high.is_finite()) {
            return (0.0, 1.0);
        }
        let least = 1e-3 * (low.abs() + high.abs()).max(1e-3);
        if high - low < least { (low - least, high + least) } else { (low, high) }
    }
}

/// A light tint, on white.
fn pale(c: RGBColor) -> RGBColor {
    let mix = |v: u8| (f64::from(v) * 0.22 + 255.0 * 0.78).round() as u8;
    RGBColor(mix(c.0), mix(c.1), mix(c.2))
}

/// The next of 1, 2, 5 times a power of ten.
fn nice(step: f64) -> f64 {
    let power = 10f64.powf(step.max(1e-9).log10().floor());
    let first = [1.0, 2.0, 5.0].into_iter().find(|m| m * power >= step * 0.999);
    first.unwrap_or(10.0) * power
}

/// Month beginnings to label, at most seven, as days from the first and names.
fn months(first: Date, days: f64) -> Vec<(f64, String)> {
    let all = days / 30.4;
    let every = [1, 2, 3, 6, 12, 24, 60, 120].into_iter().find(|e| all / f64::from(*e) <= 7.0).unwrap_or(120);
    let mut out = Vec::new();
    let mut date = first.first_of_month();
    while let Ok(next) = date.checked_add(jiff::Span::new().months(1)) {
        date = next;
        let day = f64::from((date - first).get_days());
        if day > days {
            break;
        }
        let index = i32::from(date.year()) * 12 + i32::from(date.month()) - 1;
        if index % every == 0 {
            out.push((day, format!("{}-{:02}", date.year(), date.month())));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_months_fit() {
        for (step, round) in [(0.13, 0.2), (0.2, 0.2), (3.0, 5.0), (0.7, 1.0), (51.0, 100.0)] {
            assert!((nice(step) - round).abs() < 1e-12, "{step}");
        }
        let labels = months(jiff::civil::date(2025, 5, 28), 550.0);
        assert!((4..=7).contains(&labels.len()), "{labels:?}");
        assert_eq!(labels[0].1, "2025-07");
    }
}
