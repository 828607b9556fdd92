//! Compares a calibration with an older one of the same pair: whether the slope has drifted, and whether the old table
//! still holds.
//!
//! Two lines of one pair measured with the same meters share errors: the same turns, the same radius, the same gain.
//! Shared errors cancel in the change. If both lines were made from the same spec file, the change is therefore also
//! compared with the uncertainty of what they do not share,
//!
//! ```text
//! u² = Σ_shared (c_new − c_old)² + Σ_own (c_new² + c_old²)
//! ```
//!
//! with c the contributions with their signs (JCGM 100:2008, 5.2.2, correlation 1). Only the owner knows whether it was
//! the same meter, so both results are given.
//!
//! A combined slope rests partly on the geometry, and a computed one wholly; the geometry does not follow changes of
//! the pair. If either line is of this kind, the slopes fitted to the readings of both are compared as well.
//!
//! A meter that was calibrated between the two may have been adjusted. Its errors then count as not shared.

use super::adopted::AdoptedLine;
use super::issue::Happened;
use crate::numeric::coverage;
use crate::numeric::coverage::Contribution;
use crate::pair::{Instrument, Provenance, Read, RenewedMeter, meters_renewed};
use crate::physics::budget_source::BudgetSource;
use crate::physics::build_error::CoilName;
use crate::physics::slope::{AdoptedFrom, BudgetEntry, Slope};
use serde::Serialize;

/// The change of the slope since an older line.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Drift {
    /// Program and spec of the older line.
    pub previous: Provenance,
    /// The number of the older certificate, if it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub previous_certificate: Option<String>,
    /// The older slope.
    #[serde(flatten, serialize_with = "Slope::as_previous")]
    pub previous_slope: Slope,
    /// New over old slope, minus one.
    pub relative_change: f64,
    /// E_n: (new − old) / √(U(new)² + U(old)²), as if the two lines had nothing in common; `None` where either uncertainty is
    /// not known.
    pub normalised_difference: Option<f64>,
    /// E_n with what both lines share cancelled, as for one pair measured with the same meters; `None` where the specs
    /// differ, either line holds no budget, or nothing is left to compare by.
    pub normalised_difference_same_meters: Option<f64>,
    /// The meters that were calibrated or replaced between the two. Their errors are not shared.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub instruments_renewed: Vec<String>,
    /// These meters, and what was done.
    #[serde(skip)]
    pub(crate) meters_renewed: Vec<RenewedMeter>,
    /// The sources that both lines share, each once.
    pub shared_sources: Vec<BudgetSource>,
    /// Whether the older table still holds: the pair was not changed since, the new slope lies within what the table
    /// promised, its expanded uncertainty, and no |E_n| above 1 says that the slope has changed. `None` where that
    /// uncertainty is not known.
    pub old_table_holds: Option<bool>,
    /// Why it does not hold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_table_ended: Option<OldTableEnded>,
    /// Whether the two were made from the same spec file.
    pub same_spec: bool,
    /// Whether the specs agree in coils and meters.
    pub same_apparatus: bool,
    /// The change of the slope fitted to readings, if another line was adopted: only the fitted slope shows a drift.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fitted: Option<FittedChange>,
    /// Whether one of the two lacks a fitted slope, so that the comparison cannot show a drift.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub without_fit: bool,
    /// The origin of the new slope.
    #[serde(skip)]
    pub(crate) now_from: AdoptedFrom,
}

/// Why an older table no longer holds.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "why", rename_all = "snake_case")]
#[non_exhaustive]
pub enum OldTableEnded {
    /// The pair was adjusted or repaired since.
    PairChanged {
        /// What was done, as far as a register tells it.
        #[serde(skip_serializing_if = "Vec::is_empty")]
        happened: Vec<Happened>,
    },
    /// The new slope lies beyond the older one's expanded uncertainty.
    BeyondUncertainty,
    /// The slope has changed, though by less than that.
    SlopeChanged {
        /// E_n, above 1 in magnitude.
        normalised_difference: f64,
    },
}

impl Drift {
    /// Ends the older table because the pair was changed since. Nothing that the slopes show makes it hold again.
    pub(crate) fn pair_changed(&mut self, happened: Vec<Happened>) {
        self.old_table_holds = Some(false);
        self.old_table_ended = Some(OldTableEnded::PairChanged { happened });
    }

    /// Judges the older table by the change of the adopted slope and, if there is one, of the fitted slope.
    fn judge_old_table(&mut self) {
        let Some(promised) = self.previous_slope.expanded_uncertainty() else { return };
        let by = |relative: f64| (relative * self.previous_slope.tesla_per_ampere).abs();
        let fitted = self.fitted.as_ref();
        let of_fitted = fitted.and_then(|change| Some((change.decisive()?, change.relative_change)));
        let significant = of_fitted.filter(|(difference, _)| difference.abs() > 1.0);
        let own = self.normalised_difference_same_meters.or(self.normalised_difference);
        let beyond = by(self.relative_change) > promised
            || significant.is_some_and(|(_, relative)| by(relative) > promised);
        let changed =
            significant.map(|(difference, _)| difference).or(own.filter(|difference| difference.abs() > 1.0));
        self.old_table_ended = match (beyond, changed) {
            (true, _) => Some(OldTableEnded::BeyondUncertainty),
            (false, Some(normalised_difference)) => {
                Some(OldTableEnded::SlopeChanged { normalised_difference })
            }
            (false, None) => None,
        };
        self.old_table_holds = Some(self.old_table_ended.is_none());
    }
}

/// The change of the slope fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FittedChange {
    /// New over old fitted slope, minus one.
    pub relative_change: f64,
    /// E_n, treating the two as independent.
    pub normalised_difference: Option<f64>,
    /// E_n with the shared errors cancelled, as for one pair measured with the same meters.
    pub normalised_difference_same_meters: Option<f64>,
}

impl FittedChange {
    /// Whether the change exceeds the uncertainty of both slopes. If both specs are one file, the same meters are assumed.
    pub fn is_significant(&self) -> bool {
        self.decisive().is_some_and(|difference| difference.abs() > 1.0)
    }

    /// E_n with the shared errors cancelled if that is known, else treating the two as independent.
    fn decisive(&self) -> Option<f64> {
        self.normalised_difference_same_meters.or(self.normalised_difference)
    }
}

/// Compares an adopted slope with an older line. If either is not the fitted slope, the slopes fitted to the readings are
/// compared as well.
pub(super) fn since(previous: &AdoptedLine, now: &Side, beside: Option<&Slope>) -> Drift {
    let mut adopted = drift(&Side::of(previous, &previous.slope), now);
    adopted.previous_certificate.clone_from(&previous.certificate);
    let both_are_fits = [previous.slope.from, now.slope.from].iter().all(|from| *from == AdoptedFrom::Fit);
    if both_are_fits {
        return adopted;
    }
    let fitted = match now.slope.from {
        AdoptedFrom::Fit => Some(now.slope.clone()),
        _ => beside.cloned(),
    };
    let Some((old, new)) = previous.fitted_slope().zip(fitted) else {
        adopted.without_fit = true;
        return adopted;
    };
    let change = drift(&Side::of(previous, &old), &Side { slope: &new, ..*now });
    let fitted = FittedChange {
        relative_change: change.relative_change,
        normalised_difference: change.normalised_difference,
        normalised_difference_same_meters: change.normalised_difference_same_meters,
    };
    adopted.fitted = Some(fitted);
    adopted.judge_old_table();
    adopted
}

/// A slope to compare, and what it was made with.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Side<'a> {
    /// The slope, with its budget.
    pub slope: &'a Slope,
    /// The spec and the program.
    pub provenance: &'a Provenance,
    /// Digest of coils and meters, where it is known.
    pub apparatus: Option<&'a str>,
    /// The instruments of the measurement, as far as the spec names them.
    pub instruments: &'a [Instrument],
}

impl<'a> Side<'a> {
    /// The given slope of a line.
    pub(crate) fn of(line: &'a AdoptedLine, slope: &'a Slope) -> Self {
        Self {
            slope,
            provenance: &line.provenance,
            apparatus: line.apparatus_digest.as_deref(),
            instruments: &line.instruments,
        }
    }

    /// Whether both were made with the same coils and meters, as far as their specs say.
    fn shares_apparatus(&self, other: &Self) -> bool {
        self.provenance.spec_digest == other.provenance.spec_digest
            || (self.apparatus.is_some() && self.apparatus == other.apparatus)
    }
}

/// Compares a slope and its budget with an older one.
pub(crate) fn drift(older: &Side, newer: &Side) -> Drift {
    let (previous, now) = (older.slope, newer.slope);
    let old = previous.tesla_per_ampere;
    let change = now.tesla_per_ampere - old;
    let same_apparatus = older.shares_apparatus(newer);
    let renewed = meters_renewed(older.instruments, newer.instruments);
    let reads: Vec<Read> = renewed.iter().map(|meter| meter.reads).collect();
    let instruments_renewed = renewed.iter().map(|meter| meter.name.clone()).collect();
    let have_budgets = [previous, now].iter().all(|slope| !slope.budget.is_empty());
    let change_alone =
        (same_apparatus && have_budgets).then(|| ChangeAlone::of(&now.budget, &previous.budget, &reads));
    let mut drift = Drift {
        previous: older.provenance.clone(),
        previous_certificate: None,
        previous_slope: previous.clone(),
        relative_change: change / old,
        normalised_difference: now.normalised_difference(previous),
        normalised_difference_same_meters: change_alone.as_ref().and_then(|alone| {
            let expanded = Some(alone.expanded_uncertainty_tesla_per_ampere);
            coverage::normalised_difference([now.tesla_per_ampere, old], [expanded, Some(0.0)])
        }),
        instruments_renewed,
        meters_renewed: renewed,
        shared_sources: change_alone.map_or(Vec::new(), |alone| alone.shared_sources),
        old_table_holds: None,
        old_table_ended: None,
        same_spec: older.provenance.spec_digest == newer.provenance.spec_digest,
        same_apparatus,
        fitted: None,
        without_fit: false,
        now_from: now.from,
    };
    drift.judge_old_table();
    drift
}

/// Standard uncertainty of the change if shared errors cancel.
struct ChangeAlone {
    expanded_uncertainty_tesla_per_ampere: f64,
    shared_sources: Vec<BudgetSource>,
}

/// One contribution with its sign.
struct Signed<'a> {
    source: &'a BudgetSource,
    coil: Option<CoilName>,
    tesla_per_ampere: f64,
    degrees_of_freedom: Option<f64>,
}

impl<'a> Signed<'a> {
    fn of(entry: &'a BudgetEntry) -> Self {
        Self {
            source: &entry.source,
            coil: entry.coil,
            tesla_per_ampere: entry
                .contribution_tesla_per_ampere
                .copysign(entry.sensitivity_tesla_per_ampere_per_unit),
            degrees_of_freedom: entry.degrees_of_freedom,
        }
    }
}

impl ChangeAlone {
    fn of(now: &[BudgetEntry], before: &[BudgetEntry], renewed: &[Read]) -> Self {
        let is_renewed = |source: &BudgetSource| source.meter().is_some_and(|meter| renewed.contains(&meter));
        let is_shared = |source: &BudgetSource| source.is_shared() && !is_renewed(source);
        let now = now.iter().map(Signed::of);
        let mut before: Vec<Signed> = before.iter().map(Signed::of).collect();
        let mut shared_sources: Vec<BudgetSource> = Vec::new();
        let mut contributions: Vec<Contribution> = Vec::new();
        let mut add = |tesla_per_ampere: f64, degrees_of_freedom| {
            contributions
                .push(Contribution { standard_uncertainty: tesla_per_ampere.abs(), degrees_of_freedom });
        };
        for new in now {
            let of_both = before
                .iter()
                .position(|old| is_shared(new.source) && (old.source, old.coil) == (new.source, new.coil));
            let Some(place) = of_both else {
                add(new.tesla_per_ampere, new.degrees_of_freedom);
                continue;
            };
            let old = before.swap_remove(place);
            add(new.tesla_per_ampere - old.tesla_per_ampere, new.degrees_of_freedom);
            if new.tesla_per_ampere != 0.0 && !shared_sources.contains(new.source) {
                shared_sources.push(new.source.clone());
            }
        }
        for old in before {
            add(old.tesla_per_ampere, old.degrees_of_freedom);
        }
        let standard = coverage::combined_standard_uncertainty(&contributions);
        let factor = coverage::coverage_factor(coverage::effective_degrees_of_freedom(&contributions));
        Self { expanded_uncertainty_tesla_per_ampere: factor * standard, shared_sources }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::budget_source::BudgetSource::{Build, Fit, ProbeGain, Temperature};
    use crate::physics::build_error::BuildParameter::Spacing;
    use crate::physics::slope::{SlopeUncertainty, Spread};
    use crate::questions::calibrate::adopted::ValidityPart;
    use approx::assert_relative_eq;

    fn line(slope: f64, budget: &[BudgetEntry]) -> AdoptedLine {
        AdoptedLine {
            provenance: Provenance {
                contradictions: Vec::new(),
                program: "coilwright 0.1.0".into(),
                spec_title: "Pair".into(),
                spec_digest: "0123456789ab".into(),
                date: None,
            },
            apparatus_digest: None,
            instruments: Vec::new(),
            slope: with(slope, budget),
            intercept_tesla: 0.0,
            intercept_standard_uncertainty_tesla: 0.0,
            intercept_covariance_with_slope: None,
            room: None,
            validity: ValidityPart { current_limit_ampere: 3.0 },
            fitted: None,
            in_dispute: false,
            certificate: None,
        }
    }

    /// A slope with U = 2 µT/A and this budget, whose sum may be another.
    fn with(slope: f64, budget: &[BudgetEntry]) -> Slope {
        Slope {
            uncertainty: Some(SlopeUncertainty {
                standard_tesla_per_ampere: 1e-6,
                expanded_tesla_per_ampere: 2e-6,
                coverage_factor: 2.0,
                degrees_of_freedom: None,
            }),
            ..Slope::of(AdoptedFrom::Fit, slope, budget.to_vec())
        }
    }

    fn of_line(previous: &AdoptedLine, now: &Slope, provenance: &Provenance) -> Drift {
        let now = Side { slope: now, provenance, apparatus: None, instruments: &[] };
        drift(&Side::of(previous, &previous.slope), &now)
    }

    fn now(slope: f64) -> Slope {
        with(slope, &[])
    }

    #[test]
    fn the_old_table_holds_as_long_as_the_change_stays_within_what_it_promised() {
        let previous = line(8e-4, &[]);
        let small = of_line(&previous, &now(8.01e-4), &previous.provenance);
        assert!(small.old_table_holds == Some(true) && small.same_spec);
        // 1 µT/A over √(2² + 2²) µT/A.
        assert!((small.normalised_difference.unwrap() - 1.0 / 8f64.sqrt()).abs() < 1e-9);
        let large = of_line(&previous, &now(7.95e-4), &previous.provenance);
        assert_eq!(large.old_table_holds, Some(false));
        assert!((large.relative_change + 5.0 / 800.0).abs() < 1e-12);
        // A file of an older program holds no budget: nothing is known of what is shared.
        assert_eq!((large.normalised_difference_same_meters, large.shared_sources.len()), (None, 0));
    }

    #[test]
    fn nothing_is_said_of_a_change_from_or_to_a_slope_of_unknown_uncertainty() {
        let unknown = |slope| Slope::of(AdoptedFrom::Fit, slope, Vec::new());
        let budget = [BudgetEntry::relative(Fit, Spread::Normal, 1e-3, 8e-4)];
        let older = AdoptedLine { slope: unknown(8e-4), ..line(8e-4, &[]) };
        // The new slope's own U of 2 µT/A alone would make an E_n of 5.
        let found = of_line(&older, &with(8.1e-4, &budget), &older.provenance);
        assert_eq!((found.normalised_difference, found.normalised_difference_same_meters), (None, None));
        assert_eq!(found.old_table_holds, None);
        let json = serde_json::to_value(&found).unwrap();
        assert_eq!(json["previous_slope_tesla_per_ampere"], 8e-4);
        assert!(json["previous_slope_expanded_uncertainty_tesla_per_ampere"].is_null());
        // The older table's promise is known whatever the new slope's uncertainty is.
        let previous = line(8e-4, &budget);
        let found = of_line(&previous, &unknown(8.1e-4), &previous.provenance);
        assert_eq!((found.normalised_difference, found.normalised_difference_same_meters), (None, None));
        assert_eq!(found.old_table_holds, Some(false));
        // A drift of the fitted slope beside it does not make a promise of the older table either.
        let combined = Slope { from: AdoptedFrom::Combined, ..unknown(8e-4) };
        let fitted = |slope| Slope::of(AdoptedFrom::Fit, slope, budget.to_vec());
        let older = AdoptedLine { slope: combined, fitted: Some(fitted(8e-4)), ..line(8e-4, &[]) };
        let slope = Slope { from: AdoptedFrom::Combined, ..with(8e-4, &budget) };
        let told = since(&older, &Side::of(&older, &slope), Some(&fitted(7.9e-4)));
        assert!(told.fitted.unwrap().is_significant() && told.old_table_holds.is_none());
    }

    #[test]
    fn what_the_same_meters_share_cancels_in_the_change() {
        let gain = BudgetEntry::relative(ProbeGain, Spread::Rectangular, 1e-2, 8e-4);
        let own = |source, relative| BudgetEntry::relative(source, Spread::Normal, relative, 8e-4);
        let budget = [gain, own(Fit, 1e-3), own(Temperature, 5e-4)];
        let previous = line(8e-4, &budget);
        let found = of_line(&previous, &with(8.01e-4, &budget), &previous.provenance);
        assert_eq!(found.shared_sources, [ProbeGain]);
        // By hand: fit and temperature of both lines, 2 (0.8² + 0.4²) (µT/A)² in 10⁻¹², and k = 2.
        let wanted = 1e-6 / (2.0 * (2.0 * (0.8e-6f64.powi(2) + 0.4e-6f64.powi(2))).sqrt());
        assert_relative_eq!(found.normalised_difference_same_meters.unwrap(), wanted, max_relative = 1e-9);
        // A gain that counts for less in one of the two, as in a weighted mean, cancels in part.
        let weighted = [budget[0].weighted(0.5), budget[1].clone(), budget[2].clone()];
        let found = of_line(&line(8e-4, &weighted), &with(8.01e-4, &budget), &previous.provenance);
        let part = 0.5 * 1e-2 * 8e-4;
        let wanted = 1e-6 / (2.0 * (part * part + 2.0 * (0.8e-6f64.powi(2) + 0.4e-6f64.powi(2))).sqrt());
        assert_relative_eq!(found.normalised_difference_same_meters.unwrap(), wanted, max_relative = 1e-9);
        // With another spec, nothing is known to be shared.
        let other = Provenance { spec_digest: "ffffffffffff".into(), ..previous.provenance.clone() };
        let found = of_line(&previous, &with(8.01e-4, &budget), &other);
        assert!(found.normalised_difference_same_meters.is_none() && found.shared_sources.is_empty());
        // A spec that is kept up to date still describes the same coils and meters.
        let kept = AdoptedLine { apparatus_digest: Some("aa".into()), ..previous };
        let slope = with(8.01e-4, &budget);
        let side = |apparatus| Side {
            slope: &slope,
            provenance: &other,
            apparatus: Some(apparatus),
            instruments: &[],
        };
        let same = drift(&Side::of(&kept, &kept.slope), &side("aa"));
        assert!(same.same_apparatus && !same.same_spec && same.normalised_difference_same_meters.is_some());
        assert!(!drift(&Side::of(&kept, &kept.slope), &side("bb")).same_apparatus);
    }

    #[test]
    fn no_older_table_holds_after_a_change_of_the_pair_or_with_an_e_n_above_one() {
        let budget = [
            BudgetEntry::relative(ProbeGain, Spread::Rectangular, 1e-2, 8e-4),
            BudgetEntry::relative(Fit, Spread::Normal, 1e-4, 8e-4),
        ];
        let previous = line(8e-4, &budget);
        // 1 µT/A is within U = 2 µT/A; by hand, E_n without the gain is 1 over 2 √2 × 0.08.
        let mut told = of_line(&previous, &with(8.01e-4, &budget), &previous.provenance);
        assert_eq!(told.old_table_holds, Some(false));
        let Some(OldTableEnded::SlopeChanged { normalised_difference }) = told.old_table_ended else {
            panic!("{:?}", told.old_table_ended);
        };
        assert_relative_eq!(normalised_difference, 1.0 / (2.0 * 2f64.sqrt() * 0.08), max_relative = 1e-9);
        let mut same = of_line(&previous, &with(8e-4, &budget), &previous.provenance);
        assert_eq!((same.old_table_holds, &same.old_table_ended), (Some(true), &None));
        let far = of_line(&previous, &with(8.1e-4, &budget), &previous.provenance);
        assert_eq!(far.old_table_ended, Some(OldTableEnded::BeyondUncertainty));
        // A repair ends it whatever the slopes show.
        let repair = vec![Happened::new("a coil was repaired", None)];
        for drift in [&mut told, &mut same] {
            drift.pair_changed(repair.clone());
            assert_eq!(drift.old_table_holds, Some(false));
            assert_eq!(drift.old_table_ended, Some(OldTableEnded::PairChanged { happened: repair.clone() }));
        }
    }

    #[test]
    fn of_a_meter_that_was_calibrated_anew_nothing_cancels() {
        let meter = |certificate: &str| Instrument {
            serial: Some("M 4".into()),
            certificate: Some(certificate.into()),
            ..Instrument::new("field meter")
        };
        let budget = [
            BudgetEntry::relative(ProbeGain, Spread::Rectangular, 1e-2, 8e-4),
            BudgetEntry::relative(Build(Spacing), Spread::Normal, 2e-3, 8e-4),
            BudgetEntry::relative(Fit, Spread::Normal, 1e-3, 8e-4),
        ];
        let previous = AdoptedLine { instruments: vec![meter("C-7")], ..line(8e-4, &budget) };
        let slope = with(8.02e-4, &budget);
        let change = |instruments: &[Instrument]| {
            let newer = Side { instruments, ..Side::of(&previous, &slope) };
            drift(&Side::of(&previous, &previous.slope), &newer)
        };
        let same = change(&[meter("C-7")]);
        assert_eq!((same.shared_sources.len(), same.instruments_renewed.len()), (2, 0));
        let renewed = change(&[meter("C-8")]);
        assert_eq!(renewed.instruments_renewed, ["field meter"]);
        assert_eq!(renewed.shared_sources, [Build(Spacing)]);
        // By hand: gain 8 µT/A and fit 0.8 µT/A of each line.
        let wanted = 2e-6 / (2.0 * (2.0 * (8e-6f64.powi(2) + 0.8e-6f64.powi(2))).sqrt());
        let found = renewed.normalised_difference_same_meters.unwrap();
        assert_relative_eq!(found, wanted, max_relative = 1e-9);
        assert!(found.abs() < 1.0 && same.normalised_difference_same_meters.unwrap() > 0.8);
    }

    #[test]
    fn a_drift_that_a_combined_line_hides_is_told_by_the_readings_and_ends_the_old_table() {
        let own = |relative, slope| vec![BudgetEntry::relative(Fit, Spread::Normal, relative, slope)];
        let combined = |slope| Slope { from: AdoptedFrom::Combined, ..with(slope, &[]) };
        let fitted = |slope| Slope::of(AdoptedFrom::Fit, slope, own(1e-3, slope));
        let told_of = |previous: &AdoptedLine, combined_slope, fitted_slope| {
            let slope = combined(combined_slope);
            let now = Side { slope: &slope, apparatus: Some("-"), ..Side::of(previous, &slope) };
            since(previous, &now, Some(&fitted(fitted_slope)))
        };
        let previous =
            AdoptedLine { slope: combined(8e-4), fitted: Some(fitted(8.01e-4)), ..line(8e-4, &[]) };
        // The readings' slope falls by 1 %, the combined one by 0.06 %.
        let told = told_of(&previous, 7.995e-4, 7.93e-4);
        let change = told.fitted.clone().unwrap();
        assert!(change.is_significant() && told.old_table_holds == Some(false) && !told.without_fit);
        // By hand: 8 µT/A over 2 √(0.801² + 0.793²) µT/A.
        let wanted = -8e-6 / (2e-6 * 0.801f64.hypot(0.793));
        assert_relative_eq!(change.normalised_difference_same_meters.unwrap(), wanted, max_relative = 1e-9);
        // A change within the scatter of the readings does not end the table.
        let told = told_of(&previous, 7.995e-4, 8.0e-4);
        assert!(!told.fitted.unwrap().is_significant() && told.old_table_holds == Some(true));
        // An older file holds no fit beside the combined line, so nothing is known of a drift.
        let older = AdoptedLine { fitted: None, ..previous };
        let told = told_of(&older, 7.995e-4, 7.93e-4);
        assert!(told.without_fit && told.fitted.is_none());
    }
}
