//! A first set-up by tape: what the prompt says, and the answer.

mod result;

pub use result::{doubts, render};

use super::numbers::{fixed, to_64ths};
use super::plain;
use crate::frame::Unit;
use crate::taping::{Key, Refusal, Reply};

/// Said before the first question.
pub const BEFORE: &str = "\
WARNING: a falling carriage crushes. Unplug router and machine, and support the carriage, before you reach near a
         chain, a sprocket or a motor. Stay out from under it.
CAUTION: chain and sprocket pinch fingers. Keep them clear of both.
The manuals of machine and router and local rules come first where they differ from this.

One question a line, in the order of walking. Type what the tape shows: 3300.5, 48 5/8, 48-5/8, 4' 0 5/8\", 330.05 cm.
Read twice? Type both with a semicolon between: 3300.5; 3301. Or type skip, back, help or stop.
";

/// Said before the questions for which the controller moves the carriage.
pub const BEFORE_MIDDLE: &str = "\
Now the machine's middle, if the controller drives already; Enter leaves all of this out.
WARNING: hands, hair and sleeves clear of chains and sprockets while the motors have power, router unplugged. Drive to
         X0 Y0, switch off and unplug before you go near with the tape. The carriage still hangs: stay out from under it.
";

/// The words that can be typed.
pub const HELP: &str = "\
Type what the tape shows and press Enter: 1463.5, 48 5/8, 48-5/8, 4' 0 5/8\", or with a unit of its own: 146.3 cm.
  ;        between two readings of the same thing: 3300.5; 3301
  Enter    keeps what stands there, or leaves the question out
  skip     leaves it out: what is usual stays
  back     to the question before; takes the last mark away
  stop     ends without writing anything";

/// A question on one line: where the tape is held. `now` is what stands there; `entry` counts the marks from 0.
pub fn question(key: Key, entry: usize, unit: Unit, now: Option<&str>) -> String {
    if key == Key::Mark && entry > 0 && now.is_none() {
        return "Next mark (Enter: no more)".to_owned();
    }
    let (what, where_to, usual) = words(key, unit);
    let mut line = format!("{what}: {where_to}");
    match (now, usual) {
        (Some(now), _) => line += &format!(" (now {}; Enter keeps it)", plain(now)),
        (None, Some(usual)) => line += &format!(" (Enter: {usual})"),
        (None, None) => {}
    }
    line
}

/// What is asked for, where the tape is held, and what Enter stands for.
fn words(key: Key, unit: Unit) -> (&'static str, String, Option<&'static str>) {
    let mm = unit == Unit::Mm;
    let pick = |in_mm, in_inch| if mm { in_mm } else { in_inch };
    let (what, where_to, usual): (_, &str, _) = match key {
        Key::TapeClass => ("Tape", "the class printed near its first mark, I, II or III", Some("II")),
        Key::TapeNoise => ("Tape", "how much a single reading scatters", None),
        Key::SheetWidth => (
            "Sheet, width",
            "left edge to right edge, across the middle",
            Some(pick("2500 mm, not measured", "96 in, not measured")),
        ),
        Key::SheetHeight => ("Sheet, height", "bottom edge to top edge", Some(pick("1250 mm", "48 in"))),
        Key::Spacing => {
            ("Shaft to shaft", "left flank of the left motor shaft to left flank of the right one", None)
        }
        Key::TopLeft => (
            "Beam, left",
            "string along the middles of both shafts; from the sheet's top left corner straight up to it",
            None,
        ),
        Key::TopRight => ("Beam, right", "the same from the sheet's top right corner", None),
        Key::Mark => {
            let example = pick("1248.5 at 300", "48 3/16 at 12");
            let text = format!(
                "a pencil mark as far from one shaft as from the other; from the left edge, at its depth: {example}"
            );
            return ("Mark", text, Some("none; best are three: top, middle, bottom"));
        }
        Key::Teeth => ("Sprocket", "number of its teeth", Some("12")),
        Key::Pitch => ("Chain", "pin to pin; tape ten links and divide", Some(pick("8 mm", "0.25 in"))),
        Key::ChainLeaves => (
            "Chain",
            "leaves its sprocket to the carriage over the top, or under: over or under",
            Some("over"),
        ),
        Key::ChainMass => ("Chain", "kg per metre, weighed or from its maker", Some(pick("0.18", "0.125"))),
        Key::CarriageMass => ("Carriage", "kg, with router and bit, on a scale", Some("13")),
        Key::Lean => ("Sheet", "degrees that it leans back from the vertical", Some("12")),
        Key::HeldSpacing => {
            ("Controller", "the spacing that it holds now; no tape", Some("it does not drive yet"))
        }
        Key::HeldHeight => ("Controller", "the height above the sheet that it holds now; no tape", None),
        Key::BitAcross => {
            let example = pick("1249 and 1251.5", "48 1/8 and 47 7/8");
            let text = format!("left edge to the bit, and from there to the right edge: {example}");
            return ("Bit at X0 Y0, across", text, None);
        }
        Key::BitDown => ("Bit at X0 Y0, down", "top edge straight down to the middle of the bit", None),
        Key::LinksLeft => {
            let example = pick("216 and 84.5", "272 and 3 1/4");
            let text = format!(
                "links from the 12 o'clock tooth to its end, and the length from there to the bit: {example}"
            );
            return ("Left chain at X0 Y0", text, None);
        }
        Key::LinksRight => ("Right chain at X0 Y0", "the same", None),
    };
    (what, where_to.to_owned(), usual)
}

/// What became of an answer; empty when nothing need be said.
pub fn reply(reply: &Reply) -> String {
    match reply {
        Reply::Taken | Reply::Kept | Reply::Skipped | Reply::Back | Reply::Stopped => String::new(),
        Reply::AtTheStart => "There is none before this one.".to_owned(),
        Reply::Removed(mark) => format!("Taken away: {}.", plain(mark)),
        Reply::Needed => "This one is needed. Type it, or stop.".to_owned(),
        Reply::Help => HELP.to_owned(),
        Reply::Refused(refusal) => format!("Not taken: {}. Type it again, or help.", why(refusal)),
    }
}

/// Why answers cannot be used, a line each, for whoever gave them as flags.
pub fn refusals(list: &[Refusal]) -> String {
    let lines: Vec<String> = list
        .iter()
        .map(|r| match r.text.as_str() {
            "" => format!("--{}: {}", r.key.name(), why(r)),
            text => format!("--{} {:?}: {}", r.key.name(), plain(text), why(r)),
        })
        .collect();
    lines.join("\n")
}

fn why(refusal: &Refusal) -> String {
    let help = refusal.help.as_ref().map_or_else(String::new, |h| format!(" ({})", plain(h)));
    format!("{}{help}", plain(&refusal.why))
}

/// A length as a tape shows it, with its unit.
fn length(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => format!("{} mm", fixed(mm, 1)),
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
