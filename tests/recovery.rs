//! scratch
use nalgebra::DVector;
use tautgrid::adjustment::*;
use tautgrid::analysis::*;
use tautgrid::field::*;
use tautgrid::frame::*;
use tautgrid::machine::*;
use tautgrid::pattern::*;
use tautgrid::planner::*;
use tautgrid::setup::*;
use tautgrid::simulation::*;

fn pattern() -> Pattern {
    Pattern {
        columns: 7,
        rows: 5,
        width_mm: 2300.0,
        height_mm: 1050.0,
        centre: Point::default(),
        hole_diameter_mm: 6.0,
        key: false,
    }
}

#[test]
fn planner_table() {
    let mut s = Setup::example();
    s.instruments.truncate(1);
    s.instruments[0].random_a_mm = 0.35;
    s.instruments[0].random_b_mm_per_m = 0.115;
    s.instruments[0].scale_u_mm_per_m = 0.0;
    let u = [2.0, 0.0, 0.0, 0.0, 3.0, 3.0, 1.0, 1.0, 0.67];
    for (k, unknown) in Unknown::ALL.into_iter().enumerate() {
        s.expected[unknown].u = u[k];
    }
    let holes = pattern().holes();
    for n in [6, 12, 24, 40, 595] {
        let t = std::time::Instant::now();
        let req = Request { readings: n, uses: if n > 100 { 100 } else { 4 }, ..Request::default() };
        let p = plan(&s, &holes, &req).unwrap();
        println!(
            "{n}: {:.4} before {:.3} time {:?} taken {}",
            p.predicted_rms_mm,
            p.before_rms_mm,
            t.elapsed(),
            p.distances.len()
        );
    }
    let p = plan(&s, &holes, &Request { uses: 100, ..Request::default() }).unwrap();
    println!("24 unlimited uses: {:.4}", p.predicted_rms_mm);
    // random
    let req = Request::default();
    let mut acc = 0.0;
    for seed in 0..20u64 {
        let mut d = Design::new(&s, &holes, &req).unwrap();
        let n = d.candidates().len() as u64;
        let mut st = seed * 7919 + 13;
        let mut got = 0;
        while got < 24 {
            st = st.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            let k = ((st >> 33) % n) as usize;
            if !d.taken().contains(&k) {
                d.take(k);
                got += 1;
            }
        }
        acc += d.rms_mm();
    }
    println!("random {:.4}", acc / 20.0);
    let mut d = Design::new(&s, &holes, &req).unwrap();
    let ix = |a: &str| holes.iter().position(|h| h.id == a).unwrap();
    for (a, b) in [("A1", "G1"), ("A5", "G5"), ("A1", "A5"), ("G1", "G5"), ("A1", "G5"), ("A5", "G1")] {
        let k = d
            .candidates()
            .iter()
            .position(|c| {
                c.touches(tautgrid::readings::Place::Hole(ix(a)))
                    && c.touches(tautgrid::readings::Place::Hole(ix(b)))
            })
            .unwrap();
        d.take(k);
    }
    println!("four sides and diagonals {:.4}", d.rms_mm());
}

#[test]
fn hundred() {
    let s = Setup::example();
    let pat = Pattern { key: true, ..pattern() };
    let holes = pat.holes();
    let p = plan(&s, &holes, &Request::default()).unwrap();
    let area = WorkingArea::of_sheet(&s.sheet);
    let pl = area.placement(false);
    let (mut err, mut cut, mut nees, mut chi, mut ss) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let mut aside = 0;
    let mut it = 0;
    let n = 100;
    let t = std::time::Instant::now();
    for seed in 0..n {
        let truth = draw_machine(&s, 1000 + seed);
        let sim = cut_and_read(
            &s,
            truth,
            &holes,
            &p.distances,
            &Disturbance { noise: true, rounding_mm: 0.0, seed },
        )
        .unwrap();
        let a =
            analyse(&Cut { id: "x", setup: &s, pattern: &pat, readings: &sim.readings, blank: 0 }).unwrap();
        aside += a.set_aside.len();
        it = it.max(a.fit.iterations);
        let est = Values::from_fn(|u| a.unknowns[u as usize].estimate.value);
        let d_true = Field::displacement(&s.belief(), &s.nature(truth), &area.points).unwrap();
        let d_est = Field::displacement(&s.belief(), &s.nature(est), &area.points).unwrap();
        let e = pl.remove(&(&d_true - &d_est));
        err += area.rms_mm(&e);
        cut += area.rms_mm(&pl.remove(&d_true));
        let model = Model::new(&s, &holes, &sim.readings).unwrap();
        let f = Fitted::of(&model, &model.start()).unwrap();
        let c = f.theta_covariance(&model);
        let dlt = DVector::from_fn(9, |i, _| f.theta.0[i] - truth.0[i]);
        nees += dlt.dot(&(c.try_inverse().unwrap() * &dlt));
        chi += f.chi_square;
        // scale and skew only: best linear on true
        let sy = tautgrid::symptoms::symptoms(
            &area.points,
            &pl.remove(&d_true),
            &nalgebra::DMatrix::zeros(650, 650),
            false,
        );
        ss += sy.rest_rms_mm;
    }
    let n = n as f64;
    println!(
        "err {:.4} cut {:.3} scale+skew {:.3} nees {:.3} chi {:.2} aside {aside} it {it} time {:?}",
        err / n,
        cut / n,
        ss / n,
        nees / n,
        chi / n,
        t.elapsed() / 100
    );
}

#[test]
fn slips() {
    let s = Setup::example();
    let pat = Pattern { key: true, ..pattern() };
    let holes = pat.holes();
    let p = plan(&s, &holes, &Request::default()).unwrap();
    for (name, size) in
        [("none", 0.0), ("6", 6.0), ("9", 9.0), ("10", -10.0), ("27", 27.0), ("100", 100.0), ("-3", -3.0)]
    {
        for k in 1..=3usize {
            let (mut found, mut wrong, mut err, mut missed_cut) = (0, 0, 0.0, 0);
            let n = 60;
            let t = std::time::Instant::now();
            for seed in 0..n {
                let truth = draw_machine(&s, 5000 + seed);
                let mut sim = cut_and_read(
                    &s,
                    truth,
                    &holes,
                    &p.distances,
                    &Disturbance { noise: true, rounding_mm: 0.5, seed },
                )
                .unwrap();
                let m = sim.readings.len();
                let bad: Vec<usize> = (0..k).map(|j| (seed as usize * 7 + j * 5) % m).collect();
                if size != 0.0 {
                    for (j, &b) in bad.iter().enumerate() {
                        let r = &mut sim.readings[b];
                        let sg = if j % 2 == 0 { 1.0 } else { -1.0 };
                        r.as_read_mm += sg * size;
                        r.distance_mm += sg * size;
                    }
                }
                let a =
                    analyse(&Cut { id: "x", setup: &s, pattern: &pat, readings: &sim.readings, blank: 0 })
                        .unwrap();
                let lines: Vec<usize> = a.set_aside.iter().map(|r| r.line - 2).collect();
                let f = bad.iter().filter(|b| lines.contains(b)).count();
                found += f;
                if f < k {
                    missed_cut += 1;
                }
                wrong += lines.iter().filter(|l| size == 0.0 || !bad.contains(l)).count();
                err += a.error.after.size.rms_mm;
            }
            println!(
                "{name} x{k}: found {found}/{} wrong {wrong} cuts missed {missed_cut} pred {:.3} time {:?}",
                n as usize * k,
                err / n as f64,
                t.elapsed() / n as u32
            );
            if size == 0.0 {
                break;
            }
        }
    }
}
