//! The answer of a first set-up by tape.

use super::length;
use crate::frame::Unit;
use crate::machine::{Side, Unknown};
use crate::record::{Estimate, KnownFrom};
use crate::report::numbers::{Measure, fixed, signed};
use crate::report::outline::{Block, Section, Table, Tone, number, text};
use crate::report::{plain, text as screen, words};
use crate::setup::Setup;
use crate::taping::{CentreLine, Doubt, Expectation, Likely, Look, Outlook, Row, Taped};

/// Unknowns that go together as much as this are named.
const TOGETHER: f64 = 0.5;

/// The whole answer, for a terminal of `width` columns.
pub fn render(setup: &Setup, taped: &Taped, outlook: &Outlook, width: usize) -> String {
    let unit = setup.unit;
    let mut all = vec![
        ("First settings", first(outlook, unit)),
        ("What the tape says of the machine", machine(setup, taped)),
    ];
    if let Some(line) = &taped.centre_line {
        all.push(("Square and centred", vec![Block::Para(centre(line, taped, unit))]));
    }
    all.push(("The readings", readings(taped, setup)));
    all.push(("What to expect before any cut", expect(outlook, setup)));
    if !taped.doubts.is_empty() {
        let kept = "These readings contradict each other, and were kept. Every uncertainty here is widened for it, but a \
                    wrong reading stays wrong: tape them again before you rely on this.";
        all.insert(0, ("Before you enter anything", vec![Block::Answer(Tone::Bad, kept.to_owned())]));
    }
    let sections: Vec<Section> = all.into_iter().map(|(title, blocks)| Section { title, blocks }).collect();
    screen::set_all(&format!("{}, first set-up by tape", plain(&setup.name)), &sections, width)
}

/// The readings that contradict each other, a line each, and what to do.
pub fn doubts(taped: &Taped, unit: Unit) -> String {
    let mut out = match taped.doubts.len() {
        0 => return String::new(),
        1 => "One reading does not go with the others:\n".to_owned(),
        _ => "These readings do not go together; one of them is wrong, and which one cannot be told:\n"
            .to_owned(),
    };
    for doubt in &taped.doubts {
        let row = &taped.rows[doubt.row];
        let excess_mm = row.reading.as_read_mm - doubt.others_mm;
        let way = if excess_mm > 0.0 { "more" } else { "less" };
        let read = as_read(row, unit);
        out += &format!(
            "  {}: read {read}, {} {way} than the others make it; chance makes {} at most, 19 times in 20.{}\n",
            label(row.reading.look, unit),
            length(excess_mm.abs(), unit),
            length(2.0 * excess_mm.abs() / doubt.w.abs(), unit),
            likely(doubt, unit),
        );
    }
    out
}

fn likely(doubt: &Doubt, unit: Unit) -> String {
    match &doubt.likely {
        None => String::new(),
        Some(Likely::Slip(slip)) => format!(" Perhaps: {}", slip.words(unit)),
        Some(Likely::OtherSide) => " Perhaps: left and right exchanged?".to_owned(),
        Some(Likely::Links(n)) => {
            let links = if n.abs() == 1 { "link" } else { "links" };
            format!(" Perhaps: {} {links} too {}?", n.abs(), if *n > 0 { "many" } else { "few" })
        }
    }
}

fn first(outlook: &Outlook, unit: Unit) -> Vec<Block> {
    let rows = outlook
        .changes
        .iter()
        .map(|c| {
            let m = Measure::of(c.unknown, unit);
            vec![c.unknown.name().to_owned(), m.setting(c.to), m.word.to_owned()]
        })
        .collect();
    let table = Table {
        caption: "Settings to enter".to_owned(),
        columns: vec![text("setting"), number("enter"), text("unit")],
        rows,
        strong: Some(1),
    };
    vec![
        Block::Para(
            "Enter all of these together. They are not quite what was taped: they also allow, as far as this controller \
             can, for the sag and stretch that such chains have."
                .to_owned(),
        ),
        Block::Table(table),
    ]
}

fn machine(setup: &Setup, taped: &Taped) -> Vec<Block> {
    let known = setup.hardware.attachment.unknowns();
    let rows = known
        .iter()
        .map(|&u| {
            let m = Measure::of(u, setup.unit);
            let estimate = m.estimate(Estimate { value: taped.theta[u], u: taped.u(u) });
            vec![
                words::label(u).to_owned(),
                estimate,
                m.word.to_owned(),
                rests_on(taped.known_from[u]).to_owned(),
            ]
        })
        .collect();
    let table = Table {
        caption: "The machine as taped".to_owned(),
        columns: vec![text("what"), number("value ± u"), text("unit"), text("known from")],
        rows,
        strong: None,
    };
    let mut blocks = vec![Block::Table(table)];
    let together = together(taped, known);
    if !together.is_empty() {
        blocks.push(Block::Para(format!(
            "Known better together than one by one: {}. Their correlations are kept in machine.toml.",
            words::list(&together)
        )));
    }
    for (unknown, w) in &taped.unusual {
        blocks.push(Block::Item {
            what: format!(
                "The {} comes out far from what is usual: w = {}, where chance seldom goes beyond 3.",
                words::label(*unknown),
                signed(*w, 1)
            ),
            next: match unknown {
                Unknown::LengthLeft | Unknown::LengthRight => {
                    "Was the chain hung on the right link, and do its settings in the controller stand as you said?"
                        .to_owned()
                }
                _ => "Is everything that bears on it read and typed right?".to_owned(),
            },
        });
    }
    blocks
}

/// Pairs that go together, the closest first.
fn together(taped: &Taped, known: &[Unknown]) -> Vec<String> {
    let mut pairs: Vec<(f64, String)> = Vec::new();
    for (i, &a) in known.iter().enumerate() {
        for &b in &known[i + 1..] {
            let r = taped.correlation(a, b);
            if r.abs() >= TOGETHER {
                let text = format!("{} with {} ({})", words::label(a), words::label(b), signed(r, 2));
                pairs.push((r.abs(), text));
            }
        }
        let r = taped.scale_correlation[a as usize];
        if r.abs() >= TOGETHER {
            pairs.push((r.abs(), format!("{} with the tape's scale ({})", words::label(a), signed(r, 2))));
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs.into_iter().map(|(_, text)| text).collect()
}

const fn rests_on(known_from: KnownFrom) -> &'static str {
    match known_from {
        KnownFrom::Readings => "the tape",
        KnownFrom::Both => "the tape, and what is usual",
        KnownFrom::SetUp => "what is usual, hardly the tape",
        KnownFrom::NotDeterminable => "not determinable: what is usual",
    }
}

fn centre(line: &CentreLine, taped: &Taped, unit: Unit) -> String {
    let mm = Measure::length(unit);
    let within = |e: Estimate| e.value.abs() + 2.0 * e.u;
    let side = if line.off_centre.value < 0.0 { "left" } else { "right" };
    let off = Estimate { value: line.off_centre.value.abs(), ..line.off_centre };
    let mut out = match line.marks {
        1 => "The mark puts".to_owned(),
        n => format!("The {n} marks put"),
    };
    out += &format!(
        " the beam's middle {} to the {side} of the sheet's, halfway up: off centre by less than {}.",
        mm.with_unit(&mm.estimate(off)),
        mm.size_unit(within(line.off_centre)),
    );
    match line.out_of_square {
        None => {
            out += " Marks at one height say nothing of square; make two more, near the top and the bottom."
        }
        Some(angle) => {
            let ratio = Measure::RATIO;
            out += &format!(
                " The sheet's middle line leans {} against the beam's, its top to the right where positive: square to the \
                 beam within {}.",
                ratio.with_unit(&ratio.signed_estimate(angle)),
                ratio.size_unit(within(angle)),
            );
            out += &format!(
                " All readings together put that down to a beam tilt of {} and sides {} out of square to the sheet's own \
                 top edge.",
                ratio.with_unit(&ratio.signed_estimate(Estimate {
                    value: taped.theta[Unknown::Tilt],
                    u: taped.u(Unknown::Tilt)
                })),
                ratio.with_unit(&ratio.signed_estimate(taped.lean)),
            );
        }
    }
    out += " (Within: with a chance of 95 %.)";
    out
}

fn readings(taped: &Taped, setup: &Setup) -> Vec<Block> {
    let unit = setup.unit;
    let mm = Measure::length(unit);
    let rows = taped
        .rows
        .iter()
        .map(|row| {
            vec![
                label(row.reading.look, unit),
                as_read(row, unit),
                mm.size(row.u_mm),
                mm.signed(row.reading.as_read_mm - row.adjusted_mm),
                row.w.map_or_else(|| "unchecked".to_owned(), |w| signed(w, 1)),
            ]
        })
        .collect();
    let table = Table {
        caption: "Readings".to_owned(),
        columns: vec![
            text("reading"),
            number("read"),
            number(format!("u, {}", mm.word)),
            number(format!("off by, {}", mm.word)).optional(),
            number("w"),
        ],
        rows,
        strong: None,
    };
    let tape = &setup.instruments[taped.tape];
    let about = format!(
        "u is how far a reading may well be off, two times in three within it: the tape's own scatter ({} and {} mm per m) \
         and how well its end can be laid to a shaft, a string, an edge, a bit or a tooth ({}; common practice, no \
         source). All readings share the tape's scale, {} mm/m either way. w is the difference from what all readings \
         together say, in its own standard uncertainties; beyond 3 or so something is wrong. What nothing else checks can \
         be wrong unseen: read it twice.",
        mm.size_unit(tape.random_a_mm),
        fixed(tape.random_b_mm_per_m, 2),
        match unit {
            Unit::Mm => "0.5 to 1 mm",
            Unit::Inch => "0.02 to 0.04 in",
        },
        fixed(taped.scale.u, 2),
    );
    vec![Block::Table(table), Block::Para(about)]
}

fn expect(outlook: &Outlook, setup: &Setup) -> Vec<Block> {
    let mm = Measure::length(setup.unit);
    let row = |name: &str, e: &Expectation| {
        vec![
            name.to_owned(),
            mm.size(e.error.size.rms_mm),
            mm.size(e.error.bound95_mm),
            mm.size(e.error.size.max_mm),
            mm.size(e.worst95_mm),
        ]
    };
    let table = Table {
        caption: "Position error to expect".to_owned(),
        columns: vec![
            text(format!("error over the sheet, {}", mm.word)),
            number("rms"),
            number("95 % under"),
            number("worst place"),
            number("95 % under"),
        ],
        rows: vec![
            row("from the sheet's edges", &outlook.on_sheet),
            row("within one cut", &outlook.within_cut),
        ],
        strong: Some(1),
    };
    vec![
        Block::Table(table),
        Block::Para(format!(
            "After a careful set-up by tape {} are common (common practice, no source). A test cut, measured, takes \
             it down to what this controller can hold, {} rms on a machine as taped.",
            match setup.unit {
                Unit::Mm => "1 to 3 mm",
                Unit::Inch => "1/32 to 1/8 in",
            },
            mm.size_unit(outlook.floor.rms_mm)
        )),
    ]
}

/// What was read, in the person's unit.
fn as_read(row: &Row, unit: Unit) -> String {
    match row.reading.look {
        Look::Links { pitch_mm, .. } => format!("{} links", fixed(row.reading.as_read_mm / pitch_mm, 0)),
        _ => length(row.reading.as_read_mm, unit),
    }
}

fn label(look: Look, unit: Unit) -> String {
    let side = |side: Side| side.name();
    match look {
        Look::SheetWidth => "sheet's width".to_owned(),
        Look::Spacing => "shaft to shaft".to_owned(),
        Look::Top(s) => format!("top edge to shafts' line, {}", side(s)),
        Look::Mark { from, down_mm } => {
            format!("{} edge to mark, {} down", side(from), length(down_mm, unit))
        }
        Look::BitAcross(s) => format!("{} edge to bit", side(s)),
        Look::BitDown => "top edge to bit".to_owned(),
        Look::Links { side: s, .. } => format!("{} chain", side(s)),
    }
}
