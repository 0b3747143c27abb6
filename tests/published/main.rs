//! Worked examples from standards and handbooks, by the code that the product runs. A printed figure is held to half a
//! unit of its last digit, a recomputed one to the digits that are written down; nothing that is known from memory
//! alone is asked for.

mod lengths;
mod lines;
#[path = "../networks/network.rs"]
#[allow(dead_code, reason = "directions are for the other test")]
mod network;
#[path = "../common/reference.rs"]
mod reference;

use ::toml::Table;
use lines::{BothUncertain, solved};
use nalgebra::DVector;
use network::{Kind, Network, Observation};
use reference::{close, toml};
use tautgrid::fit::{self, Line, Options, Spectrum, leverages};

/// A number from a table of figures.
pub fn number(table: &Table, key: &str) -> f64 {
    let value = &table[key];
    value.as_float().or_else(|| value.as_integer().map(|k| k as f64)).unwrap_or_else(|| panic!("{key}"))
}

/// A list of numbers.
pub fn numbers(table: &Table, key: &str) -> Vec<f64> {
    let each = table[key].as_array().unwrap_or_else(|| panic!("{key}")).iter();
    each.map(|v| v.as_float().or_else(|| v.as_integer().map(|k| k as f64)).unwrap()).collect()
}

/// A table within a table.
pub fn section<'a>(table: &'a Table, key: &str) -> &'a Table {
    table[key].as_table().unwrap_or_else(|| panic!("{key}"))
}

/// Asserts that a figure agrees, and prints how well.
#[track_caller]
pub fn agrees(what: &str, found: f64, expected: f64, tolerance: f64) {
    println!("{what:<52} {found:>18.10}  off by {:.1e}, allowed {tolerance:.0e}", (found - expected).abs());
    close(what, found, expected, tolerance);
}

/// JCGM 100:2008, H.3: calibration of a thermometer, its correction at 30 degC included.
#[test]
fn gum_h3_thermometer() {
    let file: Table = toml("gum/thermometer-h3.toml");
    let data = section(&file, "data");
    let t0 = number(data, "t0_degC");
    let x: Vec<f64> = numbers(data, "t_degC").iter().map(|t| t - t0).collect();
    let u = vec![1.0; x.len()];
    let dof = x.len() as f64 - 2.0;
    let line = solved(&Line { x, y: numbers(data, "b_degC"), u }, DVector::zeros(2));
    let s = (line.chi_square / dof).sqrt();
    let line = line.rescaled(dof);
    let found = [
        ("y1", line.a, 5e-5),
        ("s_y1", line.u_a(), 5e-5),
        ("y2", line.b, 5e-6),
        ("s_y2", line.u_b(), 5e-6),
        ("r_y1_y2", line.covariance[(0, 1)] / line.u_a() / line.u_b(), 5e-4),
        ("s_residual", s, 5e-5),
        ("b_at_30degC", line.a + 10.0 * line.b, 5e-5),
        ("u_b_at_30degC", line.variance_at(10.0).sqrt(), 5e-5),
    ];
    for (key, value, half_a_unit) in found {
        agrees(
            &format!("GUM H.3 {key}, printed"),
            value,
            number(section(&file, "published"), key),
            half_a_unit,
        );
        let recomputed = number(section(&file, "recomputed"), key);
        // Its file gives y2 to five digits, the others to eight.
        let digits = if key == "y2" { 5e-8 } else { 1e-7 * recomputed.abs() };
        agrees(&format!("GUM H.3 {key}, recomputed"), value, recomputed, digits);
    }
}

/// ISO/TS 28037:2010, clause 6: the uncertainties are known, so the covariance is not rescaled.
#[test]
fn iso_ts_28037_weighted_lines() {
    let file: Table = toml("regression/iso-ts-28037.toml");
    for name in ["equal_weights", "unequal_weights"] {
        let given = section(&file, name);
        let problem = Line { x: numbers(given, "x"), y: numbers(given, "y"), u: numbers(given, "u_y") };
        let line = problem.fitted().expect("three points or more");
        let found = [
            ("a", line.a),
            ("b", line.b),
            ("u_a", line.u_a()),
            ("u_b", line.u_b()),
            ("cov_ab", line.covariance[(0, 1)]),
            ("chi2_obs", line.chi_square),
        ];
        for (key, value) in found {
            // The first example's printed figures, and both printed chi-squares, are known from memory alone.
            if name == "unequal_weights" && key != "chi2_obs" {
                agrees(&format!("{name} {key}, printed"), value, number(given, key), 5e-4);
            }
            let full = key.replace("_obs", "") + "_full";
            if given.contains_key(&full) {
                agrees(&format!("{name} {key}, recomputed"), value, number(given, &full), 1e-10);
            }
        }
    }
}

/// Pearson's points with York's weights: every true x is an unknown, as every hole's scatter is in the adjustment.
#[test]
fn pearson_york_both_coordinates() {
    let file: Table = toml("regression/pearson-york.toml");
    let u = |key: &str| numbers(&file, key).into_iter().map(|w: f64| 1.0 / w.sqrt()).collect();
    let problem = BothUncertain {
        x: numbers(&file, "x"),
        y: numbers(&file, "y"),
        u_x: u("weight_x"),
        u_y: u("weight_y"),
    };
    let mut start = DVector::from_vec([vec![5.0, -0.4], problem.x.clone()].concat());
    let line = solved(&problem, start.clone());
    agrees("Pearson-York intercept, recomputed", line.a, number(&file, "intercept"), 1e-9);
    agrees("Pearson-York slope, recomputed", line.b, number(&file, "slope"), 1e-10);
    agrees("Pearson-York S, recomputed", line.chi_square, number(&file, "S_min"), 1e-9);
    agrees("Pearson-York u(intercept), SciPy ODR", line.u_a(), number(&file, "u_intercept_odr"), 1e-6);
    agrees("Pearson-York u(slope), SciPy ODR", line.u_b(), number(&file, "u_slope_odr"), 1e-7);
    // From a start far away too.
    (start[0], start[1]) = (0.0, 2.0);
    agrees("Pearson-York slope from another start", solved(&problem, start).b, number(&file, "slope"), 1e-10);
}

/// NBS Handbook 91 (Natrella), 5-4.1: a trend, the variance of the line and of a new reading.
#[test]
fn nbs_handbook_91_trend() {
    let file: Table = toml("regression/nbs-handbook-91-youngs-modulus.toml");
    let data = section(&file, "data");
    let x = numbers(data, "x_temperature");
    let (u, dof) = (vec![1.0; x.len()], x.len() as f64 - 2.0);
    let line = solved(&Line { x, y: numbers(data, "y_modulus"), u }, DVector::zeros(2));
    let s = (line.chi_square / dof).sqrt();
    let line = line.rescaled(dof);
    let found = [
        ("slope", line.b, 5e-9),
        ("intercept", line.a, 5e-5),
        // Worked by hand with eight digits: the last one of these two is off (recomputed: 2.56490455e-5, 19.8794530).
        ("var_slope", line.covariance[(1, 1)], 1e-12),
        ("var_intercept", line.covariance[(0, 0)], 2e-6),
        ("s_residual", s, 1e-6),
        ("var_line_at_1200", line.variance_at(1200.0), 5e-3),
        ("var_new_reading_at_750", line.variance_at(750.0) + s * s, 5e-3),
    ];
    for (key, value, tolerance) in found {
        agrees(&format!("NBS 91 {key}, printed"), value, number(section(&file, "published"), key), tolerance);
        let recomputed = number(section(&file, "recomputed"), key);
        agrees(&format!("NBS 91 {key}, recomputed"), value, recomputed, 1e-8 * recomputed.abs());
    }
}

/// One station from three distances, weighted alike and by length; the unit is the foot.
#[test]
fn trilateration() {
    let file: Table = toml("networks/trilateration-three-stations.toml");
    let data = section(&file, "data");
    let (x, y, read) = (numbers(data, "x"), numbers(data, "y"), numbers(data, "distance_to_U"));
    let circles = section(&file, "start_from_two_circles");
    for name in ["equal_weights_recomputed", "weights_1mm_plus_2ppm_recomputed"] {
        let expected = section(&file, name);
        let sd = |d: f64| if name.starts_with("equal") { 1.0 } else { 1.0 + 2e-3 * d };
        let mut points: std::collections::HashMap<_, _> =
            (0..3).map(|k| (k.to_string(), [x[k], y[k]])).collect();
        points.insert("U".to_owned(), [number(circles, "x"), number(circles, "y")]);
        let to_u = |k: usize| Observation {
            kind: Kind::Distance,
            from: k.to_string(),
            to: "U".to_owned(),
            value: read[k],
            sd: sd(read[k]),
        };
        let free = [0, 1].map(|axis| ("U".to_owned(), axis));
        let network = Network::new(points, (0..3).map(to_u).collect(), free);
        let solution = fit::solve(&network, &network.start(), &Options::default());
        for (axis, key) in ["x_U", "y_U"].iter().enumerate() {
            let found = network.coordinate(&solution.x, "U", axis);
            agrees(&format!("{name} {key}"), found, number(expected, key), 6e-7);
        }
        let residuals = numbers(expected, "residual_computed_minus_observed");
        for k in 0..3 {
            let found = solution.residuals[k] * sd(read[k]);
            agrees(&format!("{name} residual {k}"), found, residuals[k], 6e-11);
        }
        if expected.contains_key("s0") {
            let s0 = solution.sum_of_squares.sqrt();
            agrees("trilateration s0", s0, number(expected, "s0"), 6e-11);
            let covariance = Spectrum::of(&solution.jacobian).covariance(Spectrum::TOLERANCE).unwrap();
            for (axis, key) in ["sd_x", "sd_y"].iter().enumerate() {
                let column = network.column("U", axis).unwrap();
                agrees(key, s0 * covariance[(column, column)].sqrt(), number(expected, key), 6e-11);
            }
            for (k, h) in leverages(&solution.jacobian).iter().enumerate() {
                let redundancy = numbers(expected, "redundancy")[k];
                agrees(&format!("trilateration redundancy {k}"), 1.0 - h, redundancy, 6e-11);
            }
        }
    }
}
