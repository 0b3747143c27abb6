//! The sheet to write on: one page for each pass, A4 and Letter alike, black on white.

use super::map::map;
use super::{HOW, Line, Measuring};
use crate::frame::Unit;
use crate::planner::Planned;
use crate::report::{fonts, plain};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Up to so many lines leave room for a map over the whole width.
const MOST_BESIDE_A_WIDE_MAP: usize = 30;
/// Lines that fit on the first page of a pass, and on each page after it.
const MOST_FIRST: usize = 44;
const MOST_MORE: usize = 56;
/// More lines than this on the first page stand 7 mm apart in place of 8.
const MOST_AT_8_MM: usize = 34;
/// Width of a map alone and of one with the words beside it, mm of paper.
const WIDE_MM: f64 = 158.0;
const NARROW_MM: f64 = 98.0;

/// `sheet.html`.
pub fn sheet(m: &Measuring<'_>) -> String {
    let title = format!("Measuring sheet: {}, cut {}", plain(m.machine), plain(m.cut));
    let passes = m.lines();
    let pages: Vec<Markup> = passes
        .iter()
        .zip(m.passes)
        .enumerate()
        .flat_map(|(k, (lines, pass))| {
            let which = match (k, passes.len()) {
                (_, 1) => String::new(),
                (0, _) => "first pass".to_owned(),
                _ => "second pass, from the other end of the tape; do not look at the first".to_owned(),
            };
            pages_of(m, lines, pass, &which)
        })
        .collect();
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(fonts::face_css())) (PreEscaped(include_str!("map.css"))) (PreEscaped(include_str!("sheet.css"))) }
            }
            body {
                @for (k, page) in pages.iter().enumerate() {
                    section.page {
                        (page)
                        footer {
                            span { "Then: tautgrid enter, or form.html on a phone. Made by tautgrid " (env!("CARGO_PKG_VERSION")) ", set in Inter (SIL OFL 1.1)" }
                            span { "page " (k + 1) " of " (pages.len()) }
                        }
                    }
                }
            }
        }
    };
    page.into_string() + "\n"
}

/// The pages of one pass.
fn pages_of(m: &Measuring<'_>, lines: &[Line], pass: &[Planned], which: &str) -> Vec<Markup> {
    let (first, more) = lines.split_at(lines.len().min(MOST_FIRST));
    let wide = first.len() <= MOST_BESIDE_A_WIDE_MAP && m.sheet.width_mm >= 1.4 * m.sheet.height_mm;
    let number = lines.first().map_or(1, |l| l.number);
    let drawn = map(m, pass, number, if wide { WIDE_MM } else { NARROW_MM });
    let first_page = html! {
        (heading(m, which))
        (conditions(m))
        div.middle.wide[wide] { div.drawing { (drawn) } div.advice { (how_to_read(m)) (cautions()) } }
        (rows(m, first, first.len() > MOST_AT_8_MM))
    };
    let rest = more.chunks(MOST_MORE).map(|lines| html! { (heading(m, which)) (rows(m, lines, false)) });
    std::iter::once(first_page).chain(rest).collect()
}

fn heading(m: &Measuring<'_>, which: &str) -> Markup {
    html! {
        header {
            h1 { (plain(m.machine)) ", cut " (plain(m.cut)) }
            p { @if which.is_empty() { "measuring sheet" } @else { (which) } }
        }
    }
}

/// What should be known of a reading in a year: filled in where it is known, else a line to write on.
fn conditions(m: &Measuring<'_>) -> Markup {
    let c = m.conditions;
    let text = |t: &Option<String>| t.as_deref().map(plain);
    let number = |v: Option<f64>, unit: &str| v.map(|v| format!("{v} {unit}"));
    let cut_on = match text(&c.operator) {
        Some(operator) => format!("{}, {operator}", plain(m.date)),
        None => plain(m.date),
    };
    let fields: [(&str, Option<String>, &str); 11] = [
        ("Cut on, by", Some(cut_on), "s"),
        ("Measured on", None, "s"),
        ("Read by", None, "s"),
        ("Written by", None, "s"),
        ("Temperature", number(c.temperature_c, "\u{b0}C"), "s"),
        ("Humidity", number(c.humidity_percent, "%"), "s"),
        ("Sheet", text(&c.material), "s"),
        ("Bit", text(&c.bit), "s"),
        ("Tape: which one, and its class", None, "l"),
        ("Tape started at", None, "s"),
        ("Hole, two ways", None, "s"),
    ];
    html! {
        dl.fields {
            @for (name, value, size) in &fields {
                div class=(size) { dt { (name) } dd { @if let Some(value) = value { (value) } } }
            }
        }
    }
}

fn how_to_read(m: &Measuring<'_>) -> Markup {
    let (mark, half, example) = match m.unit {
        Unit::Mm => ("100 mm", "0.5 mm", "1563.5"),
        Unit::Inch => ("10 in", "1/32 in", "58\u{a0}5/8"),
    };
    html! {
        div.how {
            h2 { "Reading" }
            ul {
                li { "Same day, sheet flat or still in place. Blade flat on the wood, its edge rolled down to the marks; a steady pull; your eye square above." }
                li { b { "=" } " left rim to left rim, or middle to middle: no diameter needed. Circle " b { "in" } " or " b { "out" } " when you read between inner or outer rims. From an edge, read square to it." }
                li { "The hook does not enter a hole. Start at " (mark) " instead, note that above, and write what the tape shows (" (example) "): " b { "take nothing off" } ". The band then moves up by as much." }
                li { "A scorched or fluffy rim: the rim is where the wood ends, not where the brown does. Feel for it, or put a snug pin in both holes." }
                li { "Write to the nearest " (half) ". The band is there to show a wrong hole, and nothing finer. What looks odd: read again, write it under " i { "again" } ", strike nothing out." }
            }
        }
    }
}

pub(super) fn cautions() -> Markup {
    html! {
        div.cautions {
            p { b { "\u{26a0} WARNING" } " Turning bit and hanging carriage cut and crush. Before you measure on the machine: stop the router, unplug it, wait until the bit stands still; keep out from under the carriage, and support it before you touch a chain." }
            p { b { "\u{26a0} CAUTION" } " Splinters and tape edges cut. Follow the manuals of machine and router: where they differ from this sheet, they win." }
        }
    }
}

/// The lines to write on, in two columns, read down.
fn rows(m: &Measuring<'_>, lines: &[Line], close: bool) -> Markup {
    let (left, right) = lines.split_at(lines.len().div_ceil(2));
    html! {
        div.rows.close[close] { (column(m, left)) (column(m, right)) }
    }
}

fn column(m: &Measuring<'_>, lines: &[Line]) -> Markup {
    html! {
        table {
            thead { tr {
                th scope="col" { "no." } th scope="col" { "from, to" } th scope="col" { "with" }
                th scope="col" { "band" } th scope="col" { "how" }
                th.box scope="col" { "reading, " (m.short_unit()) } th.box.second scope="col" { "again" }
            } }
            tbody {
                @for line in lines {
                    tr {
                        td.no { (line.number) }
                        th scope="row" { span.end { (line.from) } " \u{2192} " span.end { (line.to) } }
                        td.with { (line.instrument) }
                        td.band { (m.band(&line.band)) }
                        td.circle { @for (k, (_, word)) in HOW.iter().enumerate() { @if k > 0 { " " } (word) } }
                        td.box {} td.box.second {}
                    }
                }
            }
        }
    }
}
