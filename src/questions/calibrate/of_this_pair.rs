//! Checks whether a line that was calibrated elsewhere may belong to this pair.

use super::adopted::AdoptedLine;
use super::causes::UNSTATED_BUILD;
use crate::numeric::coverage;
use crate::pair::Bench;
use crate::physics::slope::Slope;
use crate::units::{Dimension, display, uncertain};
use crate::{Error, Result};

/// A line made from another spec, or another state of it, whose slope differs from the one computed for this bench by more
/// than both leave open, or would be told apart only by an uncertainty that it lacks.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct NotThisPair {
    /// Title of the spec that the line was made from.
    pub title: String,
    /// The line's slope.
    pub slope_tesla_per_ampere: f64,
    /// Its U; `None` if it is not known.
    pub slope_expanded_uncertainty_tesla_per_ampere: Option<f64>,
    /// The slope computed for this bench and its U.
    pub computed_and_expanded_uncertainty_tesla_per_ampere: [f64; 2],
    /// E_n; `None` if the line's U is not known.
    pub normalised_difference: Option<f64>,
}

impl NotThisPair {
    /// In words.
    pub fn sentence(&self) -> String {
        let Self { title, slope_tesla_per_ampere: slope, .. } = self;
        let told = |k: f64, u: f64| uncertain(k, u, Dimension::FieldConstant);
        let [computed, u] = self.computed_and_expanded_uncertainty_tesla_per_ampere;
        let spec_gives = told(computed, u);
        match self.slope_expanded_uncertainty_tesla_per_ampere.zip(self.normalised_difference) {
            Some((of_line, normalised)) => format!(
                "the line of \"{title}\" is not this pair's: its slope is {}, and the spec gives {spec_gives}, U after each \
                 (E_n = {})",
                told(*slope, of_line),
                crate::units::number_of_six(normalised, 1)
            ),
            None => format!(
                "whether the line of \"{title}\" is this pair's cannot be told: its slope is {} without an uncertainty, and the \
                 spec gives {spec_gives}, U after it",
                display(*slope, Dimension::FieldConstant, 6)
            ),
        }
    }
}

/// Whether a line is not this pair's: made from another spec, or another state of it, with E_n beyond 1 (ISO 13528:2022, 9.7).
/// A line made from this very spec passes: `calibrate` has compared it already. So does one that lies within the computed
/// slope's own uncertainty, whatever its own is.
///
/// # Errors
/// The coils make no field at the centre.
pub fn not_of_this_pair(bench: &Bench, line: &AdoptedLine) -> Result<Option<NotThisPair>> {
    if line.provenance.spec_digest == bench.digest {
        return Ok(None);
    }
    let tesla_per_ampere = super::computed_slope_tesla_per_ampere(bench)?;
    let computed = Slope::computed(bench, tesla_per_ampere);
    let expanded =
        computed.expanded_uncertainty().unwrap_or_else(|| 2.0 * UNSTATED_BUILD * tesla_per_ampere.abs());
    let slope = &line.slope;
    if (slope.tesla_per_ampere - tesla_per_ampere).abs() <= expanded {
        return Ok(None);
    }
    let values = [slope.tesla_per_ampere, tesla_per_ampere];
    let of_line = slope.expanded_uncertainty();
    let normalised_difference = coverage::normalised_difference(values, [of_line, Some(expanded)]);
    if normalised_difference.is_some_and(|normalised| normalised.abs() <= 1.0) {
        return Ok(None);
    }
    Ok(Some(NotThisPair {
        title: line.provenance.spec_title.clone(),
        slope_tesla_per_ampere: slope.tesla_per_ampere,
        slope_expanded_uncertainty_tesla_per_ampere: of_line,
        computed_and_expanded_uncertainty_tesla_per_ampere: [tesla_per_ampere, expanded],
        normalised_difference,
    }))
}

/// Refuses a line that is not this pair's, as [`not_of_this_pair`] tells it.
///
/// # Errors
/// The slopes differ so; the coils make no field at the centre.
pub fn check_of_this_pair(bench: &Bench, line: &AdoptedLine) -> Result<()> {
    match not_of_this_pair(bench, line)? {
        None => Ok(()),
        Some(other) => Err(Error::value_with_hint(
            other.sentence(),
            "name the calibration of this pair in its present state; --even-if-another-pair uses this one all the same",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calibrate::tests::bench;
    use crate::questions::calibrate::{Request, calibrate, kept_line};

    #[test]
    fn a_line_of_another_spec_may_differ_by_what_both_leave_open() {
        let bench = bench();
        let own = kept_line(&calibrate(&bench, &Request::default()).unwrap()).unwrap();
        let computed = Slope::computed(&bench, own.slope.tesla_per_ampere);
        let both = computed.expanded_uncertainty().unwrap().hypot(own.slope.expanded_uncertainty().unwrap());
        let other = |by: f64| {
            let mut line = own.clone();
            line.provenance.spec_digest = "ffffffffffff".into();
            line.slope.tesla_per_ampere += by * both;
            check_of_this_pair(&bench, &line)
        };
        assert!(other(0.0).is_ok() && other(-0.99).is_ok());
        for by in [1.01, -1.01] {
            let refused = other(by).unwrap_err();
            assert!(refused.to_string().contains("is not this pair's"), "{refused}");
        }
        // Without U of the line only a slope that is right whatever it is passes.
        let alone = computed.expanded_uncertainty().unwrap();
        let unknown = |by: f64| {
            let mut line = own.clone();
            line.provenance.spec_digest = "ffffffffffff".into();
            line.slope = Slope::of(own.slope.from, own.slope.tesla_per_ampere + by * alone, Vec::new());
            check_of_this_pair(&bench, &line)
        };
        assert!(unknown(0.0).is_ok() && unknown(-0.99).is_ok());
        for by in [1.01, -1.01, 100.0] {
            let refused = unknown(by).unwrap_err().to_string();
            assert!(refused.contains("cannot be told"), "{refused}");
        }
        let mut disputed = own.clone();
        disputed.slope.tesla_per_ampere *= 1.1;
        assert!(check_of_this_pair(&bench, &disputed).is_ok(), "made from this very spec");
    }
}
