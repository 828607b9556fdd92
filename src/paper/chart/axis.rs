//! An axis of a chart: quantity, unit and range.

use crate::units::Unit;

/// An axis of a chart: quantity, unit and range.
#[derive(Clone, Debug)]
pub struct Axis {
    quantity: String,
    pub(super) unit: Unit,
    range: Option<[f64; 2]>,
    zero: bool,
}

impl Axis {
    /// An axis over the range of the data, with a margin of 5 % at each end.
    pub fn new(quantity: impl Into<String>, unit: Unit) -> Self {
        Self { quantity: quantity.into(), unit, range: None, zero: false }
    }

    /// The same axis with zero in its range.
    pub fn from_zero(mut self) -> Self {
        self.zero = true;
        self
    }

    /// The same axis over exactly this range, in SI units.
    pub fn over(mut self, range: [f64; 2]) -> Self {
        self.range = Some(range);
        self
    }

    pub(super) fn label(&self) -> String {
        match self.unit.symbol {
            "" => self.quantity.clone(),
            symbol => format!("{} in {symbol}", self.quantity),
        }
    }

    /// The range shown, in the axis's unit, for data in that unit. Values that are not finite are ignored; without any
    /// other the range is 0 to 1.
    pub(super) fn shown(&self, data: impl Iterator<Item = f64>) -> [f64; 2] {
        if let Some([low, high]) = self.range {
            return [self.unit.from_si(low), self.unit.from_si(high)];
        }
        let (mut low, mut high) = data
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        if low > high {
            (low, high) = (0.0, 1.0);
        }
        if self.zero {
            (low, high) = (low.min(0.0), high.max(0.0));
        }
        let size = low.abs().max(high.abs());
        let pad = match high - low {
            // A single value gets a margin on both sides.
            span if span <= 1e-12 * size => {
                if size > 0.0 {
                    0.05 * size
                } else {
                    1.0
                }
            }
            span => 0.05 * span,
        };
        let keep_zero = |v: f64| self.zero && v == 0.0;
        [if keep_zero(low) { low } else { low - pad }, if keep_zero(high) { high } else { high + pad }]
    }
}
