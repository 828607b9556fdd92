//! What is this unlabelled pair?
//!
//! For every stock wire and every whole number of turns, the measurements are predicted from the measured dimensions,
//! and the probability of the measured values is computed. The standard uncertainties of the dimensions and of the wire
//! are carried to first order into the predictions, with the correlations they cause. All wires and all numbers of
//! turns that fill the section have the same prior probability; a number that leaves it loose has a fiftieth of it
//! (Bayes' rule; D. S. Sivia, *Data Analysis: A Bayesian Tutorial*, ch. 4, from memory).

mod dimensions;
mod next_measurement;
mod prediction;
mod rebuild;
mod sentences;
mod slips;
#[cfg(feature = "paper")]
pub mod words;

pub use dimensions::Assumed;
pub use next_measurement::{NextMeasurement, ToMeasure};
pub use slips::{OneOf, Slip, SlipFound};

use crate::constants::REFERENCE_TEMPERATURE_CELSIUS;
use crate::files::spec::Measured;
use crate::pair::{Bench, SourceFile, Wire};
use crate::questions::words::notes::{as_sentences, with_sentences};
use crate::{Error, Result};
use dimensions::dimensions;
use prediction::{Prediction, Scored, scores};
use serde::Serialize;
use slips::wires_of;

/// Number of candidates shown.
const SHOWN: usize = 12;
/// Number of candidates considered for the next measurement.
const WEIGHED: usize = 200;

/// The answer to "what is this unlabelled pair?".
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Identification {
    /// The file of measurements.
    #[serde(flatten)]
    pub source: SourceFile,
    /// Mean radius from the measured diameters.
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
    /// Number of combinations of wire and turns compared.
    pub compared: usize,
    /// The most probable candidates, with their predictions.
    pub candidates: Vec<Candidate>,
    /// Probability of each turn count over all wires, most probable first.
    pub turns: Vec<TurnsProbability>,
    /// Chi-square of the best candidate over the measurements used. A value far above their number means that something
    /// else is wrong.
    pub best_chi_square: f64,
    /// Number of measurements used.
    pub measurements: usize,
    /// Measurements that would decide, best first.
    #[serde(serialize_with = "with_sentences")]
    pub next_measurements: Vec<NextMeasurement>,
    /// Slips that would make the measurements fit, most probable first. The candidates are then those after correcting
    /// the first slip. Empty if the measurements fit as written, or no slip helps.
    pub slips: Vec<SlipFound>,
    /// ln of the likelihood summed over everything compared, with equal priors.
    #[serde(skip)]
    pub(crate) ln_evidence: f64,
    /// The most probable candidate as a bench; `None` if even that fits badly.
    #[serde(skip)]
    pub bench: Option<Bench>,
}

/// One wire and turn count.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Candidate {
    /// Turns of each coil.
    pub turns: u32,
    /// The wire.
    pub wire: String,
    /// Probability among everything compared.
    pub probability: f64,
    /// Its chi-square.
    pub chi_square: f64,
    /// Predicted resistance, at the temperature of the measurement.
    pub resistance_ohm: f64,
    /// Predicted field constant.
    pub field_constant_tesla_per_ampere: f64,
    /// Predicted inductance.
    pub inductance_henry: f64,
    /// Predicted mass of the conductor.
    pub conductor_mass_kg: f64,
}

/// A turn count and its probability.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TurnsProbability {
    /// Turns of each coil.
    pub turns: u32,
    /// Its probability.
    pub probability: f64,
}

/// Finds the stock wires and whole turn counts that fit.
///
/// # Errors
/// No diameter was measured; no measurement depends on the turns; no stock wire fits the section.
pub fn identify(measured: &Measured) -> Result<Identification> {
    // Without a spec there is no ammeter, so only stated uncertainties of the current count.
    let measured = &measured.counting_currents(None, REFERENCE_TEMPERATURE_CELSIUS);
    let as_written = identify_among(measured, &wires_of(measured.conductor));
    if as_written.as_ref().is_ok_and(Identification::fits) {
        return as_written;
    }
    let slips = slips::slips(measured);
    let Some(likeliest) = slips.first().filter(|slip| slip.chi_square <= largest_chi_square(used(measured)))
    else {
        return as_written;
    };
    let Some(right) = slips::put_right(measured, likeliest.slip) else { return as_written };
    let found = identify_as(&right.measured, &wires_of(right.measured.conductor), right.opposed)?;
    Ok(Identification { slips, ..found })
}

/// Chi-square above which even the most probable candidate fits badly.
const fn largest_chi_square(measurements: usize) -> f64 {
    4.0 + 3.0 * measurements as f64
}

/// Number of measurements used.
fn used(measured: &Measured) -> usize {
    let all = [
        measured.resistance_ohm,
        measured.field_tesla_per_ampere,
        measured.inductance_henry,
        measured.conductor_mass_kg,
        measured.overall_wire_diameter_m,
    ];
    all.iter().filter(|reading| reading.is_some()).count()
}

impl Identification {
    /// Whether the most probable candidate explains the measurements.
    pub fn fits(&self) -> bool {
        self.best_chi_square <= largest_chi_square(self.measurements)
    }
}

fn identify_among(measured: &Measured, wires: &[Wire]) -> Result<Identification> {
    identify_as(measured, wires, false)
}

/// `opposed`: one coil is connected against the other.
fn identify_as(measured: &Measured, wires: &[Wire], opposed: bool) -> Result<Identification> {
    let (dimensions, assumed) = dimensions(measured)?;
    let prediction = Prediction::of(measured, dimensions, opposed)?;
    let mut all = scores(&prediction, wires);
    let best = all.iter().map(|scored| scored.log_likelihood).fold(f64::NEG_INFINITY, f64::max);
    if !best.is_finite() {
        return Err(no_such_pair());
    }
    let sum: f64 = all.iter().map(|scored| (scored.log_likelihood - best).exp()).sum();
    for scored in &mut all {
        scored.probability = (scored.log_likelihood - best).exp() / sum;
    }
    let compared = all.len();
    let turns = by_turns(&all);
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all.retain(|scored| {
        let predicted = prediction.predicted(&wires[scored.wire], f64::from(scored.turns));
        scored.chi_square.is_finite() && predicted.iter().all(|value| value.is_finite() && *value > 0.0)
    });
    all.truncate(WEIGHED);
    let next_measurements = prediction.next_measurements(wires, &all);
    let candidates: Vec<Candidate> =
        all.iter().take(SHOWN).map(|scored| prediction.candidate(&wires[scored.wire], scored)).collect();
    let Some(likeliest) = all.first() else { return Err(no_such_pair()) };
    Ok(Identification {
        source: SourceFile::of(&measured.title, &measured.digest),
        mean_radius_m: prediction.per_turn.mean_radius_m,
        width_m: dimensions.width_m.value,
        depth_m: dimensions.depth_m(),
        spacing_m: dimensions.spacing_m.value,
        assumed,
        compared,
        best_chi_square: likeliest.chi_square,
        measurements: prediction.used.iter().filter(|used| **used).count(),
        turns: turns.into_iter().take(SHOWN).collect(),
        next_measurements,
        slips: Vec::new(),
        ln_evidence: best + sum.ln(),
        bench: (likeliest.chi_square <= largest_chi_square(used(measured)))
            .then(|| prediction.readable_bench(wires, &all))
            .flatten(),
        candidates,
    })
}

fn no_such_pair() -> Error {
    Error::value_with_hint(
        "no stock wire and no whole number of turns gives what was measured, not even with one reading left out",
        "two readings or more are wrong: check their units and uncertainties, and measure the dimensions again",
    )
}

fn by_turns(all: &[Scored]) -> Vec<TurnsProbability> {
    let most = all.iter().map(|scored| scored.turns).max().unwrap_or(0) as usize;
    let mut sums = vec![0.0; most + 1];
    for scored in all {
        sums[scored.turns as usize] += scored.probability;
    }
    let mut turns: Vec<TurnsProbability> = sums
        .into_iter()
        .enumerate()
        .filter(|(_, probability)| *probability >= 1e-6)
        .map(|(turns, probability)| TurnsProbability { turns: turns as u32, probability })
        .collect();
    turns.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    turns
}

impl Prediction<'_> {
    fn candidate(&self, wire: &Wire, scored: &Scored) -> Candidate {
        let predicted = self.predicted(wire, f64::from(scored.turns));
        Candidate {
            turns: scored.turns,
            wire: wire.name.clone().unwrap_or_default(),
            probability: scored.probability,
            chi_square: scored.chi_square,
            resistance_ohm: predicted[0],
            field_constant_tesla_per_ampere: predicted[1],
            inductance_henry: predicted[2],
            conductor_mass_kg: predicted[3],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::prediction::{OCCUPANCY, OVERALL_BELOW_LARGEST, OVERALL_RELATIVE};
    use super::*;
    use crate::files::spec::{MeasuredValue, measured_from_text};
    use crate::numeric::random::SampleGenerator;
    use crate::pair::Connection;
    use crate::pair::wires::stock_wires;
    use crate::physics::field::Assembly;
    use nalgebra::Vector3;

    fn reading(value: f64, relative: f64) -> Option<MeasuredValue> {
        Some(MeasuredValue { value, standard_uncertainty: relative * value })
    }

    /// Measurements as a careful person would make them on a bench.
    fn measured(bench: &Bench, uncertainties: [f64; 5]) -> Measured {
        let assembly = Assembly::of(bench);
        let coil = bench.nominal_coil();
        let wire = &bench.winding.wire;
        let [resistance, field, inductance, mass, overall] = uncertainties;
        let kilograms = 2.0
            * crate::pair::circuit::wire_length_m(&bench.winding, &coil)
            * wire.conductor_area_m2()
            * wire.conductor.density_kg_per_m3();
        let length = |value: f64| Some(MeasuredValue { value, standard_uncertainty: 0.5e-3 });
        let [resistivity, _] = crate::pair::resistivity_of_wire(wire.conductor);
        let ohm = resistivity * crate::pair::circuit::pair_resistance_at_20_celsius_ohm(bench);
        let henry = crate::physics::electrical::inductances(&crate::physics::field::PreparedPair::of(bench))
            .pair_henry;
        Measured {
            connection: Some(bench.connection),
            resistance_ohm: reading(ohm, resistance),
            overall_wire_diameter_m: reading(OVERALL_BELOW_LARGEST * wire.overall_diameter_m, overall),
            inner_diameter_m: length(2.0 * coil.mean_radius_m - coil.depth_m),
            outer_diameter_m: length(2.0 * coil.mean_radius_m + coil.depth_m),
            width_m: length(coil.width_m),
            spacing_m: length(bench.spacing_m),
            field_tesla_per_ampere: reading(assembly.field_per_ampere(&Vector3::zeros()).z, field),
            inductance_henry: reading(henry, inductance),
            conductor_mass_kg: reading(kilograms, mass),
            conductor: wire.conductor,
            ..Measured::nothing("Synthetic")
        }
    }

    fn bench(turns: f64, wire: &Wire) -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.mean_radius_m = 0.151;
        bench.spacing_m = 0.151;
        bench.winding.width_m = 0.020;
        bench.winding.depth_m = 0.0095;
        bench.winding.turns = turns;
        bench.winding.wire = wire.clone();
        bench
    }

    fn stock() -> Vec<Wire> {
        stock_wires().iter().map(|wire| wire.wire(crate::constants::Conductor::Copper, None)).collect()
    }

    #[test]
    fn measurements_without_noise_give_back_the_turns_and_the_wire() {
        for name in ["AWG 19 heavy", "0.75 mm grade 2"] {
            let wire = stock().into_iter().find(|wire| wire.name.as_deref() == Some(name)).unwrap();
            for connection in [Connection::Series, Connection::Parallel] {
                let turns = (0.9 * 0.020 * 0.0095 / wire.overall_diameter_m.powi(2)).floor();
                let mut truth = bench(turns, &wire);
                truth.connection = connection;
                let found = identify(&measured(&truth, [0.002, 0.001, 0.005, 0.003, 0.003])).unwrap();
                let best = &found.candidates[0];
                assert_eq!((f64::from(best.turns), best.wire.as_str()), (turns, name), "{:?}", found.turns);
                assert!(best.chi_square < 1e-3 && found.best_chi_square == best.chi_square);
                assert_eq!(found.bench.as_ref().unwrap().winding.turns, turns);
                let sum: f64 = found.turns.iter().map(|turns| turns.probability).sum();
                assert!(sum > 0.8 && sum <= 1.0 + 1e-9, "{sum}");
            }
        }
    }

    #[test]
    fn a_loose_winding_is_found_where_the_measurements_are_good_enough_to_say_so() {
        let wire = stock().into_iter().find(|wire| wire.name.as_deref() == Some("0.75 mm grade 2")).unwrap();
        let turns = (0.5 * 0.020 * 0.0095 / wire.overall_diameter_m.powi(2)).floor();
        let mut little = measured(&bench(turns, &wire), [0.01, 0.007, 0.01, 0.01, 0.015]);
        (little.inductance_henry, little.conductor_mass_kg) = (None, None);
        let found = identify(&little).unwrap();
        let best = &found.candidates[0];
        assert_eq!(
            (f64::from(best.turns), best.wire.as_str()),
            (turns, "0.75 mm grade 2"),
            "{:?}",
            found.turns
        );
        assert_eq!(f64::from(found.turns[0].turns), turns, "{:?}", found.turns);
    }

    #[test]
    fn turns_are_recovered_as_often_as_is_claimed() {
        // 120 pairs, with wire and turns drawn uniformly from those that fit, and every dimension, wire and reading
        // drawn from its uncertainty. Claimed and actual hits then differ only by chance: at most 3 standard errors,
        // √(p (1 − p)/120).
        const PAIRS: u64 = 120;
        let wires: Vec<Wire> =
            stock().into_iter().filter(|w| (0.6e-3..1.3e-3).contains(&w.bare_diameter_m)).collect();
        let (mut claimed, mut variance, mut hits) = (0.0, 0.0, 0.0);
        for pair in 0..PAIRS {
            let mut random = SampleGenerator::new(41, pair);
            let wire = &wires[random.whole(wires.len())];
            let overall = OVERALL_BELOW_LARGEST * wire.overall_diameter_m;
            let area = 0.020 * 0.0095;
            let [least, most] = OCCUPANCY.map(|occupancy| (occupancy * area / (overall * overall)) as usize);
            let turns = (least + 1 + random.whole(most - least)) as f64;
            let mut truth = bench(turns, wire);
            truth.winding.wire.bare_diameter_m *= 1.0 + random.rectangular(0.01);
            truth.winding.wire.overall_diameter_m *= 1.0 + random.normal(OVERALL_RELATIVE);
            let mut measured = measured(&truth, [0.005, 0.004, 0.01, 0.01, 0.01]);
            for reading in [
                &mut measured.resistance_ohm,
                &mut measured.overall_wire_diameter_m,
                &mut measured.inner_diameter_m,
                &mut measured.outer_diameter_m,
                &mut measured.width_m,
                &mut measured.spacing_m,
                &mut measured.field_tesla_per_ampere,
                &mut measured.inductance_henry,
                &mut measured.conductor_mass_kg,
            ] {
                let reading = reading.as_mut().unwrap();
                reading.value += random.normal(reading.standard_uncertainty);
            }
            let found = identify_among(&measured, &wires).unwrap();
            let best = found.turns[0];
            claimed += best.probability;
            variance += best.probability * (1.0 - best.probability);
            hits += f64::from(u8::from(f64::from(best.turns) == turns));
        }
        assert!(claimed / PAIRS as f64 > 0.2, "a claim worth testing: {claimed}");
        assert!((hits - claimed).abs() < 3.0 * variance.sqrt(), "{hits} hits for {claimed} claimed");
    }

    #[test]
    fn the_measurement_that_would_settle_it_is_the_one_that_does() {
        let wire = stock().into_iter().find(|wire| wire.name.as_deref() == Some("0.95 mm grade 2")).unwrap();
        let truth = bench(160.0, &wire);
        // From the resistance alone, turns and wire cannot be separated.
        let mut little = measured(&truth, [0.002, 0.003, 0.005, 0.003, 0.003]);
        (little.field_tesla_per_ampere, little.inductance_henry) = (None, None);
        (little.conductor_mass_kg, little.overall_wire_diameter_m) = (None, None);
        let before = identify(&little).unwrap();
        let advised = &before.next_measurements[0];
        assert!(advised.expected_bits > 1.0, "{:?}", before.next_measurements);
        let mut more = little.clone();
        more.field_tesla_per_ampere =
            measured(&truth, [0.002, 0.003, 0.005, 0.003, 0.003]).field_tesla_per_ampere;
        let after = identify(&more).unwrap();
        assert!(after.turns[0].probability > 2.0 * before.turns[0].probability);
    }

    #[test]
    fn what_is_missing_is_asked_for_or_taken_and_said() {
        let of = |text: &str| identify(&measured_from_text("pair.json", text).unwrap());
        let nothing = of(r#"{ "title": "Nothing" }"#).unwrap_err();
        assert!(nothing.hint().unwrap().contains("inner_diameter"), "{nothing}");
        let size = r#""inner_diameter": { "value": "292 mm", "uncertainty": "1 mm" }"#;
        let no_turns = of(&format!(r#"{{ "title": "Size", {size} }}"#)).unwrap_err();
        assert!(no_turns.to_string().contains("determines the turns"), "{no_turns}");
        let found = of(&format!(
            r#"{{ "title": "Little", {size}, "resistance": {{ "value": "7.4 ohm", "uncertainty": "0.04 ohm" }} }}"#
        ))
        .unwrap();
        assert_eq!(found.assumed.len(), 4, "{:?}", found.assumed);
    }

    /// A pair measured with ordinary scatter.
    fn scattered(seed: u64) -> Measured {
        let wire = stock().into_iter().find(|wire| wire.name.as_deref() == Some("0.95 mm grade 2")).unwrap();
        let mut random = SampleGenerator::new(91, seed);
        let mut measured = measured(&bench(160.0, &wire), [0.004, 0.004, 0.01, 0.01, 0.01]);
        for reading in [
            &mut measured.resistance_ohm,
            &mut measured.field_tesla_per_ampere,
            &mut measured.inductance_henry,
            &mut measured.conductor_mass_kg,
        ] {
            let reading = reading.as_mut().unwrap();
            reading.value += random.normal(reading.standard_uncertainty);
        }
        measured
    }

    #[test]
    fn gross_slips_are_named_and_sound_measurements_are_not_accused() {
        const PAIRS: u64 = 3;
        let scale = |reading: &mut Option<MeasuredValue>, factor: f64| {
            let reading = reading.as_mut().unwrap();
            reading.value *= factor;
            reading.standard_uncertainty *= factor;
        };
        let sound = (0..PAIRS).filter(|seed| !identify(&scattered(*seed)).unwrap().slips.is_empty()).count();
        assert_eq!(sound, 0);
        type Planted<'a> = (&'a dyn Fn(&mut Measured), &'a dyn Fn(Slip) -> bool);
        let slips: [Planted; 5] = [
            (&|it| scale(&mut it.field_tesla_per_ampere, 10.0), &|slip| slip == Slip::GaussForMillitesla),
            (&|it| it.connection = Some(Connection::Parallel), &|slip| {
                matches!(slip, Slip::Connection { .. })
            }),
            (
                &|it| {
                    scale(&mut it.inner_diameter_m, 0.5);
                    scale(&mut it.outer_diameter_m, 0.5);
                },
                &|slip| slip == Slip::RadiusForDiameter,
            ),
            (
                &|it| {
                    scale(&mut it.field_tesla_per_ampere, 1e-3);
                    it.field_tesla_per_ampere.as_mut().unwrap().standard_uncertainty = 3e-6;
                    it.inductance_henry = None;
                },
                &|slip| slip == Slip::CoilReversed,
            ),
            (&|it| it.resistance_ohm.as_mut().unwrap().value += 0.8, &|slip| {
                matches!(slip, Slip::LeadsCounted { .. })
            }),
        ];
        for (number, (slip, is_right)) in slips.into_iter().enumerate() {
            let mut right = 0;
            for seed in 0..PAIRS {
                let mut measured = scattered(seed);
                slip(&mut measured);
                let found = identify(&measured).unwrap();
                right += u64::from(found.slips.first().is_some_and(|found| is_right(found.slip)));
            }
            assert!(right + 1 >= PAIRS, "slip {number}: {right} of {PAIRS}");
        }
    }

    #[test]
    fn what_is_written_is_a_spec_that_the_reader_takes_with_rounded_lengths_and_the_measured_wire() {
        for seed in 0..4 {
            let measured = scattered(seed);
            let found = identify(&measured).unwrap();
            let text = crate::files::spec::spec_text(&found.bench.unwrap());
            let read = crate::files::spec::bench_from_text("pair.json", &text);
            let read = read.unwrap_or_else(|error| panic!("{error}: {text}"));
            let wire = measured.overall_wire_diameter_m.unwrap().value;
            assert!((read.winding.wire.overall_diameter_m - wire).abs() < 1e-6, "{text}");
            for length in
                [read.winding.mean_radius_m, read.winding.width_m, read.winding.depth_m, read.spacing_m]
            {
                let tenths = length * 1e4;
                assert!((tenths - tenths.round()).abs() < 1e-6, "{text}");
            }
        }
    }
}
