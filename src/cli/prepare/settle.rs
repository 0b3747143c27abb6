//! What was typed for a cut, settled: numbers with units, the pattern, the job, and whether they go together.

use super::{Args, Drilling, Measuring};
use crate::cli::failure::Failure;
use crate::cli::load::toml;
use std::path::Path;
use tautgrid::frame::{Point, Unit};
use tautgrid::gcode::{Job, Lettering, Program, Spindle};
use tautgrid::machine::{Unknown, Values, land};
use tautgrid::pattern::{self, DEFAULT_MARGIN_MM, Pattern, beside, check, definition, library};
use tautgrid::planner::{self, Request, readings_in};
use tautgrid::readings::length as reading;
use tautgrid::report::numbers::to_64ths;
use tautgrid::setup::Setup;
use tautgrid::text;

/// Distances to edges that a plan takes besides those between holes.
pub const EDGE_READINGS: usize = 4;

/// Fewer distances between holes than this leave most causes unknown.
const LEAST_READINGS: usize = 6;
/// More distances are planned by nobody who measures them.
const MOST_READINGS: usize = 400;

/// Growth of both chains that a quick check is to see when nothing else is said, mm per m; and the least and the most
/// that can be asked for: a chain grown by 3 % is past any use.
const USUAL_DRIFT_MM_PER_M: f64 = 0.2;
const LEAST_DRIFT_MM_PER_M: f64 = 0.01;
const MOST_DRIFT_MM_PER_M: f64 = 30.0;

/// A cut that can be made.
#[derive(Debug)]
pub struct Settled {
    /// The pattern.
    pub pattern: Pattern,
    /// How it is drilled; the cut's id is still to be put in.
    pub job: Job,
    /// Which distances to plan.
    pub request: Request,
    /// Least distance of a hole from an edge, mm.
    pub margin_mm: f64,
    /// The drift that a quick check is to see; absent for a cut that is to be corrected from.
    pub drift: Option<Values<f64>>,
}

/// Settles what was typed, for a machine and a sheet with these `old` holes.
///
/// # Errors
/// When a length is none, the pattern is not known, or it cannot be cut on this sheet by this machine.
pub fn settle(args: &Args, setup: &Setup, old: &[Point]) -> Result<Settled, Failure> {
    let typed = Typed { unit: setup.unit };
    let margin_mm = typed.or("--margin", &args.grid.margin, usual_margin_mm(setup.unit))?;
    let mut pattern = pattern(args, setup, &typed, margin_mm)?;
    if args.grid.verify {
        pattern = beside(&pattern, old, library::step_mm(setup.unit)).ok_or_else(full)?;
    }
    let job = job(&args.drilling, setup, &typed, &pattern, margin_mm)?;
    possible(&pattern, &job, setup, margin_mm)?;
    let usual = Request::default();
    let drift = drift(&args.measuring)?;
    let edges = !args.measuring.no_edges && drift.is_none();
    let request = Request {
        readings: readings(&args.measuring)? + if edges { EDGE_READINGS } else { 0 },
        longest_mm: typed.or("--longest", &args.measuring.longest, usual.longest_mm)?,
        edges,
        ..usual
    };
    Ok(Settled { pattern, job, request, margin_mm, drift })
}

/// What a quick check is to see: both chains grown alike, as by wear.
fn drift(measuring: &Measuring) -> Result<Option<Values<f64>>, Failure> {
    let by = measuring.drift.unwrap_or(USUAL_DRIFT_MM_PER_M);
    if !(LEAST_DRIFT_MM_PER_M..=MOST_DRIFT_MM_PER_M).contains(&by) {
        return Err(Failure::Plain(format!(
            "--drift {by}: a growth in mm per m is expected, from {LEAST_DRIFT_MM_PER_M} to {MOST_DRIFT_MM_PER_M}"
        )));
    }
    let both = |u| if matches!(u, Unknown::PitchLeft | Unknown::PitchRight) { by } else { 0.0 };
    Ok(measuring.quick.then(|| Values::from_fn(both)))
}

/// Distances between holes to take.
fn readings(measuring: &Measuring) -> Result<usize, Failure> {
    if measuring.quick {
        return Ok(LEAST_READINGS);
    }
    let Some(minutes) = measuring.minutes else { return Ok(measuring.readings.unwrap_or(24)) };
    let passes = if measuring.twice { 2 } else { 1 };
    let edges = if measuring.no_edges { 0 } else { EDGE_READINGS };
    let readings = (readings_in(minutes) / passes).saturating_sub(edges);
    if !(LEAST_READINGS..=MOST_READINGS).contains(&readings) {
        return Err(Failure::Plain(format!(
            "--minutes {minutes}: that is time for {readings} readings between holes; {LEAST_READINGS} at least are needed \
             for an answer ({:.0} minutes), and {MOST_READINGS} are the most that are planned",
            planner::minutes(passes * (LEAST_READINGS + edges)).ceil()
        )));
    }
    Ok(readings)
}

/// Several reasons for which a cut cannot be prepared.
pub fn refused(reasons: impl Iterator<Item = String>) -> Failure {
    Failure::Several(reasons.map(Failure::Plain).collect())
}

/// A length for the person, with its unit; two more decimals in inches.
pub fn length(length_mm: f64, unit: Unit, decimals: usize) -> String {
    let decimals = if unit == Unit::Mm { decimals } else { decimals + 2 };
    let short = if unit == Unit::Mm { "mm" } else { "in" };
    format!("{:.decimals$} {short}", unit.from_mm(length_mm))
}

/// A length to be set with a rule or found on a tape, with its unit: in inches a fraction where that is what it is.
pub fn taped(length_mm: f64, unit: Unit, decimals: usize) -> String {
    let inches = Unit::Inch.from_mm(length_mm);
    if unit == Unit::Inch && (inches * 64.0 - (inches * 64.0).round()).abs() < 0.1 {
        return format!("{} in", to_64ths(inches));
    }
    length(length_mm, unit, decimals)
}

/// Least distance of a hole from an edge when none is given, mm.
fn usual_margin_mm(unit: Unit) -> f64 {
    match unit {
        Unit::Mm => DEFAULT_MARGIN_MM,
        Unit::Inch => unit.to_mm(4.0),
    }
}

/// Reads lengths as they were typed.
struct Typed {
    unit: Unit,
}

impl Typed {
    fn length(&self, flag: &str, text: &str) -> Result<f64, Failure> {
        reading::read(text, reading::Context::of(self.unit)).map(|length| length.mm).map_err(|e| {
            let help = e.help.map_or_else(String::new, |help| format!("; {help}"));
            Failure::Plain(format!("{flag} {text}: {}{help}", e.why))
        })
    }

    fn or(&self, flag: &str, text: &Option<String>, usual_mm: f64) -> Result<f64, Failure> {
        text.as_deref().map_or(Ok(usual_mm), |text| self.length(flag, text))
    }

    /// Two signed numbers.
    fn point(&self, flag: &str, text: &str) -> Result<Point, Failure> {
        let number = |s: &str| s.trim().parse::<f64>().ok().filter(|v| v.is_finite());
        let pair = text.split_once(',').and_then(|(x, y)| Some((number(x)?, number(y)?)));
        let (x, y) = pair.ok_or_else(|| {
            Failure::Plain(format!("{flag} {text}: two numbers are needed, such as {flag} 20,-10"))
        })?;
        Ok(Point::new(self.unit.to_mm(x), self.unit.to_mm(y)))
    }
}

/// Earlier cuts have taken all the room.
fn full() -> Failure {
    Failure::Plain(
        "--verify: the holes of earlier cuts leave no room for this pattern on the sheet. Take a fresh sheet and leave out \
         --verify, or take --pattern quick"
            .to_owned(),
    )
}

/// The named pattern, with whatever was given beside the name.
fn pattern(args: &Args, setup: &Setup, typed: &Typed, margin_mm: f64) -> Result<Pattern, Failure> {
    let grid = &args.grid;
    let shift = grid.shift.as_deref().map(|text| typed.point("--shift", text)).transpose()?;
    let base = named(&args.pattern, setup, margin_mm, shift.unwrap_or_default())?;
    let (columns, rows) = (grid.columns.unwrap_or(base.columns), grid.rows.unwrap_or(base.rows));
    // In two columns or one row KEY shows nothing: whoever asks for so few holes need not leave it out as well.
    let few = (grid.columns.is_some() || grid.rows.is_some()) && (columns < 3 || rows < 2);
    Ok(Pattern {
        columns,
        rows,
        width_mm: typed.or("--width", &grid.width, base.width_mm)?,
        height_mm: typed.or("--height", &grid.height, base.height_mm)?,
        centre: shift.unwrap_or(base.centre),
        hole_diameter_mm: typed.or("--hole", &grid.hole, base.hole_diameter_mm)?,
        key: base.key && !grid.no_key && !few,
    })
}

/// The pattern of a kind, of a full name, or of a file.
fn named(name: &str, setup: &Setup, margin_mm: f64, shift: Point) -> Result<Pattern, Failure> {
    if let Some(pattern) = library::for_sheet(name, &setup.sheet, setup.unit, margin_mm, shift) {
        return Ok(pattern);
    }
    if let Some(definition) = library::by_name(name) {
        return Ok(definition.pattern);
    }
    let path = Path::new(name);
    if library::KINDS.contains(&name) {
        return Err(Failure::Plain("the margins leave no room for a pattern on this sheet".to_owned()));
    }
    if path.is_file() {
        return Ok(toml(path.to_owned(), definition::read)?.value.pattern);
    }
    let known = library::KINDS.iter().copied().chain(library::names());
    let help = text::nearest(name, known).map_or_else(
        || "tautgrid prepare --list shows those that are".to_owned(),
        |nearest| format!("did you mean {nearest}?"),
    );
    Err(Failure::Plain(format!(
        "--pattern {name}: no such pattern is known, and there is no such file; {help}"
    )))
}

/// How the pattern is drilled.
fn job(
    drilling: &Drilling,
    setup: &Setup,
    typed: &Typed,
    pattern: &Pattern,
    margin_mm: f64,
) -> Result<Job, Failure> {
    let usual = Job::new(setup.unit);
    Ok(Job {
        machine: setup.name.clone(),
        spindle: drilling.spindle.map_or(usual.spindle, |speed_per_min| Spindle::Switched { speed_per_min }),
        clearance_mm: typed.or("--clearance", &drilling.clearance, usual.clearance_mm)?,
        depth_mm: typed.or("--depth", &drilling.depth, usual.depth_mm)?,
        peck_mm: typed.or("--peck", &drilling.peck, usual.peck_mm)?,
        plunge_mm_per_min: typed.or("--plunge", &drilling.plunge, usual.plunge_mm_per_min)?,
        // never from beyond the edge of the sheet
        approach_mm: usual.approach_mm.min(margin_mm),
        labels: drilling.labels.then(|| Lettering::for_bit(pattern.hole_diameter_mm)),
        ..usual
    })
}

/// Can the pattern be cut: on this sheet, by this machine, in this way?
fn possible(pattern: &Pattern, job: &Job, setup: &Setup, margin_mm: f64) -> Result<(), Failure> {
    let words = |refusals: Vec<pattern::Refusal>| refused(refusals.iter().map(|r| r.words(setup.unit)));
    let (belief, nature) = (setup.belief(), setup.nature(Values::from_fn(|u| setup.expected[u].value)));
    let reachable = |hole: Point| {
        for place in [hole, job.approach_start(hole)] {
            land(&belief, &nature, place).map_err(|why| why.to_string())?;
        }
        Ok(())
    };
    check(pattern, &setup.sheet, margin_mm, reachable).map_err(words)?;
    let program = Program::plan(pattern, &setup.sheet, job);
    program.map(|_| ()).map_err(|refusals| refused(refusals.iter().map(|r| r.words(setup.unit))))
}
