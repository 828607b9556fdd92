//! Whether a line that was calibrated elsewhere may be this pair's.

use super::adopted::AdoptedLine;
use super::causes::UNSTATED_BUILD;
use crate::numeric::coverage;
use crate::pair::Bench;
use crate::physics::slope::Slope;
use crate::units::{Dimension, display, uncertain};
use crate::{Error, Result};

/// Refuses a line made from another spec, or another state of it, whose slope differs from the one computed for this bench by
/// more than both leave open, E_n beyond 1 (ISO 13528:2022, 9.7). A line made from this very spec passes: `calibrate` has
/// compared it already. So does one that lies within the computed slope's own uncertainty, whatever its own is.
///
/// # Errors
/// It is such a line; its uncertainty would decide, and is not known; the coils make no field at the centre.
pub fn check_of_this_pair(bench: &Bench, line: &AdoptedLine) -> Result<()> {
    if line.provenance.spec_digest == bench.digest {
        return Ok(());
    }
    let tesla_per_ampere = super::computed_slope_tesla_per_ampere(bench)?;
    let computed = Slope::computed(bench, tesla_per_ampere);
    let expanded =
        computed.expanded_uncertainty().unwrap_or_else(|| 2.0 * UNSTATED_BUILD * tesla_per_ampere.abs());
    let slope = &line.slope;
    if (slope.tesla_per_ampere - tesla_per_ampere).abs() <= expanded {
        return Ok(());
    }
    let values = [slope.tesla_per_ampere, tesla_per_ampere];
    let of_line = slope.expanded_uncertainty();
    let normalised = coverage::normalised_difference(values, [of_line, Some(expanded)]);
    if normalised.is_some_and(|normalised| normalised.abs() <= 1.0) {
        return Ok(());
    }
    let title = &line.provenance.spec_title;
    let told = |k: f64, u: f64| uncertain(k, u, Dimension::FieldConstant);
    let spec_gives = told(tesla_per_ampere, expanded);
    Err(Error::value_with_hint(
        match of_line.zip(normalised) {
            Some((of_line, normalised)) => format!(
                "the line of \"{title}\" is not this pair's: its slope is {}, and the spec gives {spec_gives}, U after each \
                 (E_n = {})",
                told(slope.tesla_per_ampere, of_line),
                crate::units::number_of_six(normalised, 1)
            ),
            None => format!(
                "whether the line of \"{title}\" is this pair's cannot be told: its slope is {} without an uncertainty, and the spec \
                 gives {spec_gives}, U after it",
                display(slope.tesla_per_ampere, Dimension::FieldConstant, 6)
            ),
        },
        "name the calibration of this pair in its present state; --even-if-another-pair uses this one all the same",
    ))
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
