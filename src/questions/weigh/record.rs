//! What [`super::weigh`] answers with.

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
    /// From what is stated for its radius and from its meters' last digits.
    Stated,
    /// From the scatter of the runs, for want of a stated radius uncertainty.
    Scatter,
}

/// What is known of the room's field along the axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RoomSource {
    /// Fitted with e/m, both current directions being there.
    Runs,
    /// The spec's.
    Spec,
    /// The calibration's.
    Calibration,
    /// Nothing is known; taken as none.
    Unknown,
}

/// The runs reduced.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Weighing {
    /// Program and spec.
    pub provenance: Provenance,
    /// What the cautions name.
    pub safety: SafetyFigures,
    /// Which geometry.
    pub model: Model,
    /// The line from current to field.
    pub line: FieldLine,
    /// What all runs together give.
    #[serde(flatten)]
    pub outcome: Outcome,
    /// The same without the runs found misread; none where none is.
    pub without_suspects: Option<Outcome>,
    /// Where the uncertainty of one run comes from.
    pub run_uncertainty: RunUncertainty,
    /// The room's axial field of the spec, to compare.
    pub spec_room_axial_tesla: Option<f64>,
    /// Standard uncertainty of the room's axial field that spec or calibration state.
    pub stated_room_standard_uncertainty_tesla: Option<f64>,
    /// Length on the scale over length in the beam plane; radii read on the scale are divided by it.
    pub scale_magnification: f64,
    /// How far the scale lies behind the beam plane.
    pub scale_offset_m: f64,
    /// Where the ammeter stands, if stated.
    pub ammeter_position: Option<AmmeterPosition>,
    /// Names of the runs left out on request.
    pub left_out: Vec<String>,
    /// The runs, in the order of the file.
    pub runs: Vec<RunResult>,
    /// What may be said of the findings.
    pub conclusion: Conclusion,
    /// Probability that none of the runs' faults nor a shared error is there, runs found misread left out.
    pub nothing_probability: f64,
    /// What may be behind what the runs show, most probable first; empty where nothing is found. Written by
    /// [`crate::questions::weigh::words::document`], which adds each finding's sentence.
    #[serde(skip)]
    pub findings: Vec<Finding>,
    /// What these runs would have shown in nine cases of ten, had it been there.
    pub would_have_been_found: Vec<Visible>,
    /// What the reader should know.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

impl RunResult {
    /// What this run is called everywhere: its label, or `line 7` where it has none.
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
    /// What the user calls it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What the voltmeter showed.
    pub gun_voltage_volt: f64,
    /// What the beam got.
    pub beam_voltage_volt: f64,
    /// What the ammeter showed.
    pub current_ampere: f64,
    /// Radius in the beam plane, parallax taken off.
    pub radius_m: f64,
    /// The radius as written, or half the diameter.
    pub read_radius_m: f64,
    /// Where that was measured.
    pub radius_place: RadiusPlace,
    /// Whether the circle fits the bulb only with the tube turned half round, as it was taken to be.
    pub tube_turned: bool,
    /// The circle's effective field over that of the centre, the room's transverse field with it.
    pub effective_field_ratio: f64,
    /// The effective field, the room's axial field with it.
    pub field_tesla: f64,
    /// e/m of this run alone.
    pub charge_to_mass_coulomb_per_kg: f64,
    /// Its standard uncertainty from what belongs to this run.
    pub charge_to_mass_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// 2 V/(k I r)², as a class computes it.
    pub centre_field_charge_to_mass_coulomb_per_kg: f64,
    /// Momentum e B r.
    pub momentum_kg_m_per_s: f64,
    /// Speed from momentum and energy.
    pub speed_m_per_s: f64,
    /// (B r)², for the straight line against the voltage.
    pub field_radius_squared_tesla2_m2: f64,
    /// (read − fitted)/u of the radius, over the share that the run has in the fit itself.
    pub weighted_residual: Option<f64>,
    /// Whether it was found misread; `without_suspects` is without it.
    pub stands_out: bool,
}

/// One shared source of uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SharedPart {
    /// What is uncertain.
    pub source: &'static str,
    /// Its standard uncertainty, in `unit`.
    pub standard_uncertainty: f64,
    /// `1` for a fraction, else the SI unit.
    pub unit: &'static str,
    /// Standard uncertainty of e/m from this source alone.
    pub contribution_coulomb_per_kg: f64,
}

/// What a set of runs gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Outcome {
    /// How many runs it rests on.
    pub number_of_runs: usize,
    /// e/m of the electron, from all these runs.
    pub charge_to_mass_coulomb_per_kg: f64,
    /// Its standard uncertainty. `None` if the scatter of one run is neither stated nor determined.
    pub charge_to_mass_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// The part of it that shrinks with the number of runs.
    pub run_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// The part of it that all runs share.
    pub shared_standard_uncertainty_coulomb_per_kg: f64,
    /// What the runs share, one by one.
    pub shared: Vec<SharedPart>,
    /// The accepted value (CODATA 2022).
    pub accepted_charge_to_mass_coulomb_per_kg: f64,
    /// Relative deviation from the accepted value: e/m over the accepted value, minus one.
    pub difference_fraction: f64,
    /// The difference in standard uncertainties.
    pub difference_in_standard_uncertainties: Option<f64>,
    /// The electron's mass, e taken as known.
    pub electron_mass_kg: f64,
    /// Its standard uncertainty.
    pub electron_mass_standard_uncertainty_kg: Option<f64>,
    /// The accepted mass (CODATA 2022).
    pub accepted_electron_mass_kg: f64,
    /// Σ (residual over its standard uncertainty)². `None` if the uncertainty came from the scatter itself.
    pub chi_square: Option<f64>,
    /// Runs less the numbers fitted.
    pub degrees_of_freedom: usize,
    /// Probability of a chi-square at least this large if the stated uncertainties are right.
    pub chi_square_probability: Option<f64>,
    /// Where the room's axial field comes from.
    pub room_source: RoomSource,
    /// The room's field along +z that was used.
    pub room_axial_tesla: f64,
    /// Its standard uncertainty: of a fitted one from the runs and, unless it stands before the reversal, the ammeter's
    /// zero; of another as stated, or what is assumed where nothing is.
    pub room_axial_standard_uncertainty_tesla: Option<f64>,
    /// e/m of the same runs with the centre field constant alone: no beam-radius correction and no room field.
    pub centre_field_charge_to_mass_coulomb_per_kg: Option<f64>,
}

impl Outcome {
    /// Relative deviation from the accepted value of the e/m computed with the centre field constant alone.
    pub fn centre_field_difference_fraction(&self) -> Option<f64> {
        let by_hand = self.centre_field_charge_to_mass_coulomb_per_kg?;
        Some(by_hand / self.accepted_charge_to_mass_coulomb_per_kg - 1.0)
    }
}
