//! Which option? Pairs side by side, against what the lessons need.
//!
//! Every option is looked at as built where its spec says so, with the tube, the supply and the room of the needs where
//! they state any, so that all are asked the same. There is no single score: a need met, missed or too close to tell is told
//! on its own, and an option passes when all are met.
//! What is to be held for a time is judged with the copper as warm as it is at the end of that time, as `size` does.

#[cfg(feature = "paper")]
pub mod files;
mod needs;
mod notes;
#[cfg(feature = "paper")]
pub mod picture;
mod record;
mod uncertainty;
mod verdict;
#[cfg(feature = "paper")]
pub mod words;

pub use record::{
    Comparison, Need, NeedResult, NeedVerdict, OptionVerdict, PairOption, Question, StandardUncertainties,
    Tightest,
};

use crate::files::spec::Wanted;
use crate::judgement::limit::Rule;
use crate::pair::{Bench, ResistanceContradiction, Supply};
use crate::physics::beam;
use crate::physics::beam::Electron;
use crate::physics::field::Assembly;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::expansion::WarmField;
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::{Carried, HeatedPair, HeldFor, Limits};
use crate::physics::safety::SafetyFigures;
use crate::questions::sheet::Sheet;
use crate::questions::words::notes::held_words;
use crate::questions::{sheet, size as sizing};
use crate::{Error, Result};
use needs::held_against;
use notes::notes;
use rayon::prelude::*;
use std::path::PathBuf;
use uncertainty::{Figures, standard_uncertainties};

/// At most so many options on one page.
const MOST_OPTIONS: usize = 12;

/// An option as it is given: a spec file, read.
#[derive(Clone, Debug)]
pub struct SpecFile {
    /// Where it was read, to name it by.
    pub path: PathBuf,
    /// What it says.
    pub bench: Bench,
}

/// What is asked about the options.
#[derive(Clone, Debug, Default)]
pub struct Request<'a> {
    /// What they are held against.
    pub needs: Option<&'a Wanted>,
    /// How a value near a limit is decided.
    pub decision: Rule,
    /// The date to print, if any.
    pub date: Option<String>,
}

/// Holds options against each other and against the needs.
///
/// # Errors
/// Fewer than two options, more than twelve, or one that cannot be computed, which is named ([`Error::InFile`]).
pub fn compare(specs: &[SpecFile], request: &Request<'_>) -> Result<Comparison> {
    let Request { needs, decision, ref date } = *request;
    if !(2..=MOST_OPTIONS).contains(&specs.len()) {
        return Err(Error::Usage {
            message: format!(
                "{} given, and it takes 2 to {MOST_OPTIONS} to compare",
                match specs.len() {
                    1 => "1 spec was".into(),
                    count => format!("{count} specs were"),
                }
            ),
            hint: Some(
                "name the specs one after the other: coilwright compare ONE.json OTHER.json --out DIR".into(),
            ),
        });
    }
    let largest_field_tesla = needs
        .filter(|needs| needs.largest_field_tesla.is_some() || needs.tube.is_some())
        .and_then(|needs| sizing::fields_needed(needs).ok())
        .map(|(largest, _)| largest);
    let held_for = HeldFor::of(needs);
    let mut options = specs
        .par_iter()
        .enumerate()
        .map(|(number, spec)| {
            option(number, &asked_alike(&spec.bench, needs), largest_field_tesla, needs)
                .map_err(|error| Error::InFile { path: spec.path.clone(), error: Box::new(error) })
        })
        .collect::<Vec<Result<PairOption>>>()
        // The first option's error, whichever thread is first.
        .into_iter()
        .collect::<Result<Vec<_>>>()?;
    let needs_met = match needs {
        Some(needs) => held_against(&options, needs, largest_field_tesla, decision)?,
        None => Vec::new(),
    };
    verdict::judge(&mut options, &needs_met);
    Ok(Comparison {
        program: concat!("coilwright ", env!("CARGO_PKG_VERSION")).into(),
        needs_title: needs.map(|needs| needs.title.clone()),
        needs_digest: needs.map(|needs| needs.digest.clone()),
        largest_field_tesla,
        date: date.clone(),
        held: held_words(held_for),
        decision,
        cheapest_that_passes: verdict::cheapest_that_passes(&options),
        notes: notes(&options, needs.is_some(), held_for, decision),
        options,
        needs: needs_met,
    })
}

/// The bench with tube, supply and room of the needs; a supply limit that the needs leave out stays the bench's own.
fn asked_alike(bench: &Bench, needs: Option<&Wanted>) -> Bench {
    let mut asked = bench.clone();
    let Some(needs) = needs else { return asked };
    if needs.tube.is_some() {
        asked.tube.clone_from(&needs.tube);
    }
    if let Some(needed) = needs.supply {
        let own = asked.supply;
        asked.supply = Some(Supply {
            voltage_limit_volt: needed.voltage_limit_volt.or(own.and_then(|own| own.voltage_limit_volt)),
            current_limit_ampere: needed
                .current_limit_ampere
                .or(own.and_then(|own| own.current_limit_ampere)),
            ..needed
        });
    }
    if let (Some(room), Some(celsius)) =
        (&mut asked.room, needs.room.as_ref().and_then(|room| room.temperature_celsius))
    {
        room.temperature_celsius = Some(celsius);
    } else if asked.room.is_none() {
        asked.room.clone_from(&needs.room);
    }
    asked
}

fn option(
    number: usize,
    bench: &Bench,
    field_needed: Option<f64>,
    needs: Option<&Wanted>,
) -> Result<PairOption> {
    let sheet = sheet::sheet(bench, None)?;
    let constant = sheet.field_constant_tesla_per_ampere;
    let heated = HeatedPair::of(bench)?;
    let held_for = HeldFor::of(needs);
    let limit = |of: fn(&Supply) -> Option<f64>| bench.supply.as_ref().and_then(of);
    let largest_current = heated.largest_held_ampere(
        limit(|supply| supply.current_limit_ampere),
        limit(|supply| supply.voltage_limit_volt),
        held_for,
    )?;
    let largest_field = largest_current.map(|current| current * constant.abs());
    let working = field_needed.map(|field| field / constant.abs()).or(largest_current);
    let coils = bench.coils();
    let carried_s = needs.and_then(|needs| needs.time_at_largest_current_s);
    let mut followed = Followed { heated: &heated, known: Vec::new() };
    // The surface and the drift count for ever where no time is wished, the volts from switching on.
    let for_ever = carried_s.map_or(HeldFor::Ever, HeldFor::Seconds);
    let (mut surface, mut warm, mut drift) = (None, None, None);
    if let Some(current) = working {
        let held = Drive::held(current);
        surface = followed.carried(&held, for_ever)?.map(|carried| carried.moment.hottest_surface_celsius());
        warm = followed.carried(&held, held_for)?;
        let drive = heated.circuit.drive(bench.supply.as_ref(), current, heated.room_celsius);
        let field = WarmField::of(bench, heated.room_celsius);
        drift = followed
            .carried(&drive, for_ever)?
            .and_then(|carried| field.drift_fraction(&heated.circuit, &drive, &carried.state));
    }
    let continuous = continuous(bench, &heated, &sheet, needs);
    let figures = Figures {
        field_constant_tesla_per_ampere: constant,
        largest_field_tesla: largest_field,
        voltage_limited: largest_current
            .zip(limit(|supply| supply.current_limit_ampere))
            .is_none_or(|(largest, limit)| largest < limit * (1.0 - 1e-6)),
        working_current_ampere: working,
        voltage_volt: warm.map(|warm| warm.moment.currents.supply_volt),
        copper_celsius: warm.map(|warm| warm.copper_celsius()),
        surface_celsius: surface,
        worst_at_m: sheet.beam.map(|beam| beam.worst_at_m),
        room_celsius: heated.room_celsius,
    };
    Ok(PairOption {
        label: char::from(b'A' + number as u8).to_string(),
        title: bench.title.clone(),
        digest: bench.digest.clone(),
        field_constant_tesla_per_ampere: constant,
        field_constant_standard_uncertainty_tesla_per_ampere: sheet
            .field_constant_standard_uncertainty_tesla_per_ampere,
        largest_current_ampere: largest_current,
        largest_field_tesla: largest_field,
        smallest_beam_radius_m: smallest_beam_radius_m(bench, largest_field)?,
        largest_beam_radius_m: bench.tube_with_gun().ok().and_then(|tube| tube.largest_radius_in_bulb_m(1.0)),
        worst_beam_deviation: sheet.beam.map(|beam| beam.worst_deviation),
        charge_to_mass_bias_fraction: bias_over_beam(bench),
        working_current_ampere: working,
        copper_temperature_celsius: warm.map(|warm| warm.copper_celsius()),
        voltage_volt: warm.map(|warm| warm.moment.currents.supply_volt),
        power_watt: warm.map(|warm| warm.moment.currents.supply_volt * warm.moment.currents.supply_ampere),
        continuous_current_ampere: continuous.continuous_current_ampere,
        limited_by: continuous.limited_by,
        continuous_field_tesla: continuous.continuous_current_ampere * constant.abs(),
        warm_up_drift_fraction: drift,
        surface_temperature_celsius: surface,
        conductor_mass_kg: sheet.conductor_mass_kg,
        outer_diameter_m: coils
            .iter()
            .map(|coil| 2.0 * coil.mean_radius_m + coil.depth_m)
            .fold(0.0, f64::max),
        overall_length_m: bench.spacing_m + 0.5 * (coils[0].width_m + coils[1].width_m),
        room_for_bulb_m: bench.tube.as_ref().map(|tube| bench.room_for_bulb_m(&tube.bulb_centre_m)),
        price: bench.price.as_ref().and_then(|price| price.amount),
        currency: bench.price.as_ref().and_then(|price| price.currency.clone()),
        missing: missing_parts(bench),
        standard_uncertainties: standard_uncertainties(bench, &figures),
        safety: SafetyFigures {
            reliable_continuous_current_ampere: Some(
                sheet.continuous_current_range_ampere[0].min(continuous.continuous_current_ampere),
            ),
            caution_distance_m: sheet.caution_distance_m,
        },
        verdict: None,
        tightest: None,
        questions: questions(bench),
    })
}

/// The limits of the continuous current, the needs' surface temperature among them.
fn continuous(bench: &Bench, heated: &HeatedPair, sheet: &Sheet, needs: Option<&Wanted>) -> Limits {
    match needs.and_then(|needs| needs.surface_temperature_limit_celsius) {
        None => sheet.heating.clone(),
        own_surface_celsius => {
            let temperatures = TemperatureLimits { own_surface_celsius, ..TemperatureLimits::of(bench) };
            heated.limits(&temperatures, bench.supply.as_ref())
        }
    }
}

/// What its spec leaves to be asked.
fn questions(bench: &Bench) -> Vec<Question> {
    let mut all: Vec<Question> =
        ResistanceContradiction::of(bench).into_iter().map(Question::WhichResistance).collect();
    match &bench.price {
        Some(price) if price.amount.is_some() && price.currency.is_none() => all.push(Question::Currency),
        Some(price) if price.amount.is_some() => {}
        _ => all.push(Question::Price),
    }
    if bench.build_tolerance.is_none() {
        all.push(Question::BuildTolerance);
    }
    all
}

/// Parts that some figure needs and the bench lacks.
fn missing_parts(bench: &Bench) -> Vec<&'static str> {
    let part = |error: Option<Error>| match error {
        Some(Error::MissingPart { part, .. }) => Some(part),
        _ => None,
    };
    let mut parts: Vec<_> = [
        part(bench.current_limit_ampere().err()),
        part(bench.voltage_limit_volt().err()),
        part(bench.bulb().err()),
        part(bench.tube_with_beam().err()),
        part(bench.gun_voltage_volt().err()),
    ]
    .into_iter()
    .flatten()
    .collect();
    parts.dedup();
    parts
}

fn smallest_beam_radius_m(bench: &Bench, largest_field: Option<f64>) -> Result<Option<[f64; 2]>> {
    let voltages = bench.gun_voltage_volt().ok();
    let (Some([low, high]), Some(field)) = (voltages, largest_field) else { return Ok(None) };
    Ok(Some([
        Electron::after(low)?.radius_in_uniform_field_m(field),
        Electron::after(high)?.radius_in_uniform_field_m(field),
    ]))
}

fn bias_over_beam(bench: &Bench) -> Option<[f64; 2]> {
    let tube = bench.tube_with_beam().ok()?;
    let [smallest, largest] = tube.beam_radius_m?;
    let assembly = Assembly::of(bench);
    let biases: Vec<f64> = [smallest, 0.5 * (smallest + largest), largest]
        .into_iter()
        .filter_map(|radius| beam::effective_field_ratio(&assembly, &tube, radius).ok())
        .map(|ratio| ratio * ratio - 1.0)
        .collect();
    let low = biases.iter().copied().fold(f64::INFINITY, f64::min);
    let high = biases.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (biases.len() == 3).then_some([low, high])
}

/// The pair followed in time, each question once.
struct Followed<'a> {
    heated: &'a HeatedPair,
    known: Vec<(Drive, HeldFor, Option<Carried>)>,
}

impl Followed<'_> {
    /// [`HeatedPair::carried`].
    fn carried(&mut self, drive: &Drive, held_for: HeldFor) -> Result<Option<Carried>> {
        let same = |known: &&(Drive, HeldFor, Option<Carried>)| (&known.0, known.1) == (drive, held_for);
        if let Some((_, _, carried)) = self.known.iter().find(same) {
            return Ok(*carried);
        }
        let carried = self.heated.carried(drive, held_for)?;
        self.known.push((*drive, held_for, carried));
        Ok(carried)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::{read_bench, wanted_from_text};
    use crate::physics::heat::limits::CurrentLimit;

    fn compare(specs: &[SpecFile], needs: Option<&Wanted>, decision: Rule) -> Result<Comparison> {
        super::compare(specs, &Request { needs, decision, date: None })
    }

    fn example(name: &str) -> SpecFile {
        let path = PathBuf::from(format!("{}/coil-specs/{name}.json", env!("CARGO_MANIFEST_DIR")));
        SpecFile { bench: read_bench(&path).unwrap(), path }
    }

    fn examples() -> Vec<SpecFile> {
        ["quote-parallel", "quote-thick", "window-bench"].map(example).into()
    }

    fn needs() -> Wanted {
        wanted_from_text(
            "needs.json",
            r#"{
                "title": "Needs", "largest_field": "1.5 mT", "beam_deviation": "0.5 %",
                "supply": { "voltage_limit": "30 V", "current_limit": "2.8 A" },
                "surface_temperature_limit": "50 degC", "time_at_largest_current": "20 min"
            }"#,
        )
        .unwrap()
    }

    #[test]
    fn options_stand_beside_each_other_with_every_need_judged_on_its_own() {
        let found = compare(&examples(), Some(&needs()), Rule::default()).unwrap();
        assert_eq!(found.options.len(), 3);
        assert_eq!(found.options[1].label, "B");
        let names: Vec<&str> = found.needs.iter().map(|need| need.name).collect();
        assert_eq!(
            names,
            [
                "largest field",
                "current for that field",
                "voltage for that field",
                "beam deviation",
                "surface temperature"
            ]
        );
        for need in &found.needs {
            for (result, option) in need.results.iter().zip(&found.options) {
                assert_eq!(result.label, option.label);
                assert_eq!(
                    result.missed_by.is_some(),
                    result.met == Some(false) && result.found_si.is_some()
                );
            }
        }
        // 1.5 mT over the constant is the working current.
        for option in &found.options {
            let current = option.working_current_ampere.unwrap();
            approx::assert_relative_eq!(
                current * option.field_constant_tesla_per_ampere.abs(),
                1.5e-3,
                max_relative = 1e-12
            );
        }
    }

    #[test]
    fn a_field_that_the_supply_holds_only_while_the_copper_is_cold_is_missed() {
        let text = |carried: &str| {
            format!(
                r#"{{ "title": "Held", "largest_field": "2.17 mT", {carried}
                     "supply": {{ "voltage_limit": "26 V", "current_limit": "2.8 A" }},
                     "room": {{ "temperature": "21.5 degC" }} }}"#
            )
        };
        let judged = |carried: &str| {
            let needs = wanted_from_text("needs.json", &text(carried)).unwrap();
            let both = [example("quote-used"), example("quote-parallel")];
            let found = compare(&both, Some(&needs), Rule::Simple).unwrap();
            let met = |name: &str| found.needs.iter().find(|need| need.name == name).unwrap().results[0].met;
            (met("largest field"), met("voltage for that field"), found)
        };
        // 25.3 V cold.
        let (field, voltage, cold) = judged("");
        assert_eq!((field, voltage), (Some(true), Some(true)));
        assert_eq!(cold.held, None);
        let (field, voltage, warm) = judged(r#""time_at_largest_current": "15 min","#);
        assert_eq!((field, voltage), (Some(false), Some(false)));
        assert_eq!(warm.held.as_deref(), Some("for 15.0 min"));
        assert!(warm.needs[0].wanted.ends_with("mT for 15.0 min"), "{}", warm.needs[0].wanted);
        // The copper's resistance grows by 0.393 % a kelvin over that at 20 °C; the leads' 0.15 Ω stay.
        let [cold, warm] = [&cold.options[0], &warm.options[0]];
        let current = cold.working_current_ampere.unwrap();
        let ratio =
            (warm.voltage_volt.unwrap() - 0.15 * current) / (cold.voltage_volt.unwrap() - 0.15 * current);
        let celsius = warm.copper_temperature_celsius.unwrap();
        assert!(celsius > 35.0 && celsius < 80.0, "{celsius} °C");
        // Two coils of a used pair are not quite alike: the hotter one stands for both within a kelvin.
        let expected = (1.0 + 0.00393 * (celsius - 20.0)) / (1.0 + 0.00393 * 1.5);
        assert!((ratio - expected).abs() < 0.004, "{ratio}, wanted {expected}");
        assert!(warm.largest_field_tesla < cold.largest_field_tesla);
    }

    #[test]
    fn a_quote_that_contradicts_itself_is_doubtful_and_asked_about_and_never_met() {
        let mut specs = examples();
        let stated = crate::pair::MeasuredResistance { ohm: 1.1, at_celsius: 20.0 };
        let mut coils = specs[0].bench.coils();
        coils[0].resistance = Some(stated);
        coils[1].resistance = Some(stated);
        specs[0].bench.as_built = Some(coils);
        let found = compare(&specs, Some(&needs()), Rule::default()).unwrap();
        assert!(matches!(found.options[0].verdict, Some(OptionVerdict::Doubtful | OptionVerdict::Fails)));
        assert!(matches!(found.options[0].questions[0], Question::WhichResistance(_)));
        for name in ["voltage for that field", "surface temperature", "largest field"] {
            let need = found.needs.iter().find(|need| need.name == name).unwrap();
            assert_eq!(need.results[0].verdict, NeedVerdict::Doubtful, "{name}");
        }
        assert_ne!(found.cheapest_that_passes.as_deref(), Some("A"));
    }

    #[test]
    fn a_surface_just_below_its_limit_is_too_close_to_tell_and_met_by_simple_acceptance() {
        let spec = [example("window-bench"), example("quote-thick")];
        let found = compare(&spec, Some(&needs()), Rule::default()).unwrap();
        let celsius = found.options[0].surface_temperature_celsius.unwrap();
        let mut needs = needs();
        needs.surface_temperature_limit_celsius = Some(celsius + 1.0);
        let verdict = |rule| {
            let found = compare(&spec, Some(&needs), rule).unwrap();
            let surface = found.needs.iter().find(|need| need.name == "surface temperature").unwrap();
            let continuous = found.options[0].continuous_current_ampere;
            (surface.results[0].verdict, continuous)
        };
        let (guarded, tight) = verdict(Rule::default());
        assert_eq!(guarded, NeedVerdict::TooCloseToTell);
        assert_eq!(verdict(Rule::Simple).0, NeedVerdict::Met);
        // The needs' own limit binds the continuous current as well.
        needs.surface_temperature_limit_celsius = Some(35.0);
        let found = compare(&spec, Some(&needs), Rule::default()).unwrap();
        assert!(found.options[0].continuous_current_ampere < tight);
        assert_eq!(found.options[0].limited_by, CurrentLimit::OwnSurface);
    }

    #[test]
    fn the_largest_circle_just_touches_the_bulb() {
        let bench = &examples()[2].bench;
        let tube = bench.tube_with_gun().unwrap();
        let radius = tube.largest_radius_in_bulb_m(1.0).unwrap();
        let farthest = (0..720)
            .map(|i| {
                (tube.circle_point_m(radius, f64::from(i) * 0.5f64.to_radians()) - tube.bulb_centre_m).norm()
            })
            .fold(0.0, f64::max);
        approx::assert_relative_eq!(farthest, tube.bulb_radius_m.unwrap(), max_relative = 1e-4);
    }

    #[test]
    fn one_option_is_none_and_odd_prices_are_said() {
        let mut benches = examples();
        let error = compare(&benches[..1], None, Rule::default()).unwrap_err();
        assert_eq!(error.exit_status(), 2);
        assert_eq!(error.to_string(), "1 spec was given, and it takes 2 to 12 to compare");
        benches[0].bench.price =
            Some(crate::pair::Price { amount: Some(300.0), currency: Some("GBP".into()) });
        benches[1].bench.price = None;
        benches.push(benches[1].clone());
        let notes = compare(&benches, None, Rule::default()).unwrap().notes.join("; ");
        assert!(notes.contains("no price is stated for B, D"), "{notes}");
        assert!(notes.contains("B and D are the same file"), "{notes}");
        assert_eq!(notes.contains("different currencies"), benches[2].bench.price.is_some(), "{notes}");
    }
}
