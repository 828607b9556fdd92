//! Readings of the warm pair: its hottest surface and the voltage at its terminals.

use super::consistency::{Contradiction, Other};
use super::reading::Reading;
use super::record::{LimitsFrom, Note, QuantityCheck};
use super::subject::Subject;
use crate::files::spec::{Measured, SupplierLimits};
use crate::judgement::limit::Limits;
use crate::pair::circuit::pair_resistance_at_20_celsius_ohm;
use crate::pair::{Bench, STATED_ROOM_CELSIUS};
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::{HeatedPair, HeldFor};
use crate::physics::test_limits::{FreeEnds, OF_RISE, pair_resistance_ohm};
use crate::units::{Dimension, display};
use crate::{Error, Result};

/// Every reading of the warm pair.
pub(super) fn readings(
    bench: &Bench,
    measured: &Measured,
    supplier: Option<&SupplierLimits>,
    notes: &mut Vec<Note>,
) -> Result<Vec<Reading>> {
    let surface = of_surface(bench, measured, supplier, notes)?;
    let voltage = of_voltage(bench, measured, supplier, notes)?;
    Ok(surface.into_iter().chain(voltage).collect())
}

/// The room temperature during a reading. If neither the reading nor the spec states it, the usual one is assumed, with
/// one note.
fn room_celsius(bench: &Bench, read: Option<f64>, notes: &mut Vec<Note>) -> f64 {
    let stated = read.or(bench.room.as_ref().and_then(|room| room.temperature_celsius));
    let celsius = stated.unwrap_or_else(|| bench.room_temperature_celsius());
    let note = Note::RoomTaken { celsius };
    if stated.is_none() && !notes.contains(&note) {
        notes.push(note);
    }
    celsius
}

/// The error for a current that the spec's winding does not survive, so that nothing can be computed for this reading.
fn burns(current_ampere: f64, after_s: f64, what: &str, key: &str) -> Error {
    Error::value_with_hint(
        format!(
            "no pair of this spec carries {} for {}: its winding would burn first, so the spec gives no limit for its {what}",
            display(current_ampere, Dimension::Current, 3),
            display(after_s, Dimension::Time, 3)
        ),
        format!("look at `{key}.current` and `.after`, or give the supplier's limit"),
    )
}

/// The hottest surface: at most as hot as the model predicts, plus its uncertainty. A cooler one is no fault.
fn of_surface(
    bench: &Bench,
    measured: &Measured,
    supplier: Option<&SupplierLimits>,
    notes: &mut Vec<Note>,
) -> Result<Option<Reading>> {
    let Some(reading) = measured.surface_temperature else { return Ok(None) };
    let room_celsius = room_celsius(bench, reading.room_celsius, notes);
    let drive = Drive::held(reading.current_ampere.abs());
    let pair = HeatedPair::of(bench)?.in_room(room_celsius);
    let surface = pair.hottest_surface_celsius_after(&drive, Some(reading.after_s))?;
    let promised = supplier.is_some_and(|supplier| supplier.surface_celsius.is_some());
    if surface.is_none() && !promised {
        return Err(burns(reading.current_ampere, reading.after_s, "surface", "surface_temperature"));
    }
    let computed = surface.map(|celsius| room_celsius + (1.0 + OF_RISE) * (celsius - room_celsius));
    let stated = stated_surface_celsius(bench, reading.current_ampere, reading.after_s, room_celsius);
    Ok(Some(Reading {
        subject: Subject::Surface { current_ampere: reading.current_ampere, after_s: reading.after_s },
        value: reading.celsius,
        expected: surface,
        limits: Limits { low: None, high: [computed, stated].into_iter().flatten().reduce(f64::min) },
        limits_from: LimitsFrom::Spec,
        fails_above: None,
    }))
}

/// The hottest surface that the spec states, moved with the room. `None` unless it is stated for a current and a time
/// that are not exceeded here: a pair that has carried less, or for less time, is no hotter.
fn stated_surface_celsius(bench: &Bench, ampere: f64, after_s: f64, room_celsius: f64) -> Option<f64> {
    let stated = bench.stated.as_ref()?;
    let has_carried_no_more = ampere.abs() <= stated.largest_field_current_ampere? * (1.0 + SAME_CURRENT);
    let no_longer = stated.hottest_surface_after_s.is_none_or(|stated_s| after_s <= stated_s);
    let celsius = stated.hottest_surface_celsius? + room_celsius - STATED_ROOM_CELSIUS;
    (has_carried_no_more && no_longer).then_some(celsius)
}

/// Currents that differ by less than this part are the same.
const SAME_CURRENT: f64 = 1e-3;
/// A rise below this fraction of the model's is not believed (common practice, no source): the model is good to 20 %.
const BELIEVED: f64 = 0.5;
/// A hand thermometer does not tell a rise smaller than this from none, in kelvin (common practice, no source).
const SEEN_KELVIN: f64 = 5.0;

/// A surface much colder than the current must make it. Either the current did not flow, or the thermometer was
/// elsewhere.
pub(super) fn too_cold(
    bench: &Bench,
    measured: &Measured,
    quantities: &[QuantityCheck],
) -> Option<Contradiction> {
    let surface = quantities.iter().find(|it| matches!(it.subject, Subject::Surface { .. }))?;
    let room_celsius = measured
        .surface_temperature
        .and_then(|reading| reading.room_celsius)
        .unwrap_or(bench.room_temperature_celsius());
    let rise = surface.expected? - room_celsius;
    let read = surface.value - room_celsius;
    let is_cold = rise > SEEN_KELVIN && read + 2.0 * surface.standard_uncertainty < BELIEVED * rise;
    is_cold.then(|| Contradiction {
        subject: surface.subject,
        other: Other::Heat,
        value: surface.value,
        other_value: room_celsius + rise,
        standard_uncertainty: (OF_RISE * rise / 3f64.sqrt()).hypot(surface.standard_uncertainty),
    })
}

/// The voltage at the terminals, I R. Its limits combine those of the cold resistance with those of the model's rise.
/// Voltage and current may have either sign.
fn of_voltage(
    bench: &Bench,
    measured: &Measured,
    supplier: Option<&SupplierLimits>,
    notes: &mut Vec<Note>,
) -> Result<Option<Reading>> {
    let Some(reading) = measured.warm_voltage else { return Ok(None) };
    let room_celsius = room_celsius(bench, reading.room_celsius, notes);
    let ampere = reading.current_ampere.abs();
    let pair = HeatedPair::of(bench)?.in_room(room_celsius);
    let carried = pair.carried(&Drive::held(ampere), HeldFor::Seconds(reading.after_s))?;
    let promised = supplier.is_some_and(|supplier| supplier.warm_volt.is_some());
    if carried.is_none() && !promised {
        return Err(burns(reading.current_ampere, reading.after_s, "voltage", "warm_voltage"));
    }
    let cold = pair_resistance_ohm(bench, FreeEnds::stated(measured.free_ends_m), room_celsius);
    let conductor = bench.winding.wire.conductor;
    let rise = carried.as_ref().map(|carried| carried.copper_celsius() - room_celsius);
    let volt = |cold_ohm: f64, rise: f64| {
        let warmer =
            conductor.resistance_ratio(room_celsius + rise) / conductor.resistance_ratio(room_celsius);
        ampere * cold_ohm * warmer
    };
    let nominal_ohm = pair_resistance_at_20_celsius_ohm(bench) * conductor.resistance_ratio(room_celsius);
    // Reversed leads at the voltmeter are no fault of the pair.
    let value = crate::files::spec::MeasuredValue { value: reading.volt.value.abs(), ..reading.volt };
    Ok(Some(Reading {
        subject: Subject::Voltage { current_ampere: reading.current_ampere, after_s: reading.after_s },
        value,
        expected: rise.map(|rise| volt(nominal_ohm, rise)),
        limits: Limits {
            low: rise.map(|rise| volt(cold.low, rise * (1.0 - OF_RISE))),
            high: rise.map(|rise| volt(cold.high, rise * (1.0 + OF_RISE))),
        },
        limits_from: LimitsFrom::Spec,
        fails_above: None,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::{MeasuredValue, VoltageReading};

    #[test]
    fn the_voltage_of_a_warm_pair_is_that_of_its_copper() {
        let bench = crate::physics::heat::example::bench();
        let mut measured = Measured::nothing("Warm");
        let volt = MeasuredValue { value: -14.0, standard_uncertainty: 0.02 };
        let mut read = |after_s: f64| {
            measured.warm_voltage = Some(VoltageReading {
                volt,
                current_ampere: -2.0,
                current_uncertainty_ampere: None,
                after_s,
                room_celsius: Some(20.0),
            });
            readings(&bench, &measured, None, &mut Vec::new()).unwrap().remove(0)
        };
        // At the start: 2 A times the resistance at 20 °C, within the wire's limits.
        let cold = read(1.0);
        let ohm = pair_resistance_at_20_celsius_ohm(&bench);
        assert!((cold.expected.unwrap() / (2.0 * ohm) - 1.0).abs() < 1e-3, "{:?}", cold.expected);
        assert_eq!(cold.value.value, 14.0);
        // Warm: 0.393 % more for each kelvin of the copper.
        let warm = read(3600.0);
        let pair = HeatedPair::of(&bench).unwrap().in_room(20.0);
        let carried = pair.carried(&Drive::held(2.0), HeldFor::Seconds(3600.0)).unwrap().unwrap();
        let rise = carried.copper_celsius() - 20.0;
        assert!(rise > 5.0, "{rise}");
        let expected = 2.0 * ohm * (1.0 + 0.00393 * rise);
        assert!((warm.expected.unwrap() / expected - 1.0).abs() < 1e-3);
        let width = |it: &Reading| it.limits.high.unwrap() - it.limits.low.unwrap();
        assert!(width(&warm) > width(&cold) && warm.limits.low.unwrap() < expected);
        assert!(warm.limits.high.unwrap() > expected);
    }
}
