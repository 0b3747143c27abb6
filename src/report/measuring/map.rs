//! The holes and the distances between them, drawn as seen from the front.

use super::Measuring;
use crate::frame::{Edge, Point};
use crate::pattern::KEY;
use crate::planner::Planned;
use crate::readings::Place;
use maud::{Markup, html};

/// Room for words beside and above the sheet, mm of paper.
const BESIDE: f64 = 6.0;
const ABOVE: f64 = 7.0;
const BELOW: f64 = 1.0;
/// Places along a line where its number may stand, the middle first.
const ALONG: [f64; 13] = [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.2, 0.8, 0.15, 0.85, 0.1, 0.9];
/// A number needs so much room to other numbers, holes with their names, and other lines, mm of paper.
const TO_NUMBERS: f64 = 4.2;
const TO_HOLES: f64 = 3.4;
const TO_LINES: f64 = 1.7;

/// The map of one pass, so many mm of paper wide; its first line has this number.
pub(super) fn map(m: &Measuring<'_>, pass: &[Planned], first: usize, width: f64) -> Markup {
    let scale = (width - 2.0 * BESIDE) / m.sheet.width_mm;
    let (wide, high) = (m.sheet.width_mm * scale, m.sheet.height_mm * scale);
    let place = |p: Point| {
        Point::new(
            BESIDE + (p.x_mm + m.sheet.width_mm / 2.0) * scale,
            ABOVE + (m.sheet.height_mm / 2.0 - p.y_mm) * scale,
        )
    };
    let holes: Vec<Point> = m.holes.iter().map(|h| place(h.target)).collect();
    let lines: Vec<[Point; 2]> = pass.iter().map(|p| ends(m, p).map(place)).collect();
    let numbers = numbers(&lines, &holes);
    let used = |i: usize| pass.iter().any(|p| p.from == Place::Hole(i) || p.to == Place::Hole(i));
    let middle = BESIDE + wide / 2.0;
    let (tall, side) = (ABOVE + high + BELOW, ABOVE + high / 2.0);
    html! {
        svg.map.small[width < 120.0] viewBox=(format!("0 0 {width:.1} {tall:.1}")) role="img" aria-label="Map of the holes, seen from the front" {
            g.words {
                text x=(num(middle)) y="4.6" { "TOP" }
                path d=(format!("M{} 5V1.2m-1.4 1.8 1.4-1.8 1.4 1.8", num(middle - 6.0))) {}
                path d=(format!("M{} 5V1.2m-1.4 1.8 1.4-1.8 1.4 1.8", num(middle + 6.0))) {}
                text transform=(format!("translate(4.2 {}) rotate(-90)", num(side))) { "LEFT" }
                text transform=(format!("translate({} {}) rotate(90)", num(width - 4.2), num(side))) { "RIGHT" }
            }
            text.seen x=(num(BESIDE)) y="5.2" { "seen from the FRONT" }
            text.seen.end x=(num(width - BESIDE)) y="5.2" { "not to scale" }
            rect.wood x=(num(BESIDE)) y=(num(ABOVE)) width=(num(wide)) height=(num(high)) {}
            g.lines {
                @for [a, b] in &lines {
                    line x1=(num(a.x_mm)) y1=(num(a.y_mm)) x2=(num(b.x_mm)) y2=(num(b.y_mm)) {}
                }
            }
            g.holes {
                @for (i, at) in holes.iter().enumerate() {
                    circle cx=(num(at.x_mm)) cy=(num(at.y_mm)) r=(if used(i) { "0.9" } else { "0.5" }) {}
                    @if m.holes[i].id == KEY { circle.ring cx=(num(at.x_mm)) cy=(num(at.y_mm)) r="1.7" {} }
                }
            }
            g.names {
                @for (i, at) in holes.iter().enumerate() {
                    @if used(i) || m.holes.len() <= 60 || m.holes[i].id == KEY {
                        text x=(num(at.x_mm + 1.1)) y=(num(at.y_mm - 1.2)) { (m.holes[i].id) }
                    }
                }
            }
            g.numbers {
                @for (k, at) in numbers.iter().enumerate() {
                    text x=(num(at.x_mm)) y=(num(at.y_mm + 0.95)) { (first + k) }
                }
            }
        }
    }
}

/// Where a distance begins and ends on the sheet; at an edge, the foot of the perpendicular.
fn ends(m: &Measuring<'_>, planned: &Planned) -> [Point; 2] {
    let hole = |place: Place| match place {
        Place::Hole(i) => Some(m.holes[i].target),
        Place::Edge(_) => None,
    };
    let foot = |edge: Edge, p: Point| {
        let away = m.sheet.from_edge_mm(edge, p);
        match edge {
            Edge::Left => p + Point::new(-away, 0.0),
            Edge::Right => p + Point::new(away, 0.0),
            Edge::Bottom => p + Point::new(0.0, -away),
            Edge::Top => p + Point::new(0.0, away),
        }
    };
    let other = hole(planned.from).or(hole(planned.to)).unwrap_or_default();
    [planned.from, planned.to].map(|place| match place {
        Place::Hole(i) => m.holes[i].target,
        Place::Edge(edge) => foot(edge, other),
    })
}

/// A place for the number of each line: on it, clear of other numbers, holes and lines as far as there is room.
fn numbers(lines: &[[Point; 2]], holes: &[Point]) -> Vec<Point> {
    let mut placed: Vec<Point> = Vec::new();
    for (k, &[a, b]) in lines.iter().enumerate() {
        let worth = |at: Point| {
            let nearest = |points: &[Point], room: f64| {
                points.iter().map(|p| p.distance_mm(at) / room).fold(1.0, f64::min)
            };
            let names = holes.iter().map(|h| (*h + Point::new(2.4, -2.0)).distance_mm(at) / TO_HOLES);
            let others = (lines.iter().enumerate())
                .filter(|(j, _)| *j != k)
                .map(|(_, line)| to_line(at, *line) / TO_LINES)
                .fold(1.0, f64::min);
            nearest(&placed, TO_NUMBERS)
                .min(nearest(holes, TO_HOLES))
                .min(others)
                .min(names.fold(1.0, f64::min))
        };
        let mut best = (f64::NEG_INFINITY, a);
        for t in ALONG {
            let at = a + (b - a) * t;
            if worth(at) > best.0 + 1e-9 {
                best = (worth(at), at);
            }
        }
        placed.push(best.1);
    }
    placed
}

/// Distance of a point from a line between two points.
fn to_line(p: Point, [a, b]: [Point; 2]) -> f64 {
    let along = b - a;
    let length = along.norm_mm();
    if length <= 0.0 {
        return p.distance_mm(a);
    }
    let t = ((p - a).x_mm * along.x_mm + (p - a).y_mm * along.y_mm) / length.powi(2);
    p.distance_mm(a + along * t.clamp(0.0, 1.0))
}

fn num(value: f64) -> String {
    format!("{value:.2}")
}
