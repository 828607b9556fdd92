//! The answer of [`super::weigh`].

use super::note::Note;
use super::{Conclusion, Finding, RadiusPlace, Visible};
use crate::pair::{AmmeterPosition, Model, Provenance};
use crate::physics::beam::FieldLine;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// Where the uncertainty of one run comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RunUncertainty {
    /// Stated, from the radius uncertainty and the last digits of the meters.
    Stated,
    /// From the scatter of the runs, if no radius uncertainty is stated.
    Scatter,
}

/// What is known of the room's field along the axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RoomSource {
    /// Fitted with e/m, if both current directions occur.
    Runs,
    /// From the spec.
    Spec,
    /// From the calibration.
    Calibration,
    /// Nothing is known; taken as zero.
    Unknown,
}

/// The runs reduced.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Weighing {
    /// Program and spec.
    pub provenance: Provenance,
    /// The figures in the cautions.
    pub safety: SafetyFigures,
    /// Which geometry was used.
    pub model: Model,
    /// The line from current to field.
    pub line: FieldLine,
    /// The result of all runs together.
    #[serde(flatten)]
    pub outcome: Evaluation,
    /// The result without the runs found misread. `None` if none is.
    pub without_suspects: Option<Evaluation>,
    /// Where the uncertainty of one run comes from.
    pub run_uncertainty: RunUncertainty,
    /// The room's axial field in the spec, for comparison.
    pub spec_room_axial_tesla: Option<f64>,
    /// Standard uncertainty of the room's axial field stated in spec or calibration.
    pub stated_room_standard_uncertainty_tesla: Option<f64>,
    /// Length on the scale over length in the beam plane; radii read on the scale are divided by it.
    pub scale_magnification: f64,
    /// Distance of the scale behind the beam plane.
    pub scale_offset_m: f64,
    /// The ammeter's place in the circuit, if stated.
    pub ammeter_position: Option<AmmeterPosition>,
    /// Names of the runs left out on request.
    pub left_out: Vec<String>,
    /// The runs, in the order of the file.
    pub runs: Vec<RunResult>,
    /// The conclusion from the findings.
    pub conclusion: Conclusion,
    /// Probability of no fault in the remaining runs and no shared error, after leaving out runs found misread.
    pub nothing_probability: f64,
    /// Possible explanations of the runs, most probable first; empty if nothing is found. Written by
    /// [`crate::questions::weigh::words::document`], which adds each finding's sentence.
    #[serde(skip)]
    pub findings: Vec<Finding>,
    /// The faults that these runs would have shown in nine cases out of ten.
    pub would_have_been_found: Vec<Visible>,
    /// Notes to the reader.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

impl RunResult {
    /// The name of this run in all output: its label, or `line 7` if it has none.
    pub fn name(&self) -> String {
        self.label.clone().unwrap_or_else(|| format!("line {}", self.line))
    }
}

/// One run reduced.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct RunResult {
    /// Its line in the file.
    pub line: u64,
    /// The user's name for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The voltmeter's reading.
    pub gun_voltage_volt: f64,
    /// Voltage at the beam.
    pub beam_voltage_volt: f64,
    /// The ammeter's reading.
    pub current_ampere: f64,
    /// Radius in the beam plane, corrected for parallax.
    pub radius_m: f64,
    /// The radius as written, or half the diameter.
    pub read_radius_m: f64,
    /// Where the radius was measured.
    pub radius_place: RadiusPlace,
    /// Whether the tube was taken as turned by 180°, because the circle fits the bulb only so.
    pub tube_turned: bool,
    /// The circle's effective field over the centre field, with the room's transverse field.
    pub effective_field_ratio: f64,
    /// The effective field, with the room's axial field.
    pub field_tesla: f64,
    /// e/m of this run alone.
    pub charge_to_mass_coulomb_per_kg: f64,
    /// Its standard uncertainty from this run's own uncertainties.
    pub charge_to_mass_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// 2 V/(k I r)², as a class computes it.
    pub centre_field_charge_to_mass_coulomb_per_kg: f64,
    /// Momentum e B r.
    pub momentum_kg_m_per_s: f64,
    /// Speed from momentum and energy.
    pub speed_m_per_s: f64,
    /// (B r)², for the straight line against the voltage.
    pub field_radius_squared_tesla2_m2: f64,
    /// Standardised residual of the radius: (read − fitted)/(u √(1 − leverage)).
    pub weighted_residual: Option<f64>,
    /// Whether it was found misread; `without_suspects` leaves it out.
    pub stands_out: bool,
}

/// One shared source of uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SharedPart {
    /// The uncertain quantity.
    pub source: &'static str,
    /// Its standard uncertainty, in `unit`.
    pub standard_uncertainty: f64,
    /// `1` for a fraction, else the SI unit.
    pub unit: &'static str,
    /// Standard uncertainty of e/m from this source alone.
    pub contribution_coulomb_per_kg: f64,
}

/// The result of a set of runs.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Evaluation {
    /// Number of runs.
    pub number_of_runs: usize,
    /// e/m of the electron, from all these runs.
    pub charge_to_mass_coulomb_per_kg: f64,
    /// Its standard uncertainty. `None` if the scatter of one run is neither stated nor determined.
    pub charge_to_mass_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// The part that shrinks with the number of runs.
    pub run_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// The part that all runs share.
    pub shared_standard_uncertainty_coulomb_per_kg: f64,
    /// The shared sources of uncertainty.
    pub shared: Vec<SharedPart>,
    /// The accepted value (CODATA 2022).
    pub accepted_charge_to_mass_coulomb_per_kg: f64,
    /// Relative deviation from the accepted value: e/m over the accepted value, minus one.
    pub difference_fraction: f64,
    /// The difference in standard uncertainties.
    pub difference_in_standard_uncertainties: Option<f64>,
    /// The electron's mass, with e taken as known.
    pub electron_mass_kg: f64,
    /// Its standard uncertainty.
    pub electron_mass_standard_uncertainty_kg: Option<f64>,
    /// The accepted mass (CODATA 2022).
    pub accepted_electron_mass_kg: f64,
    /// Σ (residual over its standard uncertainty)². `None` if the uncertainty came from the scatter itself.
    pub chi_square: Option<f64>,
    /// Number of runs minus that of fitted parameters.
    pub degrees_of_freedom: usize,
    /// Probability of a chi-square at least this large if the stated uncertainties are right.
    pub chi_square_probability: Option<f64>,
    /// What the part of the uncertainty that comes from the runs is multiplied by: the Birge ratio √(chi-square/degrees of
    /// freedom) where the scatter is improbable, else 1.
    pub scatter_factor: f64,
    /// Source of the room's axial field.
    pub room_source: RoomSource,
    /// The room's field along +z that was used.
    pub room_axial_tesla: f64,
    /// Its standard uncertainty. For a fitted field: from the runs and the ammeter's zero, unless the ammeter stands
    /// before the reversal. Otherwise: the stated one, or an assumed one if none is stated.
    pub room_axial_standard_uncertainty_tesla: Option<f64>,
    /// e/m of the same runs with the centre field constant alone: no beam-radius correction and no room field.
    pub centre_field_charge_to_mass_coulomb_per_kg: Option<f64>,
}

impl Evaluation {
    /// Relative deviation from the accepted value of the e/m computed with the centre field constant alone.
    pub fn centre_field_difference_fraction(&self) -> Option<f64> {
        let by_hand = self.centre_field_charge_to_mass_coulomb_per_kg?;
        Some(by_hand / self.accepted_charge_to_mass_coulomb_per_kg - 1.0)
    }
}
