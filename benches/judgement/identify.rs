//! `identify`: pairs of any stock wire measured with ordinary meters, with one gross slip or none.

use super::count::Said;
use coilwright::constants::Conductor;
use coilwright::files::spec::{Measured, MeasuredValue};
use coilwright::numeric::random::SampleGenerator;
use coilwright::pair::wires::{StockWire, stock_wires};
use coilwright::pair::{Bench, Coil, Connection, Winding, circuit};
use coilwright::physics::electrical;
use coilwright::physics::field::{Assembly, PreparedPair};
use coilwright::questions::identify::{Slip, identify};
use nalgebra::Vector3;
use rayon::prelude::*;

/// Relative standard uncertainties of the meters: resistance, field, inductance; of the wire's diameter; of lengths.
const RELATIVE: [f64; 3] = [0.002, 0.01, 0.01];
const WIRE_M: f64 = 5e-6;
const LENGTH_M: f64 = 0.3e-3;

/// The slips.
pub const SLIPS: [Slip; 7] = [
    Slip::GaussForMillitesla,
    Slip::MilliteslaForGauss,
    Slip::Connection { really: Connection::Parallel },
    Slip::Aluminium,
    Slip::RadiusForDiameter,
    Slip::CoilReversed,
    Slip::LeadsCounted { lead_ohm: 0.0 },
];

/// A pair of whole layers, and the stock wire that it is wound with.
fn pair(wires: &[StockWire], conductor: Conductor, random: &mut SampleGenerator) -> (Bench, String) {
    let stock = loop {
        let stock = &wires[random.whole(wires.len())];
        if (0.5e-3..1.8e-3).contains(&stock.bare_diameter_m) {
            break stock;
        }
    };
    let mut wire = stock.wire(conductor, None);
    wire.bare_diameter_m *= 1.0 + random.rectangular(0.01);
    wire.overall_diameter_m *= 0.985 + random.rectangular(0.015);
    let layers = 6 + random.whole(10);
    let per_layer = layers + random.whole(layers);
    let turns = (layers * per_layer) as f64;
    let radius = 0.1 + 0.1 * random.unit();
    let packed = wire.overall_diameter_m * (1.0 + 0.04 * random.unit());
    let winding = Winding::new(radius, per_layer as f64 * packed, layers as f64 * packed, turns, wire);
    let spacing = radius * (1.0 + random.rectangular(0.02));
    (Bench::bare("Unlabelled", winding, spacing).expect("a pair that can be wound"), stock.name())
}

fn measured(bench: &Bench, random: &mut SampleGenerator) -> Measured {
    let assembly = Assembly::of(bench);
    let coil: Coil = bench.coils()[0].clone();
    let mut read = |value: f64, standard_uncertainty: f64| {
        Some(MeasuredValue { value: value + random.normal(standard_uncertainty), standard_uncertainty })
    };
    let ohm = circuit::circuit_resistance_ohm(bench, 20.0);
    let field = assembly.field_per_ampere(&Vector3::zeros()).z;
    let henry = electrical::inductances(&PreparedPair::of(bench)).pair_henry;
    // A cancelled field is read to what the probe resolves.
    let one_coil = 0.5e-6 * coil.turns / coil.mean_radius_m;
    Measured {
        connection: Some(bench.connection),
        resistance_ohm: read(ohm, RELATIVE[0] * ohm),
        overall_wire_diameter_m: read(bench.winding.wire.overall_diameter_m, WIRE_M),
        inner_diameter_m: read(2.0 * coil.mean_radius_m - coil.depth_m, LENGTH_M),
        outer_diameter_m: read(2.0 * coil.mean_radius_m + coil.depth_m, LENGTH_M),
        width_m: read(coil.width_m, LENGTH_M),
        spacing_m: read(bench.spacing_m, LENGTH_M),
        field_tesla_per_ampere: read(field, RELATIVE[1] * field.abs().max(one_coil)),
        inductance_henry: read(henry, RELATIVE[2] * henry),
        ..Measured::nothing("Cupboard")
    }
}

fn scale(reading: &mut Option<MeasuredValue>, factor: f64) {
    if let Some(reading) = reading {
        reading.value *= factor;
        reading.standard_uncertainty *= factor;
    }
}

/// What is said of one pair: of slips, and of the turns.
pub struct Identified {
    pub slips: Said,
    pub turns: Said,
}

fn same(one: Slip, other: Slip) -> bool {
    match (one, other) {
        (Slip::LeadsCounted { .. }, Slip::LeadsCounted { .. }) => true,
        _ => one == other,
    }
}

/// Pairs with this slip, or none.
pub fn identified(slip: Option<Slip>, seed: u64, count: u64) -> Vec<Identified> {
    let wires = stock_wires();
    let one = |case| {
        let mut random = SampleGenerator::new(seed, case);
        let conductor = if slip == Some(Slip::Aluminium) { Conductor::Aluminium } else { Conductor::Copper };
        let (mut bench, _) = pair(&wires, conductor, &mut random);
        let turns = bench.winding.turns as u32;
        match slip {
            Some(Slip::Connection { really }) => bench.connection = really,
            Some(Slip::CoilReversed) => {
                let mut coils = bench.coils();
                coils[1].sense = -1.0;
                bench.set_coils(coils);
            }
            _ => {}
        }
        let mut measured = measured(&bench, &mut random);
        match slip {
            Some(Slip::GaussForMillitesla) => scale(&mut measured.field_tesla_per_ampere, 10.0),
            Some(Slip::MilliteslaForGauss) => scale(&mut measured.field_tesla_per_ampere, 0.1),
            Some(Slip::Connection { .. }) => measured.connection = Some(Connection::Series),
            Some(Slip::RadiusForDiameter) => {
                scale(&mut measured.inner_diameter_m, 0.5);
                scale(&mut measured.outer_diameter_m, 0.5);
            }
            Some(Slip::LeadsCounted { .. }) => {
                let ohm = measured.resistance_ohm.as_mut().expect("a resistance");
                ohm.value += (0.12 + 0.2 * random.unit()) * ohm.value;
            }
            _ => {}
        }
        let found = identify(&measured).expect("dimensions");
        let slips: Vec<(f64, bool)> = found
            .slips
            .iter()
            .map(|it| (it.probability, slip.is_some_and(|slip| same(slip, it.slip))))
            .collect();
        let of_turns: Vec<(f64, bool)> =
            found.turns.iter().map(|it| (it.probability, it.turns == turns)).collect();
        Identified {
            slips: Said { stated: slips.clone(), findings: slips },
            turns: Said { stated: of_turns.clone(), findings: of_turns },
        }
    };
    (0..count).into_par_iter().map(one).collect()
}
