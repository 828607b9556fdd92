//! The dimensions of an unlabelled pair, measured or taken.

use crate::files::spec::{Measured, MeasuredValue};
use crate::pair::missing_in;
use crate::physics::field::Section;
use crate::{Document, Error, Result};

/// The dimensions, measured or taken, each with its standard uncertainty.
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

    /// The same with one of them larger by a length.
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

/// The dimensions, what is missing taken widely, with a sentence for each.
pub(super) fn dimensions(measured: &Measured) -> Result<(Dimensions, Vec<String>)> {
    let mut assumed = Vec::new();
    let taken = |value: f64, relative: f64| MeasuredValue { value, standard_uncertainty: relative * value };
    let (inner, outer) = match (measured.inner_diameter_m, measured.outer_diameter_m) {
        (Some(inner), Some(outer)) => (inner, outer),
        (Some(inner), None) => {
            assumed.push("the outer diameter was not measured: taken 6 % ± 2 % larger than the inner".into());
            (inner, taken(1.06 * inner.value, 0.02))
        }
        (None, Some(outer)) => {
            assumed
                .push("the inner diameter was not measured: taken 6 % ± 2 % smaller than the outer".into());
            (taken(outer.value / 1.06, 0.02), outer)
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
        assumed.push("the width was not measured: taken 1.5 times the depth, ±40 %".into());
        taken(1.5 * depth, 0.4)
    });
    let spacing = measured.spacing_m.unwrap_or_else(|| {
        assumed.push("the spacing was not measured: taken as one mean radius, ±3 %".into());
        taken(radius, 0.03)
    });
    if spacing.value <= width.value {
        return Err(Error::value_with_hint(
            "the spacing is not larger than the width, so the two coils would overlap",
            "the spacing is from the middle of one coil to the middle of the other",
        ));
    }
    if measured.connection.is_none() {
        assumed.push("the connection was not given: taken as series".into());
    }
    let dimensions =
        Dimensions { inner_diameter_m: inner, outer_diameter_m: outer, width_m: width, spacing_m: spacing };
    Ok((dimensions, assumed))
}
