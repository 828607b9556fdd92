//! What all readings together say of turns, wire and section: fitted as `identify` does.

use crate::files::spec::Measured;
use crate::pair::Bench;
use crate::questions::check::joined;
use crate::questions::identify::{TurnsProbability, identify};
use serde::Serialize;

/// Turn counts shown.
const SHOWN: usize = 5;

/// What the readings say together, or why they do not.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum JointOrWhy {
    /// What was found.
    Found(Joint),
    /// What was missing for it.
    Missing(String),
}

/// Turns, wire and section that the readings fit best, wires of stock compared.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Joint {
    /// Turns of each coil with their probability, likeliest first.
    pub turns: Vec<TurnsProbability>,
    /// Turns of each coil by the spec, the mean of both.
    pub spec_turns: f64,
    /// Probability of the spec's turns, within half a turn.
    pub probability_of_spec_turns: f64,
    /// The wire of the likeliest candidate.
    pub wire: String,
    /// Mean radius of both coils.
    pub mean_radius_m: f64,
    /// Width of the section.
    pub width_m: f64,
    /// Depth of the section.
    pub depth_m: f64,
    /// Centre plane to centre plane.
    pub spacing_m: f64,
    /// What was taken because it was not measured.
    pub assumed: Vec<String>,
    /// How many readings it rests on, dimensions not counted.
    pub readings: usize,
    /// Chi-square that the best candidate leaves.
    pub chi_square: f64,
    /// Whether that candidate explains the readings as they are written.
    pub fits: bool,
}

pub(super) fn joint(bench: &Bench, measured: &Measured) -> JointOrWhy {
    let readings = joined(measured, bench.connection, bench.winding.wire.conductor);
    let found = match identify(&readings) {
        Ok(found) => found,
        Err(error) => return JointOrWhy::Missing(error.to_string()),
    };
    let [a, b] = bench.coils();
    let spec_turns = 0.5 * (a.turns + b.turns);
    let of_spec = found.turns.iter().filter(|it| (f64::from(it.turns) - spec_turns).abs() <= 0.5);
    JointOrWhy::Found(Joint {
        spec_turns,
        probability_of_spec_turns: of_spec.map(|it| it.probability).sum(),
        turns: found.turns.iter().take(SHOWN).copied().collect(),
        wire: found.candidates.first().map(|candidate| candidate.wire.clone()).unwrap_or_default(),
        mean_radius_m: found.mean_radius_m,
        width_m: found.width_m,
        depth_m: found.depth_m,
        spacing_m: found.spacing_m,
        fits: found.fits() && found.slips.is_empty(),
        assumed: found.assumed,
        readings: found.measurements,
        chi_square: found.best_chi_square,
    })
}
