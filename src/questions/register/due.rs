//! The day on which the next calibration is due by the owner's rule.
//!
//! ILAC-G24:2022/OIML D 10:2022 leaves the interval to the owner. Two of its methods are offered. One is a fixed
//! interval, the initial choice of clause 5. The other is control by the drift, method 2 (control chart, calendar
//! time): the next calibration is due when the drift, with its expanded uncertainty, may have used the stated part of
//! the allowed error,
//!
//! ```text
//! t = smaller of (part × allowed, allowed − U(k)) / (|d| + k u(d))
//! ```
//!
//! but never later than the fixed interval: drift and the line's own U together stay within the allowed error. Where U(k) alone
//! exceeds that, no day can keep it, and part × allowed counts.
//!
//! A line that rests on the geometry does not follow the drift of the readings. The drift before its own calibration is
//! therefore not in it, and counts as used.
//!
//! A drift that is not significant does not set the day in two cases: if the series is shorter than half the fixed
//! interval, because then its uncertainty alone would set the day (common practice, no source), and if that uncertainty
//! rests on the scatter of three or four values.

use super::rate::DriftRate;
use super::record::{Due, DueBy};
use super::statement::RuleEntry;
use crate::numeric::calendar::{DAYS_IN_A_YEAR, Day};

/// A coverage factor of at least this rests on two degrees of freedom or fewer.
const LEAST_KNOWN: f64 = 4.0;

/// The day on which the calibration after that of `day` is due. `unfollowed_years`: years of earlier drift that the
/// line of `day` does not contain. `expanded_fraction`: its U over k, if that is known. `None` if the day lies beyond the
/// calendar.
pub(super) fn due(
    rule: &RuleEntry,
    day: Day,
    drift: Option<&DriftRate>,
    unfollowed_years: f64,
    expanded_fraction: Option<f64>,
) -> Option<Due> {
    let latest = rule.every.after(day).map(|date| Due { date, by: DueBy::Interval });
    let tells = |drift: &&DriftRate| {
        let half = latest.map_or(0.0, |due| 0.5 * due.date.years_since(day));
        drift.is_significant() || (drift.years >= half && drift.coverage_factor < LEAST_KNOWN)
    };
    let by_drift = rule.drift.zip(drift.filter(tells)).and_then(|(limit, drift)| {
        let years = limit.left_by(expanded_fraction) / drift.at_most_per_year_fraction();
        let before = if drift.is_significant() { unfollowed_years } else { 0.0 };
        let years = (years - before).max(0.0);
        // Without drift no day follows.
        let days = years.is_finite().then(|| (years * DAYS_IN_A_YEAR).floor())?;
        let date = (days < 1e6).then(|| day.days_later(days as i64)).flatten()?;
        Some(Due { date, by: DueBy::Drift })
    });
    match (latest, by_drift) {
        (Some(latest), Some(sooner)) if sooner.date < latest.date => Some(sooner),
        (None, sooner) => sooner,
        (latest, _) => latest,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::register::statement::{DriftRule, Interval};

    #[test]
    fn the_drift_brings_it_forward_and_never_back() {
        let day = Day::parse("2026-03-01").unwrap();
        let drift = DriftRate {
            per_year_fraction: -1e-3,
            standard_uncertainty_per_year_fraction: 0.5e-3,
            coverage_factor: 2.0,
            scatter_is_tested: true,
            years: 4.0,
            values: 5,
        };
        let rule = |part| {
            let limit = DriftRule::new(1e-2, part);
            RuleEntry::new(Interval::Months(24), Some(limit), None, None)
        };
        // By hand: 0.2 × 1 % over 0.2 % a year is one year, 365.2425 days.
        let soon = due(&rule(0.2), day, Some(&drift), 0.0, None).unwrap();
        assert_eq!((soon.date.to_string().as_str(), soon.by), ("2027-03-01", DueBy::Drift));
        let late = due(&rule(1.0), day, Some(&drift), 0.0, None).unwrap();
        assert_eq!((late.date.to_string().as_str(), late.by), ("2028-03-01", DueBy::Interval));
        assert_eq!(due(&rule(0.2), day, None, 0.0, None), Some(late));
        // Half a year of a significant drift that the line does not contain is used already; three years are more than
        // allowed. By hand: 0.2 × 1 % over 0.15 % a year is 1.333 years, less half a year 304.4 days.
        let significant = DriftRate { standard_uncertainty_per_year_fraction: 0.25e-3, ..drift };
        let half = due(&rule(0.2), day, Some(&significant), 0.5, None).unwrap();
        assert_eq!((half.date.to_string().as_str(), half.by), ("2026-12-30", DueBy::Drift));
        assert_eq!(due(&rule(0.2), day, Some(&significant), 3.0, None).unwrap().date, day);
        assert_eq!(
            due(&rule(0.2), day, Some(&drift), 0.5, None),
            due(&rule(0.2), day, Some(&drift), 0.0, None)
        );
        // U of 0.9 % leaves 0.1 % of 1 %, which 0.2 % a year uses in half a year; a U above 1 % leaves nothing to keep.
        let left =
            |expanded| due(&rule(0.2), day, Some(&drift), 0.0, Some(expanded)).unwrap().date.to_string();
        assert_eq!([left(0.9e-2), left(0.5e-2), left(1.2e-2)], ["2026-08-30", "2027-03-01", "2027-03-01"]);
        // A change within a week, extrapolated to a year, sets no day if it is not significant, but does if it is.
        let of_a_week = DriftRate {
            per_year_fraction: -0.05,
            standard_uncertainty_per_year_fraction: 0.03,
            years: 7.0 / 365.0,
            values: 2,
            ..drift
        };
        assert_eq!(due(&rule(0.2), day, Some(&of_a_week), 0.0, None), Some(late));
        let clear = DriftRate { standard_uncertainty_per_year_fraction: 0.01, ..of_a_week };
        assert_eq!(due(&rule(0.2), day, Some(&clear), 0.0, None).unwrap().by, DueBy::Drift);
    }
}
