//! The heat of a pair as text for people and as CSV.

use super::warm_up::WarmUpFit;
use super::{AtCurrent, CurvePoint, DutyRecord, HeatStudy, Held};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::physics::heat::limits::CurrentLimit;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::limits::source;
use crate::questions::words::notes::{Told, told};
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{model_sentence, signed_percent};
use crate::units::{Dimension, display, fixed, fixed_down, fixed_up, unit};

/// How good the numbers are, in one sentence.
pub(crate) const ACCURACY: &str = "Computed temperature rises are good to 10 % to 20 %, currents to about 8 %: natural convection is \
     not known better. A warm-up test of this very pair beats any prediction.";

/// The page for people.
pub fn text(record: &HeatStudy) -> String {
    let mut page =
        Page::new(&format!("Heat: {}", record.provenance.spec_title), &on_page(&record.provenance));
    page.paragraph(model_sentence(record.model));
    page.paragraph(ACCURACY);
    limits(&mut page, record);
    if let Some(at) = &record.at_current {
        at_current(&mut page, record, at);
    }
    if let Some(duty) = &record.duty {
        under_duty(&mut page, record, duty);
    }
    if let Some(fit) = &record.warm_up {
        warm_up(&mut page, fit);
    }
    table(&mut page, record);
    page.section("Assumed");
    page.list(told(&record.assumptions).iter().map(String::as_str));
    page.section("Cautions");
    let figures = SafetyFigures {
        reliable_continuous_current_ampere: Some(record.reliable_continuous_current_ampere),
        caution_distance_m: record.caution_distance_m,
    };
    let cautions = [Caution::HotCoils, Caution::InductiveKick, Caution::Implants];
    page.list(sentences_with(&cautions, &figures).iter().map(String::as_str));
    page.paragraph(
        "The touch temperatures are for healthy adult skin and short contact; local rules may ask for less, for children \
         above all.",
    );
    page.into_text()
}

/// The pair after a current was held for a time, in a few words; `None` where a winding becomes hotter than is
/// computed.
pub fn held_facts(held: Option<&Held>) -> Vec<(&'static str, String)> {
    let Some(held) = held else {
        return vec![("copper", "above 500 °C before that time: nothing of this can be used".into())];
    };
    vec![
        ("hottest winding, mean", celsius(held.copper_celsius)),
        ("hottest surface", celsius(held.surface_celsius)),
        ("current then", display(held.current_ampere, Dimension::Current, 3)),
        ("voltage then", display(held.supply_volt, Dimension::Voltage, 3)),
        ("heat in both coils", display(held.coils_watt, Dimension::Power, 3)),
    ]
}

fn celsius(value: f64) -> String {
    fixed(value, unit::CELSIUS, 1)
}

fn celsius_or_none(value: Option<f64>) -> String {
    value.map_or("none below 500 °C".into(), celsius)
}

fn ampere(value: f64) -> String {
    fixed(value, unit::AMPERE, 2)
}

/// A current that is safe up to the printed value: rounded down.
fn at_most(value: f64) -> String {
    fixed_down(value, unit::AMPERE, 2)
}

/// A time that is safe up to the printed value: rounded down, in a unit that suits its length.
fn time_at_most(seconds: f64) -> String {
    rounded_duration(seconds, f64::floor)
}

/// A time to wait at least: rounded up.
fn time_at_least(seconds: f64) -> String {
    rounded_duration(seconds, f64::ceil)
}

fn rounded_duration(seconds: f64, round: fn(f64) -> f64) -> String {
    match seconds {
        s if s < 99.5 => format!("{:.0} s", round(s)),
        s if s < 5970.0 => format!("{:.0} min", round(s / 60.0)),
        s => format!("{:.1} h", round(s / 360.0) / 10.0),
    }
}

/// A time, in a unit that suits its length.
pub(crate) fn duration(seconds: f64) -> String {
    match seconds {
        s if s < 99.5 => format!("{s:.0} s"),
        s if s < 5970.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.1} h", s / 3600.0),
    }
}

fn limits(page: &mut Page, record: &HeatStudy) {
    page.section("How much current");
    let [low, high] = record.continuous_current_range_ampere;
    page.row(
        "continuous current",
        &format!(
            "{}, limited by: {}",
            at_most(record.continuous_current_ampere),
            record.limited_by.sentence()
        ),
    );
    page.row("range, all assumed", &format!("{} to {}", at_most(low), ampere(high)));
    page.row("to rely on", &format!("{}, the lower end", at_most(record.reliable_continuous_current_ampere)));
    page.row("room", &celsius(record.room_temperature_celsius));
    let rows: Vec<Vec<String>> = record
        .limits
        .iter()
        .zip(&record.reliable_limit_current_ampere)
        .map(|(limit, reliable)| {
            let current = |value: Option<f64>| value.map_or("never".into(), |i| at_most(i).replace(" A", ""));
            vec![
                limit.limit.sentence(),
                limit.temperature_celsius.map_or(String::new(), |c| format!("{c:.0}")),
                current(limit.current_ampere),
                current(*reliable),
            ]
        })
        .collect();
    page.block(&columns(&["limit", "°C", "A", "to rely on, A"], &[0], &rows));
    for limit in &record.limits {
        page.list([format!("{}: {}.", limit.limit.sentence(), source(limit.limit)).as_str()]);
    }
    page.paragraph(&format!(
        "Above {} there is no steady state below 500 °C: at a held current the loss grows with the copper's resistance, \
         and the coil burns before its cooling catches up.",
        at_most(record.critical_current_ampere)
    ));
}

fn at_current(page: &mut Page, record: &HeatStudy, at: &AtCurrent) {
    page.section(&format!("At {}, {} held", ampere(at.current_ampere), at.supply_holds));
    if at.current_ampere == 0.0 {
        page.paragraph("Without current the coils stay at room temperature.");
        return;
    }
    if let Some(words) = held_back(at) {
        page.row("asked for", &words);
    }
    if at.steady_mean_temperature_celsius.is_none() {
        page.paragraph(&format!(
            "RUNAWAY: no steady state below 500 °C. The curve ends at a mean of 500 °C after {}.",
            duration(at.curve.last().map_or(0.0, |point| point.time_s))
        ));
    }
    page.row("mean of the winding, steady", &celsius_or_none(at.steady_mean_temperature_celsius));
    within(page, at.steady_mean_temperature_range_celsius);
    page.row("hot spot", &hot_spot(record, at));
    within(page, at.steady_hot_spot_temperature_range_celsius);
    page.row(
        "hottest surface",
        &match (at.steady_surface_temperature_celsius, at.hottest_surface) {
            (Some(value), Some(side)) => format!("{}, {side}", celsius(value)),
            (value, _) => celsius_or_none(value),
        },
    );
    within(page, at.steady_surface_temperature_range_celsius);
    if let Some(sides) = at.steady_side_temperatures_celsius {
        for (surface, side) in record.surfaces.iter().zip(sides) {
            page.row(surface.name, &format!("{}, {}", celsius(side), surface.touch.name()));
        }
    }
    page.row(
        "power, both coils",
        &match at.steady_power_watt {
            Some(steady) => format!(
                "{} at switch-on, {} in the end",
                display(at.cold_power_watt, Dimension::Power, 3),
                display(steady, Dimension::Power, 3)
            ),
            None => format!("{} at switch-on", display(at.cold_power_watt, Dimension::Power, 3)),
        },
    );
    if let (Some(current), Some(voltage)) = (at.steady_current_ampere, at.steady_voltage_volt) {
        page.row(
            "supply in the end",
            &format!("{} at {}", fixed(current, unit::AMPERE, 3), fixed(voltage, unit::VOLT, 2)),
        );
    }
    if at.supply_holds == "current"
        && at.steady_current_ampere.is_some_and(|i| i < at.current_ampere * (1.0 - 1e-9))
    {
        page.row("", "the supply's voltage limit is reached on the way, and the current sags");
    }
    if let Some(tau) = at.time_constant_s {
        page.row("time constant", &duration(tau));
    }
    page.row(
        "time from cold to the first limit",
        &match (at.time_to_limit_s, &at.time_to_limit_by) {
            (Some(time), Some(limit)) => format!("{}: {}", time_at_most(time), limit.sentence()),
            _ => "never reached".into(),
        },
    );
    if let Some(time) = at.cool_to_touch_s.filter(|time| *time > 0.0) {
        page.row(
            "then off until safe to touch",
            &format!("{}, 3 K below the limit then", time_at_least(time)),
        );
    }
    match (at.field_drift_fraction, at.field_drift_by_expansion_fraction) {
        (Some(drift), Some(expansion)) => {
            page.row("field, switch-on to steady", &signed_percent(drift));
            page.row("of that by expansion", &signed_percent(expansion));
        }
        _ if at.steady_mean_temperature_celsius.is_some() => {
            page.row("field drift", "the coils oppose each other: there is no centre field to compare");
        }
        _ => {}
    }
}

/// The range of a temperature, with the upper end rounded up and the lower end rounded down.
fn within(page: &mut Page, [low, high]: [Option<f64>; 2]) {
    let Some(low) = low else { return };
    let low = fixed_down(low, unit::CELSIUS, 1);
    let high = high.map_or("no end".into(), |high| fixed_up(high, unit::CELSIUS, 1));
    page.row("  within, all assumed", &format!("{low} to {high}"));
}

/// The hot spot, and how much hotter it may be.
fn hot_spot(record: &HeatStudy, at: &AtCurrent) -> String {
    let computed = celsius_or_none(at.steady_hot_spot_temperature_celsius);
    let pack = &record.wire_pack;
    let worst = pack.worst_watt_per_m_kelvin();
    if worst == pack.conductivity_watt_per_m_kelvin || at.steady_hot_spot_temperature_celsius.is_none() {
        return computed;
    }
    let upper = at
        .steady_hot_spot_temperature_upper_celsius
        .map_or("none below 500 °C".into(), |upper| fixed_up(upper, unit::CELSIUS, 1));
    format!("{computed}, up to {upper} if the pack conducts as badly as {worst:.2} W/(m K)")
}

/// Why less current flows than requested.
fn held_back(at: &AtCurrent) -> Option<String> {
    let [asked, given] = [at.asked_current_ampere, at.current_ampere].map(ampere);
    match at.held_back_by? {
        CurrentLimit::SupplyCurrent => Some(format!("{asked}; the supply gives at most {given}")),
        _ => Some(format!("{asked}; the supply's voltage limit drives only {given}, the copper cold")),
    }
}

fn under_duty(page: &mut Page, record: &HeatStudy, duty: &DutyRecord) {
    page.section(&format!("{} on, {} off, for ever", duration(duty.on_s), duration(duty.off_s)));
    page.row(
        "largest current while on",
        &match (duty.current_ampere, &duty.limited_by) {
            (Some(current), Some(limit)) => format!("{}, limited by: {}", at_most(current), limit.sentence()),
            _ => "none".into(),
        },
    );
    let Some(at) = &record.at_current else { return };
    page.row("asked for while on", &ampere(at.current_ampere));
    let peak = |value: Option<f64>| {
        value.map_or("none below 500 °C".into(), |peak| fixed_up(peak, unit::CELSIUS, 1))
    };
    page.row("mean, peak of the cycle", &peak(duty.peak_mean_temperature_celsius));
    if let Some(low) = duty.lowest_mean_temperature_celsius {
        page.row("mean, lowest", &celsius(low));
        page.row("hot spot, peak", &peak(duty.peak_hot_spot_temperature_celsius));
        page.row("hottest surface, peak", &peak(duty.peak_surface_temperature_celsius));
    }
    if duty.current_ampere.is_none_or(|largest| at.current_ampere > largest) {
        page.paragraph("The current asked for is more than this cycle allows: the peaks are those of the current asked for.");
    }
}

fn warm_up(page: &mut Page, fit: &WarmUpFit) {
    page.section("Warm-up test");
    let rows = format!("{} in {}", fit.rows, duration(fit.duration_s));
    page.row("rows", &rows);
    let factor = |value: f64, u: f64, from_test: bool| {
        let held = if from_test { "" } else { " (held: the test does not fix it)" };
        format!("{value:.3}, standard uncertainty {u:.3}{held}")
    };
    page.row(
        "surface coefficient, times",
        &factor(
            fit.surface_coefficient_factor,
            fit.surface_coefficient_factor_standard_uncertainty,
            fit.surface_coefficient_from_test,
        ),
    );
    page.row(
        "heat capacity, times",
        &factor(
            fit.heat_capacity_factor,
            fit.heat_capacity_factor_standard_uncertainty,
            fit.heat_capacity_from_test,
        ),
    );
    page.row(
        "cold resistance",
        &format!(
            "{} at {}, standard uncertainty {}",
            fixed(fit.cold_resistance_ohm, unit::OHM, 4),
            celsius(fit.room_temperature_celsius),
            fixed(fit.cold_resistance_standard_uncertainty_ohm, unit::OHM, 4)
        ),
    );
    page.row(
        "rise by resistance at the end",
        &format!(
            "{} to {}, k = {}",
            fixed(fit.final_rise_kelvin, unit::KELVIN, 1),
            celsius(fit.final_temperature_celsius),
            fit.resistance_constant_celsius
        ),
    );
    page.row(
        "test minus model, rms",
        &format!(
            "{}, {} degrees of freedom",
            fixed(fit.rms_residual_kelvin, unit::KELVIN, 2),
            fit.degrees_of_freedom
        ),
    );
    page.paragraph(
        "The fitted factors are in all numbers on this page. Uncertainties come from the scatter about the fit, that of the \
         surface coefficient also from 0.5 K in the room's temperature.",
    );
    page.list(told(&fit.notes).iter().map(String::as_str));
}

fn table(page: &mut Page, record: &HeatStudy) {
    page.section("Current, steady temperature, allowed time from cold");
    let number =
        |value: Option<f64>, decimals: usize| value.map_or("-".into(), |value| format!("{value:.decimals$}"));
    let rows: Vec<Vec<String>> = record
        .table
        .iter()
        .map(|row| {
            vec![
                format!("{:.2}", row.current_ampere),
                number(row.steady_voltage_volt, 1),
                number(row.steady_mean_temperature_celsius.map(f64::ceil), 0),
                number(row.steady_hot_spot_temperature_celsius.map(f64::ceil), 0),
                number(row.steady_surface_temperature_celsius.map(f64::ceil), 0),
                row.allowed_s.map_or("for ever".into(), |time| format!("{:.1}", (time / 6.0).floor() / 10.0)),
            ]
        })
        .collect();
    page.block(&columns(&["A", "V", "mean °C", "hot spot °C", "surface °C", "minutes"], &[], &rows));
    page.paragraph(
        "The current is held whatever voltage it takes; temperatures are as computed, rounded up; the minutes end at the first temperature \
         limit, of a pair that carries no more for ever than the current to rely on, the \
         insulation judged with a pack that conducts badly. A dash: no steady state below 500 °C.",
    );
}

fn comments(record: &HeatStudy) -> Vec<String> {
    vec![record.provenance.to_string(), ACCURACY.into()]
}

/// A curve over time as CSV.
pub(crate) fn curve_csv(record: &HeatStudy, curve: &[CurvePoint], format: NumberFormat) -> String {
    let mut file = TableFile::new(
        format,
        &comments(record),
        &[
            "time_s",
            "mean_temperature_celsius",
            "hot_spot_temperature_celsius",
            "surface_temperature_celsius",
            "current_ampere",
            "voltage_volt",
            "field_drift_fraction",
        ],
    );
    for point in curve {
        file.numbers(&[
            Some(point.time_s),
            Some(point.mean_temperature_celsius),
            Some(point.hot_spot_temperature_celsius),
            Some(point.surface_temperature_celsius),
            Some(point.current_ampere),
            Some(point.voltage_volt),
            point.field_drift_fraction,
        ]);
    }
    file.into_text()
}

/// The table of currents as CSV. An empty `allowed_s` means no limit of time.
pub(crate) fn table_csv(record: &HeatStudy, format: NumberFormat) -> String {
    let mut file = TableFile::new(
        format,
        &comments(record),
        &[
            "current_ampere",
            "steady_voltage_volt",
            "steady_mean_temperature_celsius",
            "steady_hot_spot_temperature_celsius",
            "steady_surface_temperature_celsius",
            "allowed_s",
        ],
    );
    for row in &record.table {
        file.numbers(&[
            Some(row.current_ampere),
            row.steady_voltage_volt,
            row.steady_mean_temperature_celsius,
            row.steady_hot_spot_temperature_celsius,
            row.steady_surface_temperature_celsius,
            row.allowed_s,
        ]);
    }
    file.into_text()
}

/// Test and model as CSV.
pub(crate) fn warm_up_csv(record: &HeatStudy, fit: &WarmUpFit, format: NumberFormat) -> String {
    let mut file = TableFile::new(
        format,
        &comments(record),
        &["time_s", "resistance_ohm", "temperature_celsius", "model_temperature_celsius"],
    );
    for point in &fit.points {
        file.numbers(&[
            Some(point.time_s),
            Some(point.resistance_ohm),
            Some(point.temperature_celsius),
            Some(point.model_temperature_celsius),
        ]);
    }
    file.into_text()
}
