//! A cut held against what was promised, as the JSON document has it.

use super::rows::{Number, SizeRow};
use crate::record::{Confirmed, EntrySlip, Verification};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct VerificationRow {
    answer: &'static str,
    changed: Vec<Changed>,
    promised: SizeRow,
    found_rms: Option<Number>,
    found_u: Option<Number>,
    chance_within: Number,
    suspected: Vec<SuspectedRow>,
}

#[derive(Serialize)]
struct Changed {
    name: &'static str,
    from: Number,
    to: Number,
}

#[derive(Serialize)]
struct SuspectedRow {
    slip: &'static str,
    setting: Option<&'static str>,
    chance: Number,
}

impl VerificationRow {
    pub(super) fn of(v: &Verification) -> Self {
        Self {
            answer: match v.confirmed {
                Confirmed::Yes => "confirmed",
                Confirmed::No => "not confirmed",
                Confirmed::CannotTell => "cannot tell",
            },
            changed: v
                .changes
                .iter()
                .map(|c| Changed { name: c.unknown.name(), from: Number(c.from), to: Number(c.to) })
                .collect(),
            promised: SizeRow::predicted(v.promised),
            found_rms: v.found_rms_mm.map(|e| Number(e.value)),
            found_u: v.found_rms_mm.map(|e| Number(e.u)),
            chance_within: Number(v.chance_within),
            suspected: v
                .suspected
                .iter()
                .map(|s| {
                    let (slip, setting) = slip(s.slip);
                    SuspectedRow { slip, setting, chance: Number(s.chance) }
                })
                .collect(),
        }
    }
}

/// Name of a mistake, and of the setting it is about.
fn slip(slip: EntrySlip) -> (&'static str, Option<&'static str>) {
    match slip {
        EntrySlip::NothingEntered => ("nothing entered", None),
        EntrySlip::OnlyOne(u) => ("only one entered", Some(u.name())),
        EntrySlip::LeftOut(u) => ("one left out", Some(u.name())),
        EntrySlip::WrongWay => ("wrong way", None),
        EntrySlip::WrongSign(u) => ("wrong sign", Some(u.name())),
        EntrySlip::Swapped => ("left and right swapped", None),
        EntrySlip::MmAsInches => ("mm as inches", None),
        EntrySlip::InchesAsMm => ("inches as mm", None),
    }
}
