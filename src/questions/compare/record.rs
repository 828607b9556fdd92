//! What a comparison answers with.

use super::bounds::Ground;
use super::contradiction::Contradiction;
use super::need_kind::NeedKind;
use super::note::Note;
use crate::files::spec::Gap;
use crate::judgement::limit::Rule;
use crate::numeric::calendar::Day;
use crate::pair::ResistanceContradiction;
use crate::physics::heat::limits::CurrentLimit;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::limits::as_name;
use crate::questions::words::notes::as_sentences;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Options side by side.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Comparison {
    /// Program name and version.
    pub program: String,
    /// Title of the needs; none where none were given.
    pub needs_title: Option<String>,
    /// First 12 hex digits of the SHA-256 of the file of needs.
    pub needs_digest: Option<String>,
    /// The largest field needed; none where the needs do not say.
    pub largest_field_tesla: Option<f64>,
    /// For how long voltage, power and the largest field are to be held, the copper warming, as in "for 15 min"; none
    /// where no needs say, and then the copper is at room temperature.
    pub held: Option<String>,
    /// The date the user gave, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// How a need near its limit is decided.
    pub decision: Rule,
    /// The currency that prices are compared in; none where they cannot be.
    pub currency: Option<String>,
    /// The name of the cheapest option that passes; none where none does, or prices cannot be compared.
    pub cheapest_that_passes: Option<String>,
    /// The options, in the order given.
    pub options: Vec<PairOption>,
    /// Each need and how every option meets it.
    pub needs: Vec<Need>,
    /// What to know when reading; serialised as sentences.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// One pair.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct PairOption {
    /// Its name: that of its file, without the ending.
    pub label: String,
    /// The title in the file.
    pub title: String,
    /// First 12 hex digits of the spec's SHA-256.
    pub digest: String,
    /// Field at the centre per ampere through the ammeter.
    pub field_constant_tesla_per_ampere: Option<f64>,
    /// Its standard uncertainty from `build_tolerance`.
    pub field_constant_standard_uncertainty_tesla_per_ampere: Option<f64>,
    /// Largest current the supply can hold to the end of the time needed.
    pub largest_current_ampere: Option<f64>,
    /// Field then.
    pub largest_field_tesla: Option<f64>,
    /// Smallest beam radius with that field, at the lowest and at the highest gun voltage.
    pub smallest_beam_radius_m: Option<[f64; 2]>,
    /// Largest beam radius whose circle stays inside the bulb.
    pub largest_beam_radius_m: Option<f64>,
    /// Deviation of largest size over the beam.
    pub worst_beam_deviation: Option<f64>,
    /// Smallest and largest relative bias of e/m over the beam radii if the centre field is used.
    pub charge_to_mass_bias_fraction: Option<[f64; 2]>,
    /// Current that the figures for voltage, power and drift belong to: what the largest field needed takes, or else the
    /// supply's largest.
    pub working_current_ampere: Option<f64>,
    /// Mean of the hotter winding at the working current, at the end of the time needed; none where there is no end to
    /// its warming.
    pub copper_temperature_celsius: Option<f64>,
    /// Voltage at the working current then, leads included; none where there is no end to the warming.
    pub voltage_volt: Option<f64>,
    /// Power of coils and leads then.
    pub power_watt: Option<f64>,
    /// Largest current for as long as one likes.
    pub continuous_current_ampere: Option<f64>,
    /// What forbids more.
    #[serde(serialize_with = "name_of_limit")]
    pub limited_by: Option<CurrentLimit>,
    /// Field at the continuous current.
    pub continuous_field_tesla: Option<f64>,
    /// Change of the field from switching on to the end of the time needed, or to the steady state, at the working
    /// current or what the supply gives of it; none where there is no steady state.
    pub warm_up_drift_fraction: Option<f64>,
    /// Hottest surface at the working current, after the time needed or for ever; none where there is no steady state.
    pub surface_temperature_celsius: Option<f64>,
    /// Mass of the conductor of both coils.
    pub conductor_mass_kg: Option<f64>,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: Option<f64>,
    /// From outside to outside along the axis.
    pub overall_length_m: Option<f64>,
    /// Distance from the bulb's centre to the nearest winding.
    pub room_for_bulb_m: Option<f64>,
    /// Price; none where none is stated.
    pub price: Option<f64>,
    /// Its currency.
    pub currency: Option<String>,
    /// Packing and carriage.
    pub carriage: Option<f64>,
    /// Tax on top of both, as a fraction.
    pub tax_fraction: Option<f64>,
    /// Price, carriage and tax as far as they are stated, in the currency that prices are compared in; none where there is no
    /// price, or no rate for its currency.
    pub cost: Option<f64>,
    /// From order to delivery.
    pub delivery_days: Option<f64>,
    /// For how long its maker answers for it.
    pub warranty_days: Option<f64>,
    /// Last day on which the offer holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valid_until: Option<Day>,
    /// What its file leaves out of the winding.
    pub gaps: Vec<OpenGap>,
    /// Figures that the gaps leave within bounds, by their keys: smallest and largest. The figure itself is then none.
    pub bounds: BTreeMap<&'static str, [f64; 2]>,
    /// Parts that neither its spec nor the needs state, and that figures are not known for want of.
    pub missing: Vec<&'static str>,
    /// What the cautions name.
    pub safety: SafetyFigures,
    /// How well the figures are known that needs are held against.
    pub standard_uncertainties: StandardUncertainties,
    /// Whether it meets the needs; none where none were given and the file does not contradict itself.
    pub verdict: Option<OptionVerdict>,
    /// The need with the smallest margin; none where a need is not met.
    pub tightest: Option<Tightest>,
    /// What to ask before ordering.
    pub questions: Vec<Question>,
}

impl PairOption {
    /// An option of which nothing is known.
    pub(super) fn without_figures(title: &str, digest: &str) -> Self {
        Self {
            label: String::new(),
            title: title.into(),
            digest: digest.into(),
            field_constant_tesla_per_ampere: None,
            field_constant_standard_uncertainty_tesla_per_ampere: None,
            largest_current_ampere: None,
            largest_field_tesla: None,
            smallest_beam_radius_m: None,
            largest_beam_radius_m: None,
            worst_beam_deviation: None,
            charge_to_mass_bias_fraction: None,
            working_current_ampere: None,
            copper_temperature_celsius: None,
            voltage_volt: None,
            power_watt: None,
            continuous_current_ampere: None,
            limited_by: None,
            continuous_field_tesla: None,
            warm_up_drift_fraction: None,
            surface_temperature_celsius: None,
            conductor_mass_kg: None,
            outer_diameter_m: None,
            overall_length_m: None,
            room_for_bulb_m: None,
            price: None,
            currency: None,
            carriage: None,
            tax_fraction: None,
            cost: None,
            delivery_days: None,
            warranty_days: None,
            valid_until: None,
            gaps: Vec::new(),
            bounds: BTreeMap::new(),
            missing: Vec::new(),
            safety: SafetyFigures::default(),
            standard_uncertainties: StandardUncertainties::default(),
            verdict: None,
            tightest: None,
            questions: Vec::new(),
        }
    }

    /// Whether carriage and tax are stated, so that the cost is all there is to pay.
    pub(super) fn has_whole_terms(&self) -> bool {
        self.carriage.is_some() && self.tax_fraction.is_some()
    }

    /// Whether its file leaves out something that nothing bounds.
    pub(super) fn has_open_gap(&self) -> bool {
        self.gaps.iter().any(|gap| gap.bounded_by.is_none())
    }
}

/// What a quote leaves out of its winding, and what is taken for it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct OpenGap {
    /// What is missing.
    pub gap: Gap,
    /// What bounds it; none where nothing does, and then what rests on it is left out.
    pub bounded_by: Option<Ground>,
    /// The ends that are looked at where something bounds it, for people.
    pub ends: Vec<String>,
}

fn name_of_limit<S: Serializer>(limit: &Option<CurrentLimit>, to: S) -> Result<S::Ok, S::Error> {
    match limit {
        Some(limit) => as_name(limit, to),
        None => to.serialize_none(),
    }
}

/// Whether an option meets the needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OptionVerdict {
    /// Every need is met, guard band and all.
    Passes,
    /// One need at least is missed, guard band and all.
    Fails,
    /// None is missed, and one at least is too close to tell or not known.
    Undecided,
    /// None is missed for certain, and the spec contradicts itself in what one at least rests on.
    Doubtful,
}

/// The need that an option meets with the smallest margin, in guard bands.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Tightest {
    /// The need.
    pub need: NeedKind,
    /// From the value to the limit, SI.
    pub margin: f64,
    /// The same for people.
    pub margin_words: String,
}

/// What to ask before ordering.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "question", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Question {
    /// Which of two resistances is right.
    WhichResistance(ResistanceContradiction),
    /// What is left out of the winding.
    Gap {
        /// What is missing.
        gap: Gap,
        /// What bounds it until then.
        bounded_by: Option<Ground>,
        /// The ends of what it may be, for people.
        ends: Vec<String>,
    },
    /// No pair can be what is stated: the problem.
    Impossible {
        /// The problem, in the words of `check`.
        problem: String,
    },
    /// What its maker states of the finished pair is not what follows from the winding.
    Contradiction(Contradiction),
    /// What it costs.
    Price,
    /// What packing and carriage cost.
    Carriage,
    /// Whether tax comes on top.
    Tax,
    /// When it would be delivered.
    Delivery,
    /// For how long its maker answers for it.
    Warranty,
    /// Until when the offer holds.
    Validity,
    /// Whether an offer that has ended still holds.
    Ended {
        /// Its last day.
        valid_until: Day,
    },
    /// In which currency.
    Currency,
    /// Within what it is built.
    BuildTolerance,
    /// Whether the layers are nested: only so do the turns fit.
    Packing,
    /// A need too close to tell: what the maker measures or guarantees.
    Guarantee {
        /// The need.
        need: NeedKind,
        /// What is computed, for people.
        found: String,
        /// What is needed, for people.
        wanted: String,
    },
}

impl Question {
    /// Whether it asks about something that the file contradicts itself in.
    pub fn is_contradiction(&self) -> bool {
        matches!(self, Self::WhichResistance(_) | Self::Contradiction(_) | Self::Impossible { .. })
    }
}

/// Standard uncertainties of the figures that needs are held against, SI.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[non_exhaustive]
pub struct StandardUncertainties {
    /// Of the largest field.
    pub largest_field_tesla: Option<f64>,
    /// Of the working current.
    pub working_current_ampere: Option<f64>,
    /// Of the voltage then.
    pub voltage_volt: Option<f64>,
    /// Of the room for the bulb.
    pub room_for_bulb_m: f64,
    /// Of the worst deviation over the beam.
    pub worst_beam_deviation: Option<f64>,
    /// Of the hottest surface.
    pub surface_temperature_kelvin: Option<f64>,
}

/// One need and how every option meets it.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Need {
    /// What is needed.
    pub name: NeedKind,
    /// How much, for people.
    pub wanted: String,
    /// How much, in SI.
    pub wanted_si: f64,
    /// One entry an option, in their order.
    pub results: Vec<NeedResult>,
}

/// How one option meets one need.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct NeedResult {
    /// The option's label.
    pub label: String,
    /// What it has, in SI; none where that is not known.
    pub found_si: Option<f64>,
    /// Smallest and largest of what it may have, where gaps leave that open within bounds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found_within_si: Option<[f64; 2]>,
    /// What it has, for people.
    pub found: String,
    /// What may be said.
    pub verdict: NeedVerdict,
    /// Whether that is enough; none where it is too close to tell, doubtful or not known.
    pub met: Option<bool>,
    /// From the value to the limit, positive where it is kept; none where it is not known.
    pub margin: Option<f64>,
    /// The same for people.
    pub margin_words: Option<String>,
    /// Width of the guard band, U = k u.
    pub guard_band: Option<f64>,
    /// The same for people, as in "U 6.9 K".
    pub guard_band_words: Option<String>,
    /// By what fraction of the need it is missed; none where it is met or not known, and for temperatures.
    pub missed_by_fraction: Option<f64>,
    /// By how much it is missed, for people.
    pub missed_by: Option<String>,
    /// The gaps whose answers would decide, where it is open because of them; the one that matters most first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub decided_by: Vec<Gap>,
}

impl NeedResult {
    /// Nothing is known.
    pub(super) fn unknown() -> Self {
        Self {
            label: String::new(),
            found_si: None,
            found_within_si: None,
            found: "not known".into(),
            verdict: NeedVerdict::NotKnown,
            met: None,
            margin: None,
            margin_words: None,
            guard_band: None,
            guard_band_words: None,
            missed_by_fraction: None,
            missed_by: None,
            decided_by: Vec::new(),
        }
    }
}

/// How one option stands to one need.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NeedVerdict {
    /// Met, guard band and all.
    Met,
    /// Missed, guard band and all.
    Missed,
    /// The uncertainty does not allow either.
    TooCloseToTell,
    /// It rests on what the spec contradicts itself in.
    Doubtful,
    /// The figure is not known.
    NotKnown,
}
