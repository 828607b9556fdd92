//! The uncertainty budget of B0: its sources and their contributions (JCGM 100:2008).
//!
//! B0 is the field that is taken for the true one without current. If the probe was not turned round, the field meter's zero is
//! part of what it shows there, and what that zero may be counts.

use super::ammeter::Ammeter;
use super::fit::Fit;
use super::probe;
use super::without_current;
use crate::pair::{Bench, Distribution};
use crate::physics::slope::Spread;
use serde::Serialize;

/// What B0 is uncertain by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum InterceptSource {
    /// The fit: the scatter of the readings, or their stated uncertainties and what they share.
    Fit,
    /// The zero of the ammeter, anywhere within its digits.
    AmmeterDigits,
    /// The field meter's error proportional to the field.
    ProbeGain,
    /// The field meter's zero, which is part of B0 if the probe was not turned round.
    FieldMeterZero,
}

impl InterceptSource {
    /// Its word in reports.
    #[cfg(feature = "paper")]
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Fit => "fit",
            Self::AmmeterDigits => "ammeter digits",
            Self::ProbeGain => "probe gain",
            Self::FieldMeterZero => "field meter zero",
        }
    }
}

/// One line of the budget of B0.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct InterceptEntry {
    /// The uncertain quantity.
    pub source: InterceptSource,
    /// The distribution of its possible values.
    pub distribution: Spread,
    /// The unit of the source: T, A, or 1.
    pub unit: &'static str,
    /// Standard uncertainty of the source, in its unit.
    pub standard_uncertainty: f64,
    /// Change of B0 per unit of the source, in T.
    pub sensitivity_tesla_per_unit: f64,
    /// Standard uncertainty of B0 from this source alone.
    pub contribution_tesla: f64,
    /// Degrees of freedom; `None` for a stated limit, which counts as exactly known.
    pub degrees_of_freedom: Option<f64>,
}

impl InterceptEntry {
    /// The line of a source; its contribution is |sensitivity| × u.
    fn of(
        source: InterceptSource,
        distribution: Spread,
        unit: &'static str,
        [standard_uncertainty, sensitivity_tesla_per_unit]: [f64; 2],
    ) -> Self {
        Self {
            source,
            distribution,
            unit,
            standard_uncertainty,
            sensitivity_tesla_per_unit,
            contribution_tesla: (sensitivity_tesla_per_unit * standard_uncertainty).abs(),
            degrees_of_freedom: None,
        }
    }
}

/// The budget of B0 of a fit. The root of the sum of its squares is the u of `without_current::of_fit`.
pub(super) fn intercept_budget(bench: &Bench, fit: &Fit) -> Vec<InterceptEntry> {
    let is_room = without_current::is_room(fit);
    let degrees_of_freedom = fit.degrees_of_freedom_of_uncertainty();
    let [of_fit, _] = without_current::of_scatter(fit);
    let spread = if degrees_of_freedom.is_some() { Spread::Student } else { Spread::Normal };
    let mut budget = vec![InterceptEntry {
        degrees_of_freedom,
        ..InterceptEntry::of(InterceptSource::Fit, spread, "T", [of_fit, 1.0])
    }];
    let rectangular = |source, unit, numbers| InterceptEntry::of(source, Spread::Rectangular, unit, numbers);
    if let Some(ammeter) = Ammeter::of(bench) {
        let sensitivity = ammeter.zero_sensitivity_of_intercept(&fit.ammeter_zero, is_room);
        let digits = [ammeter.zero_standard_uncertainty_ampere, sensitivity];
        budget.push(rectangular(InterceptSource::AmmeterDigits, "A", digits));
    }
    if let Some(gain) = probe::gain_standard_uncertainty(bench) {
        let [tesla, _] = without_current::of_fit(bench, fit);
        budget.push(rectangular(InterceptSource::ProbeGain, "1", [gain, tesla]));
    }
    budget.extend(without_current::field_meter_zero_tesla(bench, fit).map(|zero| {
        let u = Distribution::Rectangular.standard_uncertainty(zero);
        rectangular(InterceptSource::FieldMeterZero, "T", [u, 1.0])
    }));
    budget
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{AmmeterPosition, FieldMeter};
    use crate::questions::calibrate::tests::bench;
    use crate::questions::calibrate::{AdoptedFrom, Calibration, Request, calibrate, readings_from_text};
    use approx::assert_relative_eq;

    /// The fitted line of a pair whose probe was turned round or not.
    fn record(turned: bool, position: Option<AmmeterPosition>) -> Calibration {
        let mut bench = bench();
        bench.ammeter_position = position;
        bench.field_meter = Some(FieldMeter { accuracy_of_reading: Some(0.02), zero_tesla: Some(5e-6) });
        let mut text = "current_A,field_mT,field_uncertainty_mT,probe_flipped\n".to_owned();
        for (place, current) in [-2.0f64, -1.0, 1.0, 2.0].into_iter().enumerate() {
            let scatter = [4e-4, -3e-4, -5e-4, 2e-4][place];
            let field = 0.815 * current + 0.04 + scatter;
            text += &format!("{current},{field},0.001,no\n");
            if turned {
                text += &format!("{current},{},0.001,yes\n", 0.004 - field);
            }
        }
        let readings = Some(readings_from_text("r.csv", &text).unwrap());
        let request = Request { readings, adopt: Some(AdoptedFrom::Fit), ..Request::default() };
        calibrate(&bench, &request).unwrap()
    }

    #[test]
    fn the_contributions_to_b0_give_its_uncertainty() {
        use InterceptSource::{AmmeterDigits, FieldMeterZero, Fit, ProbeGain};
        let places = [None, Some(AmmeterPosition::BeforeReversal), Some(AmmeterPosition::AfterReversal)];
        for (turned, position) in [true, false].into_iter().flat_map(|turned| places.map(|at| (turned, at))) {
            let record = record(turned, position);
            let budget = &record.intercept_budget;
            let sum: f64 = budget.iter().map(|entry| entry.contribution_tesla.powi(2)).sum();
            let u = record.intercept_standard_uncertainty_tesla;
            assert_relative_eq!(sum.sqrt(), u, max_relative = 1e-12);
            let sources: Vec<InterceptSource> = budget.iter().map(|entry| entry.source).collect();
            let with_zero = [Fit, AmmeterDigits, ProbeGain, FieldMeterZero];
            assert_eq!(sources, if turned { &with_zero[..3] } else { &with_zero[..] });
            // By hand: a zero of the field meter within 5 µT, and a gain within 2 % of the B0 found.
            let of =
                |source| budget.iter().find(|entry| entry.source == source).map(|one| one.contribution_tesla);
            let gain = record.intercept_tesla.abs() * 0.02 / 3f64.sqrt();
            assert_relative_eq!(of(ProbeGain).unwrap(), gain, max_relative = 1e-12);
            assert!(of(FieldMeterZero).is_none_or(|zero| (zero - 5e-6 / 3f64.sqrt()).abs() < 1e-12));
        }
        // Behind the reversal the zero moves B0 by k; digits of 0.02 A and half a digit at least.
        let behind = record(true, Some(AmmeterPosition::AfterReversal));
        let digits = &behind.intercept_budget[1];
        let k = behind.slope.tesla_per_ampere;
        assert_relative_eq!(digits.sensitivity_tesla_per_unit.abs(), k, max_relative = 1e-6);
    }

    #[test]
    fn chi_square_follows_from_what_is_printed() {
        let record = record(true, Some(AmmeterPosition::BeforeReversal));
        let fit = record.fit.as_ref().unwrap();
        let zero = fit.ammeter_zero_taken_out.as_ref().unwrap();
        // By hand from slope, intercepts and zero: u of a reading has 1 µT and what the rounding of its current adds.
        let mut sum = (zero.ampere / zero.stated_standard_uncertainty_ampere).powi(2);
        for reading in &fit.residuals {
            let line = usize::from(reading.position_factor < 0.0);
            let current = reading.current_ampere - reading.current_ampere.signum() * zero.ampere;
            let on_line =
                zero.intercepts_tesla[line] + zero.slope_tesla_per_ampere * reading.position_factor * current;
            let off = (reading.field_tesla - on_line) / reading.standard_uncertainty_tesla;
            assert_relative_eq!(off, reading.weighted_residual, epsilon = 2e-3);
            sum += off * off;
        }
        assert_relative_eq!(sum, fit.chi_square.unwrap(), max_relative = 2e-3);
        let parts =
            fit.sum_of_squares_tested() + (zero.ampere / zero.stated_standard_uncertainty_ampere).powi(2);
        assert_relative_eq!(parts, fit.chi_square.unwrap(), max_relative = 1e-6);
    }
}
