//! Judges the readings without those found misread.
//!
//! A misread reading hides other faults, because the line with which the others are compared still contains it. It is
//! therefore left out, the line is fitted anew, and the others are judged again, one reading after the other.

use super::agreement::{Agreement, WithoutMisread};
use super::causes::{MOST_POINTS, judge_readings};
use super::fit;
use super::readings::Readings;
use crate::Result;
use crate::physics::field::PreparedPair;
use crate::physics::slope::{AdoptedFrom, Slope};

/// Most readings that are left out, each followed by a new fit.
const MOST: usize = 5;
/// At least this many readings, and two thirds of all, must remain.
const LEAST: usize = 4;

/// The judgement without the readings found misread. `None` if none is.
pub(super) fn without_misread(
    pair: &PreparedPair,
    computed: &Slope,
    readings: &Readings,
    all: &Agreement,
) -> Result<Option<Box<WithoutMisread>>> {
    // If there are more readings, neighbours are judged as one point, so no single one can be named.
    if readings.readings.len() > MOST_POINTS {
        return Ok(None);
    }
    let mut kept = readings.clone();
    let mut found: Option<WithoutMisread> = None;
    let (mut lines, mut labels) = (Vec::new(), Vec::new());
    while let Some(line) = found.as_ref().map_or(all, |found| &found.agreement).misread_line {
        let Some(place) = kept.readings.iter().position(|reading| reading.line == line) else { break };
        let left = kept.readings.len() - 1;
        if left < LEAST || 3 * left < 2 * readings.readings.len() || lines.len() == MOST {
            break;
        }
        let out = kept.readings.remove(place);
        // Without the misread reading the others may all be at one current.
        let Ok((rounded, fit)) = fit::fit_as_rounded(&kept, pair) else { break };
        let fitted =
            Slope::of(AdoptedFrom::Fit, fit.slope_tesla_per_ampere, fit::fit_budget(&fit, pair.bench()));
        let judged = judge_readings(pair, computed, &rounded, &fit)?;
        lines.push(out.line);
        labels.extend(out.label);
        found = Some(WithoutMisread {
            lines: lines.clone(),
            labels: labels.clone(),
            slope_tesla_per_ampere: fit.slope_tesla_per_ampere,
            agreement: Agreement::of(computed, &fitted, judged)?,
        });
    }
    // If the remaining readings still contradict each other, leaving out readings did not explain the contradiction.
    let explained = |found: &WithoutMisread| {
        found.agreement.excess_scatter.is_none() && !found.agreement.is_unexplained()
    };
    Ok(found.filter(explained).map(Box::new))
}
