//! Every need held against every option, by a stated decision rule.

use super::record::{Need, NeedResult, NeedVerdict, PairOption, Question};
use crate::Result;
use crate::files::spec::Wanted;
use crate::judgement::limit::{Decision, Limits, Rule, Verdict, decide};
use crate::physics::heat::HeldFor;
use crate::questions::words::notes::held_words;
use crate::units::{Dimension, display};

/// One way of meeting a need.
#[derive(Clone, Copy)]
enum Enough {
    AtLeast,
    AtMost,
}

/// A need before it is held against anything.
struct Asked<'a> {
    name: &'static str,
    dimension: Dimension,
    wanted_si: f64,
    enough: Enough,
    /// What an option has, and its standard uncertainty.
    of: &'a dyn Fn(&PairOption) -> Option<(f64, f64)>,
    rule: Rule,
}

/// Needs that the copper's warmth decides, and that rest on the resistance.
const WHILE_HELD: [&str; 2] = [LARGEST_FIELD, VOLTAGE];
const LARGEST_FIELD: &str = "largest field";
const VOLTAGE: &str = "voltage for that field";
const SURFACE: &str = "surface temperature";

/// Holds every need against every option.
///
/// # Errors
/// A figure that is not finite, which no checked spec gives.
pub(super) fn held_against(
    options: &[PairOption],
    needs: &Wanted,
    largest_field: Option<f64>,
    rule: Rule,
) -> Result<Vec<Need>> {
    let mut all = Vec::new();
    let held = held_words(HeldFor::of(Some(needs)));
    type Found<'a> = &'a dyn Fn(&PairOption) -> Option<(f64, f64)>;
    let mut need = |name, dimension, wanted: Option<f64>, enough, of: Found| -> Result<()> {
        let Some(wanted_si) = wanted else { return Ok(()) };
        let sign = match enough {
            Enough::AtLeast => "at least",
            Enough::AtMost => "at most",
        };
        let asked = Asked { name, dimension, wanted_si, enough, of, rule };
        all.push(Need {
            name,
            wanted: match held.as_ref().filter(|_| WHILE_HELD.contains(&name)) {
                Some(held) => format!("{sign} {} {held}", display(wanted_si, dimension, 3)),
                None => format!("{sign} {}", display(wanted_si, dimension, 3)),
            },
            wanted_si,
            results: options.iter().map(|option| result(option, &asked)).collect::<Result<_>>()?,
        });
        Ok(())
    };
    need(LARGEST_FIELD, Dimension::FluxDensity, largest_field, Enough::AtLeast, &|o| {
        o.largest_field_tesla.zip(o.standard_uncertainties.largest_field_tesla)
    })?;
    let supply = needs.supply;
    need(
        "current for that field",
        Dimension::Current,
        largest_field.and(supply).and_then(|supply| supply.current_limit_ampere),
        Enough::AtMost,
        &|o| o.working_current_ampere.zip(o.standard_uncertainties.working_current_ampere),
    )?;
    need(
        VOLTAGE,
        Dimension::Voltage,
        largest_field.and(supply).and_then(|supply| supply.voltage_limit_volt),
        Enough::AtMost,
        // Copper that warms without end asks for more than any voltage.
        &|o| {
            o.working_current_ampere
                .map(|_| without_end(o.voltage_volt, o.standard_uncertainties.voltage_volt))
        },
    )?;
    let bulb = needs.bulb().ok().map(|bulb| bulb.radius_m + needs.clearance_m);
    need("room for the bulb", Dimension::Length, bulb, Enough::AtLeast, &|o| {
        Some((o.room_for_bulb_m?, o.standard_uncertainties.room_for_bulb_m))
    })?;
    need("beam deviation", Dimension::Fraction, needs.beam_deviation, Enough::AtMost, &|o| {
        o.worst_beam_deviation.map(f64::abs).zip(o.standard_uncertainties.worst_beam_deviation)
    })?;
    need(
        SURFACE,
        Dimension::Temperature,
        needs.surface_temperature_limit_celsius,
        Enough::AtMost,
        // Without a steady state there is no temperature to name, and the need is surely missed.
        &|o| {
            let u = o.standard_uncertainties.surface_temperature_kelvin;
            o.working_current_ampere.map(|_| without_end(o.surface_temperature_celsius, u))
        },
    )?;
    Ok(all)
}

/// A value with its uncertainty; infinite, and certainly so, where there is none.
fn without_end(value: Option<f64>, standard_uncertainty: Option<f64>) -> (f64, f64) {
    value.zip(standard_uncertainty).unwrap_or((f64::INFINITY, 0.0))
}

fn result(option: &PairOption, asked: &Asked) -> Result<NeedResult> {
    let Asked { wanted_si, dimension, enough, .. } = *asked;
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
    let found = found.map(|(value, _)| value);
    let missing = found.filter(|found| verdict == NeedVerdict::Missed && found.is_finite());
    // A part of a temperature in °C means nothing; by how many kelvin does.
    let (missed, missed_by) = match (missing, dimension) {
        (None, _) => (None, None),
        (Some(found), Dimension::Temperature) => {
            (None, Some(display((found - wanted_si).abs(), Dimension::TemperatureDifference, 3)))
        }
        (Some(found), _) => {
            let missed = (found / wanted_si - 1.0).abs();
            // Percentages of hundreds of times the need hide its size.
            let by = match missed < 10.0 {
                true => display(missed, Dimension::Fraction, 2),
                false => format!("a factor of {}", display(found / wanted_si, Dimension::Number, 2)),
            };
            (Some(missed), Some(by))
        }
    };
    Ok(NeedResult {
        label: option.label.clone(),
        found_si: found.filter(|found| found.is_finite()),
        found: match found {
            Some(found) if found.is_finite() => display(found, dimension, 3),
            Some(_) => "no end".into(),
            None => "not known".into(),
        },
        verdict,
        met: match verdict {
            NeedVerdict::Met => Some(true),
            NeedVerdict::Missed => Some(false),
            _ => None,
        },
        margin: decision.map(|decision| decision.margin),
        guard_band: decision.map(|decision| decision.guard_band),
        guard_band_words: decision
            .map(|decision| format!("U {}", display(decision.guard_band, difference(dimension), 2))),
        missed_by_fraction: missed,
        missed_by,
    })
}

/// What the difference of two values is a quantity of.
pub(super) const fn difference(dimension: Dimension) -> Dimension {
    match dimension {
        Dimension::Temperature => Dimension::TemperatureDifference,
        other => other,
    }
}

/// The dimension of a need, by its name.
pub(super) fn dimension_of(need: &str) -> Dimension {
    match need {
        LARGEST_FIELD => Dimension::FluxDensity,
        "current for that field" => Dimension::Current,
        VOLTAGE => Dimension::Voltage,
        "room for the bulb" => Dimension::Length,
        SURFACE => Dimension::Temperature,
        _ => Dimension::Fraction,
    }
}

/// Whether a need rests on a resistance that the spec states twice and not alike.
fn rests_on_contradiction(option: &PairOption, need: &str) -> bool {
    let contradicts =
        option.questions.iter().any(|question| matches!(question, Question::WhichResistance(_)));
    contradicts && (WHILE_HELD.contains(&need) || need == SURFACE)
}
