//! The heat of a pair as pictures: in time, against current, under duty, test against model.

use super::{CurvePoint, HeatStudy};
use crate::paper::{Axis, Chart, Figure, Measured, panels};
use crate::physics::heat::limits::CurrentLimit;
use crate::questions::words::notes::Told;
use crate::units::{Unit, fixed, fixed_down, unit};

/// Longest time with an axis in minutes.
const LONGEST_IN_MINUTES_S: f64 = 3.0 * 3600.0;

fn time_axis(longest_s: f64) -> Axis {
    let (name, unit): (&str, Unit) =
        if longest_s > LONGEST_IN_MINUTES_S { ("time", unit::HOUR) } else { ("time", unit::MINUTE) };
    Axis::new(name, unit).over([0.0, longest_s])
}

/// Index of the hot spot among a chart's curves.
const HOT_SPOT: usize = 0;
/// Index of the hottest surface.
const SURFACE: usize = 2;

/// The three temperatures of a chart, in the order of [`HOT_SPOT`] and [`SURFACE`].
fn temperatures(chart: &mut Chart, curve: &[CurvePoint]) {
    let along = |of: fn(&CurvePoint) -> f64| curve.iter().map(move |point| [point.time_s, of(point)]);
    chart.curve("hot spot", along(|point| point.hot_spot_temperature_celsius));
    chart.curve("mean of the winding", along(|point| point.mean_temperature_celsius));
    chart.curve("hottest surface", along(|point| point.surface_temperature_celsius));
}

/// The temperature limits within the range that a chart shows anyway. Each is named with the temperature that it limits
/// and drawn in its colour.
fn limit_levels(chart: &mut Chart, record: &HeatStudy, highest_celsius: f64) {
    for limit in &record.limits {
        let Some(celsius) = limit.temperature_celsius.filter(|celsius| *celsius < 1.15 * highest_celsius)
        else {
            continue;
        };
        let (series, whose) = match limit.limit {
            CurrentLimit::Insulation { .. } => (HOT_SPOT, "hot spot"),
            _ => (SURFACE, "surface"),
        };
        chart.level_of(series, format!("{whose}: {}", limit.limit.sentence()), celsius);
    }
}

fn highest(curve: &[CurvePoint]) -> f64 {
    curve.iter().map(|point| point.hot_spot_temperature_celsius).fold(f64::NEG_INFINITY, f64::max)
}

/// Warming, drift of the field and cooling; `None` without a current.
pub(crate) fn in_time(record: &HeatStudy) -> Option<Figure> {
    let at = record.at_current.as_ref()?;
    let end_s = at.curve.last().map_or(1.0, |point| point.time_s).max(1.0);
    let mut warming = Chart::new(
        format!("Switched on at {}, {} held", fixed(at.current_ampere, unit::AMPERE, 2), at.supply_holds),
        time_axis(end_s),
        Axis::new("temperature", unit::CELSIUS),
    );
    temperatures(&mut warming, &at.curve);
    limit_levels(&mut warming, record, highest(&at.curve));
    let mut charts = vec![warming];
    let drift: Vec<[f64; 2]> =
        at.curve.iter().filter_map(|point| Some([point.time_s, point.field_drift_fraction?])).collect();
    if !drift.is_empty() {
        let mut chart = Chart::new(
            "Field at the centre against that at switch-on",
            time_axis(end_s),
            Axis::new("change of field", unit::PERCENT).from_zero(),
        );
        chart.curve("", drift);
        charts.push(chart);
    }
    let cooling_s = at.cooling.last().map_or(1.0, |point| point.time_s).max(1.0);
    let mut cooling =
        Chart::new("Switched off", time_axis(cooling_s), Axis::new("temperature", unit::CELSIUS));
    temperatures(&mut cooling, &at.cooling);
    limit_levels(&mut cooling, record, highest(&at.cooling));
    charts.push(cooling);
    let title = format!("Heat: {}", record.provenance.spec_title);
    Some(panels(&title, &charts.iter().collect::<Vec<_>>(), 1, &record.provenance.to_string()))
}

/// Steady temperature and allowed time against current.
pub(crate) fn against_current(record: &HeatStudy) -> Figure {
    let along = |of: fn(&crate::questions::heat::TableRow) -> Option<f64>| {
        std::iter::once([0.0, record.room_temperature_celsius])
            .chain(record.table.iter().filter_map(move |row| Some([row.current_ampere, of(row)?])))
    };
    let top = record
        .table
        .iter()
        .filter_map(|row| row.steady_hot_spot_temperature_celsius)
        .fold(record.room_temperature_celsius, f64::max);
    let mut steady = Chart::new(
        "Steady temperature against current",
        Axis::new("current", unit::AMPERE).from_zero(),
        Axis::new("temperature", unit::CELSIUS),
    );
    steady.curve("hot spot", along(|row| row.steady_hot_spot_temperature_celsius));
    steady.curve("mean of the winding", along(|row| row.steady_mean_temperature_celsius));
    steady.curve("hottest surface", along(|row| row.steady_surface_temperature_celsius));
    limit_levels(&mut steady, record, top);
    let to_rely_on = record.reliable_continuous_current_ampere;
    let last = record.table.last().map_or(0.0, |row| row.current_ampere);
    if to_rely_on > 0.0 && to_rely_on <= last {
        steady.upright(format!("to rely on {}", fixed_down(to_rely_on, unit::AMPERE, 2)), to_rely_on);
    }
    let mut charts = vec![steady];
    let allowed: Vec<[f64; 2]> =
        record.table.iter().filter_map(|row| Some([row.current_ampere, row.allowed_s?])).collect();
    if allowed.len() > 1 {
        let longest = allowed.iter().map(|point| point[1]).fold(0.0, f64::max);
        let unit = if longest > LONGEST_IN_MINUTES_S { unit::HOUR } else { unit::MINUTE };
        let mut chart = Chart::new(
            "Allowed time from cold",
            Axis::new("current", unit::AMPERE).from_zero(),
            Axis::new("time to the first limit", unit).from_zero(),
        );
        chart.curve("", allowed);
        charts.push(chart);
    }
    panels(
        &format!("Heat: {}", record.provenance.spec_title),
        &charts.iter().collect::<Vec<_>>(),
        1,
        &record.provenance.to_string(),
    )
}

/// One cycle in its repeating state; `None` without one.
pub(crate) fn under_duty(record: &HeatStudy) -> Option<Figure> {
    let duty = record.repeated()?;
    let length_s = duty.on_s + duty.off_s;
    let mut chart = Chart::new(
        format!("One cycle of many: {}", record.provenance.spec_title),
        time_axis(length_s),
        Axis::new("temperature", unit::CELSIUS),
    );
    temperatures(&mut chart, &duty.cycle);
    limit_levels(&mut chart, record, highest(&duty.cycle));
    chart.upright("off", duty.on_s);
    Some(chart.figure(&record.provenance.to_string()))
}

/// The test beside the model; `None` without a test.
pub fn warm_up(record: &HeatStudy) -> Option<Figure> {
    let fit = record.warm_up.as_ref()?;
    let end_s = fit.points.last().map_or(1.0, |point| point.time_s).max(1.0);
    let mut temperature = Chart::new(
        "Mean of the winding: test and model",
        time_axis(1.02 * end_s),
        Axis::new("temperature", unit::CELSIUS),
    );
    temperature.curve(
        "model, fitted",
        fit.points.iter().map(|point| [point.time_s, point.model_temperature_celsius]),
    );
    temperature.points(
        "test, by resistance",
        fit.points.iter().map(|point| Measured::at(point.time_s, point.temperature_celsius)),
    );
    let mut difference = Chart::new(
        "Test minus model",
        time_axis(1.02 * end_s),
        Axis::new("difference", unit::KELVIN).from_zero(),
    );
    difference.points(
        "",
        fit.points.iter().map(|point| {
            Measured::at(point.time_s, point.temperature_celsius - point.model_temperature_celsius)
        }),
    );
    difference.level("", 0.0);
    Some(panels(
        &format!("Warm-up test: {}", record.provenance.spec_title),
        &[&temperature, &difference],
        1,
        &record.provenance.to_string(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::read_bench;
    use crate::pair::Bench;
    use crate::questions::heat::{Duty, HeatRequest, study};

    /// The window bench and the three quoted pairs.
    fn benches() -> Vec<Bench> {
        let names = ["window-bench", "quote-parallel", "quote-thick", "quote-used"];
        let path = |name: &str| format!("{}/coil-specs/{name}.json", env!("CARGO_MANIFEST_DIR"));
        names.iter().map(|name| read_bench(path(name)).unwrap()).collect()
    }

    fn studied(bench: &Bench, current_ampere: f64) -> HeatStudy {
        let duty = Some(Duty::new(600.0, 1200.0).unwrap());
        let request = HeatRequest { current_ampere: Some(current_ampere), duty, ..HeatRequest::default() };
        study(bench, &request).unwrap()
    }

    #[test]
    fn no_label_of_a_limit_touches_a_curve_a_line_or_another_label() {
        for bench in benches() {
            for current_ampere in [0.5, 1.0, 1.5, 2.0] {
                let record = studied(&bench, current_ampere);
                let figures = [in_time(&record), Some(against_current(&record)), under_duty(&record)];
                for figure in figures.into_iter().flatten() {
                    assert_eq!(
                        figure.struck_texts(),
                        Vec::<String>::new(),
                        "{} {current_ampere}",
                        bench.title
                    );
                }
            }
        }
    }

    #[test]
    fn a_limit_of_surfaces_is_named_and_coloured_as_the_surface() {
        let svg = against_current(&studied(&benches()[0], 2.0)).svg();
        let label = svg.lines().find(|line| line.contains(">surface: touch for a minute<")).unwrap();
        let surface = crate::paper::palette::series_colour(SURFACE).rgb;
        let colour = surface.map(|part| format!("{part:02x}")).concat();
        assert!(label.to_lowercase().contains(&colour), "{label} {colour}");
    }
}
