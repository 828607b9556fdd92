//! What a file of measurements may hold.

use super::quantity::{
    Angle, Current, FluxDensity, Fraction, Frequency, Inductance, Length, Mass, Resistance, Temperature,
    TemperatureDifference, Time, Voltage,
};
use crate::constants::Conductor;
use crate::pair::Connection;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

// Arrays of examples have names, because the schema derives read no array in an attribute.
const EXAMPLE_PLACE: [&str; 3] = ["0 mm", "0 mm", "40 mm"];

/// What was measured on a pair; every entry may be left out. An uncertainty is a standard one.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "coilwright measurements")]
pub(super) struct MeasuredFile {
    /// What people call this pair.
    #[schemars(length(min = 1), example = "Unlabelled pair from the cellar")]
    pub title: String,
    /// How the coils were connected while they were measured; `series` where not given.
    pub connection: Option<Connection>,
    /// Whether both coils were wound from one reel, each in one piece; `one_reel` where not given.
    pub wound_from: Option<WoundFrom>,
    /// Resistance of the pair as connected.
    pub resistance: Option<ResistanceReading>,
    /// Wire diameter over the enamel.
    pub overall_wire_diameter: Option<LengthReading>,
    /// Inner diameter of the wound copper.
    pub inner_diameter: Option<LengthReading>,
    /// Outer diameter of the wound copper.
    pub outer_diameter: Option<LengthReading>,
    /// Width of the wound copper along the axis.
    pub width: Option<LengthReading>,
    /// From the middle of one coil to the middle of the other, along the axis.
    pub spacing: Option<LengthReading>,
    /// Field at the centre, the room's taken off (half the difference of both current directions).
    pub field: Option<FieldReading>,
    /// Inductance of the pair as connected.
    pub inductance: Option<InductanceReading>,
    /// Inductance of both coils in series with one of them reversed.
    pub opposed_inductance: Option<InductanceReading>,
    /// Mutual inductance: open voltage at one coil over the rate of change of the other's current.
    pub mutual_inductance: Option<InductanceReading>,
    /// Mass of both coils.
    pub mass: Option<MassReading>,
    /// What was measured on coil a alone, the coil on the side of negative z.
    pub coil_a: Option<CoilReadingsFile>,
    /// What was measured on coil b alone.
    pub coil_b: Option<CoilReadingsFile>,
    /// The field along the axis at several points and currents, the room's taken off.
    #[schemars(length(min = 1, max = 100))]
    pub fields: Option<Vec<PointReading>>,
    /// The hottest touchable surface after a time at a current.
    pub surface_temperature: Option<SurfaceTemperatureReading>,
    /// Voltage at the pair's terminals after a time at a current, from cold.
    pub warm_voltage: Option<WarmVoltageReading>,
    /// Largest less smallest distance of like faces of the coils, sought all round the rim.
    pub spacing_difference: Option<RimReading>,
    /// Largest step from rim to rim under a straightedge along the axis, sought all round.
    pub rim_step: Option<StepReading>,
    /// Resistance between winding and former, or between winding and anything that can be touched.
    pub insulation_resistance: Option<InsulationReading>,
}

/// From how many reels the coils were wound.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WoundFrom {
    /// Both from one, each in one piece.
    #[default]
    OneReel,
    /// Each from its own, or joined from several.
    SeveralReels,
}

/// What was measured on one coil alone; every entry may be left out.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CoilReadingsFile {
    /// Its turns, counted or by a turns tester.
    pub turns: Option<TurnsReading>,
    /// Its resistance.
    pub resistance: Option<ResistanceReading>,
    /// Inner diameter of its wound copper.
    pub inner_diameter: Option<LengthReading>,
    /// Outer diameter of its wound copper.
    pub outer_diameter: Option<LengthReading>,
    /// Width of its wound copper along the axis.
    pub width: Option<LengthReading>,
    /// Its own inductance, the other coil open.
    pub inductance: Option<InductanceReading>,
    /// By which part its inductance is less at the higher of two frequencies.
    pub inductance_drop: Option<DropReading>,
    /// Its mass.
    pub mass: Option<MassReading>,
    /// How far its centre lies beside its nominal place, along x.
    pub offset_x: Option<OffsetReading>,
    /// The same along y.
    pub offset_y: Option<OffsetReading>,
    /// How far its axis is turned about x.
    pub tilt_x: Option<TiltReading>,
    /// The same about y.
    pub tilt_y: Option<TiltReading>,
}

/// A displacement of either sign and its standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OffsetReading {
    /// The displacement.
    #[schemars(example = "-0.3 mm")]
    pub value: Length,
    /// Its standard uncertainty.
    #[schemars(example = "0.1 mm")]
    pub uncertainty: Length,
}

/// A tilt of either sign and its standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TiltReading {
    /// The tilt.
    #[schemars(example = "0.1 deg")]
    pub value: Angle,
    /// Its standard uncertainty.
    #[schemars(example = "0.05 deg")]
    pub uncertainty: Angle,
}

/// Turns and their standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TurnsReading {
    /// How many.
    #[schemars(range(min = 0), example = 144)]
    pub value: f64,
    /// Standard uncertainty; 0, as of a count, where not given.
    #[schemars(range(min = 0), example = 0.2)]
    pub uncertainty: Option<f64>,
}

/// The field at a point, its standard uncertainty, the current that made it, and the point.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PointReading {
    /// The field along the axis there.
    #[schemars(example = "0.78 mT")]
    pub value: FluxDensity,
    /// Its standard uncertainty, with what the place of the probe adds.
    #[schemars(example = "0.004 mT")]
    pub uncertainty: FluxDensity,
    /// The current through the ammeter.
    #[schemars(example = "1 A")]
    pub current: Current,
    /// Standard uncertainty of the current; that of the spec's ammeter where not given.
    #[schemars(example = "2 mA")]
    pub current_uncertainty: Option<Current>,
    /// Where: x, y and z from the centre of the pair; the centre where not given.
    #[schemars(example = EXAMPLE_PLACE)]
    pub at: Option<[Length; 3]>,
}

/// A surface temperature, its standard uncertainty, and what made it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SurfaceTemperatureReading {
    /// The temperature.
    #[schemars(example = "41 degC")]
    pub value: Temperature,
    /// Its standard uncertainty.
    #[schemars(example = "0.5 K")]
    pub uncertainty: TemperatureDifference,
    /// The current held.
    #[schemars(example = "2 A")]
    pub current: Current,
    /// Standard uncertainty of the current; that of the spec's ammeter where not given.
    #[schemars(example = "2 mA")]
    pub current_uncertainty: Option<Current>,
    /// For how long, from cold.
    #[schemars(example = "30 min")]
    pub after: Time,
    /// The room's air; as in the spec where not given.
    #[schemars(example = "22 degC")]
    pub room: Option<Temperature>,
}

/// A voltage at the pair's terminals, its standard uncertainty, and what made it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct WarmVoltageReading {
    /// The voltage, leads left out.
    #[schemars(example = "14.6 V")]
    pub value: Voltage,
    /// Its standard uncertainty.
    #[schemars(example = "0.05 V")]
    pub uncertainty: Voltage,
    /// The current held.
    #[schemars(example = "2 A")]
    pub current: Current,
    /// Standard uncertainty of the current; that of the spec's ammeter where not given.
    #[schemars(example = "2 mA")]
    pub current_uncertainty: Option<Current>,
    /// For how long, from cold.
    #[schemars(example = "30 min")]
    pub after: Time,
    /// The room's air; as in the spec where not given.
    #[schemars(example = "22 degC")]
    pub room: Option<Temperature>,
}

/// A difference of distances round the rim, its standard uncertainty, and where it was measured.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RimReading {
    /// The difference.
    #[schemars(example = "0.4 mm")]
    pub value: Length,
    /// Its standard uncertainty.
    #[schemars(example = "0.05 mm")]
    pub uncertainty: Length,
    /// Diameter of the circle of places.
    #[schemars(example = "330 mm")]
    pub across: Length,
}

/// A step and its standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct StepReading {
    /// The step; 0 mm where none was found.
    #[schemars(example = "0.3 mm")]
    pub value: Length,
    /// Its standard uncertainty.
    #[schemars(example = "0.05 mm")]
    pub uncertainty: Length,
}

/// A drop of inductance, its standard uncertainty, and the two frequencies.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DropReading {
    /// The drop over the inductance at the lower frequency; negative where it rises.
    #[schemars(example = "0.2 %")]
    pub value: Fraction,
    /// Its standard uncertainty.
    #[schemars(example = "0.3 %")]
    pub uncertainty: Fraction,
    /// The lower frequency.
    #[schemars(example = "100 Hz")]
    pub from: Frequency,
    /// The higher frequency.
    #[schemars(example = "1 kHz")]
    pub to: Frequency,
}

/// An insulation resistance, its standard uncertainty, and the voltage that it was measured with.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct InsulationReading {
    /// The resistance.
    #[schemars(example = "250 Mohm")]
    pub value: Resistance,
    /// Its standard uncertainty.
    #[schemars(example = "10 Mohm")]
    pub uncertainty: Resistance,
    /// The test voltage.
    #[schemars(example = "250 V")]
    pub test_voltage: Voltage,
}

/// A resistance, its standard uncertainty, and the copper's temperature.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ResistanceReading {
    /// The resistance.
    #[schemars(example = "7.4 ohm")]
    pub value: Resistance,
    /// Its standard uncertainty.
    #[schemars(example = "0.04 ohm")]
    pub uncertainty: Resistance,
    /// The copper's temperature; 20 °C where not given.
    #[schemars(example = "22 degC")]
    pub at: Option<Temperature>,
    /// Standard uncertainty of that temperature, which comes on top of the meter's; none where not given.
    #[schemars(example = "0.5 K")]
    pub at_uncertainty: Option<TemperatureDifference>,
    /// Length of wire in the reading beyond the winding, all free ends together; up to 1 m a coil where not given.
    #[schemars(example = "1 m")]
    pub free_ends: Option<Length>,
}

/// A length and its standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LengthReading {
    /// The length.
    #[schemars(example = "312 mm")]
    pub value: Length,
    /// Its standard uncertainty.
    #[schemars(example = "0.8 mm")]
    pub uncertainty: Length,
}

/// A field, its standard uncertainty, and the current that made it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FieldReading {
    /// The field at the centre.
    #[schemars(example = "0.79 mT")]
    pub value: FluxDensity,
    /// Its standard uncertainty.
    #[schemars(example = "0.004 mT")]
    pub uncertainty: FluxDensity,
    /// The current through the ammeter.
    #[schemars(example = "1 A")]
    pub current: Current,
    /// Standard uncertainty of the current; that of the spec's ammeter where not given.
    #[schemars(example = "2 mA")]
    pub current_uncertainty: Option<Current>,
}

/// An inductance and its standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct InductanceReading {
    /// The inductance.
    #[schemars(example = "27 mH")]
    pub value: Inductance,
    /// Its standard uncertainty.
    #[schemars(example = "0.8 mH")]
    pub uncertainty: Inductance,
}

/// A mass, its standard uncertainty, and what was weighed.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MassReading {
    /// The mass of both coils together.
    #[schemars(example = "1.9 kg")]
    pub value: Mass,
    /// Its standard uncertainty.
    #[schemars(example = "0.04 kg")]
    pub uncertainty: Mass,
    /// What was weighed; `copper` where not given. Take the former's mass off first.
    pub of: Option<Conductor>,
}
