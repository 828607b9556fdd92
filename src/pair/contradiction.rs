//! A contradiction within a spec: a coil's stated resistance differs from the one that its wire, turns and radius give.

use super::bench::{Bench, Coil};
use super::circuit::wire_length_m;
use crate::error::ResistanceContradiction;

/// A stated resistance that differs by more than this from the wire's means other turns or another wire (common
/// practice, no source). Wire within its standard stays within 2 %.
const LARGEST_RESISTANCE_DIFFERENCE: f64 = 0.15;

/// All such contradictions of a bench; empty if there are none.
pub fn resistance_contradictions(bench: &Bench) -> Vec<ResistanceContradiction> {
    let coils = bench.as_built.iter().flatten();
    ["a", "b"].into_iter().zip(coils).filter_map(|(name, coil)| of_coil(bench, name, coil)).collect()
}

fn of_coil(bench: &Bench, name: &'static str, coil: &Coil) -> Option<ResistanceContradiction> {
    let stated = coil.resistance?;
    let wire = &bench.winding.wire;
    let by_wire_ohm = wire.conductor.resistivity_at_20_celsius_ohm_m() * wire_length_m(&bench.winding, coil)
        / wire.conductor_area_m2()
        * wire.conductor.resistance_ratio(stated.at_celsius);
    ((stated.ohm / by_wire_ohm - 1.0).abs() > LARGEST_RESISTANCE_DIFFERENCE).then_some(
        ResistanceContradiction {
            coil: name,
            stated_ohm: stated.ohm,
            by_wire_ohm,
            at_celsius: stated.at_celsius,
            turns: coil.turns,
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::MeasuredResistance;
    use std::f64::consts::TAU;

    #[test]
    fn a_stated_resistance_is_held_against_the_wires_own() {
        let mut bench = Bench::thin_pair();
        assert_eq!(resistance_contradictions(&bench), []);
        bench.as_built = Some(bench.coils());
        // ρ 2π R N/A with ρ = 1/58 Ω mm²/m (IEC 60028).
        let area_mm2 = 1e6 * bench.winding.wire.conductor_area_m2();
        let own = TAU * bench.winding.mean_radius_m * bench.winding.turns / 58.0 / area_mm2;
        for (ohm, found) in [(own, 0), (1.14 * own, 0), (1.16 * own, 1), (0.4 * own, 1)] {
            for coil in bench.as_built.iter_mut().flatten().take(1) {
                coil.resistance = Some(MeasuredResistance { ohm, at_celsius: 20.0 });
            }
            let contradictions = resistance_contradictions(&bench);
            assert_eq!(contradictions.len(), found, "{ohm}");
            assert!(
                contradictions.iter().all(|it| (it.by_wire_ohm / own - 1.0).abs() < 1e-12 && it.coil == "a")
            );
        }
    }
}
