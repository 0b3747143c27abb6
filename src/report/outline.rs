//! What a report says and in which order, before it becomes a screen or a page: sections of plain blocks.
//!
//! Everything in a block has passed through [`super::plain`].

/// How good or bad the news is; shown by colour, and always by words as well.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Within the limit.
    Good,
    /// Beyond the limit.
    Bad,
    /// Undecided.
    Unsure,
}

/// A column of a [`Table`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its heading, with the unit where all its numbers have the same.
    pub title: String,
    /// Numbers stand to the right.
    pub numbers: bool,
    /// May be left out where there is little room.
    pub optional: bool,
}

/// A column of words.
pub fn text(title: impl Into<String>) -> Column {
    Column { title: title.into(), numbers: false, optional: false }
}

/// A column of numbers.
pub fn number(title: impl Into<String>) -> Column {
    Column { title: title.into(), numbers: true, optional: false }
}

impl Column {
    /// The same column, to be left out where there is little room.
    pub fn optional(self) -> Self {
        Self { optional: true, ..self }
    }
}

/// Rows under headings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Headings.
    pub columns: Vec<Column>,
    /// Cells, as many a row as there are columns; the first cell of a row names it.
    pub rows: Vec<Vec<String>>,
    /// Column to be read first, shown strong.
    pub strong: Option<usize>,
}

/// One thing said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// The answer in one sentence.
    Answer(Tone, String),
    /// A paragraph.
    Para(String),
    /// A table.
    Table(Table),
    /// An item of its own: what, and what to do about it.
    Item {
        /// What was found; shown strong.
        what: String,
        /// The next step.
        next: String,
    },
    /// Where a page puts the maps of the error.
    Maps,
    /// Drawings, as SVG, that a page sets side by side where there is room.
    Drawings(Vec<String>),
    /// Where a page puts the cautions.
    Cautions,
}

/// Blocks under a heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// Heading.
    pub title: &'static str,
    /// What stands under it.
    pub blocks: Vec<Block>,
}
