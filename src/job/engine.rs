//! A job read line by line, bent, and written.

mod writing;

use super::arc::Arc;
use super::bend::Bend;
use super::codes::Motion;
use super::edit::{Edits, MOST_DECIMALS};
use super::flatten::{MOST_CHORDS, chords};
use super::given::Given;
use super::read::{Line, Word};
use super::refuse;
use super::source::{LONGEST_LINE, Source};
use super::state::State;
use super::summary::{Summary, TracePoint};
use super::travel::Travel;
use crate::frame::{Point, Unit};
use crate::mistake::{MOST, Mistake};
use crate::text::plain_comment;
use std::io::{self, BufRead, Write};
use std::ops::Range;

/// How a job is bent.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Most that a chord may leave the bent way, mm.
    pub chord_mm: f64,
    /// Where the job's X0 Y0 lies, from the middle of the sheet.
    pub zero: Point,
    /// Unit that the control takes before any G20 or G21, if it is known.
    pub unit: Option<Unit>,
    /// Comment lines for the head of the new job; made harmless here.
    pub header: Vec<String>,
}

/// A job that cannot be passed through.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// The lines concerned, one after the other.
    pub text: String,
    /// What is wrong: spans are bytes of `text`, line numbers those of the job.
    pub mistakes: Vec<Mistake>,
}

/// Bends a job. What is written is worth nothing when the job is refused or reading fails.
///
/// # Errors
/// When the job cannot be read or the new one not written.
pub fn compensate(
    input: &mut impl BufRead,
    output: &mut impl Write,
    bend: &Bend,
    options: &Options,
) -> io::Result<Result<Summary, Refused>> {
    let mut worker = Worker {
        bend,
        options,
        state: State::new(options.unit),
        summary: Summary::default(),
        wrong: Vec::new(),
        out: Vec::new(),
        edits: Edits::default(),
        way: Vec::new(),
    };
    let mut refused = Refused { text: String::new(), mistakes: Vec::new() };
    let (mut source, mut line) = (Source::default(), Line::default());
    let mut header = Some(&options.header);
    while source.next(input)? && refused.mistakes.len() < MOST {
        if source.number == 1 && source.line.starts_with(b"\xef\xbb\xbf") {
            // A mark of UTF-8: no control wants it.
            source.line.drain(..3);
        }
        line.read(&source.line, &mut worker.wrong);
        if source.too_long {
            worker.wrong.insert(0, refuse::long_line(LONGEST_LINE));
            worker.wrong.truncate(1);
        }
        worker.out.clear();
        if !line.percent || source.number > 1 {
            push_header(&mut worker.out, header.take(), source.end);
        }
        worker.line(&source, &line);
        if !worker.wrong.is_empty() {
            refused.take(&source, &mut worker.wrong);
        } else if refused.mistakes.is_empty() {
            output.write_all(&worker.out)?;
        }
    }
    let State { unit, .. } = worker.state;
    let mut summary = worker.summary;
    summary.finish_stroke();
    summary.lines = source.number;
    summary.unit = unit.unwrap_or_default();
    if refused.mistakes.is_empty() {
        output.flush()?;
        return Ok(Ok(summary));
    }
    Ok(Err(refused))
}

/// The head of the new job, with line ends like the job's own.
fn push_header(out: &mut Vec<u8>, header: Option<&Vec<String>>, end: &[u8]) {
    for words in header.into_iter().flatten() {
        out.extend_from_slice(format!("({})", plain_comment(words)).as_bytes());
        out.extend_from_slice(if end.is_empty() { b"\n" } else { end });
    }
}

impl Refused {
    /// Takes over what is wrong with one line, with its text.
    fn take(&mut self, source: &Source, wrong: &mut Vec<Mistake>) {
        let text = match std::str::from_utf8(&source.line) {
            Ok(text) => text.to_owned(),
            // One character for each byte, so that places in the line stay right.
            Err(_) => source.line.iter().map(|b| if b.is_ascii() { char::from(*b) } else { '?' }).collect(),
        };
        let start = self.text.len();
        for mut mistake in wrong.drain(..) {
            let whole = |mut at: usize| {
                at = at.min(text.len());
                while !text.is_char_boundary(at) {
                    at -= 1;
                }
                at
            };
            let (from, to) = (whole(mistake.span.start), whole(mistake.span.end));
            mistake.line = source.number;
            mistake.column = text[..from].chars().count() + 1;
            mistake.span = start + from..start + to.max(from);
            self.mistakes.push(mistake);
        }
        self.text.push_str(&text);
        self.text.push('\n');
    }
}

struct Worker<'a> {
    bend: &'a Bend,
    options: &'a Options,
    state: State,
    summary: Summary,
    /// What is wrong with the line at hand.
    wrong: Vec<Mistake>,
    /// What is written for the line at hand.
    out: Vec<u8>,
    edits: Edits,
    /// The places of the motion at hand, meant and sent, from the middle of the sheet.
    way: Vec<TracePoint>,
}

/// One motion of a line, on its way to be written.
struct Move<'a> {
    source: &'a Source,
    given: &'a Given,
    /// Motion in force.
    motion: Motion,
    /// Digits after the point.
    decimals: usize,
    unit: Unit,
    /// Heights before and after, mm.
    z_mm: [Option<f64>; 2],
}

impl Worker<'_> {
    /// One line: either something is pushed to `wrong`, or what stands for it is in `out`.
    fn line(&mut self, source: &Source, line: &Line) {
        let given = Given::of(line, &mut self.wrong);
        let whole = 0..source.line.len().max(1);
        if line.percent {
            if given.any {
                self.wrong.push(refuse::percent(whole.clone()));
            }
            self.state.ended |= self.state.begun;
        } else if self.state.ended && given.any {
            self.wrong.push(refuse::after_end(words_span(line)));
        }
        self.state.begun |= given.any || line.percent;
        if line.block_delete && given.acts {
            self.wrong.push(refuse::block_delete(words_span(line)));
        }
        self.state.take_modes(&given);
        let moves = given.has_xy() || given.has_arc_words() || given.axes[2].is_some();
        if given.dwell && (moves || given.motion.is_some()) {
            self.wrong.push(refuse::dwell_with_axes(given.place_span()));
        } else if given.machine_zero || given.tool_length {
            self.beside_a_code(source, &given);
        } else if moves {
            self.moving(source, &given);
        } else {
            self.standing(source, &given);
        }
        self.state.ended |= given.end;
    }

    /// A line as it stands.
    fn keep(&mut self, source: &Source) {
        self.out.extend_from_slice(&source.line);
        self.out.extend_from_slice(source.end);
    }

    /// A line without places.
    fn standing(&mut self, source: &Source, given: &Given) {
        match given.motion {
            // An arc to come is written as lines: the control must not stay in G2.
            Some((motion, word)) if motion.is_arc() => {
                self.edits.clear();
                self.edits.put(word.number, word.end, |t| t.push(b'1'));
                self.edits.apply(&source.line, &mut self.out);
                self.out.extend_from_slice(source.end);
                self.summary.changed += 1;
                self.state.written_motion = Some(Motion::Straight);
            }
            Some((motion, _)) => {
                self.keep(source);
                self.state.written_motion = Some(motion);
            }
            None => self.keep(source),
        }
    }

    /// A line with G53, G43 or G49: the height may change, X and Y may not.
    fn beside_a_code(&mut self, source: &Source, given: &Given) {
        if given.has_xy() || given.has_arc_words() {
            let code = if given.machine_zero { "G53" } else { "a tool's length" };
            self.wrong.push(refuse::not_with_xy(given.place_span(), code));
        }
        self.state.z_mm = None;
        self.keep(source);
        if let Some((motion, _)) = given.motion {
            self.state.written_motion = Some(motion);
        }
    }

    /// A line with places.
    fn moving(&mut self, source: &Source, given: &Given) {
        let span = given.place_span();
        if let Some(word) = given.fourth.filter(|_| given.has_xy() || given.has_arc_words()) {
            self.wrong.push(refuse::fourth_axis(word.letter, word.start..word.end));
        }
        let Some(unit) = self.state.unit else {
            self.wrong.push(refuse::no_unit(span));
            return;
        };
        let Some(motion) = self.state.motion else {
            self.wrong.push(refuse::no_motion(span));
            return;
        };
        let value = |word: Option<Word>| word.map(|w| w.value);
        let z_mm = [self.state.z_mm, self.state.go_z(value(given.axes[2]))];
        self.state.z_mm = z_mm[1];
        let before = self.state.meant_mm;
        if !motion.is_arc() {
            if given.has_arc_words() {
                self.wrong.push(refuse::arc(span, "I, J, K or R with a straight motion"));
                return;
            }
            if !given.has_xy() {
                self.only_height(source, given, motion);
                return;
            }
        }
        self.summary.absolute_assumed |= !self.state.absolute_is_stated;
        let goal = [0, 1].map(|k| self.state.go(k, value(given.axes[k])));
        self.state.meant_mm = goal;
        let [Some(x), Some(y)] = goal else {
            self.wrong.push(refuse::no_start(span));
            return;
        };
        let place = |x: f64, y: f64| Point::new(x, y) + self.options.zero;
        let from = before[0].zip(before[1]).map(|(x, y)| place(x, y));
        let to = place(x, y);
        let travel = match (motion, from) {
            (Motion::Rapid, _) => Travel::Rapid { to },
            (Motion::Straight, from) => Travel::Straight { from, to },
            (_, None) => {
                self.wrong.push(refuse::no_start(span));
                return;
            }
            (_, Some(from)) => match arc(given, motion, unit, from, to) {
                Ok(arc) => Travel::Arc(arc),
                Err(found) => {
                    self.wrong.push(refuse::arc(span, found));
                    return;
                }
            },
        };
        let decimals = given.axes[..2].iter().flatten().map(|w| w.decimals).max().unwrap_or(0);
        let least = if unit == Unit::Mm { 3 } else { 4 };
        let decimals = decimals.clamp(least, MOST_DECIMALS);
        let motion = Move { source, given, motion, decimals, unit, z_mm };
        if self.find_way(&travel, span) && self.wrong.is_empty() {
            self.write(&travel, &motion);
        }
    }

    /// A line that changes the height alone.
    fn only_height(&mut self, source: &Source, given: &Given, motion: Motion) {
        if given.motion.is_none() && self.state.written_motion != Some(motion) {
            let at = given.place_span().start;
            self.edits.clear();
            self.edits.put(at, at, |t| t.extend_from_slice(&[b'G', motion.digit(), b' ']));
            self.edits.apply(&source.line, &mut self.out);
            self.out.extend_from_slice(source.end);
            self.summary.changed += 1;
        } else {
            self.keep(source);
        }
        self.state.written_motion = Some(motion);
    }

    /// Fills `way` with the places of a motion; says why when there is none.
    fn find_way(&mut self, travel: &Travel, span: Range<usize>) -> bool {
        self.way.clear();
        let n = chords(travel, self.bend, self.options.chord_mm);
        if n > MOST_CHORDS {
            self.wrong.push(refuse::arc(span, format!("it would need more than {MOST_CHORDS} chords")));
            return false;
        }
        for k in 1..=n {
            let meant = travel.at(k as f64 / n as f64);
            match self.bend.at(meant) {
                Ok(sent) => self.way.push(TracePoint { meant, sent }),
                Err(why) => {
                    self.wrong.push(refuse::off_limits(span, why));
                    return false;
                }
            }
        }
        true
    }
}

/// From the first word of a line to the last.
fn words_span(line: &Line) -> Range<usize> {
    line.words.first().map_or(0, |w| w.start)..line.words.last().map_or(1, |w| w.end)
}

/// The arc that a line asks for, on the sheet.
fn arc(given: &Given, motion: Motion, unit: Unit, from: Point, to: Point) -> Result<Arc, String> {
    let clockwise = motion == Motion::Clockwise;
    let [i, j, k] = given.middle;
    if given.p.is_some() {
        return Err("P would turn it several times on some controls".to_owned());
    }
    if k.is_some_and(|k| k.value != 0.0) {
        return Err("K has no place in the XY plane".to_owned());
    }
    let length = |word: Option<Word>| word.map_or(0.0, |w| unit.to_mm(w.value));
    match (given.radius, i.or(j)) {
        (Some(_), Some(_)) => Err("both R and a middle are given".to_owned()),
        (Some(r), None) => Arc::with_radius(from, to, unit.to_mm(r.value), clockwise),
        (None, Some(_)) => Arc::around(from, to, from + Point::new(length(i), length(j)), clockwise),
        (None, None) => Err("neither a middle (I, J) nor a radius (R)".to_owned()),
    }
}
