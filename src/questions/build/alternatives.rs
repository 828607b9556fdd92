//! What the next stock sizes of wire would change in the same section: turns, resistance, field and current.

use super::request::Request;
use super::wire_order::WireOrder;
use crate::pair::circuit::wire_length_m;
use crate::pair::wires::{Build, StockWire, stock_wires};
use crate::pair::{Bench, Layout, Packing};
use crate::physics::build_error::field_constant_tesla_per_ampere;
use crate::physics::field::Assembly;
use crate::physics::heat::HeatedPair;
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::range::predicted_range_ampere;
use crate::physics::test_limits::{FreeEnds, pair_resistance_ohm};
use serde::Serialize;

/// The pair wound with one wire.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Alternative {
    /// How the wire compares with that of the spec.
    pub wire: WhichWire,
    /// Stock name of the wire. `None` if it is not a stock size.
    pub wire_name: Option<String>,
    /// How the number of turns was chosen.
    pub turns_are: WhichTurns,
    /// Turns per coil.
    pub turns: f64,
    /// What to order of it.
    pub to_order: WireOrder,
    /// Resistance of the connected pair at room temperature, without leads.
    pub resistance_ohm: f64,
    /// Field at the centre per ampere through the ammeter.
    pub field_constant_tesla_per_ampere: f64,
    /// The continuous current to rely on. `None` if the heating cannot be computed.
    pub continuous_current_ampere: Option<f64>,
    /// Field at the centre at that current.
    pub field_at_continuous_current_tesla: Option<f64>,
    /// Voltage at the pair at that current, estimated with the copper at room temperature.
    pub voltage_at_continuous_current_volt: Option<f64>,
}

/// How a wire compares with that of the spec.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhichWire {
    /// The wire of the spec itself.
    Spec,
    /// The next stock size up.
    NextThicker,
    /// The next stock size down.
    NextThinner,
}

/// How the number of turns was chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhichTurns {
    /// The turns of the design.
    AsDesigned,
    /// As many turns as the section holds.
    AsManyAsFit,
}

/// The pair as designed, then with the next thicker and the next thinner stock size. Each stock size is listed with the
/// design's turns if they fit, and with as many turns as fit if that is more or if the design's do not fit.
pub(super) fn alternatives(bench: &Bench, request: &Request, celsius: f64) -> Vec<Alternative> {
    let mut all = vec![alternative(bench, request, celsius, WhichWire::Spec, WhichTurns::AsDesigned)];
    let [thicker, thinner] = neighbours(bench);
    for (which, stock) in [(WhichWire::NextThicker, thicker), (WhichWire::NextThinner, thinner)] {
        let Some(stock) = stock else { continue };
        let mut other = bench.clone();
        other.winding.wire =
            stock.wire(bench.winding.wire.conductor, bench.winding.wire.thermal_class_celsius);
        other.winding.layers = None;
        other.winding.turns_per_layer = None;
        let layout = Layout::of(&other.winding);
        let same_fits = layout.fits_width() && layout.fits_depth();
        if same_fits {
            all.push(alternative(&other, request, celsius, which, WhichTurns::AsDesigned));
        }
        if let Some(turns) = turns_that_fit(&other).filter(|turns| !same_fits || *turns > bench.winding.turns)
        {
            other.winding.turns = turns;
            all.push(alternative(&other, request, celsius, which, WhichTurns::AsManyAsFit));
        }
    }
    all
}

/// The largest number of turns in whole layers that the section holds. `None` if it holds none.
fn turns_that_fit(bench: &Bench) -> Option<f64> {
    let winding = &bench.winding;
    let overall = winding.wire.overall_diameter_m;
    let whole = |x: f64| (x * (1.0 + 1e-9)).floor();
    let nested = winding.packing == Packing::Nested;
    let pitch = if nested { 3f64.sqrt() / 2.0 } else { 1.0 };
    let per_layer = whole((winding.width_m - if nested { 0.5 * overall } else { 0.0 }) / overall);
    let layers = 1.0 + whole((winding.depth_m - overall) / (pitch * overall));
    (per_layer >= 1.0 && layers >= 1.0).then_some(per_layer * layers)
}

fn alternative(
    bench: &Bench,
    request: &Request,
    celsius: f64,
    wire: WhichWire,
    turns_are: WhichTurns,
) -> Alternative {
    // As on the winding sheet: by the wire's standard, without free ends.
    let resistance_ohm = pair_resistance_ohm(bench, FreeEnds::Of(0.0), celsius).expected;
    let constant = field_constant_tesla_per_ampere(&Assembly::of(bench));
    let continuous = HeatedPair::of(bench)
        .and_then(|pair| predicted_range_ampere(bench, &pair, &TemperatureLimits::of(bench)))
        .map(|[low, _]| low)
        .ok();
    Alternative {
        wire,
        wire_name: bench.winding.wire.name.clone(),
        turns_are,
        turns: bench.winding.turns,
        to_order: WireOrder::of(bench, request, wire_length_m(&bench.winding, &bench.nominal_coil())),
        resistance_ohm,
        field_constant_tesla_per_ampere: constant,
        continuous_current_ampere: continuous,
        field_at_continuous_current_tesla: continuous.map(|ampere| ampere * constant),
        voltage_at_continuous_current_volt: continuous.map(|ampere| ampere * resistance_ohm),
    }
}

/// The next thicker and next thinner stock sizes, of the same family and build as the spec's wire. For a wire that is
/// not a stock size: metric sizes of the grade whose enamel is nearest in thickness.
fn neighbours(bench: &Bench) -> [Option<StockWire>; 2] {
    let wire = &bench.winding.wire;
    let all = stock_wires();
    let own = wire.name.as_ref().and_then(|name| all.iter().find(|stock| stock.name() == *name));
    let build = own.map_or_else(|| nearest_grade(bench, &all), |stock| stock.build);
    let bare = wire.bare_diameter_m;
    // The margin of half a micrometre excludes the wire's own size.
    let of_build = || all.iter().filter(|stock| stock.build == build);
    let thicker = of_build().rfind(|stock| stock.bare_diameter_m > bare + 0.5e-6).cloned();
    let thinner = of_build().find(|stock| stock.bare_diameter_m < bare - 0.5e-6).cloned();
    [thicker, thinner]
}

fn nearest_grade(bench: &Bench, all: &[StockWire]) -> Build {
    let wire = &bench.winding.wire;
    let grown = wire.overall_diameter_m - wire.bare_diameter_m;
    let increase = |build: Build| {
        let of_build = all.iter().filter(|stock| stock.build == build);
        let nearest = of_build.min_by(|one, other| {
            let apart = |stock: &StockWire| (stock.bare_diameter_m - wire.bare_diameter_m).abs();
            apart(one).total_cmp(&apart(other))
        });
        nearest
            .map_or(f64::INFINITY, |stock| (stock.overall_diameter_m - stock.bare_diameter_m - grown).abs())
    };
    if increase(Build::Grade1) < increase(Build::Grade2) { Build::Grade1 } else { Build::Grade2 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Conductor;
    use crate::pair::wires::stock_wire;
    use crate::pair::{Winding, Wire};
    use approx::assert_relative_eq;

    fn bench(wire: Wire) -> Bench {
        Bench::unchecked("Pair", Winding::new(0.16, 0.015, 0.010, 150.0, wire), 0.16)
    }

    #[test]
    fn the_next_sizes_of_the_same_family_and_build_are_offered() {
        let own = stock_wire("0.9 mm", Build::Grade2).unwrap().wire(Conductor::Copper, Some(155.0));
        let found = alternatives(&bench(own), &Request::default(), 20.0);
        let names: Vec<_> =
            found.iter().map(|found| (found.wire_name.clone().unwrap(), found.turns)).collect();
        // 0.95 mm grade 2 has an overall diameter of 1.044 mm: 14 × 9 turns fit. 0.85 mm has 0.939 mm: the 15 × 10 of
        // the design fit.
        assert_eq!(names[0], ("0.9 mm grade 2".into(), 150.0));
        assert_eq!(names[1], ("0.95 mm grade 2".into(), 126.0));
        assert_eq!(names[2], ("0.85 mm grade 2".into(), 150.0));
        assert_eq!(names.len(), 3);
        // Same turns and section: the field is the same, and the resistance changes by the ratio of areas, (0.9/0.85)².
        assert_relative_eq!(
            found[2].field_constant_tesla_per_ampere,
            found[0].field_constant_tesla_per_ampere,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            found[2].resistance_ohm / found[0].resistance_ohm,
            (0.9f64 / 0.85).powi(2),
            max_relative = 1e-12
        );
        // Thinner wire of the same turns is as long and lighter by the ratio of areas; 126 turns are shorter than 150.
        let [own, thicker, thinner] = [0, 1, 2].map(|i| &found[i].to_order);
        assert_relative_eq!(thinner.wound_per_coil_m, own.wound_per_coil_m, max_relative = 1e-12);
        assert_relative_eq!(
            own.bare_wound_per_coil_kg / thinner.bare_wound_per_coil_kg,
            (0.9f64 / 0.85).powi(2),
            max_relative = 1e-12
        );
        assert_relative_eq!(
            thicker.wound_per_coil_m / own.wound_per_coil_m,
            126.0 / 150.0,
            max_relative = 1e-12
        );
        for order in [own, thicker, thinner] {
            let reels = order.reels.unwrap();
            let bought = f64::from(reels.count) * reels.each_kg;
            assert_relative_eq!(
                bought - reels.left_kg,
                2.0 * order.enamelled_needed_per_coil_kg,
                max_relative = 1e-12
            );
        }
        // The thicker wire carries more current.
        assert!(found[1].continuous_current_ampere > found[0].continuous_current_ampere);
    }

    #[test]
    fn wire_that_is_not_in_stock_has_metric_neighbours_and_the_ends_of_the_list_have_one() {
        let [thicker, thinner] = neighbours(&bench(Wire::copper(0.92e-3, 0.975e-3)));
        assert_eq!(thicker.unwrap().name(), "0.95 mm grade 1");
        assert_eq!(thinner.unwrap().name(), "0.9 mm grade 1");
        let [thicker, thinner] = neighbours(&bench(Wire::copper(5e-3, 5.1e-3)));
        assert_eq!((thicker, thinner.unwrap().size.as_str()), (None, "2.5 mm"));
    }
}
