//! All figures of one pair in one record.

#[cfg(feature = "paper")]
pub mod words;

use crate::Result;
use crate::numeric::calendar::Day;
use crate::pair::circuit;
use crate::pair::{Bench, Connection, Layout, Model, Provenance, Supply};
use crate::physics::field::{Assembly, AxisTerms, Deviation, PreparedPair};
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::range::predicted_range_ampere;
use crate::physics::heat::{HeatedPair, Limits};
use crate::physics::slope::Slope;
use crate::physics::spacing::Spacings;
use crate::physics::{build_error, electrical, safety, spacing};
use crate::questions::uniformity;
use crate::questions::uniformity::RegionDeviation;
use crate::questions::words::limits::as_all;
use crate::questions::words::notes::{SourceNote, as_sentences, left_out};
use nalgebra::Vector3;
use serde::Serialize;

/// One pair on one page.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Sheet {
    /// Program, spec and digest.
    pub provenance: Provenance,
    /// Which geometry was used.
    pub model: Model,
    /// How the coils are connected.
    pub connection: Connection,
    /// Field along +z at the centre per ampere through the ammeter.
    pub field_constant_tesla_per_ampere: f64,
    /// Its standard uncertainty from `build_tolerance`; `None` without one.
    pub field_constant_standard_uncertainty_tesla_per_ampere: Option<f64>,
    /// The field constant of the calibration in force, if a register was named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibrated: Option<CalibratedConstant>,
    /// Largest current of the supply; `None` if the spec does not say.
    pub current_limit_ampere: Option<f64>,
    /// Field at that current, with the room's field if requested.
    pub field_at_current_limit_tesla: Option<f64>,
    /// The room's field along z, if requested.
    pub room_axial_tesla: Option<f64>,
    /// Terms of the field along the axis about the centre.
    pub axis_terms: Option<AxisTerms>,
    /// Spacings worth building; absent if none suits the section, for example one as wide as the radius.
    #[serde(flatten)]
    pub spacings: Option<Spacings>,
    /// Deviation over the beam region.
    pub beam: Option<RegionDeviation>,
    /// Deviation over the bulb.
    pub bulb: Option<RegionDeviation>,
    /// The arrangement of the turns.
    #[serde(flatten)]
    pub layout: Layout,
    /// Length of wire in both coils.
    pub wire_length_m: f64,
    /// Mass of the conductor in both coils, without enamel.
    pub conductor_mass_kg: f64,
    /// The coils as connected, without leads.
    pub resistance_at_20_celsius_ohm: f64,
    /// That resistance with the copper at room temperature.
    pub resistance_at_room_temperature_ohm: f64,
    /// Room temperature; 20 °C if the spec does not state it.
    pub room_temperature_celsius: f64,
    /// Resistance of the leads.
    pub lead_resistance_ohm: f64,
    /// What the supply can drive with the coils in series and in parallel; empty without a supply.
    pub drives: Vec<SupplyReach>,
    /// Inductance of the pair as connected.
    pub inductance_henry: f64,
    /// Self-inductance of one coil (mean of the two).
    pub coil_self_inductance_henry: f64,
    /// Mutual inductance, positive if the coils' fields add.
    pub mutual_inductance_henry: f64,
    /// L/R at room temperature, leads included.
    pub time_constant_s: f64,
    /// Energy stored at the current limit.
    pub stored_energy_joule: Option<f64>,
    /// Force between the coils per square of the supply's current; positive if they attract.
    pub axial_force_newton_per_ampere_squared: f64,
    /// Force at the current limit.
    pub axial_force_newton: Option<f64>,
    /// The current that the coils may carry, and what limits it.
    #[serde(serialize_with = "as_all")]
    pub heating: Limits,
    /// Smallest and largest continuous current over all assumptions. The smallest is to be relied on.
    pub continuous_current_range_ampere: [f64; 2],
    /// Distance from the centre beyond which the field at the current limit is below 0.5 mT; `None` without a current
    /// limit.
    pub caution_distance_m: Option<f64>,
    /// Results left out because the spec lacks something they need.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<SourceNote>,
}

/// The field constant from a calibration.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CalibratedConstant {
    /// Field along +z at the centre per ampere, with its uncertainty.
    #[serde(flatten, serialize_with = "Slope::as_field_constant")]
    pub slope: Slope,
    /// Its source.
    pub origin: String,
    /// The due date of the next calibration, if the owner has a rule.
    pub next_due: Option<Day>,
}

impl CalibratedConstant {
    /// The field constant that a slope gives; `origin` says in words where the slope comes from.
    pub fn of(slope: &Slope, origin: impl Into<String>, next_due: Option<Day>) -> Self {
        Self { slope: slope.clone(), origin: origin.into(), next_due }
    }
}

/// What the supply can drive with one connection of the coils.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SupplyReach {
    /// How the coils are connected.
    pub connection: Connection,
    /// Resistance of coils and leads at room temperature.
    pub resistance_ohm: f64,
    /// Voltage needed for the current limit; `None` if the limit is not known.
    pub voltage_at_current_limit_volt: Option<f64>,
    /// Power in coils and leads at the current limit.
    pub power_at_current_limit_watt: Option<f64>,
    /// Whether the supply's voltage suffices for its current limit with the copper at room temperature; `None` if one
    /// of the two limits is not known.
    pub reaches_current_limit: Option<bool>,
    /// Largest current from the supply: its current limit or the current at its voltage limit, whichever is smaller or
    /// known.
    pub largest_current_ampere: f64,
    /// Field constant of the pair in this connection.
    pub field_constant_tesla_per_ampere: f64,
    /// Field at the largest current.
    pub largest_field_tesla: f64,
}

/// What is asked of a sheet; nothing beyond the bench by default.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// A field of the room, T in bench axes, that is added.
    pub room_field: Option<Vector3<f64>>,
    /// The field constant of a calibration in force.
    pub calibrated: Option<CalibratedConstant>,
    /// The date to print, if any.
    pub date: Option<Day>,
}

/// The sheet of a bench.
///
/// # Errors
/// The coils cancel at the centre, or a part needed for the heating cannot be used.
pub fn sheet(bench: &Bench, request: &Request) -> Result<Sheet> {
    let room_field = request.room_field;
    let pair = PreparedPair::of(bench);
    let assembly = pair.assembly();
    let deviation = Deviation::new(assembly, Vector3::zeros())?;
    let field_constant = build_error::field_constant_tesla_per_ampere(assembly);
    let current_limit = bench.current_limit_ampere();
    let limit = current_limit.as_ref().ok().copied();
    let (tube, bulb) = (bench.tube_with_beam(), bench.bulb());
    let mut notes = uniformity::regions_left_out(&tube, &bulb);
    notes.extend(left_out("what happens at the current limit is", &current_limit));
    notes.extend(
        left_out("whether the voltage is enough is", &bench.voltage_limit_volt())
            .filter(|_| bench.supply.is_some()),
    );
    let length: f64 = bench.coils().iter().map(|coil| circuit::wire_length_m(&bench.winding, coil)).sum();
    let heated = HeatedPair::of(bench)?;
    let temperatures = TemperatureLimits::of(bench);
    let wire = &bench.winding.wire;
    let ((inductances, caution_distance_m), (heating, continuous_range)) = rayon::join(
        || (electrical::inductances(&pair), safety::caution_distance_m(&pair)),
        || {
            rayon::join(
                || heated.limits(&temperatures, bench.supply.as_ref()),
                || predicted_range_ampere(bench, &heated, &temperatures),
            )
        },
    );
    let room_celsius = bench.room_temperature_celsius();
    let force = electrical::axial_force_newton_per_ampere_squared(assembly);
    Ok(Sheet {
        provenance: Provenance::of(bench, request.date),
        model: bench.model,
        connection: bench.connection,
        field_constant_tesla_per_ampere: field_constant,
        field_constant_standard_uncertainty_tesla_per_ampere:
            build_error::field_constant_standard_uncertainty_tesla_per_ampere(bench),
        calibrated: request.calibrated.clone(),
        current_limit_ampere: limit,
        field_at_current_limit_tesla: limit
            .map(|limit| limit * field_constant + room_field.map_or(0.0, |room| room.z)),
        room_axial_tesla: room_field.map(|room| room.z),
        axis_terms: uniformity::axis_terms(assembly),
        spacings: spacing::spacings(bench).ok(),
        beam: tube.ok().and_then(|tube| uniformity::over_beam(&deviation, &tube)),
        bulb: bulb.ok().map(|bulb| uniformity::over_bulb(&deviation, &bulb)),
        layout: Layout::of(&bench.winding),
        wire_length_m: length,
        conductor_mass_kg: length * wire.conductor_area_m2() * wire.conductor.density_kg_per_m3(),
        resistance_at_20_celsius_ohm: circuit::pair_resistance_at_20_celsius_ohm(bench),
        resistance_at_room_temperature_ohm: circuit::pair_resistance_at_20_celsius_ohm(bench)
            * wire.conductor.resistance_ratio(room_celsius),
        room_temperature_celsius: room_celsius,
        lead_resistance_ohm: bench.lead_resistance_ohm.unwrap_or(0.0),
        drives: bench.supply.map_or(Vec::new(), |supply| drives(bench, &supply)),
        inductance_henry: inductances.pair_henry,
        coil_self_inductance_henry: 0.5 * (inductances.self_henry[0] + inductances.self_henry[1]),
        mutual_inductance_henry: inductances.mutual_henry,
        time_constant_s: inductances.pair_henry / circuit::circuit_resistance_ohm(bench, room_celsius),
        stored_energy_joule: limit.map(|limit| electrical::stored_energy_joule(bench, &inductances, limit)),
        axial_force_newton_per_ampere_squared: force,
        axial_force_newton: limit.map(|limit| force * limit * limit),
        heating,
        continuous_current_range_ampere: continuous_range?,
        caution_distance_m: caution_distance_m?,
        notes,
    })
}

/// What the supply can drive with the coils in series and in parallel, with the copper at room temperature.
fn drives(bench: &Bench, supply: &Supply) -> Vec<SupplyReach> {
    let limit = supply.current_limit_ampere;
    [Connection::Series, Connection::Parallel]
        .into_iter()
        .filter_map(|connection| {
            let connected = Bench { connection, ..bench.clone() };
            let resistance = circuit::circuit_resistance_ohm(&connected, bench.room_temperature_celsius());
            let by_voltage = supply.voltage_limit_volt.map(|volt| volt / resistance);
            let largest = [limit, by_voltage].into_iter().flatten().reduce(f64::min)?;
            let field_constant = build_error::field_constant_tesla_per_ampere(&Assembly::of(&connected));
            Some(SupplyReach {
                connection,
                resistance_ohm: resistance,
                voltage_at_current_limit_volt: limit.map(|limit| limit * resistance),
                power_at_current_limit_watt: limit.map(|limit| limit * limit * resistance),
                reaches_current_limit: limit
                    .zip(supply.voltage_limit_volt)
                    .map(|(limit, volt)| limit * resistance <= volt),
                largest_current_ampere: largest,
                field_constant_tesla_per_ampere: field_constant,
                largest_field_tesla: largest * field_constant,
            })
        })
        .collect()
}
