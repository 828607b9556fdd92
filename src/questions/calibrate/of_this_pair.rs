//! Whether a line that was calibrated elsewhere may be this pair's.

use super::adopted::AdoptedLine;
use super::causes::UNSTATED_BUILD;
use crate::pair::Bench;
use crate::physics::slope::Slope;
use crate::units::{Dimension, uncertain};
use crate::{Error, Result};

/// Refuses a line made from another spec, or another state of it, whose slope differs from the one computed for this bench by
/// more than both leave open, E_n beyond 1 (ISO 13528:2022, 9.7). A line made from this very spec passes: `calibrate` has
/// compared it already.
///
/// # Errors
/// It is such a line; the coils make no field at the centre.
pub fn check_of_this_pair(bench: &Bench, line: &AdoptedLine) -> Result<()> {
    if line.provenance.spec_digest == bench.digest {
        return Ok(());
    }
    let tesla_per_ampere = super::computed_slope_tesla_per_ampere(bench)?;
    let computed = Slope::computed(bench, tesla_per_ampere);
    let expanded = match computed.is_judged() {
        true => computed.expanded_uncertainty_tesla_per_ampere,
        false => 2.0 * UNSTATED_BUILD * tesla_per_ampere.abs(),
    };
    let slope = &line.slope;
    let difference = slope.tesla_per_ampere - tesla_per_ampere;
    let normalised = difference / slope.expanded_uncertainty_tesla_per_ampere.hypot(expanded);
    if normalised.is_nan() || normalised.abs() <= 1.0 {
        return Ok(());
    }
    let told = |k: f64, u: f64| uncertain(k, u, Dimension::FieldConstant);
    Err(Error::value_with_hint(
        format!(
            "the line of \"{}\" is not this pair's: its slope is {}, and the spec gives {}, U after each (E_n = {})",
            line.provenance.spec_title,
            told(slope.tesla_per_ampere, slope.expanded_uncertainty_tesla_per_ampere),
            told(tesla_per_ampere, expanded),
            crate::units::number_of_six(normalised, 1)
        ),
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
        let both = computed
            .expanded_uncertainty_tesla_per_ampere
            .hypot(own.slope.expanded_uncertainty_tesla_per_ampere);
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
        let mut disputed = own.clone();
        disputed.slope.tesla_per_ampere *= 1.1;
        assert!(check_of_this_pair(&bench, &disputed).is_ok(), "made from this very spec");
    }
}
