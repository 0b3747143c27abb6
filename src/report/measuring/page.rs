//! The form: the same list as one page for a phone. It fetches nothing, sends nothing, and keeps what was typed in
//! the browser's own store; `form.js` reads lengths by the rules of [`crate::readings::length`].

use super::map::map;
use super::paper::cautions;
use super::{Line, Measuring};
use crate::entry::Band;
use crate::planner::Planned;
use crate::report::{fonts, plain};
use crate::setup::InstrumentKind;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Width of the map before it is scaled to the page, mm of paper.
const MAP_MM: f64 = 158.0;

/// `form.html`.
pub fn form(m: &Measuring<'_>) -> String {
    let title = format!("Readings: {}, cut {}", plain(m.machine), plain(m.cut));
    let passes = m.lines();
    let total: usize = passes.iter().map(Vec::len).sum();
    // What was typed belongs to this very list.
    let list: Vec<String> = passes.iter().flatten().map(|l| format!("{}-{}", l.from, l.to)).collect();
    let store = format!("tautgrid {} {} {}", plain(m.machine), plain(m.cut), list.join(" "));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(fonts::face_css())) (PreEscaped(include_str!("map.css"))) (PreEscaped(include_str!("form.css"))) }
            }
            body data-unit=(m.unit.name()) data-store=(store) data-hole=(m.pattern.hole_diameter_mm) {
                header {
                    h1 { (plain(m.machine)) ", cut " (plain(m.cut)) }
                    p #count role="status" { "0 of " (total) " taken" }
                }
                main {
                    noscript { p.bad { "This page needs JavaScript. Write on sheet.html instead." } }
                    p #kept.bad hidden { "This browser keeps nothing for a page like this: save or copy the readings before you close it." }
                    (cautions())
                    details { summary { "Map, seen from the front" } div.scroll { (map(m, &m.passes.concat(), 1, MAP_MM)) } }
                    (advice(m))
                    label.field { "Tape started at (empty: hook or zero)" input #start type="text" autocomplete="off" spellcheck="false"; }
                    p #startsaid.said role="status" {}
                    @for (k, (lines, pass)) in passes.iter().zip(m.passes).enumerate() {
                        @if k > 0 { h2 { "Second pass, from the other end of the tape" } }
                        ol start=(lines.first().map_or(1, |l| l.number)) {
                            @for (line, planned) in lines.iter().zip(pass) { (row(m, line, planned)) }
                        }
                    }
                    section aria-label="Hand over" {
                        h2 { "Hand over" }
                        p { "Put the file in the place of readings.csv in the folder of the cut, when nothing else was entered there; then: tautgrid analyse." }
                        button #save type="button" { "Save readings.csv" }
                        button #copy type="button" { "Copy" }
                        p #handed.said role="status" {}
                        label.field { "The same as text" textarea #csv readonly rows="6" spellcheck="false" {} }
                        button #clear.quiet type="button" { "Clear all" }
                    }
                }
                script { (PreEscaped(include_str!("form.js"))) }
            }
        }
    };
    page.into_string() + "\n"
}

fn advice(m: &Measuring<'_>) -> Markup {
    let example = if m.short_unit() == "mm" { "1463.5" } else { "48 5/8" };
    html! {
        p { "Type what the tape shows, such as " (example) ", and take nothing off. Same rim to same rim, or middle to middle; else say how. Every answer is kept at once." }
    }
}

fn row(m: &Measuring<'_>, line: &Line, planned: &Planned) -> Markup {
    let instrument = &m.instruments[planned.instrument];
    // The band for a tape that starts at nought: the page adds the start itself.
    let band = Band::about(planned.length_mm, 0.0, m.unit);
    let tape = instrument.kind != InstrumentKind::Caliper;
    let keys = if m.short_unit() == "mm" { "decimal" } else { "text" };
    let what = format!("{}: {} to {}", line.number, line.from, line.to);
    let range = if instrument.range_mm.is_finite() { instrument.range_mm.to_string() } else { String::new() };
    // The first instrument need not be named.
    let named = if planned.instrument == 0 { "" } else { &line.instrument };
    html! {
        li value=(line.number) data-from=(line.from) data-to=(line.to) data-instrument=(named) data-low=(band.low_mm)
            data-high=(band.high_mm) data-range=(range) data-start=(instrument.start_mm) data-tape=[tape.then_some("yes")] {
            p.ends { b { (line.number) } " " (line.from) " \u{2192} " (line.to) span.with { (line.instrument) } }
            div.fields {
                label { "Reading, " (m.short_unit()) input.reading type="text" inputmode=(keys) enterkeyhint="next" autocomplete="off" spellcheck="false" aria-label=(format!("Reading {what}")); }
                label { "Again" input.again type="text" inputmode=(keys) enterkeyhint="next" autocomplete="off" spellcheck="false" aria-label=(format!("Second reading {what}")); }
                label { "How" select aria-label=(format!("How {what}")) {
                    option value="" { "same rim" } option value="inside" { "inner rims" } option value="outside" { "outer rims" }
                } }
            }
            label.note { "Note" input type="text" autocomplete="off" aria-label=(format!("Note {what}")); }
            p.said role="status" {}
        }
    }
}
