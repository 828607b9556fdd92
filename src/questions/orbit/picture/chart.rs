//! The chart for the wall: beam radius against current for several gun voltages.

use crate::paper::{Axis, Chart, Figure};
use crate::questions::orbit::RadiusChart;
use crate::units::{fixed, unit};

/// The chart as a picture.
pub fn figure(chart: &RadiusChart) -> Figure {
    let [low, high] = chart.allowed_radius_m;
    // Room above the level for the name of the supply limit.
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
