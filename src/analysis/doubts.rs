//! Readings against the fit, the likeliest slips, and the sheet read from behind.

use super::analyse::Cut;
use super::notices::{DISAGREE, p_value};
use crate::adjustment::{Ends, Model};
use crate::pattern::{Hole, KEY};
use crate::readings::Place;
use crate::record::ReadingResult;
use crate::screening::{ALPHA, Screened, SlipContext, criterion_at_start, likeliest, mirrored};

/// How much lower the criterion of the screening must be for a mirrored reading of the sheet to be believed: odds of
/// about 50, on top of the price of each reading that need not be set aside then.
const MIRROR_GAIN: f64 = 8.0;

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
/// is; the rest of the grid is mirrored. Looked into only when the readings disagree or one from the odd hole had to
/// be set aside.
pub fn read_from_behind(cut: &Cut<'_>, holes: &[Hole], model: &Model, screened: &Screened) -> bool {
    let Some(key) = holes.iter().position(|h| h.id == KEY) else { return false };
    let of_key = |&k: &usize| match screened.model.observations[k].ends {
        Ends::Holes(i, j) => i == key || j == key,
        Ends::Edge(_, i) => i == key,
    };
    let disagree = p_value(&screened.fitted).is_some_and(|p| p < DISAGREE);
    if !disagree && !screened.set_aside.iter().any(of_key) {
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
    criterion_at_start(&seen, ALPHA).is_ok_and(|other| other < screened.criterion() - MIRROR_GAIN)
}
