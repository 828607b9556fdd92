//! The comparison with an older calibration in words.

use super::sentences::with_factor;
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::AdoptedFrom;
use crate::questions::calibrate::drift::{Drift, FittedChange, OldTableEnded};
use crate::questions::calibrate::{AsFound, FoundToNow, Happened};
use crate::questions::words::phrases::{e_n, signed_percent, with_expanded};

/// The comparison with an older line, as labels and values.
pub(crate) fn rows(drift: &Drift) -> Vec<(&'static str, String)> {
    let mut rows = vec![
        ("older calibration", older(drift)),
        ("older slope", with_factor(&drift.previous_slope)),
        ("change of the slope", format!("{}{}", signed_percent(drift.relative_change), unlike(drift))),
        (
            "normalised difference E_n",
            drift.normalised_difference.map_or("not known".into(), |difference| {
                format!("{difference:.2}, treating the two lines as independent")
            }),
        ),
        ("the same without what they share", same_meters(drift)),
    ];
    if let Some(fitted) = &drift.fitted {
        rows.push(("change of the fitted slope", fitted_change(fitted)));
    }
    if drift.without_fit {
        let sentence =
            "no drift can be read from this: not both calibrations hold a slope fitted to readings";
        rows.push(("drift", sentence.into()));
    }
    rows.extend([
        (
            "older table",
            match (&drift.old_table_ended, drift.old_table_holds) {
                (Some(ended), _) => format!("no longer holds: {}", ended_sentence(ended)),
                (None, Some(_)) => "still holds: the change is within its expanded uncertainty".into(),
                (None, None) => "not known: the older calibration states no uncertainty of its slope".into(),
            },
        ),
        (
            "spec",
            if drift.same_spec { "the same file" } else { "another file than the older calibration's" }
                .into(),
        ),
    ]);
    rows
}

/// The name of a result before an adjustment or repair.
pub(crate) fn result_before(found: Option<&AsFound>) -> &'static str {
    match found {
        Some(found) if found.as_left => "last result before",
        _ => "result as found",
    }
}

/// The slopes fitted to the readings before and after an adjustment or repair, as labels and values.
pub(crate) fn found_rows(change: &FoundToNow) -> [(&'static str, String); 3] {
    let shared = change.shared_sources.iter().map(BudgetSource::name).collect::<Vec<_>>().join(", ");
    let same_meters = change.normalised_difference_same_meters.map(|difference| {
        let cancelled = if shared.is_empty() {
            "the two share nothing".into()
        } else {
            format!("without what both share ({shared})")
        };
        format!("; E_n = {}, {cancelled}", e_n(difference))
    });
    let independent = change
        .normalised_difference
        .map(|difference| format!("; E_n = {}, treating the two as independent", e_n(difference)));
    [
        (
            "fitted slope as found",
            with_expanded(change.found_tesla_per_ampere, change.found_expanded_uncertainty_tesla_per_ampere),
        ),
        (
            "fitted slope of this calibration",
            with_expanded(change.now_tesla_per_ampere, change.now_expanded_uncertainty_tesla_per_ampere),
        ),
        (
            "change of the fitted slope",
            format!(
                "{}, this calibration less the result as found{}{}. Both are slopes of readings alone, ± expanded \
                 uncertainty; the adopted lines may be of different kinds",
                signed_percent(change.relative_change),
                same_meters.unwrap_or_default(),
                independent.unwrap_or_default()
            ),
        ),
    ]
}

/// Why the older table no longer holds.
fn ended_sentence(ended: &OldTableEnded) -> String {
    match ended {
        OldTableEnded::PairChanged { happened } if happened.is_empty() => {
            "the pair was adjusted since".into()
        }
        OldTableEnded::PairChanged { happened } => {
            let told: Vec<String> = happened.iter().map(Happened::sentence).collect();
            format!("since then {}", told.join("; "))
        }
        OldTableEnded::BeyondUncertainty => "the change is beyond its expanded uncertainty".into(),
        OldTableEnded::SlopeChanged { normalised_difference } => format!(
            "the change is within its expanded uncertainty, but E_n = {} says that the slope has changed",
            e_n(*normalised_difference)
        ),
    }
}

/// A remark where the two slopes are of different kinds, so that their change is none of the pair's.
fn unlike(drift: &Drift) -> String {
    let names = [drift.previous_slope.from, drift.now_from].map(AdoptedFrom::name);
    match names {
        [before, now] if before != now => {
            format!(", from a {before} line to a {now} one, which does not compare like with like")
        }
        _ => String::new(),
    }
}

/// The older calibration by its certificate, where that is known, and by program, spec and date.
fn older(drift: &Drift) -> String {
    let certificate = drift.previous_certificate.as_ref();
    let named = certificate.map_or(String::new(), |number| format!("certificate {number}; "));
    format!("{named}{}", drift.previous)
}

/// The change of the slopes fitted to the readings, which does not contain the geometry.
fn fitted_change(change: &FittedChange) -> String {
    let number = |value: f64| format!("{value:.2}");
    let mut told = signed_percent(change.relative_change);
    if let Some(difference) = change.normalised_difference {
        told.push_str(&format!(", E_n {}", number(difference)));
    }
    if let Some(difference) = change.normalised_difference_same_meters {
        told.push_str(&format!(", {} for the same meters", number(difference)));
    }
    match change.is_significant() {
        true => format!("{told}: the readings say that the slope has changed"),
        false => format!("{told}: no more than the readings leave open"),
    }
}

/// The instruments that were calibrated between the two.
fn renewed(drift: &Drift) -> String {
    match &drift.instruments_renewed[..] {
        [] => String::new(),
        names => format!(
            "; calibrated or replaced between the two, so that its errors are not common: {}",
            names.join(", ")
        ),
    }
}

/// What remains of the change if pair and meters are the same.
fn same_meters(drift: &Drift) -> String {
    match drift.normalised_difference_same_meters {
        Some(difference) if drift.shared_sources.is_empty() => {
            format!("{difference:.2}: the two lines share nothing{}", renewed(drift))
        }
        Some(difference) => format!(
            "{difference:.2}, for the same pair and the same meters: errors common to both lines cancel ({}){}{}",
            drift.shared_sources.iter().map(BudgetSource::name).collect::<Vec<_>>().join(", "),
            if difference.abs() > 1.0 { "; the slope has changed" } else { "" },
            renewed(drift)
        ),
        None if !drift.same_apparatus => "not known: the specs differ in coils or meters".into(),
        None => "not known: the older file does not say what contributes how much".into(),
    }
}
