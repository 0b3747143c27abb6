//! Survey networks with published adjustments (tests/reference/networks): coordinates, covariance, redundancy
//! numbers, standardised residuals; and what must not depend on the points held fixed.

mod network;
#[path = "../common/reference.rs"]
mod reference;

use std::collections::HashMap;
use std::f64::consts::PI;

use nalgebra::{DMatrix, DVector};
use network::{Kind, Network, Observation};
use reference::{close, rows};
use serde::Deserialize;
use tautgrid::fit::{self, Options, Problem, Solution, Spectrum, leverages};

fn adjust(network: &Network) -> Solution {
    let solution = fit::solve(network, &network.start(), &Options::default());
    assert!(solution.stop.converged(), "{:?}", solution.stop);
    solution
}

/// What one linearised step from the start gives, as adjustment programs publish it.
struct Linearised {
    x: DVector<f64>,
    /// r + J p.
    residuals: DVector<f64>,
    sum_of_squares: f64,
    redundancy: DVector<f64>,
    covariance: DMatrix<f64>,
}

fn linearised(network: &Network) -> Linearised {
    let start = network.start();
    let solution = fit::solve(network, &start, &Options { max_iterations: 1, ..Options::default() });
    let there = network.evaluate(&start).unwrap();
    let residuals = there.residuals + &there.jacobian * (&solution.x - &start);
    Linearised {
        x: solution.x,
        sum_of_squares: residuals.norm_squared(),
        residuals,
        redundancy: leverages(&there.jacobian).map(|h| 1.0 - h),
        covariance: Spectrum::of(&there.jacobian).covariance(Spectrum::TOLERANCE).unwrap(),
    }
}

/// One distance of the three-circle networks, with what was published about it.
#[derive(Deserialize)]
struct Circle {
    set: String,
    point: String,
    x_m: f64,
    y_m: f64,
    #[serde(rename = "distance_to_Q_m")]
    distance_m: f64,
    sd_mm: f64,
    adjusted_distance_m: f64,
    redundancy_number_printed: f64,
    control_f_percent_printed: f64,
    estimated_gross_error_mm_printed: Option<f64>,
}

/// One adjustment as published, and the minimum recomputed.
struct Epoch {
    set: &'static str,
    approximate: [f64; 2],
    published: [f64; 2],
    sum_of_squares: f64,
    /// Of Q: x, xy, y.
    covariance_mm2: [f64; 3],
    converged: [f64; 2],
}

/// Q found from three distances: the published step from the published approximate point, and the minimum.
#[test]
fn three_circles() {
    let all: Vec<Circle> = rows("networks/three-circle-networks.csv");
    for epoch in [
        Epoch {
            set: "epoch-A",
            approximate: [87.67, 91.34],
            published: [87.6667550313, 91.3337541917],
            sum_of_squares: 0.11253429,
            covariance_mm2: [0.061155887, 0.0094714588, 0.10081657],
            converged: [87.6667550329, 91.3337543513],
        },
        Epoch {
            set: "epoch-B",
            approximate: [87.686731, 91.343286],
            published: [87.6867293380, 91.3432823541],
            sum_of_squares: 0.31333751,
            covariance_mm2: [0.17022769, 0.026298347, 0.28079440],
            converged: [87.6867293380, 91.3432823541],
        },
    ] {
        let circles: Vec<&Circle> = all.iter().filter(|circle| circle.set == epoch.set).collect();
        let mut points: HashMap<_, _> = circles.iter().map(|c| (c.point.clone(), [c.x_m, c.y_m])).collect();
        points.insert("Q".into(), epoch.approximate);
        let observation = |c: &&Circle| Observation {
            kind: Kind::Distance,
            from: c.point.clone(),
            to: "Q".into(),
            value: c.distance_m,
            sd: c.sd_mm / 1000.0,
        };
        let observations = circles.iter().map(observation).collect();
        let network = Network::new(points, observations, [("Q".into(), 0), ("Q".into(), 1)]);
        let converged = adjust(&network);
        close("x", converged.x[0], epoch.converged[0], 1e-10);
        close("y", converged.x[1], epoch.converged[1], 1e-10);

        let published = linearised(&network);
        close("x", published.x[0], epoch.published[0], 0.6e-10);
        close("y", published.x[1], epoch.published[1], 0.6e-10);
        // The publication counts in units of its reference deviation of 10 mm, so its sum is 100 times ours.
        close("S", 100.0 * published.sum_of_squares, epoch.sum_of_squares, 0.5e-8);
        for (i, circle) in circles.iter().enumerate() {
            let misfit_mm = published.residuals[i] * circle.sd_mm;
            close("distance", circle.distance_m + misfit_mm / 1000.0, circle.adjusted_distance_m, 1e-10);
            let redundancy = published.redundancy[i];
            close("redundancy", redundancy, circle.redundancy_number_printed, 0.5e-3);
            let control = 100.0 * (1.0 - (1.0 - redundancy).sqrt());
            close("control", control, circle.control_f_percent_printed, 0.5e-3);
            if let Some(printed) = circle.estimated_gross_error_mm_printed {
                close("gross error", misfit_mm / redundancy, printed, 0.5e-3);
            }
            // With one degree of freedom every residual, over its own observed deviation, is 1.
            let studentised = published.residuals[i].abs() / (published.sum_of_squares * redundancy).sqrt();
            close("studentised residual", studentised, 1.0, 1e-6);
        }
        // Seven digits: the eighth depends on where exactly the published program took its derivatives.
        let covariance_mm2 = published.covariance * published.sum_of_squares * 1e6;
        let [var_x, cov_xy, var_y] = epoch.covariance_mm2;
        close("var x", covariance_mm2[(0, 0)], var_x, 1e-7 * var_x);
        close("cov xy", covariance_mm2[(0, 1)], cov_xy, 1e-7 * cov_xy);
        close("var y", covariance_mm2[(1, 1)], var_y, 1e-7 * var_y);
    }
}

#[derive(Deserialize)]
struct Point {
    id: String,
    role: String,
    x_south_m: f64,
    y_west_m: f64,
    approximate_x_m: f64,
    approximate_y_m: f64,
}

#[derive(Deserialize)]
struct Observed {
    kind: String,
    from: String,
    to: String,
    observed: f64,
    sd_prior: f64,
    adjusted: f64,
    sd_adjusted: f64,
    qrr: f64,
    studentized_abs: f64,
}

const RAD_PER_GON: f64 = PI / 200.0;

impl Observed {
    fn is_distance(&self) -> bool {
        self.kind == "distance"
    }

    /// m or rad in the unit of `observed`.
    fn unit(&self) -> f64 {
        if self.is_distance() { 1.0 } else { RAD_PER_GON }
    }

    /// `observed` units in the unit of the standard deviations, mm or 0.0001 gon.
    fn fine_unit(&self) -> f64 {
        if self.is_distance() { 1e3 } else { 1e4 }
    }
}

/// The 12-point network of 23 distances and 46 directions, with `held` coordinates fixed and all others moved
/// by up to `moved_m` from the approximate ones for a start.
fn twelve_points(moved_m: f64, held: impl Fn(&Point, usize) -> bool) -> (Network, Vec<Point>, Vec<Observed>) {
    let points: Vec<Point> = rows("networks/charamza-gama-network-points.csv");
    let observed: Vec<Observed> = rows("networks/charamza-gama-network-observations.csv");
    let mut free = vec![];
    let mut start = HashMap::new();
    for (k, point) in points.iter().enumerate() {
        let mut xy = [point.approximate_x_m, point.approximate_y_m];
        for (axis, coordinate) in xy.iter_mut().enumerate() {
            if !held(point, axis) {
                *coordinate += moved_m * ((2 * k + axis) as f64).sin();
                free.push((point.id.clone(), axis));
            }
        }
        start.insert(point.id.clone(), xy);
    }
    let observation = |o: &Observed| Observation {
        kind: if o.is_distance() { Kind::Distance } else { Kind::Direction },
        from: o.from.clone(),
        to: o.to.clone(),
        value: o.observed * o.unit(),
        sd: o.sd_prior / o.fine_unit() * o.unit(),
    };
    let observations = observed.iter().map(observation).collect();
    (Network::new(start, observations, free), points, observed)
}

#[test]
fn twelve_points_with_directions() {
    let (network, points, observed) = twelve_points(0.0, |point, _| point.role == "fixed");
    let published = linearised(&network);
    assert_eq!((published.residuals.len(), published.x.len()), (69, 32));
    for point in &points {
        close(&point.id, network.coordinate(&published.x, &point.id, 0), point.x_south_m, 0.5e-6);
        close(&point.id, network.coordinate(&published.x, &point.id, 1), point.y_west_m, 0.5e-6);
    }
    // Reference deviation 10, as above.
    close("S", 100.0 * published.sum_of_squares, 3435.6008, 0.5e-4);
    let s0 = (published.sum_of_squares / 37.0).sqrt();
    close("m0", 10.0 * s0, 9.6360820, 0.5e-7);
    let [x, y] = [0, 1].map(|axis| network.column("403", axis).unwrap());
    for (row, column, printed_mm2, tolerance) in
        [(x, x, 13.819516, 0.5e-6), (x, y, 1.6969554, 0.5e-7), (y, y, 18.152971, 0.5e-6)]
    {
        close("covariance", published.covariance[(row, column)] * s0 * s0 * 1e6, printed_mm2, tolerance);
    }
    close("sum of redundancy", published.redundancy.sum(), 37.0, 1e-10);
    for (i, o) in observed.iter().enumerate() {
        let name = format!("{} {}-{}", o.kind, o.from, o.to);
        let residual = published.residuals[i] * o.sd_prior / o.fine_unit();
        // Full circles are counted away in the publication.
        let turns = if o.is_distance() { 0.0 } else { 400.0 * ((o.adjusted - o.observed) / 400.0).round() };
        close(&name, o.observed + residual + turns, o.adjusted, 1e-9);
        let redundancy = published.redundancy[i];
        close(&name, s0 * o.sd_prior * (1.0 - redundancy).max(0.0).sqrt(), o.sd_adjusted, 1e-6);
        close(&name, redundancy * (o.sd_prior / 10.0).powi(2), o.qrr, 0.5e-3);
        let studentised = published.residuals[i].abs() / (s0 * redundancy.sqrt());
        close(&name, studentised, o.studentized_abs, 0.5e-3);
    }

    // Carried to the minimum, from up to 3 m away: the same point to a micrometre, and a sum no larger.
    let (network, ..) = twelve_points(3.0, |point, _| point.role == "fixed");
    let converged = adjust(&network);
    for point in points {
        close(&point.id, network.coordinate(&converged.x, &point.id, 0), point.x_south_m, 1e-6);
        close(&point.id, network.coordinate(&converged.x, &point.id, 1), point.y_west_m, 1e-6);
    }
    assert!(converged.sum_of_squares < published.sum_of_squares);
    close("S", converged.sum_of_squares, published.sum_of_squares, 1e-5 * published.sum_of_squares);
}

/// With no point held, three directions are free: two shifts and a turn. Whichever three coordinates are then
/// held, residuals (hence adjusted distances and directions) and redundancy numbers come out the same.
#[test]
fn nothing_depends_on_the_points_held_fixed() {
    let (free, points, _) = twelve_points(3.0, |_, _| false);
    let jacobian = free.evaluate(&free.start()).unwrap().jacobian;
    let null = Spectrum::of(&jacobian).null_directions(Spectrum::TOLERANCE);
    assert_eq!(null.len(), 3);
    let basis = DMatrix::from_columns(&null).qr().q();
    for axis in [0, 1] {
        let mut shift = DVector::zeros(free.unknowns());
        points.iter().filter_map(|p| free.column(&p.id, axis)).for_each(|column| shift[column] = 1.0);
        let outside = &shift - &basis * basis.tr_mul(&shift);
        assert!(outside.norm() < 1e-9 * shift.norm(), "{}", outside.norm());
    }

    // Held: one point, and the coordinate of a second that stops the turn (the lines run mostly along axis 1).
    let solve = |base: &'static str, stop: &'static str| {
        let (network, _, _) = twelve_points(3.0, |p, axis| p.id == base || (p.id == stop && axis == 0));
        let solution = adjust(&network);
        assert_eq!(solution.x.len(), 33);
        (leverages(&solution.jacobian), solution.residuals)
    };
    let (leverage, residuals) = solve("1", "2");
    for (base, stop) in [("403", "413"), ("420", "411"), ("424", "416")] {
        let (other_leverage, other_residuals) = solve(base, stop);
        close("residuals", (other_residuals - &residuals).amax(), 0.0, 1e-6);
        close("leverages", (other_leverage - &leverage).amax(), 0.0, 1e-9);
    }
}
