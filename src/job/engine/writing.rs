//! One motion written: its first line with all that stood in it, then a line for each further chord.

use super::{Move, Worker};
use crate::frame::Unit;
use crate::job::codes::Motion;
use crate::job::edit::{MOST_DECIMALS, push_number, scaled, unscaled};
use crate::job::read::Word;
use crate::job::refuse;
use crate::job::summary::TracePoint;
use crate::job::travel::Travel;

impl Worker<'_> {
    /// Writes the line, and more lines for more chords.
    pub(super) fn write(&mut self, travel: &Travel, m: &Move<'_>) {
        let rapid = matches!(travel, Travel::Rapid { .. });
        for &point in &self.way {
            self.summary.note(point, rapid, m.source.number);
        }
        self.summary.motions += 1;
        self.summary.arcs += usize::from(m.motion.is_arc());
        if self.stays(m) {
            self.keep(m.source);
            self.state.written_motion = Some(m.motion);
            return;
        }
        let n = self.way.len();
        if n > 1 && m.given.axes[2].is_some() && self.state.absolute && m.z_mm[0].is_none() {
            self.wrong.push(refuse::no_height(m.given.place_span()));
            return;
        }
        let written = if m.motion.is_arc() { Motion::Straight } else { m.motion };
        self.first_line(m, written);
        self.summary.changed += 1;
        for k in 2..=n {
            self.chord_line(m, k);
        }
        self.summary.added += n - 1;
        self.state.written_motion = Some(written);
    }

    /// Does the line need no change? When it does not, where it goes is taken over as written.
    fn stays(&mut self, m: &Move<'_>) -> bool {
        let spelled = m.given.motion.is_some() || self.state.written_motion == Some(m.motion);
        let half = 0.5 * unscaled(1, m.decimals);
        let near = |a: f64, b: f64| (m.unit.from_mm(a) - m.unit.from_mm(b)).abs() < half;
        let unbent = |p: &TracePoint| near(p.sent.x_mm, p.meant.x_mm) && near(p.sent.y_mm, p.meant.y_mm);
        if !spelled || (self.way.len() > 1 || m.motion.is_arc()) && !self.way.iter().all(unbent) {
            return false;
        }
        let Some(last) = self.way.last() else { return false };
        let goal = last.sent - self.options.zero;
        let goal = [goal.x_mm, goal.y_mm];
        let mut sent = self.state.sent_mm;
        for axis in 0..2 {
            match (m.given.axes[axis], sent[axis]) {
                (None, Some(before)) if near(goal[axis], before) => {}
                (Some(word), before) => {
                    let start = if self.state.absolute { 0.0 } else { before.unwrap_or(0.0) };
                    let wanted = m.unit.from_mm(goal[axis] - start);
                    if scaled(wanted, m.decimals) != scaled(word.value, m.decimals) {
                        return false;
                    }
                    sent[axis] = Some(start + m.unit.to_mm(word.value));
                }
                _ => return false,
            }
        }
        self.state.sent_mm = sent;
        true
    }

    /// Units of the last place to write for a place of the way, per axis; takes over where the carriage then is.
    fn step(&mut self, k: usize, m: &Move<'_>) -> [i64; 2] {
        let goal = self.way[k - 1].sent - self.options.zero;
        let mut units = [0; 2];
        for (axis, goal_mm) in [goal.x_mm, goal.y_mm].into_iter().enumerate() {
            // A step is counted from where the carriage was really sent, so that rounding never adds up.
            let start = if self.state.absolute { 0.0 } else { self.state.sent_mm[axis].unwrap_or(0.0) };
            units[axis] = scaled(m.unit.from_mm(goal_mm - start), m.decimals);
            self.state.sent_mm[axis] = Some(start + m.unit.to_mm(unscaled(units[axis], m.decimals)));
        }
        units
    }

    /// The job's own line, with new places.
    fn first_line(&mut self, m: &Move<'_>, written: Motion) {
        let units = self.step(1, m);
        let given = m.given;
        let start = given.place_span().start;
        self.edits.clear();
        match given.motion {
            Some((motion, word)) if motion != written => {
                self.edits.put(word.number, word.end, |t| t.push(written.digit()));
            }
            None if self.state.written_motion != Some(written) => {
                self.edits.put(start, start, |t| t.extend_from_slice(&[b'G', written.digit(), b' ']));
            }
            _ => {}
        }
        let number = |units: i64| move |t: &mut Vec<u8>| push_number(t, units, m.decimals);
        let [x, y, z] = given.axes;
        for (word, units) in [(x, units[0]), (y, units[1])] {
            if let Some(word) = word {
                self.edits.put(word.number, word.end, number(units));
            }
        }
        let insert = |letter: u8, units: i64, before: bool| {
            move |t: &mut Vec<u8>| {
                if !before {
                    t.push(b' ');
                }
                t.push(letter);
                push_number(t, units, m.decimals);
                if before {
                    t.push(b' ');
                }
            }
        };
        match (x, y) {
            (Some(x), None) => self.edits.put(x.end, x.end, insert(b'Y', units[1], false)),
            (None, Some(y)) => self.edits.put(y.start, y.start, insert(b'X', units[0], true)),
            (None, None) => {
                self.edits.put(start, start, insert(b'X', units[0], true));
                self.edits.put(start, start, insert(b'Y', units[1], true));
            }
            _ => {}
        }
        if let Some(word) = z.filter(|_| self.way.len() > 1) {
            let (units, decimals) = self.z_step(1, word, m);
            self.edits.put(word.number, word.end, |t| push_number(t, units, decimals));
        }
        for word in given.middle.iter().chain([&given.radius]).flatten() {
            self.edits.drop_word(&m.source.line, word.start, word.end);
        }
        if let Some(word) = given.stop.filter(|_| self.way.len() > 1) {
            self.edits.drop_word(&m.source.line, word.start, word.end);
        }
        self.edits.apply(&m.source.line, &mut self.out);
        self.end_line(m, 1);
    }

    /// A line for one more chord.
    fn chord_line(&mut self, m: &Move<'_>, k: usize) {
        let units = self.step(k, m);
        self.out.extend_from_slice(b"G1 X");
        push_number(&mut self.out, units[0], m.decimals);
        self.out.extend_from_slice(b" Y");
        push_number(&mut self.out, units[1], m.decimals);
        if let Some(word) = m.given.axes[2] {
            let (units, decimals) = self.z_step(k, word, m);
            self.out.extend_from_slice(b" Z");
            push_number(&mut self.out, units, decimals);
        }
        if let Some(word) = m.given.stop.filter(|_| k == self.way.len()) {
            self.out.push(b' ');
            self.out.extend_from_slice(&m.source.line[word.start..word.end]);
        }
        self.end_line(m, k);
    }

    /// Units of the last place, and places, for the height after the k-th chord.
    fn z_step(&self, k: usize, word: Word, m: &Move<'_>) -> (i64, usize) {
        let least = if m.unit == Unit::Mm { 3 } else { 4 };
        let decimals = word.decimals.clamp(least, MOST_DECIMALS);
        let n = self.way.len();
        let share = |k: usize| k as f64 / n as f64;
        if self.state.absolute {
            let start = m.z_mm[0].map_or(word.value, |z| m.unit.from_mm(z));
            let height = if k == n { word.value } else { start + (word.value - start) * share(k) };
            (scaled(height, decimals), decimals)
        } else {
            // Whole units of the way so far, minus those written: the sum comes out.
            let so_far = |k: usize| scaled(word.value * share(k), decimals);
            (so_far(k) - so_far(k - 1), decimals)
        }
    }

    /// The line end; the last line ends as the job's own line did.
    fn end_line(&mut self, m: &Move<'_>, k: usize) {
        let end = m.source.end;
        let last = k == self.way.len();
        self.out.extend_from_slice(if last || !end.is_empty() { end } else { b"\n" });
    }
}
