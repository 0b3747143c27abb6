//! What one line asks for, its words sorted by what they do.

use super::codes::{G, M, Motion, g, m};
use super::read::{Line, Word};
use super::refuse;
use crate::frame::Unit;
use crate::mistake::Mistake;
use std::ops::Range;

/// The words of a line that matter for the way of the bit.
#[derive(Debug, Clone, Copy, Default)]
pub struct Given {
    /// X, Y, Z.
    pub axes: [Option<Word>; 3],
    /// I, J, K.
    pub middle: [Option<Word>; 3],
    /// R.
    pub radius: Option<Word>,
    /// P.
    pub p: Option<Word>,
    /// A, B, C or E.
    pub fourth: Option<Word>,
    /// G0 to G3.
    pub motion: Option<(Motion, Word)>,
    /// G80.
    pub no_motion: bool,
    /// G20, G21.
    pub unit: Option<Unit>,
    /// G90, G91.
    pub absolute: Option<bool>,
    /// G4.
    pub dwell: bool,
    /// G53.
    pub machine_zero: bool,
    /// G43, G49.
    pub tool_length: bool,
    /// A word after whose motion the program waits or ends.
    pub stop: Option<Word>,
    /// M2, M30.
    pub end: bool,
    /// Does anything stand here but a line number?
    pub any: bool,
    /// A G code, or any word that moves something.
    pub acts: bool,
}

impl Given {
    /// Sorts the words of a line; what cannot be passed through goes into `wrong`.
    pub fn of(line: &Line, wrong: &mut Vec<Mistake>) -> Self {
        let mut given = Self::default();
        let mut seen = 0_u32;
        for &word in &line.words {
            let span = word.start..word.end;
            given.any |= word.letter != b'N';
            if !matches!(word.letter, b'G' | b'M') {
                let bit = 1 << (word.letter - b'A');
                if seen & bit != 0 {
                    wrong.push(refuse::twice(word.letter, span));
                    continue;
                }
                seen |= bit;
            }
            match word.letter {
                b'X' => given.axes[0] = Some(word),
                b'Y' => given.axes[1] = Some(word),
                b'Z' => given.axes[2] = Some(word),
                b'I' => given.middle[0] = Some(word),
                b'J' => given.middle[1] = Some(word),
                b'K' => given.middle[2] = Some(word),
                b'R' => given.radius = Some(word),
                b'P' => given.p = Some(word),
                b'A' | b'B' | b'C' | b'E' => given.fourth = Some(word),
                b'U' | b'V' | b'W' => wrong.push(refuse::second_axis(word.letter, span)),
                b'O' => wrong.push(refuse::o_word(span)),
                b'G' => given.g_code(word, wrong),
                b'M' => given.m_code(word, wrong),
                // N, F, S, T, D, H, L, Q: none changes where the bit goes.
                _ => {}
            }
        }
        given.acts |= given.axes.iter().chain(&given.middle).any(Option::is_some) || given.fourth.is_some();
        given
    }

    fn g_code(&mut self, word: Word, wrong: &mut Vec<Mistake>) {
        let span = word.start..word.end;
        let mut taken = false;
        self.acts = true;
        match code(word).map(g) {
            Some(G::Motion(motion)) => {
                taken = self.motion.is_some() || self.no_motion;
                self.motion = Some((motion, word));
            }
            Some(G::NoMotion) => {
                taken = self.motion.is_some();
                self.no_motion = true;
            }
            Some(G::Unit(unit)) => taken = self.unit.replace(unit).is_some_and(|before| before != unit),
            Some(G::Absolute(yes)) => taken = self.absolute.replace(yes).is_some_and(|before| before != yes),
            Some(G::Dwell) => self.dwell = true,
            Some(G::MachineZero) => self.machine_zero = true,
            Some(G::ToolLength) => self.tool_length = true,
            Some(G::Harmless) => {}
            Some(G::Refused(why)) => {
                wrong.push(refuse::code('G', code(word).unwrap_or(0), span.clone(), why))
            }
            None => wrong.push(refuse::no_number(b'G', span.clone())),
        }
        if taken {
            wrong.push(refuse::two_of_a_group(span));
        }
    }

    fn m_code(&mut self, word: Word, wrong: &mut Vec<Mistake>) {
        let span = word.start..word.end;
        match code(word).map(m) {
            Some(what @ (M::Wait | M::End)) => {
                self.end |= what == M::End;
                if self.stop.replace(word).is_some() {
                    wrong.push(refuse::two_of_a_group(span));
                }
            }
            Some(M::Harmless) => {}
            Some(M::Refused(why)) => wrong.push(refuse::code('M', code(word).unwrap_or(0), span, why)),
            None => wrong.push(refuse::no_number(b'M', span)),
        }
    }

    /// Is X or Y given?
    pub fn has_xy(&self) -> bool {
        self.axes[0].is_some() || self.axes[1].is_some()
    }

    /// Is one of I, J, K, R given?
    pub fn has_arc_words(&self) -> bool {
        self.radius.is_some() || self.middle.iter().any(Option::is_some)
    }

    /// The words of places and arcs, in the order X Y Z I J K R.
    pub fn place_words(&self) -> impl Iterator<Item = Word> + '_ {
        self.axes.iter().chain(&self.middle).chain(std::iter::once(&self.radius)).flatten().copied()
    }

    /// From the first of the words of places and arcs to the last.
    pub fn place_span(&self) -> Range<usize> {
        let start = self.place_words().map(|w| w.start).min().unwrap_or(0);
        let end = self.place_words().map(|w| w.end).max().unwrap_or(0);
        start..end
    }
}

/// The number of a code in tenths; `None` when it is no code.
fn code(word: Word) -> Option<i32> {
    let tenths = word.value * 10.0;
    let whole = tenths.round();
    ((0.0..=99_990.0).contains(&tenths) && (tenths - whole).abs() < 1e-6).then_some(whole as i32)
}
