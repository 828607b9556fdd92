//! What a comparison answers with.

use serde::Serialize;

/// Options side by side.
#[derive(Clone, Debug, Serialize)]
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
    /// The options, in the order given.
    pub options: Vec<PairOption>,
    /// Each need and how every option meets it.
    pub needs: Vec<Need>,
    /// What to know when reading, in sentences.
    pub notes: Vec<String>,
}

/// One pair.
#[derive(Clone, Debug, Serialize)]
pub struct PairOption {
    /// A, B, C and so on.
    pub label: String,
    /// The spec's title.
    pub title: String,
    /// First 12 hex digits of the spec's SHA-256.
    pub digest: String,
    /// Field at the centre per ampere through the ammeter.
    pub field_constant_tesla_per_ampere: f64,
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
    /// What e/m comes out off by with the centre field, smallest and largest over the beam radii.
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
    pub continuous_current_ampere: f64,
    /// What forbids more.
    pub limited_by: String,
    /// Field at the continuous current.
    pub continuous_field_tesla: f64,
    /// Change of the field from switching on to the end of the time needed, or to the steady state, at the working
    /// current or what the supply gives of it; none where there is no steady state.
    pub warm_up_drift_fraction: Option<f64>,
    /// Hottest surface at the working current, after the time needed or for ever; none where there is no steady state.
    pub surface_temperature_celsius: Option<f64>,
    /// Mass of the conductor of both coils.
    pub conductor_mass_kg: f64,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: f64,
    /// From outside to outside along the axis.
    pub overall_length_m: f64,
    /// Distance from the bulb's centre to the nearest winding.
    pub room_for_bulb_m: Option<f64>,
    /// Price; none where the spec states none.
    pub price: Option<f64>,
    /// Its currency.
    pub currency: Option<String>,
    /// Parts that neither its spec nor the needs state, and that figures are not known for want of.
    pub missing: Vec<&'static str>,
}

/// One need and how every option meets it.
#[derive(Clone, Debug, Serialize)]
pub struct Need {
    /// What is needed.
    pub name: &'static str,
    /// How much, for people.
    pub wanted: String,
    /// How much, in SI.
    pub wanted_si: f64,
    /// One entry an option, in their order.
    pub results: Vec<NeedResult>,
}

/// How one option meets one need.
#[derive(Clone, Debug, Serialize)]
pub struct NeedResult {
    /// The option's label.
    pub label: String,
    /// What it has, in SI; none where that is not known.
    pub found_si: Option<f64>,
    /// What it has, for people.
    pub found: String,
    /// Whether that is enough; none where it is not known.
    pub met: Option<bool>,
    /// By what fraction of the need it is missed; none where it is met or not known, and for temperatures.
    pub missed_by_fraction: Option<f64>,
    /// By how much it is missed, for people.
    pub missed_by: Option<String>,
}
