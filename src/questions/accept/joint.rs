//! What all readings together say of turns, wire and section: fitted as `identify` does, both coils taken as alike.

use crate::files::spec::{Measured, MeasuredValue};
use crate::pair::Bench;
use crate::questions::check::joined;
use crate::questions::identify::{Assumed, Identification, Slip, TurnsProbability, identify};
use crate::questions::words::notes::as_sentences;
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
    /// Turns of a coil, the mean of both, with their probability, likeliest first.
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
    #[serde(serialize_with = "as_sentences")]
    pub assumed: Vec<Assumed>,
    /// How many readings it rests on, dimensions not counted.
    pub readings: usize,
    /// Chi-square that the best candidate leaves.
    pub chi_square: f64,
    /// Whether that candidate explains the readings as they are written, leads that the spec states in the resistance or not.
    pub fits: bool,
    /// Leads that the spec states, and how likely it is that they were measured with the coils; `None` if it states none
    /// or the resistance of the pair was not measured.
    pub leads: Option<LeadsMeasured>,
    /// A gross slip without which the readings fit nothing, where one would explain them.
    pub slip: Option<Slip>,
    /// Turns that were counted on each coil, a then b.
    pub counted_turns: [Option<f64>; 2],
}

/// Leads that may have been measured with the coils.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LeadsMeasured {
    /// Their resistance, as the spec states it.
    pub lead_ohm: f64,
    /// How likely it is that they are in the reading, 0 to 1; as likely as not beforehand.
    pub probability: f64,
}

/// Takes the coils as alike. Where the spec states leads, the resistance of the pair may hold them: both are tried, as likely
/// beforehand, and what is said of the turns is the mean over both.
pub(super) fn joint(bench: &Bench, measured: &Measured) -> JointOrWhy {
    let readings = joined(measured, bench.connection, bench.winding.wire.conductor);
    let lead_ohm = bench.lead_resistance_ohm.filter(|lead| *lead > 0.0 && measured.resistance_ohm.is_some());
    let without_leads = lead_ohm.and_then(|lead| less_leads(&readings, lead));
    let as_written = match identify(&readings) {
        Ok(found) => found,
        Err(error) => return JointOrWhy::Missing(error.to_string()),
    };
    let without_leads = without_leads.and_then(|readings| identify(&readings).ok());
    let (states, probability) = match without_leads {
        Some(without) => weighed(as_written, without),
        None => (vec![(1.0, as_written)], 0.0),
    };
    let leads = lead_ohm.filter(|_| states.len() > 1).map(|lead_ohm| LeadsMeasured { lead_ohm, probability });
    let likeliest = usize::from(states.len() > 1 && probability > 0.5);
    let turns = turns_of(&states);
    let found = &states[likeliest].1;
    let [a, b] = bench.coils();
    let spec_turns = 0.5 * (a.turns + b.turns);
    let of_spec = turns.iter().filter(|it| (f64::from(it.turns) - spec_turns).abs() <= 0.5);
    JointOrWhy::Found(Joint {
        spec_turns,
        probability_of_spec_turns: of_spec.map(|it| it.probability).sum(),
        turns: turns.iter().take(SHOWN).copied().collect(),
        wire: found.candidates.first().map(|candidate| candidate.wire.clone()).unwrap_or_default(),
        mean_radius_m: found.mean_radius_m,
        width_m: found.width_m,
        depth_m: found.depth_m,
        spacing_m: found.spacing_m,
        fits: explains(found),
        assumed: found.assumed.clone(),
        readings: found.measurements,
        chi_square: found.best_chi_square,
        leads,
        slip: found.slips.first().filter(|_| found.fits()).map(|found| found.slip),
        counted_turns: [0, 1].map(|i| measured.coils[i].turns.map(|turns| turns.value)),
    })
}

/// The readings with the leads taken off the pair's resistance; `None` if they would be most of it.
fn less_leads(readings: &Measured, lead_ohm: f64) -> Option<Measured> {
    let reading = readings.resistance_ohm.filter(|it| it.value > 1.5 * lead_ohm)?;
    let resistance_ohm = Some(MeasuredValue { value: reading.value - lead_ohm, ..reading });
    Some(Measured { resistance_ohm, ..readings.clone() })
}

fn explains(found: &Identification) -> bool {
    found.fits() && found.slips.is_empty()
}

/// Both states with their probabilities, and that of the second; a state that explains the readings only with a gross slip
/// has none where the other needs none.
fn weighed(as_written: Identification, without: Identification) -> (Vec<(f64, Identification)>, f64) {
    let probability = match (explains(&as_written), explains(&without)) {
        (true, false) => 0.0,
        (false, true) => 1.0,
        _ => 1.0 / (1.0 + (as_written.ln_evidence - without.ln_evidence).exp()),
    };
    (vec![(1.0 - probability, as_written), (probability, without)], probability)
}

/// Probability of each turn count over all states, likeliest first.
fn turns_of(states: &[(f64, Identification)]) -> Vec<TurnsProbability> {
    let mut all: Vec<TurnsProbability> = Vec::new();
    for (weight, found) in states {
        for it in &found.turns {
            let probability = weight * it.probability;
            match all.iter_mut().find(|known| known.turns == it.turns) {
                Some(known) => known.probability += probability,
                None => all.push(TurnsProbability { probability, ..*it }),
            }
        }
    }
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all
}
