//! Checks whether the room and the field meter explain the field that the readings show at zero current.

use super::ammeter::Ammeter;
use super::fit::Fit;
use super::probe;
use crate::pair::{Bench, Distribution};

/// Upper bound of the earth's field at the ground. A test compares it with the World Magnetic Model.
pub(super) const EARTH_AT_MOST_TESLA: f64 = 70e-6;
/// A field is unexplained if it exceeds its bound by more than this many standard uncertainties.
const COVERAGE: f64 = 2.0;

/// A field that the fit finds at zero current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WithoutCurrent {
    /// The room's field, separated from the meter's zero.
    Room,
    /// The field meter's zero, separated from the room's field.
    MeterZero,
    /// Both together.
    RoomAndMeterZero,
}

/// A field at zero current that is larger than its possible sources.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unaccounted {
    /// Which field.
    pub what: WithoutCurrent,
    /// Its value, T.
    pub tesla: f64,
    /// The largest field that can be explained, T.
    pub at_most_tesla: f64,
}

/// B0 of the fit: the room's axial field where the fit separates it, else what the field meter shows; with its standard
/// uncertainty as the field there without current, the field meter's gain and the zeros of both meters counted.
pub(super) fn of_fit(bench: &Bench, fit: &Fit) -> [f64; 2] {
    let Contributions { scatter, gain, field_meter_zero, ammeter_zero } = Contributions::of(bench, fit);
    [value_tesla(fit), scatter.hypot(ammeter_zero).hypot(gain).hypot(field_meter_zero)]
}

/// What the field meter's gain contributes to u(B0), in tesla; `None` where the spec does not state its accuracy.
pub(super) fn from_gain_tesla(bench: &Bench, fit: &Fit) -> Option<f64> {
    Some((value_tesla(fit) * probe::gain_standard_uncertainty(bench)?).abs())
}

/// B0 of the fit.
fn value_tesla(fit: &Fit) -> f64 {
    match fit.separated {
        Some(separated) if separated.along_axis => separated.room_tesla,
        _ => fit.intercept_tesla,
    }
}

/// The contributions to u(B0), in tesla.
struct Contributions {
    scatter: f64,
    gain: f64,
    /// Zero where the probe was turned round, or the meter's zero is not stated.
    field_meter_zero: f64,
    ammeter_zero: f64,
}

impl Contributions {
    fn of(bench: &Bench, fit: &Fit) -> Self {
        let zero = field_meter_zero_tesla(bench, fit).unwrap_or(0.0);
        Self {
            scatter: of_scatter(fit)[0],
            gain: from_gain_tesla(bench, fit).unwrap_or(0.0),
            field_meter_zero: Distribution::Rectangular.standard_uncertainty(zero),
            ammeter_zero: Ammeter::of(bench).map_or(0.0, |ammeter| {
                let sensitivity = ammeter.zero_sensitivity_of_intercept(&fit.ammeter_zero, is_room(fit));
                ammeter.zero_standard_uncertainty_ampere * sensitivity.abs()
            }),
        }
    }
}

/// u(B0), and the covariance of the fitted slope and B0 in T²/A, from the fit alone.
pub(super) fn of_scatter(fit: &Fit) -> [f64; 2] {
    match fit.separated {
        Some(separated) if separated.along_axis => {
            [separated.room_standard_uncertainty_tesla, separated.room_covariance_with_slope]
        }
        _ => [fit.intercept_standard_uncertainty_tesla, fit.covariance],
    }
}

/// u²(B0), and the covariance of the fitted slope and B0 in T²/A, without what the ammeter's zero adds: from the scatter and
/// from the field meter's gain and zero.
pub(super) fn without_ammeter(bench: &Bench, fit: &Fit) -> [f64; 2] {
    let Contributions { scatter, gain, field_meter_zero, .. } = Contributions::of(bench, fit);
    let u_gain = probe::gain_standard_uncertainty(bench).unwrap_or(0.0);
    [
        scatter.powi(2) + gain.powi(2) + field_meter_zero.powi(2),
        of_scatter(fit)[1] + fit.slope_tesla_per_ampere * value_tesla(fit) * u_gain.powi(2),
    ]
}

/// Covariance of the fitted slope and B0, in T²/A, the ammeter's zero and the field meter's gain counted.
pub(super) fn covariance_with_slope(bench: &Bench, fit: &Fit) -> f64 {
    let of_zero =
        Ammeter::of(bench).map_or(0.0, |meter| meter.zero_covariance(&fit.ammeter_zero, is_room(fit)));
    without_ammeter(bench, fit)[1] + of_zero
}

/// Whether B0 is the room's axial field, apart from the field meter's zero.
pub(super) fn is_room(fit: &Fit) -> bool {
    fit.separated.is_some_and(|separated| separated.along_axis)
}

/// The limit of the field meter's zero where that is part of B0, because the probe was not turned round.
pub(super) fn field_meter_zero_tesla(bench: &Bench, fit: &Fit) -> Option<f64> {
    bench.field_meter.and_then(|meter| meter.zero_tesla).filter(|_| !is_room(fit))
}

/// The fields at zero current that neither the earth nor the meter's stated zero explains, by more than twice their
/// standard uncertainty. A meter whose zero is not stated may have any.
pub(super) fn unaccounted(bench: &Bench, fit: &Fit) -> Vec<Unaccounted> {
    let zero_tesla = bench.field_meter.and_then(|meter| meter.zero_tesla);
    let tesla = value_tesla(fit);
    // As the field meter shows it: its zero is in the value where the probe was not turned round.
    let Contributions { scatter, gain, ammeter_zero, .. } = Contributions::of(bench, fit);
    let u = scatter.hypot(ammeter_zero).hypot(gain);
    let found = match fit.separated {
        Some(separated) => vec![
            (
                WithoutCurrent::Room,
                [separated.room_tesla, u.max(separated.room_standard_uncertainty_tesla)],
                Some(EARTH_AT_MOST_TESLA),
            ),
            (
                WithoutCurrent::MeterZero,
                [separated.meter_zero_tesla, separated.meter_zero_standard_uncertainty_tesla],
                zero_tesla,
            ),
        ],
        None => {
            let at_most = zero_tesla.map(|zero| zero + EARTH_AT_MOST_TESLA);
            vec![(WithoutCurrent::RoomAndMeterZero, [tesla, u], at_most)]
        }
    };
    found
        .into_iter()
        .filter_map(|(what, [tesla, u], at_most)| {
            let at_most_tesla = at_most?;
            (tesla.abs() - COVERAGE * u > at_most_tesla).then_some(Unaccounted { what, tesla, at_most_tesla })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::calendar::Day;

    #[cfg(feature = "site")]
    #[test]
    fn the_earths_field_stays_below_the_bound_all_over_the_ground() {
        use crate::pair::Site;
        use crate::physics::room::earth_field;
        let strongest = (-18..=18)
            .flat_map(|row| {
                (-36..36).map(move |column| [row, column].map(|of| f64::from(5 * of).to_radians()))
            })
            .map(|[latitude_rad, longitude_rad]| {
                let date = Day::new(2026, 7, 1).unwrap();
                let site = Site { latitude_rad, longitude_rad, height_m: 0.0, date, axis_bearing_rad: 0.0 };
                let field = earth_field(&site).unwrap();
                field.north_tesla.hypot(field.east_tesla).hypot(field.down_tesla)
            })
            .fold(0.0, f64::max);
        assert!((60e-6..EARTH_AT_MOST_TESLA).contains(&strongest), "{strongest}");
    }
}
