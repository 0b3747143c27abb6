//! The one pure function that joins the rooms.

use super::doubts::{read_from_behind, reading_results};
use super::edges::Edges;
use super::errors::errors;
use super::notices::{notices, p_value};
use super::results::{
    correlations, hole_results, hole_scatter, instrument_results, knowledge, lookalikes, unknown_results,
};
use crate::adjustment::Model;
use crate::fit::OutOfDomain;
use crate::frame::Rectangle;
use crate::pattern::Pattern;
use crate::readings::Reading;
use crate::record::*;
use crate::screening::{ALPHA, screen};
use crate::setup::Setup;

/// What is analysed: one cut as it was made and read.
#[derive(Debug, Clone, Copy)]
pub struct Cut<'a> {
    /// Id of the cut.
    pub id: &'a str,
    /// The machine with the settings in force at the cut.
    pub setup: &'a Setup,
    /// The pattern.
    pub pattern: &'a Pattern,
    /// The readings.
    pub readings: &'a [Reading],
    /// Planned distances not read yet.
    pub blank: usize,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum NoAnswer {
    /// No reading at all.
    NoReadings,
    /// The machine as described cannot have cut this pattern.
    Impossible(String),
}

impl std::fmt::Display for NoAnswer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoReadings => write!(f, "there is no reading yet: enter some distances first"),
            Self::Impossible(why) => {
                write!(f, "the machine as described cannot have cut this pattern: {why}")
            }
        }
    }
}

impl std::error::Error for NoAnswer {}

impl From<OutOfDomain> for NoAnswer {
    fn from(e: OutOfDomain) -> Self {
        Self::Impossible(e.0)
    }
}

/// Works out everything that a cut's readings say, errors judged over the whole sheet.
///
/// # Errors
/// When there are no readings, or the machine as described cannot have cut the pattern.
pub fn analyse(cut: &Cut<'_>) -> Result<Analysis, NoAnswer> {
    analyse_over(cut, None)
}

/// The same, with errors judged, and settings chosen, over a part of the sheet.
///
/// # Errors
/// As [`analyse`], and when the carriage cannot hang somewhere in that part.
pub fn analyse_over(cut: &Cut<'_>, chosen: Option<&Rectangle>) -> Result<Analysis, NoAnswer> {
    if cut.readings.is_empty() {
        return Err(NoAnswer::NoReadings);
    }
    let setup = cut.setup;
    let holes = cut.pattern.holes();
    let impossible = |e: crate::machine::Unreachable| NoAnswer::Impossible(e.to_string());
    let model = Model::new(setup, &holes, cut.readings).map_err(impossible)?;
    let screened = screen(&model, setup.hardware.pitch_mm, ALPHA)?;
    let fitted = &screened.fitted;
    let edges = Edges::of(cut.readings, &screened, &holes);
    let error = errors(setup, &screened, &holes, edges.fix_placement, chosen)?;
    let (holes_out, symptoms) = hole_results(&holes, fitted, edges.fix_placement);
    let (used, set_aside) = reading_results(cut, &holes, &screened);
    let unknowns = unknown_results(setup, &screened);
    let (correlation_names, correlation) = correlations(&screened.model, fitted);
    let mut notices = notices(setup, &screened, &unknowns, &error, &edges);
    if read_from_behind(cut, &holes, &model, &screened) {
        // A sheet read from behind leaves patterns of its own, which say nothing of the machine.
        notices.retain(|n| !matches!(n, Notice::PatternLeft { .. }));
        notices.push(Notice::ReadFromBehind);
    }
    Ok(Analysis {
        cut: cut.id.to_owned(),
        machine: setup.name.clone(),
        unit: setup.unit,
        sheet: setup.sheet,
        hole_diameter_mm: cut.pattern.hole_diameter_mm,
        hole_scatter_mm: setup.hole_scatter_mm,
        hole_scatter: hole_scatter(setup, fitted),
        used,
        set_aside,
        blank: cut.blank,
        fit: FitQuality {
            converged: fitted.converged,
            iterations: fitted.iterations,
            dof: fitted.dof,
            chi_square: fitted.chi_square,
            p_value: p_value(fitted),
        },
        lookalikes: lookalikes(&correlation_names, &correlation),
        not_determined: unknowns
            .iter()
            .filter(|u| u.known_from == KnownFrom::NotDeterminable)
            .map(|u| u.unknown.name().to_owned())
            .collect(),
        unknowns,
        correlation_names,
        correlation,
        instruments: instrument_results(setup, &screened),
        symptoms,
        causes: error.causes,
        error: error.budget,
        settings_new: error.changes,
        holes: holes_out,
        map: error.map,
        notices,
        verification: None,
        knowledge: knowledge(setup, &screened),
    })
}
