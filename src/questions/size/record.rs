//! What [`super::sizing`] answers with.

use super::judge::Wish;
use super::space::Looked;
use crate::files::spec::Prefer;
use crate::pair::{Bench, Connection};
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::{SourceNote, as_sentences, with_sentences};
use crate::units::{Side, Unit};
use serde::Serialize;

/// The answer to "which windings would do?".
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Sizing {
    /// Title of the wishes.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file of wishes.
    pub digest: String,
    /// Program name and version.
    pub program: String,
    /// The date the user gave, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What the best is best at.
    pub prefer: Prefer,
    /// The largest field needed.
    pub largest_field_tesla: f64,
    /// The smallest field needed; `None` if the tube does not say.
    pub smallest_field_tesla: Option<f64>,
    /// For how long the largest field is to be held, as in "for 15 min"; `None` if no wish says.
    pub held: Option<String>,
    /// Temperature of the best winding's copper at the end of the time, at which its voltage and power are judged; every
    /// winding is judged at its own. `None` if there is no best.
    pub copper_temperature_celsius: Option<f64>,
    /// Windings looked at, those that a bound left out included.
    pub searched: u64,
    /// Windings that meet every wish.
    pub feasible: u64,
    /// What was looked at.
    pub looked: Looked,
    /// The best of each wire and connection, best first.
    pub best: Vec<Choice>,
    /// For each wish, what missing it a little would allow.
    #[serde(serialize_with = "with_sentences")]
    pub near_misses: Vec<NearMiss>,
    /// For each share of the deviation wished, least power against mass.
    pub front: Vec<Front>,
    /// Why nothing meets the wishes; `None` if something does.
    pub conflict: Option<Conflict>,
    /// What the cautions name, of the best winding; `None` if there is no best.
    pub safety: Option<SafetyFigures>,
    /// What is left out because the wishes lack what it needs.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<SourceNote>,
    /// The best as a bench.
    #[serde(skip)]
    pub best_bench: Option<Bench>,
}

/// One winding that could be built.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    /// Centre plane to centre plane.
    pub spacing_m: f64,
    /// How the coils are connected.
    pub connection: Connection,
    /// Field at the centre per ampere through the ammeter.
    pub field_constant_tesla_per_ampere: f64,
    /// Current at the largest field.
    pub current_ampere: f64,
    /// Mean of the copper at that current, at the end of the time wished; `None` if there is no end to its warming.
    pub copper_temperature_celsius: Option<f64>,
    /// Voltage then, leads included; where there is no end to the warming, that of the search.
    pub voltage_volt: f64,
    /// Power of both coils then.
    pub power_watt: f64,
    /// Mass of the conductor of both coils.
    pub conductor_mass_kg: f64,
    /// Length of wire for both coils.
    pub wire_length_m: f64,
    /// What that much conductor costs as wire; none without a price.
    pub price: Option<f64>,
    /// Its currency.
    pub currency: Option<String>,
    /// Worst deviation over the beam; `None` if the wishes state no beam.
    pub worst_beam_deviation: Option<f64>,
    /// Hottest surface after the time at the largest current; `None` if it finds no steady state.
    pub surface_temperature_celsius: Option<f64>,
}

/// A winding that misses one wish.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct NearMiss {
    /// The wish missed.
    pub wish: Wish,
    /// By what fraction of its limit, as the search judges; of a surface's rise above the room.
    pub missed_by_fraction: f64,
    /// The limits to change for it to do: this wish's, and rarely another's that the models miss by a hair.
    pub relaxations: Vec<Relaxation>,
    /// How many windings this wish alone stops.
    pub stopped_alone: u64,
    /// The winding.
    pub choice: Choice,
    /// What relaxing it would gain.
    #[serde(skip)]
    pub gain: Gain,
}

/// What relaxing a wish would gain.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Gain {
    /// A winding, where otherwise there is none.
    AnyWinding,
    /// A better one than the best.
    Better {
        /// What is better.
        prefer: Prefer,
        /// By what fraction it is lower.
        by_fraction: f64,
    },
    /// Nothing.
    Nothing {
        /// However far it is relaxed, up to this limit; `None` if no limit can be that.
        as_far_as: Option<RelaxedLimit>,
    },
}

/// A limit that would do, in the unit in which the wish is written.
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

/// A limit to change so that a winding does.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Relaxation {
    /// The wish.
    pub wish: Wish,
    /// Its limit as wished, in the unit in which it is written.
    pub from: String,
    /// The limit that will do, in the same unit, rounded to the safe side.
    pub to: String,
    /// What the winding needs: m, A, V, °C or a fraction.
    pub needed_si: f64,
}

/// A trade-off front: no winding is lighter and takes less power.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Front {
    /// Largest size of the deviation over the beam; `None` if there is no such wish.
    pub beam_deviation: Option<f64>,
    /// Conductor mass and power of its windings, lightest first.
    pub points: Vec<FrontPoint>,
}

/// One winding of a front.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    /// Of a search whose ranges hold nothing that can be built.
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
    /// What it misses, and by what fraction, as the search judges.
    pub nearest_misses: Vec<(Wish, f64)>,
    /// The limits to change, all together, for it to do.
    pub relaxations: Vec<Relaxation>,
    /// The same, one by one; `sentences` in JSON.
    #[serde(rename = "sentences", serialize_with = "as_sentences")]
    pub reasons: Vec<Reason>,
}

/// One reason why nothing meets the wishes, or what would help.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// The ranges hold no winding that can be built.
    NothingToBuild,
    /// No winding meets this wish, whatever else it does.
    Unmet {
        /// The wish.
        wish: Wish,
        /// What the nearest winding needs; `None` if no limit can be that.
        nearest_needs: Option<RelaxedLimit>,
    },
    /// No winding meets both.
    UnmetTogether([Wish; 2]),
    /// Every two can be met, all of them cannot.
    TooMany,
    /// What would help.
    Relaxing {
        /// The limits to change, all together.
        relaxations: Vec<Relaxation>,
        /// The winding that then does.
        allows: Choice,
    },
}
