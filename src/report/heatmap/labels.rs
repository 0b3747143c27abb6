//! Where the labels of the holes go: under or over their hole, clear of each other and of the arrows.

use crate::report::drawing::path::Xy;

/// A label's middle is this far from its hole, units.
const DROP: f64 = 23.5;
/// Half the height of its capitals with a little air, units.
const HALF_HEIGHT: f64 = 11.0;
/// Air beside it, units.
const AIR: f64 = 7.0;

/// What a hole would like to show.
pub(super) struct Wish {
    /// The hole.
    pub(super) at: Xy,
    /// Width of its id with the space after it.
    pub(super) id_width: f64,
    /// Width of its value.
    pub(super) value_width: f64,
    /// Keeps its id even where there is no room for all of them.
    pub(super) landmark: bool,
}

/// What it gets to show, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Label {
    /// Which wish.
    pub(super) wish: usize,
    /// Left end, middle of the height.
    pub(super) start: Xy,
    /// Is the id shown?
    pub(super) id: bool,
    /// Is the value shown?
    pub(super) value: bool,
    /// Whole width.
    pub(super) width: f64,
}

impl Label {
    fn overlaps(&self, other: &Self) -> bool {
        let apart_x = self.start.0 + self.width + AIR < other.start.0
            || other.start.0 + other.width + AIR < self.start.0;
        !apart_x && (self.start.1 - other.start.1).abs() < 2.0 * HALF_HEIGHT
    }

    fn is_crossed_by(&self, (from, to): (Xy, Xy)) -> bool {
        (0..=8).map(|k| f64::from(k) / 8.0).any(|t| {
            let (x, y) = (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
            x > self.start.0 - 4.0
                && x < self.start.0 + self.width + 4.0
                && (y - self.start.1).abs() < HALF_HEIGHT + 3.0
        })
    }
}

/// Sets the labels: all with id and value where holes are far enough apart, else the values alone, else none;
/// landmarks at least with their id. `rim` is the lower left and the upper right corner of the sheet.
pub(super) fn set(wishes: &[Wish], arrows: &[(Xy, Xy)], rim: (Xy, Xy)) -> Vec<Label> {
    let room = room(wishes);
    let full = wishes.iter().filter(|w| !w.landmark).all(|w| w.id_width + w.value_width < room);
    let values = wishes.iter().filter(|w| !w.landmark).all(|w| w.value_width < room);
    let mut order: Vec<usize> = (0..wishes.len()).collect();
    order.sort_by_key(|&k| !wishes[k].landmark);
    let mut set: Vec<Label> = Vec::new();
    for k in order {
        let w = &wishes[k];
        let (id, value) = (full || w.landmark, full || (values && !w.landmark));
        if !id && !value {
            continue;
        }
        let width = if id { w.id_width } else { 0.0 } + if value { w.value_width } else { 0.0 };
        let ((left, bottom), (right, top)) = rim;
        let x = (w.at.0 - width / 2.0).min(right - AIR - width).max(left + AIR);
        // First the side to which its arrow does not go; under the hole when it hardly goes anywhere.
        let over = arrows.get(k).is_some_and(|(from, to)| to.1 > from.1 + HALF_HEIGHT);
        let sides = if over { [-DROP, DROP] } else { [DROP, -DROP] };
        let tried = sides.map(|drop| Label { wish: k, start: (x, w.at.1 + drop), id, value, width });
        let cost = |label: &Label| {
            let off = label.start.1 + HALF_HEIGHT > bottom || label.start.1 - HALF_HEIGHT < top;
            let labels = set.iter().filter(|other| label.overlaps(other)).count();
            let crossed = arrows.iter().filter(|&&arrow| label.is_crossed_by(arrow)).count();
            100 * usize::from(off) + 10 * labels + crossed
        };
        // The first of equals wins.
        let best = if cost(&tried[1]) < cost(&tried[0]) { tried[1] } else { tried[0] };
        if w.landmark || set.iter().all(|other| !best.overlaps(other)) {
            set.push(best);
        }
    }
    set
}

/// The smallest distance between neighbours in a row, units.
fn room(wishes: &[Wish]) -> f64 {
    let mut nearest = f64::INFINITY;
    for (k, a) in wishes.iter().enumerate() {
        for b in &wishes[k + 1..] {
            if (a.at.1 - b.at.1).abs() < 2.0 * HALF_HEIGHT {
                nearest = nearest.min((a.at.0 - b.at.0).abs());
            }
        }
    }
    nearest - AIR
}

#[cfg(test)]
mod tests {
    use super::*;

    const RIM: (Xy, Xy) = ((0.0, 500.0), (1000.0, 0.0));

    fn grid(columns: usize, rows: usize) -> Vec<Wish> {
        let at = |c: usize, r: usize| {
            let step = |k: usize, n: usize, size: f64| 40.0 + (size - 80.0) * k as f64 / (n - 1) as f64;
            (step(c, columns, 1000.0), step(r, rows, 500.0))
        };
        let nodes = (0..rows).flat_map(|r| (0..columns).map(move |c| (c, r)));
        nodes
            .map(|(c, r)| {
                let landmark = (c == 0 || c + 1 == columns) && (r == 0 || r + 1 == rows);
                Wish { at: at(c, r), id_width: 48.0, value_width: 44.0, landmark }
            })
            .collect()
    }

    #[test]
    fn labels_keep_clear_of_each_other_and_on_the_sheet() {
        // Wide apart: all of it. Closer: values. Closest: only the corners' ids.
        for (columns, rows, shown) in [(7, 5, 35), (13, 9, 117), (25, 13, 4)] {
            let wishes = grid(columns, rows);
            let arrows: Vec<(Xy, Xy)> =
                wishes.iter().map(|w| (w.at, (w.at.0 + 30.0, w.at.1 + w.at.0 / 50.0 - 10.0))).collect();
            let labels = set(&wishes, &arrows, RIM);
            assert_eq!(labels.len(), shown, "{columns} x {rows}");
            for (k, a) in labels.iter().enumerate() {
                assert!(a.start.0 >= 0.0 && a.start.0 + a.width <= 1000.0);
                assert!(a.start.1 - HALF_HEIGHT >= 0.0 && a.start.1 + HALF_HEIGHT <= 500.0);
                assert!(labels[k + 1..].iter().all(|b| !a.overlaps(b)), "{columns} x {rows}: {a:?}");
                assert_eq!(a.id, columns == 7 || wishes[a.wish].landmark);
            }
        }
    }
}
