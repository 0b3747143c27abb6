//! An invented analysis to try the reports on: a 7 x 5 pattern with its odd hole, 23 readings used, one set
//! aside, an error of about 2 mm rms. Every number is made up; sizes over the sheet are worked out from the field.

use tautgrid::analysis::*;
use tautgrid::frame::{Edge, Point, Sheet, Unit};
use tautgrid::knowledge::Knowledge;
use tautgrid::machine::Unknown;
use tautgrid::pattern::Pattern;

/// The invented error as cut at a place, mm: too wide, too short, leaning, with a curved rest.
pub fn field(p: Point) -> Point {
    let (x, y) = (p.x_mm / 1000.0, p.y_mm / 1000.0);
    Point::new(
        1.9 * x + 1.3 * y + 0.9 * x * y - 0.25 * x * x * x,
        -1.7 * y + 1.35 * x * x - 0.75 + 0.5 * x * y,
    )
}

/// What the invented new settings would leave at a place, mm.
pub fn left_over(p: Point) -> Point {
    let (x, y) = (p.x_mm / 1000.0, p.y_mm / 1000.0);
    Point::new(0.22 * x * y * y * 4.0 - 0.1 * x, 0.3 * (y - 0.15) * (1.0 - x * x) - 0.08)
}

fn estimate(value: f64, u: f64) -> Estimate {
    Estimate { value, u }
}

fn size(points: &[Point]) -> ErrorSize {
    let squares: f64 = points.iter().map(|p| p.norm_mm().powi(2)).sum();
    ErrorSize {
        rms_mm: (squares / points.len() as f64).sqrt(),
        max_mm: points.iter().map(|p| p.norm_mm()).fold(0.0, f64::max),
    }
}

fn unknown(unknown: Unknown, setting: f64, expected_u: f64, value: f64, u: f64) -> UnknownResult {
    let known_from = match u / expected_u {
        ratio if ratio < 0.5 => KnownFrom::Readings,
        ratio if ratio < 0.9 => KnownFrom::Both,
        ratio if ratio < 0.9999 => KnownFrom::SetUp,
        _ => KnownFrom::NotDeterminable,
    };
    let expected = if unknown == Unknown::Stretch { 0.35 } else { setting };
    UnknownResult {
        unknown,
        setting,
        expected: estimate(expected, expected_u),
        estimate: estimate(value, u),
        known_from,
    }
}

fn reading(
    line: usize,
    ends: (&str, &str),
    instrument: &str,
    read: f64,
    excess: f64,
    w: f64,
) -> ReadingResult {
    ReadingResult {
        line,
        from: ends.0.to_owned(),
        to: ends.1.to_owned(),
        instrument: instrument.to_owned(),
        reading_mm: read,
        expected_mm: read - excess,
        u_mm: 0.3_f64.hypot(0.1 * read / 1000.0),
        w: Some(w),
        redundancy: 0.62,
        hint: String::new(),
    }
}

fn readings() -> Vec<ReadingResult> {
    let pairs = [
        ("A1", "G1", 2304.5),
        ("A5", "G5", 2302.0),
        ("A1", "A5", 1048.5),
        ("G1", "G5", 1048.0),
        ("D1", "D5", 1047.5),
        ("A5", "G1", 2530.5),
        ("A3", "G3", 2303.5),
        ("A1", "D5", 1559.0),
        ("D1", "G5", 1560.5),
        ("A1", "F5", 2186.5),
        ("B1", "G5", 2187.0),
        ("G1", "B5", 2185.5),
        ("F1", "A5", 2184.5),
        ("D1", "A5", 1556.5),
        ("G1", "D5", 1555.5),
        ("A1", "D1", 1151.5),
        ("D1", "G1", 1153.0),
        ("A5", "D5", 1150.5),
        ("D5", "G5", 1151.5),
        ("C1", "C5", 1048.5),
        ("E1", "E5", 1047.5),
    ];
    let mut all: Vec<ReadingResult> = pairs
        .iter()
        .enumerate()
        .map(|(k, &(from, to, read))| {
            let excess = 0.31 * (k as f64 * 2.4).sin();
            reading(k + if k < 5 { 2 } else { 3 }, (from, to), "tape", read, excess, excess / 0.24)
        })
        .collect();
    all.push(reading(24, ("A1", "B1"), "caliper", 383.92, 0.06, 0.9));
    all.push(reading(25, ("F5", "G5"), "caliper", 383.61, -0.04, -0.6));
    all
}

/// The invented analysis.
pub fn analysis() -> Analysis {
    let sheet = Sheet { width_mm: 2500.0, height_mm: 1250.0 };
    let pattern = Pattern {
        columns: 7,
        rows: 5,
        width_mm: 2300.0,
        height_mm: 1050.0,
        centre: Point::default(),
        hole_diameter_mm: 6.0,
        key: true,
    };
    let holes = pattern
        .holes()
        .into_iter()
        .enumerate()
        .map(|(k, hole)| {
            let wobble = Point::new((k as f64 * 1.7).sin() * 0.15, (k as f64 * 2.9).cos() * 0.15);
            HoleResult {
                displacement: field(hole.target) + wobble,
                id: hole.id,
                target: hole.target,
                u_mm: 0.31,
            }
        })
        .collect();
    let (columns, rows) = (21, 11);
    let points = sheet.lattice(columns, rows, 0.0);
    let as_cut: Vec<Point> = points.iter().map(|&p| field(p)).collect();
    let after: Vec<Point> = points.iter().map(|&p| left_over(p)).collect();
    let u_mm = points.iter().map(|p| 0.12 + 0.1 * p.norm_mm() / 1000.0).collect();
    let (before, left) = (size(&as_cut), size(&after));

    use Unknown::*;
    let unknowns = vec![
        unknown(Spacing, 3300.0, 2.0, 3302.37, 1.31),
        unknown(Height, 520.0, 3.0, 520.0, 3.0),
        unknown(Tilt, 0.0, 1.0, 0.0, 1.0),
        unknown(Offset, 0.0, 3.0, 0.0, 3.0),
        unknown(LengthLeft, 0.0, 3.0, 4.126, 0.842),
        unknown(LengthRight, 0.0, 3.0, -1.708, 0.873),
        unknown(PitchLeft, 0.0, 1.0, 0.912, 0.154),
        unknown(PitchRight, 0.0, 1.0, 0.347, 0.161),
        unknown(Stretch, 0.0, 0.35, 0.411, 0.328),
    ];
    let correlation_names = vec![Spacing, LengthLeft, LengthRight, PitchLeft, PitchRight, Stretch];
    let n = correlation_names.len();
    let correlation = (0..n)
        .map(|i| {
            let at = |j: usize| match (i.min(j), i.max(j)) {
                (a, b) if a == b => 1.0,
                (0, 1) => -0.962,
                (0, 2) => -0.958,
                (1, 2) => 0.91,
                (a, b) => 0.4 - 0.13 * (a + b) as f64,
            };
            (0..n).map(at).collect()
        })
        .collect();
    let symptom = |value, u, share| Symptom { estimate: estimate(value, u), share };
    let cause = |unknown, rms, u, max_mm| Cause { unknown, rms: estimate(rms, u), max_mm };
    let change = |unknown, from, to| SettingChange { unknown, from, to };

    Analysis {
        cut: "2026-11-25".to_owned(),
        machine: "Wall router".to_owned(),
        unit: Unit::Mm,
        sheet,
        hole_diameter_mm: 6.0,
        hole_scatter_mm: 0.25,
        hole_scatter: Some(estimate(0.27, 0.06)),
        used: readings(),
        set_aside: vec![ReadingResult {
            hint: "two digits swapped: 2529.5".to_owned(),
            redundancy: 0.71,
            ..reading(7, ("A1", "G5"), "tape", 2592.5, 63.24, 97.4)
        }],
        blank: 3,
        fit: FitQuality { converged: true, iterations: 4, dof: 23, chi_square: 20.84, p_value: Some(0.5915) },
        unknowns,
        correlation_names,
        correlation,
        lookalikes: vec![
            Lookalikes { a: Spacing, b: LengthLeft, correlation: -0.962 },
            Lookalikes { a: Spacing, b: LengthRight, correlation: -0.958 },
        ],
        not_determined: vec!["height".to_owned(), "tilt".to_owned(), "offset".to_owned()],
        instruments: vec![
            InstrumentResult {
                name: "tape".to_owned(),
                readings: 21,
                scale: Some(estimate(0.04, 0.11)),
                zero: None,
                scale_correlation: [0.0; 12],
            },
            InstrumentResult {
                name: "caliper".to_owned(),
                readings: 2,
                scale: None,
                zero: None,
                scale_correlation: [0.0; 12],
            },
        ],
        symptoms: Symptoms {
            shift_x: None,
            shift_y: None,
            turn: None,
            scale_x: symptom(1.842, 0.133, 0.466),
            scale_y: symptom(-1.703, 0.208, 0.182),
            skew: symptom(1.297, 0.151, 0.118),
            rest_rms_mm: 0.941,
            rest_share: 0.234,
        },
        causes: vec![
            cause(LengthLeft, 2.731, 0.552, 6.02),
            cause(PitchLeft, 1.624, 0.274, 3.18),
            cause(Spacing, 1.187, 0.655, 2.41),
            cause(LengthRight, 1.131, 0.578, 2.5),
            cause(PitchRight, 0.618, 0.287, 1.21),
            cause(Stretch, 0.021, 0.105, 0.33),
        ],
        error: ErrorBudget {
            placement_known: false,
            chosen: None,
            as_cut: before,
            as_cut_rms_u_mm: 0.118,
            after: Prediction {
                size: ErrorSize { rms_mm: left.rms_mm.hypot(0.19), max_mm: left.max_mm + 0.2 },
                bound95_mm: 0.412,
            },
            floor: ErrorSize { rms_mm: left.rms_mm * 0.7, max_mm: left.max_mm * 0.8 },
            compensated: Prediction { size: ErrorSize { rms_mm: 0.187, max_mm: 0.362 }, bound95_mm: 0.291 },
            tolerance_mm: 0.8,
            chance_within: 0.0003,
            verdict: Verdict::Fail,
        },
        settings_new: vec![
            change(Spacing, 3300.0, 3302.914),
            change(Height, 520.0, 520.0),
            change(LengthLeft, 0.0, 3.8472),
            change(LengthRight, 0.0, -2.0413),
            change(PitchLeft, 0.0, 0.9031),
            change(PitchRight, 0.0, 0.3377),
        ],
        holes,
        map: ErrorMap { columns, rows, points, as_cut, after, u_mm },
        notices: vec![
            Notice::WholePitch { unknown: LengthLeft, pitches: 1 },
            Notice::FarFromExpected { unknown: LengthLeft, sigmas: 3.2 },
        ],
        verification: None,
        knowledge: Knowledge::default(),
    }
}

/// The same in inches, with a placement fixed by edge readings, and every notice there is.
pub fn analysis_inch() -> Analysis {
    let mut a = analysis();
    a.unit = Unit::Inch;
    a.cut = "2026-11-25-b".to_owned();
    a.error.placement_known = true;
    a.error.verdict = Verdict::CannotTell;
    a.error.chance_within = 0.61;
    a.not_determined.clear();
    a.lookalikes.clear();
    let symptom = |value, u, share| Some(Symptom { estimate: Estimate { value, u }, share });
    a.symptoms.shift_x = symptom(0.92, 0.21, 0.11);
    a.symptoms.shift_y = symptom(-0.13, 0.22, 0.01);
    a.symptoms.turn = symptom(-0.44, 0.17, 0.04);
    a.notices = vec![
        Notice::ReadingsDisagree { p_value: 0.0004, factor: 1.7 },
        Notice::ReadingsTooGood { p_value: 0.002 },
        Notice::WholePitch { unknown: Unknown::LengthRight, pitches: -2 },
        Notice::ReadFromBehind,
        Notice::NotSettled,
        Notice::FewReadings { used: 7 },
        Notice::LeaveAlone,
        Notice::NotAsEntered { slip: EntrySlip::LeftOut(Unknown::PitchLeft) },
        Notice::FarFromExpected { unknown: Unknown::PitchLeft, sigmas: 4.1 },
        Notice::PlacementIncomplete { edges: vec![Edge::Left, Edge::Top] },
    ];
    a
}
