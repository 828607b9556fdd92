//! The spec's value of every quantity that can be measured, with its uncertainty and its limits.

use super::subject::{CoilQuantity, Quantity};
use crate::files::spec::{CoilReadings, Measured};
use crate::judgement::limit::Limits;
use crate::pair::WireLimits;
use crate::pair::circuit;
use crate::pair::{Bench, Coil, Layout, resistivity_of_wire};
use crate::physics::build_error::CoilName;
use crate::physics::field::{Assembly, PreparedPair};
use crate::physics::test_limits::{
    FREE_END_M, FreeEnds, Tested, coil_inductance_henry, coil_resistance_ohm, field_constant,
    pair_inductance_henry, pair_resistance_ohm,
};
use crate::physics::{build_error, electrical};
use nalgebra::Vector3;

/// One number for each [`Quantity`], in the order of [`Quantity::ALL`].
pub(super) type Values = [f64; Quantity::COUNT];

/// Relative standard uncertainty of a resistance or a mass computed from the wire: bare diameter within ±1 % (IEC
/// 60317-0-1), twice that in area, rectangular.
pub(super) const FROM_WIRE: f64 = 0.02 / 1.732_050_807_568_877_2;
/// Relative standard uncertainty of a resistance stated in the spec as measured: meter and copper temperature (common
/// practice, no source).
const FROM_MEASURED_RESISTANCE: f64 = 0.002;
/// Relative standard uncertainty of an inductance in the search for faults (common practice, no source).
const OF_INDUCTANCE: f64 = 0.01;
/// Relative standard uncertainty of a field: turns that do not fill whole layers, and the model itself.
pub(super) const FROM_MODEL: f64 = 1e-3;
/// Smallest limit of the turns of one coil: the leads come out anywhere within half a turn (common practice, no
/// source).
const LEAST_TURNS_LIMIT: f64 = 0.5;

/// The expected values.
#[derive(Clone, Copy, Debug)]
pub(super) struct Expected {
    pub(super) values: Values,
    pub(super) standard_uncertainties: Values,
    /// The part that affects one quantity alone, unlike lengths, turns and wire, which affect several.
    pub(super) own_standard_uncertainties: Values,
    /// The centres of the limits: as `values`, except that the resistance is that of the wire's standard, as on the
    /// test sheet.
    pub(super) shown: Values,
    pub(super) limits: [Limits; Quantity::COUNT],
    /// Resistance of the leads.
    pub(super) lead_ohm: f64,
}

/// The quantities of a bench with its copper at a temperature; resistances at the coils' own terminals.
pub(super) fn predicted(bench: &Bench, celsius: f64) -> Values {
    let inductance = electrical::inductances(&PreparedPair::of(bench)).pair_henry;
    let mut values = predicted_but_inductance(bench, celsius);
    values[2] = inductance;
    values
}

/// These quantities without the inductance, which takes longest to compute.
pub(super) fn predicted_but_inductance(bench: &Bench, celsius: f64) -> Values {
    let assembly = Assembly::of(bench);
    let coils = bench.coils();
    let mean = |of: fn(&Coil) -> f64| 0.5 * (of(&coils[0]) + of(&coils[1]));
    let wire = &bench.winding.wire;
    let length_m: f64 = coils.iter().map(|coil| circuit::wire_length_m(&bench.winding, coil)).sum();
    let overall = WireLimits::of(wire).overall_diameter_m.nominal;
    [
        circuit::circuit_resistance_ohm(bench, celsius) - bench.lead_resistance_ohm.unwrap_or(0.0),
        assembly.field_per_ampere(&Vector3::zeros()).z,
        0.0,
        length_m * wire.conductor_area_m2() * wire.conductor.density_kg_per_m3(),
        overall,
        mean(|coil| 2.0 * coil.mean_radius_m - coil.depth_m),
        mean(|coil| 2.0 * coil.mean_radius_m + coil.depth_m),
        0.5 * coils.iter().map(|coil| Layout::wound_width_m(&bench.winding, coil)).sum::<f64>(),
        bench.spacing_m + coils[1].offset_m.z - coils[0].offset_m.z,
    ]
}

/// Whether the spec states measured resistances of both coils. They then do not depend on its turns and wire.
pub(super) fn resistance_is_stated(bench: &Bench) -> bool {
    bench.coils().iter().all(|coil| coil.resistance.is_some())
}

/// Half the difference of the two coils in a length.
pub(super) fn half_difference(bench: &Bench, of: impl Fn(&Coil) -> f64) -> f64 {
    let [a, b] = bench.coils();
    0.5 * (of(&a) - of(&b)).abs()
}

/// A bench after a change of both its coils as built, or of anything else.
pub(super) fn with_change(bench: &Bench, change: &dyn Fn(&mut Bench)) -> Bench {
    let mut other = bench.clone();
    other.set_coils(bench.coils());
    change(&mut other);
    other
}

/// Relative change of every quantity, in the quantity's own direction; zero for a quantity that is zero.
pub(super) fn relative_change(nominal: &Values, changed: &Values) -> Values {
    std::array::from_fn(|i| if nominal[i] == 0.0 { 0.0 } else { changed[i] / nominal[i] - 1.0 })
}

impl Expected {
    /// For the pair as it was measured.
    pub(super) fn of(bench: &Bench, readings: &Measured) -> Self {
        let mut values = predicted(bench, readings.resistance_at_celsius);
        let measured = resistance_is_stated(bench);
        // Errors of the resistance alone: the resistivity within its standard, and the wire beyond the windings.
        let mut of_resistance = FROM_MEASURED_RESISTANCE * values[0];
        if !measured {
            let [middle, of_resistivity] = resistivity_of_wire(bench.winding.wire.conductor);
            let [ends_ohm, of_ends] = free_ends_ohm(bench, readings);
            values[0] = middle * values[0] + ends_ohm;
            of_resistance = (of_resistivity * values[0]).hypot(of_ends);
        }
        let over_enamel = WireLimits::of(&bench.winding.wire).overall_diameter_m;
        let tolerance = bench.tolerance_or_ordinary();
        let own = Bench { build_tolerance: Some(tolerance), ..bench.clone() };
        let diameter_limit = 2.0 * tolerance.mean_radius_m + tolerance.depth_m;
        let radius = tolerance.distribution.standard_uncertainty(tolerance.mean_radius_m)
            / bench.winding.mean_radius_m;
        let of_wire = FROM_WIRE.hypot(radius);
        let field =
            build_error::field_constant_standard_uncertainty_tesla_per_ampere(&own).unwrap_or(f64::NAN);
        let of_length = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
        // A length may have been read on either coil, which differs from the mean by half their known difference.
        let unlike = [
            half_difference(bench, |coil| 2.0 * coil.mean_radius_m - coil.depth_m),
            half_difference(bench, |coil| 2.0 * coil.mean_radius_m + coil.depth_m),
            half_difference(bench, |coil| coil.width_m),
        ];
        let standard_uncertainties = [
            if measured { of_resistance } else { of_resistance.hypot(of_wire * values[0]) },
            field.hypot(FROM_MODEL * values[1]),
            values[2].abs() * OF_INDUCTANCE,
            values[3] * of_wire,
            (over_enamel.most - over_enamel.least) / (2.0 * 3f64.sqrt()),
            of_length(diameter_limit).hypot(unlike[0]),
            of_length(diameter_limit).hypot(unlike[1]),
            of_length(tolerance.width_m).hypot(unlike[2]),
            of_length(tolerance.spacing_m),
        ];
        // For independent coils, the part of one coil's length that the mean does not contain is as uncertain as the
        // mean.
        let of_one = |limit: f64| of_length(limit) * std::f64::consts::FRAC_1_SQRT_2;
        let own_standard_uncertainties = [
            of_resistance,
            FROM_MODEL * values[1].abs(),
            standard_uncertainties[2],
            0.0,
            standard_uncertainties[4],
            of_one(diameter_limit).hypot(unlike[0]),
            of_one(diameter_limit).hypot(unlike[1]),
            of_one(tolerance.width_m).hypot(unlike[2]),
            0.0,
        ];
        // Dimensions have limits of their own, mass two standard uncertainties; the others are as on the test sheet.
        let halves = [
            0.0,
            0.0,
            2.0 * standard_uncertainties[2],
            2.0 * standard_uncertainties[3],
            0.0,
            diameter_limit + unlike[0],
            diameter_limit + unlike[1],
            tolerance.width_m + unlike[2],
            tolerance.spacing_m,
        ];
        let lead_ohm = bench.lead_resistance_ohm.unwrap_or(0.0);
        let mut shown = values;
        let mut limits = std::array::from_fn(|i| Limits {
            low: Some(values[i] - halves[i]),
            high: Some(values[i] + halves[i]),
        });
        let ohm = pair_resistance_ohm(
            bench,
            readings.free_ends_m.map_or(FreeEnds::UpTo(4.0 * FREE_END_M), FreeEnds::Of),
            readings.resistance_at_celsius,
        );
        let henry = readings.inductance_henry.map(|_| pair_inductance_henry(bench));
        for (i, tested) in [(0, Some(ohm)), (1, Some(field_constant(bench))), (2, henry)] {
            if let Some(tested) = tested {
                (shown[i], limits[i]) = (tested.expected, limits_of(tested));
            }
        }
        limits[4] = Limits { low: Some(over_enamel.least), high: Some(over_enamel.most) };
        // Either value, with or without the leads, is the pair's resistance.
        limits[0].high = Some(ohm.high + lead_ohm);
        Self { values, standard_uncertainties, own_standard_uncertainties, shown, limits, lead_ohm }
    }
}

/// Resistance of the wire beyond the windings that a reading of the pair contains, and its standard uncertainty. If the
/// reading does not state that wire, it may be any length up to the usual ends.
fn free_ends_ohm(bench: &Bench, readings: &Measured) -> [f64; 2] {
    let of = |length_m: f64| {
        let ohm = |ends| pair_resistance_ohm(bench, ends, readings.resistance_at_celsius).expected;
        ohm(FreeEnds::Of(length_m)) - ohm(FreeEnds::Of(0.0))
    };
    match readings.free_ends_m {
        Some(length_m) => [of(length_m), 0.0],
        None => [of(2.0 * FREE_END_M), of(2.0 * FREE_END_M) / 3f64.sqrt()],
    }
}

/// The limits of a tested quantity.
pub(super) const fn limits_of(tested: Tested) -> Limits {
    Limits { low: Some(tested.low), high: Some(tested.high) }
}

/// The expected values of one coil alone, in the order of [`CoilQuantity::ALL`].
pub(super) struct ExpectedCoil {
    pub(super) values: [f64; CoilQuantity::COUNT],
    pub(super) limits: [Limits; CoilQuantity::COUNT],
}

impl ExpectedCoil {
    /// Limits: for dimensions, positions and turns the tolerance, for mass two standard uncertainties, for resistance
    /// and inductance as on the test sheet.
    pub(super) fn of(bench: &Bench, name: CoilName, readings: &CoilReadings) -> Self {
        let tolerance = bench.tolerance_or_ordinary();
        let coil = &bench.coils()[usize::from(name == CoilName::B)];
        let wire = &bench.winding.wire;
        let mass = circuit::wire_length_m(&bench.winding, coil)
            * wire.conductor_area_m2()
            * wire.conductor.density_kg_per_m3();
        let ohm = coil_resistance_ohm(
            bench,
            coil,
            FreeEnds::stated(readings.free_ends_m),
            readings.resistance_at_celsius,
        );
        let unread = || Tested::about(f64::NAN, f64::NAN);
        let henry = readings.inductance_henry.map_or_else(unread, |_| coil_inductance_henry(bench, name));
        let u = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
        let radius = u(tolerance.mean_radius_m) / coil.mean_radius_m;
        let of_wire = FROM_WIRE.hypot(radius).hypot(u(tolerance.turns) / coil.turns);
        let diameter_limit = 2.0 * tolerance.mean_radius_m + tolerance.depth_m;
        let within =
            |value: f64, limit: f64| (value, Limits { low: Some(value - limit), high: Some(value + limit) });
        let as_tested = |tested: Tested| (tested.expected, limits_of(tested));
        let all = [
            within(coil.turns, tolerance.turns.max(LEAST_TURNS_LIMIT)),
            as_tested(ohm),
            within(2.0 * coil.mean_radius_m - coil.depth_m, diameter_limit),
            within(2.0 * coil.mean_radius_m + coil.depth_m, diameter_limit),
            within(Layout::wound_width_m(&bench.winding, coil), tolerance.width_m),
            as_tested(henry),
            within(mass, 2.0 * of_wire * mass),
            within(coil.offset_m.x, tolerance.offset_m),
            within(coil.offset_m.y, tolerance.offset_m),
            within(coil.tilt_rad[0], tolerance.tilt_rad),
            within(coil.tilt_rad[1], tolerance.tilt_rad),
        ];
        Self { values: all.map(|(value, _)| value), limits: all.map(|(_, limits)| limits) }
    }
}
