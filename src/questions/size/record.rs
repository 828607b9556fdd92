//! The answer of [`super::sizing`].

use super::judge::Wish;
use super::space::Looked;
use crate::files::spec::Prefer;
use crate::numeric::calendar::Day;
use crate::pair::{Bench, Connection, SourceFile};
use crate::physics::heat::HeldFor;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::{SourceNote, as_held_words, as_sentences, with_sentences};
use crate::units::{Side, Unit};
use serde::{Deserialize, Serialize};

/// The answer to "which windings would do?".
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Sizing {
    /// The file of wishes.
    #[serde(flatten)]
    pub source: SourceFile,
    /// The date the user gave, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// The figure of merit.
    pub prefer: Prefer,
    /// The largest field needed.
    pub largest_field_tesla: f64,
    /// The smallest field needed; `None` if the tube does not say.
    pub smallest_field_tesla: Option<f64>,
    /// How long the largest field is held while the copper warms.
    #[serde(serialize_with = "as_held_words")]
    pub held: HeldFor,
    /// The wished limit of the surface temperature, if any.
    pub surface_limit_celsius: Option<f64>,
    /// Temperature of the best winding's copper at the end of the time, at which its voltage and power are judged.
    /// Every winding is judged at its own temperature. `None` if there is no best.
    pub copper_temperature_celsius: Option<f64>,
    /// Number of windings searched, including those that a bound excluded.
    pub searched: u64,
    /// Number of windings that meet every wish.
    pub feasible: u64,
    /// The extent of the search.
    pub looked: Looked,
    /// The best of each wire and connection, best first.
    pub best: Vec<Choice>,
    /// For each wish, what missing it slightly would allow.
    #[serde(serialize_with = "with_sentences")]
    pub near_misses: Vec<NearMiss>,
    /// For each share of the wished deviation, least power against mass.
    pub front: Vec<Front>,
    /// Why nothing meets the wishes; `None` if something does.
    pub conflict: Option<Conflict>,
    /// The figures in the cautions, for the best winding; `None` if there is no best.
    pub safety: Option<SafetyFigures>,
    /// Results left out because the wishes lack something they need.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<SourceNote>,
    /// Windings along the trade-off front from lighter to heavier, for who wants less power.
    pub along_front: Vec<Choice>,
    /// The windings of `best` as benches in its order, and after them those of `along_front`.
    #[serde(skip)]
    pub benches: Vec<Bench>,
}

/// One winding that could be built.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct Choice {
    /// Radius of the middle of the wound section.
    pub mean_radius_m: f64,
    /// Extent of the wound section along the axis.
    pub width_m: f64,
    /// Extent of the wound section along the radius.
    pub depth_m: f64,
    /// Turns per coil.
    pub turns: u32,
    /// Layers.
    pub layers: u32,
    /// Turns in each layer.
    pub turns_per_layer: u32,
    /// The wire.
    pub wire: String,
    /// Distance between the centre planes of the coils.
    pub spacing_m: f64,
    /// How the coils are connected.
    pub connection: Connection,
    /// Field at the centre per ampere through the ammeter.
    pub field_constant_tesla_per_ampere: f64,
    /// Current at the largest field.
    pub current_ampere: f64,
    /// Mean of the copper at that current, at the end of the time wished; `None` if it warms without end.
    pub copper_temperature_celsius: Option<f64>,
    /// Voltage then, leads included; if the copper warms without end, the voltage found by the search.
    pub voltage_volt: f64,
    /// Power of both coils then.
    pub power_watt: f64,
    /// Mass of the conductor of both coils.
    pub conductor_mass_kg: f64,
    /// Length of wire for both coils.
    pub wire_length_m: f64,
    /// Price of that much wire; `None` if no price is stated.
    pub price: Option<f64>,
    /// Its currency.
    pub currency: Option<String>,
    /// Worst deviation over the beam; `None` if the wishes state no beam.
    pub worst_beam_deviation: Option<f64>,
    /// Hottest surface after the time at the largest current; `None` if there is no steady state.
    pub surface_temperature_celsius: Option<f64>,
    /// Upper end of that temperature: the rise as much larger as the heat model may be low. Where it lies above the wished
    /// limit, `compare` calls that wish too close to tell.
    pub surface_temperature_upper_celsius: Option<f64>,
}

/// A winding that misses one wish.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct NearMiss {
    /// The wish missed.
    pub wish: Wish,
    /// The miss as a fraction of its limit, as judged by the search; for a surface, of its rise above the room.
    pub missed_by_fraction: f64,
    /// The limits to change for the winding to pass: that of this wish, and rarely another's that the models miss
    /// narrowly.
    pub relaxations: Vec<Relaxation>,
    /// How many windings fail only because of this wish.
    pub stopped_alone: u64,
    /// The winding.
    pub choice: Choice,
    /// The gain from relaxing it.
    #[serde(skip)]
    pub gain: Gain,
}

/// The gain from relaxing a wish.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Gain {
    /// A winding, where there is none otherwise.
    AnyWinding,
    /// A better one than the best.
    Better {
        /// The figure of merit.
        prefer: Prefer,
        /// By what fraction it is lower.
        by_fraction: f64,
    },
    /// Nothing.
    Nothing {
        /// No gain even if it is relaxed to this limit; `None` if no such limit is possible.
        as_far_as: Option<RelaxedLimit>,
    },
}

/// A sufficient limit, in the unit in which the wish is written.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct RelaxedLimit {
    /// Its value, SI.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
    /// The side on which the winding still passes.
    pub(crate) side: Side,
}

/// A limit to change so that a winding passes.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Relaxation {
    /// The wish.
    pub wish: Wish,
    /// Its limit as wished, in the unit as written.
    pub from: String,
    /// The sufficient limit, in the same unit, rounded to the safe side.
    pub to: String,
    /// The value that the winding needs, in m, A, V, °C or as a fraction.
    pub needed_si: f64,
}

/// A trade-off front: no other winding is both lighter and takes less power.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct Front {
    /// Largest size of the deviation over the beam; `None` if there is no such wish.
    pub beam_deviation: Option<f64>,
    /// Conductor mass and power of its windings, lightest first.
    pub points: Vec<FrontPoint>,
}

/// One winding of a front.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct FrontPoint {
    /// Mass of the conductor of both coils.
    pub conductor_mass_kg: f64,
    /// Power of both coils at the largest field.
    pub power_watt: f64,
    /// Its wire.
    pub wire: String,
}

impl Conflict {
    /// For a search whose ranges contain nothing that can be built.
    pub(super) fn with_no_winding() -> Self {
        Self {
            unmet_alone: Vec::new(),
            pairs: Vec::new(),
            nearest: None,
            nearest_misses: Vec::new(),
            relaxations: Vec::new(),
            reasons: vec![Reason::NothingToBuild],
        }
    }
}

/// Why nothing meets the wishes.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Conflict {
    /// Wishes that no winding meets, whatever else it does.
    pub unmet_alone: Vec<Wish>,
    /// Pairs of wishes that no winding meets together.
    pub pairs: Vec<[Wish; 2]>,
    /// The winding whose largest miss is smallest.
    pub nearest: Option<Choice>,
    /// The wishes it misses, each with the fraction, as judged by the search.
    pub nearest_misses: Vec<(Wish, f64)>,
    /// The limits to change together for it to pass.
    pub relaxations: Vec<Relaxation>,
    /// The reasons one by one; `sentences` in JSON.
    #[serde(rename = "sentences", serialize_with = "as_sentences")]
    pub reasons: Vec<Reason>,
}

/// One reason why nothing meets the wishes, or a way out.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// The ranges hold no winding that can be built.
    NothingToBuild,
    /// No winding meets this wish, whatever else it does.
    Unmet {
        /// The wish.
        wish: Wish,
        /// The limit that the nearest winding needs; `None` if no such limit is possible.
        nearest_needs: Option<RelaxedLimit>,
    },
    /// No winding meets both.
    UnmetTogether([Wish; 2]),
    /// Any two can be met, but not all of them.
    TooMany,
    /// A way out.
    Relaxing {
        /// The limits to change, all together.
        relaxations: Vec<Relaxation>,
        /// The winding that then passes.
        allows: Choice,
    },
}
