//! Answers as typed, and what they say.

use super::key::Key;
use super::reading::{Look, Reading};
use crate::frame::Unit;
use crate::machine::{ChainLeaves, Side};
use crate::readings::length::{self, Context};
use crate::setup::CLASSES;
use std::collections::BTreeMap;

/// What was typed for each question, or given with each flag; several entries for marks, one for all else.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answers(BTreeMap<Key, Vec<String>>);

/// Why an answer cannot be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    /// Of which question.
    pub key: Key,
    /// What was typed; empty when an answer is missing.
    pub text: String,
    /// What is wrong with it.
    pub why: String,
    /// What may help.
    pub help: Option<String>,
}

/// Numbers of the machine that are stated and not adjusted; `None` where the example of `machine.toml` stays.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Build {
    /// Accuracy class of the tape, one of [`CLASSES`].
    pub tape_class: Option<&'static str>,
    /// Scatter of a single reading of it, as a standard deviation, mm.
    pub tape_noise_mm: Option<f64>,
    /// Sheet's width, mm.
    pub sheet_width_mm: Option<f64>,
    /// Sheet's height, mm.
    pub sheet_height_mm: Option<f64>,
    /// Teeth of each sprocket.
    pub teeth: Option<u32>,
    /// Chain's pitch, mm.
    pub pitch_mm: Option<f64>,
    /// Over or under the sprocket.
    pub chain_leaves: Option<ChainLeaves>,
    /// Chain's mass, kg per metre.
    pub chain_mass_kg_per_m: Option<f64>,
    /// Carriage's mass, kg.
    pub carriage_mass_kg: Option<f64>,
    /// Lean from the vertical, degrees.
    pub lean_deg: Option<f64>,
    /// Spacing that the controller held when it drove to its middle, mm.
    pub held_spacing_mm: Option<f64>,
    /// Height that it held then, mm.
    pub held_height_mm: Option<f64>,
}

/// All answers, understood.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Understood {
    /// What is stated.
    pub build: Build,
    /// What was read.
    pub readings: Vec<Reading>,
    /// Of each reading the question and its entry.
    pub sources: Vec<(Key, usize)>,
}

/// What one entry says.
enum Entry {
    Class(&'static str),
    Readings(Vec<(Look, f64)>),
    Number(f64),
    Leaves(ChainLeaves),
}

impl Answers {
    /// What was typed for a question.
    pub fn of(&self, key: Key) -> &[String] {
        self.0.get(&key).map_or(&[], Vec::as_slice)
    }

    /// Has nothing been typed at all?
    pub fn is_empty(&self) -> bool {
        self.0.values().all(Vec::is_empty)
    }

    /// The questions with what was typed, in the order of walking.
    pub fn iter(&self) -> impl Iterator<Item = (Key, &str)> {
        self.0.iter().flat_map(|(key, entries)| entries.iter().map(|e| (*key, e.as_str())))
    }

    /// Adds an entry.
    pub fn add(&mut self, key: Key, text: &str) {
        self.0.entry(key).or_default().push(text.trim().to_owned());
    }

    /// Puts an entry in place of another, or behind the last.
    pub fn set(&mut self, key: Key, entry: usize, text: &str) {
        let entries = self.0.entry(key).or_default();
        match entries.get_mut(entry) {
            Some(old) => *old = text.trim().to_owned(),
            None => entries.push(text.trim().to_owned()),
        }
    }

    /// Takes the last entry away.
    pub fn remove_last(&mut self, key: Key) -> Option<String> {
        self.0.get_mut(&key)?.pop()
    }

    /// What all answers say; lengths without a unit of their own are in `unit`, a link is `usual_pitch_mm` long unless
    /// an answer says otherwise.
    ///
    /// # Errors
    /// Every answer that cannot be used, and those that are missing.
    pub fn understood(&self, unit: Unit, usual_pitch_mm: f64) -> Result<Understood, Vec<Refusal>> {
        let mut refusals = Vec::new();
        let pitch_mm = match self.of(Key::Pitch).first().map(|text| understand(Key::Pitch, text, unit, 0.0)) {
            Some(Ok(Entry::Number(mm))) => mm,
            _ => usual_pitch_mm,
        };
        let mut all = Understood::default();
        for (&key, entries) in &self.0 {
            for (at, text) in entries.iter().enumerate() {
                match understand(key, text, unit, pitch_mm) {
                    Err(refusal) => refusals.push(refusal),
                    Ok(Entry::Number(value)) => all.build.put(key, value),
                    Ok(Entry::Class(class)) => all.build.tape_class = Some(class),
                    Ok(Entry::Leaves(leaves)) => all.build.chain_leaves = Some(leaves),
                    Ok(Entry::Readings(list)) => {
                        for (look, as_read_mm) in list {
                            all.readings.push(Reading { look, as_read_mm, unit });
                            all.sources.push((key, at));
                        }
                    }
                }
            }
        }
        let widths = all.readings.iter().filter(|r| r.look == Look::SheetWidth).map(|r| r.as_read_mm);
        let (sum, count) = widths.fold((0.0, 0), |(sum, count), mm| (sum + mm, count + 1));
        all.build.sheet_width_mm = (count > 0).then(|| sum / f64::from(count));
        if refusals.is_empty() {
            refusals = self.missing();
        }
        if refusals.is_empty() { Ok(all) } else { Err(refusals) }
    }

    /// What one answer would be refused for.
    ///
    /// # Errors
    /// When it cannot be used.
    pub fn check(key: Key, text: &str, unit: Unit) -> Result<(), Refusal> {
        understand(key, text, unit, 8.0).map(|_| ())
    }

    /// A first set-up needs the distance of the shafts and how high they are; what is read at the machine's middle says
    /// something only against what the controller held.
    fn missing(&self) -> Vec<Refusal> {
        let has = |key: Key| !self.of(key).is_empty();
        let lacks =
            |key: Key, why: &str| Refusal { key, text: String::new(), why: why.to_owned(), help: None };
        let mut list = Vec::new();
        if !has(Key::Spacing) {
            list.push(lacks(Key::Spacing, "it is needed for a first set-up"));
        }
        if !has(Key::TopLeft) && !has(Key::TopRight) {
            list.push(lacks(
                Key::TopLeft,
                "it, or the same at the right corner, is needed for a first set-up",
            ));
        }
        if Key::ASKED.iter().any(|&key| key.is_at_middle() && has(key)) {
            for key in [Key::HeldSpacing, Key::HeldHeight] {
                if !has(key) {
                    list.push(lacks(
                        key,
                        "what is read at the machine's middle says something only with the spacing and height that the \
                         controller held then",
                    ));
                }
            }
        }
        list
    }
}

impl Build {
    fn put(&mut self, key: Key, value: f64) {
        let slot = match key {
            Key::TapeNoise => &mut self.tape_noise_mm,
            Key::SheetHeight => &mut self.sheet_height_mm,
            Key::Pitch => &mut self.pitch_mm,
            Key::ChainMass => &mut self.chain_mass_kg_per_m,
            Key::CarriageMass => &mut self.carriage_mass_kg,
            Key::Lean => &mut self.lean_deg,
            Key::HeldSpacing => &mut self.held_spacing_mm,
            Key::HeldHeight => &mut self.held_height_mm,
            Key::Teeth => {
                self.teeth = Some(value as u32);
                return;
            }
            _ => return,
        };
        *slot = Some(value);
    }
}

/// Understands one entry.
fn understand(key: Key, text: &str, unit: Unit, pitch_mm: f64) -> Result<Entry, Refusal> {
    let refuse = |why: String, help: Option<String>| Refusal { key, text: text.trim().to_owned(), why, help };
    let one = |text: &str| {
        let found = length::read(text, Context::of(unit)).map_err(|e| refuse(e.why, e.help))?;
        match key.range_mm() {
            Some((low, high)) if !(low..=high).contains(&found.mm) => {
                let show = |mm: f64| format!("{:.0} {}", unit.from_mm(mm).ceil(), unit.name());
                let why = format!("it is not between {} and {}", show(low), show(high));
                Err(refuse(why, Some("is the unit right?".to_owned())))
            }
            _ => Ok(found.mm),
        }
    };
    let repeats = |look: Look| -> Result<Entry, Refusal> {
        let each = text.split(';').map(|part| one(part).map(|mm| (look, mm)));
        each.collect::<Result<_, _>>().map(Entry::Readings)
    };
    match key {
        Key::SheetWidth => repeats(Look::SheetWidth),
        Key::Spacing => repeats(Look::Spacing),
        Key::TopLeft => repeats(Look::Top(Side::Left)),
        Key::TopRight => repeats(Look::Top(Side::Right)),
        Key::BitDown => repeats(Look::BitDown),
        Key::TapeNoise | Key::SheetHeight | Key::Pitch | Key::HeldSpacing | Key::HeldHeight => {
            one(text).map(Entry::Number)
        }
        Key::Mark => {
            let mut list = Vec::new();
            for part in text.split(';') {
                let (across, down) = split(part, "at").ok_or_else(|| {
                    refuse(
                        "it does not say how far below the top edge the mark is".to_owned(),
                        Some("write 1248.5 at 300: from the left edge, and below the top edge".to_owned()),
                    )
                })?;
                let down = length::read(down, Context::of(unit)).map_err(|e| refuse(e.why, e.help))?;
                for (from, mm) in edges(across, &one)? {
                    list.push((Look::Mark { from, down_mm: down.mm }, mm));
                }
            }
            Ok(Entry::Readings(list))
        }
        Key::BitAcross => {
            let mut list = Vec::new();
            for part in text.split(';') {
                list.extend(edges(part, &one)?.into_iter().map(|(from, mm)| (Look::BitAcross(from), mm)));
            }
            Ok(Entry::Readings(list))
        }
        Key::LinksLeft | Key::LinksRight => {
            let side = if key == Key::LinksLeft { Side::Left } else { Side::Right };
            let each = text.split(';').map(|part| {
                let (count, rest) = split(part, "and").map_or((part, None), |(c, r)| (c, Some(r)));
                let links = whole(count, 1.0, 3000.0).ok_or_else(|| {
                    let help =
                        "write 216, or 216 and 84.5: the links, and the length from the last one to the bit";
                    refuse("it is no number of links".to_owned(), Some(help.to_owned()))
                })?;
                let rest_mm = rest.map_or(Ok(0.0), |rest| {
                    length::read(rest, Context::of(unit)).map(|l| l.mm).map_err(|e| refuse(e.why, e.help))
                })?;
                Ok((Look::Links { side, rest_mm, pitch_mm }, links * pitch_mm))
            });
            each.collect::<Result<_, _>>().map(Entry::Readings)
        }
        Key::Teeth => whole(text, 5.0, 150.0)
            .map(Entry::Number)
            .ok_or_else(|| refuse("it is not a whole number of teeth, 5 to 150".to_owned(), None)),
        Key::ChainMass | Key::CarriageMass | Key::Lean => {
            let (low, high, what) = match key {
                Key::ChainMass => (0.01, 5.0, "kg per metre"),
                Key::CarriageMass => (0.5, 200.0, "kg"),
                _ => (0.0, 59.9, "degrees"),
            };
            let value = text.trim().replace(',', ".").parse::<f64>().ok();
            value
                .filter(|v| (low..=high).contains(v))
                .map(Entry::Number)
                .ok_or_else(|| refuse(format!("it is not a number of {what}, {low} to {high}"), None))
        }
        Key::TapeClass => CLASSES
            .into_iter()
            .find(|class| class.eq_ignore_ascii_case(text.trim()))
            .map(Entry::Class)
            .ok_or_else(|| refuse("it is neither I nor II nor III".to_owned(), None)),
        Key::ChainLeaves => match text.trim().to_lowercase().as_str() {
            "over" => Ok(Entry::Leaves(ChainLeaves::Over)),
            "under" => Ok(Entry::Leaves(ChainLeaves::Under)),
            _ => Err(refuse("it is neither over nor under".to_owned(), None)),
        },
    }
}

/// A reading from the left edge, and perhaps, behind `and`, one from the right edge.
fn edges(text: &str, one: &dyn Fn(&str) -> Result<f64, Refusal>) -> Result<Vec<(Side, f64)>, Refusal> {
    match split(text, "and") {
        None => Ok(vec![(Side::Left, one(text)?)]),
        Some((left, right)) => Ok(vec![(Side::Left, one(left)?), (Side::Right, one(right)?)]),
    }
}

/// What stands before and behind a word that stands by itself.
fn split<'t>(text: &'t str, word: &str) -> Option<(&'t str, &'t str)> {
    let mut from = 0;
    for part in text.split_inclusive(char::is_whitespace) {
        let bare = part.trim();
        if bare.eq_ignore_ascii_case(word) {
            return Some((&text[..from], &text[from + part.len()..]));
        }
        from += part.len();
    }
    None
}

/// A whole number in a range.
fn whole(text: &str, low: f64, high: f64) -> Option<f64> {
    let value: u32 = text.trim().parse().ok()?;
    let value = f64::from(value);
    (low..=high).contains(&value).then_some(value)
}
