//! The register of a pair: every calibration, what happened between, how the slope drifts, which calibration is in force.
//!
//! The file is [`files::register`](crate::files::register)'s; what its entries say is [`Statement`]'s. [`overview`] makes the
//! record that text, JSON, table and picture are drawn from; [`in_force`] answers which line a lesson uses.

pub mod control;
mod due;
#[cfg(feature = "paper")]
pub mod files;
mod history;
mod in_force;
#[cfg(feature = "paper")]
pub mod picture;
pub mod rate;
mod record;
mod rules;
mod statement;
mod unshared;
#[cfg(feature = "paper")]
pub mod words;

pub use history::{Cause, Entered, History, Standing, State};
pub use in_force::{InForce, in_force};
pub use record::{CalibrationRow, Due, DueBy, Expected, Neighbours, Numbered, Overview, Series};
pub use rules::{calibration_entry, check_entry};
pub use statement::{
    CalibrationEntry, Changes, CheckEntry, DriftRule, Event, EventKind, Interval, RuleEntry, Statement,
    Withdrawal,
};

use crate::Result;
use crate::files::register::{Chain, Digest};
use crate::numeric::calendar::Day;
use crate::pair::Bench;
use crate::physics::build_error::field_constant_tesla_per_ampere;
use crate::physics::field::Assembly;
use crate::physics::one_turn::turn_range_tesla_per_ampere;
use crate::questions::calibrate::drift::drift;
use crate::{Error, units};
use rate::{DriftRate, Equivalent};
use unshared::unshared_standard_uncertainty;

/// What is asked of a register.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The day to tell states for; by default that of the last entry.
    pub on: Option<Day>,
    /// A digest that must be in it, or its first sixteen digits or more.
    pub expected: Option<String>,
}

/// Everything about a register, as far as it is sound.
///
/// # Errors
/// A sound entry says what this version cannot read; the digest looked for is none.
pub fn overview(chain: &Chain, request: &Request) -> Result<Overview> {
    let history = History::of(chain)?;
    let expected = request.expected.as_deref().map(|digest| expected(chain, digest)).transpose()?;
    let on = request.on.or_else(|| history.last_day());
    let standings = on.map_or(Vec::new(), |on| {
        history.standings(on, |entered| due_of(&history, entered).map(|due| due.date))
    });
    let entries: Vec<CalibrationRow> = history
        .calibrations
        .iter()
        .zip(&standings)
        .map(|(entered, standing)| row(&history, entered, standing))
        .collect();
    let series: Vec<Series> = history.series().iter().map(|series| series_record(&history, series)).collect();
    let drift = series.last().and_then(|series| series.drift);
    let latest = history.calibrations.last();
    let current = history
        .calibrations
        .iter()
        .zip(&standings)
        .find(|(_, standing)| standing.state == State::InForce)
        .map(|(entered, _)| entered);
    let last_that_counts = history.calibrations.iter().rfind(|entered| history.counts(entered));
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
            .and_then(|(entered, on)| history.intercept_ended_by(entered, on))
            .map(|event| event.number),
        drift_per_year_fraction: drift.map(|drift| drift.per_year_fraction),
        drift_standard_uncertainty_per_year_fraction: drift
            .map(|drift| drift.standard_uncertainty_per_year_fraction),
        rule: history.rule().cloned(),
        next_due: current.or(last_that_counts).and_then(|entered| due_of(&history, entered)),
        neighbours: neighbours(&history),
        series,
        entries,
        events: numbered(&history.events),
        withdrawals: numbered(&history.withdrawals),
        checks: numbered(&history.checks),
    })
}

fn numbered<T: Clone>(entered: &[Entered<T>]) -> Vec<Numbered<T>> {
    entered.iter().map(|entered| Numbered { number: entered.number, said: entered.said.clone() }).collect()
}

/// Fewest hex digits of a digest that are looked for.
const FEWEST_DIGITS: usize = 16;

fn expected(chain: &Chain, digest: &str) -> Result<Expected> {
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

fn row(history: &History, entered: &Entered<CalibrationEntry>, standing: &Standing) -> CalibrationRow {
    let CalibrationEntry { date, measured, by, certificate, condition, line, .. } = &entered.said;
    CalibrationRow {
        number: entered.number,
        date: *date,
        measured: *measured,
        by: by.clone(),
        certificate: certificate.clone(),
        condition: *condition,
        adopted_from: line.slope.from,
        slope_tesla_per_ampere: line.slope.tesla_per_ampere,
        slope_expanded_uncertainty_tesla_per_ampere: line.slope.expanded_uncertainty_tesla_per_ampere,
        coverage_factor: line.slope.coverage_factor,
        slope_unshared_standard_uncertainty_tesla_per_ampere: unshared_standard_uncertainty(line),
        intercept_tesla: line.intercept_tesla,
        intercept_standard_uncertainty_tesla: line.intercept_standard_uncertainty_tesla,
        state: standing.state,
        reason: reason(history, &standing.cause),
        digest: entered.digest,
    }
}

/// Why a calibration has its state, in words; `None` where nothing speaks against it.
fn reason(history: &History, cause: &Cause) -> Option<String> {
    Some(match *cause {
        Cause::Latest | Cause::Day => return None,
        Cause::Later(number) => format!("entry {number} is later"),
        Cause::Reissued(number) => format!("its certificate is replaced by that of entry {number}"),
        Cause::Due(day) => format!("the next calibration was due on {day}"),
        Cause::Withdrawn(number) => {
            let withdrawal = history.withdrawals.iter().find(|entered| entered.number == number)?;
            format!("{} ({})", withdrawal.said.reason, withdrawal.said.by)
        }
        Cause::Changed(number) => {
            let event = history.events.iter().find(|entered| entered.number == number)?;
            let what = event.said.event.sentence();
            match &event.said.note {
                Some(note) => format!("{what} (entry {number}: {note})"),
                None => format!("{what} (entry {number})"),
            }
        }
    })
}

fn series_record(history: &History, series: &[&Entered<CalibrationEntry>]) -> Series {
    let values: Vec<f64> = series.iter().map(|entered| entered.said.line.slope.tesla_per_ampere).collect();
    let unshared: Vec<f64> =
        series.iter().map(|entered| unshared_standard_uncertainty(&entered.said.line)).collect();
    let limits = control::limits(&values, &unshared);
    let drift = DriftRate::of(series);
    let counted: Vec<_> = history.calibrations.iter().filter(|entered| history.counts(entered)).collect();
    let first = counted.iter().position(|entered| entered.number == series[0].number);
    let before = first.and_then(|first| first.checked_sub(1)).map(|before| counted[before]);
    let opened_by = before.and_then(|before| history.between(before, series[0])).map(|event| event.number);
    Series {
        numbers: series.iter().map(|entered| entered.number).collect(),
        opened_by,
        signs: limits.as_ref().map_or(Vec::new(), |limits| control::signs(&values, limits)),
        limits,
        explained_by: drift.as_ref().and_then(|drift| Equivalent::of(drift, &series[series.len() - 1].said)),
        drift,
    }
}

fn neighbours(history: &History) -> Vec<Neighbours> {
    let counted: Vec<&Entered<CalibrationEntry>> =
        history.calibrations.iter().filter(|entered| history.counts(entered)).collect();
    let pairs = counted.windows(2).map(|pair| {
        let [older, newer] = [pair[0], pair[1]];
        let drift = drift(&older.said.line, &newer.said.line.slope, &newer.said.line.provenance);
        Neighbours {
            older: older.number,
            newer: newer.number,
            relative_change: drift.relative_change,
            normalised_difference: drift.normalised_difference,
            normalised_difference_same_meters: drift
                .normalised_difference_same_meters
                .filter(|_| !history.other_meter_between(older, newer)),
            event: history.between(older, newer).map(|event| event.number),
        }
    });
    pairs.collect()
}

/// When the calibration after this one is due, by the owner's rule and the drift up to it.
fn due_of(history: &History, entered: &Entered<CalibrationEntry>) -> Option<Due> {
    let rule = history.rule()?;
    let series = history.series();
    let own = series.iter().find(|series| series.iter().any(|one| one.number == entered.number));
    let drift = own.and_then(|series| {
        let until: Vec<_> =
            series.iter().copied().filter(|one| one.said.day() <= entered.said.day()).collect();
        DriftRate::of(&until)
    });
    due::due(rule, entered.said.day(), drift.as_ref())
}

/// When the calibration after a new one is due, and the owner's rule; `None` where the owner has none.
pub fn next_due(history: &History, number: u64, entry: &CalibrationEntry) -> Option<(Due, RuleEntry)> {
    let mut history = history.clone();
    let entered = Entered { number, digest: Digest::NONE, said: entry.clone() };
    history.calibrations.push(entered.clone());
    history.calibrations.sort_by_key(|entered| (entered.said.day(), entered.number));
    Some((due_of(&history, &entered)?, history.rule()?.clone()))
}

/// What coils farther apart and one turn more do to a pair's slope.
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
/// The serial numbers differ; or the titles, where either has no serial number.
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
