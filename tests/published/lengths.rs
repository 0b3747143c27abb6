//! Tapes, hanging steel, squareness, critical values, and the drawing of random errors.

use crate::reference::{rows, toml};
use crate::{agrees, number, numbers, section};
use ::toml::Table;
use nalgebra::{DMatrix, DVector};
use serde::Deserialize;
use tautgrid::budget::{Draws, ErrorDistribution};
use tautgrid::field::{Placement, WorkingArea};
use tautgrid::frame::{Point, Sheet};
use tautgrid::machine::{COUNT, ChainKind, ChainLeaves};
use tautgrid::screening::critical_w;
use tautgrid::setup::{self, CLASS_SLOPES_MM_PER_M, CLASSES, Setup};
use tautgrid::symptoms::symptoms;

/// JCGM 101:2008, 9.2.2: the sum of four standard normal inputs. The budget's draws of an error, at a point that is
/// moved by the sum of four unknowns, give |Y|, whose 95 % quantile is the end of the symmetric interval.
#[test]
fn jcgm_101_sum_of_four() {
    let file: Table = toml("gum/jcgm101-9-2.toml");
    let normals = section(&file, "four_standard_normals");
    let area = WorkingArea { columns: 1, rows: 1, points: vec![Point::default()], weights: vec![1.0] };
    let four = |i: usize| if i < 4 { 1.0 } else { 0.0 };
    let by_truth = DMatrix::from_fn(2, COUNT, |axis, k| if axis == 0 { four(k) } else { 0.0 });
    let covariance = DMatrix::from_fn(COUNT, COUNT, |i, j| if i == j { four(i) } else { 0.0 });
    let nothing = DVector::zeros(2);
    let size =
        ErrorDistribution::of(&Draws::new(), &area, &nothing, &by_truth, &covariance, &Placement::known());
    // 20 000 draws: the quantile scatters by 0.03, the root mean square by 0.01.
    agrees("JCGM 101 9.2 u(Y)", size.prediction().size.rms_mm, number(normals, "u"), 0.03);
    agrees(
        "JCGM 101 9.2 end of the 95 % interval",
        size.quantile(0.95),
        numbers(normals, "interval95")[1],
        0.09,
    );
}

/// A tape hung level in the sag exercise: the exact catenary against the printed parabola w^2 L^3 / (24 P^2), which is the
/// first term of a series whose second is -9/80 (w L/P)^2 of it.
#[test]
fn tape_sag_as_printed() {
    let file: Table = toml("catenary/tape-corrections.toml");
    let given = section(&file, "sag_example_read");
    let value = |key: &str| number(given, key);
    let tape = hanging(value("w_N_per_m"), 0.0);
    let sag = value("L_m") - span_m(&tape, value("L_m"), value("P_N"));
    let second = 1.0 - 9.0 / 80.0 * (value("w_N_per_m") * value("L_m") / value("P_N")).powi(2);
    agrees("sag of a tape, m, first term as printed", sag / second, value("Cs_m_printed"), 5e-5);
    agrees("sag of a tape, m, two terms recomputed", sag, value("Cs_m_recomputed") * second, 1e-6);
}

/// Sag and pull together, as an elastic catenary: against the sum of the two textbook corrections.
#[test]
fn tape_sag_and_pull_together() {
    let file: Table = toml("catenary/tape-corrections.toml");
    let given = section(&file, "combined_example");
    let value = |key: &str| number(given, key);
    let compliance = 1.0 / (value("A_mm2") * value("E_N_per_mm2"));
    let unstretched = value("L_m") / (1.0 + compliance * value("P0_N"));
    let tape = hanging(value("w_N_per_m"), compliance);
    let expected = value("L_m") + value("Cp_m_per_tape") - value("Cs_m_per_tape");
    // Textbook corrections are of first order: the next terms are some 5e-6 m.
    agrees("span of a tape, sag and pull, m", span_m(&tape, unstretched, value("P_N")), expected, 1e-5);
    let warmth =
        Setup::example().instruments[0].thermal_mm_per_m(Some(value("T_degC"))) * value("L_m") / 1000.0;
    // The exercise's steel grows by 11.7e-6 per K, the GUM's and ours by 11.5e-6.
    let of_gum_steel = value("Ct_m_per_tape") * 11.5e-6 / value("alpha_per_K");
    agrees("warmth of a tape, m", warmth, of_gum_steel, 1e-12);
}

fn hanging(weight_n_per_m: f64, compliance_per_n: f64) -> ChainKind<f64> {
    ChainKind {
        radius_mm: 0.0,
        leaves: ChainLeaves::Over,
        weight_n_per_mm: weight_n_per_m / 1000.0,
        compliance_per_n,
    }
}

/// Span of a tape of an unstretched length, its ends level, pulled horizontally.
fn span_m(tape: &ChainKind<f64>, length_m: f64, pull_n: f64) -> f64 {
    let vertical = tape.weight_n_per_mm * length_m * 1000.0 / 2.0;
    let end = tape.hang(pull_n, vertical, length_m * 1000.0);
    assert!(end.down_mm.abs() < 1e-9, "{}", end.down_mm);
    end.inward_mm / 1000.0
}

/// MI-008: the slope of each class becomes the tape's shared scale as a rectangular distribution does.
#[test]
fn tape_classes_of_mi_008() {
    let file: Table = toml("length/mid-mi008-length-measures.toml");
    let template = setup::template("router", tautgrid::frame::Unit::Mm);
    for (class, slope) in CLASSES.iter().zip(CLASS_SLOPES_MM_PER_M) {
        let table = section(section(&file, "class"), class);
        agrees(&format!("MI-008 class {class}, mm/m"), slope, number(table, "b_mm_per_m"), 0.0);
        let text = template.replace("class = \"II\"", &format!("class = \"{class}\""));
        let (setup, _) = setup::read(&text).unwrap();
        let u = setup.instruments[0].scale_u_mm_per_m;
        agrees(&format!("MI-008 class {class}, u of the scale"), u, slope / 3.0_f64.sqrt(), 1e-15);
    }
}

#[derive(Deserialize)]
struct WRow {
    alpha_two_sided: f64,
    critical_w: f64,
}

/// Critical values of Baarda's w, one reading at a time, and at the level of a whole cut. The tau of Pope is for an
/// unknown scatter; ours is stated, which is its row for infinitely many degrees of freedom.
#[test]
fn critical_values() {
    for row in rows::<WRow>("outliers/w-test-critical-values.csv") {
        let found = critical_w(1, row.alpha_two_sided);
        agrees(&format!("critical w at {}", row.alpha_two_sided), found, row.critical_w, 5e-7);
        // A whole cut of 24 at 1 - (1 - alpha)^24 judges each at alpha.
        let whole = 1.0 - (1.0 - row.alpha_two_sided).powi(24);
        agrees("  the same, of 24 judged at once", critical_w(24, whole), row.critical_w, 5e-7);
    }
    let text = crate::reference::text("outliers/tau-critical-values.csv");
    let last: Vec<&str> = text.lines().last().unwrap().split(',').collect();
    for (alpha, tau) in [0.05, 0.01, 0.001].iter().zip(&last[1..4]) {
        agrees(
            &format!("tau of known scatter at {alpha}"),
            critical_w(1, *alpha),
            tau.parse().unwrap(),
            5e-7,
        );
    }
}

#[derive(Deserialize)]
struct Parallelogram {
    side_a_mm: f64,
    side_b_mm: f64,
    shear_rad: f64,
    long_diagonal_mm: f64,
    short_diagonal_mm: f64,
}

/// Corners placed by two sides and a diagonal (parallelogram law) show the shear as skew, within its square.
#[test]
fn squareness_from_diagonals() {
    for row in rows::<Parallelogram>("machine-tool/squareness-from-diagonals.csv") {
        let (a, b) = (row.side_a_mm, row.side_b_mm);
        // The third corner from its distances to the first two; leaning right makes the rising diagonal long.
        let d = row.long_diagonal_mm;
        let lean = (d * d - a * a - b * b) / (2.0 * a);
        let up = (b * b - lean * lean).sqrt();
        let short = (a - lean).hypot(up);
        agrees("  the other diagonal, mm", short, row.short_diagonal_mm, 2e-9);
        let sheet = Sheet { width_mm: a, height_mm: b };
        let targets = sheet.lattice(2, 2, 0.0);
        let corner = Point::new(-a / 2.0, -b / 2.0);
        let places = [(0.0, 0.0), (a, 0.0), (lean, up), (a + lean, up)];
        let moved = targets.iter().zip(places).flat_map(|(t, (x, y))| {
            let by = corner + Point::new(x, y) - *t;
            [by.x_mm, by.y_mm]
        });
        let displacement = DVector::from_iterator(8, moved);
        let skew = symptoms(&targets, &displacement, &DMatrix::zeros(8, 8), true).skew.estimate.value;
        agrees("skew of a parallelogram, mm/m", skew, 1000.0 * row.shear_rad, 1e-6);
    }
}
