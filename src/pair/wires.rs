//! Stock wires: enamelled round wire as sold, by gauge or by metric size.
//!
//! The overall diameter is the largest that the standard allows, so a winding planned with it fits.

use super::bench::Wire;
use crate::constants::Conductor;
use crate::units::{Dimension, display, parse};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How thick the enamel is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
pub enum Build {
    /// Metric wire, thin enamel.
    #[serde(rename = "grade 1")]
    Grade1,
    /// Metric wire, thick enamel.
    #[serde(rename = "grade 2")]
    Grade2,
    /// Gauge wire, thin enamel.
    #[serde(rename = "single")]
    Single,
    /// Gauge wire, thick enamel.
    #[serde(rename = "heavy")]
    Heavy,
}

/// One wire from stock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StockWire {
    /// As a spec names it: `AWG 19` or `0.95 mm`.
    pub size: String,
    /// How thick the enamel is.
    pub build: Build,
    /// Nominal diameter of the bare conductor.
    pub bare_diameter_m: f64,
    /// Largest diameter over the enamel.
    pub overall_diameter_m: f64,
    /// The table that the overall diameter comes from.
    pub source: &'static str,
    /// How the figure was obtained: `read` in a published source, or `from memory`.
    pub status: &'static str,
}

/// Where the gauge diameters come from.
pub(crate) const GAUGE_SOURCE: &str = "bare diameter 0.005 in × 92^((36 − n)/39): ASTM B258";
const SINGLE: Origin = Origin {
    source: "NEMA MW 1000, single film, largest diameter",
    status: "read in a maker's table (issuu.com/centelsa/docs/magnet-wire/10)",
};
const HEAVY: Origin = Origin {
    source: "NEMA MW 1000, heavy film, largest diameter",
    status: "common practice; the standard itself was not read",
};
const METRIC: Origin = Origin {
    source: "IEC 60317-0-1 table 1, largest diameter",
    status: "read in GOST R IEC 60317-0-1-2022 (ajdocs.ru/gsp/43119/8)",
};
const METRIC_REMEMBERED: Origin =
    Origin { source: METRIC.source, status: "common practice; the standard itself was not read" };
const INTERMEDIATE_ORIGIN: Origin = Origin {
    source: "IEC 60317-0-1, intermediate size: enamel as of the next larger size of table 1",
    status: "common practice; the rule itself was not read",
};

/// The source of a figure, and how it was obtained.
#[derive(Clone, Copy)]
struct Origin {
    source: &'static str,
    status: &'static str,
}

/// Gauge, largest overall diameter of single and of heavy film, thousandths of an inch.
const GAUGES: [(u8, f64, f64); 17] = [
    (14, 66.6, 68.2),
    (15, 59.4, 60.9),
    (16, 53.1, 54.5),
    (17, 47.5, 48.8),
    (18, 42.4, 43.7),
    (19, 37.9, 39.1),
    (20, 33.9, 35.1),
    (21, 30.3, 31.4),
    (22, 27.0, 28.1),
    (23, 24.3, 25.3),
    (24, 21.7, 22.7),
    (25, 19.4, 20.3),
    (26, 17.3, 18.2),
    (27, 15.6, 16.5),
    (28, 14.0, 14.8),
    (29, 12.6, 13.4),
    (30, 11.2, 12.0),
];

/// Nominal diameter, largest overall diameter of grade 1 and of grade 2, micrometres; whether it was read.
const PREFERRED: [(u32, u32, u32, bool); 23] = [
    (200, 226, 239, false),
    (224, 252, 266, false),
    (250, 281, 297, false),
    (280, 312, 329, false),
    (315, 349, 367, true),
    (355, 392, 411, true),
    (400, 439, 459, true),
    (450, 491, 513, true),
    (500, 544, 566, true),
    (560, 606, 630, true),
    (630, 679, 704, true),
    (710, 762, 789, true),
    (800, 855, 884, true),
    (900, 959, 989, true),
    (1000, 1062, 1094, true),
    (1120, 1184, 1217, true),
    (1250, 1316, 1349, true),
    (1400, 1468, 1502, true),
    (1600, 1670, 1706, true),
    (1800, 1872, 1909, true),
    (2000, 2074, 2112, true),
    (2240, 2316, 2355, true),
    (2500, 2578, 2618, true),
];

/// Intermediate metric sizes, micrometres. The R 40 series of ISO 3 between the sizes of table 1.
const INTERMEDIATE: [u32; 22] = [
    212, 236, 265, 300, 335, 375, 425, 475, 530, 600, 670, 750, 850, 950, 1060, 1180, 1320, 1500, 1700, 1900,
    2120, 2360,
];

/// Diameter of a bare wire of a gauge: 0.005 in × 92^((36 − n)/39) (ASTM B258).
pub(crate) fn gauge_diameter_m(gauge: f64) -> f64 {
    const INCH_M: f64 = 0.0254;
    0.005 * INCH_M * 92f64.powf((36.0 - gauge) / 39.0)
}

impl StockWire {
    /// The usual name: `AWG 19 heavy`, `0.95 mm grade 2`.
    pub fn name(&self) -> String {
        format!("{} {}", self.size, self.build.name())
    }

    /// This stock wire as the wire of a spec.
    pub fn wire(&self, conductor: Conductor, thermal_class_celsius: Option<f64>) -> Wire {
        Wire {
            name: Some(self.name()),
            conductor,
            bare_diameter_m: self.bare_diameter_m,
            overall_diameter_m: self.overall_diameter_m,
            thermal_class_celsius,
        }
    }

    /// Mass of the bare conductor per length.
    pub(crate) fn conductor_kg_per_m(&self, conductor: Conductor) -> f64 {
        conductor.density_kg_per_m3() * self.wire(conductor, None).conductor_area_m2()
    }

    /// Resistance per length at 20 °C.
    pub fn resistance_at_20_celsius_ohm_per_m(&self, conductor: Conductor) -> f64 {
        conductor.resistivity_at_20_celsius_ohm_m() / self.wire(conductor, None).conductor_area_m2()
    }
}

impl Build {
    /// The usual name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Grade1 => "grade 1",
            Self::Grade2 => "grade 2",
            Self::Single => "single",
            Self::Heavy => "heavy",
        }
    }
}

/// A stock wire with its mass and resistance per metre.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WireRecord {
    /// The wire.
    #[serde(flatten)]
    pub wire: StockWire,
    /// What it is made of.
    pub conductor: Conductor,
    /// Mass of the bare conductor per length.
    pub conductor_kg_per_m: f64,
    /// Resistance per length at 20 °C.
    pub resistance_at_20_celsius_ohm_per_m: f64,
}

/// The stock wires as `wires` lists them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WireList {
    /// The bare diameter asked for.
    pub near_m: Option<f64>,
    /// Where the bare diameters of gauges come from.
    pub gauge_source: &'static str,
    /// The wires: gauges before metric sizes, thickest first; nearest first if a diameter was asked for.
    pub wires: Vec<WireRecord>,
}

impl WireList {
    /// Most sizes listed near a diameter.
    const NEAREST_SIZES: usize = 6;

    /// All stock wires, or the sizes whose bare diameter is nearest to `near_m`.
    pub fn new(near_m: Option<f64>, conductor: Conductor) -> Self {
        let mut wires = stock_wires();
        match near_m {
            None => wires.sort_by_key(|wire| !wire.size.starts_with("AWG")),
            Some(near) => {
                let distance = |wire: &StockWire| (wire.bare_diameter_m - near).abs();
                wires.sort_by(|one, other| distance(one).total_cmp(&distance(other)));
                // Every size comes in two builds.
                wires.truncate(2 * Self::NEAREST_SIZES);
            }
        }
        let record = |wire: StockWire| WireRecord {
            conductor,
            conductor_kg_per_m: wire.conductor_kg_per_m(conductor),
            resistance_at_20_celsius_ohm_per_m: wire.resistance_at_20_celsius_ohm_per_m(conductor),
            wire,
        };
        Self { near_m, gauge_source: GAUGE_SOURCE, wires: wires.into_iter().map(record).collect() }
    }
}

/// Every known stock wire, thickest conductor first.
pub fn stock_wires() -> Vec<StockWire> {
    let mut wires: Vec<StockWire> = gauge_wires().chain(metric_wires()).collect();
    wires.sort_by(|one, other| {
        other
            .bare_diameter_m
            .total_cmp(&one.bare_diameter_m)
            .then(one.overall_diameter_m.total_cmp(&other.overall_diameter_m))
    });
    wires
}

fn gauge_wires() -> impl Iterator<Item = StockWire> {
    GAUGES.iter().flat_map(|&(gauge, single, heavy)| {
        [(Build::Single, single, SINGLE), (Build::Heavy, heavy, HEAVY)].map(
            |(build, overall_mil, Origin { source, status })| StockWire {
                size: format!("AWG {gauge}"),
                build,
                bare_diameter_m: gauge_diameter_m(f64::from(gauge)),
                overall_diameter_m: overall_mil * 25.4 / 1e6,
                source,
                status,
            },
        )
    })
}

fn metric_wires() -> impl Iterator<Item = StockWire> {
    let preferred = PREFERRED.iter().map(|&(bare, grade_1, grade_2, read)| {
        (bare, grade_1, grade_2, if read { METRIC } else { METRIC_REMEMBERED })
    });
    let intermediate = INTERMEDIATE.iter().filter_map(|&bare| {
        let &(next, grade_1, grade_2, _) = PREFERRED.iter().find(|(preferred, ..)| *preferred > bare)?;
        Some((bare, bare + grade_1 - next, bare + grade_2 - next, INTERMEDIATE_ORIGIN))
    });
    preferred.chain(intermediate).flat_map(|(bare, grade_1, grade_2, Origin { source, status })| {
        [(Build::Grade1, grade_1), (Build::Grade2, grade_2)].map(|(build, overall)| StockWire {
            size: format!("{} mm", f64::from(bare) / 1e3),
            build,
            bare_diameter_m: f64::from(bare) / 1e6,
            overall_diameter_m: f64::from(overall) / 1e6,
            source,
            status,
        })
    })
}

/// The stock wire that a spec names, or the error and a hint at the nearest sizes.
pub(crate) fn stock_wire(size: &str, build: Build) -> Result<StockWire, (String, String)> {
    let wires = stock_wires();
    let (same_size, diameter_m, builds): (Vec<_>, f64, _) = match gauge_of(size) {
        Some(gauge) => {
            let name = format!("AWG {gauge}");
            let same = wires.iter().filter(|wire| wire.size == name).collect();
            (same, gauge_diameter_m(f64::from(gauge)), [Build::Single, Build::Heavy])
        }
        None => {
            let diameter = parse(size, Dimension::Length).map_err(|_| {
                (
                    format!("`{}` is no wire size", crate::units::shortened(size)),
                    "write a gauge such as `AWG 20` or a metric size such as `0.9 mm`".to_owned(),
                )
            })?;
            // No two sizes are within a nanometre; the allowance covers the rounding of a size in other units.
            let same = wires
                .iter()
                .filter(|wire| {
                    !wire.size.starts_with("AWG") && (wire.bare_diameter_m - diameter).abs() < 1e-9
                })
                .collect();
            (same, diameter, [Build::Grade1, Build::Grade2])
        }
    };
    if let Some(wire) = same_size.iter().find(|wire| wire.build == build) {
        return Ok((*wire).clone());
    }
    let size = crate::units::shortened(size);
    if !same_size.is_empty() {
        let names = builds.map(|build| format!("`{}`", build.name())).join(" and ");
        return Err((
            format!("`{size}` wire has no build `{}`", build.name()),
            format!("builds of this size: {names}"),
        ));
    }
    let nearest = nearest_wires(&wires, diameter_m, builds[0], 3);
    Err((
        format!("`{size}` is not a stock size"),
        format!("nearest: {}; or give `bare_diameter` and `overall_diameter`", nearest.join(", ")),
    ))
}

/// The sizes nearest to a diameter, in one build.
fn nearest_wires(wires: &[StockWire], diameter_m: f64, build: Build, count: usize) -> Vec<String> {
    let mut same: Vec<_> = wires.iter().filter(|wire| wire.build == build).collect();
    same.sort_by(|one, other| {
        let distance = |wire: &StockWire| (wire.bare_diameter_m - diameter_m).abs();
        distance(one).total_cmp(&distance(other))
    });
    same.iter()
        .take(count)
        .map(|wire| match wire.build {
            Build::Single | Build::Heavy => {
                format!("`{}` ({})", wire.size, display(wire.bare_diameter_m, Dimension::Length, 3))
            }
            _ => format!("`{}`", wire.size),
        })
        .collect()
}

/// The number of `AWG 19`, `19 AWG` or `awg19`.
fn gauge_of(size: &str) -> Option<u8> {
    let upper = size.trim().to_ascii_uppercase();
    let number = upper.strip_prefix("AWG").or_else(|| upper.strip_suffix("AWG"))?;
    number.trim().parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn gauges_have_the_resistance_and_mass_of_the_published_table() {
        // NBS Circular 31, ohm and pound per 1000 ft at 20 °C (ohm column and pounds 16 to 23 read in public
        // copies, pounds of 24 and 30 from memory).
        const FOOT_M: f64 = 0.3048;
        const POUND_KG: f64 = 0.453_592_37;
        for (gauge, ohm, pound) in [
            (16, 4.016, 7.818),
            (18, 6.385, 4.917),
            (20, 10.15, 3.092),
            (22, 16.14, 1.945),
            (24, 25.67, 1.223),
            (30, 103.2, 0.3042),
        ] {
            let wire = stock_wire(&format!("AWG {gauge}"), Build::Heavy).unwrap();
            let copper = Conductor::Copper;
            // The table has four digits.
            let per_1000_ft = wire.resistance_at_20_celsius_ohm_per_m(copper) * 1000.0 * FOOT_M;
            assert_relative_eq!(per_1000_ft, ohm, max_relative = 3e-4);
            let pounds = wire.conductor_kg_per_m(copper) * 1000.0 * FOOT_M / POUND_KG;
            assert_relative_eq!(pounds, pound, max_relative = 3e-4);
        }
    }

    #[test]
    fn every_size_grows_with_its_build_and_its_conductor() {
        for build in [Build::Single, Build::Heavy, Build::Grade1, Build::Grade2] {
            let wires: Vec<_> = stock_wires().into_iter().filter(|wire| wire.build == build).collect();
            assert!(wires.len() >= 17);
            for pair in wires.windows(2) {
                assert!(pair[0].bare_diameter_m > pair[1].bare_diameter_m);
                assert!(pair[0].overall_diameter_m > pair[1].overall_diameter_m, "{pair:?}");
            }
            for wire in wires {
                let enamel = wire.overall_diameter_m - wire.bare_diameter_m;
                assert!(enamel > 0.0 && enamel < 0.2 * wire.bare_diameter_m, "{wire:?}");
            }
        }
    }

    #[test]
    fn heavy_film_exceeds_the_published_least_increase() {
        // Least increase of heavy film, thousandths of an inch, and largest bare diameter: a maker's table of
        // NEMA MW 1000 (issuu.com/centelsa/docs/magnet-wire/10).
        for (gauge, largest_bare, increase) in
            [(14, 64.4, 3.2), (18, 40.5, 2.6), (22, 25.4, 2.1), (26, 16.0, 1.7), (30, 10.1, 1.4)]
        {
            let wire = stock_wire(&format!("AWG {gauge}"), Build::Heavy).unwrap();
            let overall_mil = wire.overall_diameter_m / 25.4e-6;
            let room = overall_mil - (largest_bare + increase);
            assert!((0.0..=1.0).contains(&room), "AWG {gauge}: {room}");
        }
    }

    #[test]
    fn a_size_is_found_however_it_is_written() {
        for size in ["AWG 19", "awg19", "19 AWG"] {
            assert_eq!(stock_wire(size, Build::Heavy).unwrap().name(), "AWG 19 heavy");
        }
        for size in ["0.95 mm", "0.950mm", "950 um"] {
            let wire = stock_wire(size, Build::Grade2).unwrap();
            assert_eq!(wire.name(), "0.95 mm grade 2");
            // From memory: makers' tables print 1.044 mm for this size.
            assert_relative_eq!(wire.overall_diameter_m, 1.044e-3, max_relative = 1e-12);
        }
    }

    #[test]
    fn a_size_not_in_stock_names_its_neighbours() {
        let (message, hint) = stock_wire("0.92 mm", Build::Grade1).unwrap_err();
        assert_eq!(message, "`0.92 mm` is not a stock size");
        assert!(hint.starts_with("nearest: `0.9 mm`, `0.95 mm`, `0.85 mm`;"), "{hint}");
        let (message, hint) = stock_wire("AWG 20", Build::Grade1).unwrap_err();
        assert_eq!(message, "`AWG 20` wire has no build `grade 1`");
        assert_eq!(hint, "builds of this size: `single` and `heavy`");
        assert!(stock_wire("thick", Build::Single).is_err());
        assert!(stock_wire("AWG 99", Build::Single).is_err());
    }
}
