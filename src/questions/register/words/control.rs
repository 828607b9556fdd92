//! The control chart and the drift of a series in words.

use crate::pair::RenewedMeter;
use crate::paper::page::Page;
use crate::questions::register::control::{ControlLimits, ENOUGH, Sign};
use crate::questions::register::rate::{DriftRate, Equivalent};
use crate::questions::register::{ChartPart, Overview, Series};
use crate::questions::words::phrases::{percent, signed_percent};
use crate::units::{Dimension, display, rounded, unit};

/// The events of these entries in words; `None` without one.
pub(super) fn events_named(record: &Overview, numbers: &[u64]) -> Option<String> {
    let events = record.events.iter().filter(|event| numbers.contains(&event.number));
    let named: Vec<&str> = events.map(|event| event.said.event.sentence()).collect();
    (!named.is_empty()).then(|| named.join("; "))
}

/// A series with its limits, what stands out in it, and its drift.
pub(super) fn chart(page: &mut Page, record: &Overview, series: &Series, place: usize) {
    let values = match series.numbers.len() - series.without_fit.len() {
        0 => "no measured value".to_owned(),
        1 => "1 measured value".to_owned(),
        values => format!("{values} measured values"),
    };
    let span = match series.numbers[..] {
        [one] => format!("entry {one}, {values}"),
        [first, .., last] => format!("entries {first} to {last}, {values}"),
        [] => return,
    };
    page.section(&format!("Control chart, series {}: {span}", place + 1));
    if let Some(events) = events_named(record, &series.opening_events) {
        page.row("begins because", &events);
    }
    match &series.limits {
        Some(limits) => {
            let sigma = limits.standard_deviation_tesla_per_ampere;
            let milli = |slope: f64| unit::MILLITESLA_PER_AMPERE.from_si(slope);
            let told = |slope: f64| rounded(milli(slope), milli(sigma)).0;
            let between = |[low, high]: [f64; 2]| format!("{} mT/A and {} mT/A", told(low), told(high));
            let centre = match &series.centres[..] {
                [] => format!("{} mT/A", told(limits.centre_tesla_per_ampere)),
                parts => {
                    let part = |part: &ChartPart| {
                        let [first, last] = part.numbers;
                        format!("entries {first} to {last}: {} mT/A", told(part.centre_tesla_per_ampere))
                    };
                    parts.iter().map(part).collect::<Vec<_>>().join("; ")
                        + "; the limits below are about the last"
                }
            };
            page.row("centre line", &centre);
            page.row("warning limits, 2 σ", &between(limits.warning_tesla_per_ampere));
            page.row("action limits, 3 σ", &between(limits.action_tesla_per_ampere));
            if let Some(told) = moving_ranges(limits) {
                page.row("mean moving range", &told);
            }
            page.row("σ rests on", &match limits.provisional {
                false => "moving ranges of the series (ISO 7870-2:2023, 6.5)".into(),
                true => format!(
                    "PROVISIONAL: what the calibrations do not share, until {ENOUGH} values give moving ranges"
                ),
            });
        }
        None if series.without_fit.len() == series.numbers.len() => {}
        None => page.row("limits", "none: nothing tells how the values may scatter"),
    }
    let renewed: Vec<String> = series
        .renewed
        .iter()
        .filter_map(|renewed| {
            let what = renewed_words(&renewed.meters)?;
            Some(format!(
                "before entry {}: {what}. It may show otherwise since, which is no drift of the pair: chart and drift count \
                 its errors as new from there",
                renewed.number
            ))
        })
        .collect();
    page.list(renewed.iter().map(String::as_str));
    let disputed: Vec<String> = series
        .left_out
        .iter()
        .map(|number| {
            format!("entry {number} is disputed, the only one: centre line, σ and drift leave it out")
        })
        .collect();
    page.list(disputed.iter().map(String::as_str));
    let left_out: Vec<String> =
        series.without_fit.iter().filter_map(|number| without_fit_sentence(record, *number)).collect();
    page.list(left_out.iter().map(String::as_str));
    if !series.signs.is_empty() {
        let signs: Vec<String> =
            series.signs.iter().map(|sign| sign_sentence(sign, &series.numbers)).collect();
        page.list(signs.iter().map(String::as_str));
    }
    if let Some(drift) = &series.drift {
        page.row("drift", &drift_sentence(drift));
    }
    if let Some(explained) = &series.explained_by {
        page.row("as much as", &equivalent_sentence(explained, " over the series"));
    }
}

/// The mean moving range and its limit. `None` as long as the limits rest on something else.
pub(in crate::questions::register) fn moving_ranges(limits: &ControlLimits) -> Option<String> {
    let milli = |slope: f64| unit::MILLITESLA_PER_AMPERE.from_si(slope);
    let mean = limits.mean_moving_range_tesla_per_ampere?;
    let most = limits.moving_range_limit_tesla_per_ampere?;
    let told = |slope: f64| rounded(milli(slope), milli(mean)).0;
    Some(format!("{} mT/A; largest that chance allows {} mT/A", told(mean), told(most)))
}

/// The words that meters were calibrated anew or replaced. `None` if none was.
pub(super) fn renewed_words(meters: &[RenewedMeter]) -> Option<String> {
    let told = |meter: &RenewedMeter| match &meter.replaced_and_new {
        Some([before, now]) => format!("{before} replaced by {now}"),
        None => format!("{} calibrated anew", meter.name),
    };
    (!meters.is_empty()).then(|| meters.iter().map(told).collect::<Vec<_>>().join(", "))
}

/// The sentence that an entry takes no part, and why.
fn without_fit_sentence(record: &Overview, number: u64) -> Option<String> {
    let row = record.entries.iter().find(|row| row.number == number)?;
    let line = row.adopted_from.name();
    Some(format!("entry {number} holds a {line} line only: no drift can be read from it"))
}

fn sign_sentence(sign: &Sign, numbers: &[u64]) -> String {
    match *sign {
        Sign::BeyondAction(at) => format!("entry {} lies beyond an action limit", numbers[at]),
        Sign::BeyondWarning(at) => format!("entry {} lies beyond a warning limit", numbers[at]),
        Sign::MovingRange(at) => {
            format!("entry {} lies farther from the one before than chance allows", numbers[at])
        }
        Sign::OneSide(at) => {
            format!("the seven up to entry {} lie on one side of the centre line", numbers[at])
        }
        Sign::Trend(at) => format!("the seven up to entry {} rise or fall all along", numbers[at]),
    }
}

fn drift_sentence(drift: &DriftRate) -> String {
    let (rate, uncertainty) =
        rounded(100.0 * drift.per_year_fraction, 100.0 * drift.standard_uncertainty_per_year_fraction);
    let told = format!(
        "{rate} % a year, standard uncertainty {uncertainty} %, from {} values over {:.1} years",
        drift.values, drift.years
    );
    let chance = match drift.is_significant() {
        true => String::new(),
        false => {
            format!(": no more than chance (k = {})", crate::units::number_of_six(drift.coverage_factor, 1))
        }
    };
    let untested = match drift.scatter_is_tested {
        true => "",
        false => "; two values do not show whether they scatter as their uncertainty says",
    };
    format!("{told}{chance}{untested}")
}

/// A change and what would explain it; `over` is the span of the change.
pub(super) fn equivalent_sentence(explained: &Equivalent, over: &str) -> String {
    let mut parts = vec![format!("{}{over}", signed_percent(explained.change_fraction))];
    if let Some(spacing_m) = explained.spacing_m {
        let way = if spacing_m > 0.0 { "farther apart" } else { "nearer together" };
        parts.push(format!("coils slipped {} {way}", display(spacing_m.abs(), Dimension::Length, 2)));
    }
    if let Some(turns) = explained.turns.filter(|turns| *turns < 0.0) {
        parts.push(match explained.turns_range.map(|range| range.map(|turns| format!("{:.1}", -turns))) {
            Some([fewest, most]) if fewest != most => {
                format!("{fewest} to {most} turns of one coil shorted, by where in the winding they lie")
            }
            _ => format!("{:.1} turns of one coil shorted", -turns),
        });
    }
    let meter = percent(explained.change_fraction.abs());
    let [field, current] = if explained.change_fraction < 0.0 { ["less", "more"] } else { ["more", "less"] };
    parts.push(format!(
        "a field meter that shows {meter} {field}, or an ammeter that shows {meter} {current}"
    ));
    parts.join("; ")
}
