//! What a spec file may hold. The reader, the checker and the JSON Schema all come from these types.

use super::office_file::{ConditionsFile, InstrumentFile, OfferFile, PartyFile, StatedFile};
use super::quantity::{
    Angle, Count, Currency, Current, Date, FluxDensity, Fraction, Length, Resistance, Sense, Temperature,
    Voltage,
};
use crate::constants::Conductor;
use crate::pair::wires::Build;
use crate::pair::{
    AmmeterPosition, AxisPosition, BeamEdge, Cheeks, Connection, Distribution, Filling, Packing, Regulation,
};
use schemars::JsonSchema;
use serde::Deserialize;

// Arrays of examples have names, because the schema derives read no array in an attribute.
const EXAMPLE_OFFSET: [&str; 3] = ["0 mm", "0.3 mm", "0 mm"];
const EXAMPLE_TILT: [&str; 2] = ["0.2 deg", "0 deg"];
const EXAMPLE_BULB_CENTRE: [&str; 3] = ["0 mm", "0 mm", "0 mm"];
const EXAMPLE_GUN_EXIT: [&str; 3] = ["46 mm", "0 mm", "0 mm"];
const EXAMPLE_GUN_DIRECTION: [i32; 3] = [0, 1, 0];
const EXAMPLE_GUN_VOLTAGE: [&str; 2] = ["120 V", "280 V"];
const EXAMPLE_GUN_VOLTAGE_OFFSET: [&str; 2] = ["0 V", "2 V"];
const EXAMPLE_BEAM_RADIUS: [&str; 2] = ["28 mm", "46 mm"];
const EXAMPLE_FIELD: [&str; 3] = ["11 uT", "-42 uT", "17 uT"];

/// A coil pair and what stands around it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "coilwright bench")]
pub(super) struct BenchFile {
    /// What people call this pair.
    #[schemars(length(min = 1), example = "Window bench pair")]
    pub title: String,
    /// How the common axis lies; `horizontal` where not given.
    pub axis: Option<AxisPosition>,
    /// The winding of one coil, as designed.
    pub winding: WindingFile,
    /// From the middle of one coil to the middle of the other, along the axis.
    #[schemars(example = "172 mm")]
    pub spacing: Length,
    /// How the two coils are connected; `series` where not given.
    pub connection: Option<Connection>,
    /// The leads between supply and pair.
    pub leads: Option<LeadsFile>,
    /// What the coils are wound on.
    pub former: Option<FormerFile>,
    /// What was found on the finished coils.
    pub as_built: Option<AsBuiltFile>,
    /// How far a build may be off: limits for each coil and axis on its own, spacing once. A limit that is left out counts
    /// as kept exactly in computed uncertainties; `build`, `accept`, `check` and `compare` take an ordinary one and say so.
    pub build_tolerance: Option<BuildToleranceFile>,
    /// The beam tube.
    pub tube: Option<TubeFile>,
    /// The current supply.
    pub supply: Option<SupplyFile>,
    /// The meter that reads the coil current.
    pub ammeter: Option<AmmeterFile>,
    /// The meter that reads the gun voltage.
    pub voltmeter: Option<VoltmeterFile>,
    /// The meter that reads the field during calibration.
    pub field_meter: Option<FieldMeterFile>,
    /// How the beam radius is read.
    pub reading: Option<ReadingFile>,
    /// The room: its temperature and its own field.
    pub room: Option<RoomFile>,
    /// What the pair costs, and on which terms.
    pub price: Option<OfferFile>,
    /// What its maker states of the finished pair; `compare` holds it against what follows from the winding.
    pub stated: Option<StatedFile>,
    /// Serial number or label of the pair.
    #[schemars(length(min = 1), example = &"SC-07")]
    pub serial: Option<String>,
    /// Who calibrates, for the certificate.
    pub laboratory: Option<PartyFile>,
    /// For whom, for the certificate.
    pub customer: Option<PartyFile>,
    /// Circumstances of the calibration, for the certificate.
    pub conditions: Option<ConditionsFile>,
    /// What it is calibrated with, for the certificate.
    pub instruments: Option<Vec<InstrumentFile>>,
}

/// The winding of one coil. Width, depth and mean radius describe the wound copper.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct WindingFile {
    /// Radius of the middle of the wound section.
    #[schemars(example = "172 mm")]
    pub mean_radius: Length,
    /// Extent of the wound section along the axis.
    #[schemars(example = "19 mm")]
    pub width: Length,
    /// Extent of the wound section along the radius.
    #[schemars(example = "9 mm")]
    pub depth: Length,
    /// Turns per coil; half turns are real.
    #[schemars(range(min = 0), example = 144)]
    pub turns: f64,
    /// Layers.
    pub layers: Option<Count>,
    /// Turns in one layer.
    pub turns_per_layer: Option<Count>,
    /// How the wires of neighbouring layers lie; `square` where not given.
    pub packing: Option<Packing>,
    /// What fills the gaps between wires; `air` where not given.
    pub filling: Option<Filling>,
    /// Emissivity of the winding's outside.
    #[schemars(range(min = 0, max = 1), example = 0.9)]
    pub surface_emissivity: Option<f64>,
    /// The wire: a stock size, or its two diameters.
    pub wire: WireFile,
}

/// The wire.
#[derive(Deserialize, JsonSchema)]
#[serde(untagged)]
pub(super) enum WireFile {
    /// Given by its diameters.
    Measured(MeasuredWireFile),
    /// A stock size.
    Stock(StockWireFile),
}

/// Wire given by its diameters.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MeasuredWireFile {
    /// What it is made of; `copper` where not given.
    pub conductor: Option<Conductor>,
    /// Diameter of the bare conductor.
    #[schemars(example = "0.9 mm")]
    pub bare_diameter: Length,
    /// Diameter over the enamel.
    #[schemars(example = "0.97 mm")]
    pub overall_diameter: Length,
    /// Thermal class of the enamel, °C.
    #[schemars(range(min = 0), example = 155)]
    pub thermal_class: Option<f64>,
}

/// Wire given by its stock size.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct StockWireFile {
    /// What it is made of; `copper` where not given.
    pub conductor: Option<Conductor>,
    /// A gauge (`AWG 20`) or a metric size (`0.9 mm`).
    #[schemars(example = "0.9 mm")]
    pub size: String,
    /// The thickness of the enamel.
    pub build: Build,
    /// Thermal class of the enamel, °C.
    #[schemars(range(min = 0), example = 155)]
    pub thermal_class: Option<f64>,
}

/// The leads between supply and pair.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LeadsFile {
    /// There and back.
    #[schemars(example = "0.1 ohm")]
    pub resistance: Option<Resistance>,
}

/// The bobbin.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FormerFile {
    /// What it is made of.
    #[schemars(length(min = 1), example = &"plywood")]
    pub material: Option<String>,
    /// Thickness of the floor under the winding and of each cheek.
    #[schemars(example = "5 mm")]
    pub wall: Option<Length>,
    /// Which sides of the winding a cheek covers; `both` where not given.
    pub cheeks: Option<Cheeks>,
    /// Linear thermal expansion, 1/K.
    #[schemars(range(min = 0, max = 0.001), example = 6e-6)]
    pub expansion_per_kelvin: Option<f64>,
}

/// What was found on the two finished coils; what is left out is as designed.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AsBuiltFile {
    /// The coil on the side of negative z.
    pub a: Option<CoilFile>,
    /// The coil on the side of positive z.
    pub b: Option<CoilFile>,
}

/// What was found on one finished coil.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CoilFile {
    /// Turns.
    #[schemars(range(min = 0), example = 143.5)]
    pub turns: Option<f64>,
    /// Radius of the middle of the wound section.
    #[schemars(example = "172 mm")]
    pub mean_radius: Option<Length>,
    /// Extent of the wound section along the axis.
    #[schemars(example = "19 mm")]
    pub width: Option<Length>,
    /// Extent of the wound section along the radius.
    #[schemars(example = "9 mm")]
    pub depth: Option<Length>,
    /// How far the coil's centre lies from its place, in x, y and z.
    #[schemars(example = EXAMPLE_OFFSET)]
    pub offset: Option<[Length; 3]>,
    /// Rotation about the coil's own centre: about x, about y.
    #[schemars(example = EXAMPLE_TILT)]
    pub tilt: Option<[Angle; 2]>,
    /// 1 as it should be, -1 connected backwards.
    pub sense: Option<Sense>,
    /// Measured resistance.
    pub resistance: Option<ResistanceFile>,
}

/// A resistance and the copper's temperature when it was measured.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ResistanceFile {
    /// The resistance.
    #[schemars(example = "4.6 ohm")]
    pub value: Option<Resistance>,
    /// The copper's temperature then; 20 °C where not given.
    #[schemars(example = "22 degC")]
    pub at: Option<Temperature>,
}

/// How far a build may be off; what is left out is taken as exact.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct BuildToleranceFile {
    /// Mean radius of each coil.
    #[schemars(example = "0.4 mm")]
    pub mean_radius: Option<Length>,
    /// Spacing of the pair.
    #[schemars(example = "0.4 mm")]
    pub spacing: Option<Length>,
    /// Turns of each coil.
    #[schemars(range(min = 0), example = 0.5)]
    pub turns: Option<f64>,
    /// Width of each section.
    #[schemars(example = "0.4 mm")]
    pub width: Option<Length>,
    /// Depth of each section.
    #[schemars(example = "0.4 mm")]
    pub depth: Option<Length>,
    /// Place of each coil across the axis.
    #[schemars(example = "0.4 mm")]
    pub offset: Option<Length>,
    /// Tilt of each coil about x and about y.
    #[schemars(example = "0.2 deg")]
    pub tilt: Option<Angle>,
    /// What the limits mean; `rectangular` where not given.
    pub distribution: Option<Distribution>,
}

/// The glowing tube and its gun.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TubeFile {
    /// Inner radius of the bulb.
    #[schemars(example = "82 mm")]
    pub bulb_radius: Option<Length>,
    /// Centre of the bulb; the origin where not given.
    #[schemars(example = EXAMPLE_BULB_CENTRE)]
    pub bulb_centre: Option<[Length; 3]>,
    /// Where the beam leaves the gun: x, y, z.
    #[schemars(example = EXAMPLE_GUN_EXIT)]
    pub gun_exit: Option<[Length; 3]>,
    /// Along which it leaves: x, y, z, of any length.
    #[schemars(example = EXAMPLE_GUN_DIRECTION)]
    pub gun_direction: Option<[f64; 3]>,
    /// Lowest and highest gun voltage used.
    #[schemars(example = EXAMPLE_GUN_VOLTAGE)]
    pub gun_voltage: Option<[Voltage; 2]>,
    /// What the meter shows minus what the beam gets: value, standard uncertainty.
    #[schemars(example = EXAMPLE_GUN_VOLTAGE_OFFSET)]
    pub gun_voltage_offset: Option<[Voltage; 2]>,
    /// Smallest and largest beam radius used.
    #[schemars(example = EXAMPLE_BEAM_RADIUS)]
    pub beam_radius: Option<[Length; 2]>,
}

/// The current supply.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SupplyFile {
    /// Highest voltage.
    #[schemars(example = "24 V")]
    pub voltage_limit: Option<Voltage>,
    /// Highest current.
    #[schemars(example = "2 A")]
    pub current_limit: Option<Current>,
    /// Which of the two it holds; `current` where not given.
    pub regulation: Option<Regulation>,
}

/// The meter that reads the coil current: limit of error = part of the reading + digits.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AmmeterFile {
    /// One step of the last digit.
    #[schemars(example = "0.01 A")]
    pub resolution: Option<Current>,
    /// Limit of error, as a part of the reading.
    pub accuracy_of_reading: Option<Fraction>,
    /// Limit of error, in steps of the last digit; 0 where not given.
    #[schemars(range(min = 0), example = 2)]
    pub accuracy_digits: Option<f64>,
    /// Where it stands in the circuit, seen from the switch or plugs that reverse the current; the worse of the two is
    /// budgeted where not given.
    pub position: Option<AmmeterPosition>,
}

/// The meter that reads the gun voltage: limit of error = part of the reading + digits.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct VoltmeterFile {
    /// One step of the last digit.
    #[schemars(example = "1 V")]
    pub resolution: Option<Voltage>,
    /// Limit of error, as a part of the reading.
    pub accuracy_of_reading: Option<Fraction>,
    /// Limit of error, in steps of the last digit; 0 where not given.
    #[schemars(range(min = 0), example = 2)]
    pub accuracy_digits: Option<f64>,
}

/// The meter that reads the field: limit of error = part of the reading, and an unknown zero.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FieldMeterFile {
    /// Limit of error, as a part of the reading.
    pub accuracy_of_reading: Option<Fraction>,
    /// Limit of the zero's error.
    #[schemars(example = "4 uT")]
    pub zero: Option<FluxDensity>,
}

/// How the beam radius is read.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ReadingFile {
    /// Which edge of the glow is read; `middle` where not given.
    pub edge: Option<BeamEdge>,
    /// Standard uncertainty of one reading of the radius.
    #[schemars(example = "0.8 mm")]
    pub radius_uncertainty: Option<Length>,
    /// From the camera to the beam plane.
    #[schemars(example = "900 mm")]
    pub camera_distance: Option<Length>,
    /// How far the scale lies behind the beam plane, seen from the camera; 0 mm where not given. Radii of runs are as
    /// read on that scale: `weigh` divides them by 1 + scale_offset/camera_distance.
    #[schemars(example = "15 mm")]
    pub scale_offset: Option<Length>,
}

/// The room: its temperature, and its own field, measured or to be computed for a site.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("not" = { "required": ["field", "site"] }))]
pub(super) struct RoomFile {
    /// Air temperature.
    #[schemars(example = "23 degC")]
    pub temperature: Option<Temperature>,
    /// The field with the coils off, in bench axes.
    #[schemars(example = EXAMPLE_FIELD)]
    pub field: Option<[FluxDensity; 3]>,
    /// Where and when the earth's field is to be computed, instead of `field`.
    pub site: Option<SiteFile>,
}

/// A place on the earth, a date, and how the bench stands there.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SiteFile {
    /// Geodetic latitude, north positive.
    #[schemars(example = "48.5 deg")]
    pub latitude: Option<Angle>,
    /// Longitude, east positive.
    #[schemars(example = "11 deg")]
    pub longitude: Option<Angle>,
    /// Height above the ellipsoid; 0 m where not given.
    #[schemars(example = "320 m")]
    pub height: Option<Length>,
    /// Year, month and day.
    pub date: Option<Date>,
    /// Bearing of +z, clockwise from true north.
    #[schemars(example = "75 deg")]
    pub axis_bearing: Option<Angle>,
}

/// What something costs.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PriceFile {
    /// How much.
    #[schemars(range(min = 0), example = 380)]
    pub amount: Option<f64>,
    /// Three capital letters, as ISO 4217 has them.
    pub currency: Option<Currency>,
}
