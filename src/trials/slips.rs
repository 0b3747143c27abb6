//! Slips planted in simulated readings: how many are found, what they are taken for, what is lost by them.

use super::Plan;
use crate::analysis::{Cut, NoAnswer, analyse};
use crate::frame::Unit;
use crate::pattern::{Hole, KEY};
use crate::readings::{Place, Reading};
use crate::screening::Slip;
use crate::simulation::{Disturbance, Simulated, cut_and_read, draw_machine};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// Kind of slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Planted {
    /// Two neighbouring digits of the reading changed places.
    DigitsSwapped,
    /// One whole centimetre too long or too short.
    WholeCm,
    /// One whole inch too long or too short, read in inches.
    WholeInch,
    /// The tape was started at its 100 mm mark, and that was not taken off.
    Burn,
    /// Read from inner rim to inner rim, or outer to outer, and noted as centre to centre.
    Rims,
    /// Read to a neighbour of one of the two holes.
    WrongHole,
}

impl Planted {
    /// All kinds.
    pub const ALL: [Self; 6] =
        [Self::DigitsSwapped, Self::WholeCm, Self::WholeInch, Self::Burn, Self::Rims, Self::WrongHole];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::DigitsSwapped => "two digits swapped",
            Self::WholeCm => "a whole centimetre off",
            Self::WholeInch => "a whole inch off (read in inches)",
            Self::Burn => "started at 100 mm, not taken off",
            Self::Rims => "inner or outer rims as centres",
            Self::WrongHole => "a neighbouring hole",
        }
    }

    /// Unit in which the cut is read.
    pub const fn unit(self) -> Unit {
        match self {
            Self::WholeInch => Unit::Inch,
            _ => Unit::Mm,
        }
    }
}

/// What became of the slips, and of the readings beside them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SlipShares {
    /// Cuts.
    pub cuts: usize,
    /// Slips planted.
    pub planted: usize,
    /// Of those, set aside.
    pub found: usize,
    /// Of those, named: the hint says the slip, and the reading or pair that was meant.
    pub named: usize,
    /// Of those found, without any hint.
    pub silent: usize,
    /// Planted slips that change the reading by over five of its standard uncertainties, scatter of the holes included.
    pub plain: usize,
    /// Of those, set aside.
    pub plain_found: usize,
    /// Good readings.
    pub good: usize,
    /// Of those, set aside.
    pub good_lost: usize,
    /// Cuts that lost a good reading.
    pub cuts_losing: usize,
}

impl SlipShares {
    fn and(self, o: Self) -> Self {
        Self {
            cuts: self.cuts + o.cuts,
            planted: self.planted + o.planted,
            found: self.found + o.found,
            named: self.named + o.named,
            silent: self.silent + o.silent,
            plain: self.plain + o.plain,
            plain_found: self.plain_found + o.plain_found,
            good: self.good + o.good,
            good_lost: self.good_lost + o.good_lost,
            cuts_losing: self.cuts_losing + o.cuts_losing,
        }
    }
}

/// Plants `per_cut` slips of a kind in each of the cuts `first..first + count`, and sees what the analysis makes of them.
///
/// # Errors
/// When one of the drawn machines cannot cut the pattern.
pub fn slips(
    plan: &Plan<'_>,
    kind: Planted,
    per_cut: usize,
    first: u64,
    count: u64,
) -> Result<SlipShares, NoAnswer> {
    (first..first + count)
        .into_par_iter()
        .map(|k| one(plan, kind, per_cut, k))
        .try_reduce(SlipShares::default, |a, b| Ok(a.and(b)))
}

fn one(plan: &Plan<'_>, kind: Planted, per_cut: usize, k: u64) -> Result<SlipShares, NoAnswer> {
    let mut setup = plan.setup.clone();
    setup.unit = kind.unit();
    let holes = plan.pattern.holes();
    let disturbance = Disturbance { noise: true, rounding_mm: plan.rounding_mm, seed: 2 * k + 1 };
    let mut simulated =
        cut_and_read(&setup, draw_machine(&setup, 2 * k), &holes, plan.distances, &disturbance)
            .map_err(|e| NoAnswer::Impossible(e.to_string()))?;
    // A stream of its own, apart from those of machine and noise.
    let mut rng = Pcg64Mcg::seed_from_u64(k ^ 0x5eed_0000_0000_0000);
    let mut planted: Vec<(usize, Vec<String>, bool)> = Vec::new();
    // Some slips cannot be made in some readings: two equal digits cannot be swapped.
    for _ in 0..100 {
        if planted.len() == per_cut {
            break;
        }
        let i = rng.random_range(0..simulated.readings.len());
        let taken = planted.iter().any(|(line, ..)| *line == simulated.readings[i].line);
        let between_holes = matches!(
            (simulated.readings[i].from, simulated.readings[i].to),
            (Place::Hole(_), Place::Hole(_))
        );
        if taken || !between_holes {
            continue;
        }
        let Some((read_mm, names)) = spoilt(plan, kind, &holes, &simulated, i, &mut rng) else { continue };
        let reading = &mut simulated.readings[i];
        let own = setup.instruments[reading.instrument].random_u_mm(read_mm);
        let u_mm = own.hypot(2.0_f64.sqrt() * setup.hole_scatter_mm);
        let plain = (read_mm - reading.as_read_mm).abs() > 5.0 * u_mm;
        (reading.as_read_mm, reading.distance_mm) = (read_mm, read_mm);
        planted.push((reading.line, names, plain));
    }
    let cut =
        Cut { id: "trial", setup: &setup, pattern: plan.pattern, readings: &simulated.readings, blank: 0 };
    let analysis = analyse(&cut)?;
    let mut shares = SlipShares { cuts: 1, planted: planted.len(), ..SlipShares::default() };
    for (line, names, plain) in &planted {
        let found = analysis.set_aside.iter().find(|r| r.line == *line);
        shares.plain += usize::from(*plain);
        shares.plain_found += usize::from(*plain && found.is_some());
        if let Some(reading) = found {
            shares.found += 1;
            shares.named += usize::from(names.iter().any(|name| reading.hint.contains(name)));
            shares.silent += usize::from(reading.hint.is_empty());
        }
    }
    shares.good = simulated.readings.len() - planted.len();
    shares.good_lost = analysis.set_aside.len() - shares.found;
    shares.cuts_losing = usize::from(shares.good_lost > 0);
    Ok(shares)
}

/// A reading with a slip in it, mm, and the hints that name it rightly.
fn spoilt(
    plan: &Plan<'_>,
    kind: Planted,
    holes: &[Hole],
    simulated: &Simulated,
    i: usize,
    rng: &mut Pcg64Mcg,
) -> Option<(f64, Vec<String>)> {
    let reading = &simulated.readings[i];
    let read = reading.as_read_mm;
    let sign = if rng.random::<bool>() { 1 } else { -1 };
    let words = |slips: &[Slip]| slips.iter().map(|s| s.words(kind.unit())).collect::<Vec<_>>();
    let whole = |size: f64, of: &'static str| {
        let mark = "the 1 inch mark";
        // A whole inch too long and an inch burnt are the same number: either name is right.
        let mut names = vec![Slip::WholeUnits { count: sign, of }];
        names.extend((of == "inch" && sign > 0).then_some(Slip::BurnForgotten { mark }));
        (read + f64::from(sign) * size, words(&names))
    };
    match kind {
        Planted::WholeCm => Some(whole(10.0, "cm")),
        Planted::WholeInch => Some(whole(25.4, "inch")),
        Planted::Burn => {
            let mark = "the 100 mm mark";
            let whole = Slip::WholeUnits { count: 1, of: "100 mm" };
            Some((read + 100.0, words(&[Slip::BurnForgotten { mark }, whole])))
        }
        Planted::Rims => {
            let inner = "from inner rim to inner rim";
            let read_as = if sign < 0 { inner } else { "from outer rim to outer rim" };
            let spoilt = read + f64::from(sign) * plan.pattern.hole_diameter_mm;
            Some((spoilt, words(&[Slip::Rims { read: read_as }])))
        }
        Planted::DigitsSwapped => {
            let spoilt = with_digits_swapped(read, rng)?;
            Some((spoilt, words(&[Slip::DigitsSwapped { meant_mm: read }])))
        }
        Planted::WrongHole => wrong_hole(plan, holes, simulated, reading, rng),
    }
}

/// A reading in mm with two unlike neighbouring digits exchanged, as it would be written down.
fn with_digits_swapped(read_mm: f64, rng: &mut Pcg64Mcg) -> Option<f64> {
    let whole = (read_mm - read_mm.round()).abs() < 1e-6;
    let text = if whole { format!("{read_mm:.0}") } else { format!("{read_mm:.1}") };
    let digits: Vec<u8> = text.bytes().filter(u8::is_ascii_digit).collect();
    let k = rng.random_range(1..digits.len());
    // A reading does not begin with a nought.
    if digits[k] == digits[k - 1] || (k == 1 && digits[k] == b'0') {
        return None;
    }
    let mut swapped = digits;
    swapped.swap(k - 1, k);
    let number: f64 = String::from_utf8(swapped).ok()?.parse().ok()?;
    Some(if whole { number } else { number / 10.0 })
}

/// The reading to a neighbour of one end, and the names of that pair.
fn wrong_hole(
    plan: &Plan<'_>,
    holes: &[Hole],
    simulated: &Simulated,
    reading: &Reading,
    rng: &mut Pcg64Mcg,
) -> Option<(f64, Vec<String>)> {
    let (Place::Hole(i), Place::Hole(j)) = (reading.from, reading.to) else { return None };
    let (kept, left) = if rng.random::<bool>() { (i, j) } else { (j, i) };
    if holes[left].id == KEY {
        return None;
    }
    let (columns, rows) = (plan.pattern.columns as i64, plan.pattern.rows as i64);
    let step = |rng: &mut Pcg64Mcg| rng.random_range(-1..=1_i64);
    let (column, row) = (left as i64 % columns + step(rng), left as i64 / columns + step(rng));
    if !(0..columns).contains(&column) || !(0..rows).contains(&row) {
        return None;
    }
    let taken = (row * columns + column) as usize;
    if taken == kept || taken == left {
        return None;
    }
    let distance = |a: usize, b: usize| simulated.places[a].distance_mm(simulated.places[b]);
    let step_mm = if plan.rounding_mm > 0.0 { plan.rounding_mm } else { 1e-9 };
    let moved = distance(kept, taken) - distance(kept, left);
    let read = reading.as_read_mm + (moved / step_mm).round() * step_mm;
    // The hint may name a pair that fits as well beside it.
    let pair = |a: usize, b: usize| format!("{} to {}", holes[a].id, holes[b].id);
    Some((read, vec![pair(kept, taken), pair(taken, kept)]))
}
