//! One cut as the history keeps it.

use crate::cut::Conditions;
use crate::knowledge::Knowledge;
use crate::machine::{Unknown, Values};
use crate::record::{Analysis, ErrorSize, Estimate, KnownFrom, Notice, Verdict};
use crate::setup::{InstrumentKind, Setup};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// What a cut's folder says besides its readings.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// Its day.
    pub date: Date,
    /// The day's conditions.
    pub conditions: &'a Conditions,
    /// The machine in force.
    pub setup: &'a Setup,
}

/// One cut: its results, and what its readings say by themselves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Id of the cut.
    pub id: String,
    /// Its day.
    pub date: Date,
    /// Temperature, degrees C, if noted.
    pub temperature_c: Option<f64>,
    /// Relative humidity, percent, if noted.
    pub humidity_percent: Option<f64>,
    /// What the controller was said to believe.
    pub settings: Values<f64>,
    /// Error as cut.
    pub as_cut: ErrorSize,
    /// Standard uncertainty of its root mean square, mm.
    pub as_cut_rms_u_mm: f64,
    /// Within the tolerance of its day?
    pub verdict: Verdict,
    /// Do readings to the sheet's edges fix shift and turn?
    pub placement_known: bool,
    /// Too wide, mm/m.
    pub scale_x: Estimate,
    /// Too tall, mm/m.
    pub scale_y: Estimate,
    /// Departure from square, mm/m.
    pub skew: Estimate,
    /// The unknowns, from this cut and what was expected before it.
    pub unknowns: Values<Estimate>,
    /// What each rests on.
    pub known_from: Values<KnownFrom>,
    /// Scatter of the holes as the readings have it, mm per axis.
    pub hole_scatter: Option<Estimate>,
    /// Readings that took part.
    pub used: usize,
    /// Readings set aside.
    pub set_aside: usize,
    /// Chance of a chi-square as large when all is as stated.
    pub p_value: Option<f64>,
    /// Did something speak against the fit: readings that disagree, a mirrored sheet, a fit that did not settle?
    pub doubtful: bool,
    /// Names of the tapes among the instruments of its day.
    pub tapes: Vec<String>,
    /// What the readings say by themselves.
    pub knowledge: Knowledge,
}

impl Entry {
    /// From a cut's analysis.
    pub fn of(analysis: &Analysis, context: &Context<'_>) -> Self {
        let unknown = |u: Unknown| analysis.unknowns.iter().find(|r| r.unknown == u);
        let tapes = context.setup.instruments.iter().filter(|i| i.kind == InstrumentKind::Tape);
        Self {
            id: analysis.cut.clone(),
            date: context.date,
            temperature_c: context.conditions.temperature_c,
            humidity_percent: context.conditions.humidity_percent,
            settings: context.setup.settings,
            as_cut: analysis.error.as_cut,
            as_cut_rms_u_mm: analysis.error.as_cut_rms_u_mm,
            verdict: analysis.error.verdict,
            placement_known: analysis.error.placement_known,
            scale_x: analysis.symptoms.scale_x.estimate,
            scale_y: analysis.symptoms.scale_y.estimate,
            skew: analysis.symptoms.skew.estimate,
            unknowns: Values::from_fn(|u| unknown(u).map_or_else(Estimate::default, |r| r.estimate)),
            known_from: Values::from_fn(|u| unknown(u).map_or(KnownFrom::NotDeterminable, |r| r.known_from)),
            hole_scatter: analysis.hole_scatter,
            used: analysis.used.len(),
            set_aside: analysis.set_aside.len(),
            p_value: analysis.fit.p_value,
            doubtful: analysis.notices.iter().any(|n| {
                matches!(n, Notice::ReadingsDisagree { .. } | Notice::ReadFromBehind | Notice::NotSettled)
            }),
            tapes: tapes.map(|i| i.name.clone()).collect(),
            knowledge: analysis.knowledge.clone(),
        }
    }
}
