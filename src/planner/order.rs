//! The order in which to take distances: little walking, one end of the tape left where it is.

use super::Planned;
use crate::frame::Point;
use crate::pattern::Hole;
use crate::readings::Place;

/// Orders distances so that those which share a hole follow each other and the next shared hole is near.
///
/// The busiest hole left is the first end of its distances; within it, the other ends go round by angle.
pub fn walking_order(holes: &[Hole], mut left: Vec<Planned>) -> Vec<Planned> {
    let place = |p: Place| match p {
        Place::Hole(i) => holes[i].target,
        // Distances to an edge come first, by themselves: they need no second hole.
        Place::Edge(_) => Point::default(),
    };
    let (mut ordered, holes_only): (Vec<Planned>, Vec<Planned>) =
        left.drain(..).partition(|p| matches!(p.from, Place::Edge(_)) || matches!(p.to, Place::Edge(_)));
    let mut left = holes_only;
    let mut here = holes.first().map_or(Point::default(), |h| h.target);
    while !left.is_empty() {
        let uses = |end: Place| left.iter().filter(|p| p.from == end || p.to == end).count();
        let anchor = left
            .iter()
            .flat_map(|p| [p.from, p.to])
            .max_by(|&a, &b| {
                let far = |e: Place| -place(e).distance_mm(here);
                uses(a).cmp(&uses(b)).then(far(a).total_cmp(&far(b)))
            })
            .unwrap_or(Place::Hole(0));
        let (mut group, rest): (Vec<Planned>, Vec<Planned>) =
            left.into_iter().partition(|p| p.from == anchor || p.to == anchor);
        for p in &mut group {
            if p.to == anchor {
                (p.from, p.to) = (p.to, p.from);
            }
        }
        let angle = |p: &Planned| {
            let d = place(p.to) - place(anchor);
            d.y_mm.atan2(d.x_mm)
        };
        group.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
        here = place(anchor);
        ordered.append(&mut group);
        left = rest;
    }
    ordered
}

/// The same distances for a second pass: from the other end of the tape and in another order, so that nobody remembers
/// what was read the first time. The holes at which the tape now starts come column by column from the left.
pub fn second_pass(holes: &[Hole], first: &[Planned]) -> Vec<Planned> {
    let turned = |p: &Planned| match p.from {
        Place::Edge(_) => *p,
        Place::Hole(_) => Planned { from: p.to, to: p.from, ..*p },
    };
    let mut second: Vec<Planned> = first.iter().map(turned).collect();
    let key = |p: &Planned| match (p.from, p.to) {
        (Place::Hole(i), _) => (false, holes[i].target.x_mm, holes[i].target.y_mm),
        // the edges, first before, are last now
        (Place::Edge(_), Place::Hole(i)) => (true, -holes[i].target.x_mm, -holes[i].target.y_mm),
        (Place::Edge(_), Place::Edge(_)) => (true, 0.0, 0.0),
    };
    second.sort_by(|a, b| {
        let ((ea, xa, ya), (eb, xb, yb)) = (key(a), key(b));
        ea.cmp(&eb).then(xa.total_cmp(&xb)).then(ya.total_cmp(&yb))
    });
    second
}
