//! The bench: a coil pair and its surroundings as plain data, every quantity in SI units.

use super::build_tolerance::BuildTolerance;
use super::instruments::{AmmeterPosition, FieldMeter, Meter, RadiusReading, Supply};
use super::paperwork::Paperwork;
use super::tube::StatedTube;
use crate::constants::Conductor;
use crate::numeric::calendar::Day;
use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

/// A coil pair and its surroundings.
///
/// A bench read from a spec file has passed every check of such a file. [`Bench::bare`] checks the winding and the spacing.
/// The fields are public: a bench whose fields were changed afterwards is only as sound as the change. To check the
/// whole of it, [`crate::files::spec::check_again`] reads it as a file.
#[derive(Clone, Debug)]
pub struct Bench {
    /// The title, as written.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file, CRLF read as LF and BOM dropped.
    pub digest: String,
    /// The geometry that every question about this pair uses.
    pub model: Model,
    /// Position of the common axis on the bench.
    pub axis: AxisPosition,
    /// The winding of one coil, as designed.
    pub winding: Winding,
    /// Distance between the coils' centre planes, as designed.
    pub spacing_m: f64,
    /// How the two coils are connected.
    pub connection: Connection,
    /// Resistance of the leads between supply and pair.
    pub lead_resistance_ohm: Option<f64>,
    /// What the coils are wound on.
    pub former: Option<Former>,
    /// The finished coils, a then b, as measured; missing entries are filled from `winding`.
    pub as_built: Option<[Coil; 2]>,
    /// Limits of error of the build.
    pub build_tolerance: Option<BuildTolerance>,
    /// The beam tube.
    pub tube: Option<StatedTube>,
    /// The current supply.
    pub supply: Option<Supply>,
    /// The meter that reads the coil current.
    pub ammeter: Option<Meter>,
    /// Position of that meter in the circuit, if stated.
    pub ammeter_position: Option<AmmeterPosition>,
    /// The meter that reads the gun voltage.
    pub voltmeter: Option<Meter>,
    /// The meter that reads the field during calibration.
    pub field_meter: Option<FieldMeter>,
    /// How the beam radius is read.
    pub reading: Option<RadiusReading>,
    /// The room: its temperature and its own field.
    pub room: Option<Room>,
    /// The price of the pair, and its terms.
    pub price: Option<Offer>,
    /// The maker's figures for the finished pair.
    pub stated: Option<StatedByMaker>,
    /// Names, places and instruments for a certificate.
    pub paperwork: Paperwork,
}

/// How the common axis lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AxisPosition {
    /// z horizontal, x horizontal, y up: the usual bench.
    #[default]
    Horizontal,
    /// z up.
    Vertical,
}

/// How the coils are connected to the supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Connection {
    /// One after the other: each carries the supply's current.
    #[default]
    Series,
    /// Side by side: the current splits by resistance.
    Parallel,
}

impl Connection {
    /// In one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Series => "series",
            Self::Parallel => "parallel",
        }
    }
}

/// Which geometry a calculation uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Model {
    /// `as_built` if the spec has it, else the design.
    AsBuilt,
    /// The design alone.
    Nominal,
}

/// The winding of one coil.
#[derive(Clone, Debug)]
pub struct Winding {
    /// Radius of the middle of the wound section.
    pub mean_radius_m: f64,
    /// Extent of the wound section along the axis.
    pub width_m: f64,
    /// Extent of the wound section along the radius.
    pub depth_m: f64,
    /// Turns per coil; half turns occur.
    pub turns: f64,
    /// Layers, if given.
    pub layers: Option<u32>,
    /// Turns in one layer, if given.
    pub turns_per_layer: Option<u32>,
    /// How the wires lie on each other.
    pub packing: Packing,
    /// What fills the gaps between wires.
    pub filling: Filling,
    /// Emissivity of the winding's outside, 0 to 1.
    pub surface_emissivity: Option<f64>,
    /// The wire.
    pub wire: Wire,
}

impl Winding {
    /// A winding of this section with square packing in air; nothing else is known.
    pub fn new(mean_radius_m: f64, width_m: f64, depth_m: f64, turns: f64, wire: Wire) -> Self {
        Self {
            mean_radius_m,
            width_m,
            depth_m,
            turns,
            layers: None,
            turns_per_layer: None,
            packing: Packing::Square,
            filling: Filling::Air,
            surface_emissivity: None,
            wire,
        }
    }

    /// A coil exactly as designed: in its nominal position, connected correctly, with its resistance not measured.
    pub(crate) fn designed_coil(&self) -> Coil {
        Coil {
            turns: self.turns,
            mean_radius_m: self.mean_radius_m,
            width_m: self.width_m,
            depth_m: self.depth_m,
            offset_m: Vector3::zeros(),
            tilt_rad: [0.0; 2],
            sense: 1.0,
            resistance: None,
        }
    }
}

/// How the wires of neighbouring layers lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Packing {
    /// Wire on wire.
    #[default]
    Square,
    /// Wire in the groove between two wires.
    Nested,
}

/// What fills the gaps between wires.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Filling {
    /// Nothing.
    #[default]
    Air,
    /// Varnish or resin.
    Varnish,
}

/// Enamelled round wire.
#[derive(Clone, Debug)]
pub struct Wire {
    /// The stock name, if the spec gave one.
    pub name: Option<String>,
    /// What it is made of.
    pub conductor: Conductor,
    /// Diameter of the bare conductor.
    pub bare_diameter_m: f64,
    /// Diameter over the enamel.
    pub overall_diameter_m: f64,
    /// Thermal class of the enamel in °C, if known.
    pub thermal_class_celsius: Option<f64>,
}

impl Wire {
    /// A copper wire of these diameters; the thermal class of its enamel is unknown.
    pub fn copper(bare_diameter_m: f64, overall_diameter_m: f64) -> Self {
        Self {
            name: None,
            conductor: Conductor::Copper,
            bare_diameter_m,
            overall_diameter_m,
            thermal_class_celsius: None,
        }
    }

    /// Cross-section of the bare conductor.
    pub fn conductor_area_m2(&self) -> f64 {
        0.25 * std::f64::consts::PI * self.bare_diameter_m * self.bare_diameter_m
    }
}

/// The bobbin.
#[derive(Clone, Debug)]
pub struct Former {
    /// What it is made of, if known.
    pub material: Option<String>,
    /// Thickness of the floor under the winding and of each cheek.
    pub wall_m: Option<f64>,
    /// Which sides of the winding a cheek covers.
    pub cheeks: Cheeks,
    /// Linear thermal expansion.
    pub expansion_per_kelvin: Option<f64>,
}

/// Which sides of the winding the former covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Cheeks {
    /// Both sides.
    #[default]
    Both,
    /// One side.
    One,
    /// Neither side.
    None,
}

/// One coil, as built or as designed.
#[derive(Clone, Debug, PartialEq)]
pub struct Coil {
    /// Turns.
    pub turns: f64,
    /// Radius of the middle of the wound section.
    pub mean_radius_m: f64,
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
    /// Displacement of the coil's centre from its nominal position.
    pub offset_m: Vector3<f64>,
    /// Rotation vector about the coil's own centre: about x, about y.
    pub tilt_rad: [f64; 2],
    /// +1 if connected correctly, −1 if connected backwards.
    pub sense: f64,
    /// Measured resistance, if any.
    pub resistance: Option<MeasuredResistance>,
}

/// A resistance and the temperature it was measured at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredResistance {
    /// The resistance.
    pub ohm: f64,
    /// The copper's temperature during the measurement.
    pub at_celsius: f64,
}

/// The room.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// Air temperature.
    pub temperature_celsius: Option<f64>,
    /// The room's own field, as far as known.
    pub field: Option<RoomField>,
}

/// The room's own field, as far as known.
#[derive(Clone, Debug, PartialEq)]
pub enum RoomField {
    /// Measured, in bench axes.
    Measured(Vector3<f64>),
    /// Computed for a place and a date.
    Site(StatedSite),
}

/// A place on the earth, a date, and the bearing of the bench, as far as the spec states them.
#[derive(Clone, Debug, PartialEq)]
pub struct StatedSite {
    /// Geodetic latitude, north positive.
    pub latitude_rad: Option<f64>,
    /// Longitude, east positive.
    pub longitude_rad: Option<f64>,
    /// Height above the ellipsoid; 0 if the spec does not state it.
    pub height_m: f64,
    /// The day.
    pub date: Option<Day>,
    /// Bearing of +z clockwise from true north.
    pub axis_bearing_rad: Option<f64>,
}

impl StatedSite {
    /// The complete site, or `None` if a part that the earth's field depends on is missing.
    pub fn whole(&self) -> Option<Site> {
        Some(Site {
            latitude_rad: self.latitude_rad?,
            longitude_rad: self.longitude_rad?,
            height_m: self.height_m,
            date: self.date?,
            axis_bearing_rad: self.axis_bearing_rad?,
        })
    }
}

/// A place on the earth, a date, and the bearing of the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Geodetic latitude, north positive.
    pub latitude_rad: f64,
    /// Longitude, east positive.
    pub longitude_rad: f64,
    /// Height above the ellipsoid.
    pub height_m: f64,
    /// The day.
    pub date: Day,
    /// Bearing of +z clockwise from true north.
    pub axis_bearing_rad: f64,
}

/// A price.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// The amount, if known.
    pub amount: Option<f64>,
    /// ISO 4217 code, as written, if known.
    pub currency: Option<String>,
}

/// The price of a pair, and its terms.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Offer {
    /// The amount for the pair, if known.
    pub amount: Option<f64>,
    /// ISO 4217 code, as written, if known.
    pub currency: Option<String>,
    /// Packing and carriage, in the same currency.
    pub carriage: Option<f64>,
    /// Tax on amount and carriage, as a fraction; zero if they include it.
    pub tax_fraction: Option<f64>,
    /// Time from order to delivery, days.
    pub delivery_days: Option<f64>,
    /// The maker's warranty, days.
    pub warranty_days: Option<f64>,
    /// Last day on which the offer holds: year, month, day.
    pub valid_until: Option<Day>,
}

/// The room of a maker's temperatures, °C.
pub(crate) const STATED_ROOM_CELSIUS: f64 = 20.0;

/// A maker's figures for a finished pair.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StatedByMaker {
    /// Mass of the conductor of both coils.
    pub conductor_mass_kg: Option<f64>,
    /// Resistance of the pair as connected, at 20 °C.
    pub resistance_ohm: Option<f64>,
    /// Field at the centre per ampere of the supply.
    pub field_constant_tesla_per_ampere: Option<f64>,
    /// Inner diameter of the wound section.
    pub inner_diameter_m: Option<f64>,
    /// Outer diameter of the wound section.
    pub outer_diameter_m: Option<f64>,
    /// Largest field at the centre.
    pub largest_field_tesla: Option<f64>,
    /// Current of the supply that it takes.
    pub largest_field_current_ampere: Option<f64>,
    /// Voltage that it takes, at the pair's terminals with the copper warm.
    pub largest_field_voltage_volt: Option<f64>,
    /// Hottest surface at that current, in a room of 20 °C.
    pub hottest_surface_celsius: Option<f64>,
    /// How long the current has flowed then, from cold; `None` for as long as one likes.
    pub hottest_surface_after_s: Option<f64>,
    /// Voltage at which the insulation is tested.
    pub insulation_test_voltage_volt: Option<f64>,
    /// Smallest resistance of the insulation then.
    pub insulation_resistance_ohm: Option<f64>,
    /// Standards that the maker declares.
    pub standards: Option<String>,
    /// The terminals: what they are, and whether they are safe to touch.
    pub terminals: Option<String>,
    /// How the coils are held at their spacing.
    pub held_by: Option<String>,
}

impl Bench {
    /// A bench with only the parts that a file must state: coils in series, axis horizontal. Nothing is checked.
    pub(crate) fn unchecked(title: impl Into<String>, winding: Winding, spacing_m: f64) -> Self {
        Self {
            title: title.into(),
            digest: String::new(),
            model: Model::AsBuilt,
            axis: AxisPosition::default(),
            winding,
            spacing_m,
            connection: Connection::default(),
            lead_resistance_ohm: None,
            former: None,
            as_built: None,
            build_tolerance: None,
            tube: None,
            supply: None,
            ammeter: None,
            ammeter_position: None,
            voltmeter: None,
            field_meter: None,
            reading: None,
            room: None,
            price: None,
            stated: None,
            paperwork: Paperwork::default(),
        }
    }

    /// Replaces `as_built` by these coils and makes the questions use them.
    pub fn set_coils(&mut self, coils: [Coil; 2]) {
        self.as_built = Some(coils);
        self.model = Model::AsBuilt;
    }

    /// The two coils, a then b, of the geometry that [`model`](Self::model) selects.
    pub fn coils(&self) -> [Coil; 2] {
        match (&self.as_built, self.model) {
            (Some(coils), Model::AsBuilt) => coils.clone(),
            _ => [self.nominal_coil(), self.nominal_coil()],
        }
    }

    /// The same pair as designed: `as_built` is ignored.
    pub fn as_designed(self) -> Self {
        Self { model: Model::Nominal, ..self }
    }

    /// One coil as designed.
    pub(crate) fn nominal_coil(&self) -> Coil {
        self.winding.designed_coil()
    }

    /// The build tolerance to hold a pair against: an ordinary one if the spec states none, and the ordinary limit for each that
    /// it leaves out.
    pub(crate) fn tolerance_or_ordinary(&self) -> BuildTolerance {
        self.build_tolerance.map_or(BuildTolerance::ORDINARY, BuildTolerance::complete)
    }

    /// Air temperature of the room; 20 °C if the spec does not state it.
    pub(crate) fn room_temperature_celsius(&self) -> f64 {
        self.room
            .as_ref()
            .and_then(|room| room.temperature_celsius)
            .unwrap_or(crate::constants::REFERENCE_TEMPERATURE_CELSIUS)
    }
}

#[cfg(test)]
impl Bench {
    /// An invented pair with thread-thin sections and nothing else stated, for tests of the physics.
    pub(crate) fn thin_pair() -> Self {
        let winding = Winding::new(0.15, 1e-5, 1e-5, 136.0, Wire::copper(1e-3, 1.06e-3));
        Self { digest: "000000000000".into(), ..Self::unchecked("Thin pair", winding, 0.15) }
    }
}
