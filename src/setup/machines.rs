//! The machines that a setup speaks of.

use super::Setup;
use crate::machine::{Machine, Values};

impl Setup {
    /// The machine that the controller believes in: its settings.
    pub fn belief(&self) -> Machine {
        self.controller(self.settings)
    }

    /// This controller with other settings.
    pub fn controller(&self, settings: Values<f64>) -> Machine {
        Machine { hardware: self.hardware, sheet: self.sheet, values: settings, sag: self.sag }
    }

    /// A real machine of this build: heavy, elastic chains, with the given unknowns.
    pub fn nature(&self, values: Values<f64>) -> Machine {
        Machine { hardware: self.hardware, sheet: self.sheet, values, sag: true }
    }
}
