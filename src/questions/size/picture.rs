//! The trade-off front of a search: least power against conductor mass.

use super::Sizing;
use crate::paper::{Axis, Chart, Figure, Measured};
use crate::units::{Dimension, Unit, display, unit};

/// Draws one front for each share of the wished deviation, and the best windings on them.
pub(crate) fn sizing_front(record: &Sizing) -> Figure {
    let lightest =
        record.front.iter().flat_map(|front| front.points.first()).map(|point| point.conductor_mass_kg);
    let least = record.front.iter().flat_map(|front| front.points.last()).map(|point| point.power_watt);
    let most = record.front.iter().flat_map(|front| front.points.first()).map(|point| point.power_watt);
    let (low_kg, low_watt) = (lightest.fold(f64::INFINITY, f64::min), least.fold(f64::INFINITY, f64::min));
    // Beyond eight times the lightest, more copper saves little power and would squeeze the knee into a corner.
    let high_kg = 8.0 * low_kg;
    let high_watt = most.fold(0.0, f64::max);
    let range = |low: f64, high: f64| [low - 0.05 * (high - low), high + 0.05 * (high - low)];
    let (mut mass, mut power) =
        (Axis::new("conductor mass of both coils", KILOGRAM), Axis::new("power at the largest field", WATT));
    if low_kg.is_finite() && high_watt > low_watt {
        mass = mass.over(range(low_kg, high_kg));
        power = power.over(range(low_watt.min(0.125 * high_watt), high_watt));
    }
    let mut chart = Chart::new(format!("What would do: {}", record.title), mass, power);
    for front in &record.front {
        let label = match front.beam_deviation {
            Some(limit) => format!("deviation within {}", display(limit, Dimension::Fraction, 2)),
            None => "least power".into(),
        };
        // A winding also stands for all heavier ones up to the next on the front.
        let mut stairs: Vec<[f64; 2]> = Vec::new();
        for point in front.points.iter().filter(|point| point.conductor_mass_kg <= high_kg) {
            if let Some([_, power]) = stairs.last().copied() {
                stairs.push([point.conductor_mass_kg, power]);
            }
            stairs.push([point.conductor_mass_kg, point.power_watt]);
        }
        chart.curve(label, stairs);
    }
    chart.points(
        "best of each wire and connection",
        record
            .best
            .iter()
            .filter(|choice| choice.conductor_mass_kg <= high_kg)
            .map(|choice| Measured::at(choice.conductor_mass_kg, choice.power_watt)),
    );
    chart.figure(&format!("{}; wishes \"{}\", {}", record.program, record.title, record.digest))
}

const KILOGRAM: Unit = unit::KILOGRAM;
const WATT: Unit = unit::WATT;
