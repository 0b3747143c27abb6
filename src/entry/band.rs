//! A coarse band in which a reading should lie: it shows a wrong hole, and nothing finer.

use crate::frame::Unit;

/// Between two round numbers, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lower end, mm.
    pub low_mm: f64,
    /// Upper end, mm.
    pub high_mm: f64,
}

/// Least room on either side of the length, as a share of the band's step.
const ROOM: f64 = 0.3;

impl Band {
    /// The band about a length on a tape started at a mark, both in mm: round 100 mm or 4 inches, a fifth of that for
    /// lengths that a caliper reads.
    pub fn about(length_mm: f64, start_mm: f64, unit: Unit) -> Self {
        let coarse_mm = match unit {
            Unit::Mm => 100.0,
            Unit::Inch => 4.0 * Unit::Inch.mm(),
        };
        let step_mm = if length_mm < 1.5 * coarse_mm { coarse_mm / 5.0 } else { coarse_mm };
        let read_mm = length_mm + start_mm;
        let low = ((read_mm / step_mm) - ROOM).floor().max(0.0);
        let high = ((read_mm / step_mm) + ROOM).ceil();
        Self { low_mm: low * step_mm, high_mm: high * step_mm }
    }

    /// Does it hold a reading?
    pub fn holds(&self, as_read_mm: f64) -> bool {
        (self.low_mm..=self.high_mm).contains(&as_read_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_band_is_round_wide_and_holds_its_length() {
        for unit in [Unit::Mm, Unit::Inch] {
            for k in 1..3000 {
                let length_mm = f64::from(k);
                let band = Band::about(length_mm, 0.0, unit);
                assert!(band.holds(length_mm + 4.0) || length_mm < 100.0, "{length_mm}: {band:?}");
                assert!(band.holds(length_mm));
                let wide = unit.from_mm(band.high_mm - band.low_mm);
                let steps = if unit == Unit::Mm { 20.0 } else { 0.8 };
                assert!(wide >= steps * 0.999 && (wide / steps - (wide / steps).round()).abs() < 1e-9);
            }
        }
        let band = Band::about(1463.0, 100.0, Unit::Mm);
        assert_eq!((band.low_mm, band.high_mm), (1500.0, 1600.0));
    }
}
