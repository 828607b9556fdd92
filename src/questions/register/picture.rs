//! The control chart of a register.

use super::control::{ControlLimits, Sign};
use super::words::moving_ranges;
use super::{CalibrationRow, ChartPart, Numbered, Overview, Series, State};
use crate::numeric::calendar::Day;
use crate::paper::colour::INK;
use crate::paper::{Axis, Chart, Dash, Figure, Measured, Stroke, panels};
use crate::units::unit;

/// Draws the slope against time. The upper chart shows the adopted slopes with their expanded uncertainty. The lower
/// one shows the fitted slopes with the part of the uncertainty that two calibrations do not share, and the limits of
/// their series. It is left out if no entry holds a fitted slope. `None` without a calibration of the day asked for or before.
pub fn control_chart(record: &Overview) -> Option<Figure> {
    if !record.entries.iter().any(|row| is_shown(record, row.day())) {
        return None;
    }
    let title = format!("Register of {}", record.title.as_deref().unwrap_or("a pair"));
    let ranges = record.series.iter().filter_map(|series| moving_ranges(series.limits.as_ref()?)).next_back();
    let ranges = ranges.map_or(String::new(), |ranges| format!("; mean moving range {ranges}"));
    let footer = format!("last entry {}{ranges}", &record.last_digest.to_string()[..16]);
    let adopted = with_uncertainty(record);
    let any_fitted =
        record.entries.iter().any(|row| counts(record, row) && row.fitted_slope_tesla_per_ampere.is_some());
    Some(match any_fitted {
        true => panels(&title, &[&adopted, &with_limits(record)], 1, &footer),
        false => panels(&title, &[&adopted], 1, &footer),
    })
}

fn axes(title: &str, record: &Overview) -> Chart {
    let calibrations = record.entries.iter().map(CalibrationRow::day);
    let checks = record.checks.iter().map(|check| check.said.date);
    let shown = calibrations.chain(checks).filter(|day| is_shown(record, *day)).map(|day| day.decimal_year());
    let years: Vec<f64> = shown.chain(cuts(record).into_iter().map(|cut| cut.year)).collect();
    let first = years.iter().copied().fold(f64::INFINITY, f64::min);
    let last = years.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let year = Axis::new("year", unit::ONE);
    // About a single day the axis would reach over a century.
    let year = match first < last {
        true => year,
        false => year.over([first - 1.2 * AROUND_ONE_YEAR, last + 1.2 * AROUND_ONE_YEAR]),
    };
    Chart::new(title, year, Axis::new("slope k", unit::MILLITESLA_PER_AMPERE))
}

/// Whether a calibration counts in its series.
fn counts(record: &Overview, row: &CalibrationRow) -> bool {
    record.series.iter().any(|series| series.numbers.contains(&row.number))
}

/// Whether a day is drawn: none after that for which states are given.
fn is_shown(record: &Overview, day: Day) -> bool {
    record.on.is_none_or(|on| day <= on)
}

/// Whether a calibration lies beyond the warning or the action limits of its series.
fn is_beyond(record: &Overview, row: &CalibrationRow) -> bool {
    record.series.iter().any(|series| {
        series.signs.iter().any(|sign| match sign {
            Sign::BeyondAction(place) | Sign::BeyondWarning(place) => {
                series.numbers.get(*place) == Some(&row.number)
            }
            _ => false,
        })
    })
}

fn point(row: &CalibrationRow, slope_tesla_per_ampere: f64, bar: f64) -> Measured {
    Measured { y_bar: bar, ..Measured::at(row.day().decimal_year(), slope_tesla_per_ampere) }
}

/// The upper chart: every calibration with its whole uncertainty, and the quick checks.
fn with_uncertainty(record: &Overview) -> Chart {
    let mut chart = axes("Adopted lines with their expanded uncertainty", record);
    let expanded = |row: &&CalibrationRow| {
        let bar = row.slope_expanded_uncertainty_tesla_per_ampere.unwrap_or(0.0);
        point(row, row.slope_tesla_per_ampere, bar)
    };
    let (later, by_then): (Vec<&CalibrationRow>, Vec<&CalibrationRow>) =
        record.entries.iter().partition(|row| row.state == State::NotYet);
    let (counted, left): (Vec<&CalibrationRow>, Vec<&CalibrationRow>) =
        by_then.into_iter().partition(|row| counts(record, row));
    chart.points("calibrations, with U", counted.iter().map(expanded));
    if !left.is_empty() {
        let label = match left.iter().all(|row| row.state == State::Withdrawn) {
            true => "withdrawn, not counted",
            false => "withdrawn or replaced, not counted",
        };
        chart.points(label, left.iter().map(expanded));
    }
    let (measured, unmeasured): (Vec<&CalibrationRow>, Vec<&CalibrationRow>) =
        later.into_iter().partition(|row| is_shown(record, row.day()));
    if !measured.is_empty() {
        chart.points("issued on a later day, not counted", measured.iter().map(expanded));
    }
    if !unmeasured.is_empty() {
        let numbers: Vec<String> = unmeasured.iter().map(|row| row.number.to_string()).collect();
        let entries = if numbers.len() == 1 { "entry" } else { "entries" };
        chart.points(format!("of a later day, not drawn: {entries} {}", numbers.join(", ")), []);
    }
    let checks: Vec<Measured> = record
        .checks
        .iter()
        .filter(|check| is_shown(record, check.said.date))
        .filter_map(|check| {
            let bar = 2.0 * check.said.field_standard_uncertainty_tesla_per_ampere.unwrap_or(0.0);
            let at = Measured::at(check.said.date.decimal_year(), check.said.field_tesla_per_ampere?);
            Some(Measured { y_bar: bar, ..at })
        })
        .collect();
    if !checks.is_empty() {
        chart.points("quick checks, with U (k = 2)", checks);
    }
    events(&mut chart, record);
    chart
}

/// The lower chart: the fitted slopes of the calibrations that count, with the limits of their series.
fn with_limits(record: &Overview) -> Chart {
    let provisional =
        record.series.iter().any(|series| series.limits.as_ref().is_some_and(|limits| limits.provisional));
    let mut chart = axes(
        match provisional {
            true => "Control chart: centre line, warning and action limits (provisional below eight values)",
            false => "Control chart: centre line, warning and action limits",
        },
        record,
    );
    let counted = record.entries.iter().filter(|row| counts(record, row));
    let (beyond, within): (Vec<_>, Vec<_>) = counted.partition(|row| is_beyond(record, row));
    let fitted = |row: &CalibrationRow| {
        let own = row.fitted_slope_unshared_standard_uncertainty_tesla_per_ampere?;
        Some(point(row, row.fitted_slope_tesla_per_ampere?, 2.0 * own))
    };
    chart.points(
        "slopes fitted to readings, with twice what they do not share",
        within.into_iter().filter_map(fitted),
    );
    if !beyond.is_empty() {
        chart.points("beyond a limit", beyond.into_iter().filter_map(fitted));
    }
    let mut named = false;
    for series in &record.series {
        if let Some(limits) = &series.limits {
            let last = limits.centre_tesla_per_ampere;
            let whole = [ChartPart { numbers: [0, u64::MAX], centre_tesla_per_ampere: last }];
            for part in if series.centres.is_empty() { &whole[..] } else { &series.centres[..] } {
                let span = span(record, series, part.numbers);
                lines(&mut chart, limits, part.centre_tesla_per_ampere - last, span, !named);
                named = true;
            }
        }
    }
    events(&mut chart, record);
    chart
}

/// From the first to the last value of a part of a series, in years; about a single value a quarter of a year to either side,
/// but not over what cut the series there.
fn span(record: &Overview, series: &Series, [first, last]: [u64; 2]) -> [f64; 2] {
    let place = |number: u64| series.numbers.iter().position(|known| *known == number);
    let from = place(first).unwrap_or(0);
    let to = place(last).unwrap_or(series.numbers.len() - 1);
    let numbers = &series.numbers[from..=to];
    let rows = record.entries.iter().filter(|row| numbers.contains(&row.number));
    let years: Vec<f64> = rows.map(|row| row.day().decimal_year()).collect();
    let [first, last] = [years.first(), years.last()].map(|year| year.copied().unwrap_or_default());
    if first < last {
        return [first, last];
    }
    let own = (first, numbers.first().copied().unwrap_or_default());
    let is_before = |cut: &Cut| (cut.year, cut.number) <= own;
    let (before, after): (Vec<Cut>, Vec<Cut>) = cuts(record).into_iter().partition(is_before);
    let years = |cuts: Vec<Cut>| cuts.into_iter().map(|cut| cut.year);
    [
        years(before).fold(first - AROUND_ONE_YEAR, f64::max).min(first),
        years(after).fold(last + AROUND_ONE_YEAR, f64::min).max(last),
    ]
}

/// Half the length of the limits about a single value, in years.
const AROUND_ONE_YEAR: f64 = 0.25;

/// What cuts a series, as the chart shows it: the calibration of the same entry comes after it.
struct Cut {
    year: f64,
    number: u64,
    what: &'static str,
}

/// Centre line and limits of a part, shifted by `higher` from those of the last part.
fn lines(chart: &mut Chart, limits: &ControlLimits, higher: f64, [from, to]: [f64; 2], named: bool) {
    let mut level = |label: &str, value: f64, width: f64, dash: Dash| {
        let value = value + higher;
        let label = if named { label } else { "" };
        chart.curve_drawn(label, [[from, value], [to, value]], Stroke { colour: INK, width, dash });
    };
    level("centre line", limits.centre_tesla_per_ampere, 1.6, Dash::Solid);
    let [low, high] = limits.warning_tesla_per_ampere;
    level("warning limits", high, 1.1, Dash::Dashed);
    level("", low, 1.1, Dash::Dashed);
    let [low, high] = limits.action_tesla_per_ampere;
    level("action limits", high, 1.3, Dash::Dotted);
    level("", low, 1.3, Dash::Dotted);
}

/// Events less than this part of a year apart, about four days, share one line.
const ONE_DAY: f64 = 0.01;

/// Events, adjustments and meters calibrated anew, each at its day; an event without a day stands after the calibration before it.
fn cuts(record: &Overview) -> Vec<Cut> {
    let events = record.events.iter().filter_map(|Numbered { number, said }| {
        let before = record.entries.iter().filter(|row| row.number < *number).map(CalibrationRow::day).max();
        let day = said.date.or(before).filter(|day| is_shown(record, *day))?;
        Some(Cut { year: day.decimal_year(), number: *number, what: said.event.sentence() })
    });
    let cut = |row: &CalibrationRow, what| Cut { year: row.day().decimal_year(), number: row.number, what };
    let renewed = record.series.iter().flat_map(|series| &series.renewed);
    let renewed =
        renewed.filter_map(|renewed| record.entries.iter().find(|row| row.number == renewed.number));
    let adjusted = record.adjusted_without_event().map(|row| cut(row, "measured as left"));
    events.chain(adjusted).chain(renewed.map(|row| cut(row, "a meter calibrated"))).collect()
}

/// An upright line for each day on which something cut a series.
fn events(chart: &mut Chart, record: &Overview) {
    let mut days: Vec<(f64, Vec<&str>)> = Vec::new();
    for Cut { year, what, .. } in cuts(record) {
        match days.iter_mut().find(|(day, _)| (day - year).abs() < ONE_DAY) {
            Some((_, sentences)) => sentences.push(what),
            None => days.push((year, vec![what])),
        }
    }
    for (year, sentences) in days {
        chart.upright(sentences.join("; "), year);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::register::Chain;
    use crate::questions::register::{Request, overview};

    #[test]
    fn the_limits_of_a_single_value_end_at_what_cut_the_series() {
        let text =
            std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/window-bench.register"));
        let chain = Chain::of(text.unwrap().as_bytes());
        let mut record = overview(&chain, &Request::default()).unwrap();
        // The eleven before the other meter of 2021-09-01 and the nine after it.
        let [before, after] = [0, 1].map(|at| record.series[at].numbers.clone());
        let event = record.events[0].said.date.unwrap().decimal_year();
        let day = |record: &Overview, number: u64| {
            let row = record.entries.iter().find(|row| row.number == number).unwrap();
            row.day().decimal_year()
        };
        let [last, first] = [*before.last().unwrap(), after[0]].map(|number| {
            let single = Series { numbers: vec![number], ..record.series[0].clone() };
            (day(&record, number), span(&record, &single, [0, u64::MAX]))
        });
        // 2021-03-10 is half a year before the event, 2021-09-14 two weeks after it.
        assert_eq!(last.1, [last.0 - 0.25, last.0 + 0.25]);
        assert_eq!(first.1, [event, first.0 + 0.25]);
        // On one day: measured, then an event, then measured as left.
        let on_one_day = record.entries[3].number;
        record.events[0].said.date = Some(record.entries[3].day());
        record.events[0].number = on_one_day + 1;
        let single = Series { numbers: vec![on_one_day], ..record.series[0].clone() };
        let year = day(&record, on_one_day);
        assert_eq!(span(&record, &single, [0, u64::MAX]), [year - 0.25, year]);
        record.events[0].number = on_one_day - 1;
        assert_eq!(span(&record, &single, [0, u64::MAX]), [year, year + 0.25]);
    }
}
