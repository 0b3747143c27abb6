//! Every program is proved by running it: each hole once, where it should be, without a wrong move on the way.

mod rs274;

use proptest::prelude::*;
use rs274::{Event, Move, Place, What};
use tautgrid::frame::{Point, Sheet, Unit};
use tautgrid::gcode::{Job, Lettering, Program, Refusal, Spindle};
use tautgrid::pattern::{Pattern, library};

/// What a program did to the sheet.
struct Work {
    /// Place, depths of its pecks, and the motion that led there.
    holes: Vec<(Point, Vec<f64>, Move)>,
    /// Lines cut sideways, with their height.
    strokes: Vec<(Point, Point, f64)>,
}

/// Half a unit in the last place that is written, per axis, mm.
fn resolution_mm(unit: Unit) -> f64 {
    match unit {
        Unit::Mm => 0.0005,
        Unit::Inch => 0.00005 * 25.4,
    }
}

fn xy(place: Place) -> Point {
    Point::new(place.x.expect("a known x"), place.y.expect("a known y"))
}

/// The house rules for the text itself.
fn check_text(text: &str) {
    assert!(text.is_ascii() && text.ends_with("M2\n"));
    for (k, line) in text.lines().enumerate() {
        assert!(line.len() < 70 && !line.is_empty(), "line {}: {line}", k + 1);
        if line.starts_with('(') {
            assert!(line.ends_with(')') && line[1..line.len() - 1].find(['(', ')']).is_none(), "{line}");
            assert!(!line.to_ascii_uppercase().contains("MSG"), "{line}");
            continue;
        }
        let words: Vec<&str> = line.split(' ').collect();
        let codes = words.iter().filter(|w| w.starts_with(['G', 'M'])).count();
        assert!(codes == 1, "one code a line: {line}");
        for word in words.iter().filter(|w| !w.starts_with(['G', 'M'])) {
            assert!(word.contains('.'), "a point in every number: {line}");
            let number: f64 = word[1..].parse().expect("a number");
            assert!(number != 0.0 || !word.contains('-'), "{line}");
        }
    }
}

/// The house rules for the motion; hands back what was cut.
fn check_motion(events: &[Event], job: &Job) -> Work {
    let eps = resolution_mm(job.unit) * 1.001;
    let clear = |z: Option<f64>| z.is_some_and(|z| z > job.clearance_mm - eps);
    let mut work = Work { holes: Vec::new(), strokes: Vec::new() };
    let mut last_slide = None;
    let mut sideways_below = false;
    let mut pecks: Vec<f64> = Vec::new();
    for event in events {
        let What::Move(m) = event.what else { continue };
        let line = event.line;
        let (moves_xy, moves_z) = (m.from.x != m.to.x || m.from.y != m.to.y, m.from.z != m.to.z);
        assert!(moves_xy != moves_z, "line {line}: Z alone, or X and Y together");
        assert!(
            !m.rapid || (clear(m.from.z) && clear(m.to.z)),
            "line {line}: a rapid below the clearance height"
        );
        if moves_xy {
            if !clear(m.to.z) {
                sideways_below = true;
                work.strokes.push((xy(m.from), xy(m.to), m.to.z.expect("a height")));
            }
            last_slide = Some(m);
        } else if let Some(z) = m.to.z {
            let (down, up) = (m.from.z.is_none_or(|from| z < from), clear(m.to.z));
            assert!(down || up, "line {line}: lifted, but not clear");
            if down && !up {
                assert!(clear(m.from.z), "line {line}: down again without a full lift");
                pecks.push(z);
            } else if up && !pecks.is_empty() {
                let led_here = last_slide.expect("a motion before the plunge");
                if sideways_below {
                    assert_eq!(pecks.len(), 1, "line {line}");
                } else if work.holes.last().is_some_and(|(at, ..)| *at == xy(m.to)) {
                    work.holes.last_mut().expect("a hole").1.append(&mut pecks);
                } else {
                    work.holes.push((xy(m.to), pecks.clone(), led_here));
                }
                pecks.clear();
                sideways_below = false;
            }
        }
    }
    work
}

/// The stops and the spindle, in the order of the program.
fn check_spindle(text: &str, events: &[Event], job: &Job) {
    let position = |what: fn(&What) -> bool| events.iter().position(|e| what(&e.what));
    let wait = position(|w| matches!(w, What::Wait)).expect("a stop");
    let below = events.iter().position(|e| match e.what {
        What::Move(m) => m.to.z.is_some_and(|z| z < job.clearance_mm * 0.99),
        _ => false,
    });
    assert!(below.is_none_or(|below| wait < below), "the stop comes before the first plunge");
    assert_eq!(below.is_none(), job.dry_run);
    let on = position(|w| matches!(w, What::SpindleOn(_)));
    let off = position(|w| matches!(w, What::SpindleOff));
    match job.spindle {
        Spindle::Switched { speed_per_min } if !job.dry_run => {
            let (on, off, below) = (on.expect("M3"), off.expect("M5"), below.expect("a plunge"));
            assert!(wait < on && on < below && below < off);
            assert_eq!(events[on].what, What::SpindleOn(f64::from(speed_per_min)));
            let last = events.iter().rposition(|e| matches!(e.what, What::Move(_))).expect("a motion");
            assert!(last < off && text.ends_with("M2\n"));
        }
        _ => assert!(on.is_none() && off.is_none()),
    }
    let by_hand = job.spindle == Spindle::ByHand && !job.dry_run;
    assert_eq!(text.contains("start the router by hand, then resume)\nM0\n"), by_hand);
}

/// Each hole once, where it should be, to its depth, by the same last stretch.
fn check_holes(work: &Work, pattern: &Pattern, job: &Job) {
    let eps = resolution_mm(job.unit) * 1.001;
    let mut wanted: Vec<Point> = pattern.holes().into_iter().map(|h| h.target).collect();
    for (at, pecks, led_here) in &work.holes {
        let near = |p: &Point| (p.x_mm - at.x_mm).abs() <= eps && (p.y_mm - at.y_mm).abs() <= eps;
        let index = wanted.iter().position(near).unwrap_or_else(|| panic!("a hole too many at {at:?}"));
        wanted.remove(index);

        let mut depth = 0.0;
        for &z in pecks {
            assert!(-z > depth && -z - depth <= job.peck_mm + 2.0 * eps, "pecks {pecks:?}");
            depth = -z;
        }
        assert!((depth - job.depth_mm).abs() <= eps, "{depth} deep");
        check_approach(*led_here, job);
    }
    assert!(wanted.is_empty(), "not drilled: {wanted:?}");
}

/// The last stretch: G1, slow, straight up the sheet, as long as asked for.
fn check_approach(led_here: Move, job: &Job) {
    let eps = resolution_mm(job.unit) * 2.001;
    let stretch = xy(led_here.to) - xy(led_here.from);
    assert!(!led_here.rapid && stretch.x_mm == 0.0, "{led_here:?}");
    assert!((stretch.y_mm - job.approach_mm).abs() <= eps, "{stretch:?}");
    let feed = led_here.feed.expect("a feed");
    assert!((feed - job.approach_mm_per_min).abs() <= 0.05 * job.unit.mm() + 1e-9, "{feed}");
}

/// Labels lie on the sheet, at their depth, and leave the rims alone.
fn check_strokes(work: &Work, pattern: &Pattern, sheet: &Sheet, job: &Job) {
    assert_eq!(work.strokes.is_empty(), job.labels.is_none() || job.dry_run);
    let eps = resolution_mm(job.unit) * 2.001;
    for &(a, b, z) in &work.strokes {
        let depth = job.labels.expect("labels").depth_mm;
        assert!((z + depth).abs() <= eps, "{z}");
        assert!(sheet.inside_by_mm(a) > pattern.hole_diameter_mm / 2.0);
        for hole in pattern.holes() {
            // from the middle of the stroke to the middle of the hole: half a bit each, and some wood
            let gap = distance_to_segment(hole.target, a, b) - pattern.hole_diameter_mm;
            assert!(gap > 5.9, "{} is {gap} mm from a stroke", hole.id);
        }
    }
}

fn distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let (ap, ab) = (p - a, b - a);
    let along = (ap.x_mm * ab.x_mm + ap.y_mm * ab.y_mm) / ab.norm_mm().powi(2);
    p.distance_mm(a + ab * along.clamp(0.0, 1.0))
}

/// Every hole has its label, and nothing is nearer to a label than the hole it names.
fn check_labels(events: &[Event], pattern: &Pattern) {
    let holes = pattern.holes();
    let mut labelled = Vec::new();
    let (mut label, mut strokes) = (String::new(), Vec::new());
    for event in events {
        match &event.what {
            What::Comment(words) if words.starts_with("Label ") => label = words["Label ".len()..].to_owned(),
            What::Move(m) if m.to.z < Some(0.0) && m.from.x != m.to.x => strokes.push((xy(m.from), xy(m.to))),
            _ => continue,
        }
        let [(a, b)] = strokes[..] else { continue };
        strokes.clear();
        let near = |p: Point| distance_to_segment(p, a, b);
        let nearest = holes.iter().min_by(|g, h| near(g.target).total_cmp(&near(h.target))).expect("a hole");
        assert!(label == nearest.id || label == "TOP", "{label} stands beside {}", nearest.id);
        labelled.push(label.clone());
    }
    labelled.dedup();
    labelled.sort();
    let mut wanted: Vec<String> = holes.into_iter().map(|h| h.id).chain(["TOP".to_owned()]).collect();
    wanted.sort();
    assert_eq!(labelled, wanted);
}

/// The whole proof. A dry run is proved by the stretches it makes, since it drills nothing.
fn prove(pattern: &Pattern, sheet: &Sheet, job: &Job) -> Work {
    let program = Program::plan(pattern, sheet, job).unwrap_or_else(|r| panic!("{r:?}"));
    let text = program.text();
    check_text(&text);
    let events = rs274::run(&text).unwrap_or_else(|fault| panic!("{fault}\n{text}"));
    check_spindle(&text, &events, job);
    let work = check_motion(&events, job);
    check_strokes(&work, pattern, sheet, job);
    if job.labels.is_some() && !job.dry_run {
        check_labels(&events, pattern);
    }
    if !job.dry_run {
        check_holes(&work, pattern, job);
    }
    work
}

/// The motions of a program without heights: where it went, and whether by G0.
fn way(pattern: &Pattern, sheet: &Sheet, job: &Job) -> Vec<(bool, Point)> {
    let text = Program::plan(pattern, sheet, job).expect("a program").text();
    let events = rs274::run(&text).expect("a good program");
    let moves = events.iter().filter_map(|e| if let What::Move(m) = e.what { Some(m) } else { None });
    moves.filter(|m| m.from.x != m.to.x || m.from.y != m.to.y).map(|m| (m.rapid, xy(m.to))).collect()
}

const SHEET: Sheet = Sheet { width_mm: 2500.0, height_mm: 1250.0 };

fn standard() -> Pattern {
    library::by_name("standard-2500x1250").expect("a known pattern").pattern
}

#[test]
fn every_pattern_of_the_library_is_drilled_as_drawn() {
    for name in library::names() {
        let d = library::by_name(name).expect("a known pattern");
        let labels = name.starts_with("quick").then(|| Lettering::for_bit(d.pattern.hole_diameter_mm));
        let job = Job { labels, ..Job::new(d.unit) };
        let work = prove(&d.pattern, &d.sheet, &job);
        assert_eq!(work.holes.len(), d.pattern.holes().len(), "{name}");
    }
}

#[test]
fn a_dry_run_goes_the_same_way_and_stays_clear() {
    let labels = Some(Lettering::for_bit(6.0));
    let cut = Job { labels, ..Job::new(Unit::Mm) };
    let dry = Job { dry_run: true, ..cut.clone() };
    assert!(prove(&standard(), &SHEET, &dry).holes.is_empty());
    assert_eq!(way(&standard(), &SHEET, &cut), way(&standard(), &SHEET, &dry));
}

#[test]
fn names_from_files_stay_inside_their_comments() {
    let machine = "Bob's (big) one)\nG0 Z-50.0\n(MSG, \u{1f600} T\u{fc}r; %".to_owned();
    let job = Job { machine, cut: "M3 S9\r\u{1b}[2J(".to_owned(), ..Job::new(Unit::Mm) };
    let plain = Job::new(Unit::Mm);
    prove(&standard(), &SHEET, &job);
    assert_eq!(way(&standard(), &SHEET, &job), way(&standard(), &SHEET, &plain));
}

#[test]
fn an_independent_parser_reads_the_same_words() {
    let job = Job {
        spindle: Spindle::Switched { speed_per_min: 16_000 },
        labels: Some(Lettering::for_bit(6.0)),
        ..Job::new(Unit::Mm)
    };
    let text = Program::plan(&standard(), &SHEET, &job).expect("a program").text();
    let events = rs274::run(&text).expect("a good program");
    let parsed = gcode::parse(&text).expect("no diagnostics");
    let mut moves = events.iter().filter_map(|e| if let What::Move(m) = e.what { Some(m) } else { None });
    let mut compared = 0;
    for block in &parsed.blocks {
        assert!(block.codes.len() <= 1 && block.word_addresses.is_empty());
        let Some(gcode::Code::General(code)) = block.codes.first() else { continue };
        if code.number.major() > 1 {
            assert!(code.args.is_empty());
            continue;
        }
        let m = moves.next().expect("as many motions");
        assert_eq!(m.rapid, code.number.major() == 0);
        for word in &code.args {
            let gcode::Value::Literal(value) = word.value else { panic!("{word}") };
            let ours = match word.letter {
                'X' => m.to.x,
                'Y' => m.to.y,
                'Z' => m.to.z,
                'F' => m.feed,
                other => panic!("{other}"),
            };
            // that parser keeps f32: 0.00024 mm near 3600 mm
            assert!((f64::from(value) - ours.expect("a value")).abs() < 0.001, "{code}");
            compared += 1;
        }
    }
    assert!(moves.next().is_none());
    assert!(compared > 1000);
}

#[test]
fn what_has_no_room_is_refused_by_name() {
    let refused = |pattern: &Pattern, job: &Job| Program::plan(pattern, &SHEET, job).expect_err("a refusal");
    let near = Pattern { height_mm: 1220.0, ..standard() };
    let below = refused(&near, &Job::new(Unit::Mm));
    assert_eq!(below, [Refusal::ApproachLeavesSheet { hole: "A1".to_owned() }]);

    // letters of 30 mm need 12 + 51 + 12 mm beside a hole; these holes stand 60 mm apart
    let tight = Pattern { width_mm: 360.0, height_mm: 240.0, ..standard() };
    let labelled = Job { labels: Some(Lettering::for_bit(6.0)), ..Job::new(Unit::Mm) };
    let touch = Refusal::LabelTouchesHole { label: "A1".to_owned(), hole: "KEY".to_owned() };
    assert!(refused(&tight, &labelled).contains(&touch));
    assert!(touch.words(Unit::Mm).starts_with("there is no room for the label A1: it would touch hole KEY;"));

    let job = Job { peck_mm: 0.0, plunge_mm_per_min: f64::NAN, ..Job::new(Unit::Inch) };
    let words: Vec<String> = refused(&standard(), &job).iter().map(|r| r.words(Unit::Inch)).collect();
    assert_eq!(words[0], "the depth of a peck cannot be 0, but 0.02 to 3.937 inch");
    assert!(words[1].starts_with("the plunge feed cannot be NaN, but 0.394 to"));
}

#[test]
fn the_run_time_is_the_length_of_the_way_over_its_speeds() {
    // One hole in the middle of the sheet, one peck: lift 6, travel 50, last stretch 50, down 12, up 12 mm
    let pattern = Pattern { columns: 1, rows: 1, key: false, ..standard() };
    let job = Job { peck_mm: 6.0, ..Job::new(Unit::Mm) };
    let minutes = Program::plan(&pattern, &SHEET, &job).expect("a program").minutes;
    let expected = 6.0 / 300.0 + 50.0 / 1500.0 + 50.0 / 300.0 + 24.0 / 300.0;
    assert!((minutes - expected).abs() < 1e-12);
}

prop_compose! {
    /// A pattern well inside the sheet, with room between its holes for labels.
    fn patterns()(
        columns in 1usize..=9, rows in 1usize..=6, width in 0.8..1.0, height in 0.8..1.0,
        x in -60.0..60.0, y in -20.0..20.0, diameter in 3.0..8.0, key: bool,
    ) -> Pattern {
        Pattern {
            columns,
            rows,
            width_mm: 2200.0 * width,
            height_mm: 1000.0 * height,
            centre: Point::new(x, y),
            hole_diameter_mm: diameter,
            key: key && columns > 2 && rows > 1,
        }
    }
}

prop_compose! {
    fn jobs()(
        inch: bool, dry_run: bool, speed in proptest::option::of(8_000u32..30_000), labels: bool,
        clearance in 2.0..20.0, depth in 1.0..20.0, peck in 0.5..10.0, plunge in 50.0..2000.0,
        approach in 5.0..80.0, slow in 50.0..2000.0, machine in any::<String>(), cut in any::<String>(),
    ) -> Job {
        let unit = if inch { Unit::Inch } else { Unit::Mm };
        Job {
            machine,
            cut,
            dry_run,
            spindle: speed.map_or(Spindle::ByHand, |speed_per_min| Spindle::Switched { speed_per_min }),
            clearance_mm: clearance,
            depth_mm: depth,
            peck_mm: peck,
            plunge_mm_per_min: plunge,
            approach_mm: approach,
            approach_mm_per_min: slow,
            labels: labels.then(|| Lettering::for_bit(3.0)),
            ..Job::new(unit)
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn any_pattern_by_any_job_is_drilled_as_asked(pattern in patterns(), job in jobs()) {
        // with two rows or one, TOP can stand in the way of a hole or of its label; that is refused
        let job = if pattern.columns < 3 || pattern.rows < 3 { Job { labels: None, ..job } } else { job };
        prove(&pattern, &SHEET, &job);
    }
}
