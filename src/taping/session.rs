//! The talk about a first set-up, without a screen: which question comes next, and what became of an answer.

use super::key::Key;
use super::understand::{Answers, Refusal};
use crate::frame::Unit;
use std::collections::VecDeque;

/// What became of an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Reply {
    /// Taken.
    Taken,
    /// What was there stays.
    Kept,
    /// Left out.
    Skipped,
    /// At the question before.
    Back,
    /// There is none before.
    AtTheStart,
    /// The last mark was taken away.
    Removed(String),
    /// It cannot be used.
    Refused(Refusal),
    /// This one is needed.
    Needed,
    /// The words that can be typed.
    Help,
    /// Enough: nothing is to be kept.
    Stopped,
}

/// The talk.
#[derive(Debug, Clone)]
pub struct Session {
    unit: Unit,
    /// Taken so far.
    answers: Answers,
    /// Index into [`Key::ASKED`].
    at: usize,
    /// Doubtful entries that are asked for once more, when all questions are through.
    again: VecDeque<(Key, usize)>,
}

impl Session {
    /// At the first question, with what flags have answered already.
    pub fn new(unit: Unit, answers: Answers) -> Self {
        Self { unit, answers, at: 0, again: VecDeque::new() }
    }

    /// What was answered.
    pub fn answers(&self) -> &Answers {
        &self.answers
    }

    /// The question, with its entry; `None` when all are through.
    pub fn question(&self) -> Option<(Key, usize)> {
        match Key::ASKED.get(self.at) {
            Some(&Key::Mark) => Some((Key::Mark, self.answers.of(Key::Mark).len())),
            Some(&key) => Some((key, 0)),
            None => self.again.front().copied(),
        }
    }

    /// What stands for the question now.
    pub fn now(&self) -> Option<&str> {
        let (key, entry) = self.question()?;
        self.answers.of(key).get(entry).map(String::as_str)
    }

    /// Asks for some entries once more.
    pub fn ask_again(&mut self, entries: impl IntoIterator<Item = (Key, usize)>) {
        for entry in entries {
            if !self.again.contains(&entry) {
                self.again.push_back(entry);
            }
        }
    }

    /// Takes a line.
    pub fn answer(&mut self, line: &str) -> Reply {
        let Some((key, entry)) = self.question() else { return Reply::Kept };
        let word = line.trim();
        match word.to_lowercase().as_str() {
            "" | "skip" | "s" if self.now().is_some() && word.is_empty() => {
                self.next(key);
                Reply::Kept
            }
            "" | "skip" | "s" => self.skip(key),
            "back" | "b" => self.back(key),
            "help" | "h" | "?" => Reply::Help,
            "stop" | "quit" | "q" | "exit" => Reply::Stopped,
            _ => match Answers::check(key, word, self.unit) {
                Err(refusal) => Reply::Refused(refusal),
                Ok(()) => {
                    self.answers.set(key, entry, word);
                    // Any number of marks.
                    if key != Key::Mark || self.at == Key::ASKED.len() {
                        self.next(key);
                    }
                    Reply::Taken
                }
            },
        }
    }

    /// Leaves a question out, and what was answered to it before.
    fn skip(&mut self, key: Key) -> Reply {
        if self.at == Key::ASKED.len() {
            self.next(key);
            return Reply::Kept;
        }
        let needed = key == Key::Spacing
            || (key == Key::TopRight && self.answers.of(Key::TopLeft).is_empty())
            || key == Key::HeldHeight;
        if needed {
            return Reply::Needed;
        }
        if key != Key::Mark {
            self.answers.remove_last(key);
        }
        self.next(key);
        Reply::Skipped
    }

    fn next(&mut self, key: Key) {
        if self.at == Key::ASKED.len() {
            self.again.pop_front();
            return;
        }
        self.at += 1;
        // A controller that holds nothing yet cannot have driven to its middle.
        if key == Key::HeldSpacing && self.answers.of(Key::HeldSpacing).is_empty() {
            while self.answers.remove_last(Key::HeldHeight).is_some() {}
            for key in Key::ASKED.into_iter().filter(|k| k.is_at_middle()) {
                while self.answers.remove_last(key).is_some() {}
            }
            self.at = Key::ASKED.len();
        }
    }

    fn back(&mut self, key: Key) -> Reply {
        if self.at == Key::ASKED.len() || self.at == 0 {
            return Reply::AtTheStart;
        }
        if key == Key::Mark
            && let Some(mark) = self.answers.remove_last(Key::Mark)
        {
            return Reply::Removed(mark);
        }
        self.at -= 1;
        Reply::Back
    }
}
