//! The plot area of a chart and the scales on it.

use crate::paper::mark::{Place, Rect, Text};
use crate::paper::ticks::Ticks;
use crate::units::Unit;

/// The plot area and the scales on it. Ranges and ticks are in the axes' units.
pub(super) struct Frame {
    pub(super) plot: Rect,
    pub(super) x_unit: Unit,
    pub(super) y_unit: Unit,
    pub(super) x_range: [f64; 2],
    pub(super) y_range: [f64; 2],
    pub(super) x_ticks: Ticks,
    pub(super) y_ticks: Ticks,
}

impl Frame {
    pub(super) fn across(&self, x: f64) -> f64 {
        let [low, high] = self.x_range;
        self.plot.left + (x - low) / (high - low) * self.plot.width
    }

    pub(super) fn down(&self, y: f64) -> f64 {
        let [low, high] = self.y_range;
        self.plot.bottom() - (y - low) / (high - low) * self.plot.height
    }

    /// The place on the sheet for a pair of values in SI units.
    pub(super) fn place(&self, [x, y]: [f64; 2]) -> Place {
        [self.across(self.x_unit.from_si(x)), self.down(self.y_unit.from_si(y))]
    }

    pub(super) fn widest_y_label(&self) -> f64 {
        let widths = self
            .y_ticks
            .values
            .iter()
            .map(|v| Text::new(self.y_ticks.label(*v), [0.0; 2], TICK_SIZE).width());
        widths.fold(0.0, f64::max) + 9.0
    }
}

pub(super) const TICK_SIZE: f64 = 12.0;
