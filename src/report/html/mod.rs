//! The report as one HTML page that fetches nothing: for a browser, a phone, and paper of either size.

mod appendix;
mod cautions;

use super::outline::{Block, Section, Table, Tone};
use super::{fonts, heatmap, plain, story};
use crate::record::Analysis;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The page as a whole document.
pub fn render(analysis: &Analysis) -> String {
    let title = format!("{}, cut {}", plain(&analysis.machine), plain(&analysis.cut));
    let maps = heatmap::parts(analysis);
    let main = story::sections(analysis);
    let appendix = appendix::sections(analysis);
    let body = html! {
        @for part in &main { section { h2 { (part.title) } (blocks(part, &maps)) } }
        h2.part { "All the figures" }
        @for part in &appendix { section { h3 { (part.title) } (blocks(part, &maps)) } }
        (appendix::glossary())
    };
    let below = format!("Test cut {}", plain(&analysis.cut));
    shell(&title, &plain(&analysis.machine), &below, &body)
}

/// A page of sections without maps.
pub(super) fn plain_page(title: &str, heading: &str, below: &str, sections: &[Section]) -> String {
    let maps = heatmap::Parts::default();
    let body = html! { @for part in sections { section { h2 { (part.title) } (blocks(part, &maps)) } } };
    shell(title, heading, below, &body)
}

/// A whole document around what it says.
fn shell(title: &str, heading: &str, below: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(fonts::face_css())) (PreEscaped(include_str!("page.css"))) }
            }
            body {
                header {
                    h1 { (heading) }
                    p { (below) }
                }
                main { (body) }
                footer {
                    p { "tautgrid " (env!("CARGO_PKG_VERSION")) ". " (fonts::LICENCE_LINE) }
                }
            }
        }
    };
    page.into_string() + "\n"
}

fn blocks(part: &Section, maps: &heatmap::Parts) -> Markup {
    html! { @for block in &part.blocks { (set(block, maps)) } }
}

fn set(block: &Block, maps: &heatmap::Parts) -> Markup {
    match block {
        Block::Answer(tone, text) => html! { p.answer.(tone_class(*tone)) { (prose(text)) } },
        Block::Para(text) => html! { p { (prose(text)) } },
        Block::Item { what, next } => html! {
            div.item { p { strong { (prose(what)) } } p { (prose(next)) } }
        },
        Block::Table(table) => grid(table),
        Block::Maps => html! {
            figure.maps {
                div.pair { (PreEscaped(&maps.as_cut)) (PreEscaped(&maps.after)) }
                div.key { (PreEscaped(&maps.key)) }
            }
        },
        Block::Drawings(drawings) => html! {
            figure { div.pair { @for drawing in drawings { (PreEscaped(drawing)) } } }
        },
        Block::Cautions => cautions::boxed(),
    }
}

const fn tone_class(tone: Tone) -> &'static str {
    match tone {
        Tone::Good => "good",
        Tone::Bad => "bad",
        Tone::Unsure => "unsure",
    }
}

fn grid(table: &Table) -> Markup {
    let class = |k: usize| {
        let column = &table.columns[k];
        let mut names = Vec::new();
        if column.numbers {
            names.push("n");
        }
        if column.optional {
            names.push("optional");
        }
        if table.strong == Some(k) {
            names.push("strong");
        }
        // Dates and names are not broken at their hyphens.
        if k == 0 && table.rows.iter().all(|row| !row[k].contains(' ')) {
            names.push("whole");
        }
        (!names.is_empty()).then(|| names.join(" "))
    };
    // A table this short is not broken over two sheets of paper.
    let short = table.rows.len() <= 12;
    html! {
        div.scroll.short[short] tabindex="0" role="region" aria-label=(table.caption) {
            table {
                caption { (minus(&table.caption)) }
                thead { tr {
                    @for (k, column) in table.columns.iter().enumerate() {
                        th scope="col" class=[class(k)] { (minus(&column.title)) }
                    }
                } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (k, cell) in row.iter().enumerate() {
                                @if k == 0 { th scope="row" class=[class(k)] { (minus(cell)) } }
                                @else { td class=[class(k)] { (minus(cell)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A sentence, with what stands between backticks set as code.
fn prose(text: &str) -> Markup {
    html! {
        @for (k, piece) in minus(text).split('`').enumerate() {
            @if k % 2 == 1 { code { (piece) } } @else { (piece) }
        }
    }
}

/// Text with true minus signs, which are wider than hyphens and read out as "minus".
fn minus(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        let sign = c == '-'
            && !before.is_alphanumeric()
            && rest.peek().is_none_or(|next| next.is_ascii_digit() || *next == ' ');
        out.push(if sign { '\u{2212}' } else { c });
        before = c;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::minus;

    #[test]
    fn only_signs_become_minus_signs() {
        assert_eq!(
            minus("-0.96, cut 2026-11-25, set-up, machine - setting"),
            "−0.96, cut 2026-11-25, set-up, machine − setting"
        );
    }
}
