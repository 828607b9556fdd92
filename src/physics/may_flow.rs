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
    use crate::physics::field::Assembly;
    use crate::physics::heat::example;

    #[test]
    fn more_than_the_supply_gives_is_refused_and_more_than_the_coils_carry_has_a_time() {
        let mut bench = example::bench();
        let safety = SafetyFigures::of(&bench, &Assembly::of(&bench));
        let lowest = safety.reliable_continuous_current_ampere.unwrap();
        let limit = bench.supply.unwrap().current_limit_ampere.unwrap();
        assert_eq!(may_flow(&bench, &safety, -lowest).unwrap(), MayFlow::ForEver);
        let error = may_flow(&bench, &safety, -1.001 * limit).unwrap_err();
        assert!(error.to_string().contains("above the supply's limit") && error.hint().is_some(), "{error}");
        bench.supply = None;
        let safety = SafetyFigures::of(&bench, &Assembly::of(&bench));
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
}
