//! Small geometry of lines on the picture, in units of the picture.

/// A place on the picture, units: to the right, and down.
pub(in crate::report) type Xy = (f64, f64);

fn distance(a: Xy, b: Xy) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Cuts a line into dashes of `on` units, `off` units apart.
pub(in crate::report) fn dashes(points: &[Xy], on: f64, off: f64) -> Vec<Vec<Xy>> {
    let mut dashes = Vec::new();
    let mut dash: Vec<Xy> = points.first().copied().into_iter().collect();
    let (mut drawing, mut left) = (true, on);
    for pair in points.windows(2) {
        let (mut a, b) = (pair[0], pair[1]);
        let mut rest = distance(a, b);
        while rest > left {
            let t = left / rest;
            a = (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1));
            rest -= left;
            if drawing {
                dash.push(a);
                dashes.push(std::mem::take(&mut dash));
            } else {
                dash = vec![a];
            }
            drawing = !drawing;
            left = if drawing { on } else { off };
        }
        left -= rest;
        if drawing {
            dash.push(b);
        }
    }
    if drawing && dash.len() > 1 {
        dashes.push(dash);
    }
    dashes
}

/// Leaves out points that lie within `tolerance` of the line without them.
pub(in crate::report) fn simplify(points: &[Xy], tolerance: f64) -> Vec<Xy> {
    let mut kept: Vec<Xy> = Vec::new();
    let mut skipped: Vec<Xy> = Vec::new();
    for (k, &p) in points.iter().enumerate() {
        let Some(&anchor) = kept.last() else {
            kept.push(p);
            continue;
        };
        let next = points.get(k + 1);
        skipped.push(p);
        let straight = next.is_some_and(|&n| skipped.iter().all(|&s| off_line(anchor, n, s) <= tolerance));
        if !straight {
            kept.push(p);
            skipped.clear();
        }
    }
    kept
}

/// Distance of `p` from the stretch a-b.
fn off_line(a: Xy, b: Xy, p: Xy) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let length2 = dx * dx + dy * dy;
    let t =
        if length2 > 0.0 { (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / length2).clamp(0.0, 1.0) } else { 0.0 };
    distance(p, (a.0 + t * dx, a.1 + t * dy))
}

/// The head of an arrow at `to`, coming from `from`: a triangle `size` long.
pub(in crate::report) fn arrow_head(from: Xy, to: Xy, size: f64) -> [Xy; 3] {
    let length = distance(from, to).max(f64::MIN_POSITIVE);
    let (ux, uy) = ((to.0 - from.0) / length, (to.1 - from.1) / length);
    let back = (to.0 - size * ux, to.1 - size * uy);
    let half = 0.42 * size;
    [to, (back.0 - half * uy, back.1 + half * ux), (back.0 + half * uy, back.1 - half * ux)]
}

/// The runs of pixels inside a closed line: row, first pixel, first pixel after it. A pixel is inside by its
/// middle, and by the even-odd rule.
pub(in crate::report) fn runs(corners: &[(i32, i32)]) -> Vec<(i32, i32, i32)> {
    let top = corners.iter().map(|c| c.1).min().unwrap_or(0);
    let bottom = corners.iter().map(|c| c.1).max().unwrap_or(0);
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); (bottom - top) as usize];
    for (k, &a) in corners.iter().enumerate() {
        let b = corners[(k + 1) % corners.len()];
        let (a, b) = if a.1 <= b.1 { (a, b) } else { (b, a) };
        let slope = f64::from(b.0 - a.0) / f64::from((b.1 - a.1).max(1));
        for y in a.1..b.1 {
            crossings[(y - top) as usize].push(f64::from(a.0) + slope * (f64::from(y - a.1) + 0.5));
        }
    }
    let mut runs = Vec::new();
    for (y, row) in (top..).zip(&mut crossings) {
        row.sort_by(f64::total_cmp);
        for pair in row.chunks_exact(2) {
            let [from, to] = [pair[0], pair[1]].map(|x| (x - 0.5).ceil() as i32);
            if from < to {
                runs.push((y, from, to));
            }
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_cover_their_share() {
        let line = [(0.0, 0.0), (30.0, 0.0), (30.0, 25.0)];
        let parts = dashes(&line, 6.0, 4.0);
        let length: f64 = parts.iter().flat_map(|d| d.windows(2)).map(|p| distance(p[0], p[1])).sum();
        // 55 units: five times 6 on and 4 off, then 5 more on.
        assert!((length - 35.0).abs() < 1e-9, "{length}");
    }

    #[test]
    fn simplifying_keeps_corners() {
        let line = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (2.0, 1.0), (2.0, 2.0)];
        assert_eq!(simplify(&line, 0.01), [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)]);
    }

    #[test]
    fn runs_fill_what_is_inside() {
        // A square with a notch cut into its right side.
        let shape = [(0, 0), (10, 0), (10, 3), (4, 5), (10, 7), (10, 10), (0, 10)];
        let filled: i32 = runs(&shape).iter().map(|&(_, from, to)| to - from).sum();
        // Of the notch, rows 3 to 6 lose 2, 5, 5 and 2 pixels.
        assert_eq!(filled, 100 - 14);
        assert_eq!(runs(&[(0, 0), (4, 0), (4, 2), (0, 2)]), [(0, 0, 4), (1, 0, 4)]);
    }
}
