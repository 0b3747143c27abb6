//! Everything that lasts from cut to cut, as the states of one vector: how they move, and what sets them free.
//!
//! The unknowns creep a little (frames settle, chains bed in) and each chain's pitch grows steadily with wear. Warmth lengthens
//! the steel of both chains; where no thermometer was read, a yearly wave stands in for it. Scale and zero of an
//! instrument stay what they are. Sizes are ours, chosen wide: common practice, no source.

use super::{Entry, Mark};
use crate::events::Kind;
use crate::knowledge::Subject;
use crate::machine::Unknown;
use crate::setup::{DAYS_A_MONTH, GROWTH_U_A_MONTH, creep_a_month};
use jiff::civil::Date;
use nalgebra::{DMatrix, DVector};

/// Temperature to which pitches are referred, degrees C (ISO 1).
pub(super) const REFERENCE_C: f64 = 20.0;
/// What is believed of the growth of both chains per K: 0 with this. Steel alone would be 0.0115 mm/m.
const WARMTH_U: f64 = 0.03;
/// What is believed of either part of the yearly wave of both pitches: 0 with this, mm/m. Ten degrees of steel.
const SEASON_U: f64 = 0.1;
/// Days in a year.
const YEAR: f64 = 365.25;

/// What one component of the state vector stands for.
#[derive(Debug, Clone, PartialEq)]
pub enum State {
    /// A parameter of the cuts' fits; pitches at 20 degrees C.
    Of(Subject),
    /// Growth of a pitch, mm/m per day.
    Growth(Unknown),
    /// Growth of both pitches per K, mm/m.
    Warmth,
    /// Both pitches' yearly wave: the part that is largest at the beginning of the year, mm/m.
    SeasonCosine,
    /// Both pitches' yearly wave: the part that is largest in spring, mm/m.
    SeasonSine,
}

/// The states of one machine, with what was believed of them before the first cut.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub(super) states: Vec<State>,
    pub(super) mean: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
}

impl Layout {
    pub(super) fn of(entries: &[Entry]) -> Self {
        let mut states: Vec<State> = Vec::new();
        let mut beliefs: Vec<(f64, f64)> = Vec::new();
        // Covariance of what was expected before the first cut; a later instrument comes with its own.
        for entry in entries {
            let k = &entry.knowledge;
            for (i, subject) in k.of.iter().enumerate() {
                let state = State::Of(subject.clone());
                if !states.contains(&state) {
                    states.push(state);
                    beliefs.push((k.expected[i], k.expected_covariance[i][i]));
                }
            }
        }
        let first = entries.first().map_or(0, |e| e.knowledge.of.len());
        for unknown in [Unknown::PitchLeft, Unknown::PitchRight] {
            if states.contains(&State::Of(Subject::Unknown(unknown))) {
                states.push(State::Growth(unknown));
                beliefs.push((0.0, (GROWTH_U_A_MONTH / DAYS_A_MONTH).powi(2)));
            }
        }
        if entries.iter().all(|e| e.temperature_c.is_some()) {
            states.push(State::Warmth);
            beliefs.push((0.0, WARMTH_U.powi(2)));
        } else {
            for state in [State::SeasonCosine, State::SeasonSine] {
                states.push(state);
                beliefs.push((0.0, SEASON_U.powi(2)));
            }
        }
        let n = states.len();
        let mut covariance = DMatrix::from_diagonal(&DVector::from_iterator(n, beliefs.iter().map(|b| b.1)));
        for i in 0..first {
            for j in 0..first {
                covariance[(i, j)] = entries[0].knowledge.expected_covariance[i][j];
            }
        }
        Self { states, mean: DVector::from_iterator(n, beliefs.iter().map(|b| b.0)), covariance }
    }

    pub(super) fn len(&self) -> usize {
        self.states.len()
    }

    pub(super) fn index(&self, state: &State) -> Option<usize> {
        self.states.iter().position(|s| s == state)
    }

    pub(super) fn unknown(&self, unknown: Unknown) -> Option<usize> {
        self.index(&State::Of(Subject::Unknown(unknown)))
    }

    /// How the states move in so many days: x' = F x + noise of covariance Q.
    pub(super) fn moved(&self, days: f64) -> (DMatrix<f64>, DMatrix<f64>) {
        let n = self.len();
        let (mut f, mut q) = (DMatrix::identity(n, n), DMatrix::zeros(n, n));
        for (i, state) in self.states.iter().enumerate() {
            if let State::Of(Subject::Unknown(u)) = state {
                q[(i, i)] = creep_a_month(*u).powi(2) * days / DAYS_A_MONTH;
                if let Some(k) = self.index(&State::Growth(*u)) {
                    f[(i, k)] = days;
                }
            }
        }
        (f, q)
    }

    /// States that an event sets free: those that keep their value but may have moved, and those that begin anew.
    pub(super) fn freed(&self, mark: &Mark, tapes: &[String]) -> (Vec<usize>, Vec<usize>) {
        let is_pitch = |u: &Unknown| matches!(u, Unknown::PitchLeft | Unknown::PitchRight);
        let (pitches, others): (Vec<Unknown>, Vec<Unknown>) = mark.moves.iter().partition(|u| is_pitch(u));
        let loose = others.into_iter().filter_map(|u| self.unknown(u)).collect();
        let mut anew: Vec<usize> = pitches.iter().filter_map(|&u| self.unknown(u)).collect();
        anew.extend(pitches.iter().filter_map(|&u| self.index(&State::Growth(u))));
        if mark.kind == Kind::Tape {
            let of_tape = |s: &State| match s {
                State::Of(Subject::Scale(name) | Subject::Zero(name)) => tapes.contains(name),
                _ => false,
            };
            anew.extend((0..self.len()).filter(|&i| of_tape(&self.states[i])));
        }
        (loose, anew)
    }

    /// Rows of an entry's readings by the states.
    pub(super) fn rows(&self, entry: &Entry) -> (DMatrix<f64>, DVector<f64>) {
        let k = &entry.knowledge;
        let mut rows = DMatrix::zeros(k.rows.len(), self.len());
        for (j, subject) in k.of.iter().enumerate() {
            let Some(column) = self.index(&State::Of(subject.clone())) else { continue };
            for (i, row) in k.rows.iter().enumerate() {
                rows[(i, column)] = row[j];
            }
        }
        // What warmth or season does, it does to both pitches.
        for (column, state) in self.states.iter().enumerate() {
            let gain = self.shared_gain(state, entry.date, entry.temperature_c);
            if gain == 0.0 {
                continue;
            }
            for i in 0..rows.nrows() {
                let pitches = [Unknown::PitchLeft, Unknown::PitchRight];
                let both: f64 = pitches.iter().filter_map(|&u| self.unknown(u)).map(|c| rows[(i, c)]).sum();
                rows[(i, column)] = gain * both;
            }
        }
        (rows, DVector::from_column_slice(&k.values))
    }

    /// By how much one unit of a shared state lengthens both pitches on a day.
    pub(super) fn shared_gain(&self, state: &State, date: Date, temperature_c: Option<f64>) -> f64 {
        let turn = std::f64::consts::TAU * f64::from(date.day_of_year()) / YEAR;
        match state {
            State::Warmth => temperature_c.map_or(0.0, |t| t - REFERENCE_C),
            State::SeasonCosine => turn.cos(),
            State::SeasonSine => turn.sin(),
            State::Of(_) | State::Growth(_) => 0.0,
        }
    }
}
