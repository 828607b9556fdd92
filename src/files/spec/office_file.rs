//! What a spec file may hold of papers: who calibrates for whom, with what, and what a pair costs on which terms.

use super::quantity::{
    Currency, Current, Date, FieldConstant, FluxDensity, Fraction, Length, Mass, Period, Resistance,
    Temperature, Time, Voltage,
};
use crate::pair::{CoilsWere, Read};
use schemars::JsonSchema;
use serde::Deserialize;

/// A laboratory or a customer.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PartyFile {
    /// Name.
    #[schemars(length(min = 1), example = &"Saltmarsh College, physics workshop")]
    pub name: String,
    /// Address, or another way to reach it.
    #[schemars(length(min = 1), example = &"1 Quay Road, Saltmarsh")]
    pub address: Option<String>,
}

/// Circumstances of a calibration; the room's temperature stands in `room`.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ConditionsFile {
    /// Where the bench stands.
    #[schemars(length(min = 1), example = &"Room 2.14, by the north window")]
    pub place: Option<String>,
    /// How it stands there.
    #[schemars(length(min = 1), example = &"+z toward magnetic north")]
    pub orientation: Option<String>,
    /// Iron and steel near it.
    #[schemars(length(min = 1), example = &"radiator 1.3 m behind coil a")]
    pub iron_nearby: Option<String>,
    /// Temperature of the windings.
    #[schemars(example = "23 degC")]
    pub winding_temperature: Option<Temperature>,
    /// Whether the coils were cold or warmed by current.
    pub coils: Option<CoilsWere>,
}

/// An instrument, with what its readings can be traced to.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct InstrumentFile {
    /// What it is.
    #[schemars(length(min = 1), example = &"field meter with axial probe")]
    pub name: String,
    /// Serial number.
    #[schemars(length(min = 1), example = &"FM-221")]
    pub serial: Option<String>,
    /// Number of its own certificate.
    #[schemars(length(min = 1), example = &"K-2026-0318")]
    pub certificate: Option<String>,
    /// Day of its own calibration.
    pub calibrated: Option<Date>,
    /// What its readings can be traced to.
    #[schemars(length(min = 1), example = &"national standard, through the maker's calibration")]
    pub traceable_to: Option<String>,
    /// Which readings of a calibration are its own, where its name does not tell: those of the field or of the current. After
    /// another calibration of its own they share no error with earlier ones.
    pub reads: Option<Read>,
}

/// What a pair costs, and on which terms.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OfferFile {
    /// How much, for the pair.
    #[schemars(range(min = 0), example = 380)]
    pub amount: Option<f64>,
    /// Three capital letters, as ISO 4217 has them.
    pub currency: Option<Currency>,
    /// Packing and carriage, in the same currency.
    #[schemars(range(min = 0), example = 24)]
    pub carriage: Option<f64>,
    /// Tax that comes on top of amount and carriage; `0 %` where both include it.
    #[schemars(example = "19 %")]
    pub tax_rate: Option<Fraction>,
    /// From order to delivery.
    pub delivery: Option<Period>,
    /// For how long the maker answers for it.
    #[schemars(example = "24 months")]
    pub warranty: Option<Period>,
    /// Last day on which the offer holds.
    pub valid_until: Option<Date>,
}

/// What the maker states of the finished pair.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct StatedFile {
    /// Of the conductor of both coils.
    #[schemars(example = "2.4 kg")]
    pub copper_mass: Option<Mass>,
    /// Of the pair as it is connected, at 20 °C.
    #[schemars(example = "8.2 ohm")]
    pub resistance: Option<Resistance>,
    /// Field at the centre per ampere of the supply.
    pub field_constant: Option<FieldConstant>,
    /// Inner diameter of the wound section.
    #[schemars(example = "310 mm")]
    pub inner_diameter: Option<Length>,
    /// Outer diameter of the wound section.
    #[schemars(example = "334 mm")]
    pub outer_diameter: Option<Length>,
    /// Largest field at the centre.
    #[schemars(example = "3.2 mT")]
    pub largest_field: Option<FluxDensity>,
    /// Current of the supply that the largest field takes.
    #[schemars(example = "2.2 A")]
    pub largest_field_current: Option<Current>,
    /// Voltage that it takes, at the pair's terminals with the copper warm.
    #[schemars(example = "19 V")]
    pub largest_field_voltage: Option<Voltage>,
    /// Hottest surface at that current, from cold in a room of 20 °C.
    #[schemars(example = "46 degC")]
    pub hottest_surface: Option<Temperature>,
    /// How long the current has flowed then; not given, for as long as one likes.
    #[schemars(example = "30 min")]
    pub hottest_surface_after: Option<Time>,
    /// Voltage at which the insulation of winding against former is tested.
    #[schemars(example = "500 V")]
    pub insulation_test_voltage: Option<Voltage>,
    /// Smallest resistance of that insulation.
    #[schemars(example = "100 Mohm")]
    pub insulation_resistance: Option<Resistance>,
    /// Standards that the maker declares.
    #[schemars(length(min = 1), example = &"IEC 60317-20, IEC 61010-1")]
    pub standards: Option<String>,
    /// The terminals: what they are, and whether they are safe to touch.
    #[schemars(length(min = 1), example = &"4 mm sockets, safe to touch")]
    pub terminals: Option<String>,
    /// How the coils are held at their spacing.
    #[schemars(length(min = 1), example = &"four spacer tubes and brass rods")]
    pub held_by: Option<String>,
}
