//! Compares every option with every need, by a stated decision rule.

use super::contradiction::Property;
use super::fold::{Offered, Spread};
use super::need::{
    Enough, Found, GuardBand, Margin, Measure, Miss, Need, NeedResult, NeedVerdict, Needed, OpenTerm,
};
use super::need_kind::NeedKind;
use super::question::Question;
use super::record::PairOption;
use super::terms;
use crate::Result;
use crate::files::spec::{SpacingChoice, Wanted};
use crate::judgement::limit::{Decision, Rule, Verdict, decide};
use crate::physics::heat::HeldFor;
use crate::questions::size::wished_holding;
use crate::units::Dimension;

impl NeedKind {
    /// The wanted value, SI; `None` if the needs do not ask for it.
    fn wanted_si(self, needs: &Wanted, largest_field: Option<f64>) -> Option<f64> {
        let supply = || largest_field.and(needs.supply);
        let purchase = needs.purchase.as_ref();
        match self {
            Self::LargestField => largest_field,
            Self::Current => supply()?.current_limit_ampere,
            Self::Voltage => supply()?.voltage_limit_volt,
            Self::Room => Some(needs.bulb().ok()?.radius_m + needs.clearance_m),
            Self::MeanRadius | Self::SectionWidth | Self::SectionDepth | Self::Spacing => {
                Some(self.wanted_size(needs)?[1])
            }
            Self::BeamDeviation => needs.beam_deviation,
            Self::SurfaceTemperature => needs.surface_temperature_limit_celsius,
            Self::Cost => purchase?.budget,
            Self::Delivery => purchase?.delivery_days,
        }
    }

    /// Smallest and largest size that the needs allow.
    fn wanted_size(self, needs: &Wanted) -> Option<[f64; 2]> {
        let search = needs.search.as_ref()?;
        match self {
            Self::MeanRadius => Some(search.mean_radius_m),
            Self::SectionWidth => Some(search.width_m),
            Self::SectionDepth => Some(search.depth_m),
            Self::Spacing => match search.spacing {
                SpacingChoice::Range(range_m) => Some(range_m),
                SpacingChoice::Radius | SpacingChoice::SecondOrder | SpacingChoice::Beam => None,
            },
            _ => None,
        }
    }

    /// What an option has, and its standard uncertainty.
    fn found(self, option: &PairOption) -> Option<(f64, f64)> {
        let u = &option.standard_uncertainties;
        match self {
            Self::LargestField => option.largest_field_tesla.zip(u.largest_field_tesla),
            Self::Current => option.working_current_ampere.zip(u.working_current_ampere),
            // If the copper warms without end, the voltage exceeds any limit.
            Self::Voltage => {
                option.working_current_ampere.map(|_| without_end(option.voltage_volt, u.voltage_volt))
            }
            Self::Room => Some((option.room_for_bulb_m?, u.room_for_bulb_m)),
            Self::MeanRadius => Some((option.mean_radius_m?, 0.0)),
            Self::SectionWidth => Some((option.section_width_m?, 0.0)),
            Self::SectionDepth => Some((option.section_depth_m?, 0.0)),
            Self::Spacing => Some((option.spacing_m?, 0.0)),
            Self::BeamDeviation => option.worst_beam_deviation.map(f64::abs).zip(u.worst_beam_deviation),
            // Without a steady state there is no temperature, and the need is certainly missed.
            Self::SurfaceTemperature => option
                .working_current_ampere
                .map(|_| without_end(option.surface_temperature_celsius, u.surface_temperature_kelvin)),
            Self::Cost => Some((option.cost?, 0.0)),
            Self::Delivery => Some((option.delivery_days?, 0.0)),
        }
    }

    fn measure(self, needs: &Wanted) -> Measure {
        match self {
            Self::LargestField => Measure::Of(Dimension::FluxDensity),
            Self::Current => Measure::Of(Dimension::Current),
            Self::Voltage => Measure::Of(Dimension::Voltage),
            Self::Room | Self::MeanRadius | Self::SectionWidth | Self::SectionDepth | Self::Spacing => {
                Measure::Of(Dimension::Length)
            }
            Self::BeamDeviation => Measure::Of(Dimension::Fraction),
            Self::SurfaceTemperature => Measure::Of(Dimension::Temperature),
            Self::Cost => Measure::Money {
                currency: needs.purchase.as_ref().map_or(String::new(), |it| it.currency.clone()),
            },
            Self::Delivery => Measure::Days,
        }
    }

    fn enough(self, needs: &Wanted) -> Enough {
        match (self, self.wanted_size(needs)) {
            (_, Some([least_si, _])) => Enough::Between { least_si },
            (Self::LargestField | Self::Room, None) => Enough::AtLeast,
            _ => Enough::AtMost,
        }
    }

    /// Whether the copper's temperature at the end of the time decides it.
    const fn is_held(self) -> bool {
        matches!(self, Self::LargestField | Self::Voltage)
    }

    /// Whether a contradiction in the file affects it for this pair.
    fn rests_on(self, question: &Question, option: &PairOption) -> bool {
        let heated = matches!(self, Self::LargestField | Self::Voltage | Self::SurfaceTemperature);
        match question {
            // Two wires differ in resistance and mass.
            Question::WhichResistance(_) | Question::Doubt(_) => heated,
            Question::Contradiction(it) => match it.property {
                Property::Resistance
                | Property::CopperMass
                | Property::WireLength
                | Property::MeasuredResistance => heated,
                Property::FieldConstant
                | Property::LargestField
                | Property::TurnsOfSection
                | Property::BuiltTurns => heated || self == Self::Current,
                // Where the supply's voltage limits the current, another voltage for it is another largest field.
                Property::Voltage => {
                    self == Self::Voltage || (self == Self::LargestField && option.is_voltage_limited)
                }
                Property::SurfaceRise => self == Self::SurfaceTemperature,
                // They give the mean radius, on which every figure of the pair depends.
                Property::InnerDiameter
                | Property::OuterDiameter
                | Property::Depth
                | Property::BuiltRadius => {
                    !matches!(self, Self::Cost | Self::Delivery | Self::SectionWidth | Self::Spacing)
                }
            },
            _ => false,
        }
    }
}

/// A need, before any option is compared with it.
struct Asked {
    kind: NeedKind,
    wanted: Needed,
    rule: Rule,
}

/// Compares every option with every need.
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
    let held_for = wished_holding(Some(needs));
    let mut all = Vec::new();
    for kind in NeedKind::ALL {
        let Some(si) = kind.wanted_si(needs, largest_field) else { continue };
        let held = if kind.is_held() { held_for } else { HeldFor::SwitchOn };
        let wanted = Needed { enough: kind.enough(needs), si, measure: kind.measure(needs), held };
        let asked = Asked { kind, wanted, rule };
        let results = offered.iter().zip(options).map(|(offered, option)| result(offered, option, &asked));
        let results = results.collect::<Result<_>>()?;
        all.push(Need { name: kind, wanted: asked.wanted, results });
    }
    Ok(all)
}

/// A value with its uncertainty. Without a value: infinity, with no uncertainty.
fn without_end(value: Option<f64>, standard_uncertainty: Option<f64>) -> (f64, f64) {
    value.zip(standard_uncertainty).unwrap_or((f64::INFINITY, 0.0))
}

/// How an option meets a need: one result if all pairs it may mean agree, else open.
fn result(offered: &Offered, option: &PairOption, asked: &Asked) -> Result<NeedResult> {
    let named = |result: NeedResult| NeedResult { label: offered.name.clone(), ..result };
    if !asked.wanted.measure.is_of_the_pair() {
        return of_one(option, asked, false).map(named);
    }
    let is_doubtful = |option: &PairOption| {
        offered.contradicted.iter().any(|question| asked.kind.rests_on(question, option))
    };
    let promises_less = asked.kind == NeedKind::LargestField
        && offered.promised.iter().any(|question| matches!(question, Question::PromisesLess { .. }));
    let each: Vec<NeedResult> = offered
        .scenarios
        .iter()
        .map(|looked| of_one(&looked.option, asked, is_doubtful(&looked.option)))
        .collect::<Result<_>>()?;
    let Some(first) = each.first() else {
        let verdict = if offered.is_impossible() { NeedVerdict::Doubtful } else { NeedVerdict::NotKnown };
        return Ok(named(NeedResult { verdict, ..NeedResult::unknown() }));
    };
    let found: Vec<Option<f64>> = offered
        .scenarios
        .iter()
        .map(|looked| asked.kind.found(&looked.option).map(|(value, _)| value))
        .collect();
    let spread = match asked.kind {
        NeedKind::LargestField => offered.spread_of_borne(&found),
        _ => offered.spread_of(&found),
    };
    let result = match spread {
        Spread::None => first.clone(),
        Spread::Open => NeedResult { decided_by: offered.deciding_gaps(&found), ..NeedResult::unknown() },
        Spread::Bounded(ends) => {
            let within = within(offered, asked, ends, &each);
            let open = matches!(within.verdict, NeedVerdict::TooCloseToTell | NeedVerdict::NotKnown);
            // If every pair is too close to tell, no answer about a gap would help.
            let by_gaps = open && each.iter().any(|result| result.verdict != within.verdict);
            let decided_by = if by_gaps { offered.deciding_gaps(&found) } else { Vec::new() };
            NeedResult { decided_by, ..within }
        }
    };
    // A figure computed from the winding is no promise if the maker promises less.
    let open = promises_less && result.verdict == NeedVerdict::Met;
    let verdict = if open { NeedVerdict::TooCloseToTell } else { result.verdict };
    Ok(named(NeedResult { verdict, met: met(verdict), ..result }))
}

/// How pairs with a range of values meet a need.
fn within(offered: &Offered, asked: &Asked, [low, high]: [f64; 2], each: &[NeedResult]) -> NeedResult {
    // If the deviation has both signs, its smallest size is zero.
    let signs = offered.scenarios.iter().filter_map(|looked| looked.option.worst_beam_deviation);
    let both_signs = asked.kind == NeedKind::BeamDeviation
        && signs.clone().any(|value| value > 0.0)
        && signs.clone().any(|value| value < 0.0);
    let ends = [if both_signs { 0.0 } else { low }, high];
    let verdict = match joined(each.iter().map(|result| result.verdict)) {
        NeedVerdict::Missed if both_signs => NeedVerdict::TooCloseToTell,
        verdict => verdict,
    };
    let worst = match asked.wanted.enough {
        Enough::AtLeast => low,
        Enough::AtMost => high,
        Enough::Between { least_si } if low < least_si => low,
        Enough::Between { .. } => high,
    };
    let of_worst = each.iter().find(|result| result.found_si == Some(worst)).unwrap_or(&each[0]);
    NeedResult {
        found_si: None,
        found_within_si: ends.iter().all(|end| end.is_finite()).then_some(ends),
        found: Found::Range { si: ends, measure: asked.wanted.measure.clone() },
        verdict,
        met: met(verdict),
        ..of_worst.clone()
    }
}

/// The joint verdict if any of several pairs may be meant: the common one if all agree, else doubtful, not known or too
/// close to tell.
fn joined(verdicts: impl Iterator<Item = NeedVerdict>) -> NeedVerdict {
    let all: Vec<NeedVerdict> = verdicts.collect();
    match () {
        () if all.contains(&NeedVerdict::Doubtful) => NeedVerdict::Doubtful,
        () if all.contains(&NeedVerdict::NotKnown) => NeedVerdict::NotKnown,
        () if all.iter().all(|verdict| *verdict == all[0]) => all[0],
        () => NeedVerdict::TooCloseToTell,
    }
}

/// How one complete pair meets a need; `doubtful` if the file contradicts itself in something that affects the need.
fn of_one(option: &PairOption, asked: &Asked, doubtful: bool) -> Result<NeedResult> {
    let Asked { kind, ref wanted, rule } = *asked;
    let measure = &wanted.measure;
    let found = kind.found(option);
    let limits = wanted.limits();
    let decision: Option<Decision> = found
        .filter(|(value, _)| value.is_finite())
        .map(|(value, u)| decide(value, u, limits, rule))
        .transpose()?;
    // A delivery given as a range of times is late only if the shorter one is.
    let shortest = option.shortest_delivery_days.filter(|_| kind == NeedKind::Delivery);
    let may_be_in_time = shortest.is_some_and(|days| days <= wanted.si);
    let verdict = match (found, decision) {
        (None, _) => NeedVerdict::NotKnown,
        (Some(_), _) if doubtful => NeedVerdict::Doubtful,
        (Some(_), None) => NeedVerdict::Missed,
        (Some(_), Some(decision)) => match decision.verdict {
            Verdict::Met => NeedVerdict::Met,
            Verdict::Missed if may_be_in_time => NeedVerdict::TooCloseToTell,
            Verdict::Missed => NeedVerdict::Missed,
            Verdict::TooCloseToTell => NeedVerdict::TooCloseToTell,
        },
    };
    if kind == NeedKind::Cost && verdict == NeedVerdict::Met && !option.has_whole_terms() {
        // Unstated carriage or tax may still exceed the budget.
        let found = found.map_or(Found::NotKnown, |(si, _)| Found::AtLeast { si, measure: measure.clone() });
        return Ok(NeedResult { found, open_terms: terms::open(option), ..NeedResult::unknown() });
    }
    let found = found.map(|(value, _)| value);
    let missing = found.filter(|found| verdict == NeedVerdict::Missed && found.is_finite());
    let missed_limit = |found: f64| match wanted.enough {
        Enough::Between { least_si } if found < least_si => least_si,
        _ => wanted.si,
    };
    let missed_by = missing.map(|found| miss(found, missed_limit(found), measure));
    // A supplier's terms have no uncertainty, and neither have the sizes of a design.
    let has_band = measure.is_of_the_pair() && !kind.is_size();
    let guard_band = decision.map(|decision| decision.guard_band).filter(|_| has_band);
    Ok(NeedResult {
        label: String::new(),
        found_si: found.filter(|found| found.is_finite()),
        found_within_si: None,
        found: match (found, shortest) {
            (None, _) => Found::NotKnown,
            (Some(longest), Some(shortest)) => {
                Found::Range { si: [shortest, longest], measure: measure.clone() }
            }
            (Some(si), None) => Found::Value { si, guard_band, measure: measure.clone() },
        },
        verdict,
        met: met(verdict),
        margin: decision.map(|decision| Margin { si: decision.margin, measure: measure.clone() }),
        guard_band: found.zip(guard_band).map(|(of_si, si)| GuardBand {
            si,
            of_si,
            measure: measure.clone(),
        }),
        missed_by_fraction: missing
            .filter(|_| !is_celsius(measure))
            .map(|found| missed_fraction(found, missed_limit(found))),
        missed_by,
        decided_by: Vec::new(),
        open_terms: match (kind, found) {
            (NeedKind::Cost, None) => terms::open(option),
            (NeedKind::Delivery, None) => vec![OpenTerm::Delivery],
            _ => Vec::new(),
        },
    })
}

/// How far a value misses the need.
fn miss(found: f64, wanted_si: f64, measure: &Measure) -> Miss {
    /// From here on a factor tells more than a fraction.
    const LARGE: f64 = 10.0;
    match missed_fraction(found, wanted_si) {
        _ if is_celsius(measure) => Miss::Kelvin((found - wanted_si).abs()),
        fraction if fraction < LARGE => Miss::Fraction(fraction),
        _ => Miss::Factor(found / wanted_si),
    }
}

fn missed_fraction(found: f64, wanted_si: f64) -> f64 {
    (found / wanted_si - 1.0).abs()
}

/// Whether it is a temperature in °C, a fraction of which means nothing.
fn is_celsius(measure: &Measure) -> bool {
    matches!(measure, Measure::Of(Dimension::Temperature))
}

const fn met(verdict: NeedVerdict) -> Option<bool> {
    match verdict {
        NeedVerdict::Met => Some(true),
        NeedVerdict::Missed => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_that_may_be_meant_are_doubtful_before_they_are_too_close() {
        use NeedVerdict::{Doubtful, Met, Missed, NotKnown, TooCloseToTell};
        for (each, wanted) in [
            (vec![Met, Met], Met),
            (vec![Met, Doubtful], Doubtful),
            (vec![Missed, Doubtful, TooCloseToTell], Doubtful),
            (vec![Met, Missed], TooCloseToTell),
            (vec![Met, NotKnown], NotKnown),
        ] {
            assert_eq!(joined(each.iter().copied()), wanted, "{each:?}");
        }
    }
}
