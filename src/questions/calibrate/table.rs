//! The tables the labs read from: current to coil field, and field to current.

use crate::numeric::coverage;
use crate::numeric::coverage::Contribution;
use crate::pair::Meter;
use crate::{Error, Result};
use serde::Serialize;

/// The most rows a printed table has.
pub const PRINTED_ROWS: usize = 40;
/// The most rows a table in a file has.
pub const FILE_ROWS: usize = 100_000;

/// One row: what the coils make at a current.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FieldRow {
    /// What the ammeter shows.
    pub current_ampere: f64,
    /// The coils' field along +z at the centre.
    pub coil_field_tesla: f64,
    /// Its expanded uncertainty.
    pub expanded_uncertainty_tesla: f64,
    /// The factor in it.
    pub coverage_factor: f64,
    /// The axial field with the room's, where the room's is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub axial_field_with_room_tesla: Option<f64>,
}

/// One row: which current makes a field.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CurrentRow {
    /// The coils' field along +z at the centre.
    pub coil_field_tesla: f64,
    /// What the ammeter must show.
    pub current_ampere: f64,
    /// Its expanded uncertainty.
    pub expanded_uncertainty_ampere: f64,
    /// The factor in it.
    pub coverage_factor: f64,
}

/// The adopted slope and everything a row needs with it.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// u(k).
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
    /// Effective degrees of freedom of u(k).
    pub degrees_of_freedom: Option<f64>,
    /// The meter that reads the current; an exact one where the spec has none.
    pub ammeter: Option<Meter>,
    /// The room's axial field, where it is known.
    pub room_axial_tesla: Option<f64>,
}

impl Line {
    /// The row at a current: B = k I, u(B)² = (I u(k))² + (k u(I))², u(I) from the ammeter's limit of error.
    ///
    /// The ammeter counts here even where the slope was fitted with one: the lesson's need not be the same.
    pub fn at_current(&self, current_ampere: f64) -> FieldRow {
        let (standard, coverage_factor) = self.uncertainty_at(current_ampere);
        let coil_field_tesla = self.slope_tesla_per_ampere * current_ampere;
        FieldRow {
            current_ampere,
            coil_field_tesla,
            expanded_uncertainty_tesla: coverage_factor * standard,
            coverage_factor,
            axial_field_with_room_tesla: self.room_axial_tesla.map(|room| coil_field_tesla + room),
        }
    }

    /// The row at a field: I = B / k, its uncertainty that of the field there over the slope.
    pub fn at_field(&self, coil_field_tesla: f64) -> CurrentRow {
        let current_ampere = coil_field_tesla / self.slope_tesla_per_ampere;
        let (standard, coverage_factor) = self.uncertainty_at(current_ampere);
        CurrentRow {
            coil_field_tesla,
            current_ampere,
            expanded_uncertainty_ampere: coverage_factor * standard / self.slope_tesla_per_ampere.abs(),
            coverage_factor,
        }
    }

    /// Standard uncertainty of the coil field at a current, and the coverage factor that goes with it.
    fn uncertainty_at(&self, current_ampere: f64) -> (f64, f64) {
        let meter = self.ammeter.map_or(0.0, |meter| meter.standard_uncertainty(current_ampere));
        let parts = [
            Contribution {
                standard_uncertainty: (current_ampere * self.slope_standard_uncertainty_tesla_per_ampere)
                    .abs(),
                degrees_of_freedom: self.degrees_of_freedom,
            },
            Contribution {
                standard_uncertainty: (meter * self.slope_tesla_per_ampere).abs(),
                degrees_of_freedom: None,
            },
        ];
        let effective = coverage::effective_degrees_of_freedom(&parts);
        (coverage::combined_standard_uncertainty(&parts), coverage::coverage_factor(effective))
    }
}

/// The smallest of `unit` × 1, 2, 5, 10, 20, 50 … that divides 0 to `limit` into at most `rows` rows, both ends
/// counted where they are met.
pub fn smallest_step(unit: f64, limit: f64, rows: usize) -> f64 {
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
pub fn stepped(step: f64, limit: f64) -> impl Iterator<Item = f64> {
    (0..=step_count(limit, step)).map(move |n| multiple(n as f64, step))
}

/// Refuses a step the user asked for that gives no table or an endless one.
pub fn check_step(step_ampere: f64, limit_ampere: f64) -> Result<()> {
    let usable = step_ampere > 0.0 && step_ampere <= limit_ampere;
    if !usable {
        return Err(Error::value_with_hint(
            format!("the step {step_ampere} A must be more than 0 A and at most the limit, {limit_ampere} A"),
            "write it like this: --step \"0.1 A\"",
        ));
    }
    let rows = limit_ampere / step_ampere + 1.0;
    if rows > FILE_ROWS as f64 {
        return Err(Error::value(format!(
            "a step of {step_ampere} A up to {limit_ampere} A makes {rows:.0} rows; at most {FILE_ROWS} are written"
        )));
    }
    Ok(())
}

/// Steps that fit under the limit; rounding in the step must not lose the last one.
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

    #[test]
    fn a_row_adds_slope_and_ammeter_in_quadrature() {
        // By hand: k = 1 mT/A ± 1 %, 2 A on a meter of 0.5 % + 2 × 0.01 A: limit 0.03 A, u(I) = 17.3 mA;
        // u(B) = √((20 µT)² + (17.3 µT)²) = 26.5 µT, expanded by 2.
        let line = Line {
            slope_tesla_per_ampere: 1e-3,
            slope_standard_uncertainty_tesla_per_ampere: 1e-5,
            degrees_of_freedom: None,
            ammeter: Some(Meter {
                resolution: Some(0.01),
                accuracy_of_reading: Some(0.005),
                accuracy_digits: 2.0,
            }),
            room_axial_tesla: Some(-18e-6),
        };
        let row = line.at_current(2.0);
        assert_relative_eq!(row.coil_field_tesla, 2e-3, max_relative = 1e-15);
        assert_relative_eq!(row.expanded_uncertainty_tesla, 52.915e-6, max_relative = 1e-4);
        assert_eq!(row.coverage_factor, 2.0);
        assert_relative_eq!(row.axial_field_with_room_tesla.unwrap(), 1.982e-3, max_relative = 1e-12);
        let back = line.at_field(2e-3);
        assert_relative_eq!(back.current_ampere, 2.0, max_relative = 1e-15);
        assert_relative_eq!(back.expanded_uncertainty_ampere, 52.915e-3, max_relative = 1e-4);
    }

    #[test]
    fn steps_that_make_no_table_are_refused() {
        for step in [0.0, -0.1, 4.0, f64::NAN, 1e-9] {
            assert!(check_step(step, 3.0).is_err(), "{step}");
        }
        assert!(check_step(3.0, 3.0).is_ok());
    }
}
