//! `[carriage]`: its mass, its lean, and how the chains meet it.

use super::read::quantity_of;
use crate::document::{Found, Quantity, Section};
use crate::frame::Unit;
use crate::machine::{Attachment, Unknown};

/// Keys that only a sled with two pivots has.
const SLED: [Unknown; 3] = [Unknown::Apart, Unknown::Above, Unknown::MassAbove];

/// The carriage as its owner weighed and measured it.
pub(super) struct Carriage {
    /// Its mass, kg.
    pub mass_kg: f64,
    /// Lean of the working plane from the vertical, degrees.
    pub lean_deg: f64,
    /// How the chains meet it.
    pub attachment: Attachment,
    /// Values of [`SLED`], mm; 0 where the chains converge.
    sled_mm: [f64; 3],
}

impl Carriage {
    /// What the ruler says of an unknown of the sled, mm; 0 for every other unknown.
    pub fn value(&self, unknown: Unknown) -> f64 {
        SLED.iter().position(|u| *u == unknown).map_or(0.0, |k| self.sled_mm[k])
    }

    /// Is it an unknown of this very sled?
    pub fn is_of_sled(&self, unknown: Unknown) -> bool {
        self.attachment == Attachment::Apart && SLED.contains(&unknown)
    }
}

/// Reads it.
pub(super) fn carriage(mut section: Section<'_>, unit: Unit) -> Option<Carriage> {
    let mass = section.number("mass", &Quantity::plain("the carriage's mass", "kg", 0.5..=200.0));
    let lean = Quantity::plain("lean back from the vertical", "degrees", 0.0..=59.9)
        .usually(0.0..=35.0, "10 to 15 degrees, measured from the vertical and not from the floor");
    let lean = section.number("lean", &lean);
    let words = [("converging", Attachment::Converging), ("apart", Attachment::Apart)];
    let attachment =
        section.word_if_any("attachment", &words).map_or(Attachment::Converging, |found| found.value);
    let sled_mm = match attachment {
        Attachment::Converging => Some([0.0; 3]),
        Attachment::Apart => sled(&mut section, unit),
    };
    section.close();
    Some(Carriage { mass_kg: mass?.value, lean_deg: lean?.value, attachment, sled_mm: sled_mm? })
}

/// The pivots must be measured; the centre of mass lies at the bit unless it is said to lie elsewhere, since the
/// router, the heaviest part, sits about it.
fn sled(section: &mut Section<'_>, unit: Unit) -> Option<[f64; 3]> {
    let [apart, above, mass_above] = SLED.map(|u| quantity_of(u, unit));
    let apart = section.number(Unknown::Apart.name(), &apart);
    let above = section.number(Unknown::Above.name(), &above);
    let mass_above = section.number_or(Unknown::MassAbove.name(), 0.0, &mass_above);
    let (apart, above) = (apart?, above?);
    if mass_above.value > above.value {
        warn_of_tipping(section, &mass_above, &above);
    }
    Some([apart.value, above.value, mass_above.value])
}

/// A sled with its mass above its pivots is held upright by the chains' pull alone.
fn warn_of_tipping(section: &Section<'_>, mass_above: &Found<f64>, above: &Found<f64>) {
    let document = section.document();
    let span = if mass_above.span.is_empty() { above.span.clone() } else { mass_above.span.clone() };
    let warning = document
        .mistake(span, "the sled's centre of mass lies above its pivots")
        .expected("pivots above the centre of mass: the sled then hangs, and turns less towards the sides")
        .help("if it is right, add weight low on the sled or move the pivots up")
        .warning();
    document.report(warning);
}
