//! A register as text for people.

mod checks;
mod control;
mod places;
mod reservations;
mod steps;

use super::{CalibrationRow, DueBy, Expected, Overview, Reason, RuleEntry};
use crate::files::register::{Damage, Digest, End};
use crate::numeric::calendar::Day;
use crate::numeric::coverage::COVERAGE_PROBABILITY;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::calibrate::words::sentences::factor;
use crate::questions::words::phrases::{e_n, percent, percent_of, signed_percent, with_expanded};
use crate::units::{rounded, unit};
use crate::{Error, units};
pub use checks::check_against_line;
pub(super) use control::moving_ranges;
use control::{chart, equivalent_sentence};
pub use places::place_warning;
pub use reservations::{Warning, origin, warning};
use steps::changed;
pub use steps::step_sentence;

/// Printed for a name that nobody gave.
const NOT_STATED: &str = "not stated";

/// The page for people.
pub fn text(record: &Overview) -> String {
    let title = record.title.as_deref().unwrap_or("a pair not yet calibrated");
    let serial = record.serial.as_ref().map_or(String::new(), |serial| format!("; serial {serial}"));
    let mut page =
        Page::new(&format!("Register: {title}"), &format!("last entry {}{serial}", record.last_digest));
    soundness(&mut page, record);
    calibrations(&mut page, record);
    in_force(&mut page, record);
    happenings(&mut page, record);
    places::places(&mut page, record);
    for (place, series) in record.series.iter().enumerate() {
        chart(&mut page, record, series, place);
    }
    neighbours(&mut page, record);
    checks::checks(&mut page, record);
    page.into_text()
}

/// The error for a damaged register, and for one without the digest looked for. It sets the exit status.
///
/// # Errors
/// It is damaged, or the digest looked for is not in it.
pub fn verdict(record: &Overview) -> crate::Result<()> {
    if let End::Damaged { line, damage } = record.end {
        return Err(Error::value_with_hint(
            format!("the register is sound up to line {}; line {line} {}", line - 1, damage_words(damage)),
            "nothing was changed; what is printed rests on the sound lines alone: compare with a copy, or with the digest on a \
             certificate (--expect)",
        ));
    }
    record.expected.as_ref().map_or(Ok(()), check_expected)
}

/// The error for a register without the digest looked for.
///
/// # Errors
/// It has no entry of that digest.
pub fn check_expected(expected: &Expected) -> crate::Result<()> {
    match expected.number {
        Some(_) => Ok(()),
        None => Err(Error::value_with_hint(
            format!("no entry of the register has the digest {}", units::shortened(&expected.digest)),
            "entries were cut off its end, or it was written anew, or the certificate belongs to another register",
        )),
    }
}

fn damage_words(damage: Damage) -> &'static str {
    match damage {
        Damage::NotAnEntry => "is not an entry of a register",
        Damage::Changed => "was changed after it was written",
        Damage::OutOfPlace => "does not follow the line before it",
        Damage::LineEnd => "does not end as it was written, as after a change of line ends",
    }
}

fn soundness(page: &mut Page, record: &Overview) {
    page.section("Is it sound?");
    let chain = match record.end {
        End::Sound => "sound: every entry has its digest and that of the entry before".to_owned(),
        End::WithoutLineEnd => {
            "sound; the last line lacks its line end, which the next entry will add".to_owned()
        }
        End::Torn { bytes } => format!(
            "not whole: the last {bytes} bytes are a torn line and no entry; the next entry moves them to a file of their own \
             (.torn)"
        ),
        End::Damaged { line, damage } => format!(
            "DAMAGED: line {line} {}. Only the lines before it are read, and nothing is added",
            damage_words(damage)
        ),
    };
    page.row("chain", &chain);
    if let Some(expected) = &record.expected {
        let found = match expected.number {
            Some(number) => format!("that of entry {number}: nothing up to it was changed or cut off"),
            None => "NOT FOUND: entries were cut off, or the register was written anew".into(),
        };
        page.row("digest looked for", &found);
    }
    if let Some(on) = record.on {
        page.row("states as of", &on.to_string());
    }
}

/// Adopted slope and U, fitted slope and the part of its standard uncertainty that calibrations do not share, in mT/A.
/// The fitted slope is printed to the digits of that part, which is the smallest change that means anything.
fn slopes(row: &CalibrationRow) -> [String; 4] {
    let milli = |si: f64| unit::MILLITESLA_PER_AMPERE.from_si(si);
    let known = row.slope_expanded_uncertainty_tesla_per_ampere.map(milli);
    let to_its_place = |slope: f64| rounded(slope, known.unwrap_or(0.0));
    let (value, expanded) = to_its_place(milli(row.slope_tesla_per_ampere));
    let expanded = if known.is_some() { expanded } else { "not known".into() };
    let fitted = row.fitted_slope_tesla_per_ampere.map(milli);
    let own = row.fitted_slope_unshared_standard_uncertainty_tesla_per_ampere.map(milli);
    match (fitted, own) {
        (Some(fitted), Some(own)) if own > 0.0 => {
            let (fitted, own) = rounded(fitted, own);
            [value, expanded, fitted, own]
        }
        (Some(fitted), _) => [value, expanded, to_its_place(fitted).0, "-".into()],
        (None, _) => [value, expanded, "-".into(), "-".into()],
    }
}

fn calibrations(page: &mut Page, record: &Overview) {
    page.section("Calibrations");
    if record.entries.is_empty() {
        page.paragraph("None yet.");
        return;
    }
    let issued_later = record.entries.iter().any(|row| row.day() != row.date);
    let mut rows: Vec<Vec<String>> = record
        .entries
        .iter()
        .map(|row| {
            let [value, expanded, fitted, own] = slopes(row);
            vec![
                row.number.to_string(),
                row.day().to_string(),
                if row.day() == row.date { "-".into() } else { row.date.to_string() },
                row.by.clone().unwrap_or_else(|| NOT_STATED.into()),
                if row.is_measured() { row.condition.word().into() } else { "-".into() },
                row.adopted_from.name().into(),
                value,
                expanded,
                fitted,
                own,
                format!("{}{}", row.state_words(), if row.in_dispute { ", disputed" } else { "" }),
            ]
        })
        .collect();
    let mut heading =
        vec!["entry", "day", "issued", "by", "as", "line", "k in mT/A", "U", "fitted k", "own u", "state"];
    let mut left = vec![1, 2, 3, 4, 5, 10];
    if !issued_later {
        heading.remove(2);
        rows.iter_mut().for_each(|row| drop(row.remove(2)));
        left = vec![1, 2, 3, 4, 9];
    }
    page.block(&columns(&heading, &left, &rows));
    page.paragraph(&format!(
        "{}k, U: the adopted line, U its expanded uncertainty, {}. Fitted k: the slope of the readings alone, from which drift, \
         chart and differences are taken whatever line was adopted; own u: the part of its standard uncertainty that two \
         calibrations do not share.",
        if issued_later { "Day: of the readings; issued: of the certificate, where that is another. " } else { "" },
        coverage_words(&record.entries)
    ));
    let told = record.entries.iter().filter(|row| !matches!(row.reason, Some(Reason::Later(_))));
    let mut reasons: Vec<String> = told
        .filter_map(|row| {
            Some(format!("entry {}: {}: {}", row.number, row.state_words(), row.reason.as_ref()?.sentence()))
        })
        .collect();
    let ended = record.entries.iter().filter_map(|row| Some((row.number, row.ended_later.as_ref()?)));
    reasons.extend(ended.map(|(number, ended)| format!("entry {number}: {}", ended.sentence())));
    page.list(reasons.iter().map(String::as_str));
}

/// The coverage factors of all calibrations, and their one probability.
fn coverage_words(entries: &[CalibrationRow]) -> String {
    let mut factors: Vec<String> =
        entries.iter().map(|row| row.coverage_factor.map_or("not known".into(), factor)).collect();
    factors.dedup();
    let factors = match &factors[..] {
        [one] => format!("coverage factor {one}"),
        several => format!("coverage factors down the table {}", several.join(", ")),
    };
    format!("{factors}, coverage probability {}", percent(COVERAGE_PROBABILITY))
}

fn in_force(page: &mut Page, record: &Overview) {
    page.section("In force");
    let found = record.entries.iter().find(|row| Some(row.number) == record.in_force);
    match found {
        Some(row) => {
            let value =
                with_expanded(row.slope_tesla_per_ampere, row.slope_expanded_uncertainty_tesla_per_ampere);
            let factor =
                row.coverage_factor.map_or(String::new(), |it| format!(", coverage factor {}", factor(it)));
            page.row("line", &format!("entry {}: k = {value}{factor}", row.number));
            if row.in_dispute {
                page.row(
                    "dispute",
                    "adopted although something spoke against its readings: its certificate says what",
                );
            }
            if let Some(step) = &record.step {
                page.row(
                    "against earlier ones",
                    &format!("{}. This line hardly follows it", step_sentence(step)),
                );
            }
            if let Some(told) = checks::failed_row(record) {
                page.row("last quick check", &told);
            }
            let off = record.checks.iter().find(|check| Some(check.number) == record.check_off_line);
            if let Some((check, line)) = off.zip(record.off_line) {
                page.row(
                    "quick check of the field",
                    &format!(
                        "entry {} of {} is OFF THIS LINE, E_n = {}: find out which of the two is wrong",
                        check.number,
                        check.said.date,
                        e_n(line.decisive())
                    ),
                );
            }
            if let Some(event) = record.intercept_ended_by {
                let event = record.events.iter().find(|numbered| numbered.number == event);
                let what = event.map_or("the bench was moved", |event| event.said.event.sentence());
                page.row(
                    "B0",
                    &format!("no longer holds: {what} since. It belongs to one place and one orientation"),
                );
            }
        }
        None => page.row("line", "none"),
    }
    if let Some(rule) = &record.rule {
        page.row("owner's rule", &rule_sentence(rule, record.uncertainty_above_allowed_error_fraction));
    }
    if let Some(due) = due_sentence(record) {
        page.row("next calibration due", &due);
    }
}

/// When the next calibration is due. `None` if nothing tells.
pub(super) fn due_sentence(record: &Overview) -> Option<String> {
    Some(match (&record.next_due, &record.rule) {
        (Some(due), _) => {
            let overdue = match record.on {
                Some(on) if due.date < on => "overdue since ",
                _ => "",
            };
            match due.by {
                DueBy::Interval => {
                    format!("{overdue}{}, by the fixed interval (ILAC-G24:2022, clause 5)", due.date)
                }
                DueBy::Drift => format!(
                    "{overdue}{}, by the drift (ILAC-G24:2022, 6.3, method 2: control chart){}",
                    due.date,
                    looks_far_ahead(record, due.date)
                ),
                DueBy::NoLineInForce => format!("now: no line is in force on {}", due.date),
            }
        }
        (None, None) => "the owner has stated no rule".into(),
        (None, Some(_)) if !any_measured_counts(record) => {
            "cannot be counted: no calibration with readings counts. Calibrate anew".into()
        }
        (None, Some(_)) => return None,
    })
}

/// That a day lies further ahead than the drift was followed; nothing if it does not.
fn looks_far_ahead(record: &Overview, due: Day) -> String {
    let last = record.entries.iter().filter(|row| row.is_measured()).map(CalibrationRow::day).max();
    let ahead = last.map_or(0.0, |last| due.years_since(last));
    match record.series.last().and_then(|series| series.drift) {
        Some(drift) if ahead > drift.years => format!(
            "; that is {ahead:.1} years ahead by values of {:.1} years: nothing tells that the drift stays as it was so long",
            drift.years
        ),
        _ => String::new(),
    }
}

/// Whether a calibration with readings is neither withdrawn nor replaced.
fn any_measured_counts(record: &Overview) -> bool {
    let counts =
        |row: &&CalibrationRow| record.series.iter().any(|series| series.numbers.contains(&row.number));
    record.entries.iter().filter(counts).any(CalibrationRow::is_measured)
}

/// The owner's rule in words, and that U(k) over k of the line is above the error that it allows, if it is.
pub fn rule_sentence(rule: &RuleEntry, above: Option<f64>) -> String {
    let every = format!("every {} at the latest", rule.every);
    let Some(drift) = &rule.drift else { return every };
    let above = above.map_or(String::new(), |own| {
        format!(
            ", which is LESS than U(k) itself, {} of k: no date can keep it; allow more, or measure the slope better",
            percent_of(own, 2)
        )
    });
    let or = if above.is_empty() { ", or what U(k) leaves of it" } else { "" };
    format!(
        "{every}, and before the drift may have used {} of the allowed error of {}{above}{or}",
        percent(drift.part),
        percent(drift.allowed_error_fraction)
    )
}

fn happenings(page: &mut Page, record: &Overview) {
    let by = |by: Option<&String>| by.map_or(String::new(), |by| format!(" ({by})"));
    let day = |date: Option<crate::numeric::calendar::Day>| {
        date.map_or("no day given".into(), |date| date.to_string())
    };
    let later = |date: Option<crate::numeric::calendar::Day>| match date.zip(record.on) {
        Some((date, on)) if date > on => "; of a later day, not counted",
        _ => "",
    };
    let void = record.withdrawn_events.iter().map(|event| (event, ", withdrawn"));
    let events = record.events.iter().map(|event| (event, "")).chain(void).map(|(event, state)| {
        let note = event.said.note.as_ref().map_or(String::new(), |note| format!(": {note}"));
        let what = event.said.event.sentence();
        (
            event.number,
            format!(
                "entry {}, {}: {what}{note}{}{state}{}",
                event.number,
                day(event.said.date),
                by(event.said.by.as_ref()),
                later(event.said.date)
            ),
        )
    });
    let withdrawals = record.withdrawals.iter().map(|withdrawal| {
        let said = &withdrawal.said;
        let what = format!("entry {} withdrawn: {}", said.withdraws, said.reason);
        (
            withdrawal.number,
            format!(
                "entry {}, {}: {what}{}{}",
                withdrawal.number,
                day(said.date),
                by(Some(&said.by)),
                later(said.date)
            ),
        )
    });
    let reissues = record.entries.iter().filter_map(|row| {
        let replaced = row.replaces.as_ref()?;
        let own = row.certificate.as_ref().map_or(String::new(), |own| format!(" {own}"));
        let because = row.because.as_ref().map_or(String::new(), |because| format!(": {because}"));
        Some((
            row.number,
            format!(
                "entry {}, {}: certificate{own} replaces {replaced}, which is no longer valid{because}{}{}",
                row.number,
                row.date,
                by(row.by.as_ref()),
                later(Some(row.date))
            ),
        ))
    });
    let adjusted = record.adjusted_without_event().map(|row| {
        let what = "measured as left, after an adjustment that is no entry of its own";
        (row.number, format!("entry {}, {}: {what}{}", row.number, row.day(), by(row.by.as_ref())))
    });
    let mut told: Vec<(u64, String)> = events.chain(withdrawals).chain(reissues).chain(adjusted).collect();
    if told.is_empty() {
        return;
    }
    page.section("What happened");
    told.sort();
    page.list(told.iter().map(|(_, sentence)| sentence.as_str()));
}

fn neighbours(page: &mut Page, record: &Overview) {
    if record.neighbours.is_empty() {
        return;
    }
    page.section("Each calibration against the one before");
    let number = |value: Option<f64>| value.map_or("-".into(), e_n);
    let rows: Vec<Vec<String>> = record
        .neighbours
        .iter()
        .map(|pair| {
            vec![
                format!("{} to {}", pair.older, pair.newer),
                signed_percent(pair.relative_change),
                pair.normalised_difference.map_or("not known".into(), e_n),
                number(pair.normalised_difference_same_meters),
                control::events_named(record, &pair.events)
                    .or_else(|| pair.adjusted.then(|| "the pair was adjusted".to_owned()))
                    .or_else(|| control::renewed_words(&pair.meters))
                    .unwrap_or_default(),
            ]
        })
        .collect();
    page.block(&columns(
        &["entries", "change of fitted k", "E_n", "E_n, unshared", "between"],
        &[0, 4],
        &rows,
    ));
    page.paragraph(
        "E_n beyond 1 in size: the two differ. \"Unshared\": from the errors that the two do not share. Those of the coils and of \
         each meter that both were measured with cancel; those of a meter that was replaced, or calibrated anew between the two, \
         count in full. None where the specs differ in the coils or in the limits of the meters, or an event says that another \
         meter is used. Over an adjustment or a repair E_n shows what was done, no drift.",
    );
    let unexplained = record.neighbours.iter().filter(|pair| pair.event.is_none() && !pair.adjusted);
    let steps: Vec<String> = unexplained
        .filter_map(|pair| {
            let explained = pair.explained_by.as_ref()?;
            Some(format!(
                "entries {} to {}: {}, as much as {}",
                pair.older,
                pair.newer,
                changed(pair.normalised_difference_same_meters.or(pair.normalised_difference)?),
                equivalent_sentence(explained, "")
            ))
        })
        .collect();
    page.list(steps.iter().map(String::as_str));
}

/// What was appended, as one line.
pub fn appended(number: u64, digest: Digest) -> String {
    format!("entered as entry {number} of the register, digest {digest}\n")
}

/// Who entered a calibration, as one line.
pub fn entered_by(by: Option<&str>) -> String {
    format!("entered by: {}\n", by.unwrap_or(NOT_STATED))
}

/// The words for an entry made by an earlier run of the same call.
pub fn entered_before(number: u64, digest: Digest) -> String {
    format!("entry {number} of the register already, digest {digest}; nothing was entered\n")
}
