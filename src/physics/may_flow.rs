//! Whether a requested current may flow, by the supply's limit and by how long the coils can carry it.

use super::heat::HeatedPair;
use super::heat::circuit::Drive;
use super::heat::limits::TemperatureLimits;
use super::heat::range::to_rely_on;
use super::safety::SafetyFigures;
use crate::pair::Bench;
use crate::units::{Dimension, brief, fixed_down, unit};
use crate::{Error, Result};

/// A reading or a test of the field takes at least this long; a current that must end sooner is useless (common
/// practice, no source).
const LEAST_TIME_S: f64 = 60.0;

/// How long a current may flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum MayFlow {
    /// Continuously.
    ForEver,
    /// From cold coils until the first temperature limit.
    For {
        /// That time.
        time_s: f64,
    },
    /// The spec lacks something needed to compute the heating.
    NotKnown,
}

/// How long a current of either direction may flow through the pair.
///
/// # Errors
/// The supply does not give the current, or the coils can carry it for less than a minute.
pub(crate) fn may_flow(bench: &Bench, safety: &SafetyFigures, current_ampere: f64) -> Result<MayFlow> {
    let current_ampere = current_ampere.abs();
    let shown = brief(current_ampere, Dimension::Current);
    if let Some(limit) = bench.supply.and_then(|supply| supply.current_limit_ampere)
        && current_ampere > limit * (1.0 + 1e-9)
    {
        let limit = brief(limit, Dimension::Current);
        return Err(Error::value_with_hint(
            format!("{shown} is above the supply's limit of {limit}"),
            format!("choose {limit} or less; `supply.current_limit` of the spec states the limit"),
        ));
    }
    let Some(lowest) = safety.reliable_continuous_current_ampere else { return Ok(MayFlow::NotKnown) };
    if current_ampere <= lowest {
        return Ok(MayFlow::ForEver);
    }
    let Ok(pair) = HeatedPair::of(bench) else { return Ok(MayFlow::NotKnown) };
    let temperatures = TemperatureLimits::of(bench);
    let relied_on = to_rely_on(&pair, &temperatures, bench.supply.as_ref(), lowest);
    let Some((time_s, _)) = relied_on.time_to_limit(&Drive::held(current_ampere), &temperatures)? else {
        return Ok(MayFlow::ForEver);
    };
    match time_s < LEAST_TIME_S {
        false => Ok(MayFlow::For { time_s }),
        true => Err(Error::value_with_hint(
            format!("{shown} heats the coils to their limit in less than a minute"),
            format!(
                "they can carry {} continuously; `heat SPEC --current \"{shown}\"` shows how they warm",
                fixed_down(lowest, unit::AMPERE, 2)
            ),
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::roots::brent_root;
    use crate::physics::field::PreparedPair;
    use crate::physics::heat::{HeldFor, example};

    #[test]
    fn more_than_the_supply_gives_is_refused_and_more_than_the_coils_carry_has_a_time() {
        let mut bench = example::bench();
        let safety = SafetyFigures::of(&PreparedPair::of(&bench));
        let lowest = safety.reliable_continuous_current_ampere.unwrap();
        let limit = bench.supply.unwrap().current_limit_ampere.unwrap();
        assert_eq!(may_flow(&bench, &safety, -lowest).unwrap(), MayFlow::ForEver);
        let error = may_flow(&bench, &safety, -1.001 * limit).unwrap_err();
        assert!(error.to_string().contains("above the supply's limit") && error.hint().is_some(), "{error}");
        bench.supply = None;
        let safety = SafetyFigures::of(&PreparedPair::of(&bench));
        let lowest = safety.reliable_continuous_current_ampere.unwrap();
        let time = |ampere: f64| match may_flow(&bench, &safety, ampere) {
            Ok(MayFlow::For { time_s }) => time_s,
            other => panic!("{ampere} A: {other:?}"),
        };
        assert!(time(1.2 * lowest) > time(1.5 * lowest));
        let error = may_flow(&bench, &safety, 50.0 * lowest).unwrap_err();
        assert!(error.to_string().contains("less than a minute") && error.hint().is_some(), "{error}");
        assert_eq!(may_flow(&bench, &SafetyFigures::default(), 1.0).unwrap(), MayFlow::NotKnown);
    }

    /// The pair at the safe end of the model's range, its temperature limits, and its reliable continuous current.
    fn relied_on(bench: &Bench) -> (HeatedPair, TemperatureLimits, f64) {
        let pair = HeatedPair::of(bench).unwrap();
        let temperatures = TemperatureLimits::of(bench);
        let safety = SafetyFigures::of(&PreparedPair::of(bench));
        let lowest = safety.reliable_continuous_current_ampere.unwrap();
        (to_rely_on(&pair, &temperatures, bench.supply.as_ref(), lowest), temperatures, lowest)
    }

    #[test]
    fn at_the_end_of_the_time_the_hottest_surface_is_at_its_limit() {
        let bench = Bench { supply: None, ..example::bench() };
        let (pair, temperatures, lowest) = relied_on(&bench);
        let safety = SafetyFigures::of(&PreparedPair::of(&bench));
        for times in [1.05, 1.3, 2.0] {
            let ampere = times * lowest;
            let MayFlow::For { time_s } = may_flow(&bench, &safety, ampere).unwrap() else { panic!() };
            // Followed up to a given time, without looking for an event.
            let after = |time_s: f64| {
                let carried = pair.carried(&Drive::held(ampere), HeldFor::Seconds(time_s)).unwrap().unwrap();
                let excess =
                    |limit| pair.excess_kelvin(&temperatures, limit, &carried.moment, &carried.state);
                temperatures.of_surfaces().into_iter().map(excess).fold(f64::NEG_INFINITY, f64::max)
            };
            let [before, then, later] = [0.98, 1.0, 1.02].map(|part| after(part * time_s));
            assert!(before < 0.0 && later > 0.0 && then.abs() < 0.01, "{times}: {before} {then} {later}");
        }
    }

    #[test]
    fn a_minute_is_the_shortest_time_that_is_allowed() {
        let bench = Bench { supply: None, ..example::bench() };
        let (pair, temperatures, lowest) = relied_on(&bench);
        let safety = SafetyFigures::of(&PreparedPair::of(&bench));
        let over_a_minute =
            |ampere: f64| pair.time_to_limit(&Drive::held(ampere), &temperatures).unwrap().unwrap().0 - 60.0;
        let ampere = brent_root(over_a_minute, 2.0 * lowest, 20.0 * lowest, 1e-9).at;
        match may_flow(&bench, &safety, 0.999 * ampere).unwrap() {
            // The time goes about as the inverse square of the current.
            MayFlow::For { time_s } => assert!((60.0..60.3).contains(&time_s), "{time_s} s"),
            other => panic!("{other:?}"),
        }
        let error = may_flow(&bench, &safety, 1.001 * ampere).unwrap_err();
        assert!(error.to_string().contains("less than a minute"), "{error}");
    }
}
