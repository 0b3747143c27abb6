//! The machine against things outside it: an independent solver, published tables, its own derivatives.

use proptest::prelude::*;
use tautgrid::frame::{Point, Sheet};
use tautgrid::machine::{
    Attachment, COUNT, ChainKind, ChainLeaves, Hardware, Machine, Unknown, Unreachable, Values, land,
};

/// The machine of the documentation's sample file, as its owner would describe it.
fn usual() -> Machine {
    Machine {
        hardware: Hardware {
            teeth: 12,
            pitch_mm: 8.0,
            chain_leaves: ChainLeaves::Over,
            chain_mass_kg_per_m: 0.18,
            carriage_mass_kg: 13.0,
            lean_deg: 12.0,
            attachment: Attachment::Converging,
        },
        sheet: Sheet { width_mm: 2500.0, height_mm: 1250.0 },
        values: Values([3300.0, 520.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.35, 0.0, 0.0, 0.0]),
        sag: true,
    }
}

/// The same with a sled that hangs from two pivots: mm from each other, above the bit, and the mass below them.
fn on_pivots(apart: f64, above: f64, drop: f64) -> Machine {
    let mut machine = usual();
    machine.hardware.attachment = Attachment::Apart;
    machine.values[Unknown::Apart] = apart;
    machine.values[Unknown::Above] = above;
    machine.values[Unknown::MassAbove] = above - drop;
    machine
}

/// A table of an independent solver: for each place the worst difference in mm, N and rad.
fn against_solver(text: &str, attachment: Attachment) -> (usize, [f64; 3]) {
    let mut lines = text.lines().filter(|l| !l.starts_with('#'));
    let names: Vec<&str> = lines.next().unwrap().split(',').collect();
    let (mut worst, mut cases) = ([0.0_f64; 3], 0);
    for line in lines {
        let fields: Vec<&str> = line.split(',').collect();
        let column = |name: &str| names.iter().position(|n| *n == name);
        let text = |name: &str| fields[column(name).unwrap()];
        let number = |name: &str| text(name).parse::<f64>().unwrap();
        let machine = Machine {
            hardware: Hardware {
                teeth: number("teeth") as u32,
                pitch_mm: number("pitch"),
                chain_leaves: if text("leaves") == "over" { ChainLeaves::Over } else { ChainLeaves::Under },
                chain_mass_kg_per_m: number("chain"),
                carriage_mass_kg: number("carriage"),
                lean_deg: number("lean"),
                attachment,
            },
            sheet: Sheet { width_mm: number("sheet_width"), height_mm: number("sheet_height") },
            values: Values::from_fn(|u| column(u.name()).map_or(0.0, |_| number(u.name()))),
            sag: true,
        };
        let paid = [number("paid_left"), number("paid_right")];
        let expected = Point::new(number("x"), number("y"));
        let landing = machine.settle(paid, Point::default()).unwrap_or_else(|e| panic!("{line}: {e}"));
        let turn = column("turn").map_or(0.0, |_| number("turn"));
        for (worst, off) in worst.iter_mut().zip([
            landing.at.distance_mm(expected),
            (landing.tension_n[0] - number("tension_left"))
                .abs()
                .max(landing.tension_n[1] - number("tension_right")),
            (landing.turn_rad - turn).abs(),
        ]) {
            *worst = worst.max(off.abs());
        }
        cases += 1;
    }
    (cases, worst)
}

/// Solved by SciPy from the same physics with other code: tests/reference/machine/balance.py and apart.py.
#[test]
fn settles_where_an_independent_solver_finds_balance() {
    for (text, attachment, wanted) in [
        (include_str!("reference/machine/balance.csv"), Attachment::Converging, 84),
        (include_str!("reference/machine/apart.csv"), Attachment::Apart, 108),
    ] {
        let (cases, [mm, n, rad]) = against_solver(text, attachment);
        println!("{attachment:?}: {cases} places: within {mm:.1e} mm, {n:.1e} N, {rad:.1e} rad of SciPy");
        assert_eq!(cases, wanted);
        assert!(mm < 1e-6, "{mm} mm"); // wanted: 0.005 mm; the tables have nine decimals
        assert!(n < 1e-6 && rad < 1e-8, "{n} N, {rad} rad");
    }
}

/// As the pivots come together at the bit, the sled hangs like one whose chains converge there, and the tensions with it.
#[test]
fn a_sled_with_its_pivots_at_the_bit_is_a_converging_one() {
    let converging = usual();
    for target in [Point::new(-1150.0, -525.0), Point::new(0.0, 0.0), Point::new(900.0, 525.0)] {
        let one = land(&converging, &converging, target).unwrap();
        for size in [1.0_f64, 1e-3, 1e-6] {
            let mut sled = on_pivots(size, 0.3 * size, 0.4 * size);
            let at = sled.settle(converging.pay_out(target).unwrap().paid_mm, target).unwrap();
            // Nowhere is it off by much more than the sled is large.
            assert!(at.at.distance_mm(one.at) < 3.0 * size + 1e-9, "{size}: {:?} {:?}", at.at, one.at);
            assert!((at.tension_n[0] - one.tension_n[0]).abs() < size, "{size}");
            // Neither does its controller ask for other lengths.
            sled.sag = false;
            sled.values[Unknown::Stretch] = 0.0;
            let mut plain = converging;
            (plain.sag, plain.values[Unknown::Stretch]) = (false, 0.0);
            let (a, b) = (sled.pay_out(target).unwrap().paid_mm, plain.pay_out(target).unwrap().paid_mm);
            assert!(
                (a[0] - b[0]).abs() < 2.0 * size + 1e-9 && (a[1] - b[1]).abs() < 2.0 * size + 1e-9,
                "{a:?} {b:?}"
            );
        }
    }
}

/// Three forces on a body in balance meet in one point (common statics): straight chains, drawn on from their pivots,
/// cross above or below the centre of mass.
#[test]
fn the_lines_of_the_chains_cross_plumb_with_the_centre_of_mass() {
    let mut m = on_pivots(300.0, 90.0, 110.0);
    (m.hardware.chain_mass_kg_per_m, m.hardware.pitch_mm, m.values[Unknown::Stretch]) = (0.0, 1e-9, 0.0);
    for target in [Point::new(-1100.0, -500.0), Point::new(300.0, 100.0), Point::new(1000.0, 500.0)] {
        let landing = land(&m, &m, target).unwrap();
        let (sin, cos) = landing.turn_rad.sin_cos();
        let on_sled = |x: f64, y: f64| target + Point::new(x * cos - y * sin, x * sin + y * cos);
        let (left, right, mass) = (on_sled(-150.0, 90.0), on_sled(150.0, 90.0), on_sled(0.0, -20.0));
        let (from_left, from_right) =
            (left - Point::new(-1650.0, 1145.0), right - Point::new(1650.0, 1145.0));
        // left + s from_left = right + t from_right
        let cross = |a: Point, b: Point| a.x_mm * b.y_mm - a.y_mm * b.x_mm;
        let s = cross(right - left, from_right) / cross(from_left, from_right);
        assert!(((left + from_left * s).x_mm - mass.x_mm).abs() < 1e-6, "{target:?}");
    }
}

#[test]
fn refuses_a_sled_that_tips() {
    let at =
        |m: Machine, x, y| m.pay_out(Point::new(x, y)).and_then(|p| m.settle(p.paid_mm, Point::new(x, y)));
    assert!(at(on_pivots(250.0, 80.0, 80.0), 1150.0, -525.0).is_ok());
    // Its mass far above its pivots: nothing but the pull of the chains holds it up, and low on the sheet that is weak.
    assert_eq!(at(on_pivots(250.0, -60.0, -200.0), 0.0, -500.0).unwrap_err(), Unreachable::Tips);
    assert_eq!(at(on_pivots(250.0, 80.0, -40.0), 1150.0, -525.0).unwrap_err(), Unreachable::Tips);
}

/// Exact catenaries computed with 30 digits (tests/reference/catenary/catenary-exact.csv).
#[test]
fn hangs_as_the_exact_catenary() {
    for line in
        include_str!("reference/catenary/catenary-exact.csv").lines().filter(|l| !l.starts_with('#')).skip(1)
    {
        let v: Vec<f64> = line.split(',').map(|f| f.parse().unwrap()).collect();
        let (span, rise, weight, h, arc) = (v[0] * 1e3, v[1] * 1e3, v[2] / 1e3, v[3], v[4] * 1e3);
        // Begin at the upper end: the near one, or both alike.
        let v_top = (v[9] * v[9] - h * h).sqrt();
        let chain = ChainKind {
            radius_mm: 0.0,
            leaves: ChainLeaves::Over,
            weight_n_per_mm: weight,
            compliance_per_n: 0.0,
        };
        let end = chain.hang(h, v_top, arc);
        // The tensions are printed to 12 digits; the position feels that through V.
        assert!((end.inward_mm - span).abs() < 1e-6 * span, "{line}: {}", end.inward_mm);
        assert!((end.down_mm + rise).abs() < 1e-6 * span, "{line}: {}", end.down_mm);
    }
}

/// Pitch diameters of 25.4 mm sprockets, N = 9 to 40, printed to 0.01 mm in a wheel maker's table (read).
#[test]
fn pitch_radius_is_that_of_the_sprocket_tables() {
    let table = include_str!("reference/chain/sprocket-pitch-diameter.csv");
    let mut seen = 0;
    for line in table.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let (teeth, Ok(printed_mm)) = (fields[0].parse().unwrap(), fields[3].parse::<f64>()) else {
            continue;
        };
        let hardware = Hardware { teeth, pitch_mm: 25.4, ..usual().hardware };
        assert!((2.0 * hardware.pitch_radius_mm() - printed_mm).abs() <= 0.005, "{teeth}: {printed_mm}");
        seen += 1;
    }
    assert_eq!(seen, 32);
}

/// A drawing worked by hand for both ways of leaving: sprocket of R = 3, carriage 5 from the axis, level with it, so
/// that the free span is 4 and the tangent point is at 3-4-5 angles.
#[test]
fn wrap_is_that_of_the_drawing() {
    let chain = |leaves| ChainKind { radius_mm: 3.0, leaves, weight_n_per_mm: 0.0, compliance_per_n: 0.0 };
    let half = (3.0_f64 / 5.0).asin();
    let over = chain(ChainLeaves::Over).plain_length_mm(5.0, 0.0);
    let under = chain(ChainLeaves::Under).plain_length_mm(5.0, 0.0);
    assert!((over - (4.0 + 3.0 * half)).abs() < 1e-12);
    // From under, the chain rises to a carriage level with the axis: 12 o'clock, round the outside, past 6 o'clock.
    assert!((under - (4.0 + 3.0 * (std::f64::consts::PI + half))).abs() < 1e-12);
    // Hanging straight down, over leaves at 3 o'clock, under at 9 o'clock.
    let over_down = chain(ChainLeaves::Over).plain_length_mm(3.0, 4.0);
    let under_down = chain(ChainLeaves::Under).plain_length_mm(-3.0, 4.0);
    assert!((over_down - (4.0 + 3.0 * std::f64::consts::FRAC_PI_2)).abs() < 1e-12);
    assert!((under_down - (4.0 + 3.0 * std::f64::consts::FRAC_PI_2)).abs() < 1e-12);
}

/// Two straight chains and a weight at one point: H (tan a + tan b) = W, common statics.
#[test]
fn tensions_are_those_of_a_weight_on_two_strings() {
    let mut machine = usual();
    machine.hardware.chain_mass_kg_per_m = 0.0;
    machine.hardware.pitch_mm = 1e-9; // sprockets of no size
    machine.values[Unknown::Stretch] = 0.0;
    let target = Point::new(-700.0, 100.0);
    let landing = land(&machine, &machine, target).unwrap();
    let (left, right) = ((950.0_f64, 1045.0), (2350.0, 1045.0));
    let h = machine.hardware.carriage_weight_n() / (left.1 / left.0 + right.1 / right.0);
    assert!((landing.tension_n[0] - h * left.0.hypot(left.1) / left.0).abs() < 1e-6);
    assert!((landing.tension_n[1] - h * right.0.hypot(right.1) / right.0).abs() < 1e-6);
}

#[test]
fn refuses_places_the_chains_cannot_hold() {
    let m = usual();
    let at = |x, y| m.pay_out(Point::new(x, y)).and_then(|p| m.settle(p.paid_mm, Point::new(x, y)));
    assert_eq!(at(0.0, 1140.0).unwrap_err(), Unreachable::NearLevel(tautgrid::machine::Side::Left));
    assert!(matches!(at(-1900.0, 0.0).unwrap_err(), Unreachable::Slack(_)));
    assert!(matches!(at(1640.0, -600.0).unwrap_err(), Unreachable::Slack(_)));
    assert!(at(1150.0, -525.0).is_ok());
    let nan = at(f64::NAN, 0.0);
    assert!(nan.is_err());
}

/// A machine near the usual one, with converging chains or a sled on two pivots, any chain from 0.05 to 0.8 kg/m, any
/// place on the sheet.
fn any_case() -> impl Strategy<Value = (Machine, Point)> {
    (
        prop::array::uniform9(-3.0..3.0_f64),
        0.05..0.8_f64,
        8_u32..22,
        any::<bool>(),
        any::<bool>(),
        (-1150.0..1150.0_f64, -525.0..525.0_f64),
        prop::option::of((100.0..500.0_f64, -50.0..150.0_f64, 0.2..0.7_f64)),
    )
        .prop_map(|(z, mass, teeth, under, sag, (x, y), sled)| {
            let mut m = sled.map_or(usual(), |(apart, above, drop)| on_pivots(apart, above, drop * apart));
            let u = [2.0, 3.0, 1.0, 3.0, 3.0, 3.0, 1.0, 1.0, 0.1];
            for k in 0..u.len() {
                m.values.0[k] += z[k] * u[k];
            }
            m.hardware.chain_mass_kg_per_m = mass;
            m.hardware.teeth = teeth;
            m.hardware.chain_leaves = if under { ChainLeaves::Under } else { ChainLeaves::Over };
            m.sag = sag;
            (m, Point::new(x, y))
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// What a controller that knows everything pays out, lands where it was meant.
    #[test]
    fn forward_then_inverse_returns_the_target((m, target) in any_case()) {
        let landing = land(&m, &m, target).unwrap();
        prop_assert!(landing.at.distance_mm(target) < 1e-9, "{}", landing.at.distance_mm(target));
    }

    /// Exact partials against central differences, for belief, truth and target.
    #[test]
    fn partials_are_those_of_differences((belief, target) in any_case(), z in prop::array::uniform9(-1.0..1.0_f64)) {
        let mut truth = belief;
        truth.sag = true;
        for k in 0..COUNT {
            truth.values.0[k] += z[k % z.len()] * 0.3;
        }
        truth.values[Unknown::Stretch] = belief.values[Unknown::Stretch] * 1.1;
        let payout = belief.pay_out(target).unwrap();
        let landing = truth.settle(payout.paid_mm, target).unwrap();
        let (by_belief, by_target) = (landing.by_belief(&payout), landing.by_target(&payout));
        let check = |name: &str, exact: [f64; 2], plus: Point, minus: Point, step: f64| {
            let d = (plus - minus) * (0.5 / step);
            let scale = 1.0 + exact[0].abs() + exact[1].abs();
            prop_assert!((d.x_mm - exact[0]).abs() < 3e-6 * scale, "{name}: {} {}", d.x_mm, exact[0]);
            prop_assert!((d.y_mm - exact[1]).abs() < 3e-6 * scale, "{name}: {} {}", d.y_mm, exact[1]);
            Ok(())
        };
        for (k, unknown) in Unknown::ALL.into_iter().enumerate() {
            // A controller that is told of no stretch at all changes model there, so only change one that is.
            let step = if unknown == Unknown::Stretch { 1e-3 } else { 1e-2 };
            let moved = |m: &Machine, s: f64| { let mut m = *m; m.values.0[k] += s; m };
            let at = |b: &Machine, t: &Machine| land(b, t, target).unwrap().at;
            check(unknown.name(), [landing.by_truth[0][k], landing.by_truth[1][k]],
                at(&belief, &moved(&truth, step)), at(&belief, &moved(&truth, -step)), step)?;
            check(unknown.name(), [by_belief[0][k], by_belief[1][k]],
                at(&moved(&belief, step), &truth), at(&moved(&belief, -step), &truth), step)?;
        }
        for (k, e) in [Point::new(0.01, 0.0), Point::new(0.0, 0.01)].into_iter().enumerate() {
            check("target", [by_target[0][k], by_target[1][k]],
                land(&belief, &truth, target + e).unwrap().at, land(&belief, &truth, target - e).unwrap().at, 0.01)?;
        }
    }

    /// Moving the whole beam moves the whole cut, and nothing else (axes as documented).
    #[test]
    fn beam_moves_carry_the_cut_along((m, target) in any_case()) {
        let mut moved = m;
        moved.values[Unknown::Height] += 7.0;
        moved.values[Unknown::Offset] -= 4.0;
        let d = land(&m, &moved, target).unwrap().at - land(&m, &m, target).unwrap().at;
        prop_assert!((d - Point::new(-4.0, 7.0)).norm_mm() < 0.15, "{d:?}");
    }
}
