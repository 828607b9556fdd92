//! Computed and fitted slope side by side: do they agree, and what would explain it if not.

use super::budget::BudgetEntry;
use crate::numeric::roots::brent_root;
use crate::pair::{Bench, Connection};
use crate::physics::build_error::BuildParameter;
use crate::physics::field::Assembly;
use nalgebra::Vector3;
use serde::Serialize;

/// A slope with its expanded uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// k.
    pub tesla_per_ampere: f64,
    /// u(k).
    pub standard_uncertainty: f64,
    /// Coverage factor × u(k).
    pub expanded_uncertainty: f64,
}

/// How the two slopes compare.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Agreement {
    /// Fitted over computed slope, minus one.
    pub relative_difference: f64,
    /// E_n: (fitted − computed) / √(U(fitted)² + U(computed)²), U the expanded uncertainties.
    pub normalised_difference: f64,
    /// Whether |E_n| ≤ 1.
    pub agree: bool,
    /// What would explain the difference alone, the likeliest first; where the slopes agree, no more than
    /// mixed-up units that a power of ten gives away.
    pub explanations: Vec<Explanation>,
}

/// One thing that would explain the difference alone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explanation {
    /// What.
    pub cause: Cause,
    /// How much of it, in `unit`; absent where it is all or nothing.
    pub amount: Option<f64>,
    /// The unit of `amount`: `turn`, `m` or `1`.
    pub unit: &'static str,
    /// The limit that the spec states for it, in `unit`, if it states one.
    pub stated_limit: Option<f64>,
}

/// What may be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// Units or columns of the readings mixed up; the amount is the fitted over the computed slope.
    UnitsMixedUp,
    /// The columns of current and field exchanged: the fitted slope is the inverse of the computed one.
    CurrentAndFieldSwapped,
    /// One coil works against the other.
    CoilReversed,
    /// The whole pair, or the probe, is the other way round.
    LeadsReversed,
    /// Only one coil carries the current, or half of it goes through each.
    OneCoilOrParallel,
    /// The coils are in series where the spec has them in parallel.
    SeriesNotParallel,
    /// Turns missing, over both coils together; negative: too many.
    TurnsMissing,
    /// Spacing larger than the spec's by this; negative: smaller.
    Spacing,
    /// Mean radius of both coils larger than the spec's by this; negative: smaller.
    MeanRadius,
    /// The probe was this far from the centre along the axis.
    ProbeAlongAxis,
    /// The probe was this far from the axis.
    ProbeOffAxis,
    /// The probe shows this fraction too much; negative: too little.
    ProbeGain,
    /// The ammeter shows this fraction too little; negative: too much.
    AmmeterGain,
}

/// Compares a fitted with a computed slope; `None` where neither has any uncertainty to compare by.
pub fn agreement(
    bench: &Bench,
    assembly: &Assembly,
    computed: &Slope,
    build: &[BudgetEntry],
    fitted: &Slope,
) -> Option<Agreement> {
    let difference = fitted.tesla_per_ampere - computed.tesla_per_ampere;
    let expanded = fitted.expanded_uncertainty.hypot(computed.expanded_uncertainty);
    let normalised_difference = difference / expanded;
    let relative_difference = difference / computed.tesla_per_ampere;
    let agree = normalised_difference.abs() <= 1.0;
    normalised_difference.is_finite().then(|| Agreement {
        relative_difference,
        normalised_difference,
        agree,
        explanations: if agree {
            // Currents a thousand times too small leave the fitted slope so open that it agrees with any.
            power_of_ten(1.0 + relative_difference).map(|_| units(relative_difference)).into_iter().collect()
        } else if let Some(connection) = gross(bench, relative_difference) {
            // A thousandth is near nought as well as a power of ten.
            let units = power_of_ten(1.0 + relative_difference).map(|_| units(relative_difference));
            units.into_iter().chain([connection]).collect()
        } else {
            let mut explanations = small(bench, assembly, build, difference, relative_difference);
            if relative_difference.abs() > FAR_OFF {
                explanations.insert(0, mixed_up(computed, fitted, relative_difference));
            }
            explanations
        },
    })
}

/// A slope so far off, as a fraction of the computed one, is first put down to units or columns.
const FAR_OFF: f64 = 0.2;
/// How near a ratio must be to a power of ten to count as one.
const NEAR_POWER: f64 = 0.1;
/// How near to 1 the product of the slopes must be, in the unit of their headings, for exchanged columns.
const NEAR_INVERSE: f64 = 0.05;

/// The power of ten, from ±1 to ±6, that a ratio of slopes is near, whatever its sign.
pub fn power_of_ten(ratio: f64) -> Option<i32> {
    let power = ratio.abs().log10().round();
    let near = (ratio.abs() / 10f64.powf(power) - 1.0).abs() < NEAR_POWER;
    (near && (1.0..=6.0).contains(&power.abs())).then_some(power as i32)
}

fn units(relative_difference: f64) -> Explanation {
    Explanation {
        cause: Cause::UnitsMixedUp,
        amount: Some(1.0 + relative_difference),
        unit: "1",
        stated_limit: None,
    }
}

/// What may be mixed up where the slopes are far apart: with current and field exchanged the fitted slope is, in the
/// unit of the headings, one over the computed one.
fn mixed_up(computed: &Slope, fitted: &Slope, relative_difference: f64) -> Explanation {
    let mixed = units(relative_difference);
    if power_of_ten(1.0 + relative_difference).is_some() {
        return mixed;
    }
    // T/A, mT/A, G/A and µT/A, or the same fields over mA.
    let swapped = [1.0, 1e-1, 1e-3, 1e-4, 1e-6].into_iter().any(|unit| {
        let product = computed.tesla_per_ampere / unit * (fitted.tesla_per_ampere / unit);
        (product.abs() - 1.0).abs() < NEAR_INVERSE
    });
    if swapped { Explanation { cause: Cause::CurrentAndFieldSwapped, ..mixed } } else { mixed }
}

/// A wrong connection, which shows as a ratio near −1, 0, 1/2 or 2.
fn gross(bench: &Bench, relative_difference: f64) -> Option<Explanation> {
    let ratio = 1.0 + relative_difference;
    let near = |wanted: f64| (ratio - wanted).abs() < 0.1;
    let cause = match bench.connection {
        _ if near(-1.0) => Cause::LeadsReversed,
        _ if near(0.0) => Cause::CoilReversed,
        Connection::Series if near(0.5) => Cause::OneCoilOrParallel,
        Connection::Parallel if near(2.0) => Cause::SeriesNotParallel,
        _ => return None,
    };
    Some(Explanation { cause, amount: None, unit: "1", stated_limit: None })
}

/// What would take more than this part of what it changes is no small fault.
const LARGEST_PART: f64 = 0.12;

/// Small faults, each sized to explain the whole difference to first order, which up to [`LARGEST_PART`] of a pair's
/// dimensions gives the amount to a twelfth of it. Those that would take more are left out; the probe's place and the
/// gains are exact.
fn small(
    bench: &Bench,
    assembly: &Assembly,
    build: &[BudgetEntry],
    difference: f64,
    relative: f64,
) -> Vec<Explanation> {
    let tolerance = bench.build_tolerance;
    // The effect of moving a parameter on both coils alike.
    let both = |parameter: BuildParameter| -> f64 {
        build
            .iter()
            .filter(|entry| entry.source == parameter.name())
            .map(|entry| entry.sensitivity_tesla_per_ampere_per_unit)
            .sum()
    };
    let limit = |parameter: BuildParameter| tolerance.map(|tolerance| parameter.limit(&tolerance));
    let mut explanations = Vec::new();
    let mut add = |cause, amount: f64, whole: f64, unit, stated_limit| {
        if amount.abs() <= LARGEST_PART * whole {
            explanations.push(Explanation { cause, amount: Some(amount), unit, stated_limit });
        }
    };
    // One turn more on one coil: half the effect of one more on both.
    let turns = -2.0 * difference / both(BuildParameter::Turns);
    let coils = bench.coils();
    add(
        Cause::TurnsMissing,
        turns,
        coils.iter().map(|coil| coil.turns).sum(),
        "turn",
        limit(BuildParameter::Turns).map(|each| 2.0 * each),
    );
    let spacing = difference / both(BuildParameter::Spacing);
    add(Cause::Spacing, spacing, bench.spacing_m, "m", limit(BuildParameter::Spacing));
    let radius = difference / both(BuildParameter::MeanRadius);
    add(Cause::MeanRadius, radius, bench.winding.mean_radius_m, "m", limit(BuildParameter::MeanRadius));
    for (cause, direction) in [(Cause::ProbeAlongAxis, Vector3::z()), (Cause::ProbeOffAxis, Vector3::x())] {
        if let Some(distance) = distance_of_deviation(assembly, direction, relative) {
            // Found in the real field, within the radius.
            add(cause, distance, f64::INFINITY, "m", None);
        }
    }
    let probe = bench.field_meter.and_then(|meter| meter.accuracy_of_reading);
    add(Cause::ProbeGain, relative, 1.0, "1", probe);
    let ammeter = bench.ammeter.and_then(|meter| meter.accuracy_of_reading);
    // Too little by a makes k too large by 1/(1 − a).
    add(Cause::AmmeterGain, relative / (1.0 + relative), 1.0, "1", ammeter);
    explanations.sort_by(|one, other| strain(one).total_cmp(&strain(other)));
    explanations
}

/// How far beyond what is stated an explanation must go; what has no stated limit stands between the two.
fn strain(explanation: &Explanation) -> f64 {
    let amount = explanation.amount.unwrap_or(0.0).abs();
    match (explanation.stated_limit, explanation.unit) {
        (Some(limit), _) => amount / limit.max(f64::MIN_POSITIVE),
        // A probe is easily some 10 mm off (common practice, no source).
        (None, "m") => amount / 0.01,
        (None, _) => f64::MAX,
    }
}

/// How far from the centre the axial field differs by `relative`, if it does so within the radius.
fn distance_of_deviation(assembly: &Assembly, direction: Vector3<f64>, relative: f64) -> Option<f64> {
    const STEPS: usize = 100;
    let centre = assembly.field_per_ampere(&Vector3::zeros()).z;
    let radius = assembly.windings().first()?.section.mean_radius_m;
    // The probe corrects nothing it does not know, so the reading is off by the deviation itself.
    let excess =
        |distance: f64| assembly.field_per_ampere(&(direction * distance)).z / centre - 1.0 - relative;
    let step = 0.9 * radius / STEPS as f64;
    let crossing = (0..STEPS).find(|n| {
        let from = *n as f64 * step;
        excess(from).signum() != excess(from + step).signum()
    })?;
    let from = crossing as f64 * step;
    let root = brent_root(excess, from, from + step, 1e-6 * radius);
    root.converged().then_some(root.at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{FieldMeter, Meter};
    use crate::questions::calibrate::budget;
    use approx::assert_relative_eq;

    fn slope(tesla_per_ampere: f64, standard_uncertainty: f64) -> Slope {
        Slope { tesla_per_ampere, standard_uncertainty, expanded_uncertainty: 2.0 * standard_uncertainty }
    }

    fn compared(factor: f64) -> (Bench, Agreement) {
        let mut bench = crate::questions::calibrate::tests::bench();
        bench.field_meter = Some(FieldMeter { accuracy_of_reading: Some(0.01), zero_tesla: Some(0.0) });
        bench.ammeter =
            Some(Meter { resolution: Some(0.01), accuracy_of_reading: Some(0.005), accuracy_digits: 1.0 });
        let assembly = Assembly::of(&bench);
        let build = budget::of_the_build(&bench).unwrap();
        let k = assembly.field_per_ampere(&Vector3::zeros()).z;
        let agreement =
            agreement(&bench, &assembly, &slope(k, 1e-3 * k), &build, &slope(factor * k, 1e-3 * k));
        (bench, agreement.unwrap())
    }

    fn amount(agreement: &Agreement, cause: Cause) -> f64 {
        agreement.explanations.iter().find(|one| one.cause == cause).unwrap().amount.unwrap()
    }

    #[test]
    fn the_normalised_difference_divides_by_both_expanded_uncertainties() {
        // ISO/IEC 17043:2010, annex B: E_n = (x − X)/√(U² + U²). Here 0.2 % over √2 × 0.2 %.
        let (_, agreement) = compared(1.002);
        assert_relative_eq!(agreement.normalised_difference, 1.0 / 2f64.sqrt(), max_relative = 1e-9);
        assert!(agreement.agree && agreement.explanations.is_empty());
        assert!(!compared(0.995).1.agree);
    }

    #[test]
    fn a_difference_is_translated_into_turns_spacing_and_radius() {
        // Helmholtz pair: d ln k is 1/2 a turn fraction of one coil, −3/5 of the spacing, −2/5 of both radii.
        let (bench, agreement) = compared(0.98);
        let radius = bench.winding.mean_radius_m;
        assert_relative_eq!(amount(&agreement, Cause::TurnsMissing), 0.02 * 2.0 * 130.0, max_relative = 1e-5);
        assert_relative_eq!(amount(&agreement, Cause::Spacing), 0.02 / 0.6 * radius, max_relative = 1e-5);
        assert_relative_eq!(amount(&agreement, Cause::MeanRadius), 0.02 / 0.4 * radius, max_relative = 1e-5);
        assert_relative_eq!(amount(&agreement, Cause::ProbeGain), -0.02, max_relative = 1e-9);
        // On the axis the deviation is −(144/125)(z/R)⁴ + (19712/15625)(z/R)⁶ − … (Helmholtz series).
        let z = amount(&agreement, Cause::ProbeAlongAxis) / radius;
        let series = -1.152 * z.powi(4) + 19712.0 / 15625.0 * z.powi(6) - 29952.0 / 78125.0 * z.powi(8);
        assert_relative_eq!(series, -0.02, max_relative = 1e-2);
        // The probe may be 1 % off by what the spec states: the least strained explanation of 2 %.
        assert!(agreement.explanations.windows(2).all(|pair| strain(&pair[0]) <= strain(&pair[1])));
    }

    #[test]
    fn a_field_above_the_centres_is_not_blamed_on_a_probe_along_the_axis_of_a_pair() {
        let (_, agreement) = compared(1.02);
        assert!(!agreement.explanations.iter().any(|one| one.cause == Cause::ProbeAlongAxis));
    }

    #[test]
    fn nothing_is_listed_that_the_pair_has_not_got() {
        for factor in [0.3, 0.65, 0.75, 1.35, 3.7, 900.0, 1e5, -40.0] {
            let (bench, agreement) = compared(factor);
            let first = &agreement.explanations[0];
            assert!(
                matches!(first.cause, Cause::UnitsMixedUp | Cause::CurrentAndFieldSwapped),
                "{factor}: {first:?}"
            );
            let radius = bench.winding.mean_radius_m;
            for one in &agreement.explanations[1..] {
                let amount = one.amount.unwrap().abs();
                let most = match one.unit {
                    "turn" => 0.12 * 260.0,
                    "m" if matches!(one.cause, Cause::Spacing | Cause::MeanRadius) => 0.12 * radius,
                    "m" => radius,
                    _ => 0.12,
                };
                assert!(amount <= most, "{factor}: {one:?}");
            }
        }
        // To first order 50 % would ask for a spacing 125 mm smaller, of 150 mm.
        assert!(!compared(1.5).1.explanations.iter().any(|one| one.cause == Cause::Spacing));
        // A tenth of the turns is still told, and nothing of units.
        let causes: Vec<Cause> = compared(0.9).1.explanations.iter().map(|one| one.cause).collect();
        assert!(
            causes.contains(&Cause::TurnsMissing) && !causes.contains(&Cause::UnitsMixedUp),
            "{causes:?}"
        );
    }

    #[test]
    fn mixed_up_units_and_columns_are_known_by_their_ratio() {
        assert_eq!([9.7, 1050.0, -0.1, 1e-3].map(power_of_ten), [Some(1), Some(3), Some(-1), Some(-3)]);
        assert_eq!([1.0, 0.95, 3.0, 0.0, f64::INFINITY].map(power_of_ten), [None; 5]);
        let causes = |factor: f64| -> Vec<Cause> {
            compared(factor).1.explanations.iter().map(|one| one.cause).collect()
        };
        // Currents in milliamperes under a heading in amperes; near nought, so a coil may also be backwards.
        assert_eq!(causes(1e-3), [Cause::UnitsMixedUp, Cause::CoilReversed]);
        assert_eq!(causes(10.0), [Cause::UnitsMixedUp]);
        // So uncertain that it agrees: the power of ten is told all the same.
        let (bench, _) = compared(1.0);
        let assembly = Assembly::of(&bench);
        let at_centre = assembly.field_per_ampere(&Vector3::zeros()).z;
        let (computed, open) = (slope(at_centre, 1e-3 * at_centre), slope(1e3 * at_centre, 1e4 * at_centre));
        let open = agreement(&bench, &assembly, &computed, &[], &open).unwrap();
        assert!(open.agree && open.explanations.len() == 1);
        // k mT/A read as A/mT: 1/k mT/A.
        let k = 1e3 * Assembly::of(&compared(1.0).0).field_per_ampere(&Vector3::zeros()).z;
        assert_eq!(causes(1.01 / (k * k))[0], Cause::CurrentAndFieldSwapped);
    }

    #[test]
    fn a_wrong_connection_is_recognised_by_its_ratio() {
        for (factor, cause) in
            [(-1.01, Cause::LeadsReversed), (0.02, Cause::CoilReversed), (0.505, Cause::OneCoilOrParallel)]
        {
            let explanations = compared(factor).1.explanations;
            assert_eq!(explanations.len(), 1);
            assert_eq!(explanations[0].cause, cause);
        }
    }
}
