//! The test values of a pair built as its spec says: each quantity with limits from the build tolerance and from the
//! wire's standard.
//!
//! A limit lies two standard uncertainties of the build from the value, as in a coverage interval of 95 % (JCGM
//! 100:2008, 6.2). The resistance is bounded by the wire's standard instead, whose limits are strict. The uncertainty
//! of the measurement is not included; it belongs to the decision rule.

use super::build_error::{
    BuildParameter, CoilName, combined, errors_of, errors_of_each, field_constant_tesla_per_ampere,
};
use super::electrical;
use super::field::{Assembly, PreparedPair, self_inductance_henry};
use crate::pair::{Allowed, Bench, Coil, Connection, WireLimits, circuit};
use nalgebra::Vector3;
use serde::Serialize;

/// A tested quantity with its limits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Tested {
    /// The value that follows from the spec.
    pub expected: f64,
    /// Its standard uncertainty from build and wire.
    pub standard_uncertainty: f64,
    /// Smallest value that passes.
    pub low: f64,
    /// Largest value that passes.
    pub high: f64,
}

impl Tested {
    /// Limits of two standard uncertainties about a value.
    pub(crate) fn about(expected: f64, standard_uncertainty: f64) -> Self {
        let limit = COVERAGE_FACTOR * standard_uncertainty;
        Self { expected, standard_uncertainty, low: expected - limit, high: expected + limit }
    }

    /// The quantity multiplied by a factor, such as a current.
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

/// Distance of the limits from the value, in standard uncertainties.
const COVERAGE_FACTOR: f64 = 2.0;
/// Relative standard uncertainty of a computed inductance: round wire instead of a uniform section, and the meter's
/// frequency (common practice, no source).
const OF_INDUCTANCE: f64 = 0.01;
/// Relative standard uncertainty of a computed field constant: turns that do not fill whole layers, crossovers, leads
/// (common practice, no source).
const OF_FIELD: f64 = 1e-3;

/// Relative standard uncertainty of a resistance that the spec states as measured: meter and copper temperature (common
/// practice, no source).
const OF_MEASURED_RESISTANCE: f64 = 0.002;
/// Part of a surface's rise by which the model of the heat may be off: 10 to 20 % (common practice, no source).
pub const OF_RISE: f64 = 0.2;
/// Length of wire left free at each end of a coil, which may be cut off (common practice, no source).
pub const FREE_END_M: f64 = 0.5;
/// Where the least insulation resistance at a test voltage comes from, for every page that states it; from memory.
pub fn insulation_source(test_volt: f64) -> &'static str {
    match test_volt == USUAL_TEST_VOLT {
        true => "IEC 60204-1:2016, 18.3: 500 V d.c., at least 1 MΩ",
        false => {
            "at least 1 MΩ as IEC 60204-1:2016, 18.3 has it at 500 V, half of that up to 250 V (common practice, no source)"
        }
    }
}

/// Highest of the low test voltages of an insulation between a winding and what is touched.
const LOW_TEST_VOLT: f64 = 250.0;
/// Test voltage of the insulation of a winding that carries no mains (IEC 60204-1:2016, 18.3, from memory).
pub const USUAL_TEST_VOLT: f64 = 500.0;
/// A test at a lower voltage says nothing about the insulation of a bench pair (common practice, no source).
pub(crate) const LEAST_TEST_VOLT: f64 = 100.0;
/// Least insulation resistance at a test voltage up to 250 V.
const UP_TO_250_VOLT_OHM: f64 = 0.5e6;
/// Least insulation resistance at a test voltage above 250 V.
const ABOVE_250_VOLT_OHM: f64 = 1e6;

/// Smallest insulation resistance of a sound winding at a test voltage: 0.5 MΩ up to 250 V, 1 MΩ above.
///
/// Source: IEC 60204-1:2016, 18.3, 1 MΩ at 500 V (from memory); for 0.5 MΩ the minimum for low-voltage installations, Bane NOR,
/// Teknisk regelverk, "Minimumskrav til isolasjonsresistans i lavspenningsanlegg" (trv.banenor.no); for a coil on its
/// former common practice, no source.
pub fn least_insulation_ohm(test_volt: f64) -> f64 {
    if test_volt > LOW_TEST_VOLT { ABOVE_250_VOLT_OHM } else { UP_TO_250_VOLT_OHM }
}

/// The smallest insulation resistance asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct InsulationLimit {
    pub ohm: f64,
    /// Where it comes from. `None` if the spec states it.
    pub source: Option<&'static str>,
}

/// The smallest insulation resistance of a pair at a test voltage: what the spec states, if it is more than is usual.
pub(crate) fn insulation_limit(bench: &Bench, test_volt: f64) -> InsulationLimit {
    let usual_ohm = least_insulation_ohm(test_volt);
    let stated = bench.stated.as_ref().and_then(|stated| stated.insulation_resistance_ohm);
    match stated.filter(|ohm| *ohm >= usual_ohm) {
        Some(ohm) => InsulationLimit { ohm, source: None },
        None => InsulationLimit { ohm: usual_ohm, source: Some(insulation_source(test_volt)) },
    }
}

/// Relative standard uncertainty of a coil's inductance from its build alone. Errors of the model are common to both coils and
/// are not in it.
///
/// L = µ0 N² R (ln(8 R/g) − 2), with g proportional to width + depth. Its relative sensitivity is 2 to N, about 1.5 to R and
/// about −0.5 to g.
pub(crate) fn inductance_of_build_fraction(bench: &Bench) -> f64 {
    let (tolerance, winding) = (bench.tolerance_or_ordinary(), &bench.winding);
    let of_length = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
    let sides_m = winding.width_m + winding.depth_m;
    let relative = [
        2.0 * of_length(tolerance.turns) / winding.turns,
        1.5 * of_length(tolerance.mean_radius_m) / winding.mean_radius_m,
        0.5 * of_length(tolerance.width_m) / sides_m,
        0.5 * of_length(tolerance.depth_m) / sides_m,
    ];
    relative.iter().map(|part| part * part).sum::<f64>().sqrt()
}

/// Inductances of both coils, separate and connected.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TestedInductances {
    /// Each coil alone, with the other open.
    pub coil_henry: [Tested; 2],
    /// Mutual inductance: voltage at one coil per rate of change of the other's current.
    pub mutual_henry: Tested,
    /// Both in series, fields adding: L_a + L_b + 2 M.
    pub series_henry: Tested,
    /// Both in series, one reversed: L_a + L_b − 2 M.
    pub opposed_henry: Tested,
}

/// Wire beyond a winding that is part of a measured resistance, both ends together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FreeEnds {
    /// None, or any length up to this one.
    UpTo(f64),
    /// This length.
    Of(f64),
}

impl FreeEnds {
    /// The ends that a reading includes, if it states this length; any usual length if it states none.
    pub fn stated(length_m: Option<f64>) -> Self {
        length_m.map_or(Self::UpTo(2.0 * FREE_END_M), Self::Of)
    }

    fn length_m(self) -> f64 {
        match self {
            Self::UpTo(length_m) | Self::Of(length_m) => length_m,
        }
    }

    fn times(self, factor: f64) -> Self {
        match self {
            Self::UpTo(length_m) => Self::UpTo(factor * length_m),
            Self::Of(length_m) => Self::Of(factor * length_m),
        }
    }
}

/// Resistance of one coil with the copper at `celsius` and the free ends of its wire.
///
/// R = R' ℓ (1 + α (t − 20 °C)), with R' from the wire's standard. The limits combine those of R' with two standard
/// uncertainties of the length ℓ, from mean radius and turns. Where the ends may have been cut off, the lower limit is
/// without them. If the spec states a measured resistance, the limits lie two standard
/// uncertainties from it.
pub fn coil_resistance_ohm(bench: &Bench, coil: &Coil, ends: FreeEnds, celsius: f64) -> Tested {
    if coil.resistance.is_some() {
        let stated = circuit::coil_resistance_at_20_celsius_ohm(bench, coil)
            * bench.winding.wire.conductor.resistance_ratio(celsius);
        return Tested::about(stated, OF_MEASURED_RESISTANCE * stated);
    }
    let per_metre = WireLimits::of(&bench.winding.wire).resistance_at_20_celsius_ohm_per_m;
    let wound_m = circuit::wire_length_m(&bench.winding, coil);
    let whole = resistance_ohm(bench, per_metre, wound_m + ends.length_m(), celsius);
    match ends {
        FreeEnds::Of(_) => whole,
        FreeEnds::UpTo(_) => Tested { low: resistance_ohm(bench, per_metre, wound_m, celsius).low, ..whole },
    }
}

/// Resistance of the pair as connected, without leads. Both coils count at the same end of their limits, since both are
/// wound from one order of wire. `ends` are those of both coils together.
pub fn pair_resistance_ohm(bench: &Bench, ends: FreeEnds, celsius: f64) -> Tested {
    let [a, b] = bench.coils().map(|coil| coil_resistance_ohm(bench, &coil, ends.times(0.5), celsius));
    let connected = |a: f64, b: f64| bench.connection.of_two_ohm(a, b);
    let expected = connected(a.expected, b.expected);
    let relative = 0.5 * (a.standard_uncertainty / a.expected + b.standard_uncertainty / b.expected);
    Tested {
        expected,
        standard_uncertainty: relative * expected,
        low: connected(a.low, b.low),
        high: connected(a.high, b.high),
    }
}

/// Resistance of any length of the bench's wire wound on its former.
pub(crate) fn resistance_ohm(bench: &Bench, per_metre: Allowed, length_m: f64, celsius: f64) -> Tested {
    let tolerance = bench.tolerance_or_ordinary();
    let of = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
    let of_radius = of(tolerance.mean_radius_m) / bench.winding.mean_radius_m;
    let of_length = of_radius.hypot(of(tolerance.turns) / bench.winding.turns);
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

/// Inductance of the pair as connected.
pub fn pair_inductance_henry(bench: &Bench) -> Tested {
    let [henry] = tested(bench, OF_INDUCTANCE, |pair| [electrical::inductances(pair).pair_henry]);
    henry
}

/// Inductance of a coil alone, with the other open: only its own turns and dimensions affect it.
pub fn coil_inductance_henry(bench: &Bench, coil: CoilName) -> Tested {
    let tolerance = bench.tolerance_or_ordinary();
    let henry = |bench: &Bench| {
        let assembly = Assembly::of(bench);
        let winding = &assembly.windings()[usize::from(coil == CoilName::B)];
        self_inductance_henry(&winding.section, winding.turns)
    };
    use BuildParameter::{Depth, MeanRadius, Turns, Width};
    let expected = henry(bench);
    let errors = [Turns, MeanRadius, Width, Depth].map(|parameter| {
        let [error] = errors_of(bench, &tolerance, (parameter, Some(coil)), &[expected], |it| [henry(it)]);
        error
    });
    Tested::about(expected, combined(&errors).hypot(OF_INDUCTANCE * expected))
}

/// Inductances of the coils of a pair, whatever its connection.
pub fn inductances(bench: &Bench) -> TestedInductances {
    let series = Bench { connection: Connection::Series, ..bench.clone() };
    let quantities = |pair: &PreparedPair| {
        let found = electrical::inductances(pair);
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

/// Field along the axis at the centre per ampere of the supply's current, for the coils alone.
pub fn field_constant(bench: &Bench) -> Tested {
    let [field] = tested(bench, OF_FIELD, |pair| [field_constant_tesla_per_ampere(pair.assembly())]);
    field
}

/// Field along the axis at a point per ampere of the supply's current, for the coils alone. The uncertainty of the
/// model is a fraction of the field at the centre.
pub fn field_at(bench: &Bench, at_m: &Vector3<f64>) -> Tested {
    let [field] = tested(bench, 0.0, |pair| [pair.assembly().field_per_ampere(at_m).z]);
    let centre = field_constant_tesla_per_ampere(&Assembly::of(bench));
    Tested::about(field.expected, field.standard_uncertainty.hypot(OF_FIELD * centre))
}

/// Quantities with their uncertainties from the build errors (JCGM 100:2008, equation 10) and from the model.
fn tested<const N: usize>(
    bench: &Bench,
    model: f64,
    quantities: impl Fn(&PreparedPair) -> [f64; N],
) -> [Tested; N] {
    let expected = quantities(&PreparedPair::of(bench));
    let errors = errors_of_each(bench, &bench.tolerance_or_ordinary(), quantities);
    std::array::from_fn(|i| Tested::about(expected[i], combined(&errors[i]).hypot(model * expected[i])))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::BuildTolerance;
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
        let alone = coil_inductance_henry(&bench(), CoilName::A);
        assert_relative_eq!(alone.high, found.coil_henry[0].high, max_relative = 1e-9);
        assert_eq!(pair_inductance_henry(&bench()), found.series_henry);
        // Half a turn in 136, rectangular, is 0.22 % of the turns and 0.44 % of the inductance, beside 1 % of the model.
        let relative = found.coil_henry[0].standard_uncertainty / found.coil_henry[0].expected;
        assert!((0.0109..0.013).contains(&relative), "{relative}");
        // An overlap would hide a coil that is connected backwards.
        assert!(found.opposed_henry.high < found.series_henry.low);
    }

    #[test]
    fn a_coils_resistance_is_that_of_its_length_of_nominal_wire() {
        let bench = bench();
        // 136 turns of 150 mm: 128.2 m of 0.9 mm wire at 1/58.5 Ω·mm²/m: 128.177/(58.5 × 0.636173) = 3.4441 Ω.
        let ohm = |free_m: f64, celsius: f64| {
            coil_resistance_ohm(&bench, &bench.coils()[0], FreeEnds::UpTo(free_m), celsius)
        };
        let at_20 = ohm(0.0, 20.0);
        assert_relative_eq!(at_20.expected, 3.4441, max_relative = 2e-5);
        // The thinnest conductor, 0.891 mm, with 1/58. Its length is greater by twice the root of (0.5/√3/150)² for the
        // radius plus (0.5/√3/136)² for half a turn: 3.5444 × 1.005731 = 3.5647 Ω.
        assert_relative_eq!(at_20.high, 3.5647, max_relative = 5e-5);
        assert_relative_eq!(ohm(0.0, 30.0).low / at_20.low, 1.0 + 0.00393 * 10.0, max_relative = 1e-12);
        // One more metre of free wire is 0.78 %; if it is cut off, nothing.
        let free = ohm(1.0, 20.0);
        assert_eq!(free.low, at_20.low);
        assert_relative_eq!(free.high / at_20.high, 1.0 + 1.0 / 128.177, max_relative = 1e-5);
        // Ends of a stated length are in both limits.
        let stated = coil_resistance_ohm(&bench, &bench.coils()[0], FreeEnds::Of(1.0), 20.0);
        assert_relative_eq!(stated.low / at_20.low, 1.0 + 1.0 / 128.177, max_relative = 1e-5);
        assert_eq!(stated.high, free.high);
        let both = FreeEnds::stated(None).times(2.0);
        let pair = pair_resistance_ohm(&bench, both, 20.0);
        assert_relative_eq!(pair.low, 2.0 * at_20.low, max_relative = 1e-12);
        let parallel = Bench { connection: Connection::Parallel, ..bench.clone() };
        let quarter = pair_resistance_ohm(&parallel, both, 20.0);
        assert_relative_eq!(quarter.high, 0.25 * pair.high, max_relative = 1e-12);
    }

    #[test]
    fn insulation_must_hold_more_above_250_volts() {
        assert_eq!([100.0, 250.0, 250.1, 500.0].map(least_insulation_ohm), [0.5e6, 0.5e6, 1e6, 1e6]);
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
