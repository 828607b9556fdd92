//! The answer of a comparison.

use super::bounds::Ground;
use super::gap_end::GapEnd;
use super::need::{Margin, Need};
use super::need_kind::NeedKind;
use super::note::Note;
use super::question::Question;
use super::wire::NamedWire;
use crate::files::spec::{Gap, Remark};
use crate::judgement::limit::Rule;
use crate::numeric::calendar::Day;
use crate::physics::heat::HeldFor;
use crate::physics::heat::limits::CurrentLimit;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::limits::as_name;
use crate::questions::words::notes::{as_held_words, as_sentences};
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Options side by side.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Comparison {
    /// Program name and version.
    pub program: String,
    /// Title of the needs; `None` if none were given.
    pub needs_title: Option<String>,
    /// First 12 hex digits of the SHA-256 of the file of needs.
    pub needs_digest: Option<String>,
    /// The largest field needed; `None` if the needs do not say.
    pub largest_field_tesla: Option<f64>,
    /// How long voltage, power and largest field are held while the copper warms.
    #[serde(serialize_with = "as_held_words")]
    pub held: HeldFor,
    /// The date the user gave, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// How a need near its limit is decided.
    pub decision: Rule,
    /// The currency in which prices are compared; `None` if they cannot be.
    pub currency: Option<String>,
    /// The name of the cheapest option that passes; `None` if none passes, or prices cannot be compared.
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
    /// Current at which voltage, power and drift are given: the one that gives the largest field needed, or else the
    /// supply's largest.
    pub working_current_ampere: Option<f64>,
    /// Mean of the hotter winding at the working current, at the end of the time needed; `None` if the copper warms
    /// without end.
    pub copper_temperature_celsius: Option<f64>,
    /// Voltage at the working current then, leads included; `None` if the copper warms without end.
    pub voltage_volt: Option<f64>,
    /// Power of coils and leads then.
    pub power_watt: Option<f64>,
    /// Largest continuous current.
    pub continuous_current_ampere: Option<f64>,
    /// What limits it.
    #[serde(serialize_with = "name_of_limit")]
    pub limited_by: Option<CurrentLimit>,
    /// Field at the continuous current.
    pub continuous_field_tesla: Option<f64>,
    /// Change of the field at the working current (or the most the supply gives of it), from switching on to the end of
    /// the time needed, or to the steady state if no time is stated; `None` if there is no steady state.
    pub warm_up_drift_fraction: Option<f64>,
    /// Hottest surface at the working current, after the time needed or in the steady state; `None` if there is no
    /// steady state.
    pub surface_temperature_celsius: Option<f64>,
    /// Mass of the conductor of both coils.
    pub conductor_mass_kg: Option<f64>,
    /// Whether the supply's voltage, and not its current, limits the largest field.
    #[serde(skip)]
    pub(super) is_voltage_limited: bool,
    /// Mean radius of the design.
    pub mean_radius_m: Option<f64>,
    /// Width of the section of the design.
    pub section_width_m: Option<f64>,
    /// Depth of the section of the design.
    pub section_depth_m: Option<f64>,
    /// Spacing of the design.
    pub spacing_m: Option<f64>,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: Option<f64>,
    /// Overall length along the axis.
    pub overall_length_m: Option<f64>,
    /// Distance from the bulb's centre to the nearest winding.
    pub room_for_bulb_m: Option<f64>,
    /// Price; `None` if none is stated.
    pub price: Option<f64>,
    /// Its currency.
    pub currency: Option<String>,
    /// Packing and carriage.
    pub carriage: Option<f64>,
    /// Tax on price and carriage, as a fraction.
    pub tax_fraction: Option<f64>,
    /// Price, carriage and tax as far as stated, in the currency of the comparison; `None` if there is no price, or no
    /// rate for its currency.
    pub cost: Option<f64>,
    /// From order to delivery.
    pub delivery_days: Option<f64>,
    /// The shortest, if it is stated from one to another; [`Self::delivery_days`] is then the longest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shortest_delivery_days: Option<f64>,
    /// The maker's warranty.
    pub warranty_days: Option<f64>,
    /// Last day on which the offer holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valid_until: Option<Day>,
    /// Hottest surface, as its maker states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stated_hottest_surface_celsius: Option<f64>,
    /// Voltage at which its insulation is tested, as its maker states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub insulation_test_voltage_volt: Option<f64>,
    /// Smallest resistance of its insulation, as its maker states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub insulation_resistance_ohm: Option<f64>,
    /// Standards that its maker declares.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standards: Option<String>,
    /// The terminals, as its maker states them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub terminals: Option<String>,
    /// How the coils are held at their spacing, as its maker states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held_by: Option<String>,
    /// What its file leaves out of the winding.
    pub gaps: Vec<OpenGap>,
    /// Keys of what is filled in but cannot be read, or may be meant in more than one way. It counts as left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unclear: Vec<String>,
    /// What its supplier wrote into the form beside its fields and below them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<Remark>,
    /// Figures that gaps leave as a range, by their keys: smallest and largest. The figure itself is then `None`.
    pub bounds: BTreeMap<&'static str, [f64; 2]>,
    /// Parts that neither its spec nor the needs state; some figures are unknown without them.
    pub missing: Vec<&'static str>,
    /// The figures in the cautions.
    pub safety: SafetyFigures,
    /// Standard uncertainties of the figures compared with the needs.
    pub standard_uncertainties: StandardUncertainties,
    /// Whether it meets the needs; `None` if no needs were given, unless the file contradicts itself.
    pub verdict: Option<OptionVerdict>,
    /// The need with the smallest margin; `None` if a need is not met.
    pub tightest: Option<Tightest>,
    /// What to ask before ordering.
    pub questions: Vec<Question>,
}

impl PairOption {
    /// An option with no figures yet.
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
            is_voltage_limited: false,
            mean_radius_m: None,
            section_width_m: None,
            section_depth_m: None,
            spacing_m: None,
            outer_diameter_m: None,
            overall_length_m: None,
            room_for_bulb_m: None,
            price: None,
            currency: None,
            carriage: None,
            tax_fraction: None,
            cost: None,
            delivery_days: None,
            shortest_delivery_days: None,
            warranty_days: None,
            valid_until: None,
            stated_hottest_surface_celsius: None,
            insulation_test_voltage_volt: None,
            insulation_resistance_ohm: None,
            standards: None,
            terminals: None,
            held_by: None,
            gaps: Vec::new(),
            unclear: Vec::new(),
            remarks: Vec::new(),
            bounds: BTreeMap::new(),
            missing: Vec::new(),
            safety: SafetyFigures::default(),
            standard_uncertainties: StandardUncertainties::default(),
            verdict: None,
            tightest: None,
            questions: Vec::new(),
        }
    }

    /// The last day of an offer that has ended.
    pub(crate) fn ended(&self) -> Option<Day> {
        self.questions.iter().find_map(|question| match question {
            Question::Ended { valid_until } => Some(*valid_until),
            _ => None,
        })
    }

    /// The wire of an offer if the request names others.
    pub(crate) fn other_wire(&self) -> Option<(&NamedWire, &[NamedWire])> {
        self.questions.iter().find_map(|question| match question {
            Question::OtherWire { offered, named } => Some((offered, &named[..])),
            _ => None,
        })
    }

    /// Whether carriage and tax are stated, so that the cost is complete.
    pub(crate) fn has_whole_terms(&self) -> bool {
        self.carriage.is_some() && self.tax_fraction.is_some()
    }

    /// Whether what is filled in for this key is unclear, not missing.
    pub(crate) fn is_unclear(&self, key: &str) -> bool {
        self.unclear.iter().any(|unclear| unclear == key)
    }

    /// Whether its file leaves out something that nothing bounds.
    pub(super) fn has_open_gap(&self) -> bool {
        self.gaps.iter().any(|gap| gap.bounded_by.is_none())
    }
}

/// Something that a quote leaves out of its winding, and the values used for it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct OpenGap {
    /// What is missing.
    pub gap: Gap,
    /// What bounds it; `None` if nothing does, and figures that depend on it are then left out.
    pub bounded_by: Option<Ground>,
    /// Smallest and largest value examined, if something bounds it.
    pub ends: Vec<GapEnd>,
}

fn name_of_limit<S: Serializer>(limit: &Option<CurrentLimit>, to: S) -> Result<S::Ok, S::Error> {
    match limit {
        Some(limit) => as_name(limit, to),
        None => to.serialize_none(),
    }
}

/// Serialises a margin as its number and its words.
fn number_and_words<S: Serializer>(margin: &Margin, to: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct NumberAndWords<'a> {
        margin: f64,
        margin_words: &'a Margin,
    }
    NumberAndWords { margin: margin.si, margin_words: margin }.serialize(to)
}

/// Whether an option meets the needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OptionVerdict {
    /// Every need is met, with its guard band.
    Passes,
    /// At least one need is missed, with its guard band.
    Fails,
    /// None is missed, but at least one is too close to tell or not known.
    Undecided,
    /// None is certainly missed, but the spec contradicts itself in something that affects at least one.
    Doubtful,
}

/// The need that an option meets with the smallest margin, in guard bands.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Tightest {
    /// The need.
    pub need: NeedKind,
    /// From the value to the limit.
    #[serde(flatten, serialize_with = "number_and_words")]
    pub margin: Margin,
    /// What is left of it beyond the guard band; `None` without one.
    #[serde(rename = "beyond_guard_words")]
    pub beyond_guard: Option<Margin>,
}

/// Standard uncertainties of the figures compared with the needs, SI.
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
