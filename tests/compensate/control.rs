//! A control that carries out jobs, for proving them: modal state, places, arcs (NIST IR 6556). It shares no code with
//! the library, and panics at what it does not know.

use std::f64::consts::TAU;

pub type Xy = (f64, f64);

/// The way of one motion, mm from the job's zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Way {
    Rapid { to: Xy },
    Straight { from: Option<Xy>, to: Xy },
    Arc { from: Xy, to: Xy, middle: Xy, sweep: f64 },
}

impl Way {
    pub fn to(&self) -> Xy {
        match *self {
            Self::Rapid { to } | Self::Straight { to, .. } | Self::Arc { to, .. } => to,
        }
    }

    /// The place after a share of the way.
    pub fn at(&self, share: f64) -> Xy {
        match *self {
            Self::Straight { from: Some(from), to } => {
                (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1))
            }
            Self::Arc { from, middle, sweep, .. } => {
                let (x, y) = (from.0 - middle.0, from.1 - middle.1);
                let (s, c) = (share * sweep).sin_cos();
                (middle.0 + c * x - s * y, middle.1 + s * x + c * y)
            }
            _ => self.to(),
        }
    }

    /// Distance of a place from the way.
    pub fn distance(&self, p: Xy) -> f64 {
        match *self {
            Self::Rapid { to } | Self::Straight { from: None, to } => apart(p, to),
            Self::Straight { from: Some(a), to: b } => {
                let (dx, dy) = (b.0 - a.0, b.1 - a.1);
                let long = dx * dx + dy * dy;
                let t = if long > 0.0 { ((p.0 - a.0) * dx + (p.1 - a.1) * dy) / long } else { 0.0 };
                let t = t.clamp(0.0, 1.0);
                apart(p, (a.0 + t * dx, a.1 + t * dy))
            }
            Self::Arc { from, to, middle, sweep } => {
                let angle = |q: Xy| (q.1 - middle.1).atan2(q.0 - middle.0);
                let turned = ((angle(p) - angle(from)) * sweep.signum()).rem_euclid(TAU);
                if turned <= sweep.abs() {
                    (apart(p, middle) - apart(from, middle)).abs()
                } else {
                    apart(p, from).min(apart(p, to))
                }
            }
        }
    }
}

pub fn apart(a: Xy, b: Xy) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// One motion.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    pub way: Way,
    pub z: Option<f64>,
    pub feed: Option<f64>,
    /// Does it move X or Y?
    pub across: bool,
}

/// What a job does.
#[derive(Debug, Default)]
pub struct Carried {
    pub motions: Vec<Motion>,
    /// Comments, and words such as F, S, M, T, in order.
    pub comments: Vec<String>,
    pub others: Vec<String>,
}

/// Carries out a job.
pub fn carry_out(text: &str) -> Carried {
    let mut done = Carried::default();
    let (mut mm, mut absolute, mut motion, mut feed) = (None, true, None, None);
    let mut at: [Option<f64>; 3] = [None; 3];
    let mut ended = false;
    for line in text.lines() {
        let (words, comments) = words(line);
        done.comments.extend(comments);
        assert!(!ended || words.iter().all(|w| w.0 == 'N'), "after the end: {line}");
        let value = |letter: char| words.iter().find(|w| w.0 == letter).map(|w| w.1);
        for &(letter, number) in &words {
            match (letter, number) {
                ('G', g) if [0.0, 1.0, 2.0, 3.0].contains(&g) => motion = Some(g as u32),
                ('G', 20.0) => mm = Some(25.4),
                ('G', 21.0) => mm = Some(1.0),
                ('G', 90.0) => absolute = true,
                ('G', 91.0) => absolute = false,
                ('G', 17.0 | 40.0 | 54.0 | 64.0 | 94.0) => {}
                ('G', g) => panic!("G{g} in {line}"),
                ('F', f) => feed = Some(f),
                ('X' | 'Y' | 'Z' | 'I' | 'J' | 'R' | 'N' | 'S' | 'T' | 'M', _) => {}
                _ => panic!("{letter} in {line}"),
            }
            if matches!(letter, 'F' | 'S' | 'M' | 'T' | 'N') {
                done.others.push(format!("{letter}{number}"));
            }
        }
        ended |= words.iter().any(|w| w.0 == 'M' && (w.1 == 2.0 || w.1 == 30.0));
        let axes = ['X', 'Y', 'Z'].map(value);
        let round = ['I', 'J', 'R'].map(value);
        if axes.iter().chain(&round).all(Option::is_none) {
            continue;
        }
        let mm: f64 = mm.expect("a unit");
        let before = at;
        for k in 0..3 {
            if let Some(v) = axes[k] {
                at[k] = Some(if absolute { v * mm } else { at[k].expect("a start") + v * mm });
            }
        }
        let across = axes[0].is_some() || axes[1].is_some() || round.iter().any(Option::is_some);
        if !across {
            let to = (at[0].unwrap_or(f64::NAN), at[1].unwrap_or(f64::NAN));
            done.motions.push(Motion { way: Way::Rapid { to }, z: at[2], feed, across });
            continue;
        }
        let to = (at[0].expect("X"), at[1].expect("Y"));
        let from = before[0].zip(before[1]);
        let way = match motion.expect("a motion") {
            0 => Way::Rapid { to },
            1 => Way::Straight { from, to },
            g => arc(from.expect("a start"), to, round.map(|r| r.map(|v| v * mm)), g == 2),
        };
        done.motions.push(Motion { way, z: at[2], feed, across });
    }
    done
}

fn arc(from: Xy, to: Xy, [i, j, r]: [Option<f64>; 3], clockwise: bool) -> Way {
    let middle = match r {
        Some(r) => {
            let (dx, dy) = (to.0 - from.0, to.1 - from.1);
            let d = dx.hypot(dy);
            let h = (r * r - d * d / 4.0).max(0.0).sqrt();
            // Left of the way from start to end for an anticlockwise arc under half a turn.
            let side = if clockwise { -1.0 } else { 1.0 } * r.signum();
            ((from.0 + to.0) / 2.0 - side * h * dy / d, (from.1 + to.1) / 2.0 + side * h * dx / d)
        }
        None => (from.0 + i.unwrap_or(0.0), from.1 + j.unwrap_or(0.0)),
    };
    let angle = |p: Xy| (p.1 - middle.1).atan2(p.0 - middle.0);
    let turn = angle(to) - angle(from);
    let sweep = if apart(from, to) < 1e-6 {
        TAU
    } else if clockwise {
        (-turn).rem_euclid(TAU)
    } else {
        turn.rem_euclid(TAU)
    };
    Way::Arc { from, to, middle, sweep: if clockwise { -sweep } else { sweep } }
}

/// The words of a line, and its comments.
fn words(line: &str) -> (Vec<(char, f64)>, Vec<String>) {
    let (mut words, mut comments) = (Vec::new(), Vec::new());
    let mut rest = line.trim_matches(|c| c == '\r' || c == '%' || c == ' ');
    while let Some(c) = rest.chars().next() {
        match c {
            ' ' | '\t' => rest = &rest[1..],
            ';' => {
                comments.push(rest.to_owned());
                break;
            }
            '(' => {
                let end = rest.find(')').expect("a closing bracket") + 1;
                assert_eq!(rest[1..end].find('('), None, "{line}");
                comments.push(rest[..end].to_owned());
                rest = &rest[end..];
            }
            letter => {
                assert!(letter.is_ascii_alphabetic(), "{letter:?} in {line:?}");
                let number = rest[1..].trim_start();
                let end =
                    number.find(|c: char| !matches!(c, '0'..='9' | '.' | '-' | '+')).unwrap_or(number.len());
                words.push((letter.to_ascii_uppercase(), number[..end].parse().expect(line)));
                rest = &number[end..];
            }
        }
    }
    (words, comments)
}
