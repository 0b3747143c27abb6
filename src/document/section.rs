//! One table of a file, asked for its keys by name and type.

use super::number::{Quantity, short};
use super::{Document, Found};
use crate::mistake::Mistake;
use crate::text::nearest;
use jiff::civil::Date;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One table of a file.
#[derive(Debug)]
pub struct Section<'d> {
    document: &'d Document<'d>,
    table: &'d DeTable<'d>,
    span: Range<usize>,
    path: String,
    asked: Vec<&'static str>,
    missing: Vec<(&'static str, Mistake)>,
}

impl<'d> Section<'d> {
    pub(super) fn new(
        document: &'d Document<'d>,
        table: &'d DeTable<'d>,
        span: Range<usize>,
        path: String,
    ) -> Self {
        Self { document, table, span, path, asked: Vec::new(), missing: Vec::new() }
    }

    /// The file it belongs to.
    pub fn document(&self) -> &'d Document<'d> {
        self.document
    }

    /// Where it stands: its header, or its braces.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// The value of a key, if it is there.
    fn value(&mut self, key: &'static str) -> Option<&'d Spanned<DeValue<'d>>> {
        self.asked.push(key);
        self.table.get(key)
    }

    /// The value of a key that must be there; its absence is reported when the section is closed.
    fn needed(&mut self, key: &'static str, expected: impl Into<String>) -> Option<&'d Spanned<DeValue<'d>>> {
        let value = self.value(key);
        if value.is_none() {
            let place = if self.path.is_empty() { String::new() } else { format!(" from [{}]", self.path) };
            let title = format!("`{key}` is missing{place}");
            let mistake = self.document.mistake(self.span.clone(), title).expected(expected);
            self.missing.push((key, mistake));
        }
        value
    }

    /// A table that must be there; `what` it holds is said when it is not.
    pub fn section(&mut self, key: &'static str, what: &str) -> Option<Section<'d>> {
        let value = self.needed(key, format!("a table [{}]: {what}", self.path_of(key)))?;
        self.as_section(key, value, "a table")
    }

    /// A table that may be left out; `form` is how it is written.
    pub fn section_if_any(&mut self, key: &'static str, form: &str) -> Option<Section<'d>> {
        let value = self.value(key)?;
        self.as_section(key, value, form)
    }

    fn as_section(
        &self,
        key: &'static str,
        value: &'d Spanned<DeValue<'d>>,
        form: &str,
    ) -> Option<Section<'d>> {
        match value.get_ref().as_table() {
            Some(table) => Some(Section::new(self.document, table, value.span(), self.path_of(key))),
            None => {
                let bare = plain_number(value.get_ref()).filter(|_| form.starts_with('{')).map(|_| {
                    let written = self.document.written(value.span());
                    format!("write {key} = {{ value = {written} }}")
                });
                self.wrong(key, value, form, bare)
            }
        }
    }

    /// A list of tables, `[[key]]`, of which there must be at least one.
    pub fn sections(&mut self, key: &'static str, what: &str) -> Option<Vec<Section<'d>>> {
        let form = format!("[[{}]], {what}", self.path_of(key));
        let value = self.needed(key, form.clone())?;
        let list: Option<Vec<_>> = value.get_ref().as_array().and_then(|list| {
            let section = |v: &'d Spanned<DeValue<'d>>| {
                let table = v.get_ref().as_table()?;
                Some(Section::new(self.document, table, v.span(), self.path_of(key)))
            };
            list.iter().map(section).collect()
        });
        match list {
            Some(list) if !list.is_empty() => Some(list),
            _ => self.wrong(key, value, &form, Some("each stands under its own double brackets".to_owned())),
        }
    }

    /// A number that must be there, within its range, in library units.
    pub fn number(&mut self, key: &'static str, quantity: &Quantity) -> Option<Found<f64>> {
        let value = self.needed(key, quantity.expectation())?;
        self.as_number(key, value, quantity)
    }

    /// A number that may be left out, within its range; both it and the usual value in library units.
    pub fn number_or(&mut self, key: &'static str, usual: f64, quantity: &Quantity) -> Found<f64> {
        let usual = Found { value: usual, span: self.span.clone() };
        self.value(key).and_then(|value| self.as_number(key, value, quantity)).unwrap_or(usual)
    }

    /// A number that may be left out, within its range, in library units.
    pub fn number_if_any(&mut self, key: &'static str, quantity: &Quantity) -> Option<Found<f64>> {
        let value = self.value(key)?;
        self.as_number(key, value, quantity)
    }

    /// A whole number that must be there, within its range.
    pub fn whole(&mut self, key: &'static str, quantity: &Quantity) -> Option<Found<u32>> {
        let value = self.needed(key, quantity.expectation())?;
        let found = self.as_number(key, value, quantity)?;
        if found.value.fract() != 0.0 {
            let expected = format!("a whole number: {}", quantity.expectation());
            return self.wrong(key, value, &expected, None);
        }
        // The range of a whole number lies within u32.
        Some(Found { value: found.value as u32, span: found.span })
    }

    /// A pair of numbers `[a, b]` that must be there, each within its range, in library units.
    pub fn pair(&mut self, key: &'static str, form: &str, each: [&Quantity; 2]) -> Option<[Found<f64>; 2]> {
        let value = self.needed(key, form)?;
        self.as_pair(key, value, form, each)
    }

    /// A pair of numbers `[a, b]` that may be left out.
    pub fn pair_if_any(
        &mut self,
        key: &'static str,
        form: &str,
        each: [&Quantity; 2],
    ) -> Option<[Found<f64>; 2]> {
        let value = self.value(key)?;
        self.as_pair(key, value, form, each)
    }

    fn as_pair(
        &self,
        key: &'static str,
        value: &'d Spanned<DeValue<'d>>,
        form: &str,
        [first, second]: [&Quantity; 2],
    ) -> Option<[Found<f64>; 2]> {
        match value.get_ref().as_array().map(|list| list.iter().collect::<Vec<_>>()).as_deref() {
            Some([a, b]) => {
                let (a, b) = (self.as_number(key, a, first), self.as_number(key, b, second));
                Some([a?, b?])
            }
            _ => self.wrong(key, value, form, None),
        }
    }

    fn as_number(
        &self,
        key: &'static str,
        value: &'d Spanned<DeValue<'d>>,
        quantity: &Quantity,
    ) -> Option<Found<f64>> {
        let Some(number) = plain_number(value.get_ref()) else {
            let help = value.get_ref().as_str().and_then(|text| {
                text.trim().parse::<f64>().ok().map(|_| format!("write it without quotes: {}", text.trim()))
            });
            return self.wrong(key, value, &format!("a number: {}", quantity.expectation()), help);
        };
        let in_library_units = number * quantity.factor;
        if quantity.range.contains(&in_library_units) {
            if let Some((_, advice)) = quantity.usual.as_ref().filter(|(r, _)| !r.contains(&in_library_units))
            {
                let warning = self
                    .document
                    .mistake(value.span(), format!("`{key}` is unusual"))
                    .found(format!("{} {}", short(number), quantity.unit).trim_end().to_owned())
                    .expected(*advice)
                    .warning();
                self.document.report(warning);
            }
            return Some(Found { value: in_library_units, span: value.span() });
        }
        let mut mistake = self
            .document
            .mistake(value.span(), format!("`{key}` is out of range"))
            .found(format!("{} {}", short(number), quantity.unit).trim_end().to_owned())
            .expected(quantity.expectation());
        mistake.help = quantity.other_unit(in_library_units);
        self.document.report(mistake);
        None
    }

    /// `true` or `false`; false when left out.
    pub fn flag(&mut self, key: &'static str) -> bool {
        let Some(value) = self.value(key) else { return false };
        let help = || Some("without quotes, in small letters".to_owned());
        value.get_ref().as_bool().or_else(|| self.wrong(key, value, "true or false", help())).unwrap_or(false)
    }

    /// A text that must be there.
    pub fn text(&mut self, key: &'static str, what: &str) -> Option<Found<&'d str>> {
        let value = self.needed(key, what)?;
        self.as_text(key, value)
    }

    /// A text that may be left out.
    pub fn text_if_any(&mut self, key: &'static str) -> Option<Found<&'d str>> {
        let value = self.value(key)?;
        self.as_text(key, value)
    }

    /// A list of texts that may be left out.
    pub fn texts_if_any(&mut self, key: &'static str) -> Option<Vec<Found<&'d str>>> {
        let value = self.value(key)?;
        match value.get_ref().as_array() {
            Some(list) => Some(list.iter().filter_map(|v| self.as_text(key, v)).collect()),
            None => self.wrong(key, value, "a list of names: [\"...\", \"...\"]", None),
        }
    }

    fn as_text(&self, key: &'static str, value: &'d Spanned<DeValue<'d>>) -> Option<Found<&'d str>> {
        match value.get_ref().as_str() {
            Some(text) => Some(Found { value: text, span: value.span() }),
            None => {
                let help = format!("put it in quotes: \"{}\"", self.document.written(value.span()));
                self.wrong(key, value, "text in quotes", Some(help))
            }
        }
    }

    /// One of a few words, each with what it stands for, that must be there.
    pub fn word<T: Copy>(&mut self, key: &'static str, words: &[(&'static str, T)]) -> Option<Found<T>> {
        let value = self.needed(key, any_of(words))?;
        self.as_word(key, value, words)
    }

    /// One of a few words that may be left out.
    pub fn word_if_any<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
    ) -> Option<Found<T>> {
        let value = self.value(key)?;
        self.as_word(key, value, words)
    }

    fn as_word<T: Copy>(
        &self,
        key: &'static str,
        value: &'d Spanned<DeValue<'d>>,
        words: &[(&'static str, T)],
    ) -> Option<Found<T>> {
        let found = self.as_text(key, value)?;
        if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == found.value) {
            return Some(Found { value: *meaning, span: found.span });
        }
        let mut mistake = self
            .document
            .mistake(found.span, format!("`{key}` has no such value"))
            .found(format!("{:?}", found.value))
            .expected(any_of(words));
        mistake.help = nearest(found.value, words.iter().map(|(word, _)| *word))
            .map(|word| format!("did you mean \"{word}\"?"));
        self.document.report(mistake);
        None
    }

    /// A day of the calendar, year-month-day and nothing else, as a string or a date of TOML.
    pub fn date(&mut self, key: &'static str, form: &str) -> Option<Found<Date>> {
        let value = self.needed(key, form)?;
        self.day(key, value, form)
    }

    /// As [`Section::date`], when the key is there.
    pub fn date_if_any(&mut self, key: &'static str, form: &str) -> Option<Found<Date>> {
        let value = self.value(key)?;
        self.day(key, value, form)
    }

    fn day(&self, key: &'static str, value: &'d Spanned<DeValue<'d>>, form: &str) -> Option<Found<Date>> {
        let text = match value.get_ref() {
            DeValue::String(text) => text.as_ref(),
            DeValue::Datetime(_) => self.document.written(value.span()),
            _ => return self.wrong(key, value, form, None),
        };
        let is_plain = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
        let date = text.parse::<Date>().ok().filter(|_| is_plain);
        if date.is_none() {
            let mistake = self
                .document
                .mistake(value.span(), format!("`{key}` is no day of the calendar"))
                .found(format!("{text:?}"))
                .expected("year-month-day, such as \"2026-11-25\"");
            self.document.report(mistake);
        }
        date.map(|day| Found { value: day, span: value.span() })
    }

    /// Ends the reading of this table: what is missing, and every key that nothing asked for.
    pub fn close(mut self) {
        for key in self.table.keys() {
            let name = key.get_ref().as_ref();
            if self.asked.contains(&name) || self.document.is_full() {
                continue;
            }
            let meant = nearest(name, self.asked.iter().copied());
            let place = if self.path.is_empty() { String::new() } else { format!(" in [{}]", self.path) };
            let mut mistake = self
                .document
                .mistake(key.span(), format!("unknown key `{}`{place}", crate::text::harmless(name)))
                .expected(match self.asked.as_slice() {
                    [only] => (*only).to_owned(),
                    known => format!("one of {}", known.join(", ")),
                });
            mistake.help = meant.map(|m| format!("did you mean `{m}`?"));
            self.document.report(mistake);
            self.missing.retain(|(missing, _)| Some(*missing) != meant);
        }
        for (_, mistake) in self.missing {
            self.document.report(mistake);
        }
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// Reports a value of the wrong type; hands back nothing, for the caller to hand on.
    fn wrong<T>(
        &self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        expected: &str,
        help: Option<String>,
    ) -> Option<T> {
        let mut mistake = self
            .document
            .mistake(value.span(), format!("`{key}` is of the wrong kind"))
            .found(kind(value.get_ref()))
            .expected(expected);
        mistake.help = help;
        self.document.report(mistake);
        None
    }
}

/// A finite-or-not number from TOML's integers (also 0x10) and floats.
fn plain_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(i) => {
            let digits = i.as_str();
            i64::from_str_radix(digits, i.radix()).map(|n| n as f64).ok().or_else(|| digits.parse().ok())
        }
        DeValue::Float(f) => f.as_str().parse().ok(),
        _ => None,
    }
}

/// `"over" or "under"`.
fn any_of<T>(words: &[(&'static str, T)]) -> String {
    let list: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
    list.join(" or ")
}

/// What a value is, in plain words.
fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
