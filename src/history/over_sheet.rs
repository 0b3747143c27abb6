//! What a change of the unknowns does over the sheet, for the settings that the machine has now.

use crate::field::{Field, WorkingArea};
use crate::machine::{COUNT, Values};
use crate::setup::Setup;
use crate::symptoms::symptoms;
use nalgebra::{DMatrix, DVector};

/// Displacement over the working area near some state of the machine, shift and turn removed unless they are known.
pub(super) struct OverSheet {
    pub(super) area: WorkingArea,
    /// At that state, x1, y1, x2 ... mm.
    pub(super) displacement: DVector<f64>,
    /// By the unknowns.
    pub(super) by_truth: DMatrix<f64>,
    /// scale x, scale y, skew (mm/m) by the unknowns.
    pub(super) symptoms: DMatrix<f64>,
}

/// Every k-th point of the working area is looked at.
const STRIDE: usize = 2;

impl OverSheet {
    /// For the settings of `setup` on a machine; `None` where the carriage cannot hang somewhere on the sheet.
    pub(super) fn of(setup: &Setup, truth: &Values<f64>, placement_known: bool) -> Option<Self> {
        let area = WorkingArea::of_sheet(&setup.sheet).thinned(STRIDE);
        let field = Field::of(&setup.belief(), &setup.nature(*truth), &area.points).ok()?;
        let placement = area.placement(placement_known);
        let by_truth = placement.remove_columns(&field.by_truth);
        let nothing = DMatrix::zeros(by_truth.nrows(), by_truth.nrows());
        let mut linear = DMatrix::zeros(3, COUNT);
        for k in 0..COUNT {
            let s = symptoms(&area.points, &by_truth.column(k).into_owned(), &nothing, placement_known);
            for (row, symptom) in [s.scale_x, s.scale_y, s.skew].into_iter().enumerate() {
                linear[(row, k)] = symptom.estimate.value;
            }
        }
        Some(Self { displacement: placement.remove(&field.displacement), by_truth, symptoms: linear, area })
    }

    /// Mean over the area of the squared displacement, as a form in the unknowns: M of d'M d.
    pub(super) fn mean_square(&self) -> DMatrix<f64> {
        let weighted = self.area.weighted(&self.by_truth);
        weighted.transpose() * weighted
    }
}
