//! Walking a TOML file: typed values with their places, all mistakes collected in one pass.
//!
//! A [`Section`] remembers which keys it was asked for, so that [`Section::close`] can refuse the others and
//! name the nearest known one. No list of keys is kept apart from the code that reads them.

mod number;
mod section;
mod syntax;

pub use number::{CELSIUS, Quantity};
pub use section::Section;

use crate::mistake::{MOST, Mistake, Read, Severity, in_order};
use std::cell::RefCell;
use std::ops::Range;
use toml::Spanned;
use toml::de::DeTable;

/// A value, and where in the text it stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Found<T> {
    /// The value.
    pub value: T,
    /// Its bytes in the text.
    pub span: Range<usize>,
}

/// A parsed file and the mistakes found in it so far.
#[derive(Debug)]
pub struct Document<'t> {
    text: &'t str,
    root: Spanned<DeTable<'t>>,
    mistakes: RefCell<Vec<Mistake>>,
}

impl<'t> Document<'t> {
    /// Parses a text.
    ///
    /// # Errors
    /// When it is not TOML: one mistake for each line that is not.
    pub fn parse(text: &'t str) -> Result<Self, Vec<Mistake>> {
        let (root, errors) = DeTable::parse_recoverable(text);
        if errors.is_empty() {
            Ok(Self { text, root, mistakes: RefCell::default() })
        } else {
            Err(syntax::mistakes(text, &errors))
        }
    }

    /// The table of the whole file.
    pub fn root(&self) -> Section<'_> {
        Section::new(self, self.root.get_ref(), 0..0, String::new())
    }

    /// The table of the whole file, unchecked.
    pub fn table(&self) -> &DeTable<'t> {
        self.root.get_ref()
    }

    /// A mistake at a place of this text, to be filled in and then given to [`Document::report`].
    pub fn mistake(&self, span: Range<usize>, title: impl Into<String>) -> Mistake {
        Mistake::new(span, title)
    }

    /// Adds a mistake to those found so far.
    pub fn report(&self, mistake: Mistake) {
        if !self.is_full() {
            self.mistakes.borrow_mut().push(mistake);
        }
    }

    /// Have so many mistakes been found that no more are collected?
    fn is_full(&self) -> bool {
        self.mistakes.borrow().len() >= MOST
    }

    /// The text of a place, as it was written.
    pub fn written(&self, span: Range<usize>) -> &'t str {
        self.text.get(span).unwrap_or_default()
    }

    /// Ends the reading.
    ///
    /// # Errors
    /// All mistakes and warnings, in the order of the file, when one of them stops the work.
    pub fn finish<T>(self, value: Option<T>) -> Read<T> {
        let mistakes = in_order(self.text, self.mistakes.into_inner());
        match value {
            Some(value) if mistakes.iter().all(|m| m.severity == Severity::Warning) => Ok((value, mistakes)),
            _ => Err(mistakes),
        }
    }
}
