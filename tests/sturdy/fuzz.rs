//! Bytes that no sane program writes, for every reader and for the whole way to an answer.
//!
//! A short seeded run is part of the tests. For longer, one target or `all`:
//!
//! ```sh
//! FUZZ=readings FUZZ_MINUTES=10 cargo test --test sturdy fuzz -- --nocapture
//! ```
//!
//! An input that crashes or takes too long is kept in the folder for temporary files, and named.

use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::OnceLock;
use std::time::{Duration, Instant};
use tautgrid::analysis::{self, Analysis};
use tautgrid::frame::{Point, Unit};
use tautgrid::job::{Bend, Options, compensate};
use tautgrid::machine::Unknown;
use tautgrid::pattern::{Hole, Pattern};
use tautgrid::readings::{Known, length};
use tautgrid::setup::Setup;
use tautgrid::{cut, events, readings, report, setup, text};

/// Longest that one input may take. A machine busy with other work may be ten times slower than usual.
const PATIENCE: Duration = Duration::from_secs(20);
/// Most memory, MB.
const MOST_MB: u64 = 200;

struct Target {
    name: &'static str,
    seeds: Vec<Vec<u8>>,
    run: fn(&[u8]),
}

fn pattern() -> Pattern {
    Pattern {
        columns: 4,
        rows: 3,
        width_mm: 2300.0,
        height_mm: 1050.0,
        centre: Point::default(),
        hole_diameter_mm: 6.0,
        key: true,
    }
}

fn known<'a>(holes: &'a [Hole], setup: &'a Setup) -> Known<'a> {
    Known {
        holes,
        instruments: &setup.instruments,
        unit: setup.unit,
        hole_diameter_mm: 6.0,
        temperature_c: None,
    }
}

fn machine(bytes: &[u8]) {
    if let Ok((text, _)) = text::decode(bytes) {
        let _ = setup::read(&text);
    }
}

fn cut_file(bytes: &[u8]) {
    if let Ok((text, _)) = text::decode(bytes) {
        let _ = cut::read(&text).map(|(cut, _)| cut.pattern.holes());
    }
}

fn table(bytes: &[u8]) {
    let (holes, setup) = (pattern().holes(), Setup::example());
    if let Ok(table) = readings::read(bytes, &known(&holes, &setup)) {
        let again = readings::write(&table.rows, &known(&holes, &setup));
        readings::read(again.as_bytes(), &known(&holes, &setup)).expect("what was written can be read");
    }
}

fn events_file(bytes: &[u8]) {
    let Ok((text, _)) = text::decode(bytes) else { return };
    if let Ok((read, _)) = events::read(&text) {
        let again = events::read(&events::append("", &read)).expect("what was written can be read").0;
        assert_eq!(again.len(), read.len());
    }
}

fn lengths(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for unit in [Unit::Mm, Unit::Inch] {
        if let Ok(length) = length::read(&text, length::Context::of(unit)) {
            assert!(length.mm > 0.0 && length.mm <= length::LONGEST_MM);
        }
    }
}

fn job(bytes: &[u8]) {
    static BEND: OnceLock<Bend> = OnceLock::new();
    let bend = BEND.get_or_init(|| {
        let setup = Setup::example();
        let mut truth = setup.settings;
        truth[Unknown::Spacing] += 3.0;
        Bend::new(&setup.belief(), &setup.nature(truth), 0.0).unwrap()
    });
    let options =
        Options { chord_mm: 0.02, zero: Point::default(), unit: Some(Unit::Mm), header: Vec::new() };
    let _ = compensate(&mut &*bytes, &mut std::io::sink(), bend, &options).unwrap();
}

/// `cut.toml` and `readings.csv` in one, a line of stars between them; to the page and the picture.
fn whole(bytes: &[u8]) {
    let Ok((both, _)) = text::decode(bytes) else { return };
    let (cut_text, table) = both.split_once("\n***\n").unwrap_or((&both, ""));
    let Ok((cut, _)) = cut::read(cut_text) else { return };
    let holes = cut.pattern.holes();
    // Large cuts take long and are no fault: the benchmarks measure them.
    if holes.len() > 60 {
        return;
    }
    let known = Known {
        holes: &holes,
        instruments: &cut.setup.instruments,
        unit: cut.unit,
        hole_diameter_mm: cut.pattern.hole_diameter_mm,
        temperature_c: cut.conditions.temperature_c,
    };
    let Ok(table) = readings::read(table.as_bytes(), &known) else { return };
    let input = analysis::Cut {
        id: "x",
        setup: &cut.setup,
        pattern: &cut.pattern,
        readings: &table.readings,
        blank: table.blank(),
    };
    if let Ok(analysis) = analysis::analyse(&input) {
        sound(&analysis);
    }
}

/// No answer holds a number that is none.
fn sound(analysis: &Analysis) {
    let json: serde_json::Value = serde_json::from_str(&report::json::render(analysis)).unwrap();
    assert_eq!(json["format"], 1);
    for page in [report::text::render(analysis, 100), report::html::render(analysis)] {
        let said = page.split("NaN").next().unwrap().len() < page.len();
        assert!(!said, "NaN is shown to a person");
    }
}

fn targets() -> Vec<Target> {
    let (holes, setup) = (pattern().holes(), Setup::example());
    let template = |unit| setup::template("shop", unit);
    let date = jiff::civil::date(2026, 11, 25);
    let conditions =
        cut::Conditions { temperature_c: Some(19.0), humidity_percent: Some(45.0), ..Default::default() };
    let cut_text = |unit| cut::write(date, unit, &pattern(), &conditions, &template(unit)).unwrap();
    // Readings of a machine a little off.
    let mut truth = setup.settings;
    truth[Unknown::Spacing] += 3.0;
    let (belief, nature) = (setup.belief(), setup.nature(truth));
    let places: Vec<Point> =
        holes.iter().map(|h| tautgrid::machine::land(&belief, &nature, h.target).unwrap().at).collect();
    let mut rows = "from,to,reading,how,instrument,note,unit\nleft,A1,100.5,,tape,,\n".to_owned();
    for (i, j) in [(0, 11), (3, 8), (0, 3), (8, 11), (0, 8), (3, 11), (1, 10), (2, 9), (4, 7), (5, 6)] {
        let d = places[i].distance_mm(places[j]);
        rows += &format!("{},{},{d:.1},,tape,,\n", holes[i].id, holes[j].id);
    }
    let notes =
        "A1,D3,2528.5,outside,tape,\"a, \"\"b\"\"\",mm\nA1,A2,4' 0 5/8\",inside,tape,=1,in\nA1,B1,,,,,\n";
    let events = "date,cut,kind,what,from,to,unit,note\n2026-11-25,2026-11-24,setting,spacing,3300,3302.4,mm,24 readings\n\
                  2026-11-26,,re-hung,,,,,\"left, again\"\n";
    let jobs = [
        super::shop::JOB,
        "%\nG20G91\nN10 g1x1.5y-.5f30\n/G2 X1 I.5 J0 (arc)\nG3 R2 X1;c\nG90 G17 G94 G40 G49 G80 G54\nM3 S1000\nM0\nM5\nM30\n%\n",
        "G21\nG90\nG1 X0 Y0 F100\nG2 X100 Y100 R80\nG2 X100 Y100 I10 J0\nG0 Z5\nM2\n",
    ];
    let lengths =
        ["1234.5", "48 5/8\"", "48-5/8", "4' 0 5/8\"", "1234,5", "146.3 cm", "½", "3 m", "99 35/64 in"];
    let bytes = |texts: &[&str]| texts.iter().map(|t| t.as_bytes().to_vec()).collect();
    let both = |unit| format!("{}\n***\n{rows}", cut_text(unit));
    vec![
        Target { name: "machine", seeds: bytes(&[&template(Unit::Mm), &template(Unit::Inch)]), run: machine },
        Target { name: "cut", seeds: bytes(&[&cut_text(Unit::Mm), &cut_text(Unit::Inch)]), run: cut_file },
        Target {
            name: "readings",
            seeds: bytes(&[&rows, &(rows.clone() + notes), &rows.replace(',', ";")]),
            run: table,
        },
        Target { name: "job", seeds: bytes(&jobs), run: job },
        Target { name: "events", seeds: bytes(&[events]), run: events_file },
        Target { name: "lengths", seeds: bytes(&lengths), run: lengths_of },
        Target { name: "whole", seeds: bytes(&[&both(Unit::Mm)]), run: whole },
    ]
}

fn lengths_of(bytes: &[u8]) {
    lengths(bytes);
}

/// Pieces that mean something to one reader or another.
const PIECES: [&str; 40] = [
    "nan",
    "-inf",
    "1e400",
    "-0",
    "1e-320",
    "99999999999",
    "0",
    "-1",
    "0.0001",
    "\u{feff}",
    "\r",
    "\n",
    "\n\n",
    "½",
    "true",
    "{}",
    "[]",
    "\"\"\"",
    "\"",
    "'",
    "#",
    ",",
    ";",
    "=",
    "\t",
    "/",
    "(",
    ")",
    "%",
    "G91 ",
    "G2 ",
    "R",
    "I",
    "X",
    "M2\n",
    "inch",
    "mm",
    "\u{0}",
    "\u{ff}",
    "[[instrument]]\n",
];

/// An input with a few changes: pieces, numbers, lines and bytes taken out, doubled, moved or put in.
fn mutated(seed: &[u8], random: &mut impl Rng) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..random.random_range(1..6) {
        let at = random.random_range(0..=bytes.len());
        let end = (at + random.random_range(0..16)).min(bytes.len());
        match random.random_range(0..8) {
            0 => drop(bytes.drain(at..end)),
            1 => {
                let piece = PIECES[random.random_range(0..PIECES.len())];
                bytes.splice(at..end, piece.bytes());
            }
            2 if at < bytes.len() => bytes[at] ^= 1 << random.random_range(0..8),
            3 => {
                let copy = bytes[at..end].to_vec();
                let to = random.random_range(0..=bytes.len());
                bytes.splice(to..to, copy);
            }
            // A digit becomes another.
            4 => {
                let digits: Vec<usize> = (0..bytes.len()).filter(|&k| bytes[k].is_ascii_digit()).collect();
                if !digits.is_empty() {
                    bytes[digits[random.random_range(0..digits.len())]] = b'0' + random.random_range(0..10);
                }
            }
            // Lines change places, go, or come twice.
            5 | 6 => {
                let mut lines: Vec<Vec<u8>> = bytes.split(|b| *b == b'\n').map(<[u8]>::to_vec).collect();
                let (a, b) = (random.random_range(0..lines.len()), random.random_range(0..lines.len()));
                match random.random_range(0..3) {
                    0 => lines.swap(a, b),
                    1 => drop(lines.remove(a)),
                    _ => lines.insert(b, lines[a].clone()),
                }
                bytes = lines.join(&b'\n');
            }
            // A number becomes a strange one.
            _ => {
                let from = bytes[at..].iter().position(u8::is_ascii_digit).map_or(bytes.len(), |k| at + k);
                let number = |b: &u8| b.is_ascii_digit() || *b == b'.';
                let to = bytes[from..].iter().position(|b| !number(b)).map_or(bytes.len(), |k| from + k);
                let power = random.random_range(-6..7);
                let new = format!("{}e{power}", random.random_range(-9..10));
                bytes.splice(from..to, new.bytes());
            }
        }
    }
    bytes
}

fn keep(name: &str, input: &[u8]) -> PathBuf {
    let path = std::env::temp_dir().join(format!("tautgrid-fuzz-{name}-{}", std::process::id()));
    std::fs::write(&path, input).unwrap();
    path
}

/// Runs one target; inputs tried, and the longest that one took.
fn run(target: &Target, seed: u64, time: Duration, most: u64) -> (u64, Duration) {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let (begun, mut count, mut longest) = (Instant::now(), 0, Duration::ZERO);
    target.seeds.iter().for_each(|s| (target.run)(s));
    while count < most && begun.elapsed() < time {
        let input = mutated(&target.seeds[random.random_range(0..target.seeds.len())], &mut random);
        let one = Instant::now();
        let result = catch_unwind(AssertUnwindSafe(|| (target.run)(&input)));
        let took = one.elapsed();
        longest = longest.max(took);
        if result.is_err() || took > PATIENCE {
            let path = keep(target.name, &input);
            panic!("{} after {count} inputs, {took:?}: {}", target.name, path.display());
        }
        count += 1;
    }
    (count, longest)
}

/// Most memory that this process has had, MB, where the system says.
fn peak_mb() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse::<u64>().ok().map(|kb| kb / 1024)
}

#[test]
fn fuzz() {
    let wanted = std::env::var("FUZZ").ok();
    let minutes = std::env::var("FUZZ_MINUTES").ok().and_then(|m| m.parse::<f64>().ok());
    let seed = std::env::var("FUZZ_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(1);
    println!("{:10} {:>9} {:>8} {:>12}", "target", "inputs", "seconds", "longest ms");
    for target in targets().iter().filter(|t| wanted.as_ref().is_none_or(|w| w == "all" || w == t.name)) {
        let begun = Instant::now();
        let (time, most) = match minutes {
            Some(minutes) => (Duration::from_secs_f64(60.0 * minutes), u64::MAX),
            None => (Duration::from_secs(60), if target.name == "whole" { 60 } else { 1500 }),
        };
        let (count, longest) = run(target, seed, time, most);
        println!(
            "{:10} {count:>9} {:>8.1} {:>12.2}",
            target.name,
            begun.elapsed().as_secs_f64(),
            1e3 * longest.as_secs_f64()
        );
    }
    if let Some(mb) = peak_mb() {
        println!("most memory: {mb} MB");
        assert!(mb < MOST_MB, "{mb} MB");
    }
}
