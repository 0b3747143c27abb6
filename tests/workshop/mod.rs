//! What several tests work with: the usual pattern and the usual ways of reading it.
#![allow(dead_code, reason = "each test takes what it needs")]

use tautgrid::frame::{Edge, Point};
use tautgrid::pattern::{Hole, Pattern};
use tautgrid::planner::{Planned, Request, plan};
use tautgrid::readings::{How, Place, Reading};
use tautgrid::setup::Setup;

/// Seven by five holes over a full sheet, with the odd one.
pub fn pattern() -> Pattern {
    Pattern {
        columns: 7,
        rows: 5,
        width_mm: 2300.0,
        height_mm: 1050.0,
        centre: Point::default(),
        hole_diameter_mm: 6.0,
        key: true,
    }
}

/// Every pair of holes, read with the first instrument.
pub fn all_pairs(holes: &[Hole]) -> Vec<Planned> {
    (0..holes.len())
        .flat_map(|i| (i + 1..holes.len()).map(move |j| (i, j)))
        .map(|(i, j)| Planned {
            from: Place::Hole(i),
            to: Place::Hole(j),
            instrument: 0,
            length_mm: holes[i].target.distance_mm(holes[j].target),
        })
        .collect()
}

/// The distances, and the corners of the grid to all edges near them.
pub fn with_edges(setup: &Setup, holes: &[Hole], mut distances: Vec<Planned>) -> Vec<Planned> {
    for (edge, ids) in [
        (Edge::Left, ["A1", "A5"]),
        (Edge::Right, ["G1", "G5"]),
        (Edge::Top, ["A5", "G5"]),
        (Edge::Bottom, ["A1", "G1"]),
    ] {
        for id in ids {
            let hole = holes.iter().position(|h| h.id == id).unwrap();
            distances.push(Planned {
                from: Place::Edge(edge),
                to: Place::Hole(hole),
                instrument: 0,
                length_mm: setup.sheet.from_edge_mm(edge, holes[hole].target),
            });
        }
    }
    distances
}

/// The 24 distances that the planner chooses.
pub fn planned_24(setup: &Setup) -> Vec<Planned> {
    plan(setup, &pattern().holes(), &Request::default()).unwrap().distances
}

/// A distance between holes as a perfect tape reads it, for holes at these places.
pub fn reading(planned: &Planned, place: impl Fn(usize) -> Point) -> Reading {
    let (Place::Hole(i), Place::Hole(j)) = (planned.from, planned.to) else { panic!("two holes") };
    let distance_mm = place(i).distance_mm(place(j));
    Reading {
        line: 2,
        from: planned.from,
        to: planned.to,
        as_read_mm: distance_mm,
        start_mm: 0.0,
        thermal_mm_per_m: 0.0,
        how: How::Centre,
        distance_mm,
        instrument: planned.instrument,
        note: String::new(),
    }
}
