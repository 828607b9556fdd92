//! A step between two calibrations, in words.

use super::control::equivalent_sentence;
use crate::questions::register::Step;
use crate::questions::words::phrases::{e_n, signed_percent};

/// The meaning of a difference of two calibrations; E_n = 1 is two standard uncertainties.
pub(super) fn changed(normalised_difference: f64) -> &'static str {
    match normalised_difference.abs() > Step::CLEAR {
        true => "the pair or a meter changed",
        false => "the pair or a meter may have changed, or chance did it, as in one of twenty",
    }
}

/// A step from the calibration before, in one sentence.
pub fn step_sentence(step: &Step) -> String {
    format!(
        "the readings' slope is {} off that of entry {}, E_n = {}{}: {}, as much as {}",
        signed_percent(step.relative_change),
        step.before,
        e_n(step.normalised_difference),
        if step.same_meters { " with the same meters" } else { "" },
        changed(step.normalised_difference),
        equivalent_sentence(&step.explained_by, "")
    )
}
