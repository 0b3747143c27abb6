//! The report for a terminal: plain sentences and tables that fit the width.
//!
//! The text carries ANSI styles; print it through `anstream`, which takes them out where they are not wanted.

use super::numbers::TIED;
use super::outline::{Block, Section, Table, Tone};
use super::{plain, story, words};
use crate::record::Analysis;
use anstyle::{AnsiColor, Style};
use comfy_table::{Attribute, Cell, CellAlignment, ColumnConstraint, ContentArrangement, Width, presets};

/// Narrower than this, optional columns of tables are left out.
const ROOMY: usize = 80;
/// Nothing is set wider than this: longer lines are hard to read.
const WIDEST: usize = 96;
/// Nothing is set narrower than this.
const NARROWEST: usize = 40;

/// The report for a terminal of `width` columns, ending in a line feed.
pub fn render(analysis: &Analysis, width: usize) -> String {
    let title = format!("{}, cut {}", plain(&analysis.machine), plain(&analysis.cut));
    set_all(&title, &story::sections(analysis), width)
}

/// What `correct` says, for a terminal of `width` columns.
pub fn correction(analysis: &Analysis, width: usize) -> String {
    let title = format!("{}, corrected from cut {}", plain(&analysis.machine), plain(&analysis.cut));
    set_all(&title, &story::correction(analysis), width)
}

pub(super) fn set_all(title: &str, sections: &[Section], width: usize) -> String {
    let width = width.clamp(NARROWEST, WIDEST);
    let mut out = vec![paint(Style::new().bold().underline(), title), String::new()];
    for Section { title, blocks } in sections {
        out.push(paint(Style::new().bold(), title));
        for block in blocks {
            set(block, width, &mut out);
        }
        if out.last().is_some_and(|line| !line.is_empty()) {
            out.push(String::new());
        }
    }
    out.join("\n").replace(TIED, " ")
}

fn set(block: &Block, width: usize, out: &mut Vec<String>) {
    match block {
        Block::Answer(tone, text) => {
            let style = Style::new().bold().fg_color(Some(colour(*tone).into()));
            out.extend(wrap(text, width, "  ").iter().map(|line| paint(style, line)));
        }
        Block::Para(text) => {
            out.extend(wrap(text, width, "  "));
            out.push(String::new());
        }
        Block::Item { what, next } => {
            let mut lines = wrap(what, width, "    ");
            lines[0].replace_range(2..3, "-");
            out.extend(lines);
            out.extend(wrap(next, width, "    "));
        }
        Block::Table(table) => {
            if out.last().is_some_and(|line| !line.is_empty()) {
                out.push(String::new());
            }
            out.extend(grid(table, width));
            out.push(String::new());
        }
        Block::Cautions => set(&Block::Para(words::CAUTION_LINE.to_owned()), width, out),
        Block::Maps | Block::Drawings(_) => {}
    }
}

const fn colour(tone: Tone) -> AnsiColor {
    match tone {
        Tone::Good => AnsiColor::Green,
        Tone::Bad => AnsiColor::Red,
        Tone::Unsure => AnsiColor::Yellow,
    }
}

fn paint(style: Style, text: &str) -> String {
    format!("{style}{text}{style:#}")
}

/// Lines of at most `width` columns, each indented; a word longer than a line gets its own.
pub(super) fn wrap(text: &str, width: usize, indent: &str) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::from(indent);
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let used = line.chars().count();
        if used > indent.len() && used + 1 + word.chars().count() > width {
            lines.push(std::mem::replace(&mut line, String::from(indent)));
        }
        if line.len() > indent.len() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    lines
}

/// A table without a frame, indented; optional columns only where there is room.
fn grid(table: &Table, width: usize) -> Vec<String> {
    let shown: Vec<usize> =
        (0..table.columns.len()).filter(|&k| width >= ROOMY || !table.columns[k].optional).collect();
    let mut grid = comfy_table::Table::new();
    grid.load_style(presets::NOTHING)
        .force_no_tty()
        .enforce_styling()
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width((width - 1) as u16);
    let align = |k: usize| match table.columns[k].numbers {
        true => CellAlignment::Right,
        false => CellAlignment::Left,
    };
    let head = |&k: &usize| {
        Cell::new(&table.columns[k].title).set_alignment(align(k)).add_attribute(Attribute::Underlined)
    };
    grid.set_header(shown.iter().map(head));
    for row in &table.rows {
        grid.add_row(shown.iter().map(|&k| {
            let cell = Cell::new(&row[k]).set_alignment(align(k));
            if table.strong == Some(k) { cell.add_attribute(Attribute::Bold) } else { cell }
        }));
    }
    for (place, &k) in shown.iter().enumerate() {
        // Numbers and names never break; words give way.
        let widest = table.rows.iter().map(|row| row[k].chars().count()).max().unwrap_or(0) as u16;
        let whole = place == 0 && table.rows.iter().all(|row| !row[k].contains(' '));
        if (table.columns[k].numbers || whole)
            && let Some(column) = grid.column_mut(place)
        {
            column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(widest + 2)));
        }
    }
    grid.lines().map(|line| format!(" {}", line.trim_end())).collect()
}
