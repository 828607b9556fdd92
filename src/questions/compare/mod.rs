//! Which option? Pairs side by side, against what the lessons need.
//!
//! Every option is computed as built where its file says so, and with the tube, supply and room of the needs if they
//! state any: all options face the same question. There is no single score. Each need is reported as met, missed or too
//! close to tell, and an option passes if all are met. Whatever must be held for a time is judged with the copper as
//! warm as at the end of that time, as `size` does.
//!
//! A quote may be incomplete. The rest of the quote bounds what it leaves out, if it can, and the figures are then
//! ranges. A figure that depends on an unbounded gap is left out. A quote that contradicts itself leads to a question.

mod bounds;
mod contradiction;
mod figures;
#[cfg(feature = "paper")]
pub mod files;
mod fold;
mod gap_end;
mod need;
mod need_kind;
mod needs;
mod note;
mod notes;
mod option;
#[cfg(feature = "paper")]
pub mod picture;
mod question;
mod record;
mod sentences;
mod terms;
mod uncertainty;
mod unfinished;
mod verdict;
mod wire;
#[cfg(feature = "paper")]
pub mod words;

pub use bounds::Ground;
pub use contradiction::{Contradiction, Property};
pub use gap_end::GapEnd;
pub use need::{
    Enough, Found, GuardBand, Margin, Measure, Miss, Need, NeedResult, NeedVerdict, Needed, OpenTerm,
};
pub use need_kind::NeedKind;
pub use note::Note;
pub use question::Question;
pub use record::{Comparison, OpenGap, OptionVerdict, PairOption, StandardUncertainties, Tightest};
pub use wire::NamedWire;

use crate::files::spec::{Quote, Wanted};
use crate::judgement::limit::Rule;
use crate::numeric::calendar::Day;
use crate::pair::{Offer, PROGRAM};
use crate::questions::size as sizing;
use crate::units::inert;
use crate::{Error, Result};
use fold::Offered;
use needs::held_against;
use notes::notes;
use rayon::prelude::*;
use std::path::PathBuf;

/// Most options on one page.
const MOST_OPTIONS: usize = 12;

/// A quote as given: a complete or incomplete spec.
#[derive(Clone, Debug)]
pub struct QuoteFile {
    /// The path of its file, from which the option gets its name.
    pub path: PathBuf,
    /// What it says.
    pub quote: Quote,
}

/// What is asked about the options.
#[derive(Clone, Debug, Default)]
pub struct Request<'a> {
    /// What they must meet.
    pub needs: Option<&'a Wanted>,
    /// How a value near a limit is decided.
    pub decision: Rule,
    /// The date to print, if any.
    pub date: Option<Day>,
}

/// Why no pair fits a quote, whatever fills its gaps; empty if one may.
///
/// # Errors
/// A quote that cannot be read with its gaps filled.
pub fn why_impossible(quote: &Quote) -> Result<Vec<String>> {
    Ok(match unfinished::meant(quote)? {
        unfinished::Meant::Nothing(problems) => problems,
        unfinished::Meant::Pairs(_) | unfinished::Meant::Untold => Vec::new(),
    })
}

/// Compares options with each other and with the needs.
///
/// # Errors
/// No option, more than twelve, or one that cannot be computed, which is named ([`Error::InFile`]).
pub fn compare(quotes: &[QuoteFile], request: &Request<'_>) -> Result<Comparison> {
    let Request { needs, decision, date } = *request;
    if !(1..=MOST_OPTIONS).contains(&quotes.len()) {
        return Err(Error::Usage {
            message: format!(
                "{} files were given, and it takes 1 to {MOST_OPTIONS} to compare",
                quotes.len()
            ),
            hint: Some(
                "name the files one after the other: coilwright compare ONE.json OTHER.json --out DIR".into(),
            ),
        });
    }
    let largest_field_tesla = needs
        .filter(|needs| needs.largest_field_tesla.is_some() || needs.tube.is_some())
        .and_then(|needs| sizing::fields_needed(needs).ok())
        .map(|(largest, _)| largest);
    let held_for = sizing::wished_holding(needs);
    let purchase = needs.and_then(|needs| needs.purchase.as_ref());
    let offers: Vec<&Offer> = quotes.iter().map(|file| &file.quote.offer).collect();
    let currency = terms::common_currency(&offers, purchase);
    let offered = quotes
        .par_iter()
        .zip(names(quotes))
        .map(|(file, name)| {
            Offered::of(name, &file.quote, largest_field_tesla, needs, date)
                .map_err(|error| Error::InFile { path: file.path.clone(), error: Box::new(error) })
        })
        .collect::<Vec<Result<Offered>>>()
        // Collected in order, so that the first option's error is returned whichever thread ends first.
        .into_iter()
        .collect::<Result<Vec<_>>>()?;
    let mut options: Vec<PairOption> = offered.iter().map(Offered::folded).collect();
    for (option, file) in options.iter_mut().zip(quotes) {
        option.cost = terms::cost(&file.quote.offer, currency.as_deref(), purchase);
    }
    let needs_met = match needs {
        Some(needs) => held_against(&offered, &options, needs, largest_field_tesla, decision)?,
        None => Vec::new(),
    };
    verdict::judge(&mut options, &needs_met);
    Ok(Comparison {
        program: PROGRAM.into(),
        needs_title: needs.map(|needs| needs.title.clone()),
        needs_digest: needs.map(|needs| needs.digest.clone()),
        largest_field_tesla,
        date,
        held: held_for,
        decision,
        cheapest_that_passes: verdict::cheapest_that_passes(&options),
        notes: notes(&options, needs, currency.as_deref(), held_for, decision),
        currency,
        options,
        needs: needs_met,
    })
}

/// The names of the options: their file names without extension, or their titles where several files have one name but
/// not one title, as forms do that were sent back by several suppliers. A repeated name gets the option's number appended.
pub fn names(quotes: &[QuoteFile]) -> Vec<String> {
    let stem = |file: &QuoteFile| {
        let stem = file.path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        inert::line(&stem.unwrap_or_else(|| "quote".into())).into_owned()
    };
    let stems: Vec<String> = quotes.iter().map(stem).collect();
    let title = |file: &QuoteFile| inert::line(&file.quote.title).trim().to_owned();
    let titles: Vec<String> = quotes.iter().map(title).collect();
    let mut taken: Vec<String> = Vec::new();
    for (number, title) in titles.iter().enumerate() {
        let of_one_name = || stems.iter().zip(&titles).filter(|(stem, _)| **stem == stems[number]);
        let is_told_by_title = of_one_name().filter(|(_, it)| *it == title).count() == 1;
        let by_title = of_one_name().count() > 1 && is_told_by_title && !title.is_empty();
        let plain = if by_title { title } else { &stems[number] }.clone();
        let name = if taken.contains(&plain) { format!("{plain} ({})", number + 1) } else { plain };
        taken.push(name);
    }
    taken
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Conductor;
    use crate::files::spec::{read_bench, wanted_from_text};
    use crate::pair::Bench;
    use crate::physics::heat::HeldFor;
    use crate::physics::heat::limits::CurrentLimit;
    use crate::questions::words::notes::told;

    /// A bench with the name of its file.
    #[derive(Clone)]
    struct Named {
        name: &'static str,
        bench: Bench,
    }

    fn compare(specs: &[Named], needs: Option<&Wanted>, decision: Rule) -> Result<Comparison> {
        let file = |it: &Named| QuoteFile { path: it.name.into(), quote: Quote::of(&it.bench).unwrap() };
        let quotes: Vec<QuoteFile> = specs.iter().map(file).collect();
        super::compare(&quotes, &Request { needs, decision, date: None })
    }

    fn example(name: &'static str) -> Named {
        let path = format!("{}/coil-specs/{name}.json", env!("CARGO_MANIFEST_DIR"));
        Named { bench: read_bench(path).unwrap(), name }
    }

    fn examples() -> Vec<Named> {
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
        assert_eq!(found.options[1].label, "quote-thick");
        let names: Vec<&str> = found.needs.iter().map(|need| need.name.words()).collect();
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
                current * option.field_constant_tesla_per_ampere.unwrap().abs(),
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
            let met = |name: &str| {
                found.needs.iter().find(|need| need.name.words() == name).unwrap().results[0].met
            };
            (met("largest field"), met("voltage for that field"), found)
        };
        // 25.3 V cold.
        let (field, voltage, cold) = judged("");
        assert_eq!((field, voltage), (Some(true), Some(true)));
        assert_eq!(cold.held, HeldFor::SwitchOn);
        let (field, voltage, warm) = judged(r#""time_at_largest_current": "15 min","#);
        assert_eq!((field, voltage), (Some(false), Some(false)));
        assert_eq!(warm.held, HeldFor::Seconds(900.0));
        assert!(warm.needs[0].wanted.to_string().ends_with("mT for 15.0 min"), "{}", warm.needs[0].wanted);
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
            let need = found.needs.iter().find(|need| need.name.words() == name).unwrap();
            assert_eq!(need.results[0].verdict, NeedVerdict::Doubtful, "{name}");
        }
        assert_ne!(found.cheapest_that_passes.as_deref(), Some("quote-parallel"));
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
            let surface = found.needs.iter().find(|need| need.name == NeedKind::SurfaceTemperature).unwrap();
            let continuous = found.options[0].continuous_current_ampere.unwrap();
            (surface.results[0].verdict, continuous)
        };
        let (guarded, tight) = verdict(Rule::default());
        assert_eq!(guarded, NeedVerdict::TooCloseToTell);
        assert_eq!(verdict(Rule::Simple).0, NeedVerdict::Met);
        // The needs' own limit binds the continuous current as well.
        needs.surface_temperature_limit_celsius = Some(35.0);
        let found = compare(&spec, Some(&needs), Rule::default()).unwrap();
        assert!(found.options[0].continuous_current_ampere.unwrap() < tight);
        assert_eq!(found.options[0].limited_by, Some(CurrentLimit::OwnSurface));
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
    fn an_open_conductor_is_the_one_that_the_rest_of_the_quote_determines() {
        let asked = |stated: &str| {
            let text = format!(
                r#"{{ "title": "Open", "spacing": "158 mm", "connection": "parallel", {stated}
                     "price": {{ "amount": 300, "currency": "EUR" }},
                     "winding": {{ "mean_radius": "158 mm", "width": "25 mm", "depth": "12 mm", "turns": 300,
                                   "wire": {{ "size": "0.9 mm", "build": "grade 2" }} }} }}"#
            );
            let quote = crate::files::spec::quote_from_text("open.json", &text).unwrap();
            let file = QuoteFile { path: "open.json".into(), quote };
            let option = super::compare(&[file], &Request::default()).unwrap().options.remove(0);
            assert!(!option.questions.iter().any(Question::is_contradiction), "{:?}", option.questions);
            let of_conductor = option.questions.iter().find(|it| matches!(it, Question::Conductor { .. }));
            (of_conductor.cloned(), option.conductor_mass_kg.unwrap())
        };
        // 300 turns are 297.8 m of 0.6362 mm². Of aluminium, 0.0280 Ω mm²/m and 2700 kg/m³: 13.1 Ω a coil and 1.023 kg a pair;
        // of copper, 1/58 Ω mm²/m and 8890 kg/m³: 8.07 Ω and 3.368 kg.
        let (question, mass) = asked(r#""stated": { "resistance": "6.55 ohm", "copper_mass": "1.024 kg" },"#);
        assert_eq!(question, Some(Question::Conductor { taken: Conductor::Aluminium, follows: true }));
        assert!((mass - 1.023).abs() < 2e-3, "{mass}");
        let (question, mass) = asked(r#""stated": { "resistance": "4.04 ohm" },"#);
        assert!(question.is_none() && (mass - 3.368).abs() < 2e-3, "{question:?} {mass}");
        let (question, _) = asked("");
        assert_eq!(question, Some(Question::Conductor { taken: Conductor::Copper, follows: false }));
    }

    #[test]
    fn one_option_is_judged_alone_and_odd_prices_are_said() {
        let mut benches = examples();
        assert_eq!(compare(&benches[..1], None, Rule::default()).unwrap().options.len(), 1);
        let error = compare(&[], None, Rule::default()).unwrap_err();
        assert_eq!(error.exit_status(), 2);
        assert_eq!(error.to_string(), "0 files were given, and it takes 1 to 12 to compare");
        benches[0].bench.price =
            Some(Offer { amount: Some(300.0), currency: Some("GBP".into()), ..Offer::default() });
        benches[1].bench.price = None;
        benches.push(benches[1].clone());
        let notes = told(&compare(&benches, None, Rule::default()).unwrap().notes).join("; ");
        assert!(notes.contains("no price is stated for quote-thick, quote-thick (4)"), "{notes}");
        assert!(notes.contains("quote-thick and quote-thick (4) are the same file"), "{notes}");
        assert_eq!(notes.contains("different currencies"), benches[2].bench.price.is_some(), "{notes}");
    }
}
