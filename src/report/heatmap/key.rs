//! The key under the maps: the bar of colours, the arrows' scale, the limit.

use super::panel::{INK, RIM, TYPE_EM, WIDTH};
use super::scale::Scale;
use crate::frame::Unit;
use crate::report::drawing::canvas::{Align, Canvas, Failed, Type};
use crate::report::numbers::Measure;
use plotters::prelude::*;

/// Height of the key, units.
pub(super) const HEIGHT: f64 = 176.0;
/// Ends of the bar, units.
const BAR: (f64, f64) = (RIM, WIDTH - RIM);

/// What the key tells.
pub(super) struct Key {
    pub(super) scale: Scale,
    pub(super) limit_mm: f64,
    pub(super) exaggeration: f64,
}

impl Key {
    /// Draws the key.
    pub(super) fn draw<DB: DrawingBackend>(&self, on: &Canvas<'_, DB>) -> Result<(), Failed<DB>> {
        let mm = Measure::length(self.scale.unit);
        let kind = |align| Type { em: TYPE_EM, bold: false, align, colour: INK };
        let n = self.scale.bands as f64;
        let x = |edge: f64| BAR.0 + (BAR.1 - BAR.0) * edge / n;
        let (top, bottom) = (10.0, 44.0);
        for k in 0..self.scale.bands {
            let ends = (x(k as f64), x(k as f64 + 1.0));
            on.fill_rect((ends.0, top), (ends.1, bottom), self.scale.colour(k))?;
        }
        on.frame((BAR.0, bottom), (BAR.1, top), 1.5, INK)?;
        let last = self.scale.bands;
        for k in 0..=last {
            let at = x(k as f64);
            on.line(&[(at, bottom), (at, bottom + 7.0)], 1.5, &INK)?;
            let (label, align) = match k {
                0 => ("0".to_owned(), Align::Left),
                k if k == last => (self.scale.tick(k), Align::Right),
                _ => (self.scale.tick(k), Align::Middle),
            };
            let at = if k == 0 {
                BAR.0
            } else if k == last {
                BAR.1
            } else {
                at
            };
            on.text(&label, (at, bottom + 26.0), kind(align))?;
        }
        let limit_at = self.limit_mm / self.scale.step_mm;
        if limit_at < n {
            on.line(&[(x(limit_at), top - 6.0), (x(limit_at), bottom + 4.0)], 7.0, &WHITE)?;
            on.dashes(&[(x(limit_at), top - 6.0), (x(limit_at), bottom + 4.0)], 4.0, INK)?;
        }
        let y = 118.0;
        on.dashes(&[(BAR.0, y), (BAR.0 + 66.0, y)], 4.0, INK)?;
        on.text(&format!("limit {}", mm.size_unit(self.limit_mm)), (BAR.0 + 78.0, y), kind(Align::Left))?;
        let arrows = format!("arrows drawn {:.0} times too long", self.exaggeration);
        on.text(&arrows, (BAR.1, y), kind(Align::Right))?;
        let unit = match self.scale.unit {
            Unit::Mm => "mm",
            Unit::Inch => "inches",
        };
        let note = format!("error in {unit}, also beside each hole; seen from the front");
        on.text(&note, (BAR.0, y + 40.0), kind(Align::Left))
    }
}
