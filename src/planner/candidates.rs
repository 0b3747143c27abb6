//! The distances that could be taken, each with its instrument.

use super::{Planned, Request};
use crate::frame::{Edge, Point};
use crate::pattern::{Hole, KEY};
use crate::readings::{How, Place, Reading};
use crate::setup::{InstrumentKind, Setup};

/// What an instrument must reach beyond the distance as planned, mm: several expected errors of a careful set-up and
/// the outer rims of two holes.
const SPARE_MM: f64 = 15.0;

/// All pairs of holes that one person can measure, each with the finest instrument that reaches.
pub(super) fn pairs(setup: &Setup, holes: &[Hole], request: &Request) -> Vec<Planned> {
    (0..holes.len())
        .flat_map(|i| (i + 1..holes.len()).map(move |j| (i, j)))
        .filter_map(|(i, j)| {
            let length_mm = holes[i].target.distance_mm(holes[j].target);
            let instrument = instrument_for(setup, length_mm)?;
            (length_mm <= request.longest_mm).then_some(Planned {
                from: Place::Hole(i),
                to: Place::Hole(j),
                instrument,
                length_mm,
            })
        })
        .collect()
}

/// A caliper where it reaches with room to spare, else the first instrument that does: nobody knows yet how long the
/// distance came out.
fn instrument_for(setup: &Setup, length_mm: f64) -> Option<usize> {
    let reaches = |k: &usize| setup.instruments[*k].range_mm >= length_mm + SPARE_MM;
    let all = 0..setup.instruments.len();
    all.clone()
        .filter(reaches)
        .find(|&k| setup.instruments[k].kind == InstrumentKind::Caliper)
        .or_else(|| all.clone().find(reaches))
}

/// Two holes to the left edge and two to the bottom edge, as far apart as they come.
pub(super) fn edge_distances(setup: &Setup, holes: &[Hole]) -> Vec<Planned> {
    let grid: Vec<usize> = (0..holes.len()).filter(|&i| holes[i].id != KEY).collect();
    let extreme = |score: fn(Point) -> f64| {
        grid.iter().copied().max_by(|&a, &b| score(holes[a].target).total_cmp(&score(holes[b].target)))
    };
    let lower_left = extreme(|p| -p.x_mm - p.y_mm);
    let upper_left = extreme(|p| -p.x_mm + p.y_mm);
    let lower_right = extreme(|p| p.x_mm - p.y_mm);
    [
        (Edge::Left, lower_left),
        (Edge::Left, upper_left),
        (Edge::Bottom, lower_left),
        (Edge::Bottom, lower_right),
    ]
    .into_iter()
    .filter_map(|(edge, hole)| {
        let hole = hole?;
        let length_mm = setup.sheet.from_edge_mm(edge, holes[hole].target);
        let instrument = instrument_for(setup, length_mm)?;
        Some(Planned { from: Place::Edge(edge), to: Place::Hole(hole), instrument, length_mm })
    })
    .collect()
}

/// A distance as if it had been read, for the rows of the adjustment.
pub(super) fn as_reading(planned: &Planned) -> Reading {
    Reading {
        line: 0,
        from: planned.from,
        to: planned.to,
        as_read_mm: planned.length_mm,
        start_mm: 0.0,
        thermal_mm_per_m: 0.0,
        how: How::Centre,
        distance_mm: planned.length_mm,
        instrument: planned.instrument,
        note: String::new(),
    }
}
