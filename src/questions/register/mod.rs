//! The register of a pair: every calibration, the events between them, the drift of the slope, and the calibration in
//! force.
//!
//! [`files::register`](crate::files::register) handles the file, and [`Statement`] is the content of an entry.
//! [`overview`] makes the record that text, JSON, table and picture are drawn from. [`in_force`] gives the line that a
//! lesson uses.

mod before_and_after;
mod checks;
pub mod control;
mod due;
#[cfg(feature = "paper")]
mod entering;
#[cfg(feature = "paper")]
pub mod files;
mod history;
mod in_force;
#[cfg(feature = "paper")]
pub mod picture;
mod places;
pub mod rate;
mod reason;
mod record;
mod reservation;
mod rules;
mod statement;
mod step;
mod unshared;
#[cfg(feature = "paper")]
pub mod words;

pub use before_and_after::name_as_found;
pub use checks::{AgainstLine, FailedCheck};
#[cfg(feature = "paper")]
pub use entering::{Entering, entered_already, statement_of};
pub use history::{Entered, History, Standing, StandingReason, State};
pub use in_force::{InForce, against_line_in_force, in_force};
pub use places::{PlaceContradiction, Stated, place_contradictions};
pub use reason::{Against, EndedLater, NotInForce, Reason};
pub use record::{
    CalibrationRow, ChartPart, CheckRow, Due, DueBy, Expected, Neighbours, Numbered, Overview, Renewed,
    Series,
};
pub use reservation::{Reservation, of_another_pair, of_another_room, reservations};
pub use rules::{
    TakenOver, calibration_entry, check_entry, computed_before, measured_before, same_values_before,
    take_over_measurement, withdrawn_before_it_was,
};
pub use statement::{
    CalibrationEntry, Changes, CheckEntry, DriftRule, Event, EventKind, Interval, RuleEntry, Statement,
    Withdrawal,
};
use step::hidden_step;
pub use step::{Step, hidden_by, step};

use crate::Result;
use crate::files::register::{Chain, Digest};
use crate::numeric::calendar::Day;
use crate::pair::Bench;
use crate::physics::build_error::field_constant_tesla_per_ampere;
use crate::physics::field::Assembly;
use crate::physics::one_turn::turn_range_tesla_per_ampere;
use crate::physics::slope::AdoptedFrom;
use crate::physics::slope::Slope;
use crate::questions::calibrate::Condition;
use crate::questions::calibrate::drift::{Side, drift};
use crate::{Error, units};
use checks::{failed_since, last_of_field};
use rate::{DriftRate, Equivalent};
use unshared::{left_out, renewed_in, times_renewed, unshared_standard_uncertainty};

/// What is asked of a register.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The day for which states are given. By default that of the last entry.
    pub on: Option<Day>,
    /// A digest that must be in the register, or its first sixteen digits or more.
    pub expected: Option<String>,
}

/// The overview of a register, as far as the register is sound.
///
/// # Errors
/// A sound entry holds something that this version cannot read, or the digest looked for is not a digest.
pub fn overview(chain: &Chain, request: &Request) -> Result<Overview> {
    let history = History::of(chain)?;
    let expected = request.expected.as_deref().map(|digest| expected(chain, digest)).transpose()?;
    let on = request.on.or_else(|| history.last_day());
    let known = on.map_or_else(|| history.clone(), |on| history.as_of(on));
    let standings = on.map_or(Vec::new(), |on| {
        history.standings(on, |entered| due_of(&known, entered).map(|due| due.date))
    });
    let entries: Vec<CalibrationRow> = history
        .calibrations
        .iter()
        .zip(&standings)
        .map(|(entered, standing)| row(&history, &known, entered, standing))
        .collect();
    let series: Vec<Series> = known.series().iter().map(|series| series_record(&known, series)).collect();
    let drift = series.last().and_then(|series| series.drift);
    let latest = history.calibrations.last();
    let (withdrawn_events, events): (Vec<_>, Vec<_>) =
        history.all_events().into_iter().partition(|event| known.withdrawal_of(event.number).is_some());
    let current = history
        .calibrations
        .iter()
        .zip(&standings)
        .find(|(_, standing)| standing.state == State::InForce)
        .map(|(entered, _)| entered);
    let failed = current.and_then(|entered| failed_since(&known, entered));
    let off = current.and_then(|entered| last_of_field(&known, entered));
    let off = off.filter(|(_, against)| !against.agrees());
    // An expired line has passed the day on which the next was due, and that day is told.
    let is_overdue = standings.iter().any(|standing| matches!(standing.cause, StandingReason::Due(_)));
    let last_that_counts = known.calibrations.iter().rfind(|entered| known.counts(entered));
    Ok(Overview {
        sound: chain.is_sound(),
        end: chain.end,
        title: latest.map(|entered| entered.said.line.provenance.spec_title.clone()),
        serial: latest.and_then(|entered| entered.said.serial.clone()),
        last_digest: chain.last_digest(),
        expected,
        on,
        in_force: current.map(|entered| entered.number),
        intercept_ended_by: current
            .zip(on)
            .and_then(|(entered, on)| known.intercept_ended_by(entered, on))
            .map(|event| event.number),
        drift_per_year_fraction: drift.map(|drift| drift.per_year_fraction),
        drift_standard_uncertainty_per_year_fraction: drift
            .map(|drift| drift.standard_uncertainty_per_year_fraction),
        rule: known.rule().cloned(),
        uncertainty_above_allowed_error_fraction: current
            .zip(known.rule().and_then(|rule| rule.drift))
            .and_then(|(entered, drift)| drift.is_below(&entered.said.line.slope)),
        next_due: match (current, on.filter(|_| !is_overdue && !standings.is_empty())) {
            (None, Some(date)) => Some(Due { date, by: DueBy::NoLineInForce }),
            _ => current.or(last_that_counts).and_then(|entered| due_of(&known, entered)),
        },
        neighbours: neighbours(&known),
        series,
        entries,
        events: numbered(&events),
        withdrawn_events: numbered(&withdrawn_events),
        place_contradictions: places::all(&known),
        withdrawals: numbered(&history.withdrawals),
        checks: checks(&history, &known),
        step: current.and_then(|entered| hidden_step(&known, entered)),
        failed_check: failed.map(|check| check.entry),
        failed_check_against_line: failed.and_then(|check| check.line),
        check_off_line: off.map(|(check, _)| check.number),
        off_line: off.map(|(_, against)| against),
    })
}

/// The quick checks that `known` does not hold withdrawn, each against the line that held on its day.
fn checks(history: &History, known: &History) -> Vec<CheckRow> {
    let row = |check: &Entered<CheckEntry>| {
        let known = history.when_entered(check.number, check.said.date);
        let standings =
            known.standings(check.said.date, |entered| due_of(&known, entered).map(|due| due.date));
        let mut held = known.calibrations.iter().zip(&standings);
        let line = held.find(|(_, standing)| standing.state == State::InForce).map(|(entered, _)| entered);
        CheckRow {
            number: check.number,
            said: check.said.clone(),
            against: line.map(|line| line.number),
            against_line: line.and_then(|line| AgainstLine::of(&known, &check.said, line)),
        }
    };
    let all = history.all_checks();
    all.iter().filter(|check| known.withdrawal_of(check.number).is_none()).map(row).collect()
}

fn numbered<T: Clone>(entered: &[Entered<T>]) -> Vec<Numbered<T>> {
    entered.iter().map(|entered| Numbered { number: entered.number, said: entered.said.clone() }).collect()
}

/// Fewest hex digits with which a digest can be looked for.
const FEWEST_DIGITS: usize = 16;

/// Looks for an entry by its digest, or the first digits of it.
///
/// # Errors
/// The digest looked for is not a digest.
pub fn expected(chain: &Chain, digest: &str) -> Result<Expected> {
    let given = digest.trim().to_ascii_lowercase();
    let is_digest = (FEWEST_DIGITS..=Digest::LENGTH).contains(&given.len())
        && given.bytes().all(|byte| byte.is_ascii_hexdigit());
    if !is_digest {
        return Err(Error::value_with_hint(
            format!("`{}` is no digest", units::shortened(digest)),
            "copy all 64 hex digits from the certificate, or the first 16 at least",
        ));
    }
    let number = chain.entry_of(&given).map(|entry| entry.number);
    Ok(Expected { digest: given, number })
}

fn row(
    history: &History,
    known: &History,
    entered: &Entered<CalibrationEntry>,
    standing: &Standing,
) -> CalibrationRow {
    let CalibrationEntry { date, measured, by, certificate, replaces, because, condition, line, .. } =
        &entered.said;
    let fitted = entered.said.line.fitted_slope();
    CalibrationRow {
        number: entered.number,
        date: *date,
        measured: *measured,
        by: by.clone(),
        certificate: certificate.clone(),
        replaces: replaces.clone(),
        because: because.clone(),
        condition: *condition,
        adopted_from: line.slope.from,
        in_dispute: entered.said.in_dispute,
        slope_tesla_per_ampere: line.slope.tesla_per_ampere,
        slope_expanded_uncertainty_tesla_per_ampere: line.slope.expanded_uncertainty(),
        coverage_factor: line.slope.uncertainty.map(|uncertainty| uncertainty.coverage_factor),
        slope_unshared_standard_uncertainty_tesla_per_ampere: unshared_standard_uncertainty(&line.slope),
        fitted_slope_tesla_per_ampere: fitted.as_ref().map(|slope| slope.tesla_per_ampere),
        fitted_slope_unshared_standard_uncertainty_tesla_per_ampere: fitted
            .as_ref()
            .map(unshared_standard_uncertainty),
        intercept_tesla: line.intercept_tesla,
        intercept_standard_uncertainty_tesla: line.intercept_standard_uncertainty_tesla,
        state: standing.state,
        reason: Reason::of(history, &standing.cause),
        replaced_by: known.replacement_of(entered),
        ended_later: EndedLater::of(history, known, entered),
        digest: entered.digest,
    }
}

fn series_record(history: &History, series: &[&Entered<CalibrationEntry>]) -> Series {
    let fitted: Vec<(usize, Slope)> = series
        .iter()
        .enumerate()
        .filter_map(|(place, entered)| Some((place, entered.said.line.fitted_slope()?)))
        .collect();
    let values: Vec<f64> = fitted.iter().map(|(_, slope)| slope.tesla_per_ampere).collect();
    let counted: Vec<_> = history.calibrations.iter().filter(|entered| history.counts(entered)).collect();
    let first = counted.iter().position(|entered| entered.number == series[0].number);
    let before = first.and_then(|first| first.checked_sub(1)).map(|before| counted[before]);
    let renewed = renewed_in(before.map_or(&[], |before| &before.said.line.instruments), series);
    // A value that is left out is charted and judged, but does not enter the centre line.
    let left_out = left_out(series);
    let own: Vec<f64> = fitted.iter().map(|(_, slope)| unshared_standard_uncertainty(slope)).collect();
    let unshared: Vec<f64> = fitted
        .iter()
        .zip(&own)
        .map(|((place, _), own)| if left_out[*place] { f64::INFINITY } else { *own })
        .collect();
    let times = times_renewed(&renewed);
    let parts = parts(&values, &unshared, &fitted.iter().map(|(place, _)| times[*place]).collect::<Vec<_>>());
    let values = as_by_the_last_meters(values, &parts);
    let limits = control::limits(&values, &unshared);
    let drift = DriftRate::of(series);
    let opening: Vec<u64> = before
        .map_or(Vec::new(), |before| history.between(before, series[0]).map(|event| event.number).collect());
    let without_fit = series.iter().filter(|entered| entered.said.line.fitted_slope().is_none());
    let signs = limits.as_ref().map_or(Vec::new(), |limits| control::signs(&values, &own, limits));
    Series {
        numbers: series.iter().map(|entered| entered.number).collect(),
        renewed: series
            .iter()
            .zip(renewed)
            .filter(|(_, meters)| !meters.is_empty())
            .map(|(entered, meters)| Renewed {
                number: entered.number,
                instruments: meters.iter().map(|meter| meter.name.clone()).collect(),
                meters,
            })
            .collect(),
        centres: match parts.len() {
            0 | 1 => Vec::new(),
            _ => parts
                .iter()
                .map(|part| ChartPart {
                    numbers: [part.places.start, part.places.end - 1].map(|at| series[fitted[at].0].number),
                    centre_tesla_per_ampere: part.centre,
                })
                .collect(),
        },
        left_out: series
            .iter()
            .zip(&left_out)
            .filter(|(_, left_out)| **left_out)
            .map(|(entered, _)| entered.number)
            .collect(),
        without_fit: without_fit.map(|entered| entered.number).collect(),
        opened_by: opening.last().copied(),
        opening_events: opening,
        signs: signs.into_iter().map(|sign| sign.moved(|place| fitted[place].0)).collect(),
        limits,
        explained_by: drift.as_ref().and_then(|drift| Equivalent::of(drift, series)),
        drift,
    }
}

/// Values by the same meters, and their centre line.
struct Part {
    places: std::ops::Range<usize>,
    centre: f64,
}

/// The values of a series, cut where a meter was renewed. `times` gives, for each value, how often each meter was
/// renewed up to it.
fn parts(values: &[f64], unshared: &[f64], times: &[[usize; 2]]) -> Vec<Part> {
    let usual = control::usual(unshared).unwrap_or(0.0);
    let mut parts = Vec::new();
    let mut start = 0;
    for end in 1..=values.len() {
        if end == values.len() || times[end] != times[start] {
            let places = start..end;
            let centre = control::centre(&values[places.clone()], &unshared[places.clone()], usual);
            parts.push(Part { places, centre });
            start = end;
        }
    }
    parts
}

/// The values, shifted by the distances between the centre lines of the parts.
fn as_by_the_last_meters(values: Vec<f64>, parts: &[Part]) -> Vec<f64> {
    let [.., last] = parts else { return values };
    if parts.len() == 1 {
        return values;
    }
    let moved = |part: &Part| {
        let by = last.centre - part.centre;
        values[part.places.clone()].iter().map(move |value| value + by).collect::<Vec<_>>()
    };
    parts.iter().flat_map(moved).collect()
}

/// Each calibration with a fitted slope against the one before it.
fn neighbours(history: &History) -> Vec<Neighbours> {
    let counted = history.calibrations.iter().filter(|entered| history.counts(entered));
    let fitted: Vec<(&Entered<CalibrationEntry>, Slope)> =
        counted.filter_map(|entered| Some((entered, entered.said.line.fitted_slope()?))).collect();
    let pairs = fitted.windows(2).map(|pair| {
        let [(older, older_slope), (newer, newer_slope)] = [&pair[0], &pair[1]];
        let drift = drift(&Side::of(&older.said.line, older_slope), &Side::of(&newer.said.line, newer_slope));
        let same_meters =
            drift.normalised_difference_same_meters.filter(|_| !history.other_meter_between(older, newer));
        let differs = same_meters.or(drift.normalised_difference).is_some_and(|found| found.abs() > 1.0);
        let changes = older.said.changes.or(newer.said.changes);
        let explained =
            || Equivalent::of_change(drift.relative_change, older_slope.tesla_per_ampere, changes);
        Neighbours {
            older: older.number,
            newer: newer.number,
            relative_change: drift.relative_change,
            normalised_difference: drift.normalised_difference,
            normalised_difference_same_meters: same_meters,
            explained_by: differs.then(explained),
            adjusted: newer.said.condition == Condition::Left,
            event: history.between(older, newer).next_back().map(|event| event.number),
            events: history.between(older, newer).map(|event| event.number).collect(),
            instruments_renewed: drift.instruments_renewed,
            meters: drift.meters_renewed,
        }
    });
    pairs.collect()
}

/// The day on which the calibration after this one is due, by the owner's rule and the drift up to it. `None` for a computed
/// line after measured calibrations of which none counts any more.
fn due_of(history: &History, entered: &Entered<CalibrationEntry>) -> Option<Due> {
    let rule = history.rule()?;
    let series = history.series();
    let own = series.iter().find(|series| series.iter().any(|one| one.number == entered.number));
    let drift = own.and_then(|series| {
        let until: Vec<_> =
            series.iter().copied().filter(|one| one.said.day() <= entered.said.day()).collect();
        DriftRate::of(&until)
    });
    // A computed line measures nothing, so the time counts from the last calibration that did.
    let is_measured = |one: &&Entered<CalibrationEntry>| {
        one.said.readings_sha256.is_some() && one.said.day() <= entered.said.day() && history.counts(one)
    };
    let measured = history.calibrations.iter().rev().find(is_measured);
    let was_measured = history
        .calibrations
        .iter()
        .any(|one| one.said.readings_sha256.is_some() && one.said.day() <= entered.said.day());
    let from = match (&entered.said.readings_sha256, measured) {
        (None, Some(measured)) => measured,
        (None, None) if was_measured => return None,
        _ => entered,
    };
    let unfollowed = own.map_or(0.0, |series| unfollowed_years(series, entered));
    let expanded = entered.said.line.slope.relative_expanded_uncertainty();
    due::due(rule, from.said.day(), drift.as_ref(), unfollowed, expanded)
}

/// Years of drift that the line of a calibration does not contain because it rests on the geometry: those since the
/// first calibration of its series, as far as its slope did not follow the readings. Zero for a line fitted to
/// readings.
fn unfollowed_years(series: &[&Entered<CalibrationEntry>], entered: &Entered<CalibrationEntry>) -> f64 {
    let line = |entered: &Entered<CalibrationEntry>| {
        let line = &entered.said.line;
        Some((line.slope.tesla_per_ampere, line.fitted_slope()?.tesla_per_ampere))
    };
    let first = series.iter().find_map(|one| Some((one.said.day(), line(one)?)));
    let Some(((day, (before, fitted_before)), (now, fitted_now))) = first.zip(line(entered)) else {
        return 0.0;
    };
    if entered.said.line.slope.from == AdoptedFrom::Fit {
        return 0.0;
    }
    let followed = (now - before) / (fitted_now - fitted_before);
    let open = if followed.is_finite() { (1.0 - followed).clamp(0.0, 1.0) } else { 0.0 };
    open * entered.said.day().years_since(day).max(0.0)
}

/// The day on which the calibration after a new one is due, and the owner's rule. `None` if the owner has none.
pub fn next_due(history: &History, number: u64, entry: &CalibrationEntry) -> Option<(Due, RuleEntry)> {
    let (history, entered) = history.with(number, entry);
    Some((due_of(&history, &entered)?, history.rule()?.clone()))
}

/// The changes of a pair's slope with the spacing, and with one turn more.
pub fn changes(bench: &Bench) -> Changes {
    const STEP_M: f64 = 1e-4;
    let slope = |bench: &Bench| field_constant_tesla_per_ampere(&Assembly::of(bench));
    let apart = |by_m: f64| {
        let mut moved = bench.clone();
        moved.spacing_m += by_m;
        slope(&moved)
    };
    let mut wound = bench.clone();
    let mut coils = bench.coils();
    coils[0].turns += 1.0;
    wound.as_built = Some(coils);
    wound.model = crate::pair::Model::AsBuilt;
    let mut changes =
        Changes::new((apart(STEP_M) - apart(-STEP_M)) / (2.0 * STEP_M), slope(&wound) - slope(bench));
    changes.turn_range_tesla_per_ampere =
        Some(turn_range_tesla_per_ampere(bench, changes.turn_tesla_per_ampere));
    changes
}

/// Refuses an entry for another pair than the register's.
///
/// # Errors
/// The serial numbers differ. If either has none, the titles differ.
pub fn check_same_pair(history: &History, title: &str, serial: Option<&str>) -> Result<()> {
    let Some(last) = history.calibrations.last() else { return Ok(()) };
    let of_register = &last.said.line.provenance.spec_title;
    let differ = match (last.said.serial.as_deref(), serial) {
        (Some(before), Some(now)) if before != now => {
            Some((format!("serial {before}"), format!("serial {now}")))
        }
        (Some(_), Some(_)) => None,
        _ => (of_register != title).then(|| (format!("\"{of_register}\""), format!("\"{title}\""))),
    };
    match differ {
        None => Ok(()),
        Some((before, now)) => Err(Error::value_with_hint(
            format!("the register is that of {before}, and the spec that of {now}"),
            "one register a pair: name another file; a pair under a new title is told by the same `serial` in its spec",
        )),
    }
}

impl EventKind {
    /// In words.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Moved => "the bench was moved",
            Self::Turned => "the bench was turned",
            Self::Repaired => "a coil was repaired",
            Self::Rewound => "a coil was rewound",
            Self::Adjusted => "the coils were adjusted",
            Self::Meter => "another meter is used",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::control::Sign;
    use super::*;
    use crate::numeric::random::SampleGenerator;
    use crate::pair::FieldMeter;
    use crate::physics::slope::AdoptedFrom;
    use crate::questions::calibrate::tests::bench;
    use crate::questions::calibrate::{Reading, Readings, calibrate, kept_line};
    use rayon::prelude::*;

    const SCATTER_TESLA: f64 = 3e-6;
    const PROBE_LIMIT: f64 = 0.01;

    fn measured() -> Bench {
        let mut bench = bench();
        bench.field_meter = Some(FieldMeter { accuracy_of_reading: Some(PROBE_LIMIT), zero_tesla: None });
        bench
    }

    /// Yearly calibrations of one pair with one probe, whose gain is off within its limit. The coils are warmer or
    /// colder than assumed by up to 40 K, at 0.4 × 17e-6/K. `adopt` holds the lines adopted, in turn.
    fn yearly(bench: &Bench, years: usize, per_year: f64, adopt: &[AdoptedFrom], case: u64) -> History {
        let mut random = SampleGenerator::new(1612, case);
        let k = field_constant_tesla_per_ampere(&Assembly::of(bench));
        let gain = 1.0 + random.rectangular(PROBE_LIMIT);
        let mut history = History::default();
        for year in 0..years {
            let warm = 1.0 + 0.4 * 17e-6 * random.rectangular(40.0);
            let slope = k * gain * warm * (1.0 + per_year * year as f64);
            let reading = |current_ampere: f64| {
                let field_tesla = slope * current_ampere + 2e-5 + random.normal(SCATTER_TESLA);
                Reading {
                    field_uncertainty_tesla: Some(SCATTER_TESLA),
                    ..Reading::new(current_ampere, field_tesla).unwrap()
                }
            };
            let readings = [-2.4, -1.2, 1.2, 2.4].into_iter().map(reading).collect();
            let request = crate::questions::calibrate::Request {
                readings: Some(Readings::new(readings).unwrap()),
                adopt: Some(adopt[year % adopt.len()]),
                ..Default::default()
            };
            let line = kept_line(&calibrate(bench, &request).unwrap()).unwrap();
            let day = Day::parse(&format!("{}-03-01", 2016 + year)).unwrap();
            let entry = CalibrationEntry::new(day, line);
            history.calibrations.push(Entered { number: year as u64 + 1, digest: Digest::NONE, said: entry });
        }
        history
    }

    fn drift_of(history: &History) -> DriftRate {
        DriftRate::of(&history.series()[0]).unwrap()
    }

    #[test]
    fn a_meter_calibrated_anew_puts_no_steady_pair_beyond_its_limits() {
        // Values of 1 ± 0.001, and from the seventh on the meter shows 1 % more. Then a calibration of few readings
        // among good ones.
        let accused = |gain: f64, renewed: bool, poor: f64| {
            let of_one = |case: u64| {
                let mut random = SampleGenerator::new(41, case);
                let own: Vec<f64> = (0..12).map(|i| if i == 4 { poor } else { 1e-3 }).collect();
                let values: Vec<f64> =
                    (0..12).map(|i| 1.0 + random.normal(own[i]) + if i >= 6 { gain } else { 0.0 }).collect();
                let times: Vec<[usize; 2]> = (0..12).map(|i| [usize::from(renewed && i >= 6), 0]).collect();
                let parts = parts(&values, &own, &times);
                let values = as_by_the_last_meters(values, &parts);
                let limits = control::limits(&values, &own).unwrap();
                let signs = control::signs(&values, &own, &limits);
                let is_clear = |sign: &Sign| matches!(sign, Sign::BeyondAction(_) | Sign::MovingRange(_));
                u64::from(signs.iter().any(is_clear))
            };
            (0..400).map(of_one).sum::<u64>()
        };
        let steady = accused(0.0, false, 1e-3);
        assert!(steady <= 60, "{steady} of 400");
        assert!(accused(1e-2, true, 1e-3) <= 60, "{}", accused(1e-2, true, 1e-3));
        assert!(accused(1e-2, false, 1e-3) >= 360, "{}", accused(1e-2, false, 1e-3));
        assert!(accused(0.0, false, 8e-3) <= 60, "{}", accused(0.0, false, 8e-3));
    }

    #[test]
    fn a_steady_pair_claims_no_drift_whatever_lines_are_mixed() {
        const CASES: u64 = 200;
        let bench = measured();
        let mixed = [AdoptedFrom::Computed, AdoptedFrom::Combined, AdoptedFrom::Fit];
        let histories: Vec<History> =
            (0..CASES).into_par_iter().map(|case| yearly(&bench, 5, 0.0, &mixed, case)).collect();
        let claims = histories.iter().filter(|history| drift_of(history).is_significant()).count();
        let pairs: Vec<f64> = histories
            .iter()
            .flat_map(neighbours)
            .map(|pair| pair.normalised_difference_same_meters.unwrap().abs())
            .collect();
        let apart = pairs.iter().filter(|difference| **difference > 1.0).count();
        println!("a drift in {claims} of {CASES}, neighbours differ in {apart} of {}", pairs.len());
        // 5 %, and three standard errors: 4.6 % of 200, 2.3 % of 800.
        assert!(claims as f64 <= 0.096 * CASES as f64, "{claims}");
        assert!(apart as f64 <= 0.073 * pairs.len() as f64, "{apart}");
    }

    #[test]
    fn a_line_of_unknown_uncertainty_is_not_taken_as_exact() {
        let mut history = yearly(&measured(), 2, 0.0, &[AdoptedFrom::Fit], 1);
        let day = |text: &str| Day::parse(text).unwrap();
        let mut check = CheckEntry::new(day("2017-06-01"), None, "pass", "0123456789ab");
        check.field_tesla_per_ampere = Some(1.05 * history.calibrations[1].said.line.slope.tesla_per_ampere);
        check.field_standard_uncertainty_tesla_per_ampere = Some(1e-6);
        history.checks.push(Entered { number: 3, digest: Digest::NONE, said: check.clone() });
        assert!(matches!(against_line_in_force(&history, &check), Some((2, Some(line))) if !line.agrees()));
        let last = history.calibrations[1].clone();
        assert_eq!(super::checks::last_of_field(&history, &last).map(|(check, _)| check.number), Some(3));
        assert!(neighbours(&history)[0].normalised_difference.is_some());

        history.calibrations[1].said.line.slope.uncertainty = None;
        history.calibrations[1].said.line.slope.budget.clear();
        let last = history.calibrations[1].clone();
        assert_eq!(against_line_in_force(&history, &check), Some((2, None)));
        assert!(super::checks::last_of_field(&history, &last).is_none());
        let told = checks(&history, &history);
        assert_eq!((told[0].against, told[0].against_line), (Some(2), None));
        let change = &neighbours(&history)[0];
        let both = (change.normalised_difference, change.normalised_difference_same_meters);
        assert_eq!((both, &change.explained_by), ((None, None), &None));
        history.calibrations[1].said.line.slope.tesla_per_ampere *= 1.1;
        let mut earlier = history.clone();
        earlier.calibrations.pop();
        assert!(step(&earlier, &history.calibrations[1].said).is_none());
        let standings = history.standings(day("2017-06-01"), |_| None);
        let row = row(&history, &history, &last, &standings[1]);
        assert_eq!((row.slope_expanded_uncertainty_tesla_per_ampere, row.coverage_factor), (None, None));
    }

    #[test]
    fn a_combined_line_of_an_older_program_takes_no_part() {
        let mut history = yearly(&measured(), 3, 0.0, &[AdoptedFrom::Combined], 1);
        history.calibrations.iter_mut().for_each(|entered| entered.said.line.fitted = None);
        let series = history.series();
        let record = series_record(&history, &series[0]);
        assert_eq!(record.without_fit, [1, 2, 3]);
        assert!(record.drift.is_none() && record.limits.is_none() && record.signs.is_empty());
        assert!(neighbours(&history).is_empty());
    }

    #[test]
    fn a_drift_is_found_within_its_uncertainty_where_combined_lines_were_adopted() {
        const CASES: u64 = 40;
        const PER_YEAR: f64 = -3e-3;
        let bench = measured();
        let found = (0..CASES).into_par_iter().filter(|case| {
            let drift = drift_of(&yearly(&bench, 10, PER_YEAR, &[AdoptedFrom::Combined], 1000 + case));
            // The fraction counts from the mean, 4.5 years after the first.
            let off = drift.per_year_fraction - PER_YEAR / (1.0 + 4.5 * PER_YEAR);
            drift.is_significant() && off.abs() < 2.0 * drift.standard_uncertainty_per_year_fraction
        });
        // 95.5 % of 40, less three standard errors.
        let found = found.count();
        println!("{found} of {CASES}");
        assert!(found >= 34, "{found}");
    }
}
