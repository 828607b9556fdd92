//! The tables the labs read from: current to coil field, and field to current.

use super::ammeter::{Ammeter, ZeroOfLine};
use crate::Result;
use crate::error::Refused;
use crate::numeric::coverage;
use crate::pair::{AmmeterPosition, Read};
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::{Slope, SlopeUncertainty};
use serde::Serialize;

/// Most rows of a printed table.
pub(crate) const PRINTED_ROWS: usize = 40;
/// Most rows of a table in a file.
pub(crate) const FILE_ROWS: usize = 100_000;

/// One row: the coils' field at a current.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FieldRow {
    /// Reading of the ammeter.
    pub current_ampere: f64,
    /// The coils' field along +z at the centre.
    pub coil_field_tesla: f64,
    /// Its expanded uncertainty.
    pub expanded_uncertainty_tesla: f64,
    /// The factor in it.
    pub coverage_factor: f64,
    /// The axial field including the room's, if the room's is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub axial_field_with_room_tesla: Option<f64>,
    /// k I + B0, if B0 comes from readings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field_with_intercept_tesla: Option<f64>,
    /// Its expanded uncertainty, the correlation of k and B0 counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field_with_intercept_expanded_uncertainty_tesla: Option<f64>,
    /// The factor in that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field_with_intercept_coverage_factor: Option<f64>,
}

impl FieldRow {
    /// The row with the current reversed: the coils' field changes its sign, the room's does not.
    pub fn reversed(&self) -> Self {
        Self {
            current_ampere: -self.current_ampere,
            coil_field_tesla: -self.coil_field_tesla,
            axial_field_with_room_tesla: self
                .axial_field_with_room_tesla
                .map(|with_room| with_room - 2.0 * self.coil_field_tesla),
            field_with_intercept_tesla: self
                .field_with_intercept_tesla
                .map(|with_intercept| with_intercept - 2.0 * self.coil_field_tesla),
            // With reversed current the correlation with k has the other sign.
            field_with_intercept_expanded_uncertainty_tesla: None,
            field_with_intercept_coverage_factor: None,
            ..*self
        }
    }
}

/// One row: the current for a field.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CurrentRow {
    /// The coils' field along +z at the centre.
    pub coil_field_tesla: f64,
    /// Reading of the ammeter for that field.
    pub current_ampere: f64,
    /// Its expanded uncertainty.
    pub expanded_uncertainty_ampere: f64,
    /// The factor in it.
    pub coverage_factor: f64,
    /// Reading of the ammeter for this field with B0 included, if B0 comes from readings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_with_intercept_ampere: Option<f64>,
    /// Its expanded uncertainty, the correlation of k and B0 counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_with_intercept_expanded_uncertainty_ampere: Option<f64>,
    /// The factor in that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_with_intercept_coverage_factor: Option<f64>,
}

/// B0 of the adopted line, if readings give it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LineIntercept {
    /// B0.
    pub tesla: f64,
    /// u(B0).
    pub standard_uncertainty_tesla: f64,
    /// cov(k, B0), in T²/A.
    pub covariance_with_slope: f64,
    /// u²(B0) and cov(k, B0) without what a zero of the ammeter adds.
    pub without_zero: [f64; 2],
    /// The parts of both that come from the fit itself.
    pub of_fit: FitShare,
}

/// The contributions of the readings' scatter to u(B0) and to cov(k, B0).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FitShare {
    /// Its part of u(B0).
    pub standard_uncertainty_tesla: f64,
    /// Its part of cov(k, B0), in T²/A.
    pub covariance_with_slope: f64,
    /// Degrees of freedom of the scatter. `None` if the readings state uncertainties that the scatter does not exceed.
    pub degrees_of_freedom: Option<f64>,
}

impl LineIntercept {
    /// The coverage factor of U(B0) alone.
    pub(super) fn coverage_factor(&self) -> f64 {
        let variance = self.standard_uncertainty_tesla.powi(2);
        self.of_fit.coverage_factor(variance, self.of_fit.standard_uncertainty_tesla.powi(2))
    }
}

impl FitShare {
    /// The coverage factor of a result with this variance, `of_fit` of which comes from the fit. Slope and intercept of
    /// one fit rest on one estimate of the scatter, so every combination of both has the degrees of freedom ν of that
    /// estimate, and not more as for independent estimates: ν_eff = ν (variance/of_fit)² (Welch-Satterthwaite, JCGM
    /// 100:2008, equation G.2b).
    fn coverage_factor(&self, variance: f64, of_fit: f64) -> f64 {
        // Rounding must not take a whole degree of freedom.
        const ROUNDING: f64 = 1e-12;
        let nu = self.degrees_of_freedom.filter(|_| of_fit > 0.0);
        coverage::coverage_factor(nu.map(|nu| nu * (variance / of_fit + ROUNDING).powi(2)))
    }
}

/// The adopted slope and everything else that a row needs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line<'a> {
    /// k.
    pub slope: &'a Slope,
    /// Its uncertainty.
    pub uncertainty: SlopeUncertainty,
    /// The meter that reads the current. `None`: the current is taken as exact.
    pub ammeter: Option<Ammeter>,
    /// What a zero of the readings' meter does to the line, for each place where it may stand.
    pub zeros: &'a [ZeroOfLine],
    /// Whether the slope was fitted with this meter, in the same place.
    pub same_ammeter: bool,
    /// The room's axial field, if it is known.
    pub room_axial_tesla: Option<f64>,
    /// B0, if it comes from readings.
    pub intercept: Option<LineIntercept>,
}

impl Line<'_> {
    /// The row at a current: B = k I, u(B)² = (I u(k))² + (k u(I))², u(I) from the ammeter's gain and zero.
    ///
    /// The ammeter's errors count here even if the slope was fitted with an ammeter, because the lesson's may be
    /// another. If it is the same one, errors common to both cancel. With the sensitivities s of the slope to gain and
    /// zero and s₀ of B0 to the zero,
    ///
    /// ```text
    /// from the gain: I |k + s_g| u(g),   from the zero: |k σ + s_δ I + s₀| u(δ)
    /// ```
    ///
    /// where σ is the sign of the current if the meter stands before the reversal and 1 after it, and s₀ counts in k I + B0
    /// alone. After the reversal s₀ is −k, so that nothing of the zero is left in k I + B0. A meter whose place is not known
    /// stands in one of the two all the same: the place that makes the row the more uncertain counts, for lesson and readings
    /// alike.
    pub(crate) fn at_current(&self, current_ampere: f64) -> FieldRow {
        let (standard, coverage_factor) = self.uncertainty_at(current_ampere);
        let coil_field_tesla = self.slope.tesla_per_ampere * current_ampere;
        let with_intercept = self.expanded_with_intercept(current_ampere);
        FieldRow {
            current_ampere,
            coil_field_tesla,
            expanded_uncertainty_tesla: coverage_factor * standard,
            coverage_factor,
            axial_field_with_room_tesla: self.room_axial_tesla.map(|room| coil_field_tesla + room),
            field_with_intercept_tesla: self.intercept.map(|intercept| coil_field_tesla + intercept.tesla),
            field_with_intercept_expanded_uncertainty_tesla: with_intercept.map(|[expanded, _]| expanded),
            field_with_intercept_coverage_factor: with_intercept.map(|[_, factor]| factor),
        }
    }

    /// The row at a field: I = B / k. Its uncertainty is that of the field there, over the slope.
    pub(crate) fn at_field(&self, coil_field_tesla: f64) -> CurrentRow {
        let current_ampere = coil_field_tesla / self.slope.tesla_per_ampere;
        let (standard, coverage_factor) = self.uncertainty_at(current_ampere);
        let slope = self.slope.tesla_per_ampere;
        let with_intercept = self.intercept.map(|intercept| (coil_field_tesla - intercept.tesla) / slope);
        let expanded_with_intercept =
            with_intercept.and_then(|current| self.expanded_with_intercept(current));
        CurrentRow {
            coil_field_tesla,
            current_ampere,
            expanded_uncertainty_ampere: coverage_factor * standard / self.slope.tesla_per_ampere.abs(),
            coverage_factor,
            current_with_intercept_ampere: with_intercept,
            current_with_intercept_expanded_uncertainty_ampere: expanded_with_intercept
                .map(|[expanded, _]| expanded / slope.abs()),
            current_with_intercept_coverage_factor: expanded_with_intercept.map(|[_, factor]| factor),
        }
    }

    /// U of k I + B0 and its coverage factor: u² = (I u(k))² + (k u(I))² + u(B0)² + 2 I cov(k, B0) (JCGM 100:2008,
    /// equation 13).
    fn expanded_with_intercept(&self, current_ampere: f64) -> Option<[f64; 2]> {
        let intercept = self.intercept?;
        let [of_intercept, covariance] = intercept.without_zero;
        let of_line =
            self.variance_without_zero(current_ampere) + of_intercept + 2.0 * current_ampere * covariance;
        // The contribution of the fit's scatter always remains.
        let least = share_of(&intercept, self.slope_of_fit(), current_ampere);
        let variance = (of_line + self.variance_of_zero(current_ampere, true)).max(least);
        let factor = intercept.of_fit.coverage_factor(variance, least);
        Some([factor * variance.sqrt(), factor])
    }

    /// Contribution of the fit itself to u of the slope.
    fn slope_of_fit(&self) -> f64 {
        let entry = self.slope.budget.iter().find(|entry| entry.source == BudgetSource::Fit);
        entry.map_or(0.0, |entry| entry.contribution_tesla_per_ampere)
    }

    /// u of the slope per ampere shown by the ammeter of the readings: its gain cancels to the extent that the slope is
    /// fitted.
    pub(crate) fn slope_standard_uncertainty_as_shown(&self) -> f64 {
        self.variance_without_zero(1.0).sqrt()
    }

    /// The variance of k I without what a zero of the ammeter adds: the other sources of the slope, and the gain of the
    /// lesson's ammeter.
    fn variance_without_zero(&self, current_ampere: f64) -> f64 {
        let k = self.slope.tesla_per_ampere;
        let gain = self.slope.entry_of(&BudgetSource::AmmeterGain).filter(|_| self.same_ammeter);
        let by_gain = k + gain.map_or(0.0, |entry| entry.sensitivity_tesla_per_ampere_per_unit);
        let of_lesson = self.ammeter.map_or(0.0, |ammeter| by_gain * ammeter.gain_standard_uncertainty);
        let counts = |source: &BudgetSource| match source {
            BudgetSource::AmmeterDigits => false,
            source => !self.same_ammeter || source.meter() != Some(Read::Current),
        };
        let others = self.slope.budget.iter().filter(|entry| counts(&entry.source));
        let of_slope: f64 = others.map(|entry| entry.contribution_tesla_per_ampere.powi(2)).sum();
        current_ampere.powi(2) * (of_slope + of_lesson.powi(2))
    }

    /// What a zero of the ammeter adds to the variance of k I, or of k I + B0, in lesson and readings: the most of all places
    /// where the meter may stand.
    fn variance_of_zero(&self, current_ampere: f64, with_intercept: bool) -> f64 {
        let Some(ammeter) = self.ammeter else { return 0.0 };
        let of_place = |zero: &ZeroOfLine| {
            let sign = match zero.place {
                AmmeterPosition::BeforeReversal if current_ampere < 0.0 => -1.0,
                _ => 1.0,
            };
            let of_lesson = sign * self.slope.tesla_per_ampere;
            let of_intercept = if with_intercept { zero.intercept_tesla } else { 0.0 };
            let of_line = zero.slope_tesla_per_ampere * current_ampere + of_intercept;
            match self.same_ammeter {
                true => (of_lesson + of_line).powi(2),
                false => of_lesson.powi(2) + of_line.powi(2),
            }
        };
        let most = self.zeros.iter().map(of_place).fold(0.0, f64::max);
        most * ammeter.zero_standard_uncertainty_ampere.powi(2)
    }

    /// Standard uncertainty of the coil field at a current, and its coverage factor. What does not come from the slope is
    /// exactly known, so that the degrees of freedom ν of the slope are ν (variance/of_slope)² of the row
    /// (Welch-Satterthwaite, JCGM 100:2008, equation G.2b).
    fn uncertainty_at(&self, current_ampere: f64) -> (f64, f64) {
        let variance =
            self.variance_without_zero(current_ampere) + self.variance_of_zero(current_ampere, false);
        let of_slope = (current_ampere * self.uncertainty.standard_tesla_per_ampere).powi(2);
        let nu = self.uncertainty.degrees_of_freedom.filter(|_| of_slope > 0.0);
        let effective = nu.map(|nu| nu * (variance / of_slope).powi(2));
        (variance.sqrt(), coverage::coverage_factor(effective))
    }
}

/// Contribution of the readings' scatter alone to the variance of k I + B0.
fn share_of(intercept: &LineIntercept, slope_of_fit: f64, current_ampere: f64) -> f64 {
    let share = intercept.of_fit;
    (current_ampere * slope_of_fit).powi(2)
        + share.standard_uncertainty_tesla.powi(2)
        + 2.0 * current_ampere * share.covariance_with_slope
}

/// Step of the tables if the spec does not state the ammeter's resolution.
const STEP_WITHOUT_AMMETER_AMPERE: f64 = 0.01;

/// The three tables of a line.
pub(super) struct Tables {
    pub step_ampere: f64,
    pub printed: Vec<FieldRow>,
    pub every_step: Vec<FieldRow>,
    pub currents: Vec<CurrentRow>,
}

impl Tables {
    pub(super) fn of(
        line: &Line,
        limit_ampere: f64,
        step_ampere: Option<f64>,
        resolution_ampere: Option<f64>,
    ) -> Self {
        let resolution = resolution_ampere.unwrap_or(STEP_WITHOUT_AMMETER_AMPERE);
        let step = |rows| step_ampere.unwrap_or_else(|| smallest_step(resolution, limit_ampere, rows));
        let rows = |step| stepped(step, limit_ampere).map(|current| line.at_current(current)).collect();
        // From the microtesla up, whatever the slope's sign.
        let largest_field = (line.slope.tesla_per_ampere * limit_ampere).abs();
        let field_step = smallest_step(1e-6, largest_field, PRINTED_ROWS);
        let sign = line.slope.tesla_per_ampere.signum();
        Self {
            step_ampere: step(PRINTED_ROWS),
            printed: rows(step(PRINTED_ROWS)),
            every_step: rows(step(FILE_ROWS)),
            currents: stepped(field_step, largest_field).map(|field| line.at_field(sign * field)).collect(),
        }
    }
}

/// The smallest of `unit` × 1, 2, 5, 10, 20, 50 … that divides 0 to `limit` into at most `rows` rows, both ends
/// included if they are met.
pub(crate) fn smallest_step(unit: f64, limit: f64, rows: usize) -> f64 {
    let mut decade = unit;
    loop {
        for multiple in [1.0, 2.0, 5.0] {
            let step = multiple * decade;
            if step_count(limit, step) < rows {
                return clean(step, unit);
            }
        }
        decade *= 10.0;
    }
}

/// The values 0, step, 2 step … up to `limit`.
pub(crate) fn stepped(step: f64, limit: f64) -> impl Iterator<Item = f64> {
    (0..=step_count(limit, step)).map(move |n| multiple(n as f64, step))
}

/// Refuses a step that gives no table or an endless one.
pub(crate) fn check_step(step_ampere: f64, limit_ampere: f64) -> Result<()> {
    let usable = step_ampere > 0.0 && step_ampere <= limit_ampere;
    if !usable {
        return Err(Refused::TableStep { step_ampere, limit_ampere }.into());
    }
    let rows = limit_ampere / step_ampere + 1.0;
    if rows > FILE_ROWS as f64 {
        return Err(Refused::TooManyTableRows { step_ampere, limit_ampere, rows, most: FILE_ROWS }.into());
    }
    Ok(())
}

/// Number of steps up to the limit. Rounding in the step must not lose the last one.
fn step_count(limit: f64, step: f64) -> usize {
    (limit / step * (1.0 + 1e-12)).floor() as usize
}

/// n × step as the decimal number people expect: 7 × 0.01 is 0.07, not 0.07000000000000001.
fn multiple(n: f64, step: f64) -> f64 {
    let per_unit = (1.0 / step).round();
    if per_unit >= 1.0 && (per_unit * step - 1.0).abs() < 1e-12 { n / per_unit } else { n * step }
}

/// A step of so many units as the decimal number people expect.
fn clean(step: f64, unit: f64) -> f64 {
    multiple((step / unit).round(), unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Meter;
    use crate::physics::budget_source::BudgetSource::{AmmeterDigits, AmmeterGain, Build, Fit, ProbeGain};
    use crate::physics::build_error::BuildParameter::Spacing;
    use crate::physics::slope::{AdoptedFrom, BudgetEntry, Spread};
    use approx::assert_relative_eq;

    #[test]
    fn the_printed_step_is_the_smallest_1_2_5_multiple_that_fits() {
        for (limit, wanted) in [(3.0, 0.1), (0.39, 0.01), (0.4, 0.02), (10.0, 0.5), (1.9, 0.05), (2.0, 0.1)] {
            let step = smallest_step(0.01, limit, PRINTED_ROWS);
            assert_eq!(step, wanted, "limit {limit}");
            assert!(stepped(step, limit).count() <= PRINTED_ROWS);
        }
    }

    #[test]
    fn steps_are_clean_decimal_numbers_and_reach_the_limit() {
        let values: Vec<f64> = stepped(0.01, 3.0).collect();
        assert_eq!(values.len(), 301);
        assert_eq!(values[7], 0.07);
        assert_eq!(values[300], 3.0);
        let hundredths: Vec<f64> = stepped(0.3, 0.9).collect();
        assert_eq!(hundredths.len(), 4);
    }

    fn meter() -> Meter {
        Meter { resolution: Some(0.01), accuracy_of_reading: Some(0.005), accuracy_digits: 2.0 }
    }

    fn ammeter() -> Ammeter {
        Ammeter::of_meter(&meter(), None)
    }

    #[test]
    fn a_row_adds_slope_gain_and_digits_in_quadrature() {
        // By hand: k = 1 mT/A, u 1 %, 2 A on a meter of 0.5 % and 2 × 0.01 A: u(I) = √(10² + 20²) mA/√3 = 12.91 mA;
        // u(B) = √(20² + 12.91²) µT = 23.805 µT, expanded by 2.
        let budget = vec![BudgetEntry::relative(Build(Spacing), Spread::Normal, 1e-2, 1e-3)];
        let slope = Slope::of(AdoptedFrom::Computed, 1e-3, budget);
        let line = Line {
            slope: &slope,
            uncertainty: slope.uncertainty.unwrap(),
            ammeter: Some(ammeter()),
            zeros: &ammeter().zeros(None, 1.0),
            same_ammeter: false,
            room_axial_tesla: Some(-18e-6),
            intercept: None,
        };
        let row = line.at_current(2.0);
        assert_relative_eq!(row.coil_field_tesla, 2e-3, max_relative = 1e-15);
        assert_relative_eq!(row.expanded_uncertainty_tesla, 47.610e-6, max_relative = 1e-4);
        assert_eq!(row.coverage_factor, 2.0);
        assert_relative_eq!(row.axial_field_with_room_tesla.unwrap(), 1.982e-3, max_relative = 1e-12);
        let back = line.at_field(2e-3);
        assert_relative_eq!(back.current_ampere, 2.0, max_relative = 1e-15);
        assert_relative_eq!(back.expanded_uncertainty_ampere, 47.610e-3, max_relative = 1e-4);
    }

    #[test]
    fn the_correlation_of_slope_and_intercept_enters_both_tables() {
        // JCGM 100:2008, H.3.4: u² of a + b x at distance x from the reference with u(a) = 0.0029, u(b) = 0.00067,
        // r = -0.930, at x = 30 - 20 = 10: 0.0041, printed. Here in tesla and amperes.
        let budget = vec![BudgetEntry {
            contribution_tesla_per_ampere: 0.00067,
            ..BudgetEntry::relative(Fit, Spread::Normal, 1.0, 0.00218)
        }];
        let slope = Slope::of(AdoptedFrom::Fit, 0.00218, budget);
        let line = Line {
            slope: &slope,
            uncertainty: slope.uncertainty.unwrap(),
            ammeter: None,
            zeros: &[],
            same_ammeter: false,
            room_axial_tesla: None,
            intercept: Some(LineIntercept {
                tesla: -0.1712,
                standard_uncertainty_tesla: 0.0029,
                covariance_with_slope: -0.930 * 0.0029 * 0.00067,
                without_zero: [0.0029f64.powi(2), -0.930 * 0.0029 * 0.00067],
                of_fit: FitShare {
                    standard_uncertainty_tesla: 0.0029,
                    covariance_with_slope: -0.930 * 0.0029 * 0.00067,
                    degrees_of_freedom: Some(9.0),
                },
            }),
        };
        // All of it rests on the scatter of eleven readings: t(9) = 2.32 everywhere (table G.2, 95.45 %).
        for current in [0.0, 1.0, 5.0, 10.0] {
            let factor = line.at_current(current).field_with_intercept_coverage_factor.unwrap();
            assert_relative_eq!(factor, 2.32, max_relative = 2e-3);
        }
        let row = line.at_current(10.0);
        assert_relative_eq!(row.field_with_intercept_tesla.unwrap(), -0.1494, max_relative = 1e-3);
        let u = row.field_with_intercept_expanded_uncertainty_tesla.unwrap()
            / row.field_with_intercept_coverage_factor.unwrap();
        assert_relative_eq!(u, 0.0041, max_relative = 0.02);
        let back = line.at_field(-0.1494);
        assert_relative_eq!(back.current_with_intercept_ampere.unwrap(), 10.0, max_relative = 1e-9);
        let expanded = back.current_with_intercept_expanded_uncertainty_ampere.unwrap();
        let factor = back.current_with_intercept_coverage_factor.unwrap();
        assert_relative_eq!(expanded, factor * u / 0.00218, max_relative = 1e-9);
    }

    #[test]
    fn what_the_same_ammeter_is_off_by_cancels() {
        // By hand, all fitted: the gain cancels; a zero off by 1 A moves the slope by −0.5 mT/A, so that at 2 A nothing
        // is left of it, and at 1 A half of k u(δ) = 1 mT/A × 0.02 A/√3; the probe's 1 % stays.
        let zero = BudgetEntry {
            sensitivity_tesla_per_ampere_per_unit: -0.5e-3,
            ..BudgetEntry::relative(AmmeterDigits, Spread::Rectangular, 0.02 / 3f64.sqrt(), -0.5e-3)
        };
        let budget = vec![
            BudgetEntry::relative(AmmeterGain, Spread::Rectangular, 0.005 / 3f64.sqrt(), -1e-3),
            zero,
            BudgetEntry::relative(ProbeGain, Spread::Rectangular, 1e-2, 1e-3),
        ];
        let slope = Slope::of(AdoptedFrom::Fit, 1e-3, budget);
        let line = Line {
            slope: &slope,
            uncertainty: slope.uncertainty.unwrap(),
            ammeter: Some(Ammeter::of_meter(&meter(), Some(AmmeterPosition::BeforeReversal))),
            zeros: &[ZeroOfLine {
                place: AmmeterPosition::BeforeReversal,
                slope_tesla_per_ampere: -0.5e-3,
                intercept_tesla: 0.0,
            }],
            same_ammeter: true,
            room_axial_tesla: None,
            intercept: None,
        };
        assert_relative_eq!(line.at_current(2.0).expanded_uncertainty_tesla, 40e-6, max_relative = 1e-9);
        let at_one = 2.0 * 10e-6f64.hypot(0.5 * 20e-6 / 3f64.sqrt());
        assert_relative_eq!(line.at_current(1.0).expanded_uncertainty_tesla, at_one, max_relative = 1e-9);
        assert_relative_eq!(line.slope_standard_uncertainty_as_shown(), 1e-5, max_relative = 1e-9);
    }

    #[test]
    fn a_zero_of_the_same_ammeter_counts_in_one_place_for_lesson_and_readings() {
        // By hand: the zero is off by up to 0.02 A, so that k u(δ) = 1 mT/A × 0.02 A/√3 = 11.547 µT; the probe's 1 % and the
        // scatter, 1 µT in B0, stay. Readings both ways up to 1 A: before the reversal a zero moves the slope by −k/1 A and
        // B0 not at all, after it B0 by −k and the slope not at all.
        use AmmeterPosition::{AfterReversal, BeforeReversal};
        let k = 1e-3;
        let budget = vec![
            BudgetEntry::relative(AmmeterGain, Spread::Rectangular, 0.005 / 3f64.sqrt(), -k),
            BudgetEntry::relative(ProbeGain, Spread::Rectangular, 1e-2, k),
        ];
        let slope = Slope::of(AdoptedFrom::Fit, k, budget);
        let zero = k * 0.02 / 3f64.sqrt();
        let before = ZeroOfLine { place: BeforeReversal, slope_tesla_per_ampere: -k, intercept_tesla: 0.0 };
        let after = ZeroOfLine { place: AfterReversal, slope_tesla_per_ampere: 0.0, intercept_tesla: -k };
        let rows = |zeros: &[ZeroOfLine], same_ammeter: bool, current: f64| {
            let share = FitShare {
                standard_uncertainty_tesla: 1e-6,
                covariance_with_slope: 0.0,
                degrees_of_freedom: None,
            };
            let line = Line {
                slope: &slope,
                uncertainty: slope.uncertainty.unwrap(),
                ammeter: Some(ammeter()),
                zeros,
                same_ammeter,
                room_axial_tesla: None,
                intercept: Some(LineIntercept {
                    tesla: 20e-6,
                    standard_uncertainty_tesla: zero.hypot(1e-6),
                    covariance_with_slope: 0.0,
                    without_zero: [1e-12, 0.0],
                    of_fit: share,
                }),
            };
            let row = line.at_current(current);
            let whole = row.field_with_intercept_expanded_uncertainty_tesla.unwrap();
            [row.expanded_uncertainty_tesla, whole].map(|expanded| 0.5 * expanded)
        };
        let near = |found: [f64; 2], wanted: [f64; 2]| {
            found.iter().zip(&wanted).for_each(|(a, b)| assert_relative_eq!(a, b, max_relative = 1e-9));
        };
        let root = |parts: &[f64]| parts.iter().map(|part| part * part).sum::<f64>().sqrt();
        for current in [0.0, 0.5, 2.0, -0.5] {
            let probe = 1e-2 * k * current;
            // The lesson's own zero has the sign of the current, the slope's grows with the current.
            let left = zero * (1.0 - current.abs());
            let known = [[left, left], [zero, 0.0]]
                .map(|[coil, whole]| [root(&[coil, probe]), root(&[whole, probe, 1e-6])]);
            near(rows(&[before], true, current), known[0]);
            near(rows(&[after], true, current), known[1]);
            // A place that is not known is one of the two.
            let worse = [0, 1].map(|which| known[0][which].max(known[1][which]));
            near(rows(&[before, after], true, current), worse);
            // Another ammeter has another zero and gain; 0.5 % twice.
            let gain = root(&[probe, 2f64.sqrt() * 0.005 / 3f64.sqrt() * k * current]);
            near(rows(&[after], false, current), [root(&[zero, gain]), root(&[zero, zero, gain, 1e-6])]);
            near(
                rows(&[before], false, current),
                [root(&[zero, zero * current, gain]), root(&[zero, zero * current, gain, 1e-6])],
            );
        }
    }

    #[test]
    fn steps_that_make_no_table_are_refused() {
        for step in [0.0, -0.1, 4.0, f64::NAN, 1e-9] {
            assert!(check_step(step, 3.0).is_err(), "{step}");
        }
        assert!(check_step(3.0, 3.0).is_ok());
    }
}
