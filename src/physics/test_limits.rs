//! What a pair that is built as its spec says shows when it is tested: each quantity with the limits that follow from
//! the build's tolerance and from what the standard allows the wire.
//!
//! A limit lies two standard uncertainties of the build from the value, as in a coverage interval of 95 %
//! (JCGM 100:2008, 6.2). Resistance is bounded by the wire's standard instead, whose limits are hard. The uncertainty of
//! the measurement is not in here: it belongs to the decision rule.

use super::build_error::{BuildParameter, field_constant_tesla_per_ampere};
use super::electrical;
use super::field::Assembly;
use crate::pair::{Allowed, Bench, BuildTolerance, Connection, WireLimits, circuit};
use serde::Serialize;

/// A quantity that is tested, with what it may be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Tested {
    /// What the spec leads to.
    pub expected: f64,
    /// Standard uncertainty of that from build and wire.
    pub standard_uncertainty: f64,
    /// Least that passes.
    pub low: f64,
    /// Most that passes.
    pub high: f64,
}

impl Tested {
    /// Limits of two standard uncertainties about a value.
    pub(crate) fn about(expected: f64, standard_uncertainty: f64) -> Self {
        let limit = COVERAGE_FACTOR * standard_uncertainty;
        Self { expected, standard_uncertainty, low: expected - limit, high: expected + limit }
    }

    /// The same for another value of a factor, such as a current.
    pub(crate) fn times(self, factor: f64) -> Self {
        let (low, high) = (factor * self.low, factor * self.high);
        Self {
            expected: factor * self.expected,
            standard_uncertainty: (factor * self.standard_uncertainty).abs(),
            low: low.min(high),
            high: low.max(high),
        }
    }
}

/// Standard uncertainties from the value to its limits.
const COVERAGE_FACTOR: f64 = 2.0;
/// Relative standard uncertainty of a computed inductance: round wire in place of an even section, and the meter's
/// frequency (common practice, no source).
const OF_INDUCTANCE: f64 = 0.01;
/// The same of a computed field constant: turns that fill no whole layer, crossovers, leads (common practice, no source).
const OF_FIELD: f64 = 1e-3;

/// Inductances of both coils, apart and connected.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TestedInductances {
    /// Each coil by itself, with the other open.
    pub coil_henry: [Tested; 2],
    /// Mutual inductance: voltage at one coil per rate of change of the other's current.
    pub mutual_henry: Tested,
    /// Both in series, fields adding: L_a + L_b + 2 M.
    pub series_henry: Tested,
    /// Both in series, one reversed: L_a + L_b − 2 M.
    pub opposed_henry: Tested,
}

/// The tolerance of the build, an ordinary one where the spec states none.
pub(crate) fn tolerance_or_ordinary(bench: &Bench) -> BuildTolerance {
    bench.build_tolerance.unwrap_or(BuildTolerance::ORDINARY)
}

/// Resistance of one coil at its own terminals with the copper at `celsius`, leads left out.
///
/// R = R' ℓ (1 + α (t − 20 °C)), R' by the wire's standard. The limits are those of R', the length ℓ another two standard
/// uncertainties of the mean radius away. A resistance that the spec states as measured is not looked at.
pub fn coil_resistance_ohm(bench: &Bench, coil: usize, celsius: f64) -> Tested {
    let coil = &bench.coils()[coil];
    let wire = &bench.winding.wire;
    let length_m = circuit::wire_length_m(coil);
    let per_metre = WireLimits::of(wire).resistance_at_20_celsius_ohm_per_m;
    resistance_ohm(bench, per_metre, length_m, celsius)
}

/// The same for any length of the bench's wire wound on its former.
pub(crate) fn resistance_ohm(bench: &Bench, per_metre: Allowed, length_m: f64, celsius: f64) -> Tested {
    let tolerance = tolerance_or_ordinary(bench);
    let of_length =
        tolerance.distribution.standard_uncertainty(tolerance.mean_radius_m) / bench.winding.mean_radius_m;
    let warm = bench.winding.wire.conductor.resistance_ratio(celsius);
    let ohm = per_metre.times(length_m * warm);
    let of_wire = (ohm.most - ohm.least) / (2.0 * 3f64.sqrt());
    Tested {
        expected: ohm.nominal,
        standard_uncertainty: of_wire.hypot(of_length * ohm.nominal),
        low: ohm.least * (1.0 - COVERAGE_FACTOR * of_length),
        high: ohm.most * (1.0 + COVERAGE_FACTOR * of_length),
    }
}

/// Inductances of the coils of a pair, whatever its connection.
pub fn inductances(bench: &Bench) -> TestedInductances {
    let series = Bench { connection: Connection::Series, ..bench.clone() };
    let quantities = |bench: &Bench, assembly: &Assembly| {
        let found = electrical::inductances(bench, assembly);
        let [a, b] = found.self_henry;
        [a, b, found.mutual_henry, found.pair_henry, a + b - 2.0 * found.mutual_henry]
    };
    let [a, b, mutual, adding, opposed] = tested(&series, OF_INDUCTANCE, quantities);
    TestedInductances {
        coil_henry: [a, b],
        mutual_henry: mutual,
        series_henry: adding,
        opposed_henry: opposed,
    }
}

/// Field along the axis at the centre per ampere of the supply's current, the coils alone.
pub fn field_constant(bench: &Bench) -> Tested {
    let [field] = tested(bench, OF_FIELD, |_, assembly| [field_constant_tesla_per_ampere(assembly)]);
    field
}

/// Quantities with the uncertainties that build errors bring, JCGM 100:2008, equation 10, and the model's own.
fn tested<const N: usize>(
    bench: &Bench,
    model: f64,
    quantities: impl Fn(&Bench, &Assembly) -> [f64; N] + Sync,
) -> [Tested; N] {
    let tolerance = tolerance_or_ordinary(bench);
    let start = quantities(bench, &Assembly::of(bench));
    let mut squares = start.map(|value| (model * value).powi(2));
    for (parameter, coil) in BuildParameter::of(bench) {
        let u = parameter.distribution(&tolerance).standard_uncertainty(parameter.limit(&tolerance));
        if u == 0.0 {
            continue;
        }
        let step = parameter.step(bench);
        let [up, down] = [step, -step].map(|by| {
            let displaced = parameter.displaced(bench, coil, by);
            quantities(&displaced, &Assembly::of(&displaced))
        });
        for (i, square) in squares.iter_mut().enumerate() {
            let sensitivity = (up[i] - down[i]) / (2.0 * step);
            let curvature = (up[i] - 2.0 * start[i] + down[i]) / (step * step);
            *square += (sensitivity * u).powi(2) + 0.5 * (curvature * u * u).powi(2);
        }
    }
    std::array::from_fn(|i| Tested::about(start[i], squares[i].sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::wires::{Build, stock_wire};
    use crate::physics::build_error;
    use approx::assert_relative_eq;

    fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.width_m = 0.015;
        bench.winding.depth_m = 0.010;
        bench.winding.wire =
            stock_wire("0.9 mm", Build::Grade2).unwrap().wire(crate::constants::Conductor::Copper, None);
        bench.build_tolerance = Some(BuildTolerance { turns: 0.5, ..BuildTolerance::ORDINARY });
        bench
    }

    #[test]
    fn the_field_constant_has_the_uncertainty_of_the_calibrations_budget_and_the_models_own() {
        let bench = bench();
        let tested = field_constant(&bench);
        let build = build_error::field_constant_standard_uncertainty_tesla_per_ampere(&bench).unwrap();
        assert_relative_eq!(
            tested.standard_uncertainty,
            build.hypot(1e-3 * tested.expected),
            max_relative = 1e-9
        );
        assert_relative_eq!(
            tested.high - tested.expected,
            2.0 * tested.standard_uncertainty,
            max_relative = 1e-9
        );
        assert_relative_eq!(
            tested.times(-2.0).low,
            -2.0 * tested.expected - 4.0 * tested.standard_uncertainty,
            max_relative = 1e-12
        );
    }

    #[test]
    fn series_and_opposed_inductance_differ_by_four_times_the_mutual_one() {
        let found = inductances(&bench());
        assert_relative_eq!(
            found.series_henry.expected - found.opposed_henry.expected,
            4.0 * found.mutual_henry.expected,
            max_relative = 1e-9
        );
        assert_relative_eq!(
            found.coil_henry[0].expected + found.coil_henry[1].expected,
            0.5 * (found.series_henry.expected + found.opposed_henry.expected),
            max_relative = 1e-9
        );
        // Half a turn in 136, rectangular, is 0.22 % of the turns and 0.44 % of the inductance, beside 1 % of the model.
        let relative = found.coil_henry[0].standard_uncertainty / found.coil_henry[0].expected;
        assert!((0.0109..0.013).contains(&relative), "{relative}");
        // Their overlap would hide a coil that is connected backwards.
        assert!(found.opposed_henry.high < found.series_henry.low);
    }

    #[test]
    fn a_coils_resistance_is_that_of_its_length_of_nominal_wire() {
        let bench = bench();
        // 136 turns of 150 mm: 128.2 m of 0.9 mm wire at 1/58.5 Ω·mm²/m: 128.177/(58.5 × 0.636173) = 3.4441 Ω.
        let at_20 = coil_resistance_ohm(&bench, 0, 20.0);
        assert_relative_eq!(at_20.expected, 3.4441, max_relative = 2e-5);
        // The thinnest conductor of 0.891 mm with 1/58, its length longer by 2 × 0.5/√3/150: 3.5444 × 1.003849 = 3.5580 Ω.
        assert_relative_eq!(at_20.high, 3.5580, max_relative = 5e-5);
        assert_relative_eq!(
            coil_resistance_ohm(&bench, 1, 30.0).low / at_20.low,
            1.0 + 0.00393 * 10.0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn a_spec_without_a_tolerance_is_tested_by_an_ordinary_one() {
        let mut bench = bench();
        bench.build_tolerance = None;
        let tested = field_constant(&bench);
        bench.build_tolerance = Some(BuildTolerance::ORDINARY);
        assert_eq!(tested, field_constant(&bench));
    }
}
