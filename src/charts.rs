//! Control charts: is a number that is measured again and again still the same?
//!
//! Individuals with moving ranges, and the exponentially weighted moving average (EWMA), as in the
//! [NIST/SEMATECH handbook](crate::references::NIST_HANDBOOK), 6.3.2.2 and 6.3.2.4. A series is cut where something was
//! changed on purpose, and each piece is judged by itself. Limits come from the spread of the piece's own points only from
//! eight points on; before that from the uncertainty of the measurements.
//!
//! Rules, and how often they call on a number that has not changed while its limits are known: a point beyond 3 sigma (once
//! in 370 points), the average of weight 0.2 beyond 2.962 of its own sigma (once in 500;
//! [Montgomery](crate::references::MONTGOMERY_2012), recomputed). Runs of points are left to the average. Limits worked out
//! from the few points that they judge call at another rate, which [`false_call`] states.

/// Points that a piece needs before its own spread sets the limits.
pub const ENOUGH: usize = 8;
/// Mean range of two normal numbers in standard deviations, 2/sqrt(pi).
const D2: f64 = std::f64::consts::FRAC_2_SQRT_PI;
/// Limit of the individuals, sigma.
const WIDTH: f64 = 3.0;
/// Weight of the newest point in the average.
pub const EWMA_WEIGHT: f64 = 0.2;
/// Limit of the average, its own sigma.
pub const EWMA_WIDTH: f64 = 2.962;

/// Points of a piece that has not changed, and the chance that a rule calls on any of them. By simulation of normal points of
/// one uncertainty (`tests/charts.rs` holds it against another program).
const FALSE_CALLS: [(usize, f64); 16] = [
    (1, 0.0),
    (2, 0.003),
    (3, 0.010),
    (4, 0.015),
    (5, 0.020),
    (6, 0.025),
    (7, 0.030),
    (8, 0.023),
    (12, 0.036),
    (20, 0.062),
    (30, 0.098),
    (50, 0.167),
    (100, 0.322),
    (200, 0.548),
    (500, 0.870),
    (1000, 0.985),
];

/// Chance that a rule calls on any point of a piece of so many, when nothing has changed.
pub fn false_call(points: usize) -> f64 {
    let above = FALSE_CALLS.partition_point(|row| row.0 < points);
    match (above.checked_sub(1).map(|k| FALSE_CALLS[k]), FALSE_CALLS.get(above)) {
        (Some((n, p)), Some(&(m, q))) => p + (q - p) * (points - n) as f64 / (m - n) as f64,
        (None, _) => 0.0,
        (Some((_, p)), None) => p,
    }
}

/// A measured number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Value.
    pub value: f64,
    /// Its standard uncertainty, over 0.
    pub u: f64,
}

/// What the limits of a piece rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The moving ranges of its own points.
    Spread,
    /// The uncertainty of the measurements: there are too few points.
    Uncertainty,
    /// A single point: there is nothing to judge it by.
    Nothing,
}

/// A rule that a point broke.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// The point itself lies outside the limits.
    Beyond,
    /// The weighted average of it and those before it does.
    Drifted,
}

/// A piece of a series in which nothing was changed on purpose.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Place of its first point in the series.
    pub first: usize,
    /// Its centre line.
    pub centre: f64,
    /// Standard deviation expected of each point about the centre; empty when there is nothing to judge by.
    pub sigma: Vec<f64>,
    /// What that rests on.
    pub basis: Basis,
    /// Mean moving range, if there are two points.
    pub mean_range: Option<f64>,
    /// Weighted average at each point.
    pub average: Vec<f64>,
    /// Standard deviation expected of each average.
    pub average_sigma: Vec<f64>,
}

impl Piece {
    /// Lower and upper limit at the `k`-th point of the piece.
    pub fn limits(&self, k: usize) -> Option<[f64; 2]> {
        self.sigma.get(k).map(|s| [self.centre - WIDTH * s, self.centre + WIDTH * s])
    }

    /// Lower and upper limit of the average at the `k`-th point of the piece.
    pub fn average_limits(&self, k: usize) -> Option<[f64; 2]> {
        self.average_sigma.get(k).map(|s| [self.centre - EWMA_WIDTH * s, self.centre + EWMA_WIDTH * s])
    }
}

/// A chart of a series.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// The points.
    pub points: Vec<Point>,
    /// Its pieces, in order.
    pub pieces: Vec<Piece>,
    /// Points that broke a rule, by place in the series.
    pub signals: Vec<(usize, Rule)>,
}

/// Charts a series, cut before each place in `cuts` (ascending).
pub fn chart(points: &[Point], cuts: &[usize]) -> Chart {
    let mut bounds = vec![0];
    bounds.extend(cuts.iter().copied().filter(|&c| c > 0 && c < points.len()));
    bounds.dedup();
    bounds.push(points.len());
    let pieces: Vec<Piece> =
        bounds.windows(2).filter(|b| b[0] < b[1]).map(|b| piece(b[0], &points[b[0]..b[1]])).collect();
    let mut signals = Vec::new();
    for p in &pieces {
        for k in 0..p.sigma.len() {
            let outside = |value: f64, limits: Option<[f64; 2]>| {
                limits.is_some_and(|[low, high]| value < low || value > high)
            };
            if outside(points[p.first + k].value, p.limits(k)) {
                signals.push((p.first + k, Rule::Beyond));
            } else if outside(p.average[k], p.average_limits(k)) {
                signals.push((p.first + k, Rule::Drifted));
            }
        }
    }
    Chart { points: points.to_vec(), pieces, signals }
}

fn piece(first: usize, points: &[Point]) -> Piece {
    let n = points.len();
    // Points that are measured worse spread more: sizes relative to the usual one.
    let usual = (points.iter().map(|p| p.u * p.u).sum::<f64>() / n as f64).sqrt();
    let relative = |p: &Point| if usual > 0.0 { p.u / usual } else { 1.0 };
    let ranges: Vec<f64> = points
        .windows(2)
        .map(|w| {
            let size = ((relative(&w[0]).powi(2) + relative(&w[1]).powi(2)) / 2.0).sqrt();
            (w[1].value - w[0].value).abs() / size.max(f64::MIN_POSITIVE)
        })
        .collect();
    let mean_range = (n > 1).then(|| ranges.iter().sum::<f64>() / ranges.len() as f64);
    if n < 2 {
        let (centre, average) = (points[0].value, vec![points[0].value]);
        let basis = Basis::Nothing;
        return Piece {
            first,
            centre,
            sigma: Vec::new(),
            basis,
            mean_range,
            average,
            average_sigma: Vec::new(),
        };
    }
    let values: Vec<f64> = points.iter().map(|p| p.value).collect();
    if n >= ENOUGH {
        // A point that is measured worse spreads more, and counts for less in the centre; with equal ones it is the mean.
        let weight = |p: &Point| relative(p).max(f64::MIN_POSITIVE).powi(-2);
        let centre = weighted_mean(points, weight);
        let own = mean_range.unwrap_or(0.0) / D2;
        let sigma: Vec<f64> = points.iter().map(|p| own * relative(p)).collect();
        let (average, average_sigma) = ewma(&values, &sigma, centre, EWMA_WEIGHT);
        return Piece { first, centre, sigma, basis: Basis::Spread, mean_range, average, average_sigma };
    }
    let centre = weighted_mean(points, |p| p.u.powi(-2));
    let of_centre = points.iter().map(|p| p.u.powi(-2)).sum::<f64>().recip();
    // The points are part of their own centre c: cov(x_i - c, x_j - c) = u_i^2 [i = j] - u_c^2. So of a point u^2 - u_c^2 is
    // left, and of an average that gives them the weights a, sum (a u)^2 - (sum a)^2 u_c^2.
    let sigma = points.iter().map(|p| (p.u * p.u - of_centre).max(0.0).sqrt()).collect();
    let own: Vec<f64> = points.iter().map(|p| p.u).collect();
    let (average, mut average_sigma) = ewma(&values, &own, centre, EWMA_WEIGHT);
    for (k, s) in average_sigma.iter_mut().enumerate() {
        let given = 1.0 - (1.0 - EWMA_WEIGHT).powi(k as i32 + 1);
        *s = (*s * *s - given * given * of_centre).max(0.0).sqrt();
    }
    Piece { first, centre, sigma, basis: Basis::Uncertainty, mean_range, average, average_sigma }
}

fn weighted_mean(points: &[Point], weight: impl Fn(&Point) -> f64) -> f64 {
    points.iter().map(|p| weight(p) * p.value).sum::<f64>() / points.iter().map(&weight).sum::<f64>()
}

/// Weighted averages z_k = w x_k + (1 - w) z_(k-1) from `start` on, and the standard deviation of each,
/// v_k = w^2 s_k^2 + (1 - w)^2 v_(k-1); with equal s it tends to s sqrt(w/(2 - w)).
pub fn ewma(values: &[f64], sigma: &[f64], start: f64, weight: f64) -> (Vec<f64>, Vec<f64>) {
    let (mut z, mut v) = (start, 0.0);
    let mut averages = Vec::with_capacity(values.len());
    let mut spreads = Vec::with_capacity(sigma.len());
    for (k, &x) in values.iter().enumerate() {
        z = weight * x + (1.0 - weight) * z;
        averages.push(z);
        if let Some(s) = sigma.get(k) {
            v = (weight * s).powi(2) + (1.0 - weight).powi(2) * v;
            spreads.push(v.sqrt());
        }
    }
    (averages, spreads)
}
