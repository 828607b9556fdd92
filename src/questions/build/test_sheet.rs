//! The test sheet: what to measure before the coils go on the bench, and the limits of each measurement.

use super::request::Request;
use crate::pair::Bench;
use crate::pair::circuit::coil_resistance_at_20_celsius_ohm;
use crate::physics::heat::HeatedPair;
use crate::physics::heat::HeldFor;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::may_flow::may_flow;
use crate::physics::room;
use crate::physics::safety::SafetyFigures;
use crate::physics::shorted_turn;
use crate::physics::test_limits::{
    FreeEnds, OF_RISE, Tested, TestedInductances, USUAL_TEST_VOLT, coil_resistance_ohm, field_constant,
    inductance_of_build_fraction, inductances, insulation_limit,
};
use crate::units::{Dimension, display, fixed_up, unit};
use crate::{Error, Result};
use serde::Serialize;
use std::f64::consts::TAU;

/// The measurements on a finished pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TestSheet {
    /// Resistance of each coil, free ends included, for several temperatures of its copper.
    pub coil_resistance: Vec<ResistanceAt>,
    /// Inductances of the coils, single and connected.
    pub inductance: TestedInductances,
    /// Comparison of the coils' turns.
    pub turns: TurnsCheck,
    /// How a shorted turn would show.
    pub shorted_turn: ShortedTurn,
    /// Insulation against former and bolts.
    pub insulation: InsulationTest,
    /// Field at the centre.
    pub field: FieldTest,
    /// Warm-up at the continuous current. `None` if the heating cannot be computed.
    pub warm_up: Option<WarmUp>,
}

/// Resistance of a coil at one temperature of its copper.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ResistanceAt {
    /// Temperature of the copper.
    pub celsius: f64,
    /// Expected resistance with its limits.
    pub ohm: Tested,
}

/// Comparison of the turns of the two coils.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TurnsCheck {
    /// Relative change of a coil's inductance for one turn: 2/N.
    pub one_turn_fraction: f64,
    /// Largest difference of the coils' inductances, relative to their mean, for radius, section and turns within
    /// tolerance.
    pub largest_difference_fraction: f64,
    /// Alternating current through one coil, effective value.
    pub current_ampere: f64,
    /// Frequency of that current.
    pub frequency_hertz: f64,
    /// Voltage at that coil, which the generator must supply.
    pub drive_volt: f64,
    /// Open-circuit voltage at the other coil, 2π f M I. It is the same with the coils exchanged.
    pub induced_volt: Tested,
}

/// How one shorted turn changes a coil's inductance, measured at two frequencies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ShortedTurn {
    /// Low and high measuring frequency.
    pub frequency_hertz: [f64; 2],
    /// Relative drop of the inductance from the low to the high frequency, with one turn shorted.
    pub drop_fraction: f64,
    /// Largest drop allowed for a sound coil: half of `drop_fraction`.
    pub largest_drop_fraction: f64,
    /// Whether an ordinary meter shows that drop.
    pub is_visible: bool,
    /// Resistance that one shorted turn adds to the coil at the high frequency.
    pub added_ohm: f64,
}

/// The insulation test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct InsulationTest {
    /// Direct test voltage.
    pub test_volt: f64,
    /// Smallest resistance allowed.
    pub least_ohm: f64,
    /// Source of voltage and limit. `None` if the spec states the limit.
    pub source: Option<&'static str>,
}

/// The field test at the centre.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FieldTest {
    /// Current through the ammeter.
    pub current_ampere: f64,
    /// Half the difference of the field readings at both current directions, with its limits.
    pub field_tesla: Tested,
    /// The room's field along the axis, which is half the sum of the two readings. `None` if it is not known.
    pub room_axial_tesla: Option<f64>,
}

/// The warm-up of the pair at one current.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WarmUp {
    /// The current, kept constant.
    pub current_ampere: f64,
    /// Room temperature.
    pub room_celsius: f64,
    /// Largest temperature allowed for a surface that is touched.
    pub surface_limit_celsius: f64,
    /// The pair at several times after switching on.
    pub rows: Vec<WarmUpRow>,
}

/// The pair at one time after switching on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WarmUpRow {
    /// Time after switching on. `None` for the steady state.
    pub time_s: Option<f64>,
    /// Mean temperature of the copper.
    pub copper_celsius: f64,
    /// Resistance divided by that at the start, with its limits.
    pub resistance_ratio: Tested,
    /// Temperature of the hottest surface.
    pub surface_celsius: f64,
}

/// Frequencies of an ordinary inductance meter, low and high (common practice, no source).
const LOW_HERTZ: [f64; 3] = [100.0, 1e3, 10e3];
const HIGH_HERTZ: [f64; 3] = [1e3, 10e3, 100e3];
/// Below this quality factor ωL/R an ordinary meter cannot separate L from R (common practice, no source).
const LEAST_QUALITY: f64 = 1.0;
/// Frequency of the comparison of the coils by their mutual inductance.
const MUTUAL_HERTZ: f64 = 1e3;
/// A relative drop that an ordinary inductance meter shows reliably (common practice, no source).
const VISIBLE_DROP: f64 = 0.02;
/// Effective currents that an ordinary signal generator with amplifier supplies, and its largest voltage, which is safe
/// to touch (common practice, no source).
const INDUCED_AMPERES: [f64; 7] = [0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001];
const DRIVE_VOLT: f64 = 10.0;
/// Times of the warm-up readings, minutes.
const MINUTES: [f64; 5] = [10.0, 20.0, 30.0, 60.0, 120.0];
/// Copper temperatures for which the resistance is listed, °C.
const CELSIUS: std::ops::RangeInclusive<i32> = 15..=30;

/// The insulation test, at the voltage asked for, or else the one that the spec states.
fn insulation(bench: &Bench, request: &Request) -> InsulationTest {
    let stated = || bench.stated.as_ref()?.insulation_test_voltage_volt;
    let test_volt = request.insulation_test_volt.or_else(stated).unwrap_or(USUAL_TEST_VOLT);
    let limit = insulation_limit(bench, test_volt);
    InsulationTest { test_volt, least_ohm: limit.ohm, source: limit.source }
}

impl TestSheet {
    /// Plans the tests of a pair.
    ///
    /// # Errors
    /// If the test current is not above zero, is more than supply or coils allow, or makes too small a field.
    pub(super) fn of(bench: &Bench, request: &Request, safety: &SafetyFigures) -> Result<Self> {
        let inductance = inductances(bench);
        Ok(Self {
            coil_resistance: coil_resistance(bench, request),
            turns: turns_check(bench, &inductance),
            shorted_turn: shorted_turn(bench, inductance.coil_henry[0].expected),
            inductance,
            insulation: insulation(bench, request),
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
    // Errors of the model are common to both coils and cancel in the comparison.
    let one = inductance_of_build_fraction(bench);
    let per_ampere = TAU * MUTUAL_HERTZ * mean;
    let current_ampere = INDUCED_AMPERES
        .into_iter()
        .find(|ampere| per_ampere * ampere <= DRIVE_VOLT)
        .unwrap_or(DRIVE_VOLT / per_ampere);
    TurnsCheck {
        one_turn_fraction: 2.0 / bench.winding.turns,
        largest_difference_fraction: 2.0 * 2f64.sqrt() * one + ((a.expected - b.expected) / mean).abs(),
        current_ampere,
        frequency_hertz: MUTUAL_HERTZ,
        drive_volt: per_ampere * current_ampere,
        induced_volt: inductance.mutual_henry.times(TAU * MUTUAL_HERTZ * current_ampere),
    }
}

/// Low and high frequency: the lowest at which the coil has some quality, and the lowest above it at which the drop shows.
fn shorted_turn(bench: &Bench, coil_henry: f64) -> ShortedTurn {
    let turn = shorted_turn::ShortedTurn::of(bench, coil_henry);
    let coil_ohm = coil_resistance_at_20_celsius_ohm(bench, &bench.nominal_coil());
    let has_quality = |hertz: &f64| TAU * hertz * coil_henry >= LEAST_QUALITY * coil_ohm;
    let low = LOW_HERTZ.into_iter().find(has_quality).unwrap_or(LOW_HERTZ[2]);
    let seen = |hertz: f64| turn.drop_between([low, hertz]);
    let mut higher = HIGH_HERTZ.into_iter().filter(|high| *high > low);
    let high = higher.find(|hertz| seen(*hertz) >= VISIBLE_DROP).unwrap_or(HIGH_HERTZ[2]);
    ShortedTurn {
        frequency_hertz: [low, high],
        drop_fraction: seen(high),
        largest_drop_fraction: 0.5 * seen(high),
        is_visible: seen(high) >= VISIBLE_DROP,
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

/// Smallest field worth testing: a hand-held teslameter resolves 10 µT, and the limits are a few percent of the field
/// (common practice, no source).
const LEAST_FIELD_TESLA: f64 = 50e-6;

/// Refuses a test current whose field an ordinary probe hardly shows, but never one as large as the sheet would choose
/// itself.
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

/// The largest round current, at most 1 A, that supply and coils carry for ever.
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
    // Rounded down to two digits, so that it never exceeds the current to rely on.
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
    use crate::physics::field::{PreparedPair, Section};
    use crate::physics::heat::example;
    use approx::assert_relative_eq;

    fn sheet(bench: &Bench) -> TestSheet {
        let request = Request::default();
        let safety = SafetyFigures::of(&PreparedPair::of(bench));
        TestSheet::of(bench, &request, &safety).unwrap()
    }

    /// Inductance and resistance at a coil's ends with one turn shorted, from the two equations of a transformer, U =
    /// jωL I + jωM i and 0 = (r + jωl) i + jωM I, solved in real and imaginary parts.
    fn shorted_henry(
        coil_henry: f64,
        mutual_henry: f64,
        turn_henry: f64,
        turn_ohm: f64,
        hertz: f64,
    ) -> [f64; 2] {
        let omega = TAU * hertz;
        // Per ampere of I the current in the turn is i = −jωM/(r + jωl).
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
        // The turn is taken as a thin ring, l = μ0 R (ln(8R/a) − 7/4) with the current spread evenly over the wire (F.
        // W. Grover, Inductance Calculations, 1946, ch. 16, from memory). Its resistance is that of the wire.
        let (radius, wire) = (winding.mean_radius_m, 0.5 * winding.wire.bare_diameter_m);
        let turn = crate::constants::MU_0 * radius * ((8.0 * radius / wire).ln() - 1.75);
        let ohm = crate::pair::circuit::coil_resistance_at_20_celsius_ohm(&bench, &bench.nominal_coil())
            / winding.turns;
        let [low, high] =
            shorted.frequency_hertz.map(|hertz| shorted_henry(coil, coil / winding.turns, turn, ohm, hertz));
        // A square wire of the same area has an inductance about half a percent different from that of the round wire.
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
        // Each section as 6 by 6 thin loops, and the mean of their mutual inductances: Maxwell's formula, from the
        // engine for thin loops.
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
        // At 1 kHz the current changes by 2π × 1000 × I A/s. The error of the mean over loops is about
        // (section/distance)², 1e-4. The generator supplies at most 10 V, whatever the coil.
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
