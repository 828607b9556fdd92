//! The trade-off front of a search: least power against conductor mass.

use super::telling::HEAVIEST;
use super::{Choice, Front, Sizing};
use crate::paper::{Axis, Chart, Figure, Measured};
use crate::units::{Dimension, Unit, display, unit};

/// Draws one front for each share of the wished deviation, and the best windings on them.
pub(crate) fn sizing_front(record: &Sizing) -> Figure {
    let Sizing { source, front, best, along_front, .. } = record;
    chart(&source.title, front, best, along_front).figure(&source.on_page("wishes"))
}

/// Where the picture of the front shows each winding.
#[derive(Clone, Debug, PartialEq)]
pub struct FrontPlaces {
    /// Width and height of the picture.
    pub sheet: [f64; 2],
    /// Place of each winding, right and down. `None` for one that is too heavy to be shown.
    pub places: Vec<Option<[f64; 2]>>,
}

/// The places of the best windings, followed by those along the front, in its picture.
pub fn front_places(title: &str, fronts: &[Front], best: &[Choice], along: &[Choice]) -> FrontPlaces {
    let (sheet, at) = chart(title, fronts, best, along).on_its_sheet();
    let heaviest_kg = heaviest_shown_kg(fronts);
    let place = |choice: &Choice| {
        (choice.conductor_mass_kg <= heaviest_kg).then(|| at([choice.conductor_mass_kg, choice.power_watt]))
    };
    FrontPlaces { sheet, places: best.iter().chain(along).map(place).collect() }
}

/// Heavier windings would squeeze the knee into a corner.
fn heaviest_shown_kg(fronts: &[Front]) -> f64 {
    let lightest = fronts.iter().flat_map(|front| front.points.first()).map(|point| point.conductor_mass_kg);
    HEAVIEST * lightest.fold(f64::INFINITY, f64::min)
}

fn chart(title: &str, fronts: &[Front], best: &[Choice], along: &[Choice]) -> Chart {
    let lightest = fronts.iter().flat_map(|front| front.points.first()).map(|point| point.conductor_mass_kg);
    let least = fronts.iter().flat_map(|front| front.points.last()).map(|point| point.power_watt);
    let most = fronts.iter().flat_map(|front| front.points.first()).map(|point| point.power_watt);
    let (low_kg, low_watt) = (lightest.fold(f64::INFINITY, f64::min), least.fold(f64::INFINITY, f64::min));
    let high_kg = heaviest_shown_kg(fronts);
    let high_watt = most.fold(0.0, f64::max);
    let range = |low: f64, high: f64| [low - 0.05 * (high - low), high + 0.05 * (high - low)];
    let (mut mass, mut power) =
        (Axis::new("conductor mass of both coils", KILOGRAM), Axis::new("power at the largest field", WATT));
    if low_kg.is_finite() && high_watt > low_watt {
        mass = mass.over(range(low_kg, high_kg));
        power = power.over(range(low_watt.min(0.125 * high_watt), high_watt));
    }
    let mut chart = Chart::new(format!("What would do: {title}"), mass, power);
    for front in fronts {
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
    for (label, choices) in [("best of each wire and connection", best), ("along the front", along)] {
        let shown = choices.iter().filter(|choice| choice.conductor_mass_kg <= high_kg);
        let points = shown.map(|choice| Measured::at(choice.conductor_mass_kg, choice.power_watt));
        if !choices.is_empty() {
            chart.points(label, points);
        }
    }
    chart
}

const KILOGRAM: Unit = unit::KILOGRAM;
const WATT: Unit = unit::WATT;
