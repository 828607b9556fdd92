//! Judges every reading of a file of measurements against its limits, for `check --measured` and `accept` alike.

use super::expected::{Expected, ExpectedCoil, half_difference, limits_of};
use super::reading::Reading;
use super::readings::{coil_readings, pair_readings};
use super::record::{LimitsFrom, Note, QuantityCheck};
use super::subject::{BothQuantity, CoilQuantity, Quantity, SectionQuantity, Subject};
use super::{standing, warm};
use crate::Result;
use crate::files::spec::{
    CoilPromises, CoilReadings, DropReading, Measured, MeasuredValue, Promise, SupplierLimits,
};
use crate::judgement::limit::{Acceptance, Limits, Rule};
use crate::pair::{Bench, Coil};
use crate::physics::build_error::CoilName;
use crate::physics::shorted_turn::ShortedTurn;
use crate::physics::test_limits::{field_at, inductances, insulation_limit};

/// Judges every reading by a decision rule, in the order of the file.
///
/// `connected` is the bench with its coils connected as they were while measured; `expected` are its values for the
/// pair.
pub(super) fn judged(
    connected: &Bench,
    measured: &Measured,
    expected: &Expected,
    supplier: Option<&SupplierLimits>,
    rule: Rule,
) -> Result<(Vec<QuantityCheck>, Vec<Note>)> {
    let mut notes = Vec::new();
    let mut readings = of_pair(measured, expected);
    for (name, coil) in [CoilName::A, CoilName::B].into_iter().zip(&measured.coils) {
        readings.extend(of_coil(connected, name, coil));
    }
    readings.extend(of_sections(connected, measured));
    readings.extend(of_both(connected, measured));
    readings.extend(of_fields(connected, measured));
    readings.extend(warm::readings(connected, measured, supplier, &mut notes)?);
    readings.extend(standing::readings(connected, measured));
    readings.extend(of_drops(connected, measured));
    readings.extend(of_insulation(connected, measured, supplier, &mut notes));
    let quantities = readings.into_iter().map(|reading| {
        let reading = promised(reading, connected, measured, supplier);
        let MeasuredValue { value, standard_uncertainty } = reading.value;
        let decision = reading.decided(rule)?;
        Ok(QuantityCheck {
            name: reading.subject.key(),
            subject: reading.subject,
            value,
            standard_uncertainty,
            expected: reading.expected,
            limits: reading.limits,
            limits_from: reading.limits_from,
            fails_above: reading.fails_above,
            guard_band: decision.guard_band,
            verdict: Acceptance::of([decision.verdict]),
        })
    });
    Ok((quantities.collect::<Result<_>>()?, notes))
}

fn of_pair(measured: &Measured, expected: &Expected) -> Vec<Reading> {
    let all = Quantity::ALL.into_iter().zip(pair_readings(measured)).enumerate();
    all.filter_map(|(i, (quantity, value))| {
        Some(Reading {
            subject: Subject::Pair(quantity),
            value: value?,
            expected: Some(expected.shown[i]),
            limits: expected.limits[i],
            limits_from: LimitsFrom::Spec,
            fails_above: None,
        })
    })
    .collect()
}

fn of_coil(bench: &Bench, name: CoilName, coil: &CoilReadings) -> Vec<Reading> {
    let readings = coil_readings(coil);
    if readings.iter().all(Option::is_none) {
        return Vec::new();
    }
    let expected = ExpectedCoil::of(bench, name, coil);
    let all = CoilQuantity::ALL.into_iter().zip(readings).enumerate();
    all.filter_map(|(i, (quantity, value))| {
        Some(Reading {
            subject: Subject::Coil(name, quantity),
            value: value?,
            expected: Some(expected.values[i]),
            limits: expected.limits[i],
            limits_from: LimitsFrom::Spec,
            fails_above: None,
        })
    })
    .collect()
}

/// Mean radius and depth of every section whose two diameters were measured. The tolerance of a diameter alone is the
/// sum of those of radius and depth. The spec limits radius and depth themselves, so they are judged as well.
fn of_sections(bench: &Bench, measured: &Measured) -> Vec<Reading> {
    let tolerance = bench.tolerance_or_ordinary();
    let coils = bench.coils();
    let mean = |of: fn(&Coil) -> f64| 0.5 * (of(&coils[0]) + of(&coils[1]));
    let pair = (None, measured.inner_diameter_m, measured.outer_diameter_m);
    let [a, b] = [CoilName::A, CoilName::B].map(|name| {
        let coil = &measured.coils[usize::from(name == CoilName::B)];
        (Some(name), coil.inner_diameter_m, coil.outer_diameter_m)
    });
    let mut readings = Vec::new();
    for (name, inner, outer) in [pair, a, b] {
        let Some((inner, outer)) = inner.zip(outer) else { continue };
        let u = inner.standard_uncertainty.hypot(outer.standard_uncertainty);
        // A reading of the pair may have been taken on either coil.
        let [[radius, unlike_radius], [depth, unlike_depth]] = match name {
            None => [|coil: &Coil| coil.mean_radius_m, |coil: &Coil| coil.depth_m]
                .map(|of| [mean(of), half_difference(bench, of)]),
            Some(name) => {
                let coil = &coils[usize::from(name == CoilName::B)];
                [[coil.mean_radius_m, 0.0], [coil.depth_m, 0.0]]
            }
        };
        for quantity in SectionQuantity::ALL {
            let (value, part, expected, limit) = match quantity {
                SectionQuantity::MeanRadiusM => (
                    0.25 * (inner.value + outer.value),
                    0.25,
                    radius,
                    tolerance.mean_radius_m + unlike_radius,
                ),
                SectionQuantity::DepthM => {
                    (0.5 * (outer.value - inner.value), 0.5, depth, tolerance.depth_m + unlike_depth)
                }
            };
            readings.push(Reading {
                subject: Subject::Section(name, quantity),
                value: MeasuredValue { value, standard_uncertainty: part * u },
                expected: Some(expected),
                limits: Limits { low: Some(expected - limit), high: Some(expected + limit) },
                limits_from: LimitsFrom::Spec,
                fails_above: None,
            });
        }
    }
    readings
}

/// Inductances that depend on how the coils stand to each other, with the limits of the test sheet.
fn of_both(bench: &Bench, measured: &Measured) -> Vec<Reading> {
    let read = [
        (BothQuantity::OpposedInductanceHenry, measured.opposed_inductance_henry),
        (BothQuantity::MutualInductanceHenry, measured.mutual_inductance_henry),
    ];
    if read.iter().all(|(_, value)| value.is_none()) {
        return Vec::new();
    }
    let expected = inductances(bench);
    let one = |(quantity, value): (BothQuantity, Option<MeasuredValue>)| {
        let tested = match quantity {
            BothQuantity::OpposedInductanceHenry => expected.opposed_henry,
            BothQuantity::MutualInductanceHenry => expected.mutual_henry,
        };
        Some(Reading {
            subject: Subject::Both(quantity),
            value: value?,
            expected: Some(tested.expected),
            limits: limits_of(tested),
            limits_from: LimitsFrom::Spec,
            fails_above: None,
        })
    };
    read.into_iter().filter_map(one).collect()
}

/// The field at points. The limits lie two standard uncertainties from the value of a pair built within its tolerance.
fn of_fields(bench: &Bench, measured: &Measured) -> Vec<Reading> {
    let one = |(entry, reading): (usize, &crate::files::spec::FieldReading)| {
        let tested = field_at(bench, &reading.at_m).times(reading.current_ampere);
        Reading {
            subject: Subject::Field {
                entry,
                at_m: reading.at_m.into(),
                current_ampere: reading.current_ampere,
            },
            value: reading.tesla,
            expected: Some(tested.expected),
            limits: limits_of(tested),
            limits_from: LimitsFrom::Spec,
            fails_above: None,
        }
    };
    measured.fields.iter().enumerate().map(one).collect()
}

/// The drops of the coils' inductances with frequency. The limit is half the drop that one shorted turn causes, as on
/// the test sheet.
fn of_drops(bench: &Bench, measured: &Measured) -> Vec<Reading> {
    let read = [CoilName::A, CoilName::B].into_iter().zip(&measured.coils);
    let read = read.filter_map(|(coil, readings)| Some((coil, readings.inductance_drop?)));
    let one = |(coil, reading): (CoilName, DropReading)| {
        let henry = inductances(bench).coil_henry[usize::from(coil == CoilName::B)].expected;
        Reading {
            subject: Subject::InductanceDrop { coil, hertz: reading.hertz },
            value: reading.fraction,
            expected: Some(0.0),
            limits: Limits {
                low: None,
                high: Some(0.5 * ShortedTurn::of(bench, henry).drop_between(reading.hertz)),
            },
            limits_from: LimitsFrom::Spec,
            fails_above: None,
        }
    };
    read.map(one).collect()
}

/// The insulation. What it must hold is the supplier's limit, or else what the spec states, or else what is usual.
fn of_insulation(
    bench: &Bench,
    measured: &Measured,
    supplier: Option<&SupplierLimits>,
    notes: &mut Vec<Note>,
) -> Option<Reading> {
    let reading = measured.insulation?;
    let limit = insulation_limit(bench, reading.test_volt);
    if limit.source.is_some() && supplier.is_none_or(|supplier| supplier.insulation_ohm.is_none()) {
        notes.push(Note::InsulationLimit { ohm: limit.ohm, test_volt: reading.test_volt });
    }
    let promised_at_volt = bench.stated.as_ref().and_then(|stated| stated.insulation_test_voltage_volt);
    if let Some(promised_at_volt) = promised_at_volt.filter(|volt| *volt > reading.test_volt) {
        notes.push(Note::InsulationAtLess { promised_at_volt, test_volt: reading.test_volt });
    }
    Some(Reading {
        subject: Subject::Insulation { test_volt: reading.test_volt },
        value: reading.ohm,
        expected: None,
        limits: Limits { low: Some(limit.ohm), high: None },
        limits_from: if limit.source.is_none() { LimitsFrom::Spec } else { LimitsFrom::CommonPractice },
        fails_above: None,
    })
}

/// The reading with the supplier's limits instead of the spec's, if there are any. If the supplier sets one limit only,
/// the other stays the spec's, unless the two would exclude every value.
fn promised(
    reading: Reading,
    bench: &Bench,
    measured: &Measured,
    supplier: Option<&SupplierLimits>,
) -> Reading {
    let Some(promise) = supplier.and_then(|supplier| promise_on(reading.subject, supplier)) else {
        return reading;
    };
    let conductor = bench.winding.wire.conductor;
    let measured_at = match reading.subject {
        Subject::Pair(Quantity::ResistanceOhm) => Some(measured.resistance_at_celsius),
        Subject::Coil(name, CoilQuantity::ResistanceOhm) => {
            Some(measured.coils[usize::from(name == CoilName::B)].resistance_at_celsius)
        }
        _ => None,
    };
    // A resistance is promised at one temperature of the copper and measured at another.
    let warmer = measured_at.map_or(1.0, |celsius| {
        conductor.resistance_ratio(celsius) / conductor.resistance_ratio(promise.at_celsius)
    });
    let ends = Limits {
        low: promise.at_least.map(|end| end * warmer),
        high: promise.at_most.map(|end| end * warmer),
    };
    let of_spec = reading.limits;
    let both = |low: f64, high: f64| (low < high).then_some(Limits { low: Some(low), high: Some(high) });
    let (limits, limits_from) = match (promise.within, reading.expected) {
        (Some(part), Some(expected)) => {
            let ends = [-part, part].map(|part| Some(expected + part * expected.abs()));
            (Limits { low: ends[0], high: ends[1] }, LimitsFrom::Supplier)
        }
        // A promise as a fraction of a value that the spec does not give sets no limit.
        (Some(_), None) => return reading,
        (None, _) => {
            let at_least = ends.low.filter(|_| ends.high.is_none()).zip(of_spec.high);
            let at_most = of_spec.low.zip(ends.high.filter(|_| ends.low.is_none()));
            let at_least =
                at_least.and_then(|(low, high)| Some((both(low, high)?, LimitsFrom::SupplierAtLeast)));
            let at_most =
                at_most.and_then(|(low, high)| Some((both(low, high)?, LimitsFrom::SupplierAtMost)));
            at_least.or(at_most).unwrap_or((ends, LimitsFrom::Supplier))
        }
    };
    let fails_above = reading.fails_above.filter(|_| limits_from == LimitsFrom::SupplierAtLeast);
    Reading { limits, limits_from, fails_above, ..reading }
}

/// The supplier's promise for a subject.
fn promise_on(subject: Subject, supplier: &SupplierLimits) -> Option<Promise> {
    match subject {
        Subject::Pair(quantity) => match quantity {
            Quantity::ResistanceOhm => supplier.resistance_ohm,
            Quantity::FieldTeslaPerAmpere => supplier.field_tesla_per_ampere,
            Quantity::InductanceHenry => supplier.inductance_henry,
            Quantity::ConductorMassKg => supplier.conductor_mass_kg,
            Quantity::OverallWireDiameterM => supplier.overall_wire_diameter_m,
            Quantity::InnerDiameterM => supplier.inner_diameter_m,
            Quantity::OuterDiameterM => supplier.outer_diameter_m,
            Quantity::WidthM => supplier.width_m,
            Quantity::SpacingM => supplier.spacing_m,
        },
        Subject::Coil(_, quantity) => promise_on_coil(quantity, &supplier.coil),
        Subject::Section(_, SectionQuantity::MeanRadiusM) => supplier.coil.mean_radius_m,
        Subject::Section(_, SectionQuantity::DepthM) => supplier.coil.depth_m,
        // A supplier's limits cannot state these.
        Subject::Both(_) | Subject::InductanceDrop { .. } => None,
        Subject::Voltage { .. } => supplier.warm_volt,
        Subject::SpacingDifference { .. } => supplier.spacing_difference_m,
        Subject::RimStep => supplier.rim_step_m,
        Subject::Field { .. } => supplier.fields,
        Subject::Surface { .. } => supplier.surface_celsius,
        Subject::Insulation { .. } => supplier.insulation_ohm,
    }
}

fn promise_on_coil(quantity: CoilQuantity, coil: &CoilPromises) -> Option<Promise> {
    match quantity {
        CoilQuantity::Turns => coil.turns,
        CoilQuantity::ResistanceOhm => coil.resistance_ohm,
        CoilQuantity::InnerDiameterM => coil.inner_diameter_m,
        CoilQuantity::OuterDiameterM => coil.outer_diameter_m,
        CoilQuantity::WidthM => coil.width_m,
        CoilQuantity::InductanceHenry => coil.inductance_henry,
        CoilQuantity::ConductorMassKg => coil.conductor_mass_kg,
        // A supplier's limits cannot state these; the spec's tolerance applies.
        CoilQuantity::OffsetXM | CoilQuantity::OffsetYM | CoilQuantity::TiltXRad | CoilQuantity::TiltYRad => {
            None
        }
    }
}
