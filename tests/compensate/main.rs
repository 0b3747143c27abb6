//! Jobs bent and carried out on the machine they were bent for: they land where the first job meant.
//!
//! The table before and after is printed by `cargo test --test compensate -- --nocapture before_and_after`.

mod command;
mod control;
mod random;

use control::{Carried, Way, Xy, apart, carry_out};
use tautgrid::frame::{Point, Unit};
use tautgrid::job::{Bend, Options, Refused, Summary, TABLE_MM, compensate, sent_for};
use tautgrid::machine::{Machine, Unknown, land};
use tautgrid::setup::Setup;

/// What is promised beside the chord tolerance, mm: rounding to three decimals, the table, the reading of an arc.
const BESIDE_MM: f64 = 0.005;
const CHORD_MM: f64 = 0.02;

/// A controller and the machine it drives.
struct Pair {
    name: &'static str,
    belief: Machine,
    truth: Machine,
}

fn pair(name: &'static str, faults: &[(Unknown, f64)], change: impl Fn(&mut Setup)) -> Pair {
    let mut setup = Setup::example();
    change(&mut setup);
    let mut values = setup.settings;
    for &(unknown, by) in faults {
        values[unknown] += by;
    }
    Pair { name, belief: setup.belief(), truth: setup.nature(values) }
}

fn pairs() -> Vec<Pair> {
    use Unknown::*;
    vec![
        pair(
            "light chain, set-up by tape",
            &[(Spacing, 2.5), (LengthLeft, -2.0), (PitchRight, 0.8), (Stretch, 0.35)],
            |_| {},
        ),
        pair("heavy chain", &[(Height, 3.0), (LengthRight, 4.0), (Stretch, 0.2)], |s| {
            s.hardware.chain_mass_kg_per_m = 0.41;
        }),
        pair("tilted, off the middle", &[(Tilt, 3.0), (Offset, -6.0), (PitchLeft, -1.0)], |_| {}),
        pair("controller with sag", &[(Spacing, -3.0), (LengthLeft, 3.0), (Stretch, 0.3)], |s| s.sag = true),
    ]
}

fn options(unit: Option<Unit>) -> Options {
    Options { chord_mm: CHORD_MM, zero: Point::default(), unit, header: Vec::new() }
}

fn bend(pair: &Pair) -> Bend {
    Bend::new(&pair.belief, &pair.truth, 0.0).unwrap()
}

fn bent(job: &str, bend: &Bend, options: &Options) -> Result<(String, Summary), Refused> {
    let mut out = Vec::new();
    let summary = compensate(&mut job.as_bytes(), &mut out, bend, options).unwrap()?;
    Ok((String::from_utf8(out).unwrap(), summary))
}

/// Where a machine lands when sent to a place.
fn landed(pair: &Pair, zero: Point, (x, y): Xy) -> Xy {
    let at = land(&pair.belief, &pair.truth, Point::new(x, y) + zero).unwrap().at - zero;
    (at.x_mm, at.y_mm)
}

/// Errors of a job against what was meant, mm.
#[derive(Debug, Default)]
struct Errors {
    worst: f64,
    squares: f64,
    count: usize,
}

impl Errors {
    fn take(&mut self, error: f64) {
        assert!(error.is_finite());
        self.worst = self.worst.max(error);
        self.squares += error * error;
        self.count += 1;
    }

    fn rms(&self) -> f64 {
        (self.squares / self.count.max(1) as f64).sqrt()
    }
}

/// How far a job, as it is, lands from the places it means.
fn before(meant: &Carried, pair: &Pair, zero: Point) -> Errors {
    let mut errors = Errors::default();
    for motion in meant.motions.iter().filter(|m| m.across) {
        for k in 1..=50 {
            let place = motion.way.at(f64::from(k) / 50.0);
            errors.take(apart(landed(pair, zero, place), place));
        }
    }
    errors
}

/// How far a bent job lands from the way it means; every motion must end where it was meant to.
fn after(meant: &Carried, bent: &Carried, pair: &Pair, zero: Point) -> Errors {
    let mut errors = Errors::default();
    let mut steps = bent.motions.iter().filter(|m| m.across);
    for motion in meant.motions.iter().filter(|m| m.across) {
        let mut turned = 0.0;
        loop {
            let step = steps.next().expect("the bent job ends early");
            assert!(!matches!(step.way, Way::Arc { .. }), "an arc in a bent job");
            assert_eq!(matches!(step.way, Way::Rapid { .. }), matches!(motion.way, Way::Rapid { .. }));
            assert_eq!(step.feed, motion.feed);
            let parts = if matches!(step.way, Way::Rapid { .. }) { 1 } else { 6 };
            for k in 1..=parts {
                errors.take(motion.way.distance(landed(
                    pair,
                    zero,
                    step.way.at(f64::from(k) / f64::from(parts)),
                )));
            }
            // A whole circle ends where it begins: count how far round it went.
            if let (Way::Arc { middle, .. }, Way::Straight { from: Some(from), to }) = (motion.way, step.way)
            {
                let (a, b) = (landed(pair, zero, from), landed(pair, zero, to));
                let angle = |p: Xy| (p.1 - middle.1).atan2(p.0 - middle.0);
                turned += (angle(b) - angle(a) + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU)
                    - std::f64::consts::PI;
            }
            let there = apart(landed(pair, zero, step.way.to()), motion.way.to()) < BESIDE_MM;
            let round = match motion.way {
                Way::Arc { sweep, .. } => (turned - sweep).abs() < 0.01,
                _ => true,
            };
            if there && round {
                assert_eq!(step.z.is_some(), motion.z.is_some());
                assert!((step.z.unwrap_or(0.0) - motion.z.unwrap_or(0.0)).abs() < 1e-9);
                break;
            }
        }
    }
    assert!(steps.next().is_none(), "the bent job goes on");
    errors
}

/// Circles and long diagonals over a full sheet.
const JOB: &str = "%\n(Circles and long diagonals)\nN10 G21 G90 G17 G40 G54\nG94\nT1 M6\nN20 G0 Z5.0\nM3 S16000\nG0 X-1150 Y-550\n\
    G1 Z-3 F400\nX1150 Y550 F1200 (up)\nG0 Z5\nX-1150 Y550\ng1z-3f400\nX1150Y-550F1200; down\nG0 Z5\nX300 Y0\nG1 Z-3 F400\n\
    G3 X-300 I-300 F1000\nG3 X300 Y0 R300\nG0 Z5\nX-700 Y-400\nG1 Z-2 F400\nG2 I-200 J-20.5 Z-6 F900 (a whole turn, down)\n\
    G0 Z5\nX900 Y300\nG1 Z-3\nG2 X1000 Y400 I100 J0\nG2 X1000 Y400 I50 J50\nG3 X1100 Y500 R-100\nG0 Z5\nG91\nX-100 Y0\n\
    G1 X-333.333 Y-66.667 Z-4\nX-333.333\nY-100 M0\nG3 X50 Y50 J50\nG90 G0 Z5\nM5\nM30\n%\n";

#[test]
fn before_and_after() {
    println!("job of circles and long diagonals, chords within {CHORD_MM} mm; error in mm");
    println!("{:34} {:>18} {:>22}", "", "as it is", "bent");
    println!("{:34} {:>9} {:>8} {:>9} {:>9} {:>7}", "machine", "rms", "worst", "rms", "worst", "lines");
    let meant = carry_out(JOB);
    for pair in pairs() {
        let (text, summary) = bent(JOB, &bend(&pair), &options(None)).unwrap();
        let carried = carry_out(&text);
        let zero = Point::default();
        let (before, after) = (before(&meant, &pair, zero), after(&meant, &carried, &pair, zero));
        println!(
            "{:34} {:9.3} {:8.3} {:9.4} {:9.4} {:7}",
            pair.name,
            before.rms(),
            before.worst,
            after.rms(),
            after.worst,
            text.lines().count()
        );
        assert!(before.worst > 2.0 && after.worst < CHORD_MM + BESIDE_MM, "{before:?} {after:?}");
        assert_eq!((&carried.comments, &carried.others), (&meant.comments, &meant.others));
        assert_eq!(text.lines().count(), JOB.lines().count() + summary.added);
        assert_eq!((summary.lines, summary.arcs), (JOB.lines().count(), 7));
    }
}

#[test]
fn inches_another_zero_and_coarse_chords() {
    let job = "G20 G90\nG0 Z.2\nG0 X4. Y4.\nG1 Z-.1 F40.\nX90.5 Y45.125\nG2 X80. Y45.125 I-5.25 J0.\nG91\nG1 X-20.\nY-20. Z-.05\nG90 G0 Z.2\nM2\n";
    let zero = Point::new(-1250.0, -625.0);
    for chord_mm in [0.002, 0.02, 0.5] {
        for pair in pairs() {
            let options = Options { zero, chord_mm, ..options(None) };
            let (text, _) = bent(job, &bend(&pair), &options).unwrap();
            let after = after(&carry_out(job), &carry_out(&text), &pair, zero);
            assert!(after.worst < chord_mm + BESIDE_MM, "{}: {after:?}", pair.name);
            // Four decimals of an inch, and the lines that say nothing of X and Y as they were.
            assert!(
                text.starts_with("G20 G90\nG0 Z.2\nG0 X") && text.ends_with("\nG90 G0 Z.2\nM2\n"),
                "{text}"
            );
        }
    }
}

#[test]
fn the_table_is_the_exact_inverse_and_every_place_on_the_sheet_has_one() {
    for pair in pairs() {
        let bend = bend(&pair);
        let (mut worst, mut inverse): (f64, f64) = (0.0, 0.0);
        for meant in pair.belief.sheet.lattice(61, 37, 0.0) {
            let sent = bend.at(meant).unwrap();
            let (exact, _) = sent_for(&pair.belief, &pair.truth, meant).unwrap();
            worst = worst.max(sent.distance_mm(exact));
            assert!(land(&pair.belief, &pair.truth, exact).unwrap().at.distance_mm(meant) < 1e-6);
            // Beside the table there is nothing to substitute from, and near its rim a step may leave it.
            if let Some(back) = bend.lands(sent) {
                inverse = inverse.max(back.distance_mm(meant));
            }
        }
        println!(
            "{}: table off by {worst:.6} mm, as found when it was made {:.6} mm; back by {inverse:.1e} mm",
            pair.name,
            bend.off_by_mm()
        );
        assert!(worst < 2.0 * TABLE_MM && inverse < 1e-6, "{}: {worst} {inverse}", pair.name);
    }
}

#[test]
fn a_machine_without_error_leaves_every_byte() {
    let mut truth = Setup::example().belief();
    truth.sag = false;
    let same = Pair { name: "", belief: truth, truth };
    let jobs =
        [JOB.to_owned(), JOB.replace('\n', "\r\n"), "G21 G0 X1.5Y2\nG1X 3.25 F99 ( M0 X9 )".to_owned()];
    for job in jobs {
        let (text, summary) = bent(&job, &bend(&same), &options(None)).unwrap();
        assert_eq!(text, job);
        assert_eq!((summary.changed, summary.added), (0, 0));
    }
}

#[test]
fn small_steps_do_not_add_up() {
    let pair = &pairs()[0];
    let bend = bend(pair);
    let mut job = "G21 G90 G0 X-500 Y-200\nG91 G1 F1000\n".to_owned();
    for k in 0..20_000 {
        job.push_str(if k % 3 == 0 { "X0.07\n" } else { "Y0.031 X.033\n" });
    }
    let (text, _) = bent(&job, &bend, &options(None)).unwrap();
    let (meant, sent) = (carry_out(&job), carry_out(&text));
    let (meant, sent) = (meant.motions.last().unwrap().way.to(), sent.motions.last().unwrap().way.to());
    let exact = bend.at(Point::new(meant.0, meant.1)).unwrap();
    assert!(apart(sent, (exact.x_mm, exact.y_mm)) < 0.0011, "{sent:?} {exact:?}");
}

#[test]
fn words_go_where_they_belong() {
    let bend = bend(&pairs()[0]);
    let lines = |job: &str| {
        let (text, _) = bent(job, &bend, &options(None)).unwrap();
        text.lines().map(str::to_owned).collect::<Vec<_>>()
    };
    // A wait follows the last chord; feed, number and comment stay with the first.
    let cut = lines("G21 G90 G17\nG0 X-900 Y0 Z5\nN7 G1 X900 F500 M0 (M5 X1)\nG0 Z9\n");
    assert!(cut[2].starts_with("N7 G1 X-") && cut[2].ends_with("F500 (M5 X1)"), "{}", cut[2]);
    assert!(cut[2].contains(" Y") && !cut[2].contains("M0"), "{}", cut[2]);
    let last = &cut[cut.len() - 2];
    assert!(last.starts_with("G1 X") && last.ends_with(" M0"), "{last}");
    // An arc becomes lines, and what follows it in the same mode stays right.
    let arc = lines("G21 G90 G0 X0 Y0\nG2 X10 Y0 I5\nX0 I-5 J0 (back)\nG1 X5\n");
    assert!(arc.iter().all(|l| !l.contains('I') && !l.contains("G2 ")), "{arc:?}");
    // A line of its own for the mode.
    assert_eq!(lines("G21 G90 G0 X0 Y0\nG2\nG1 X5\n")[1], "G1");
    // A mark of UTF-8 goes, a head stands below the first %.
    let options = Options { header: vec!["a (b) ; \u{1b}[2J\nG0 Z-9".to_owned()], ..options(None) };
    let (text, _) = bent("\u{feff}%\r\nG21\r\n", &bend, &options).unwrap();
    assert_eq!(text, "%\r\n(a -b- - -2J G0 Z-9)\r\nG21\r\n".replace("- -2J", "-  -2J"));
}

#[test]
fn another_reader_agrees_on_the_bent_job() {
    // The gcode crate keeps numbers as f32: near 3000 mm it is good to 0.0003 mm.
    let (text, _) = bent(JOB, &bend(&pairs()[0]), &options(None)).unwrap();
    let ours = carry_out(&text);
    let parsed = gcode::parse(&text).expect("no diagnostics");
    let mut xs: Vec<f64> = Vec::new();
    let mut take = |letter: char, value: &gcode::Value| match value {
        gcode::Value::Literal(x) if letter == 'X' => xs.push(f64::from(*x)),
        _ => {}
    };
    for block in &parsed.blocks {
        for code in &block.codes {
            if let gcode::Code::General(code) = code {
                code.args.iter().for_each(|word| take(word.letter, &word.value));
            }
        }
        // A line without a G word goes on as the one before it.
        block.word_addresses.iter().for_each(|word| take(word.letter, &word.value));
    }
    let wanted: Vec<f64> = words_of(&text, 'X');
    assert!(ours.motions.len() > 500);
    assert_eq!(xs.len(), wanted.len());
    assert!(xs.iter().zip(&wanted).all(|(a, b)| (a - b).abs() < 0.0005));
}

/// Numbers after a letter outside comments, by the crudest means.
fn words_of(text: &str, letter: char) -> Vec<f64> {
    let mut found = Vec::new();
    for line in text.lines() {
        let line = line.split(['(', ';']).next().unwrap();
        for part in line.split(letter).skip(1) {
            let end = part.find(|c: char| !matches!(c, '0'..='9' | '.' | '-')).unwrap_or(part.len());
            found.push(part[..end].parse().unwrap());
        }
    }
    found
}
