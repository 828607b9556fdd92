//! The probability of each fault of readings or pair, and of none.
//!
//! Each hypothesis is fitted to the readings. The computed line, the meters' gains and the room keep their
//! uncertainties, and the likelihood is integrated over the possible sizes of the fault. Faults with the same effect on
//! these readings form one class. From readings at the centre alone, a tilted probe, missing turns, the spacing and a
//! meter's gain all change one number, the slope.

mod hypotheses;
mod points;
mod reach;
mod record;

pub use record::{Bend, Cause, CauseClass, Explanation, Hypothesis, Measurement};

use crate::Result;
use crate::judgement::agreement::birge;
use crate::judgement::{Class, Data, Evidence, Member, judge, left_unexplained, ln_sum, weigh_faults};
use crate::pair::Bench;
use crate::physics::build_error::BuildParameter;
use crate::physics::field::PreparedPair;
use crate::physics::slope::Slope;
use crate::questions::calibrate::fit::Fit;
use crate::questions::calibrate::readings::Readings;
use hypotheses::{CalibrationFault, Hypotheses};
use points::Points;
pub(super) use points::{MOST_POINTS, STATED_TOO_SMALL, UNSTATED_BUILD};
use reach::size_for;

/// Classes less probable than this are left out of the record.
const LEAST_PROBABILITY: f64 = 0.01;
/// A member whose chi-square exceeds that of the best member of its class by more than this does not explain the
/// readings (two standard uncertainties).
const DOES_NOT_FIT: f64 = 4.0;
/// A member whose chi-square exceeds the best by less than this fits as well.
const FITS_AS_WELL: f64 = 1.0;

/// The probabilities of all faults, given the readings.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Judged {
    /// Probability that there is no fault.
    pub none: f64,
    /// The faults in classes that these readings can tell apart, most probable first.
    pub classes: Vec<CauseClass>,
    /// Probability of a chi-square at least as large as that of the best hypothesis, with the uncertainties as large as
    /// they may be. `None` if none are stated.
    pub best_fit_probability: Option<f64>,
    /// How well one reading can stand out against the others.
    pub singled_out: SingledOut,
    /// Factor by which the readings scatter more about their line than stated. `None` if stated uncertainties may be
    /// too small by that much.
    pub excess_scatter: Option<f64>,
}

/// How well one reading can stand out against the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SingledOut {
    /// By the stated uncertainties.
    ByStated,
    /// By the scatter of the others alone.
    ByScatter,
    /// Hardly: too few readings are left to show a scatter.
    Hardly,
}

/// From this many degrees of freedom on, the scatter of the others can single out one reading. With one or two, any
/// reading may seem to stand out (common practice, no source).
const SINGLES_OUT_FROM: usize = 3;

/// Computes the probabilities of all faults.
pub(super) fn judge_readings(
    pair: &PreparedPair,
    computed: &Slope,
    readings: &Readings,
    fit: &Fit,
) -> Result<Judged> {
    let bench = pair.bench();
    let points = Points::of(readings, fit, computed)?;
    let data = points.data(bench, computed)?;
    let faults = Hypotheses { pair, computed, points: &points }.all();
    let relative_change = fit.slope_tesla_per_ampere / computed.tesla_per_ampere - 1.0;
    let apart = FieldsInAnotherUnit { bench, computed, points: &points, times: 1.0 + relative_change };
    let judgement = judge(&faults, &apart.joined_with(weigh_faults(&data, &faults)?, &data, &faults)?)?;
    let classes = judgement
        .classes
        .iter()
        .filter(|class| class.probability >= LEAST_PROBABILITY)
        .map(|class| {
            Telling { bench, readings, points: &points, faults: &faults, relative_change }.class(class)
        })
        .collect();
    let best_fit_probability = points
        .is_stated()
        .then(|| -> Result<f64> {
            let as_written = best_fit_probability(&data, &faults)?;
            let turned = points.turned_by_their_signs();
            let turned = turned.map(|points| best_fit_probability(&points.data(bench, computed)?, &[]));
            let best = turned.transpose()?.map_or(as_written, |turned| turned.max(as_written));
            faults
                .iter()
                .filter_map(|fault| apart.data(fault))
                .try_fold(best, |best, data| Ok(best_fit_probability(&data?, &[])?.max(best)))
        })
        .transpose()?;
    let singled_out = match (points.is_stated(), fit.degrees_of_freedom >= SINGLES_OUT_FROM) {
        (true, _) => SingledOut::ByStated,
        (false, true) => SingledOut::ByScatter,
        (false, false) => SingledOut::Hardly,
    };
    let excess_scatter = fit.scatter_factor.filter(|factor| *factor > STATED_TOO_SMALL);
    Ok(Judged { none: judgement.none, classes, best_fit_probability, singled_out, excess_scatter })
}

/// Fields in another unit than that of the heading, beside uncertainties in the heading's unit: someone copied the
/// uncertainties from the meter's papers. In the other hypotheses of mixed-up units both are in the other unit.
struct FieldsInAnotherUnit<'a> {
    bench: &'a Bench,
    computed: &'a Slope,
    points: &'a Points,
    /// Fitted over computed slope.
    times: f64,
}

/// How far the fitted slope may be from the computed one times the ratio of the units, for that to be tried.
const NEAR_THE_UNIT: f64 = 0.3;

impl FieldsInAnotherUnit<'_> {
    /// The ratio of the units; `None` for other faults, and if the slope is far from that unit.
    fn ratio(&self, fault: &CalibrationFault) -> Option<f64> {
        let Hypothesis { cause: Cause::UnitsMixedUp, power: Some(power), .. } = fault.cause else {
            return None;
        };
        let ratio = 10f64.powi(power);
        (self.points.is_stated() && (self.times / ratio - 1.0).abs() < NEAR_THE_UNIT).then_some(ratio)
    }

    /// The data with the fields in the heading's unit.
    fn data(&self, fault: &CalibrationFault) -> Option<Result<Data>> {
        let ratio = self.ratio(fault)?;
        Some(self.points.with_fields_divided_by(ratio).data(self.bench, self.computed))
    }

    /// The evidence if either way of mixing up units is equally likely. The density of n fields, each divided by the ratio,
    /// is that of the fields as written times the ratio to the power n.
    fn joined_with(
        &self,
        mut evidence: Evidence,
        written: &Data,
        faults: &[CalibrationFault],
    ) -> Result<Evidence> {
        let left = |data: &Data| left_unexplained::<Hypothesis>(data, &[], 1.0).map(|left| left.chi_square);
        for (fault, found) in faults.iter().zip(&mut evidence.faults) {
            let (Some(ratio), Some(data)) = (self.ratio(fault), self.data(fault)) else { continue };
            let data = data?;
            let apart = weigh_faults::<Hypothesis>(&data, &[])?.none - data.len() as f64 * ratio.ln();
            let either = [found.ln_evidence, apart].map(|ln_evidence| ln_evidence - std::f64::consts::LN_2);
            let joined = ln_sum(either.into_iter());
            *found = match apart > found.ln_evidence {
                true => found.clone().wholly_present(joined, left(written)? - left(&data)?),
                false => found.clone().with_ln_evidence(joined),
            };
        }
        Ok(evidence)
    }
}

/// Probability of a chi-square at least as large as that which the best hypothesis leaves, if the stated uncertainties
/// are as much too small as they may be.
fn best_fit_probability(data: &Data, faults: &[CalibrationFault]) -> Result<f64> {
    let left = left_unexplained(data, faults, STATED_TOO_SMALL)?;
    // The size of the best fault is fitted as well.
    match left.degrees_of_freedom {
        0 | 1 => Ok(1.0),
        degrees => Ok(birge(left.chi_square, degrees - 1)?.probability),
    }
}

/// Everything needed to describe the members of a class.
struct Telling<'a> {
    bench: &'a Bench,
    readings: &'a Readings,
    points: &'a Points,
    faults: &'a [CalibrationFault<'a>],
    /// Fitted over computed slope, minus one.
    relative_change: f64,
}

impl Telling<'_> {
    fn class(&self, class: &Class<Hypothesis>) -> CauseClass {
        let mut members: Vec<Explanation> = Vec::new();
        // Faults of a fixed size come first: they predict the size that was found.
        let rank = |member: &&Member<Hypothesis>| (!member.possible, !member.cause.cause.is_all_or_nothing());
        let mut ranked: Vec<&Member<Hypothesis>> =
            class.members.iter().filter(|member| member.shortfall < DOES_NOT_FIT).collect();
        ranked.sort_by_key(rank);
        for member in ranked {
            let cause = member.cause.cause;
            // A fault of a fixed size that does not fit is left out, and so is a second reversed coil.
            let pointless = cause.is_all_or_nothing() && !member.possible;
            let twice = members.iter().any(|known| known.cause == cause && cause == Cause::CoilReversed);
            if !(pointless || twice) {
                members.extend(self.explanation(member));
            }
        }
        // Beside a fault of a fixed size that fits, members of an implausible size are left out.
        if members.iter().any(|one| one.plausible && one.cause.is_all_or_nothing()) {
            members.retain(|one| one.plausible);
        }
        members.sort_by_key(|one| !one.plausible);
        let fitting: Vec<Cause> = members.iter().filter(|one| one.plausible).map(|one| one.cause).collect();
        let best = class.first().cause.cause;
        // A member that fits as well and changes the slope: the readings then show no more than a change of the slope.
        let or_the_slope = class.members.iter().any(|member| {
            member.shortfall < FITS_AS_WELL && member.possible && !member.cause.cause.is_within_the_readings()
        });
        let cause = match fitting[..] {
            [first, ..] if first.is_all_or_nothing() || fitting.len() == 1 => first,
            _ if best.is_within_the_readings() && !or_the_slope => best,
            _ => Cause::SlopeFactor,
        };
        let mut measure: Vec<Measurement> = Vec::new();
        for one in fitting.iter().map(|cause| cause.measurement()) {
            if !measure.contains(&one) {
                measure.push(one);
            }
        }
        CauseClass { cause, probability: class.probability, members, measure }
    }

    /// One member with its size. `None` if it changes the slope, but cannot change it by as much as was found or in
    /// that direction.
    fn explanation(&self, member: &Member<Hypothesis>) -> Option<Explanation> {
        let Hypothesis { cause, reading: at, power, bend } = member.cause;
        let reading = at.and_then(|at| self.readings.readings.get(at));
        let sized = !cause.is_all_or_nothing();
        let (size, plausible) = if sized && cause.changes_the_slope_alone() {
            let fault = &self.faults[member.fault];
            let size = size_for(fault, self.points, self.relative_change)?;
            (size, fault.sizes.allows(size, member.standard_uncertainty))
        } else {
            (member.size, member.possible)
        };
        Some(Explanation {
            cause,
            amount: match power {
                Some(power) => Some(10f64.powi(power)),
                None => sized.then_some(size),
            },
            amount_standard_uncertainty: sized
                .then_some(member.standard_uncertainty)
                .filter(|uncertainty| uncertainty.is_finite()),
            unit: cause.unit(),
            stated_limit: stated_limit(cause, self.bench),
            plausible,
            line: reading.map(|reading| reading.line),
            label: reading.and_then(|reading| reading.label.clone()),
            power_of_ten: power,
            bend,
            sign_reversed: cause == Cause::MisreadReading
                && at.is_some_and(|at| self.points.has_the_other_sign(at)),
        })
    }
}

/// The limit that the spec states for a cause.
fn stated_limit(cause: Cause, bench: &Bench) -> Option<f64> {
    let limit =
        |parameter: BuildParameter| bench.build_tolerance.map(|tolerance| parameter.limit(&tolerance));
    match cause {
        // The amount is counted over both coils.
        Cause::TurnsMissing => limit(BuildParameter::Turns).map(|each| 2.0 * each),
        Cause::Spacing => limit(BuildParameter::Spacing),
        Cause::MeanRadius => limit(BuildParameter::MeanRadius),
        Cause::ProbeGain => bench.field_meter.and_then(|meter| meter.accuracy_of_reading),
        Cause::AmmeterGain => bench.ammeter.and_then(|meter| meter.accuracy_of_reading),
        Cause::AmmeterZero => bench.ammeter.map(|meter| meter.limit_of_error(0.0)),
        _ => None,
    }
}
