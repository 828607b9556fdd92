//! The check before a lesson: is the pair on the bench still the pair of the spec?
//!
//! Resistance, field per ampere and inductance are held against the spec. Where they differ, each fault that benches
//! are known for is given its best chance to explain all of them at once.

use crate::files::spec::{Measured, Reading};
use crate::pair::circuit;
use crate::pair::{Bench, Connection, Provenance};
use crate::physics::field::Assembly;
use crate::physics::{build_error, electrical};
use crate::{Error, Result};
use nalgebra::Vector3;
use serde::Serialize;

/// The answer to "is this still the pair of the spec?".
#[derive(Clone, Debug, Serialize)]
pub struct LessonCheck {
    /// What it was held against.
    pub provenance: Provenance,
    /// Title of the measurements.
    pub measured_title: String,
    /// Whether every measurement agrees with the spec.
    pub agrees: bool,
    /// Each measurement beside what the spec says.
    pub comparisons: Vec<Comparison>,
    /// What would explain a difference, likeliest first; empty where everything agrees.
    pub explanations: Vec<Explanation>,
}

/// One measurement beside what the spec says.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// What was measured.
    pub quantity: Quantity,
    /// The value measured, SI.
    pub measured: f64,
    /// What the spec says, SI.
    pub expected: f64,
    /// Standard uncertainty of their difference.
    pub standard_uncertainty: f64,
    /// Measured minus expected, in that uncertainty.
    pub difference_in_uncertainties: f64,
}

/// What can be measured before a lesson.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Resistance of the pair as connected, leads included.
    ResistanceOhm,
    /// Field at the centre per ampere.
    FieldTeslaPerAmpere,
    /// Inductance of the pair as connected.
    InductanceHenry,
}

/// Something that would explain the differences.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explanation {
    /// The fault.
    pub cause: &'static str,
    /// Whether it brings every measurement within two uncertainties.
    pub explains_everything: bool,
    /// Sum of the squared differences that it leaves, in uncertainties.
    pub chi_square: f64,
    /// What it would be, and what to look at.
    pub sentence: String,
}

/// Resistance, field per ampere, inductance.
type Triple = [f64; 3];

/// Agreement within so many standard uncertainties.
const AGREES_WITHIN: f64 = 2.0;
/// Relative standard uncertainties of what a spec without measured resistances and build tolerance says: wire diameter
/// within ±1 % (IEC 60317-0-1), a section and spacing measured to half a millimetre, inductance meters.
const EXPECTED_RELATIVE: Triple = [0.012, 0.005, 0.01];

/// Holds what was measured against the spec.
///
/// # Errors
/// None of resistance, field and inductance was measured.
pub fn lesson_check(bench: &Bench, measured: &Measured) -> Result<LessonCheck> {
    let readings = [measured.resistance_ohm, measured.field_tesla_per_ampere, measured.inductance_henry];
    if readings.iter().all(Option::is_none) {
        return Err(Error::value_with_hint(
            "nothing was measured that can be held against the spec",
            "measure the resistance, the field at one current or the inductance",
        ));
    }
    let check = Check { bench, readings, at_celsius: measured.resistance_at_celsius };
    let expected = check.expected(bench);
    let comparisons: Vec<Comparison> = check.comparisons(expected);
    let agrees = comparisons.iter().all(|it| it.difference_in_uncertainties.abs() <= AGREES_WITHIN);
    let mut explanations = if agrees { Vec::new() } else { check.explanations(expected) };
    let plain: f64 = comparisons.iter().map(|it| it.difference_in_uncertainties.powi(2)).sum();
    explanations.retain(|explanation| explanation.chi_square < 0.5 * plain);
    explanations.sort_by(|a, b| {
        b.explains_everything.cmp(&a.explains_everything).then(a.chi_square.total_cmp(&b.chi_square))
    });
    Ok(LessonCheck {
        provenance: Provenance::of(bench, None),
        measured_title: measured.title.clone(),
        agrees,
        comparisons,
        explanations,
    })
}

struct Check<'a> {
    bench: &'a Bench,
    readings: [Option<Reading>; 3],
    at_celsius: f64,
}

impl Check<'_> {
    /// What a bench says, its copper at the temperature of the measurement.
    fn expected(&self, bench: &Bench) -> Triple {
        let assembly = Assembly::of(bench);
        [
            circuit::circuit_resistance_ohm(bench, self.at_celsius),
            assembly.field_per_ampere(&Vector3::zeros()).z,
            electrical::inductances(bench, &assembly).pair_henry,
        ]
    }

    fn changed(&self, change: impl FnOnce(&mut Bench)) -> Triple {
        let mut bench = self.bench.clone();
        bench.set_coils(self.bench.coils());
        change(&mut bench);
        self.expected(&bench)
    }

    /// Standard uncertainty of measured minus expected.
    fn uncertainty(&self, quantity: usize, reading: &Reading, expected: f64, scale: f64) -> f64 {
        let measured_resistances = self.bench.coils().iter().all(|coil| coil.resistance.is_some());
        let relative = match quantity {
            0 if measured_resistances => 0.002,
            1 => build_error::field_constant_standard_uncertainty_tesla_per_ampere(self.bench)
                .map_or(EXPECTED_RELATIVE[1], |u| u / scale),
            _ => EXPECTED_RELATIVE[quantity],
        };
        // A fault may bring the expected value near nothing; its uncertainty stays a part of the spec's own value.
        reading.standard_uncertainty.hypot(relative * expected.abs().max(0.05 * scale))
    }

    fn comparisons(&self, expected: Triple) -> Vec<Comparison> {
        let quantities = [Quantity::ResistanceOhm, Quantity::FieldTeslaPerAmpere, Quantity::InductanceHenry];
        let spec = self.expected(self.bench).map(f64::abs);
        let of = |i: usize| {
            let reading = self.readings[i]?;
            let standard_uncertainty =
                self.uncertainty(i, &reading, expected[i], spec[i].max(f64::MIN_POSITIVE));
            Some(Comparison {
                quantity: quantities[i],
                measured: reading.value,
                expected: expected[i],
                standard_uncertainty,
                difference_in_uncertainties: (reading.value - expected[i]) / standard_uncertainty,
            })
        };
        (0..3).filter_map(of).collect()
    }

    fn explanation(&self, cause: &'static str, expected: Triple, sentence: String) -> Explanation {
        let left = self.comparisons(expected);
        Explanation {
            cause,
            explains_everything: left.iter().all(|it| it.difference_in_uncertainties.abs() <= AGREES_WITHIN),
            chi_square: left.iter().map(|it| it.difference_in_uncertainties.powi(2)).sum(),
            sentence,
        }
    }

    fn explanations(&self, spec: Triple) -> Vec<Explanation> {
        let mut all = vec![
            self.explanation(
                "coil connected backwards",
                self.changed(|bench| reverse(bench, 1)),
                "one coil is connected backwards: the two fields cancel at the centre; exchange its two leads".into(),
            ),
            self.explanation(
                "field reversed",
                [spec[0], -spec[1], spec[2]],
                "the field points the other way: supply leads or probe are the other way round".into(),
            ),
        ];
        all.extend(self.other_connection());
        all.extend(self.one_coil_alone(spec));
        all.extend(self.warm_or_contact(spec));
        all.extend(self.turns_missing(spec));
        all.extend(self.shorted_turns(spec));
        all.extend(self.spacing(spec));
        all
    }

    fn other_connection(&self) -> Option<Explanation> {
        let (other, cause, sentence) = match self.bench.connection {
            Connection::Series => (
                Connection::Parallel,
                "parallel for series",
                "the coils are in parallel, not in series: a quarter of the resistance, half the field per ampere",
            ),
            Connection::Parallel => (
                Connection::Series,
                "series for parallel",
                "the coils are in series, not in parallel: four times the resistance, twice the field per ampere",
            ),
        };
        Some(self.explanation(cause, self.changed(|bench| bench.connection = other), sentence.into()))
    }

    /// One coil carries nothing: bypassed in series, open in parallel.
    fn one_coil_alone(&self, spec: Triple) -> Option<Explanation> {
        let assembly = Assembly::of(self.bench);
        let own = electrical::inductances(self.bench, &assembly).self_henry[0];
        let leads = self.bench.lead_resistance_ohm.unwrap_or(0.0);
        let (resistance, field, sentence) = match self.bench.connection {
            Connection::Series => (
                0.5 * (spec[0] - leads) + leads,
                0.5 * spec[1],
                "only one coil carries current, the other is bypassed: look at the link between the coils",
            ),
            Connection::Parallel => (
                2.0 * (spec[0] - leads) + leads,
                spec[1],
                "only one coil carries current, the other is open: look at its leads; it makes the field per ampere of \
                 the pair, but not its uniformity",
            ),
        };
        Some(self.explanation("one coil alone", [resistance, field, own], sentence.into()))
    }

    fn warm_or_contact(&self, spec: Triple) -> Option<Explanation> {
        let measured = self.readings[0]?.value;
        let conductor = self.bench.winding.wire.conductor;
        let leads = self.bench.lead_resistance_ohm.unwrap_or(0.0);
        let at_20 = (spec[0] - leads) / conductor.resistance_ratio(self.at_celsius);
        let celsius =
            20.0 + ((measured - leads) / at_20 - 1.0) / conductor.resistance_coefficient_per_kelvin();
        let plausible = (-20.0..=180.0).contains(&celsius);
        plausible.then(|| {
            let more = measured - spec[0];
            let contact = if more > 0.0 {
                format!(
                    "; or {} of bad contact or long leads",
                    crate::units::display(more, crate::units::Dimension::Resistance, 2)
                )
            } else {
                String::new()
            };
            self.explanation(
                "copper at another temperature",
                [measured, spec[1], spec[2]],
                format!(
                    "the copper is at {celsius:.0} °C, not at {:.0} °C: let it come to room temperature{contact}",
                    self.at_celsius
                ),
            )
        })
    }

    /// Turns missing from both coils alike: resistance and field fall alike, inductance twice as fast.
    fn turns_missing(&self, spec: Triple) -> Option<Explanation> {
        let ratio = self.best_ratio(spec, [1.0, 1.0, 2.0]);
        let turns = self.bench.winding.turns;
        let missing = ((1.0 - ratio) * turns).round();
        let ratio = 1.0 - missing / turns;
        (missing != 0.0 && ratio > 0.3 && ratio < 2.0).then(|| {
            self.explanation(
                "other turns",
                [spec[0] * ratio, spec[1] * ratio, spec[2] * ratio * ratio],
                format!(
                    "{:.0} turns in each coil, not {turns:.0}: another pair, or a slip in the spec",
                    turns - missing
                ),
            )
        })
    }

    /// Turns of one coil short-circuited: they drop out of resistance and field, and pull the inductance down by more.
    fn shorted_turns(&self, spec: Triple) -> Option<Explanation> {
        let turns = self.bench.winding.turns;
        let ratio = self.best_ratio([spec[0], spec[1], f64::NAN], [1.0, 1.0, 0.0]);
        // Of one coil out of two, so twice the share; in parallel that coil also takes more of the current.
        let shorted = (2.0 * (1.0 - ratio) * turns).round();
        if self.bench.connection == Connection::Parallel || shorted < 1.0 || shorted >= turns {
            return None;
        }
        let ratio = 1.0 - 0.5 * shorted / turns;
        // A shorted turn is a closely coupled secondary: the inductance falls well below that of the turns left.
        let most = 0.9 * spec[2] * ratio * ratio;
        let inductance = self.readings[2].map_or(most, |reading| reading.value.min(most));
        Some(self.explanation(
            "shorted turns",
            [spec[0] * ratio, spec[1] * ratio, inductance],
            format!(
                "about {shorted:.0} turns of one coil are short-circuited: it warms unevenly and its inductance falls; \
                 compare the two coils with each other"
            ),
        ))
    }

    /// The ratio r for which r^p of each quantity agrees best.
    fn best_ratio(&self, spec: Triple, powers: Triple) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for i in 0..3 {
            let Some(reading) = self.readings[i] else { continue };
            let part = reading.value / spec[i];
            if powers[i] == 0.0 || part.is_nan() || part <= 0.0 {
                continue;
            }
            let relative = self.uncertainty(i, &reading, spec[i], spec[i].abs()) / spec[i].abs() / powers[i];
            sum += part.ln() / powers[i] / (relative * relative);
            weights += 1.0 / (relative * relative);
        }
        if weights > 0.0 { (sum / weights).exp() } else { 1.0 }
    }

    /// Another spacing, which the resistance does not feel.
    fn spacing(&self, spec: Triple) -> Option<Explanation> {
        let field = self.readings[1]?.value;
        let nominal = self.bench.spacing_m;
        let excess = |spacing_m: f64| self.changed(|bench| bench.spacing_m = spacing_m)[1] - field;
        let low = (0.5 * nominal).max(self.bench.winding.width_m);
        let found = crate::numeric::roots::brent_root(excess, low, 2.0 * nominal, 1e-6);
        if !found.converged() || spec[1] == 0.0 {
            return None;
        }
        let length = |si: f64| crate::units::display(si, crate::units::Dimension::Length, 4);
        Some(self.explanation(
            "wrong spacing",
            self.changed(|bench| bench.spacing_m = found.at),
            format!(
                "the coils stand {} apart, not {}: measure between their middles",
                length(found.at),
                length(nominal)
            ),
        ))
    }
}

fn reverse(bench: &mut Bench, coil: usize) {
    if let Some(coils) = &mut bench.as_built {
        coils[coil].sense = -coils[coil].sense;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Conductor;

    fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.width_m = 0.016;
        bench.winding.depth_m = 0.010;
        bench
    }

    /// What would be measured on a bench, with ordinary meters.
    fn measured_on(bench: &Bench) -> Measured {
        let check = Check { bench, readings: [None; 3], at_celsius: 20.0 };
        let [resistance, field, inductance] = check.expected(bench);
        let reading = |value: f64, relative: f64| {
            Some(Reading { value, standard_uncertainty: relative * value.abs().max(1e-9) })
        };
        Measured {
            title: "Monday".into(),
            digest: String::new(),
            connection: None,
            resistance_ohm: reading(resistance, 0.003),
            resistance_at_celsius: 20.0,
            overall_wire_diameter_m: None,
            inner_diameter_m: None,
            outer_diameter_m: None,
            width_m: None,
            spacing_m: None,
            field_tesla_per_ampere: reading(field, 0.004),
            inductance_henry: reading(inductance, 0.01),
            conductor_mass_kg: None,
            conductor: Conductor::Copper,
        }
    }

    fn causes(spec: &Bench, measured: &Measured) -> Vec<&'static str> {
        let found = lesson_check(spec, measured).unwrap();
        assert!(!found.agrees);
        found.explanations.iter().filter(|it| it.explains_everything).map(|it| it.cause).collect()
    }

    #[test]
    fn a_sound_pair_agrees_and_needs_no_explanation() {
        let found = lesson_check(&bench(), &measured_on(&bench())).unwrap();
        assert!(found.agrees && found.explanations.is_empty() && found.comparisons.len() == 3);
    }

    #[test]
    fn each_fault_is_named_first_when_it_is_there() {
        let with = |change: &dyn Fn(&mut Bench)| {
            let mut faulty = bench();
            faulty.as_built = Some(faulty.coils());
            change(&mut faulty);
            causes(&bench(), &measured_on(&faulty))
        };
        assert_eq!(with(&|bench| reverse(bench, 0))[0], "coil connected backwards");
        assert_eq!(with(&|bench| bench.connection = Connection::Parallel)[0], "parallel for series");
        assert_eq!(with(&|bench| bench.spacing_m = 0.165)[0], "wrong spacing");
        let fewer = |bench: &mut Bench| {
            for coil in bench.as_built.iter_mut().flatten() {
                coil.turns -= 10.0;
            }
        };
        assert_eq!(with(&fewer)[0], "other turns");
    }

    #[test]
    fn a_warm_coil_raises_the_resistance_alone() {
        let mut measured = measured_on(&bench());
        let ratio = Conductor::Copper.resistance_ratio(55.0);
        measured.resistance_ohm.as_mut().unwrap().value *= ratio;
        let found = lesson_check(&bench(), &measured).unwrap();
        assert_eq!(found.explanations[0].cause, "copper at another temperature");
        assert!(found.explanations[0].sentence.contains("at 55 °C"), "{}", found.explanations[0].sentence);
    }

    #[test]
    fn shorted_turns_pull_the_inductance_down_by_more_than_their_number() {
        let mut measured = measured_on(&bench());
        let ratio = 1.0 - 0.5 * 8.0 / 130.0;
        measured.resistance_ohm.as_mut().unwrap().value *= ratio;
        measured.field_tesla_per_ampere.as_mut().unwrap().value *= ratio;
        measured.inductance_henry.as_mut().unwrap().value *= 0.6;
        assert_eq!(causes(&bench(), &measured), ["shorted turns"]);
    }

    #[test]
    fn nothing_measured_is_asked_for() {
        let mut measured = measured_on(&bench());
        (measured.resistance_ohm, measured.field_tesla_per_ampere, measured.inductance_henry) =
            (None, None, None);
        let error = lesson_check(&bench(), &measured).unwrap_err();
        assert!(error.hint().unwrap().contains("resistance"), "{error}");
    }
}
