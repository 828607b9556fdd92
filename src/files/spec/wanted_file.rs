//! What a file of wishes may hold.

use super::file::{FormerFile, LeadsFile, PriceFile, RoomFile, SupplyFile, TubeFile, WireFile};
use super::quantity::{Currency, FluxDensity, Fraction, Length, Period, Temperature, Time};
use crate::pair::Connection;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

// Arrays of examples have names, because the schema derives read no array in an attribute.
const EXAMPLE_MEAN_RADIUS: [&str; 2] = ["150 mm", "210 mm"];
const EXAMPLE_WIDTH: [&str; 2] = ["12 mm", "36 mm"];
const EXAMPLE_DEPTH: [&str; 2] = ["7 mm", "32 mm"];
const EXAMPLE_CONNECTION: [&str; 2] = ["series", "parallel"];
const EXAMPLE_SPACING_RANGE: [&str; 2] = ["150 mm", "200 mm"];

/// What the best pair is best at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Prefer {
    /// Least conductor.
    #[default]
    #[serde(rename = "copper mass")]
    CopperMass,
    /// Least power at the largest field.
    #[serde(rename = "power")]
    Power,
    /// Cheapest wire.
    #[serde(rename = "price")]
    Price,
    /// Smallest worst deviation over the beam.
    #[serde(rename = "uniformity")]
    Uniformity,
    /// Mass, power and deviation, each over the least that can be had, together.
    #[serde(rename = "balanced")]
    Balanced,
}

impl Prefer {
    /// As the file writes it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::CopperMass => "copper mass",
            Self::Power => "power",
            Self::Price => "price",
            Self::Uniformity => "uniformity",
            Self::Balanced => "balanced",
        }
    }
}

/// What is wanted of a coil pair.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "coilwright wishes")]
pub(super) struct WantedFile {
    /// What people call these wishes.
    #[schemars(length(min = 1), example = "What the lessons need")]
    pub title: String,
    /// The beam tube.
    pub tube: Option<TubeFile>,
    /// Free space between bulb and winding; 0 mm where not given.
    #[schemars(example = "6 mm")]
    pub clearance: Option<Length>,
    /// The largest field needed; where not given, that of the highest gun voltage at the smallest beam radius.
    #[schemars(example = "1.2 mT")]
    pub largest_field: Option<FluxDensity>,
    /// The current supply.
    pub supply: Option<SupplyFile>,
    /// The leads between supply and pair.
    pub leads: Option<LeadsFile>,
    /// Largest size of the deviation over the beam.
    pub beam_deviation: Option<Fraction>,
    /// How long the largest current must be carried; for ever where not given.
    #[schemars(example = "20 min")]
    pub time_at_largest_current: Option<Time>,
    /// Hottest that a touchable surface may get.
    #[schemars(example = "60 degC")]
    pub surface_temperature_limit: Option<Temperature>,
    /// The room.
    pub room: Option<RoomFile>,
    /// What the coils are to be wound on.
    pub former: Option<FormerFile>,
    /// Which windings to look at.
    pub search: Option<SearchFile>,
    /// What the best is best at; `copper mass` where not given.
    pub prefer: Option<Prefer>,
    /// Price of a kilogram of wire.
    pub wire_price_per_kg: Option<PriceFile>,
    /// The terms of the purchase, by which `compare` ranks what is offered.
    pub purchase: Option<PurchaseFile>,
}

/// The terms of a purchase.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PurchaseFile {
    /// The currency that prices are compared in.
    pub currency: Currency,
    /// What a unit of other currencies is worth in it.
    pub rates: Option<Vec<RateFile>>,
    /// The most that the pair may cost, carriage and tax included, in that currency.
    #[schemars(range(min = 0), example = 600)]
    pub budget: Option<f64>,
    /// The longest that delivery may take.
    #[schemars(example = "8 weeks")]
    pub delivery: Option<Period>,
}

/// What one unit of a currency is worth.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RateFile {
    /// The currency.
    #[schemars(example = &"USD")]
    pub currency: Currency,
    /// One unit of it in the currency that prices are compared in.
    #[schemars(range(min = 0), example = 0.92)]
    pub is_worth: f64,
}

/// Which windings to look at.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SearchFile {
    /// Smallest and largest mean radius.
    #[schemars(example = EXAMPLE_MEAN_RADIUS)]
    pub mean_radius: [Length; 2],
    /// Smallest and largest width of the section.
    #[schemars(example = EXAMPLE_WIDTH)]
    pub width: [Length; 2],
    /// Smallest and largest depth of the section.
    #[schemars(example = EXAMPLE_DEPTH)]
    pub depth: [Length; 2],
    /// How the spacing follows; `second order` where not given.
    pub spacing: Option<SpacingFile>,
    /// Connections allowed; both where not given.
    #[schemars(length(min = 1), example = EXAMPLE_CONNECTION)]
    pub connection: Option<Vec<Connection>>,
    /// Wires allowed; the stock wires where not given.
    pub wires: Option<WiresFile>,
}

/// How the spacing follows.
#[derive(Deserialize, JsonSchema)]
#[serde(untagged)]
pub(super) enum SpacingFile {
    /// From the section and the beam.
    Rule(SpacingRule),
    /// Any in a range.
    Range(#[schemars(example = EXAMPLE_SPACING_RANGE)] [Length; 2]),
}

/// How the spacing follows from section and beam.
#[derive(Deserialize, JsonSchema)]
pub(super) enum SpacingRule {
    /// One mean radius.
    #[serde(rename = "radius")]
    Radius,
    /// Where the second-order term vanishes for the real section.
    #[serde(rename = "second order")]
    SecondOrder,
    /// Where the worst deviation over the beam is smallest.
    #[serde(rename = "beam")]
    Beam,
}

/// Wires allowed.
#[derive(Deserialize, JsonSchema)]
#[serde(untagged)]
pub(super) enum WiresFile {
    /// Every stock wire.
    Stock(StockWord),
    /// These.
    These(#[schemars(length(min = 1))] Vec<WireFile>),
}

/// Every stock wire.
#[derive(Deserialize, JsonSchema)]
pub(super) enum StockWord {
    /// Every stock wire.
    #[serde(rename = "stock")]
    Stock,
}
