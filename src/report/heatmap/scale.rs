//! The one scale of colours that both maps share.
//!
//! Magma (S. van der Walt and N. Smith, 2015, perceptually uniform; from memory), pale for small and dark for large:
//! on white, more ink is read as more (the dark-is-more bias: Schloss et al., IEEE Trans. Vis. Comput. Graph. 25(1),
//! 2019; from memory). Lightness falls with every band, so a grey print and any eye keep the order, and the map of a
//! good machine costs little ink.

use crate::frame::Unit;
use crate::report::numbers::{Measure, amount, fixed};
use plotters::style::RGBColor;

/// Bands are at most so many.
const MOST_BANDS: f64 = 9.0;

/// Equal bands from 0 upwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Width of a band, mm.
    pub(super) step_mm: f64,
    /// Number of bands, at least 2.
    pub(super) bands: usize,
    /// Unit of what is printed.
    pub(super) unit: Unit,
}

impl Scale {
    /// A scale that reaches `largest_mm` in round steps of the unit.
    pub(super) fn reaching(largest_mm: f64, unit: Unit) -> Self {
        let largest = if largest_mm.is_finite() && largest_mm > 0.0 { unit.from_mm(largest_mm) } else { 1.0 };
        let step = round_up(largest / MOST_BANDS);
        let bands = ((largest / step).ceil() as usize).max(2);
        Self { step_mm: unit.to_mm(step), bands, unit }
    }

    /// The band of a size.
    pub(super) fn band(&self, size_mm: f64) -> usize {
        ((size_mm / self.step_mm).max(0.0) as usize).min(self.bands - 1)
    }

    /// The lower edge of a band, mm.
    pub(super) fn edge_mm(&self, band: usize) -> f64 {
        band as f64 * self.step_mm
    }

    /// The colour of a band.
    pub(super) fn colour(&self, band: usize) -> RGBColor {
        let t = band as f64 / (self.bands - 1) as f64;
        // The ends are left out: nearly white is lost on paper, and in black no outline shows.
        let c = colorous::MAGMA.eval_continuous((0.97 - 0.82 * t).clamp(0.0, 1.0));
        RGBColor(c.r, c.g, c.b)
    }

    /// An edge as printed under the bar.
    pub(super) fn tick(&self, band: usize) -> String {
        let step = self.unit.from_mm(self.step_mm);
        let places = (-step.log10()).ceil().max(0.0) as i32;
        if band == 0 { "0".to_owned() } else { fixed(step * band as f64, places) }
    }

    /// A size as printed at a hole: tenths of a mm or hundredths of an inch, ten times finer on a scale under
    /// 1 mm or 0.1 inch.
    pub(super) fn at_hole(&self, size_mm: f64) -> String {
        let Measure { one, places, .. } = Measure::length(self.unit);
        let coarse = self.edge_mm(self.bands) / one * 10f64.powi(places) >= 100.0 * (1.0 - 1e-9);
        let text = amount(size_mm / one, if coarse { places - 1 } else { places });
        // Inches under one are written without the nought, as on a drawing (ASME Y14.5).
        if self.unit == Unit::Inch { text.replacen("0.", ".", usize::from(size_mm < one)) } else { text }
    }
}

/// The next of 1, 2, 5, 10, 20... times a power of ten.
pub(super) fn round_up(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    [1.0, 2.0, 5.0]
        .into_iter()
        .map(|k| k * power)
        .find(|&k| k >= value * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

/// The last of 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 15... times a power of ten.
pub(super) fn round_down(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    let steps = [8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0];
    steps.into_iter().map(|k| k * power).find(|&k| k <= value * (1.0 + 1e-9)).unwrap_or(power)
}

/// Relative luminance (WCAG 2.x).
fn luminance(RGBColor(r, g, b): RGBColor) -> f64 {
    let linear = |c: u8| {
        let c = f64::from(c) / 255.0;
        if c <= 0.03928 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b)
}

/// Contrast ratio of two colours, 1 to 21 (WCAG 2.x).
pub(super) fn contrast(a: RGBColor, b: RGBColor) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// Black or white, whichever stands out better from the worst of these grounds.
pub(super) fn ink_on(grounds: &[RGBColor]) -> RGBColor {
    let worst = |ink| grounds.iter().map(|&g| contrast(ink, g)).fold(f64::INFINITY, f64::min);
    let (black, white) = (RGBColor(0, 0, 0), RGBColor(255, 255, 255));
    if worst(black) >= worst(white) { black } else { white }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrast_is_that_of_the_guideline() {
        // WCAG 2.x: black on white 21, blue on white 8.59, #767676 on white 4.54.
        let white = RGBColor(255, 255, 255);
        for (colour, ratio) in
            [(RGBColor(0, 0, 0), 21.0), (RGBColor(0, 0, 255), 8.592471), (RGBColor(118, 118, 118), 4.542225)]
        {
            assert!((contrast(colour, white) - ratio).abs() < 1e-5);
        }
    }

    #[test]
    fn every_label_is_legible_on_its_band_and_bands_darken_evenly() {
        for largest_mm in [0.013, 0.4, 0.9, 3.47, 17.0, 240.0] {
            for unit in [Unit::Mm, Unit::Inch] {
                let scale = Scale::reaching(largest_mm, unit);
                assert!(scale.edge_mm(scale.bands) >= largest_mm * (1.0 - 1e-9));
                assert!((2..=9).contains(&scale.bands), "{largest_mm} mm: {} bands", scale.bands);
                for band in 0..scale.bands {
                    let ground = scale.colour(band);
                    // 4.5: WCAG 2.x, text, level AA.
                    assert!(contrast(ink_on(&[ground]), ground) >= 4.5);
                    assert!(band == 0 || luminance(ground) < luminance(scale.colour(band - 1)));
                }
            }
        }
    }

    #[test]
    fn ticks_are_round_in_the_persons_unit() {
        let ticks = |s: Scale| (0..=s.bands).map(|k| s.tick(k)).collect::<Vec<_>>();
        assert_eq!(
            ticks(Scale::reaching(3.47, Unit::Mm)),
            ["0", "0.5", "1.0", "1.5", "2.0", "2.5", "3.0", "3.5"]
        );
        assert_eq!(ticks(Scale::reaching(3.47, Unit::Inch))[..3], ["0", "0.02", "0.04"]);
        assert_eq!(Scale::reaching(3.47, Unit::Mm).at_hole(0.03), "<0.1");
        assert_eq!(Scale::reaching(3.47, Unit::Inch).at_hole(0.03), "<.01");
        assert_eq!(Scale::reaching(30.0, Unit::Inch).at_hole(26.0), "1.02");
        assert_eq!(Scale::reaching(0.47, Unit::Mm).at_hole(0.03), "0.03");
    }
}
