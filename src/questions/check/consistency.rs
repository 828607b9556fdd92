//! Checks whether two readings of the same thing agree with each other.

use super::joined::joined;
use super::readings::pair_readings;
use super::subject::{BothQuantity, Quantity, Subject};
use crate::files::spec::{FieldReading, Measured, MeasuredValue};
use crate::pair::circuit::wire_length_m;
use crate::pair::{Bench, Connection, Distribution, Meter};
use crate::physics::test_limits::FREE_END_M;
use serde::Serialize;

/// Two readings whose difference exceeds this many standard uncertainties are not of the same thing. By chance this
/// happens to one independent pair in four hundred.
const BEYOND: f64 = 3.0;
/// Uncertainty of a copper temperature that is stated without one (common practice, no source).
const OF_TEMPERATURE_KELVIN: f64 = 1.0;
/// Points nearer than this are one place.
const ONE_PLACE_M: f64 = 1e-4;

/// Two readings that cannot both be right.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Contradiction {
    /// One reading.
    #[serde(serialize_with = "as_key")]
    pub subject: Subject,
    /// The other reading, or what several others together give.
    pub other: Other,
    /// Value of the first.
    pub value: f64,
    /// Value of the same quantity according to the other.
    pub other_value: f64,
    /// Standard uncertainty of their difference.
    pub standard_uncertainty: f64,
}

/// What a reading is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Other {
    /// The value for the pair that follows from the readings of each coil.
    BothCoils,
    /// The field read at the same place: an entry of the file, counted from 0.
    Field(usize),
    /// The other inductances: of the coils, of the pair in either connection, between the coils.
    Inductances,
    /// The heat from the current.
    Heat,
}

fn as_key<S: serde::Serializer>(subject: &Subject, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&subject.key())
}

/// All contradictions: pairs of readings that differ by more than chance and by more than what may lie between them.
/// Between two resistances these are free ends and leads, and the temperature of the copper if it has no uncertainty.
pub(super) fn contradictions(bench: &Bench, measured: &Measured) -> Vec<Contradiction> {
    let mut found = against_the_coils(bench, measured);
    found.extend(fields(bench, measured));
    found.extend(inductances(bench, measured));
    found
}

/// Relative error of the sums of a pair's inductances, from the meter's frequency or a conducting former (common
/// practice, no source).
const OF_INDUCTANCE: f64 = 0.003;

/// The inductances of a pair in series: L = L_a + L_b + 2 M, and L' = L_a + L_b − 2 M with one coil reversed. Each
/// reading is compared with the value that the others give for it. The worst contradiction is returned.
fn inductances(bench: &Bench, measured: &Measured) -> Option<Contradiction> {
    if bench.connection == Connection::Parallel {
        return None;
    }
    let [a, b] = [0, 1].map(|i| measured.coils[i].inductance_henry);
    let coils = a.zip(b).map(|(a, b)| MeasuredValue {
        value: a.value + b.value,
        standard_uncertainty: a.standard_uncertainty.hypot(b.standard_uncertainty),
    });
    let sum = |one: MeasuredValue, part: f64, other: MeasuredValue, of_other: f64| MeasuredValue {
        value: part * one.value + of_other * other.value,
        standard_uncertainty: (part * one.standard_uncertainty).hypot(of_other * other.standard_uncertainty),
    };
    let (own, opposed, mutual) =
        (measured.inductance_henry, measured.opposed_inductance_henry, measured.mutual_inductance_henry);
    let by = |one: Option<MeasuredValue>, part, other: Option<MeasuredValue>, of_other| {
        one.zip(other).map(|(one, other)| sum(one, part, other, of_other))
    };
    let pair = Subject::Pair(Quantity::InductanceHenry);
    let [reversed, between] =
        [BothQuantity::OpposedInductanceHenry, BothQuantity::MutualInductanceHenry].map(Subject::Both);
    let all = [
        (pair, own, by(coils, 1.0, mutual, 2.0)),
        (reversed, opposed, by(coils, 1.0, mutual, -2.0)),
        (pair, own, by(coils, 2.0, opposed, -1.0)),
        (between, mutual, by(own, 0.25, opposed, -0.25)),
    ];
    let largest = [own, opposed, coils].into_iter().flatten().map(|it| it.value).fold(0.0, f64::max);
    let each = all.into_iter().filter_map(|(subject, own, other)| {
        let (own, other) = own.zip(other)?;
        let part = if subject == between { 0.25 } else { 1.0 };
        let u =
            own.standard_uncertainty.hypot(other.standard_uncertainty).hypot(part * OF_INDUCTANCE * largest);
        let off = (own.value - other.value).abs() / u;
        (off > BEYOND).then_some((
            off,
            Contradiction {
                subject,
                other: Other::Inductances,
                value: own.value,
                other_value: other.value,
                standard_uncertainty: u,
            },
        ))
    });
    each.max_by(|one, other| one.0.total_cmp(&other.0)).map(|(_, found)| found)
}

/// Compares the pair's own readings with what the coils' readings give for the pair.
fn against_the_coils(bench: &Bench, measured: &Measured) -> Vec<Contradiction> {
    let conductor = bench.winding.wire.conductor;
    let coils_alone = Measured {
        resistance_ohm: None,
        conductor_mass_kg: None,
        inner_diameter_m: None,
        outer_diameter_m: None,
        width_m: None,
        field_tesla_per_ampere: None,
        fields: Vec::new(),
        ..measured.clone()
    };
    let of_coils = joined(&coils_alone, bench.connection, conductor);
    let both = pair_readings(measured).into_iter().zip(pair_readings(&of_coils));
    let mut found = Vec::new();
    for (quantity, (own, of_coils_value)) in Quantity::ALL.into_iter().zip(both) {
        let Some((own, mut other)) = own.zip(of_coils_value) else { continue };
        // By how much the pair's value may exceed, and fall short of, that of its coils.
        let mut allowed = [0.0, 0.0];
        let mut u = own.standard_uncertainty;
        if quantity == Quantity::ResistanceOhm {
            let [now, then] =
                [measured, &of_coils].map(|it| conductor.resistance_ratio(it.resistance_at_celsius));
            other.value *= now / then;
            other.standard_uncertainty *= now / then;
            allowed = [bench.lead_resistance_ohm.unwrap_or(0.0), free_ends_ohm(bench)];
            u = u.hypot(of_temperature(bench, measured, own.value));
        } else if matches!(quantity, Quantity::InductanceHenry | Quantity::SpacingM) {
            continue;
        }
        let difference = own.value - other.value;
        let beyond = (difference - allowed[0]).max(-difference - allowed[1]);
        let u = u.hypot(other.standard_uncertainty);
        if beyond > BEYOND * u {
            found.push(Contradiction {
                subject: Subject::Pair(quantity),
                other: Other::BothCoils,
                value: own.value,
                other_value: other.value,
                standard_uncertainty: u,
            });
        }
    }
    found
}

/// Resistance of the free ends, which the readings of the coils may contain and that of the pair may not.
fn free_ends_ohm(bench: &Bench) -> f64 {
    let coils = bench.coils();
    let per_metre = |coil| {
        crate::pair::circuit::coil_resistance_at_20_celsius_ohm(bench, coil)
            / wire_length_m(&bench.winding, coil)
    };
    let each = coils.each_ref().map(|coil| 2.0 * FREE_END_M * per_metre(coil));
    each[0] + each[1]
}

/// Uncertainty of a resistance from temperatures without a stated uncertainty.
fn of_temperature(bench: &Bench, measured: &Measured, ohm: f64) -> f64 {
    let exact = measured.temperature_taken_as_exact
        || measured.coils.iter().any(|coil| coil.temperature_taken_as_exact);
    let kelvin = if exact { OF_TEMPERATURE_KELVIN } else { 0.0 };
    kelvin * bench.winding.wire.conductor.resistance_coefficient_per_kelvin() * ohm
}

/// A field per ampere, and the current at which it was read.
#[derive(Clone, Copy)]
struct PerAmpere {
    reading: MeasuredValue,
    current_ampere: f64,
    current_uncertainty_ampere: Option<f64>,
}

impl PerAmpere {
    fn of(reading: &FieldReading) -> Self {
        Self {
            reading: MeasuredValue {
                value: reading.tesla.value / reading.current_ampere,
                standard_uncertainty: reading.tesla.standard_uncertainty / reading.current_ampere.abs(),
            },
            current_ampere: reading.current_ampere,
            current_uncertainty_ampere: reading.current_uncertainty_ampere,
        }
    }

    /// Standard uncertainty of the difference of two fields per ampere, from the fields and the currents. If the
    /// uncertainty of a current is not stated, the ammeter's zero and last digit are used. The ammeter's gain is common
    /// to both and cancels.
    fn uncertainty_beside(self, other: Self, ammeter: Option<Meter>) -> f64 {
        let u = |limit: f64| Distribution::Rectangular.standard_uncertainty(limit);
        let zero = ammeter.map_or(0.0, |meter| u(meter.limit_of_error(0.0)));
        let rounding = ammeter.and_then(|meter| meter.resolution).map_or(0.0, |step| u(0.5 * step));
        let inverse = [self.current_ampere, other.current_ampere].map(f64::recip);
        let stated = [self, other].map(|it| it.current_uncertainty_ampere);
        let by_ammeter = |i: usize| if stated[i].is_none() { inverse[i] } else { 0.0 };
        let own = |i: usize| stated[i].unwrap_or(rounding) * inverse[i];
        let of_current = (zero * (by_ammeter(0) - by_ammeter(1))).hypot(own(0)).hypot(own(1));
        let of_fields = self.reading.standard_uncertainty.hypot(other.reading.standard_uncertainty);
        of_fields.hypot(self.reading.value * of_current)
    }
}

/// Compares fields at one place, each per ampere of its current.
fn fields(bench: &Bench, measured: &Measured) -> Vec<Contradiction> {
    let mut found = Vec::new();
    let mut hold = |subject, other, own: PerAmpere, that: PerAmpere| {
        let u = own.uncertainty_beside(that, bench.ammeter);
        if (own.reading.value - that.reading.value).abs() > BEYOND * u {
            found.push(Contradiction {
                subject,
                other,
                value: own.reading.value,
                other_value: that.reading.value,
                standard_uncertainty: u,
            });
        }
    };
    let at_centre = measured.field_tesla_per_ampere.zip(measured.field_current_ampere);
    let at_centre = at_centre.map(|(reading, current_ampere)| PerAmpere {
        reading,
        current_ampere,
        current_uncertainty_ampere: measured.field_current_uncertainty_ampere,
    });
    for (entry, reading) in measured.fields.iter().enumerate() {
        let this = PerAmpere::of(reading);
        if let (Some(own), true) = (at_centre, reading.at_m.norm() < ONE_PLACE_M) {
            let subject = Subject::Pair(Quantity::FieldTeslaPerAmpere);
            hold(subject, Other::Field(entry), own, this);
        }
        let earlier = measured.fields[..entry].iter().enumerate();
        for (before, other) in earlier.filter(|(_, other)| (other.at_m - reading.at_m).norm() < ONE_PLACE_M) {
            let subject =
                Subject::Field { entry, at_m: reading.at_m.into(), current_ampere: reading.current_ampere };
            hold(subject, Other::Field(before), this, PerAmpere::of(other));
        }
    }
    found
}
