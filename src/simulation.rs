//! A cut that was never made: what a person would read off a machine with known faults.

use crate::frame::{Edge, Point};
use crate::machine::{COUNT, Unknown, Unreachable, Values, land};
use crate::pattern::Hole;
use crate::planner::Planned;
use crate::readings::{How, Place, Reading};
use crate::setup::{Setup, lower_root};
use nalgebra::DMatrix;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// What disturbs a simulated reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disturbance {
    /// Do holes scatter, and instruments err, as the setup states?
    pub noise: bool,
    /// Readings are rounded to this, mm; 0 for none.
    pub rounding_mm: f64,
    /// Seed of the draws. The same seed gives the same readings with the same version of the program.
    pub seed: u64,
}

/// A simulated cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Simulated {
    /// Where each hole truly is.
    pub places: Vec<Point>,
    /// The readings, one for each distance asked for, centre to centre; line k + 2 for the k-th.
    pub readings: Vec<Reading>,
}

/// Draws a real machine from what is expected: the unknowns jointly normal about their expected values.
pub fn draw_machine(setup: &Setup, seed: u64) -> Values<f64> {
    let mut rng = Pcg64Mcg::seed_from_u64(seed);
    let z: [f64; COUNT] = std::array::from_fn(|_| StandardNormal.sample(&mut rng));
    // A setup that could be read has a covariance with a root.
    let root = lower_root(&setup.expected_covariance()).unwrap_or_else(|| DMatrix::zeros(COUNT, COUNT));
    Values::from_fn(|u: Unknown| {
        let k = u as usize;
        setup.expected[u].value + (0..=k).map(|j| root[(k, j)] * z[j]).sum::<f64>()
    })
}

/// Cuts the holes on a real machine and reads the distances off.
///
/// # Errors
/// When the carriage cannot hang at a hole.
pub fn cut_and_read(
    setup: &Setup,
    truth: Values<f64>,
    holes: &[Hole],
    distances: &[Planned],
    disturbance: &Disturbance,
) -> Result<Simulated, Unreachable> {
    cut_and_read_with(setup, truth, holes, distances, disturbance, None)
}

/// As [`cut_and_read`], with instruments whose scale (mm/m) and zero (mm) errors are given, as those of one tape that is
/// used for many cuts.
///
/// # Errors
/// When the carriage cannot hang at a hole.
pub fn cut_and_read_with(
    setup: &Setup,
    truth: Values<f64>,
    holes: &[Hole],
    distances: &[Planned],
    disturbance: &Disturbance,
    instruments: Option<&[(f64, f64)]>,
) -> Result<Simulated, Unreachable> {
    let (belief, nature) = (setup.belief(), setup.nature(truth));
    let landings = holes
        .iter()
        .map(|hole| Ok(land(&belief, &nature, hole.target)?.at))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(read_off(setup, &landings, distances, disturbance, instruments))
}

/// Scatters holes about where a machine puts them, and reads the distances off.
pub fn read_off(
    setup: &Setup,
    landings: &[Point],
    distances: &[Planned],
    disturbance: &Disturbance,
    instruments: Option<&[(f64, f64)]>,
) -> Simulated {
    let mut rng = Pcg64Mcg::seed_from_u64(disturbance.seed);
    let size = if disturbance.noise { 1.0 } else { 0.0 };
    let mut normal = move || -> f64 { size * Distribution::<f64>::sample(&StandardNormal, &mut rng) };
    let mut scatter = || Point::new(normal(), normal()) * setup.hole_scatter_mm;
    let places: Vec<Point> = landings.iter().map(|&at| at + scatter()).collect();
    let drawn: Vec<(f64, f64)> =
        setup.instruments.iter().map(|i| (i.scale_u_mm_per_m * normal(), i.zero_u_mm * normal())).collect();
    let shared = instruments.unwrap_or(&drawn);
    let readings = distances
        .iter()
        .enumerate()
        .map(|(k, planned)| {
            let true_mm = true_distance_mm(setup, &places, planned);
            let instrument = &setup.instruments[planned.instrument];
            let (scale, zero) = shared.get(planned.instrument).copied().unwrap_or_default();
            let noise = instrument.random_u_mm(true_mm) * normal();
            let read = true_mm * (1.0 + scale / 1000.0) + zero + noise;
            // A fine instrument is read finer than a tape.
            let rounding_mm = disturbance.rounding_mm.min(2.0 * instrument.random_a_mm);
            let rounded = if rounding_mm > 0.0 { (read / rounding_mm).round() * rounding_mm } else { read };
            Reading {
                line: k + 2,
                from: planned.from,
                to: planned.to,
                as_read_mm: rounded,
                start_mm: 0.0,
                thermal_mm_per_m: 0.0,
                how: How::Centre,
                distance_mm: rounded,
                instrument: planned.instrument,
                note: String::new(),
            }
        })
        .collect();
    Simulated { places, readings }
}

/// The distance as a perfect instrument would read it, mm.
fn true_distance_mm(setup: &Setup, places: &[Point], planned: &Planned) -> f64 {
    let edge = |e: Edge, i: usize| setup.sheet.from_edge_mm(e, places[i]);
    match (planned.from, planned.to) {
        (Place::Hole(i), Place::Hole(j)) => places[i].distance_mm(places[j]),
        (Place::Edge(e), Place::Hole(i)) | (Place::Hole(i), Place::Edge(e)) => edge(e, i),
        (Place::Edge(Edge::Left | Edge::Right), Place::Edge(_)) => setup.sheet.width_mm,
        (Place::Edge(_), Place::Edge(_)) => setup.sheet.height_mm,
    }
}
