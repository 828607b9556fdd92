//! The dimensions of an unlabelled pair, measured or assumed.

use crate::files::spec::{Measured, MeasuredValue};
use crate::pair::missing_in;
use crate::physics::field::Section;
use crate::questions::words::notes::Told;
use crate::{Document, Error, Result};

/// Outer over inner diameter if one of them was not measured, and its relative standard uncertainty (common practice,
/// no source).
const OUTER_OVER_INNER: [f64; 2] = [1.06, 0.02];
/// Width over depth, likewise.
const WIDTH_OVER_DEPTH: [f64; 2] = [1.5, 0.4];
/// Spacing over mean radius, likewise.
const SPACING_OVER_RADIUS: [f64; 2] = [1.0, 0.03];

/// A value assumed because it was not measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Assumed {
    /// The outer diameter, from the inner.
    OuterDiameter,
    /// The inner diameter, from the outer.
    InnerDiameter,
    /// The width, from the depth.
    Width,
    /// The spacing: one mean radius.
    Spacing,
    /// The connection: in series.
    Connection,
}

impl Told for Assumed {
    fn sentence(&self) -> String {
        let percent = |part: f64| format!("{:.0} %", 100.0 * part);
        let larger = || format!("{} ± {}", percent(OUTER_OVER_INNER[0] - 1.0), percent(OUTER_OVER_INNER[1]));
        match self {
            Self::OuterDiameter => {
                format!("the outer diameter was not measured: taken {} larger than the inner", larger())
            }
            Self::InnerDiameter => {
                format!("the inner diameter was not measured: taken {} smaller than the outer", larger())
            }
            Self::Width => format!(
                "the width was not measured: taken {} times the depth, ±{}",
                WIDTH_OVER_DEPTH[0],
                percent(WIDTH_OVER_DEPTH[1])
            ),
            Self::Spacing => format!(
                "the spacing was not measured: taken as one mean radius, ±{}",
                percent(SPACING_OVER_RADIUS[1])
            ),
            Self::Connection => "the connection was not given: taken as series".into(),
        }
    }
}

/// The dimensions, measured or assumed, each with its standard uncertainty.
#[derive(Clone, Copy, Debug)]
pub(super) struct Dimensions {
    pub(super) inner_diameter_m: MeasuredValue,
    pub(super) outer_diameter_m: MeasuredValue,
    pub(super) width_m: MeasuredValue,
    pub(super) spacing_m: MeasuredValue,
}

impl Dimensions {
    pub(super) fn depth_m(&self) -> f64 {
        0.5 * (self.outer_diameter_m.value - self.inner_diameter_m.value)
    }

    pub(super) fn section(&self) -> Section {
        Section {
            mean_radius_m: 0.25 * (self.outer_diameter_m.value + self.inner_diameter_m.value),
            width_m: self.width_m.value,
            depth_m: self.depth_m(),
        }
    }

    /// These dimensions with one of them increased by a length.
    pub(super) fn with(&self, cause: usize, by: f64) -> Self {
        let mut changed = *self;
        let length = match cause {
            0 => &mut changed.inner_diameter_m,
            1 => &mut changed.outer_diameter_m,
            2 => &mut changed.width_m,
            _ => &mut changed.spacing_m,
        };
        length.value += by;
        changed
    }

    pub(super) fn uncertainties(&self) -> [f64; 4] {
        [self.inner_diameter_m, self.outer_diameter_m, self.width_m, self.spacing_m]
            .map(|reading| reading.standard_uncertainty)
    }
}

/// The dimensions. Missing ones are assumed with a wide uncertainty and listed.
pub(super) fn dimensions(measured: &Measured) -> Result<(Dimensions, Vec<Assumed>)> {
    let mut assumed = Vec::new();
    let taken =
        |value: f64, [_, relative]: [f64; 2]| MeasuredValue { value, standard_uncertainty: relative * value };
    let (inner, outer) = match (measured.inner_diameter_m, measured.outer_diameter_m) {
        (Some(inner), Some(outer)) => (inner, outer),
        (Some(inner), None) => {
            assumed.push(Assumed::OuterDiameter);
            (inner, taken(OUTER_OVER_INNER[0] * inner.value, OUTER_OVER_INNER))
        }
        (None, Some(outer)) => {
            assumed.push(Assumed::InnerDiameter);
            (taken(outer.value / OUTER_OVER_INNER[0], OUTER_OVER_INNER), outer)
        }
        (None, None) => {
            return Err(missing_in(
                Document::Measurements,
                "inner_diameter",
                "every prediction rests on the size of the coil; a ruler will do",
            ));
        }
    };
    let depth = 0.5 * (outer.value - inner.value);
    let radius = 0.25 * (outer.value + inner.value);
    let width = measured.width_m.unwrap_or_else(|| {
        assumed.push(Assumed::Width);
        taken(WIDTH_OVER_DEPTH[0] * depth, WIDTH_OVER_DEPTH)
    });
    let spacing = measured.spacing_m.unwrap_or_else(|| {
        assumed.push(Assumed::Spacing);
        taken(SPACING_OVER_RADIUS[0] * radius, SPACING_OVER_RADIUS)
    });
    if spacing.value <= width.value {
        return Err(Error::value_with_hint(
            "the spacing is not larger than the width, so the two coils would overlap",
            "the spacing is from the middle of one coil to the middle of the other",
        ));
    }
    if measured.connection.is_none() {
        assumed.push(Assumed::Connection);
    }
    let dimensions =
        Dimensions { inner_diameter_m: inner, outer_diameter_m: outer, width_m: width, spacing_m: spacing };
    Ok((dimensions, assumed))
}
