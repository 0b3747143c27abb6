//! A strict interpreter of a small part of RS274/NGC (NIST IR 6556), so that programs can be proved in tests.
//!
//! It reads G0 G1 G17 G20 G21 G90 G94, M0 M2 M3 M5, F S X Y Z and plain comments, keeps the modal state, and
//! refuses everything else, everything out of order, and everything left to chance: a length before the unit, a
//! feed move before a feed, motion before plane, distance mode and feed mode are set, a program without an end.
//! It shares no code with the library.

// each test target uses its own share of this module
#![allow(dead_code)]

use std::fmt;

/// What happened, and on which line (from 1).
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    pub line: usize,
    pub what: What,
}

#[derive(Debug, Clone, PartialEq)]
pub enum What {
    Comment(String),
    Move(Move),
    /// M0.
    Wait,
    /// M3, with its speed.
    SpindleOn(f64),
    /// M5.
    SpindleOff,
    /// M2.
    End,
}

/// A straight motion, mm and mm/min whatever the program's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Move {
    /// G0, else G1.
    pub rapid: bool,
    pub from: Place,
    pub to: Place,
    /// Feed in force; it matters only when not rapid.
    pub feed: Option<f64>,
    /// Is the spindle on by the controller's doing?
    pub spindle: bool,
}

/// Where the bit is, axis by axis; an axis that has not been commanded yet may be anywhere.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Place {
    pub x: Option<f64>,
    pub y: Option<f64>,
    pub z: Option<f64>,
}

/// Why a program is refused.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    pub line: usize,
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

/// Runs a whole program.
pub fn run(text: &str) -> Result<Vec<Event>, Fault> {
    let mut control = Control::default();
    let mut events = Vec::new();
    let mut line = 0;
    for source in text.lines() {
        line += 1;
        let happened = if control.ended && !source.trim().is_empty() {
            Err("text after the end of the program".to_owned())
        } else {
            parse(source).and_then(|block| control.execute(&block))
        };
        match happened {
            Ok(happened) => events.extend(happened.into_iter().map(|what| Event { line, what })),
            Err(what) => return Err(Fault { line, what }),
        }
    }
    if !control.ended {
        return Err(Fault { line, what: "the program has no end".to_owned() });
    }
    Ok(events)
}

/// The words of a line, and its comments.
#[derive(Debug, Default, PartialEq)]
struct Block {
    words: Vec<(char, f64)>,
    comments: Vec<String>,
}

/// Splits a line into words and comments. Blanks are free outside comments, case does not matter.
fn parse(line: &str) -> Result<Block, String> {
    let mut block = Block::default();
    let mut rest = line;
    loop {
        rest = rest.trim_start_matches([' ', '\t']);
        let Some(first) = rest.chars().next() else { return Ok(block) };
        if first == '(' {
            let (inside, after) = rest[1..].split_once(')').ok_or("a comment without an end")?;
            if inside.contains('(') {
                return Err("a comment within a comment".to_owned());
            }
            if let Some(c) = inside.chars().find(|c| !(' '..='~').contains(c)) {
                return Err(format!("{c:?} in a comment"));
            }
            if inside.trim_start().to_ascii_uppercase().starts_with("MSG") {
                return Err("a comment that is a message".to_owned());
            }
            block.comments.push(inside.to_owned());
            rest = after;
        } else if first.is_ascii_alphabetic() {
            let digits = rest[1..].trim_start_matches([' ', '\t']);
            let length =
                digits.find(|c: char| !matches!(c, '0'..='9' | '.' | '+' | '-')).unwrap_or(digits.len());
            let (number, after) = digits.split_at(length);
            let value = real(number).ok_or_else(|| format!("{first}{number} is not a word"))?;
            block.words.push((first.to_ascii_uppercase(), value));
            rest = after;
        } else {
            return Err(format!("{first:?} does not belong there"));
        }
    }
}

/// A number by the grammar of section 3.3.2.1: sign, digits, point, digits; no exponent.
fn real(text: &str) -> Option<f64> {
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, ""));
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    let good = digits(whole) && digits(fraction) && !(whole.is_empty() && fraction.is_empty());
    if good { text.parse().ok() } else { None }
}

/// Groups of codes of which a line may hold one each (section 3.4, table 4).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Group {
    Motion,
    Plane,
    Distance,
    FeedMode,
    Units,
    Stopping,
    Spindle,
}

fn group(letter: char, code: f64) -> Option<Group> {
    let exact = |n: u8| code == f64::from(n);
    Some(match letter {
        'G' if exact(0) || exact(1) => Group::Motion,
        'G' if exact(17) => Group::Plane,
        'G' if exact(20) || exact(21) => Group::Units,
        'G' if exact(90) => Group::Distance,
        'G' if exact(94) => Group::FeedMode,
        'M' if exact(0) || exact(2) => Group::Stopping,
        'M' if exact(3) || exact(5) => Group::Spindle,
        _ => return None,
    })
}

/// The modal state.
#[derive(Debug, Default)]
struct Control {
    mm: Option<f64>,
    plane: bool,
    absolute: bool,
    per_minute: bool,
    rapid: Option<bool>,
    feed: Option<f64>,
    speed: Option<f64>,
    spindle: bool,
    at: Place,
    ended: bool,
}

impl Control {
    /// Executes a line in the order of section 3.8, table 8.
    fn execute(&mut self, block: &Block) -> Result<Vec<What>, String> {
        let mut seen: Vec<(Group, f64)> = Vec::new();
        let mut values: Vec<(char, f64)> = Vec::new();
        for &(letter, value) in &block.words {
            if matches!(letter, 'G' | 'M') {
                let group =
                    group(letter, value).ok_or_else(|| format!("{letter}{value} is not in use here"))?;
                if seen.iter().any(|(g, _)| *g == group) {
                    return Err(format!("{letter}{value} is the second code of its group in one line"));
                }
                seen.push((group, value));
            } else if !"XYZFS".contains(letter) {
                return Err(format!("{letter} is not in use here"));
            } else if values.iter().any(|(l, _)| *l == letter) {
                return Err(format!("{letter} twice in one line"));
            } else {
                values.push((letter, value));
            }
        }
        let code = |group| seen.iter().find(|(g, _)| *g == group).map(|(_, code)| *code);
        let value = |letter| values.iter().find(|(l, _)| *l == letter).map(|(_, value)| *value);

        let mut happened: Vec<What> = block.comments.iter().cloned().map(What::Comment).collect();
        self.per_minute |= code(Group::FeedMode).is_some();
        if let Some(feed) = value('F') {
            if feed <= 0.0 {
                return Err("a feed of nothing or less".to_owned());
            }
            self.feed = Some(feed * self.mm.ok_or("a feed before the unit")?);
        }
        if let Some(speed) = value('S') {
            if speed < 0.0 {
                return Err("a negative speed".to_owned());
            }
            self.speed = Some(speed);
        }
        match code(Group::Spindle) {
            Some(3.0) => {
                self.spindle = true;
                happened.push(What::SpindleOn(self.speed.ok_or("M3 before a speed")?));
            }
            Some(_) => {
                self.spindle = false;
                happened.push(What::SpindleOff);
            }
            None => {}
        }
        self.plane |= code(Group::Plane).is_some();
        if let Some(units) = code(Group::Units) {
            if self.mm.is_some() || value('F').is_some() {
                return Err("a change of the unit under way".to_owned());
            }
            self.mm = Some(if units == 20.0 { 25.4 } else { 1.0 });
        }
        self.absolute |= code(Group::Distance).is_some();
        happened.extend(self.motion(code(Group::Motion), ['X', 'Y', 'Z'].map(value))?);
        match code(Group::Stopping) {
            Some(0.0) => happened.push(What::Wait),
            Some(_) => {
                self.ended = true;
                happened.push(What::End);
            }
            None => {}
        }
        Ok(happened)
    }

    fn motion(&mut self, code: Option<f64>, axes: [Option<f64>; 3]) -> Result<Option<What>, String> {
        if let Some(code) = code {
            self.rapid = Some(code == 0.0);
        }
        if axes.iter().all(Option::is_none) {
            return if code.is_some() { Err("a motion without an axis".to_owned()) } else { Ok(None) };
        }
        let rapid = self.rapid.ok_or("an axis without a motion")?;
        let mm = self.mm.ok_or("a length before the unit")?;
        if !(self.plane && self.absolute && self.per_minute) {
            return Err("motion before G17, G90 and G94".to_owned());
        }
        if !rapid && self.feed.is_none() {
            return Err("G1 before a feed".to_owned());
        }
        let [x, y, z] = axes.map(|axis| axis.map(|v| v * mm));
        let from = self.at;
        self.at = Place { x: x.or(from.x), y: y.or(from.y), z: z.or(from.z) };
        Ok(Some(What::Move(Move { rapid, from, to: self.at, feed: self.feed, spindle: self.spindle })))
    }
}

mod itself {
    use super::{Move, Place, What, run};

    const START: &str = "G21\nG17\nG90\nG94\n";

    #[test]
    fn it_keeps_the_modal_state() {
        let events =
            run("G20 (inch)\nG17 G90 G94\ng1 z1. f10\nG0X1Y-.5\nx +2.0\nM2\n").expect("a good program");
        let moves: Vec<Move> =
            events.iter().filter_map(|e| if let What::Move(m) = e.what { Some(m) } else { None }).collect();
        assert_eq!(moves[0].from, Place::default());
        assert_eq!(moves[0].feed, Some(254.0));
        assert_eq!(moves[2].from, Place { x: Some(25.4), y: Some(-12.7), z: Some(25.4) });
        assert_eq!(moves[2].to, Place { x: Some(50.8), y: Some(-12.7), z: Some(25.4) });
        assert!(moves[2].rapid && !moves[0].rapid);
        assert_eq!(events[0].what, What::Comment("inch".to_owned()));
    }

    #[test]
    fn it_refuses_what_is_out_of_order_or_out_of_the_set() {
        for (body, why) in [
            ("G0 X1.0\n", "no end"),
            ("G1 X1.0\nM2\n", "before a feed"),
            ("X1.0\nM2\n", "without a motion"),
            ("G0\nM2\n", "without an axis"),
            ("G0 X1.0 X2.0\nM2\n", "twice"),
            ("G0 G1 X1.0 F1.0\nM2\n", "second code"),
            ("G4 P1.0\nM2\n", "not in use"),
            ("G2 X1.0 R3.0\nM2\n", "not in use"),
            ("G0.1 X1.0\nM2\n", "not in use"),
            ("T1\nM2\n", "not in use"),
            ("N10 G0 X1.0\nM2\n", "not in use"),
            ("M3\nM2\n", "before a speed"),
            ("(a (b) c)\nM2\n", "within a comment"),
            ("(a\nM2\n", "without an end"),
            ("a)\nM2\n", "not a word"),
            ("(msg,hello)\nM2\n", "a message"),
            ("(T\u{fc}r)\nM2\n", "in a comment"),
            ("; note\nM2\n", "does not belong"),
            ("%\nM2\n", "does not belong"),
            ("G0 X1e3\nM2\n", "E is not in use"),
            ("G0 X--1\nM2\n", "not a word"),
            ("G0 X.\nM2\n", "not a word"),
            ("G20\nM2\n", "change of the unit"),
            ("G1 X1.0 F0.0\nM2\n", "nothing or less"),
            ("M2\nG0 X1.0\n", "after the end"),
        ] {
            let fault = run(&format!("{START}{body}")).expect_err(body);
            assert!(fault.what.contains(why), "{body}: {fault}");
        }
        assert!(run("G17 G90 G94\nG0 X1.0\nM2\n").is_err_and(|f| f.what.contains("before the unit")));
        assert!(run("F10.0\nM2\n").is_err_and(|f| f.what.contains("before the unit")));
        assert!(run("G21\nG0 X1.0\nM2\n").is_err_and(|f| f.line == 2 && f.what.contains("G17")));
    }
}
