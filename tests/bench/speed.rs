//! How long the parts take: `cargo bench`.

use divan::{Bencher, black_box};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use tautgrid::adjustment::{Fitted, Model};
use tautgrid::analysis::{Analysis, Cut, analyse};
use tautgrid::frame::Point;
use tautgrid::machine::land;
use tautgrid::pattern::Pattern;
use tautgrid::planner::{Planned, Request, plan};
use tautgrid::readings::{Place, Reading};
use tautgrid::report;
use tautgrid::setup::Setup;
use tautgrid::simulation::{Disturbance, cut_and_read, draw_machine};

fn main() {
    divan::main();
}

fn pattern(columns: usize, rows: usize) -> Pattern {
    Pattern {
        columns,
        rows,
        width_mm: 2300.0,
        height_mm: 1050.0,
        centre: Point::default(),
        hole_diameter_mm: 6.0,
        key: true,
    }
}

/// The usual cut: 36 holes, 24 distances of a machine drawn from what is expected.
fn usual() -> (Setup, Pattern, Vec<Reading>) {
    let setup = Setup::example();
    let pattern = pattern(7, 5);
    let holes = pattern.holes();
    let distances = plan(&setup, &holes, &Request::default()).unwrap().distances;
    let disturbance = Disturbance { noise: true, rounding_mm: 0.5, seed: 1 };
    let cut = cut_and_read(&setup, draw_machine(&setup, 1), &holes, &distances, &disturbance).unwrap();
    (setup, pattern, cut.readings)
}

fn analysis() -> Analysis {
    let (setup, pattern, readings) = usual();
    analyse(&Cut { id: "bench", setup: &setup, pattern: &pattern, readings: &readings, blank: 0 }).unwrap()
}

/// Where one target lands, with all partials.
#[divan::bench]
fn land_one_point(b: Bencher) {
    let setup = Setup::example();
    let (belief, truth) = (setup.belief(), setup.nature(draw_machine(&setup, 1)));
    b.bench(|| land(&belief, &truth, black_box(Point::new(-900.0, 300.0))));
}

/// The adjustment alone: 24 distances, 36 holes.
#[divan::bench]
fn one_estimate(b: Bencher) {
    let (setup, pattern, readings) = usual();
    let model = Model::new(&setup, &pattern.holes(), &readings).unwrap();
    b.bench(|| Fitted::of(black_box(&model), &model.start()));
}

/// Everything that `analyse --json` works out.
#[divan::bench]
fn whole_analysis(b: Bencher) {
    let (setup, pattern, readings) = usual();
    b.bench(|| {
        analyse(&Cut { id: "b", setup: &setup, pattern: &pattern, readings: black_box(&readings), blank: 0 })
    });
}

/// A cut of this many holes across and up, each pair of holes drawn at random read once.
fn large(columns: usize, rows: usize, readings: usize) -> (Setup, Pattern, Vec<Reading>) {
    let setup = Setup::example();
    let pattern = pattern(columns, rows);
    let holes = pattern.holes();
    let mut rng = Pcg64Mcg::seed_from_u64(7);
    let mut draw = || rng.random_range(0..holes.len());
    let distances: Vec<Planned> = std::iter::repeat_with(|| (draw(), draw()))
        .filter(|(i, j)| i != j)
        .take(readings)
        .map(|(i, j)| Planned {
            from: Place::Hole(i),
            to: Place::Hole(j),
            instrument: 0,
            length_mm: holes[i].target.distance_mm(holes[j].target),
        })
        .collect();
    let disturbance = Disturbance { noise: true, rounding_mm: 0.5, seed: 1 };
    let cut = cut_and_read(&setup, draw_machine(&setup, 1), &holes, &distances, &disturbance).unwrap();
    (setup, pattern, cut.readings)
}

/// Everything that `analyse --json` works out of a large cut: 100 holes and 1000 readings to 2000 and 20 000.
#[divan::bench(args = [(10, 10, 1000), (25, 20, 5000), (50, 40, 20_000)], sample_count = 2)]
fn large_analysis(b: Bencher, (columns, rows, readings): (usize, usize, usize)) {
    let (setup, pattern, readings) = large(columns, rows, readings);
    b.bench_local(|| {
        analyse(&Cut { id: "b", setup: &setup, pattern: &pattern, readings: black_box(&readings), blank: 0 })
    });
}

/// 24 distances out of all pairs of the holes.
#[divan::bench(args = [(7, 5), (10, 10)], sample_count = 10)]
fn plan_24(b: Bencher, (columns, rows): (usize, usize)) {
    let setup = Setup::example();
    let holes = pattern(columns, rows).holes();
    b.bench(|| plan(&setup, black_box(&holes), &Request::default()));
}

#[divan::bench(sample_count = 20)]
fn heatmap_png(b: Bencher) {
    let a = analysis();
    b.bench(|| report::heatmap::png(black_box(&a)));
}

#[divan::bench(sample_count = 20)]
fn heatmap_svg(b: Bencher) {
    let a = analysis();
    b.bench(|| report::heatmap::svg(black_box(&a)));
}

#[divan::bench(sample_count = 20)]
fn report_html(b: Bencher) {
    let a = analysis();
    b.bench(|| report::html::render(black_box(&a)));
}
