//! How far an axis turns.

use serde::{Deserialize, Serialize};

/// The travel of one axis in the mount's own coordinates, degrees, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AngleRange {
    /// Lower end stop.
    pub from: f64,
    /// Upper end stop.
    pub to: f64,
}

impl AngleRange {
    /// From degrees.
    pub const fn new(from: f64, to: f64) -> Self {
        Self { from, to }
    }

    /// Whether the axis can stand there; it can't stand at what is no number.
    pub fn contains(self, degrees: f64) -> bool {
        self.from <= degrees && degrees <= self.to
    }

    /// The nearest angle to `degrees` that the axis can reach; the lower end for what is no number.
    pub fn clamp(self, degrees: f64) -> f64 {
        degrees.max(self.from).min(self.to)
    }
}
