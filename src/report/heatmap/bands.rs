//! Lines of equal value on a grid of numbers, as closed loops (marching squares), so that bands of colour can be
//! filled as whole areas without seams.

use std::collections::HashMap;

/// Numbers on a regular grid, row by row from the lower left.
pub(super) struct Grid<'a> {
    pub(super) columns: usize,
    pub(super) rows: usize,
    pub(super) values: &'a [f64],
}

/// A closed line around an area, in steps of the grid from its lower left.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Loop {
    /// Corners in order; the last joins the first.
    pub(super) points: Vec<(f64, f64)>,
    /// Area inside; negative when the values inside are below the level.
    pub(super) area: f64,
}

/// Where a line crosses the grid: on the step to the right of a node, or on the step up from it.
type Crossing = (i32, i32, Step);

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Step {
    Right,
    Up,
}

impl Grid<'_> {
    /// Beyond the grid everything counts as below any level, so that every line closes along the border.
    fn value(&self, c: i32, r: i32) -> f64 {
        let inside = (0..self.columns as i32).contains(&c) && (0..self.rows as i32).contains(&r);
        if inside { self.values[r as usize * self.columns + c as usize] } else { f64::NEG_INFINITY }
    }

    /// The loops around what is at `level` or over it.
    pub(super) fn loops(&self, level: f64) -> Vec<Loop> {
        let mut next: HashMap<Crossing, Crossing> = HashMap::new();
        for r in -1..self.rows as i32 {
            for c in -1..self.columns as i32 {
                self.cell(c, r, level, &mut next);
            }
        }
        let mut starts: Vec<Crossing> = next.keys().copied().collect();
        starts.sort_unstable_by_key(|&(c, r, step)| (r, c, step as u8));
        let mut loops = Vec::new();
        for start in starts {
            let mut points = Vec::new();
            let mut here = start;
            while let Some(there) = next.remove(&here) {
                points.push(self.place(here, level));
                here = there;
            }
            let area = signed_area(&points);
            if area != 0.0 {
                loops.push(Loop { points, area });
            }
        }
        loops
    }

    /// Adds the line through one cell, higher values on its left hand.
    fn cell(&self, c: i32, r: i32, level: f64, next: &mut HashMap<Crossing, Crossing>) {
        let corners = [(c, r), (c + 1, r), (c + 1, r + 1), (c, r + 1)].map(|(c, r)| self.value(c, r));
        let case = corners.iter().enumerate().fold(0, |bits, (k, &v)| bits | (usize::from(v >= level) << k));
        let (bottom, left) = ((c, r, Step::Right), (c, r, Step::Up));
        let (top, right) = ((c, r + 1, Step::Right), (c + 1, r, Step::Up));
        // In a saddle the middle decides which two corners hang together.
        let middle_high = corners.iter().sum::<f64>() / 4.0 >= level;
        let lines: &[(Crossing, Crossing)] = match case {
            1 => &[(bottom, left)],
            2 => &[(right, bottom)],
            3 => &[(right, left)],
            4 => &[(top, right)],
            5 if middle_high => &[(bottom, right), (top, left)],
            5 => &[(bottom, left), (top, right)],
            6 => &[(top, bottom)],
            7 => &[(top, left)],
            8 => &[(left, top)],
            9 => &[(bottom, top)],
            10 if middle_high => &[(left, bottom), (right, top)],
            10 => &[(right, bottom), (left, top)],
            11 => &[(right, top)],
            12 => &[(left, right)],
            13 => &[(bottom, right)],
            14 => &[(left, bottom)],
            _ => &[],
        };
        next.extend(lines.iter().copied());
    }

    fn place(&self, (c, r, step): Crossing, level: f64) -> (f64, f64) {
        let (dc, dr) = if step == Step::Right { (1, 0) } else { (0, 1) };
        let (from, to) = (self.value(c, r), self.value(c + dc, r + dr));
        let t = if from.is_finite() && to.is_finite() { (level - from) / (to - from) } else { 0.5 };
        let clamp = |k: f64, n: usize| k.clamp(0.0, (n - 1) as f64);
        (
            clamp(f64::from(c) + t * f64::from(dc), self.columns),
            clamp(f64::from(r) + t * f64::from(dr), self.rows),
        )
    }

    /// The parts of a loop that do not run along the border of the grid.
    pub(super) fn inner_parts(&self, ring: &Loop) -> Vec<Vec<(f64, f64)>> {
        let (right, top) = ((self.columns - 1) as f64, (self.rows - 1) as f64);
        let along_border = |a: (f64, f64), b: (f64, f64)| {
            [0.0, right].iter().any(|&x| a.0 == x && b.0 == x)
                || [0.0, top].iter().any(|&y| a.1 == y && b.1 == y)
        };
        let n = ring.points.len();
        let is_break = |k: usize| along_border(ring.points[k % n], ring.points[(k + 1) % n]);
        // Starting just after a stretch of border keeps every part in one piece.
        let first = (0..n).find(|&k| is_break(k)).map_or(0, |k| k + 1);
        let mut parts = vec![vec![ring.points[first % n]]];
        for k in first..first + n {
            let end = ring.points[(k + 1) % n];
            match parts.last_mut() {
                Some(part) if !is_break(k) => part.push(end),
                _ => parts.push(vec![end]),
            }
        }
        parts.retain(|part| part.len() > 1);
        parts
    }
}

fn signed_area(points: &[(f64, f64)]) -> f64 {
    let n = points.len();
    (0..n)
        .map(|k| {
            let (a, b) = (points[k], points[(k + 1) % n]);
            (a.0 * b.1 - b.0 * a.1) / 2.0
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cone(columns: usize, rows: usize) -> Vec<f64> {
        let at = |k: usize, n: usize| k as f64 - (n - 1) as f64 / 2.0;
        let nodes = (0..rows).flat_map(|r| (0..columns).map(move |c| (c, r)));
        nodes.map(|(c, r)| at(c, columns).hypot(at(r, rows))).collect()
    }

    #[test]
    fn areas_are_those_of_the_figure() {
        let values = cone(41, 41);
        let grid = Grid { columns: 41, rows: 41, values: &values };
        // Over 10 steps from the middle: the whole square without a disc of radius 10.
        let loops = grid.loops(10.0);
        let areas: Vec<f64> = loops.iter().map(|l| l.area).collect();
        assert_eq!(areas.len(), 2);
        let (outer, hole) = (areas[0].max(areas[1]), areas[0].min(areas[1]));
        assert_eq!(outer, 1600.0);
        assert!((hole + std::f64::consts::PI * 100.0).abs() < 2.0, "disc of {hole}");
        assert!(grid.loops(100.0).is_empty());
    }

    #[test]
    fn only_lines_off_the_border_are_drawn() {
        let values: Vec<f64> = (0..5 * 4).map(|k| (k % 5) as f64).collect();
        let grid = Grid { columns: 5, rows: 4, values: &values };
        let loops = grid.loops(1.5);
        assert_eq!(loops.len(), 1);
        assert_eq!(loops[0].area, 2.5 * 3.0);
        let parts = grid.inner_parts(&loops[0]);
        assert_eq!(parts.len(), 1);
        assert!(parts[0].iter().all(|p| p.0 == 1.5), "{parts:?}");
    }

    #[test]
    fn a_saddle_gives_closed_loops_either_way() {
        for values in [[1.0, 0.0, 0.0, 1.0], [1.0, 0.4, 0.4, 1.0], [0.0, 1.0, 1.0, 0.0]] {
            let grid = Grid { columns: 2, rows: 2, values: &values };
            let area: f64 = grid.loops(0.5).iter().map(|l| l.area).sum();
            assert!(area > 0.0 && area < 1.0, "{values:?}: {area}");
        }
    }
}
