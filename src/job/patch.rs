//! One cell of the table: a bicubic surface through its four corners, and bounds on how it slopes and bends.

use crate::frame::Point;

/// The shift at a corner and its derivatives.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Node {
    /// Shift, mm.
    pub shift: Point,
    /// By x, mm per mm.
    pub by_x: Point,
    /// By y, mm per mm.
    pub by_y: Point,
    /// By x and y, mm per mm².
    pub by_xy: Point,
}

/// Cubic Hermite weights at u in 0..1: value and slope at the left, value and slope at the right.
fn hermite(u: f64) -> [f64; 4] {
    let v = 1.0 - u;
    [v * v * (1.0 + 2.0 * u), u * v * v, u * u * (1.0 + 2.0 * v), -u * u * v]
}

/// The shift at (u, v) of a cell, 0 to 1 across and up; corners lower left, lower right, upper left, upper right;
/// size of the cell, mm.
pub fn at(corners: [&Node; 4], size: Point, u: f64, v: f64) -> Point {
    let [a0, a1, b0, b1] = hermite(u);
    let [c0, c1, d0, d1] = hermite(v);
    let (a1, b1, c1, d1) = (a1 * size.x_mm, b1 * size.x_mm, c1 * size.y_mm, d1 * size.y_mm);
    let corner = |n: &Node, p: f64, ps: f64, q: f64, qs: f64| {
        n.shift * (p * q) + n.by_x * (ps * q) + n.by_y * (p * qs) + n.by_xy * (ps * qs)
    };
    corner(corners[0], a0, a1, c0, c1)
        + corner(corners[1], b0, b1, c0, c1)
        + corner(corners[2], a0, a1, d0, d1)
        + corner(corners[3], b0, b1, d0, d1)
}

/// The most that a cell slopes (mm per mm) and bends (1/mm) in any direction.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bounds {
    /// Bound on the length of the first derivative along a unit vector.
    pub slope: f64,
    /// Bound on the length of the second derivative along a unit vector.
    pub curvature_per_mm: f64,
}

impl Bounds {
    /// The larger of both.
    pub fn max(self, o: Self) -> Self {
        Self {
            slope: self.slope.max(o.slope),
            curvature_per_mm: self.curvature_per_mm.max(o.curvature_per_mm),
        }
    }
}

/// Bounds over a cell, from its Bernstein control points: a polynomial lies in the convex hull of its control points,
/// and so do its derivatives in that of their differences ([Farin](crate::references::FARIN_2002), chapters 5 and 16).
pub fn bounds(corners: [&Node; 4], size: Point) -> Bounds {
    let mut b = [[Point::default(); 4]; 4];
    for (k, node) in corners.into_iter().enumerate() {
        let (right, top) = (k % 2, k / 2);
        let (s, t) = (1.0 - 2.0 * right as f64, 1.0 - 2.0 * top as f64);
        let (hx, hy) = (s * size.x_mm / 3.0, t * size.y_mm / 3.0);
        let (i, j) = (3 * right, 3 * top);
        let (i1, j1) = (1 + right, 1 + top);
        b[j][i] = node.shift;
        b[j][i1] = node.shift + node.by_x * hx;
        b[j1][i] = node.shift + node.by_y * hy;
        b[j1][i1] = node.shift + node.by_x * hx + node.by_y * hy + node.by_xy * (hx * hy);
    }
    let largest = |rows: usize, columns: usize, f: &dyn Fn(usize, usize) -> Point| {
        (0..rows)
            .flat_map(|j| (0..columns).map(move |i| (j, i)))
            .map(|(j, i)| f(j, i).norm_mm())
            .fold(0.0, f64::max)
    };
    let (hx, hy) = (size.x_mm, size.y_mm);
    let x = largest(4, 3, &|j, i| (b[j][i + 1] - b[j][i]) * (3.0 / hx));
    let y = largest(3, 4, &|j, i| (b[j + 1][i] - b[j][i]) * (3.0 / hy));
    let xx = largest(4, 2, &|j, i| (b[j][i] - b[j][i + 1] * 2.0 + b[j][i + 2]) * (6.0 / (hx * hx)));
    let yy = largest(2, 4, &|j, i| (b[j][i] - b[j + 1][i] * 2.0 + b[j + 2][i]) * (6.0 / (hy * hy)));
    let xy =
        largest(3, 3, &|j, i| (b[j + 1][i + 1] - b[j + 1][i] - b[j][i + 1] + b[j][i]) * (9.0 / (hx * hy)));
    // Along (cos a, sin a) the second derivative is at most cos² xx + 2 cos sin xy + sin² yy: the larger eigenvalue.
    let curvature_per_mm = (xx + yy) / 2.0 + ((xx - yy) / 2.0).hypot(xy);
    Bounds { slope: x.hypot(y), curvature_per_mm }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bicubic polynomial and its derivatives.
    fn f(x: f64, y: f64) -> Node {
        let p = |a: f64, b: f64| Point::new(a, b);
        Node {
            shift: p(1e-6 * x * x * x - 2e-4 * x * y + y, 3e-9 * x * x * y * y * y - x),
            by_x: p(3e-6 * x * x - 2e-4 * y, 6e-9 * x * y * y * y - 1.0),
            by_y: p(-2e-4 * x + 1.0, 9e-9 * x * x * y * y),
            by_xy: p(-2e-4, 18e-9 * x * y * y),
        }
    }

    #[test]
    fn a_bicubic_polynomial_is_reproduced_and_its_derivatives_are_bounded() {
        let (low, size) = (Point::new(-30.0, 10.0), Point::new(40.0, 50.0));
        let nodes: Vec<Node> = (0..4)
            .map(|k| f(low.x_mm + size.x_mm * (k % 2) as f64, low.y_mm + size.y_mm * (k / 2) as f64))
            .collect();
        let corners = [&nodes[0], &nodes[1], &nodes[2], &nodes[3]];
        let bounds = bounds(corners, size);
        let (mut slope, mut curvature) = (0.0_f64, 0.0_f64);
        for k in 0..=20 {
            for l in 0..=20 {
                let (u, v) = (f64::from(k) / 20.0, f64::from(l) / 20.0);
                let (x, y) = (low.x_mm + u * size.x_mm, low.y_mm + v * size.y_mm);
                assert!(at(corners, size, u, v).distance_mm(f(x, y).shift) < 1e-12);
                for a in 0..12 {
                    let (s, c) = (f64::from(a) * std::f64::consts::PI / 12.0).sin_cos();
                    let n = f(x, y);
                    slope = slope.max((n.by_x * c + n.by_y * s).norm_mm());
                    let xx = Point::new(6e-6 * x, 6e-9 * y * y * y);
                    let yy = Point::new(0.0, 18e-9 * x * x * y);
                    curvature =
                        curvature.max((xx * (c * c) + n.by_xy * (2.0 * c * s) + yy * (s * s)).norm_mm());
                }
            }
        }
        assert!(slope <= bounds.slope && bounds.slope < 1.7 * slope, "{slope} {bounds:?}");
        assert!(
            curvature <= bounds.curvature_per_mm && bounds.curvature_per_mm < 2.0 * curvature,
            "{curvature} {bounds:?}"
        );
    }
}
