//! The first set-up by tape: from flags, or asked for one by one.

use crate::cli::enter::Input;
use crate::cli::failure::Failure;
use crate::cli::{say, today, width};
use tautgrid::carry_over;
use tautgrid::fit::OutOfDomain;
use tautgrid::frame::Unit;
use tautgrid::report::taping as words;
use tautgrid::setup::{self, Setup};
use tautgrid::taping::{self, Answers, Key, Look, Outlook, Reply, Session, Taped, Understood};

/// Readings as flags. All spellings of a length serve, with a unit of their own too; two readings of the same thing
/// stand with a semicolon between.
#[derive(Debug, clap::Args)]
#[command(
    next_help_heading = "First set-up by tape (lengths as the tape shows them; repeats: \"3301; 3300.5\")"
)]
pub struct Flags {
    /// Class printed on the tape: I, II or III; II when left out
    #[arg(long, value_name = "CLASS")]
    tape_class: Option<String>,
    /// Scatter of a single reading (one standard deviation); 0.3 mm or 0.012 in when left out
    #[arg(long, value_name = "LENGTH")]
    tape_noise: Option<String>,
    /// Sheet, left edge to right edge
    #[arg(long, value_name = "LENGTH")]
    sheet_width: Option<String>,
    /// Sheet, bottom edge to top edge
    #[arg(long, value_name = "LENGTH")]
    sheet_height: Option<String>,
    /// Left flank of the left motor shaft to left flank of the right one
    #[arg(long, value_name = "LENGTH")]
    spacing: Option<String>,
    /// Sheet's top left corner straight up to a string along the middles of both shafts
    #[arg(long, value_name = "LENGTH")]
    top_left: Option<String>,
    /// The same from the top right corner
    #[arg(long, value_name = "LENGTH")]
    top_right: Option<String>,
    /// Mark where the tape shows the same from both shafts: from the left edge [and to the right one], so far below the
    /// top edge, as in "1248.5 and 1251 at 300". Any number of times
    #[arg(long, value_name = "LEFT [and RIGHT] at DEPTH")]
    mark: Vec<String>,
    /// Teeth on each sprocket
    #[arg(long)]
    teeth: Option<String>,
    /// Chain's pitch, pin to pin
    #[arg(long, value_name = "LENGTH")]
    pitch: Option<String>,
    /// The chain goes to the carriage over the sprocket or under it
    #[arg(long, value_name = "OVER|UNDER")]
    chain_leaves: Option<String>,
    /// Chain's mass, kg per metre
    #[arg(long, value_name = "MASS")]
    chain_mass: Option<String>,
    /// Carriage's mass with router and bit, kg
    #[arg(long, value_name = "MASS")]
    carriage_mass: Option<String>,
    /// How far the sheet leans back from the vertical, degrees
    #[arg(long, value_name = "DEGREES")]
    lean: Option<String>,
    /// Spacing that the controller held when it drove to X0 Y0 for the next four
    #[arg(long, value_name = "LENGTH")]
    held_spacing: Option<String>,
    /// Height that it held then
    #[arg(long, value_name = "LENGTH")]
    held_height: Option<String>,
    /// At X0 Y0, machine unplugged: left edge to the middle of the bit [and on to the right edge]
    #[arg(long, value_name = "LEFT [and RIGHT]")]
    bit_across: Option<String>,
    /// At X0 Y0, machine unplugged: top edge down to the middle of the bit
    #[arg(long, value_name = "LENGTH")]
    bit_down: Option<String>,
    /// At X0 Y0, carriage supported: links of the left chain from the tooth at 12 o'clock to its end [and the length
    /// from there to the bit]
    #[arg(long, value_name = "LINKS [and LENGTH]")]
    links_left: Option<String>,
    /// The same of the right chain
    #[arg(long, value_name = "LINKS [and LENGTH]")]
    links_right: Option<String>,
}

impl Flags {
    /// As answers.
    pub fn answers(&self) -> Answers {
        let mut answers = Answers::default();
        let single = [
            (Key::TapeClass, &self.tape_class),
            (Key::TapeNoise, &self.tape_noise),
            (Key::SheetWidth, &self.sheet_width),
            (Key::SheetHeight, &self.sheet_height),
            (Key::Spacing, &self.spacing),
            (Key::TopLeft, &self.top_left),
            (Key::TopRight, &self.top_right),
            (Key::Teeth, &self.teeth),
            (Key::Pitch, &self.pitch),
            (Key::ChainLeaves, &self.chain_leaves),
            (Key::ChainMass, &self.chain_mass),
            (Key::CarriageMass, &self.carriage_mass),
            (Key::Lean, &self.lean),
            (Key::HeldSpacing, &self.held_spacing),
            (Key::HeldHeight, &self.held_height),
            (Key::BitAcross, &self.bit_across),
            (Key::BitDown, &self.bit_down),
            (Key::LinksLeft, &self.links_left),
            (Key::LinksRight, &self.links_right),
        ];
        for (key, text) in single {
            if let Some(text) = text {
                answers.add(key, text);
            }
        }
        for mark in &self.mark {
            answers.add(Key::Mark, mark);
        }
        answers
    }
}

/// A first set-up that is done.
pub struct Done {
    /// Text of `machine.toml`.
    pub text: String,
    /// What is said of it.
    pub said: String,
}

/// A machine worked out from its readings.
struct Worked {
    setup: Setup,
    /// `machine.toml` with what was stated, before what was found.
    text: String,
    understood: Understood,
    taped: Taped,
}

/// Works out a first set-up; `None` when the person stopped.
///
/// # Errors
/// When an answer cannot be used, readings contradict each other, or the machine cannot hang.
pub fn set_up(
    template: &str,
    unit: Unit,
    answers: Answers,
    ask: bool,
    anyway: bool,
) -> Result<Option<Done>, Failure> {
    let (answers, worked) = if ask {
        match asked(template, unit, answers, anyway)? {
            Some(found) => found,
            None => return Ok(None),
        }
    } else {
        let worked = work_out(template, unit, &answers)?;
        if !worked.taped.doubts.is_empty() && !anyway {
            return Err(contradiction(&worked.taped, unit));
        }
        (answers, worked)
    };
    finish(worked, &answers, unit).map(Some)
}

fn contradiction(taped: &Taped, unit: Unit) -> Failure {
    Failure::Plain(format!(
        "nothing is written, as readings contradict each other.\n{}Tape them again. If you know better: --anyway",
        words::doubts(taped, unit)
    ))
}

/// Asks until all questions are through; answers with the machine that they make, or `None` when the person stopped.
fn asked(
    template: &str,
    unit: Unit,
    answers: Answers,
    anyway: bool,
) -> Result<Option<(Answers, Worked)>, Failure> {
    say(&format!("{}\n", words::BEFORE))?;
    let mut session = Session::new(unit, answers);
    let mut input = Input::new()?;
    let mut doubted = Vec::new();
    loop {
        let mut ended = false;
        while let Some((key, entry)) = session.question() {
            if key == Key::HeldSpacing {
                say(&format!("\n{}\n", words::BEFORE_MIDDLE))?;
            }
            say(&format!("{}\n", words::question(key, entry, unit, session.now())))?;
            let Some(line) = input.line()? else {
                if matches!(input, Input::Editor(_)) {
                    return Ok(None);
                }
                ended = true;
                break;
            };
            let reply = session.answer(&line);
            if reply == Reply::Stopped {
                return Ok(None);
            }
            let said = words::reply(&reply);
            if !said.is_empty() {
                say(&format!("{said}\n"))?;
            }
        }
        let worked = work_out(template, unit, session.answers())?;
        let entries: Vec<(Key, usize)> =
            worked.taped.doubts.iter().map(|d| worked.understood.sources[d.row]).collect();
        // What was read once more and stands is kept, and told.
        if entries.is_empty() || anyway || entries.iter().all(|e| doubted.contains(e)) {
            return Ok(Some((session.answers().clone(), worked)));
        }
        if ended {
            return Err(contradiction(&worked.taped, unit));
        }
        say(&format!(
            "\n{}Tape again what you can, and type it; Enter keeps what stands.\n",
            words::doubts(&worked.taped, unit)
        ))?;
        doubted.extend(entries.iter().copied());
        session.ask_again(entries);
    }
}

/// The machine that the answers make.
fn work_out(template: &str, unit: Unit, answers: &Answers) -> Result<Worked, Failure> {
    let toml = |e: toml_edit::TomlError| Failure::Plain(format!("machine.toml cannot be written: {e}"));
    let pitch_mm = setup::read(template).map_or(8.0, |(setup, _)| setup.hardware.pitch_mm);
    let understood =
        answers.understood(unit, pitch_mm).map_err(|list| Failure::Plain(words::refusals(&list)))?;
    let mut build = understood.build;
    let mean = |f: &dyn Fn(Look) -> bool| {
        let values: Vec<f64> =
            understood.readings.iter().filter(|r| f(r.look)).map(|r| r.as_read_mm).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    // A controller that holds nothing yet will be given what was taped.
    build.held_spacing_mm = build.held_spacing_mm.or_else(|| mean(&|look| look == Look::Spacing));
    build.held_height_mm = build.held_height_mm.or_else(|| mean(&|look| matches!(look, Look::Top(_))));
    let text = carry_over::built(template, &build, unit).map_err(toml)?;
    let (setup, _) = setup::read(&text).map_err(|mistakes| {
        let lines: Vec<String> = mistakes
            .iter()
            .map(|m| format!("{}: found {}, expected {}", m.title, m.found, m.expected))
            .collect();
        Failure::Plain(format!("these numbers make no machine:\n{}", lines.join("\n")))
    })?;
    let taped = taping::estimate(&setup, &understood.readings, true).map_err(hangs)?;
    Ok(Worked { setup, text, understood, taped })
}

fn hangs(e: OutOfDomain) -> Failure {
    Failure::Plain(format!("these numbers make no machine that hangs: {}", e.0))
}

/// Settings, outlook and the text of machine.toml.
fn finish(worked: Worked, answers: &Answers, unit: Unit) -> Result<Done, Failure> {
    let Worked { setup, text, taped, .. } = worked;
    let taped = if taped.doubts.is_empty() { taped } else { taped.widened() };
    let outlook: Outlook = taping::outlook(&setup, &taped).map_err(hangs)?;
    let read: Vec<String> = answers
        .iter()
        .map(|(key, text)| format!("{}: {}", key.name(), tautgrid::text::harmless(text)))
        .collect();
    let text = carry_over::taped(&text, &taped, &outlook, unit, today(), &read)
        .map_err(|e| Failure::Plain(format!("machine.toml cannot be written: {e}")))?;
    let good = setup::read(&text)
        .is_ok_and(|(new, _)| outlook.changes.iter().all(|c| (new.settings[c.unknown] - c.to).abs() < 1e-3));
    if !good {
        return Err(Failure::Plain("these numbers cannot be written into machine.toml".to_owned()));
    }
    Ok(Done { text, said: words::render(&setup, &taped, &outlook, width()) })
}
