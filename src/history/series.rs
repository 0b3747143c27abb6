//! Control charts of what a person can see with a tape: scale x, scale y, skew, and the scatter of the holes.

use super::{Discord, Entry, Mark, Wear};
use crate::charts::{Chart, Point, chart};
use crate::events::Kind;
use crate::record::Estimate;

/// A quantity that is charted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tracked {
    /// Too wide, mm/m.
    ScaleX,
    /// Too tall, mm/m.
    ScaleY,
    /// Departure from square, mm/m.
    Skew,
    /// Scatter of the holes, mm per axis.
    HoleScatter,
}

impl Tracked {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::ScaleX, Self::ScaleY, Self::Skew, Self::HoleScatter];

    /// Its value in a cut.
    pub fn of(self, entry: &Entry) -> Option<Estimate> {
        match self {
            Self::ScaleX => Some(entry.scale_x),
            Self::ScaleY => Some(entry.scale_y),
            Self::Skew => Some(entry.skew),
            Self::HoleScatter => entry.hole_scatter,
        }
    }
}

/// A chart, and which cuts its points are.
#[derive(Debug, Clone, PartialEq)]
pub struct Charted {
    /// What is charted.
    pub what: Tracked,
    /// Places of the cuts that its points are.
    pub places: Vec<usize>,
    /// The chart.
    pub chart: Chart,
}

/// The charts of all cuts. Series are cut where something was done that changes what is cut (a note is not), and around a
/// cut that is known to stand out.
pub(super) fn charts(entries: &[Entry], marks: &[Mark], wear: Option<&Wear>) -> Vec<Charted> {
    let charted = |what: Tracked| {
        let seen: Vec<(usize, Point)> = entries
            .iter()
            .enumerate()
            .filter_map(|(k, e)| what.of(e).map(|v| (k, Point { value: v.value, u: v.u })))
            .filter(|(_, p)| p.u > 0.0)
            .collect();
        let breaks = |kind: Kind| match what {
            Tracked::HoleScatter => matches!(kind, Kind::Chain | Kind::Carriage | Kind::Moved),
            Tracked::ScaleX | Tracked::ScaleY | Tracked::Skew => kind != Kind::Note,
        };
        let mut breaks: Vec<usize> = marks.iter().filter(|m| breaks(m.kind)).map(|m| m.before).collect();
        for (k, at) in wear.iter().flat_map(|w| w.at.iter().enumerate()) {
            match at.discord {
                Some(Discord::Alone) => breaks.extend([k, k + 1]),
                Some(Discord::Changed) => breaks.push(k),
                Some(Discord::Undecided) | None => {}
            }
        }
        breaks.sort_unstable();
        let cuts: Vec<usize> =
            breaks.into_iter().map(|b| seen.iter().take_while(|(k, _)| *k < b).count()).collect();
        let mut seen = seen;
        if what == Tracked::HoleScatter {
            // Its uncertainty goes with its size, and a small one must not count for more.
            let mean = seen.iter().map(|s| s.1.value).sum::<f64>() / seen.len().max(1) as f64;
            for (_, p) in &mut seen {
                p.u *= mean / p.value.max(f64::MIN_POSITIVE);
            }
        }
        let (places, points): (Vec<usize>, Vec<Point>) = seen.into_iter().unzip();
        (!points.is_empty()).then(|| Charted { what, places, chart: chart(&points, &cuts) })
    };
    Tracked::ALL.into_iter().filter_map(charted).collect()
}
