//! What to measure before the coils go on the bench, and what each measurement may show.

use super::request::Request;
use crate::pair::Bench;
use crate::physics::heat::HeatedPair;
use crate::physics::heat::HeldFor;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::may_flow::may_flow;
use crate::physics::room;
use crate::physics::safety::SafetyFigures;
use crate::physics::shorted_turn;
use crate::physics::test_limits::{
    FreeEnds, OF_RISE, Tested, TestedInductances, coil_resistance_ohm, field_constant, inductances,
    least_insulation_ohm,
};
use crate::units::{Dimension, display, fixed_up, unit};
use crate::{Error, Result};
use serde::Serialize;
use std::f64::consts::TAU;

/// The measurements of a finished pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TestSheet {
    /// Resistance of each coil, free ends included, at several temperatures of its copper.
    pub coil_resistance: Vec<ResistanceAt>,
    /// Inductances of the coils, apart and connected.
    pub inductance: TestedInductances,
    /// Turns of one coil against the other's.
    pub turns: TurnsCheck,
    /// The sign of a shorted turn.
    pub shorted_turn: ShortedTurn,
    /// Insulation against former and bolts.
    pub insulation: InsulationTest,
    /// Field at the centre.
    pub field: FieldTest,
    /// Warm-up at the continuous current; `None` where the heat cannot be computed.
    pub warm_up: Option<WarmUp>,
}

/// A coil's resistance with its copper at one temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ResistanceAt {
    /// Temperature of the copper.
    pub celsius: f64,
    /// The resistance.
    pub ohm: Tested,
}

/// Turns of the two coils compared.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TurnsCheck {
    /// By which part one turn changes a coil's inductance: 2/N.
    pub one_turn_fraction: f64,
    /// Largest difference of the coils' inductances, over their mean, that radius, section and turns within tolerance make.
    pub largest_difference_fraction: f64,
    /// Alternating current fed to one coil, effective value.
    pub current_ampere: f64,
    /// Its frequency.
    pub frequency_hertz: f64,
    /// What the generator must give for it: the voltage at the coil that is fed.
    pub drive_volt: f64,
    /// Open voltage at the other coil, 2π f M I: the same both ways round.
    pub induced_volt: Tested,
}

/// What one shorted turn does to a coil's inductance, measured at two frequencies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ShortedTurn {
    /// The two frequencies.
    pub frequency_hertz: [f64; 2],
    /// Part by which the inductance at the higher is less than at the lower, with one turn shorted.
    pub drop_fraction: f64,
    /// Largest drop of a sound coil: half of that.
    pub largest_drop_fraction: f64,
    /// What one shorted turn adds to the series resistance at the higher frequency.
    pub added_ohm: f64,
}

/// The insulation test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct InsulationTest {
    /// Direct voltage.
    pub test_volt: f64,
    /// Least resistance.
    pub least_ohm: f64,
    /// Where both come from.
    pub source: &'static str,
}

/// The field at the centre.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FieldTest {
    /// Current through the ammeter.
    pub current_ampere: f64,
    /// Half the difference of the readings both ways round.
    pub field_tesla: Tested,
    /// The room's field along the axis: half the sum of the readings; `None` where it is not known.
    pub room_axial_tesla: Option<f64>,
}

/// The pair warming at one current.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WarmUp {
    /// The current, held.
    pub current_ampere: f64,
    /// Temperature of the room.
    pub room_celsius: f64,
    /// Largest temperature of a surface that is touched.
    pub surface_limit_celsius: f64,
    /// The pair at several times.
    pub rows: Vec<WarmUpRow>,
}

/// The pair at one time after switching on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WarmUpRow {
    /// The time; `None` when nothing changes any more.
    pub time_s: Option<f64>,
    /// Mean temperature of the copper.
    pub copper_celsius: f64,
    /// Resistance over that at the start, with its limits.
    pub resistance_ratio: Tested,
    /// The hottest surface.
    pub surface_celsius: f64,
}

/// Low and high frequency of an ordinary inductance meter (common practice, no source).
const LOW_HERTZ: f64 = 100.0;
const HIGH_HERTZ: [f64; 2] = [1e3, 10e3];
/// A drop that an ordinary inductance meter shows for certain (common practice, no source).
const VISIBLE_DROP: f64 = 0.02;
/// Currents of an ordinary signal generator with amplifier, effective values, and the most that it gives: harmless to touch
/// (common practice, no source).
const INDUCED_AMPERES: [f64; 7] = [0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001];
const DRIVE_VOLT: f64 = 10.0;
/// What is printed beside the limit; standard, clause and numbers are from memory.
const INSULATION_SOURCE: &str = "IEC 60204-1:2016, 18.3: 500 V d.c., at least 1 MΩ";
const OWN_VOLTAGE: &str = "voltage as asked for; at least 1 MΩ as IEC 60204-1:2016, 18.3 has it at 500 V, half of \
                           that up to 250 V (common practice, no source)";
/// Times at which a warm-up is read.
const MINUTES: [f64; 5] = [10.0, 20.0, 30.0, 60.0, 120.0];
/// Copper temperatures for which a resistance is listed.
const CELSIUS: std::ops::RangeInclusive<i32> = 15..=30;

impl TestSheet {
    /// The tests of a pair.
    ///
    /// # Errors
    /// A test current that is not above zero.
    pub(super) fn of(bench: &Bench, request: &Request, safety: &SafetyFigures) -> Result<Self> {
        let inductance = inductances(bench);
        Ok(Self {
            coil_resistance: coil_resistance(bench, request),
            turns: turns_check(bench, &inductance),
            shorted_turn: shorted_turn(bench, inductance.coil_henry[0].expected),
            inductance,
            insulation: InsulationTest {
                test_volt: request.insulation_test_volt,
                least_ohm: least_insulation_ohm(request.insulation_test_volt),
                source: if request.insulation_test_volt == 500.0 { INSULATION_SOURCE } else { OWN_VOLTAGE },
            },
            field: field(bench, request, safety)?,
            warm_up: warm_up(bench, safety),
        })
    }
}

fn coil_resistance(bench: &Bench, request: &Request) -> Vec<ResistanceAt> {
    let (coil, ends) = (bench.nominal_coil(), FreeEnds::Of(2.0 * request.lead_out_m));
    CELSIUS
        .map(f64::from)
        .map(|celsius| ResistanceAt { celsius, ohm: coil_resistance_ohm(bench, &coil, ends, celsius) })
        .collect()
}

fn turns_check(bench: &Bench, inductance: &TestedInductances) -> TurnsCheck {
    let [a, b] = inductance.coil_henry;
    let mean = 0.5 * (a.expected + b.expected);
    // What the model does to one coil it does to the other.
    let tolerance = bench.tolerance_or_ordinary();
    let of_length = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
    // L goes about as N² R, and by the mean distance of the turns less with a larger section.
    let relative = [
        2.0 * of_length(tolerance.turns) / bench.winding.turns,
        1.5 * of_length(tolerance.mean_radius_m) / bench.winding.mean_radius_m,
        0.5 * of_length(tolerance.width_m) / (bench.winding.width_m + bench.winding.depth_m),
        0.5 * of_length(tolerance.depth_m) / (bench.winding.width_m + bench.winding.depth_m),
    ];
    let one = relative.iter().map(|part| part * part).sum::<f64>().sqrt();
    let per_ampere = TAU * HIGH_HERTZ[0] * mean;
    let current_ampere = INDUCED_AMPERES
        .into_iter()
        .find(|ampere| per_ampere * ampere <= DRIVE_VOLT)
        .unwrap_or(INDUCED_AMPERES[INDUCED_AMPERES.len() - 1]);
    TurnsCheck {
        one_turn_fraction: 2.0 / bench.winding.turns,
        largest_difference_fraction: 2.0 * 2f64.sqrt() * one + ((a.expected - b.expected) / mean).abs(),
        current_ampere,
        frequency_hertz: HIGH_HERTZ[0],
        drive_volt: per_ampere * current_ampere,
        induced_volt: inductance.mutual_henry.times(TAU * HIGH_HERTZ[0] * current_ampere),
    }
}

fn shorted_turn(bench: &Bench, coil_henry: f64) -> ShortedTurn {
    let turn = shorted_turn::ShortedTurn::of(bench, coil_henry);
    let seen = |hertz: f64| turn.drop_between([LOW_HERTZ, hertz]);
    let high = HIGH_HERTZ.into_iter().find(|hertz| seen(*hertz) >= VISIBLE_DROP).unwrap_or(HIGH_HERTZ[1]);
    ShortedTurn {
        frequency_hertz: [LOW_HERTZ, high],
        drop_fraction: seen(high),
        largest_drop_fraction: 0.5 * seen(high),
        added_ohm: turn.added_ohm(high),
    }
}

fn field(bench: &Bench, request: &Request, safety: &SafetyFigures) -> Result<FieldTest> {
    let current_ampere = match request.test_current_ampere {
        Some(ampere) if ampere > 0.0 => {
            may_flow(bench, safety, ampere).map_err(|error| error.of_option("--test-current"))?;
            check_it_shows(bench, ampere, round_current(bench, safety))?;
            ampere
        }
        Some(_) => {
            return Err(Error::value_with_hint(
                "the test current is not above 0 A",
                "name it with --test-current \"1 A\"; the sheet asks for both directions",
            ));
        }
        None => round_current(bench, safety),
    };
    Ok(FieldTest {
        current_ampere,
        field_tesla: field_constant(bench).times(current_ampere),
        room_axial_tesla: room::field_tesla(bench)?.map(|room| room.z),
    })
}

/// The least field worth a test: a hand-held teslameter shows steps of 10 µT, and limits are a few percent of the field
/// (common practice, no source).
const LEAST_FIELD_TESLA: f64 = 50e-6;

/// Refuses a test current whose field no usual probe tells from none; never one as large as the sheet's own would be.
fn check_it_shows(bench: &Bench, ampere: f64, own_ampere: f64) -> Result<()> {
    let field_tesla = field_constant(bench).expected.abs() * ampere;
    if field_tesla >= LEAST_FIELD_TESLA || field_tesla == 0.0 || ampere >= own_ampere {
        return Ok(());
    }
    let enough = ampere * LEAST_FIELD_TESLA / field_tesla;
    Err(Error::value_with_hint(
        format!(
            "the test current of {} makes only {} at the centre, too little to be measured",
            display(ampere, Dimension::Current, 2),
            display(field_tesla, Dimension::FluxDensity, 2)
        ),
        format!(
            "take {} or more, so that it makes {}; without --test-current the largest round current is taken",
            fixed_up(enough, unit::AMPERE, 3),
            display(LEAST_FIELD_TESLA, Dimension::FluxDensity, 2)
        ),
    ))
}

/// The largest round current that supply and coils carry for ever.
fn round_current(bench: &Bench, safety: &SafetyFigures) -> f64 {
    const ROUND: [f64; 3] = [1.0, 2.0, 5.0];
    let supply = bench.supply.and_then(|supply| supply.current_limit_ampere);
    let most = [supply, safety.reliable_continuous_current_ampere].into_iter().flatten().fold(1.0, f64::min);
    let decade = |power: i32| ROUND.map(|digit| digit * 10f64.powi(power));
    let steps = (-6..=0).flat_map(decade).filter(|step| *step <= most * (1.0 + 1e-9));
    steps.fold(1e-6, f64::max)
}

fn warm_up(bench: &Bench, safety: &SafetyFigures) -> Option<WarmUp> {
    let pair = HeatedPair::of(bench).ok()?;
    let reliable = safety.reliable_continuous_current_ampere?;
    // Not more than may be relied on, to two digits.
    let digit = 10f64.powf(reliable.log10().floor() - 1.0);
    let current_ampere = ((reliable / digit) * (1.0 + 1e-9)).floor() * digit;
    let drive = Drive::held(current_ampere);
    let limits = pair.limits(&TemperatureLimits::of(bench), None);
    let touch = limits.limits.iter().skip(1).filter_map(|limit| limit.temperature_celsius);
    let row = |held: HeldFor, time_s: Option<f64>| {
        let carried = pair.carried(&drive, held).ok()??;
        let copper = carried.copper_celsius();
        let rise = copper - pair.room_celsius;
        let conductor = bench.winding.wire.conductor;
        let ratio = |rise: f64| {
            conductor.resistance_ratio(pair.room_celsius + rise)
                / conductor.resistance_ratio(pair.room_celsius)
        };
        Some(WarmUpRow {
            time_s,
            copper_celsius: copper,
            resistance_ratio: Tested {
                expected: ratio(rise),
                standard_uncertainty: (ratio(rise) - 1.0) * OF_RISE / 3f64.sqrt(),
                low: ratio(rise * (1.0 - OF_RISE)),
                high: ratio(rise * (1.0 + OF_RISE)),
            },
            surface_celsius: carried.moment.hottest_surface_celsius(),
        })
    };
    let mut rows: Vec<WarmUpRow> = MINUTES
        .iter()
        .filter_map(|minutes| row(HeldFor::Seconds(60.0 * minutes), Some(60.0 * minutes)))
        .collect();
    rows.extend(row(HeldFor::Ever, None));
    Some(WarmUp {
        current_ampere,
        room_celsius: pair.room_celsius,
        surface_limit_celsius: touch.fold(f64::INFINITY, f64::min),
        rows,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{Assembly, Section};
    use crate::physics::heat::example;
    use approx::assert_relative_eq;

    fn sheet(bench: &Bench) -> TestSheet {
        let request = Request::default();
        let safety = SafetyFigures::of(bench, &Assembly::of(bench));
        TestSheet::of(bench, &request, &safety).unwrap()
    }

    /// Impedance at a coil's ends with one turn shorted, by the two equations of a transformer: U = jωL I + jωM i and
    /// 0 = (r + jωl) i + jωM I, solved as real and imaginary parts.
    fn shorted_henry(
        coil_henry: f64,
        mutual_henry: f64,
        turn_henry: f64,
        turn_ohm: f64,
        hertz: f64,
    ) -> [f64; 2] {
        let omega = TAU * hertz;
        // i per ampere of I is −jωM/(r + jωl).
        let square = turn_ohm.powi(2) + (omega * turn_henry).powi(2);
        let [real, imaginary] =
            [-omega * mutual_henry * omega * turn_henry / square, -omega * mutual_henry * turn_ohm / square];
        let (resistance, reactance) =
            (-omega * mutual_henry * imaginary, omega * coil_henry + omega * mutual_henry * real);
        [reactance / omega, resistance]
    }

    #[test]
    fn one_shorted_turn_shows_as_in_a_transformer() {
        let bench = example::bench();
        let sheet = sheet(&bench);
        let shorted = sheet.shorted_turn;
        let winding = &bench.winding;
        let coil = sheet.inductance.coil_henry[0].expected;
        // The turn as a thin ring of the wire, l = μ0 R (ln(8R/a) − 7/4) with the current spread evenly (F. W. Grover, Inductance
        // Calculations, 1946, ch. 16, from memory), and its resistance by the wire's own conductivity.
        let (radius, wire) = (winding.mean_radius_m, 0.5 * winding.wire.bare_diameter_m);
        let turn = crate::constants::MU_0 * radius * ((8.0 * radius / wire).ln() - 1.75);
        let ohm = crate::pair::circuit::coil_resistance_at_20_celsius_ohm(&bench, &bench.nominal_coil())
            / winding.turns;
        let [low, high] =
            shorted.frequency_hertz.map(|hertz| shorted_henry(coil, coil / winding.turns, turn, ohm, hertz));
        // A square of the same area has an inductance half a percent off the round wire's.
        assert_relative_eq!(shorted.drop_fraction, (low[0] - high[0]) / coil, max_relative = 0.01);
        assert_relative_eq!(shorted.added_ohm, high[1], max_relative = 0.02);
        assert!(
            shorted.drop_fraction > 0.02 && shorted.largest_drop_fraction < shorted.drop_fraction,
            "{shorted:?}"
        );
    }

    #[test]
    fn the_induced_voltage_is_that_of_loops_of_the_sections_size() {
        let bench = example::bench();
        let sheet = sheet(&bench);
        // Both sections as 6 by 6 thin loops, their mutual inductances averaged: Maxwell's formula by the engine for thin loops.
        let winding = &bench.winding;
        let part = |whole: f64, i: u32| whole * ((f64::from(i) + 0.5) / 6.0 - 0.5);
        let places: Vec<[f64; 2]> = (0..36)
            .map(|i| [winding.mean_radius_m + part(winding.depth_m, i / 6), part(winding.width_m, i % 6)])
            .collect();
        let loop_at = |radius: f64, z: f64| {
            let section = Section { mean_radius_m: radius, width_m: 0.0, depth_m: 0.0 };
            crate::physics::field::PlacedWinding::on_axis(section, winding.turns, z)
        };
        let mean: f64 = places
            .iter()
            .flat_map(|one| places.iter().map(move |other| (one, other)))
            .map(|(one, other)| {
                let below = loop_at(one[0], one[1] - 0.5 * bench.spacing_m);
                let above = loop_at(other[0], other[1] + 0.5 * bench.spacing_m);
                crate::physics::field::mutual_inductance_henry(&below, &above) / 1296.0
            })
            .sum();
        // The current at 1 kHz: 2π × 1000 × I A/s. The mean over loops misses the section's by its square over the distance's, 1e-4.
        // No generator gives more than 10 V, whatever the coil.
        assert!(sheet.turns.drive_volt > 2.0 && sheet.turns.drive_volt <= 10.0, "{:?}", sheet.turns);
        let volt = sheet.turns.induced_volt;
        assert_relative_eq!(
            volt.expected,
            TAU * 1000.0 * sheet.turns.current_ampere * mean,
            max_relative = 5e-4
        );
        assert!(volt.low < 0.99 * volt.expected && volt.high > 1.01 * volt.expected, "{volt:?}");
    }

    #[test]
    fn the_warm_up_rises_to_the_steady_state_below_the_limit_of_touch() {
        let warm_up = sheet(&example::bench()).warm_up.unwrap();
        for pair in warm_up.rows.windows(2) {
            assert!(pair[0].copper_celsius < pair[1].copper_celsius);
        }
        let last = warm_up.rows.last().unwrap();
        assert_eq!(last.time_s, None);
        assert!(last.surface_celsius < warm_up.surface_limit_celsius, "{warm_up:?}");
        assert!(last.resistance_ratio.low > 1.0);
    }

    #[test]
    fn the_test_current_is_round_and_never_more_than_the_coils_carry() {
        let mut bench = example::bench();
        assert_eq!(round_current(&bench, &SafetyFigures::default()), 1.0);
        let safety =
            SafetyFigures { reliable_continuous_current_ampere: Some(0.43), ..SafetyFigures::default() };
        assert_eq!(round_current(&bench, &safety), 0.2);
        bench.supply = None;
        assert_eq!(round_current(&bench, &SafetyFigures::default()), 1.0);
    }
}
