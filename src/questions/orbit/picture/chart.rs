//! The picture of the chart: beam radius against current for several gun voltages, to hang on the wall.

use crate::paper::{Axis, Chart, Figure};
use crate::questions::orbit::RadiusChart;
use crate::units::{fixed, unit};

/// Draws the chart.
pub fn figure(chart: &RadiusChart) -> Figure {
    let [low, high] = chart.allowed_radius_m;
    // Leaves room above the top level for the name of the supply's limit.
    let top = 1.3 * high.max(chart.largest_radius_in_bulb_m);
    let mut drawing = Chart::new(
        "Beam radius against coil current",
        Axis::new("coil current", unit::AMPERE),
        Axis::new("beam radius", unit::MILLIMETRE).over([0.0, top]),
    );
    drawing.label_curves_directly();
    let currents =
        || chart.curves.iter().flat_map(|curve| curve.points.iter().map(|point| point.current_ampere));
    let first = currents().fold(f64::INFINITY, f64::min);
    let last = currents().fold(0.0, f64::max);
    drawing.band("radii the tube is used at", [[first, low, high], [last, low, high]]);
    drawing.level("largest circle that fits the bulb", chart.largest_radius_in_bulb_m);
    if let Some(limit) = chart.current_limit_ampere.filter(|limit| *limit <= last * 1.02) {
        drawing.upright("supply limit", limit);
    }
    for curve in &chart.curves {
        let read = curve.points.iter().filter_map(|point| Some([point.current_ampere, point.read_radius_m?]));
        drawing.curve(fixed(curve.gun_voltage_volt, unit::VOLT, 0), read);
    }
    drawing.figure(&chart.provenance.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::read_bench;
    use crate::physics::beam::BeamBench;
    use crate::questions::orbit::SettingsRequest;

    #[test]
    fn no_name_of_a_line_touches_a_curve_the_band_or_another_name() {
        for name in ["window-bench", "quote-parallel", "quote-thick", "quote-used"] {
            let path = format!("{}/coil-specs/{name}.json", env!("CARGO_MANIFEST_DIR"));
            let bench = read_bench(path).unwrap();
            let beams = BeamBench::prepare(&bench, None).unwrap();
            for voltages in [&[][..], &[120.0, 200.0, 300.0]] {
                let request =
                    SettingsRequest { gun_voltages_volt: voltages.to_vec(), ..SettingsRequest::default() };
                let record = crate::questions::orbit::chart(&beams, &request).unwrap();
                assert_eq!(figure(&record).struck_texts(), Vec::<String>::new(), "{name} {voltages:?}");
            }
        }
    }
}
