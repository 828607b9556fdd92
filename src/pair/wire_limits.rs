//! The limits of a wire by its standard: smallest, nominal and largest diameters and resistance per length.
//!
//! For metric copper wire, the nominal resistance follows from 1/58.5 Ω·mm²/m and the nominal diameter. The smallest
//! follows from 1/59 and the thickest conductor, the largest from 1/58 and the thinnest. The rest of the program uses
//! 1/58 with the nominal diameter (IEC 60028), which is 0.86 % above nominal and lies within these limits.

use super::bench::Wire;
use super::wires::{Build, StockWire, stock_wires};
use crate::constants::Conductor;
use serde::Serialize;
use std::f64::consts::PI;

/// A value with its limits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Allowed {
    /// Smallest.
    pub least: f64,
    /// Expected.
    pub nominal: f64,
    /// Largest.
    pub most: f64,
}

impl Allowed {
    /// These limits, every value multiplied by a positive factor.
    pub fn times(self, factor: f64) -> Self {
        Self { least: factor * self.least, nominal: factor * self.nominal, most: factor * self.most }
    }
}

/// The limits of a wire.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WireLimits {
    /// Diameter of the bare conductor.
    pub bare_diameter_m: Allowed,
    /// Diameter over the enamel.
    pub overall_diameter_m: Allowed,
    /// Resistance per length at 20 °C.
    pub resistance_at_20_celsius_ohm_per_m: Allowed,
    /// Source of the limits of the diameters.
    pub diameter_source: &'static str,
    /// Source of the limits of the resistance.
    pub resistance_source: &'static str,
}

/// Conductivity of annealed copper wire, m/(Ω·mm²): for its largest, nominal and least resistance.
const COPPER_CONDUCTIVITY: [f64; 3] = [58.0, 58.5, 59.0];
/// What is printed beside the limits; the numbers are from memory.
const COPPER_SOURCE: &str =
    "IEC 60317-0-1: 1/58.5 Ω·mm²/m nominal, 1/59 and 1/58 at the limits of the diameter";
const GAUGE_COPPER_SOURCE: &str = "ASTM B258 with 1/58 Ω·mm²/m (100 % IACS); limits by ±1 % of the diameter and 1/59 (common practice, no source)";
/// Relative limit of the resistivity of aluminium wire about its nominal value (common practice, no source).
const ALUMINIUM_SPREAD: f64 = 0.01;
const ALUMINIUM_SOURCE: &str = "IEC 60121 for the resistivity, ±1 % of it (common practice, no source)";

/// Nominal diameter, limit of its error, smallest increase by grade 1 and by grade 2, micrometres (IEC 60317-0-1 table
/// 1: 315 and above read in GOST R IEC 60317-0-1-2022, ajdocs.ru/gsp/43119/8; below from memory).
const METRIC: [(f64, f64, f64, f64); 23] = [
    (200.0, 3.0, 14.0, 27.0),
    (224.0, 3.0, 15.0, 29.0),
    (250.0, 4.0, 17.0, 32.0),
    (280.0, 4.0, 18.0, 33.0),
    (315.0, 4.0, 19.0, 35.0),
    (355.0, 4.0, 20.0, 38.0),
    (400.0, 5.0, 21.0, 40.0),
    (450.0, 5.0, 22.0, 42.0),
    (500.0, 5.0, 24.0, 45.0),
    (560.0, 6.0, 25.0, 47.0),
    (630.0, 6.0, 27.0, 50.0),
    (710.0, 7.0, 28.0, 53.0),
    (800.0, 8.0, 30.0, 56.0),
    (900.0, 9.0, 32.0, 60.0),
    (1000.0, 10.0, 34.0, 63.0),
    (1120.0, 11.0, 34.0, 65.0),
    (1250.0, 13.0, 35.0, 67.0),
    (1400.0, 14.0, 36.0, 69.0),
    (1600.0, 16.0, 38.0, 71.0),
    (1800.0, 18.0, 39.0, 73.0),
    (2000.0, 20.0, 40.0, 75.0),
    (2240.0, 22.0, 41.0, 77.0),
    (2500.0, 25.0, 42.0, 79.0),
];
const METRIC_SOURCE: &str =
    "IEC 60317-0-1 table 1, conductor tolerance and least increase due to the insulation";

/// Relative limit of the bare diameter of other wire (as IEC 60317-0-1 allows from 0.4 mm on).
const BARE_SPREAD: f64 = 0.01;
/// Smallest diameter of gauge wire over its film, relative to the largest (common practice, no source).
const LEAST_OF_LARGEST: f64 = 0.97;
const GAUGE_SOURCE: &str = "NEMA MW 1000, largest diameter over the film; bare ±1 %, least 3 % below the largest (common practice, no source)";
/// Relative limit of a stated overall diameter (common practice, no source).
const OVERALL_SPREAD: f64 = 0.02;
const STATED_SOURCE: &str = "the spec's two diameters; bare ±1 %, overall ±2 % (common practice, no source)";

/// Resistivity of enamelled wire over the conductor's reference value, and its relative standard uncertainty: anywhere within
/// the limits above.
pub(crate) fn resistivity_of_wire(conductor: Conductor) -> [f64; 2] {
    let [least, most] = match conductor {
        Conductor::Copper => {
            let [largest, _, least] =
                COPPER_CONDUCTIVITY.map(|conductivity| COPPER_CONDUCTIVITY[0] / conductivity);
            [least, largest]
        }
        Conductor::Aluminium => [1.0 - ALUMINIUM_SPREAD, 1.0 + ALUMINIUM_SPREAD],
    };
    let middle = 0.5 * (least + most);
    [middle, 0.5 * (most - least) / middle / 3f64.sqrt()]
}

impl WireLimits {
    /// The limits of a wire: those of its standard for a stock wire, else those about the stated diameters.
    pub fn of(wire: &Wire) -> Self {
        let stock = wire.name.as_ref().and_then(|name| stock_wires().into_iter().find(|s| s.name() == *name));
        let (bare, overall, diameter_source) = diameters(wire, stock.as_ref());
        let gauge = stock.as_ref().is_some_and(|stock| stock.size.starts_with("AWG"));
        let (resistance, resistance_source) = resistance_ohm_per_m(wire.conductor, bare, gauge);
        Self {
            bare_diameter_m: bare,
            overall_diameter_m: overall,
            resistance_at_20_celsius_ohm_per_m: resistance,
            diameter_source,
            resistance_source,
        }
    }
}

/// Bare and overall diameter, and the source of their limits.
fn diameters(wire: &Wire, stock: Option<&StockWire>) -> (Allowed, Allowed, &'static str) {
    let about = |value: f64, part: f64| Allowed {
        least: value * (1.0 - part),
        nominal: value,
        most: value * (1.0 + part),
    };
    let bare = about(wire.bare_diameter_m, BARE_SPREAD);
    let most = wire.overall_diameter_m;
    let between = |least: f64| Allowed { least, nominal: 0.5 * (least + most), most };
    match stock {
        None => (bare, about(most, OVERALL_SPREAD), STATED_SOURCE),
        Some(stock) => match metric_row(stock) {
            None => (bare, between(LEAST_OF_LARGEST * most), GAUGE_SOURCE),
            Some((limit_m, increase_m)) => {
                let nominal = stock.bare_diameter_m;
                let bare = Allowed { least: nominal - limit_m, nominal, most: nominal + limit_m };
                (bare, between(bare.least + increase_m), METRIC_SOURCE)
            }
        },
    }
}

/// Limit of the bare diameter's error and smallest increase by the enamel. An intermediate size has those of the next
/// larger size in the table (common practice; the rule itself was not read).
fn metric_row(stock: &StockWire) -> Option<(f64, f64)> {
    let of_build = |row: &(f64, f64, f64, f64)| match stock.build {
        Build::Grade1 => Some(row.2),
        Build::Grade2 => Some(row.3),
        Build::Single | Build::Heavy => None,
    };
    // A nanometre covers the rounding of the sizes.
    let row = METRIC.iter().find(|row| row.0 * 1e-6 > stock.bare_diameter_m - 1e-9)?;
    Some((row.1 * 1e-6, of_build(row)? * 1e-6))
}

/// R' = ρ/(π d²/4), smallest and largest with the limits of both.
fn resistance_ohm_per_m(conductor: Conductor, bare: Allowed, gauge: bool) -> (Allowed, &'static str) {
    let ohm = |resistivity_ohm_m: f64, diameter_m: f64| resistivity_ohm_m / (0.25 * PI * diameter_m.powi(2));
    match conductor {
        Conductor::Copper => {
            let [largest, nominal, least] = COPPER_CONDUCTIVITY.map(|conductivity| 1e-6 / conductivity);
            let allowed = Allowed {
                least: ohm(least, bare.most),
                nominal: ohm(if gauge { largest } else { nominal }, bare.nominal),
                most: ohm(largest, bare.least),
            };
            (allowed, if gauge { GAUGE_COPPER_SOURCE } else { COPPER_SOURCE })
        }
        Conductor::Aluminium => {
            let resistivity = conductor.resistivity_at_20_celsius_ohm_m();
            let allowed = Allowed {
                least: ohm(resistivity * (1.0 - ALUMINIUM_SPREAD), bare.most),
                nominal: ohm(resistivity, bare.nominal),
                most: ohm(resistivity * (1.0 + ALUMINIUM_SPREAD), bare.least),
            };
            (allowed, ALUMINIUM_SOURCE)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::wires::stock_wire;
    use super::*;
    use approx::assert_relative_eq;

    fn limits(size: &str, build: Build) -> WireLimits {
        WireLimits::of(&stock_wire(size, build).unwrap().wire(Conductor::Copper, None))
    }

    #[test]
    fn metric_wire_has_the_nominal_and_limiting_resistances_that_makers_print() {
        // Ω/m at 20 °C of 0.5 and 1.0 mm wire, least, nominal, largest: makers' tables by IEC 60317 (from memory).
        for (size, least, nominal, most) in
            [("0.5 mm", 0.08462, 0.08706, 0.08959), ("1 mm", 0.02116, 0.02176, 0.02240)]
        {
            let ohm = limits(size, Build::Grade1).resistance_at_20_celsius_ohm_per_m;
            // Four digits are printed.
            assert_relative_eq!(ohm.least, least, max_relative = 3e-4);
            assert_relative_eq!(ohm.nominal, nominal, max_relative = 3e-4);
            assert_relative_eq!(ohm.most, most, max_relative = 3e-4);
        }
    }

    #[test]
    fn the_programs_own_resistance_is_0_86_percent_above_the_metric_nominal_one_and_within_the_limits() {
        for stock in stock_wires().into_iter().filter(|stock| !stock.size.starts_with("AWG")) {
            let own = stock.resistance_at_20_celsius_ohm_per_m(Conductor::Copper);
            let ohm = WireLimits::of(&stock.wire(Conductor::Copper, None)).resistance_at_20_celsius_ohm_per_m;
            // 58.5/58 = 1.00862.
            assert_relative_eq!(own / ohm.nominal, 58.5 / 58.0, max_relative = 1e-12);
            assert!(ohm.least < own && own < ohm.most, "{stock:?}");
        }
    }

    #[test]
    fn gauge_wire_has_the_published_resistance_as_its_nominal_one() {
        // NBS Circular 31, ohm per 1000 ft at 20 °C, which ASTM B258 keeps; four digits.
        for (size, ohm) in [("AWG 16", 4.016), ("AWG 19", 8.051), ("AWG 20", 10.15), ("AWG 24", 25.67)] {
            let found = limits(size, Build::Heavy).resistance_at_20_celsius_ohm_per_m.nominal;
            assert_relative_eq!(found * 304.8, ohm, max_relative = 3e-4);
        }
    }

    #[test]
    fn the_least_overall_diameter_is_that_of_the_thinnest_conductor_with_the_least_enamel() {
        // 0.9 mm grade 2: 0.891 + 0.060 to 0.989 mm (IEC 60317-0-1 table 1).
        let overall = limits("0.9 mm", Build::Grade2).overall_diameter_m;
        assert_relative_eq!(overall.least, 0.951e-3, max_relative = 1e-12);
        assert_relative_eq!(overall.most, 0.989e-3, max_relative = 1e-12);
        // 0.95 mm goes with 1.0 mm: 0.940 + 0.063.
        assert_relative_eq!(
            limits("0.95 mm", Build::Grade2).overall_diameter_m.least,
            1.003e-3,
            max_relative = 1e-12
        );
    }

    #[test]
    fn every_limit_is_in_order() {
        for stock in stock_wires() {
            for conductor in [Conductor::Copper, Conductor::Aluminium] {
                let limits = WireLimits::of(&stock.wire(conductor, None));
                for allowed in [
                    limits.bare_diameter_m,
                    limits.overall_diameter_m,
                    limits.resistance_at_20_celsius_ohm_per_m,
                ] {
                    assert!(allowed.least < allowed.nominal && allowed.nominal < allowed.most, "{stock:?}");
                }
                assert!(limits.bare_diameter_m.most < limits.overall_diameter_m.most, "{stock:?}");
            }
        }
    }
}
