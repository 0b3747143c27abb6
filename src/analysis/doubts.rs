//! Readings against the fit, the likeliest slips, and the sheet read from behind.

use super::analyse::Cut;
use crate::adjustment::{Ends, Fitted, Model};
use crate::pattern::Hole;
use crate::readings::Place;
use crate::record::ReadingResult;
use crate::screening::{Screened, SlipContext, likeliest, mirrored};

/// How much lower chi-square must be for a mirrored reading of the sheet to be believed: odds of about 1 to 20 000.
const MIRROR_GAIN: f64 = 20.0;

/// Every reading against the fit: those that took part, and those set aside in the order they were.
pub fn reading_results(
    cut: &Cut<'_>,
    holes: &[Hole],
    screened: &Screened,
) -> (Vec<ReadingResult>, Vec<ReadingResult>) {
    let name = |place: Place| match place {
        Place::Hole(i) => holes[i].id.clone(),
        Place::Edge(edge) => edge.name().to_owned(),
    };
    let result = |k: usize, hint: String| {
        let (reading, prediction) = (&cut.readings[k], &screened.fitted.readings[k]);
        ReadingResult {
            line: reading.line,
            from: name(reading.from),
            to: name(reading.to),
            instrument: cut.setup.instruments[reading.instrument].name.clone(),
            reading_mm: reading.distance_mm,
            expected_mm: prediction.distance_mm,
            u_mm: screened.model.observations[k].u_mm,
            w: prediction.w,
            redundancy: prediction.redundancy,
            hint,
        }
    };
    let used = (0..cut.readings.len())
        .filter(|k| screened.model.weights[*k] > 0.0)
        .map(|k| result(k, String::new()))
        .collect();
    let set_aside = screened.set_aside.iter().map(|&k| result(k, hint(cut, holes, screened, k))).collect();
    (used, set_aside)
}

/// The likeliest slip behind a reading set aside, in words; empty when none stands out.
fn hint(cut: &Cut<'_>, holes: &[Hole], screened: &Screened, k: usize) -> String {
    let fitted = &screened.fitted;
    let (reading, prediction) = (&cut.readings[k], &fitted.readings[k]);
    let context = SlipContext::of(cut.setup.unit, cut.pattern, holes, reading, prediction, &fitted.places);
    likeliest(&context).map(|slip| slip.words(cut.setup.unit)).unwrap_or_default()
}

/// Would the readings fit far better if left and right had been swapped while reading? The odd hole stays where it
/// is; the rest of the grid is mirrored.
pub fn read_from_behind(cut: &Cut<'_>, holes: &[Hole], model: &Model, chi_square: f64) -> bool {
    if !cut.pattern.key {
        return false;
    }
    let mirror = |i: usize| mirrored(cut.pattern, holes, i);
    let mut seen = model.clone();
    for o in &mut seen.observations {
        o.ends = match o.ends {
            Ends::Holes(i, j) => Ends::Holes(mirror(i), mirror(j)),
            Ends::Edge(edge, i) => Ends::Edge(edge, mirror(i)),
        };
    }
    Fitted::of(&seen, &model.start()).is_ok_and(|f| f.chi_square < chi_square - MIRROR_GAIN)
}
