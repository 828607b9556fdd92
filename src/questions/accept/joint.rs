//! Turns, wire and section from all readings together, fitted as `identify` does, for two equal coils.

use crate::files::spec::{Measured, MeasuredValue};
use crate::pair::{Bench, Connection};
use crate::questions::check::joined;
use crate::questions::identify::{Assumed, Identification, Slip, TurnsProbability, identify};
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// Number of turn counts shown.
const SHOWN: usize = 5;

/// The result from all readings, or the reason why there is none.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum JointOrWhy {
    /// The result.
    Found(Joint),
    /// What was missing.
    Missing(NotDerived),
}

/// Why turns and wire are not derived.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum NotDerived {
    /// The inner diameter was read on one of the coils alone.
    InnerDiameterOfOneCoil {
        /// That coil, `a` or `b`.
        measured: &'static str,
        /// The other.
        missing: &'static str,
    },
    /// The outer diameter was read on one of the coils alone.
    OuterDiameterOfOneCoil {
        /// That coil, `a` or `b`.
        measured: &'static str,
        /// The other.
        missing: &'static str,
    },
    /// `identify` refuses the readings, with this error.
    Refused(String),
}

/// Turns, stock wire and section that fit the readings best.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Joint {
    /// Turns of a coil (mean of both) with their probability, most probable first.
    pub turns: Vec<TurnsProbability>,
    /// Turns of each coil in the spec (mean of both).
    pub spec_turns: f64,
    /// Probability of the spec's turns, within half a turn.
    pub probability_of_spec_turns: f64,
    /// The wire of the most probable candidate.
    pub wire: String,
    /// Mean radius of both coils.
    pub mean_radius_m: f64,
    /// Width of the section.
    pub width_m: f64,
    /// Depth of the section.
    pub depth_m: f64,
    /// Distance between the centre planes of the coils.
    pub spacing_m: f64,
    /// Values assumed because they were not measured.
    #[serde(serialize_with = "as_sentences")]
    pub assumed: Vec<Assumed>,
    /// Number of readings used, not counting dimensions.
    pub readings: usize,
    /// Chi-square of the best candidate.
    pub chi_square: f64,
    /// Whether that candidate explains the readings as written, with or without the stated leads in the resistance.
    pub fits: bool,
    /// The stated leads, with the probability that they were measured with the coils; `None` if the spec states none or
    /// the resistance of the pair was not measured.
    pub leads: Option<LeadsMeasured>,
    /// A gross slip that would explain readings that otherwise fit nothing.
    pub slip: Option<Slip>,
    /// Counted turns of each coil, a then b.
    pub counted_turns: [Option<f64>; 2],
}

/// Leads that may have been measured with the coils.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LeadsMeasured {
    /// Their resistance as stated in the spec.
    pub lead_ohm: f64,
    /// Probability that the reading includes them, with a prior of one half.
    pub probability: f64,
}

/// Treats the coils as equal. If the spec states leads, the resistance of the pair may include them. Both cases are
/// tried with equal priors, and the turns are averaged over both.
pub(super) fn joint(bench: &Bench, measured: &Measured) -> JointOrWhy {
    let readings = joined(measured, bench.connection, bench.winding.wire.conductor);
    let lead_ohm = bench.lead_resistance_ohm.filter(|lead| *lead > 0.0 && measured.resistance_ohm.is_some());
    let without_leads = lead_ohm.and_then(|lead| less_leads(&readings, lead));
    let as_written = match identify(&readings) {
        Ok(found) => found,
        Err(error) => {
            let refused = || NotDerived::Refused(error.to_string());
            return JointOrWhy::Missing(of_one_coil_alone(measured).unwrap_or_else(refused));
        }
    };
    let without_leads = without_leads.and_then(|readings| identify(&readings).ok());
    let (states, probability) = match without_leads {
        Some(without) => weighed(as_written, without, by_the_coils(bench, measured)),
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
        probability_of_spec_turns: of_spec.map(|it| it.probability).fold(0.0, |sum, one| sum + one),
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

/// The diameter that was read on one of the coils alone; `None` if there is no such diameter.
fn of_one_coil_alone(measured: &Measured) -> Option<NotDerived> {
    let [a, b] = &measured.coils;
    let alone = |[of_a, of_b]: [bool; 2]| match [of_a, of_b] {
        [true, false] => Some(("a", "b")),
        [false, true] => Some(("b", "a")),
        _ => None,
    };
    let inner = alone([a, b].map(|coil| coil.inner_diameter_m.is_some()));
    let outer = alone([a, b].map(|coil| coil.outer_diameter_m.is_some()));
    inner
        .map(|(measured, missing)| NotDerived::InnerDiameterOfOneCoil { measured, missing })
        .or_else(|| outer.map(|(measured, missing)| NotDerived::OuterDiameterOfOneCoil { measured, missing }))
}

/// The readings without the leads in the pair's resistance; `None` if the leads would be most of it.
fn less_leads(readings: &Measured, lead_ohm: f64) -> Option<Measured> {
    let reading = readings.resistance_ohm.filter(|it| it.value > 1.5 * lead_ohm)?;
    let resistance_ohm = Some(MeasuredValue { value: reading.value - lead_ohm, ..reading });
    Some(Measured { resistance_ohm, ..readings.clone() })
}

fn explains(found: &Identification) -> bool {
    found.fits() && found.slips.is_empty()
}

/// ln of how much more probable a pair's resistance read with the leads is than one read without, judged by the coils'
/// own resistances. Zero if pair and coils were not both read, or the spec states no leads.
fn by_the_coils(bench: &Bench, measured: &Measured) -> f64 {
    let [a, b] = [0, 1].map(|i| measured.coils[i]);
    let Some(((pair, lead), (of_a, of_b))) =
        measured.resistance_ohm.zip(bench.lead_resistance_ohm).zip(a.resistance_ohm.zip(b.resistance_ohm))
    else {
        return 0.0;
    };
    let conductor = bench.winding.wire.conductor;
    let now = conductor.resistance_ratio(measured.resistance_at_celsius);
    let [of_a, of_b] = [(of_a, a), (of_b, b)].map(|(ohm, coil)| {
        let warmer = now / conductor.resistance_ratio(coil.resistance_at_celsius);
        [warmer * ohm.value, warmer * ohm.standard_uncertainty]
    });
    let (sum, [per_a, per_b]) = match bench.connection {
        Connection::Series => (of_a[0] + of_b[0], [1.0, 1.0]),
        Connection::Parallel => {
            let whole = of_a[0] + of_b[0];
            (of_a[0] * of_b[0] / whole, [(of_b[0] / whole).powi(2), (of_a[0] / whole).powi(2)])
        }
    };
    let u = pair.standard_uncertainty.hypot(per_a * of_a[1]).hypot(per_b * of_b[1]).max(1e-6 * sum);
    let more = pair.value - sum;
    0.5 * ((more / u).powi(2) - ((more - lead) / u).powi(2))
}

/// Both cases with their probabilities, and the probability of the second. A case that explains the readings only with
/// a gross slip has probability zero if the other case needs no slip. If the coils' own resistances favour a case,
/// `by_the_coils` is the ln of the factor by which they make the second more probable, and the slip counts as
/// `OF_A_SLIP` instead.
fn weighed(
    as_written: Identification,
    without: Identification,
    by_the_coils: f64,
) -> (Vec<(f64, Identification)>, f64) {
    /// ln of the factor in favour of a case that needs no slip (common practice, no source).
    const OF_A_SLIP: f64 = 7.0;
    let by_the_fit = match (explains(&as_written), explains(&without)) {
        (true, false) if by_the_coils == 0.0 => f64::NEG_INFINITY,
        (false, true) if by_the_coils == 0.0 => f64::INFINITY,
        (true, false) => -OF_A_SLIP,
        (false, true) => OF_A_SLIP,
        _ => without.ln_evidence - as_written.ln_evidence,
    };
    let probability = 1.0 / (1.0 + (-by_the_fit - by_the_coils).exp());
    (vec![(1.0 - probability, as_written), (probability, without)], probability)
}

/// Probability of each turn count over both cases, most probable first.
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
