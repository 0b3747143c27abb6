//! What the prompt says: plain lines, one after the other, as a screen reader wants them.

use super::numbers::{fixed, to_64ths};
use super::plain;
use crate::entry::{Echo, Question, Reply, Summary};
use crate::frame::Unit;
use crate::readings::How;
use crate::screening::Slip;

/// The words that can be typed, with what they do.
pub const HELP: &str = "\
Type what the tape shows and press Enter: 1463.5, 48 5/8, 48-5/8, 4' 0 5/8\", or with a unit of its own: 146.3 cm.
Behind the number, when it applies:
  inside, outside   read between inner rims or between outer rims, in place of the same rim or the middles
  from 100          the tape was started at this mark; it is taken off for you
  with caliper      another instrument than the one asked for
  note TEXT         anything worth knowing
Or one of these:
  skip              leave this distance for later
  back              to the distance before
  again             read the distance just taken a second time
  note TEXT         a note on the distance asked for
  start 100         from now on the tape is started at this mark; start hook ends that
  A1 G5             to that distance
  list              what is still to be taken
  stop              enough for now; every answer is saved as it is given
";

/// The distance that is asked for, on one line.
pub fn question(q: &Question, unit: Unit) -> String {
    let mut line =
        format!("{} of {}: {} to {}, {}", q.number, q.of, plain(&q.from), plain(&q.to), plain(&q.instrument));
    match q.how {
        How::Centre => {}
        How::Inside => line += ", inner rim to inner rim",
        How::Outside => line += ", outer rim to outer rim",
    }
    if q.start_mm > 0.0 {
        line += &format!(", started at {}", length(q.start_mm, unit));
    }
    if q.doubted {
        line += ", once more";
    } else if q.repeat {
        line += ", second reading";
    }
    if let Some(now) = q.now.as_ref().filter(|_| !q.doubted) {
        line += &format!(" (now {}; Enter keeps it)", plain(now));
    }
    if !q.note.is_empty() {
        line += &format!(" (note: {})", plain(&q.note));
    }
    line
}

/// What became of an answer.
pub fn reply(reply: &Reply, unit: Unit) -> String {
    match reply {
        Reply::Taken(e) => format!("Taken: {}.", echo(e, unit)),
        Reply::ReadAgain(e) => format!(
            "Written down: {}. But it does not go with the rest. Take the tape off, read this distance again, and \
             type what you see.",
            echo(e, unit)
        ),
        Reply::PairDiffers(e) => format!(
            "Written down: {}. Your readings of this distance differ by more than the tape should. Type again, and \
             read it once more.",
            echo(e, unit)
        ),
        Reply::TakenInstead { echo: e, first, slip } => {
            format!("Taken: {}, in place of {}.{}", echo(e, unit), plain(first), perhaps(slip.as_ref(), unit))
        }
        Reply::Kept { echo: e, excess_mm, slip } => format!(
            "It stands, as you read it twice: {}. It is {} {} than the rest makes it.{} The analysis will weigh it; \
             back to change it.",
            echo(e, unit),
            length(excess_mm.abs(), unit),
            if *excess_mm > 0.0 { "longer" } else { "shorter" },
            perhaps(slip.as_ref(), unit)
        ),
        Reply::Refused { why, help } => {
            let help = help.as_ref().map_or_else(String::new, |h| format!(" ({h})"));
            format!("Not taken: {why}{help}. Type it again, or help.")
        }
        Reply::Skipped => "Left for later.".to_owned(),
        Reply::Left => "Left as it is.".to_owned(),
        Reply::Back => "Back.".to_owned(),
        Reply::AtTheStart => "There is none before this one.".to_owned(),
        Reply::Gone => String::new(),
        Reply::NoSuchDistance { from, to } => {
            format!("{} to {} is not in the list; list shows what is.", plain(from), plain(to))
        }
        Reply::Noted { note } if note.is_empty() => "The note is gone.".to_owned(),
        Reply::Noted { note } => format!("Noted: {}", plain(note)),
        Reply::SecondReading => "A second reading: from the other end of the tape is best.".to_owned(),
        Reply::NothingToRepeat => "There is no reading just taken to repeat.".to_owned(),
        Reply::StartsAt(mm) if *mm > 0.0 => {
            format!("From now on {} is taken off what you read with a tape.", length(*mm, unit))
        }
        Reply::StartsAt(_) => "From now on the tape begins at its hook.".to_owned(),
        Reply::NoAnswer => "Type a reading, or skip, or help.".to_owned(),
        Reply::Help => HELP.trim_end().to_owned(),
        Reply::List(left) if left.is_empty() => "None is left to take.".to_owned(),
        Reply::List(left) => {
            let lines: Vec<String> =
                left.iter().map(|(n, a, b)| format!("  {n}: {} to {}", plain(a), plain(b))).collect();
            lines.join("\n")
        }
        Reply::Stopped => String::new(),
        Reply::Unknown(near) => match near {
            Some(word) => format!("No such word; did you mean {word}? help shows them all."),
            None => "That is neither a reading nor a word known here; help shows them all.".to_owned(),
        },
    }
}

/// Where a session ended, and what comes next.
pub fn summary(s: &Summary, cut: &str) -> String {
    let count = |n: usize| if n == 1 { "1 reading".to_owned() } else { format!("{n} readings") };
    let mut text = format!("{} saved", count(s.taken));
    text += &match s.blank {
        0 => ", none still to take.\n".to_owned(),
        n => format!(", {n} still to take: tautgrid enter {cut} goes on with them.\n"),
    };
    for (from, to) in &s.doubted {
        text +=
            &format!("Look at {} to {} once more: it does not go with the rest.\n", plain(from), plain(to));
    }
    if s.taken > 0 {
        text += &format!("What they say: tautgrid analyse {cut}\n");
    }
    text
}

/// A reading as it was understood: `1463 mm`, `48 5/8 in`, `1563 mm from the mark 100 mm, so 1463 mm`.
fn echo(e: &Echo, unit: Unit) -> String {
    let mut text = length(e.as_read_mm, unit);
    if e.assumed_inches {
        text = format!("{}, which is {text}", plain(&e.spelling));
    }
    if e.start_mm > 0.0 {
        text += &format!(" from the mark {}", length(e.start_mm, unit));
    }
    match e.how {
        How::Centre => {}
        How::Inside => text += " inner rim to inner rim",
        How::Outside => text += " outer rim to outer rim",
    }
    if e.start_mm > 0.0 || e.how != How::Centre {
        text += &format!(", so {}", length(e.distance_mm, unit));
    }
    text
}

/// What may have happened, as a sentence of its own.
fn perhaps(slip: Option<&Slip>, unit: Unit) -> String {
    slip.map_or_else(String::new, |slip| format!(" Perhaps: {}", slip.words(unit)))
}

/// A length as a tape shows it: `1463.5 mm`, `48 5/8 in`; decimals when no mark of a tape is near.
fn length(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => {
            let text = fixed(mm, 2);
            let text = text.trim_end_matches('0').trim_end_matches('.');
            format!("{text} mm")
        }
        Unit::Inch => {
            let inches = unit.from_mm(mm);
            let marks = inches * 64.0;
            if (marks - marks.round()).abs() < 1e-3 {
                format!("{} in", to_64ths(inches))
            } else {
                format!("{} in", fixed(inches, 3))
            }
        }
    }
}
