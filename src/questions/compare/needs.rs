//! Every need held against every option, by a stated decision rule.

use super::contradiction::Property;
use super::fold::{Offered, Spread};
use super::record::{Need, NeedResult, NeedVerdict, PairOption, Question};
use crate::Result;
use crate::files::spec::Wanted;
use crate::judgement::limit::{Decision, Limits, Rule, Verdict, decide};
use crate::physics::heat::HeldFor;
use crate::questions::words::notes::held_words;
use crate::units::{Dimension, display, period};

/// Both ends of what something may be, or the one where they do not differ in what is shown.
pub(super) fn from_to(low: String, high: String) -> String {
    if low == high { low } else { format!("{low} to {high}") }
}

/// One way of meeting a need.
#[derive(Clone, Copy)]
enum Enough {
    AtLeast,
    AtMost,
}

/// A need before it is held against anything.
struct Asked<'a> {
    name: &'static str,
    measure: Measure<'a>,
    wanted_si: f64,
    enough: Enough,
    /// What an option has, and its standard uncertainty.
    of: &'a dyn Fn(&PairOption) -> Option<(f64, f64)>,
    rule: Rule,
}

/// What a need is a quantity of.
#[derive(Clone, Copy)]
enum Measure<'a> {
    /// Of the pair.
    Of(Dimension),
    /// Money, in this currency.
    Money(&'a str),
    /// Days.
    Days,
}

impl Measure<'_> {
    fn words(self, value: f64, digits: usize) -> String {
        match self {
            Self::Of(dimension) => display(value, dimension, digits),
            Self::Money(currency) => format!("{value:.2} {currency}"),
            Self::Days => period(value),
        }
    }

    /// The words for a difference of two values.
    fn difference(self, value: f64) -> String {
        match self {
            Self::Of(Dimension::Temperature) => display(value, Dimension::TemperatureDifference, 2),
            _ => self.words(value, 2),
        }
    }

    /// Whether it is a property of the pair, which gaps and contradictions of the winding touch.
    const fn is_of_the_pair(self) -> bool {
        matches!(self, Self::Of(_))
    }
}

/// Needs that the copper's warmth decides.
const WHILE_HELD: [&str; 2] = [LARGEST_FIELD, VOLTAGE];
const LARGEST_FIELD: &str = "largest field";
const VOLTAGE: &str = "voltage for that field";
const CURRENT: &str = "current for that field";
const ROOM: &str = "room for the bulb";
const DEVIATION: &str = "beam deviation";
const SURFACE: &str = "surface temperature";
const COST: &str = "cost";
const DELIVERY: &str = "delivery";

/// Holds every need against every option.
///
/// # Errors
/// A figure that is not finite, which no checked spec gives.
pub(super) fn held_against(
    offered: &[Offered],
    options: &[PairOption],
    needs: &Wanted,
    largest_field: Option<f64>,
    rule: Rule,
) -> Result<Vec<Need>> {
    let mut all = Vec::new();
    let held = held_words(HeldFor::of(Some(needs)));
    type Found<'a> = &'a dyn Fn(&PairOption) -> Option<(f64, f64)>;
    let mut need = |name, measure: Measure, wanted: Option<f64>, enough, of: Found| -> Result<()> {
        let Some(wanted_si) = wanted else { return Ok(()) };
        let sign = match enough {
            Enough::AtLeast => "at least",
            Enough::AtMost => "at most",
        };
        let asked = Asked { name, measure, wanted_si, enough, of, rule };
        let wanted = measure.words(wanted_si, 3);
        all.push(Need {
            name,
            wanted: match held.as_ref().filter(|_| WHILE_HELD.contains(&name)) {
                Some(held) => format!("{sign} {wanted} {held}"),
                None => format!("{sign} {wanted}"),
            },
            wanted_si,
            results: offered
                .iter()
                .zip(options)
                .map(|(offered, option)| result(offered, option, &asked))
                .collect::<Result<_>>()?,
        });
        Ok(())
    };
    need(LARGEST_FIELD, Measure::Of(Dimension::FluxDensity), largest_field, Enough::AtLeast, &|o| {
        o.largest_field_tesla.zip(o.standard_uncertainties.largest_field_tesla)
    })?;
    let supply = needs.supply;
    need(
        CURRENT,
        Measure::Of(Dimension::Current),
        largest_field.and(supply).and_then(|supply| supply.current_limit_ampere),
        Enough::AtMost,
        &|o| o.working_current_ampere.zip(o.standard_uncertainties.working_current_ampere),
    )?;
    need(
        VOLTAGE,
        Measure::Of(Dimension::Voltage),
        largest_field.and(supply).and_then(|supply| supply.voltage_limit_volt),
        Enough::AtMost,
        // Copper that warms without end asks for more than any voltage.
        &|o| {
            o.working_current_ampere
                .map(|_| without_end(o.voltage_volt, o.standard_uncertainties.voltage_volt))
        },
    )?;
    let bulb = needs.bulb().ok().map(|bulb| bulb.radius_m + needs.clearance_m);
    need(ROOM, Measure::Of(Dimension::Length), bulb, Enough::AtLeast, &|o| {
        Some((o.room_for_bulb_m?, o.standard_uncertainties.room_for_bulb_m))
    })?;
    need(DEVIATION, Measure::Of(Dimension::Fraction), needs.beam_deviation, Enough::AtMost, &|o| {
        o.worst_beam_deviation.map(f64::abs).zip(o.standard_uncertainties.worst_beam_deviation)
    })?;
    need(
        SURFACE,
        Measure::Of(Dimension::Temperature),
        needs.surface_temperature_limit_celsius,
        Enough::AtMost,
        // Without a steady state there is no temperature to name, and the need is surely missed.
        &|o| {
            let u = o.standard_uncertainties.surface_temperature_kelvin;
            o.working_current_ampere.map(|_| without_end(o.surface_temperature_celsius, u))
        },
    )?;
    let Some(purchase) = &needs.purchase else { return Ok(all) };
    let mut need = |name, measure: Measure, wanted, of: Found| -> Result<()> {
        let Some(wanted_si) = wanted else { return Ok(()) };
        let asked = Asked { name, measure, wanted_si, enough: Enough::AtMost, of, rule };
        let results = offered.iter().zip(options).map(|(offered, option)| result(offered, option, &asked));
        all.push(Need {
            name,
            wanted: format!("at most {}", measure.words(wanted_si, 3)),
            wanted_si,
            results: results.collect::<Result<_>>()?,
        });
        Ok(())
    };
    need(COST, Measure::Money(&purchase.currency), purchase.budget, &|it| Some((it.cost?, 0.0)))?;
    need(DELIVERY, Measure::Days, purchase.delivery_days, &|it| Some((it.delivery_days?, 0.0)))?;
    Ok(all)
}

/// A value with its uncertainty; infinite, and certainly so, where there is none.
fn without_end(value: Option<f64>, standard_uncertainty: Option<f64>) -> (f64, f64) {
    value.zip(standard_uncertainty).unwrap_or((f64::INFINITY, 0.0))
}

/// How an option meets a need: the same for every pair that it may mean, or open.
fn result(offered: &Offered, option: &PairOption, asked: &Asked) -> Result<NeedResult> {
    let named = |result: NeedResult| NeedResult { label: offered.name.clone(), ..result };
    if !asked.measure.is_of_the_pair() {
        return of_one(option, asked).map(named);
    }
    let each: Vec<NeedResult> =
        offered.scenarios.iter().map(|looked| of_one(&looked.option, asked)).collect::<Result<_>>()?;
    let Some(first) = each.first() else {
        // Nothing can be what is stated.
        return Ok(named(NeedResult { verdict: NeedVerdict::Doubtful, ..NeedResult::unknown() }));
    };
    let found: Vec<Option<f64>> = each.iter().map(|result| result.found_si).collect();
    Ok(named(match offered.spread_of(&found) {
        Spread::None => first.clone(),
        Spread::Open => NeedResult::unknown(),
        Spread::Bounded(ends) => {
            let verdict = match each.iter().all(|result| result.verdict == first.verdict) {
                true => first.verdict,
                false => NeedVerdict::TooCloseToTell,
            };
            let worst = match asked.enough {
                Enough::AtLeast => ends[0],
                Enough::AtMost => ends[1],
            };
            let of_worst = each.iter().find(|result| result.found_si == Some(worst)).unwrap_or(first);
            NeedResult {
                found_si: None,
                found_within_si: Some(ends),
                found: from_to(asked.measure.words(ends[0], 3), asked.measure.words(ends[1], 3)),
                verdict,
                met: met(verdict),
                ..of_worst.clone()
            }
        }
    }))
}

/// How one whole pair meets a need.
fn of_one(option: &PairOption, asked: &Asked) -> Result<NeedResult> {
    let Asked { wanted_si, measure, enough, .. } = *asked;
    let found = (asked.of)(option);
    let limits = match enough {
        Enough::AtLeast => Limits { low: Some(wanted_si), high: None },
        Enough::AtMost => Limits { low: None, high: Some(wanted_si) },
    };
    let decision: Option<Decision> = found
        .filter(|(value, _)| value.is_finite())
        .map(|(value, u)| decide(value, u, limits, asked.rule))
        .transpose()?;
    let verdict = match (found, decision) {
        (None, _) => NeedVerdict::NotKnown,
        (Some(_), _) if rests_on_contradiction(option, asked.name) => NeedVerdict::Doubtful,
        (Some(_), None) => NeedVerdict::Missed,
        (Some(_), Some(decision)) => match decision.verdict {
            Verdict::Met => NeedVerdict::Met,
            Verdict::Missed => NeedVerdict::Missed,
            Verdict::TooCloseToTell => NeedVerdict::TooCloseToTell,
        },
    };
    if matches!(measure, Measure::Money(_)) && verdict == NeedVerdict::Met && !option.has_whole_terms() {
        // Carriage or tax may still take it over the budget.
        let found =
            found.map_or_else(String::new, |(cost, _)| format!("at least {}", measure.words(cost, 3)));
        return Ok(NeedResult { found, ..NeedResult::unknown() });
    }
    let found = found.map(|(value, _)| value);
    let missing = found.filter(|found| verdict == NeedVerdict::Missed && found.is_finite());
    let (missed, missed_by) = missing.map_or((None, None), |found| missed_by(found, wanted_si, measure));
    // What a supplier states of its terms has no uncertainty.
    let guard_band = decision.map(|decision| decision.guard_band).filter(|_| measure.is_of_the_pair());
    Ok(NeedResult {
        label: String::new(),
        found_si: found.filter(|found| found.is_finite()),
        found_within_si: None,
        found: match found {
            Some(found) if found.is_finite() => measure.words(found, 3),
            Some(_) => "no end".into(),
            None => "not known".into(),
        },
        verdict,
        met: met(verdict),
        margin: decision.map(|decision| decision.margin),
        margin_words: decision.map(|decision| measure.difference(decision.margin)),
        guard_band,
        guard_band_words: guard_band.map(|guard| format!("U {}", measure.difference(guard))),
        missed_by_fraction: missed,
        missed_by,
    })
}

/// By what part of the need a value misses it, and by how much in words.
fn missed_by(found: f64, wanted_si: f64, measure: Measure) -> (Option<f64>, Option<String>) {
    // A part of a temperature in °C means nothing; by how many kelvin does.
    if matches!(measure, Measure::Of(Dimension::Temperature)) {
        let kelvin = display((found - wanted_si).abs(), Dimension::TemperatureDifference, 3);
        return (None, Some(kelvin));
    }
    let missed = (found / wanted_si - 1.0).abs();
    // Percentages of hundreds of times the need hide its size.
    let by = match missed < 10.0 {
        true => display(missed, Dimension::Fraction, 2),
        false => format!("a factor of {}", display(found / wanted_si, Dimension::Number, 2)),
    };
    (Some(missed), Some(by))
}

const fn met(verdict: NeedVerdict) -> Option<bool> {
    match verdict {
        NeedVerdict::Met => Some(true),
        NeedVerdict::Missed => Some(false),
        _ => None,
    }
}

/// Whether a need rests on something that the file contradicts itself in.
fn rests_on_contradiction(option: &PairOption, need: &str) -> bool {
    let touches = |question: &Question| match question {
        Question::WhichResistance(_) => HEATED.contains(&need),
        Question::Contradiction(it) => match it.property {
            Property::Resistance | Property::CopperMass => HEATED.contains(&need),
            Property::FieldConstant => HEATED.contains(&need) || need == CURRENT,
            Property::InnerDiameter | Property::OuterDiameter => need == ROOM || need == DEVIATION,
        },
        _ => false,
    };
    option.questions.iter().any(touches)
}

/// Needs that rest on the resistance.
const HEATED: [&str; 3] = [LARGEST_FIELD, VOLTAGE, SURFACE];
