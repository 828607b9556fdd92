//! Fits e/m to many runs, together with the room's axial field if both current directions occur.
//!
//! A run with voltage V in the effective field B (coils, and the room's transverse part) has the radius
//!
//! ```text
//! r = θ c / (B + s b),   c = √(2 V + (e/m) V²/c₀²),   θ = 1/√(e/m)
//! ```
//!
//! with s the current's direction, b the room's field along the axis and c₀ the speed of light: (B r)² = 2 V/(e/m) +
//! V²/c₀² is the relativistic p²/e². The fit minimises Σ ((r_read − r)/u)² over θ, and over b if it is free, by
//! Gauss–Newton. The sum is over the quantity read, the radius, so that its scatter does not bias the mean.

use crate::constants::SPEED_OF_LIGHT_M_PER_S;
use crate::error::Refused;
use crate::numeric::least_squares::{Search, least_squares};
use crate::{Error, Result};
use nalgebra::Vector2;
use std::f64::consts::LN_2;

/// The fit has converged if the last step of ln θ and of the room's relative field is below this.
const CLOSE: f64 = 1e-9;

/// A step at most halves or doubles θ, so that distant runs do not overshoot. The slopes leave out a relativistic term
/// of 1e-4, which near the end may raise chi-square by 1e-8 of itself.
const SEARCH: Search<2> = Search {
    start: Vector2::new(0.0, 0.0),
    held: [false; 2],
    bounds: [[f64::NEG_INFINITY, f64::INFINITY]; 2],
    longest_step: LN_2,
    settled: 1e-13,
    may_grow: 1e-6,
    rounds: 60,
};

/// One run as the fit sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    /// Voltage at the beam.
    pub voltage_volt: f64,
    /// Magnitude of the effective field of coils and transverse room field.
    pub field_tesla: f64,
    /// +1 or −1: whether that field lies along +z or −z.
    pub direction: f64,
    /// Radius in the beam plane.
    pub radius_m: f64,
    /// Standard uncertainty of the radius, including those of this voltage and current converted to the radius.
    pub uncertainty_m: f64,
}

/// The result of the fit.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fitted {
    pub charge_to_mass: f64,
    /// Standard uncertainty from the points' own uncertainties alone.
    pub uncertainty: f64,
    pub room_axial_tesla: f64,
    /// Standard uncertainty of the room's axial field; `None` if it was held.
    pub room_axial_uncertainty_tesla: Option<f64>,
    /// Correlation of e/m and the room's axial field.
    pub correlation: Option<f64>,
    pub chi_square: f64,
    pub degrees_of_freedom: usize,
    /// (read − fitted)/u of each point.
    pub weighted_residuals: Vec<f64>,
    /// Leverage of each point: the weight of its own value in its fitted value, 0 to 1.
    pub leverages: Vec<f64>,
}

/// What is known of the room's axial field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum RoomAxial {
    Held(f64),
    Free,
}

impl Point {
    /// The radius in the model, with θ = 1/√(e/m).
    pub(crate) fn model_m(&self, theta: f64, room_tesla: f64) -> f64 {
        let relativistic = self.voltage_volt / (theta * SPEED_OF_LIGHT_M_PER_S);
        let momentum = (2.0 * self.voltage_volt + relativistic * relativistic).sqrt();
        theta * momentum / (self.field_tesla + self.direction * room_tesla)
    }

    /// e/m of this run alone: 2 V/((B r)² − V²/c₀²), B with the room's axial field.
    pub(crate) fn charge_to_mass(&self, room_tesla: f64) -> f64 {
        let rigidity = (self.field_tesla + self.direction * room_tesla) * self.radius_m;
        let electric = self.voltage_volt / SPEED_OF_LIGHT_M_PER_S;
        2.0 * self.voltage_volt / (rigidity * rigidity - electric * electric)
    }
}

/// Fits e/m, and the room's axial field if it is free.
///
/// The parameters are ln of θ over its start value, and b over the weakest field.
pub(super) fn fit(points: &[Point], room: RoomAxial) -> Result<Fitted> {
    let (free, held_tesla) = match room {
        RoomAxial::Held(tesla) => (false, tesla),
        RoomAxial::Free => (true, 0.0),
    };
    let unknowns = if free { 2 } else { 1 };
    if points.len() < unknowns {
        return Err(Refused::TooFewRuns { runs: points.len(), unknowns }.into());
    }
    // The start comes from the runs themselves: with swapped columns e/m is off by a factor of millions, and a first
    // step from the accepted value would spoil the room's field.
    let alone = |point: &Point| point.field_tesla * point.radius_m / (2.0 * point.voltage_volt).sqrt();
    let start = points.iter().map(alone).sum::<f64>() / points.len() as f64;
    let weakest = points.iter().map(|point| point.field_tesla).fold(f64::INFINITY, f64::min);
    let theta_of = |parameters: &Vector2<f64>| start * parameters[0].exp();
    let room_of = |parameters: &Vector2<f64>| if free { parameters[1] * weakest } else { held_tesla };
    let residuals = |parameters: &Vector2<f64>| {
        let (theta, room_tesla) = (theta_of(parameters), room_of(parameters));
        Ok(points
            .iter()
            .map(|point| (point.radius_m - point.model_m(theta, room_tesla)) / point.uncertainty_m)
            .collect())
    };
    let rows = |parameters: &Vector2<f64>, _: &[f64]| {
        let (theta, room_tesla) = (theta_of(parameters), room_of(parameters));
        Ok(points.iter().map(|point| slopes(point, theta, room_tesla, weakest)).collect())
    };
    let search = Search { held: [false, !free], ..SEARCH };
    let least = least_squares(&search, residuals, rows)?;
    let (theta, room_tesla) = (theta_of(&least.parameters), room_of(&least.parameters));
    let charge_to_mass = 1.0 / (theta * theta);
    let covariance = least.covariance().filter(|_| least.last_step < CLOSE && charge_to_mass.is_finite());
    let Some(covariance) = covariance else {
        return Err(Error::NotConverged {
            what: "e/m from the runs together, in C/kg,",
            best: charge_to_mass,
            error_estimate: 2.0 * least.last_step * charge_to_mass,
        });
    };
    let [theta_variance, room_variance] = [covariance[(0, 0)], covariance[(1, 1)]];
    let leverage = |point: &Point| {
        let mut slope = slopes(point, theta, room_tesla, weakest);
        slope[1] = if free { slope[1] } else { 0.0 };
        slope.dot(&(covariance * slope)).clamp(0.0, 1.0)
    };
    Ok(Fitted {
        charge_to_mass,
        uncertainty: 2.0 * charge_to_mass * theta_variance.sqrt(),
        room_axial_tesla: room_tesla,
        room_axial_uncertainty_tesla: free.then(|| room_variance.sqrt() * weakest),
        // e/m falls as θ grows.
        correlation: free.then(|| -covariance[(0, 1)] / (theta_variance * room_variance).sqrt()),
        chi_square: least.square,
        degrees_of_freedom: points.len() - unknowns,
        leverages: points.iter().map(leverage).collect(),
        weighted_residuals: least.residuals,
    })
}

/// −∂/∂p of the residual over the point's uncertainty, with the parameters p of [`fit`]. ∂/∂θ leaves out the
/// relativistic term, which changes the points' weights by 1e-4.
fn slopes(point: &Point, theta: f64, room_tesla: f64, weakest_tesla: f64) -> Vector2<f64> {
    let radius = point.model_m(theta, room_tesla);
    let field = point.field_tesla + point.direction * room_tesla;
    Vector2::new(radius, -radius * point.direction * weakest_tesla / field) / point.uncertainty_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG;
    use approx::assert_relative_eq;

    fn point(voltage_volt: f64, field_tesla: f64, direction: f64, room_tesla: f64) -> Point {
        let theta = 1.0 / ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG.sqrt();
        let bare = Point { voltage_volt, field_tesla, direction, radius_m: 0.0, uncertainty_m: 1e-3 };
        Point { radius_m: bare.model_m(theta, room_tesla), ..bare }
    }

    #[test]
    fn perfect_runs_give_the_accepted_value_and_the_room_field_put_in() {
        let points: Vec<Point> = [(100.0, 0.7e-3), (200.0, 1.1e-3), (280.0, 0.9e-3)]
            .into_iter()
            .flat_map(|(volt, field)| [1.0, -1.0].map(|direction| point(volt, field, direction, 20e-6)))
            .collect();
        let fitted = fit(&points, RoomAxial::Free).unwrap();
        assert_relative_eq!(
            fitted.charge_to_mass,
            ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG,
            max_relative = 1e-12
        );
        assert_relative_eq!(fitted.room_axial_tesla, 20e-6, max_relative = 1e-9);
        assert!(fitted.chi_square < 1e-15 && fitted.degrees_of_freedom == 4);
        for point in &points {
            let alone = point.charge_to_mass(20e-6);
            assert_relative_eq!(alone, ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG, max_relative = 1e-12);
        }
        // A gun voltage of 280 V without the relativistic term would read 2.7e-4 low.
        let held = fit(&points[..1], RoomAxial::Held(20e-6)).unwrap();
        assert_relative_eq!(
            held.charge_to_mass,
            ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG,
            max_relative = 1e-12
        );
    }

    #[test]
    fn one_unknown_is_the_weighted_mean_of_the_radius_with_its_known_uncertainty() {
        // r = θ c/B is linear in θ: the weighted mean of r B/c, variance 1/Σ (c/(B u))² (any text on least squares).
        let mut points = vec![
            point(150.0, 0.9e-3, 1.0, 0.0),
            point(220.0, 1.2e-3, 1.0, 0.0),
            point(90.0, 0.8e-3, 1.0, 0.0),
        ];
        for (point, (shift, uncertainty)) in
            points.iter_mut().zip([(0.4e-3, 1e-3), (-0.7e-3, 0.5e-3), (0.2e-3, 2e-3)])
        {
            point.radius_m += shift;
            point.uncertainty_m = uncertainty;
        }
        let theta0 = 1.0 / ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG.sqrt();
        let slopes: Vec<f64> = points.iter().map(|point| point.model_m(theta0, 0.0) / theta0).collect();
        let weight = |i: usize| (slopes[i] / points[i].uncertainty_m).powi(2);
        let sum: f64 = (0..3).map(weight).sum();
        let mean: f64 = (0..3).map(|i| weight(i) * points[i].radius_m / slopes[i]).sum::<f64>() / sum;
        let fitted = fit(&points, RoomAxial::Held(0.0)).unwrap();
        assert_relative_eq!(fitted.charge_to_mass, 1.0 / (mean * mean), max_relative = 1e-5);
        let wanted = 2.0 * fitted.charge_to_mass / (sum.sqrt() * mean);
        assert_relative_eq!(fitted.uncertainty, wanted, max_relative = 1e-3);
        assert_relative_eq!(fitted.leverages.iter().sum::<f64>(), 1.0, max_relative = 1e-6);
    }

    #[test]
    fn two_unknowns_agree_with_a_grid_of_chi_square_around_them() {
        let mut points: Vec<Point> = [(100.0, 0.7e-3), (200.0, 1.1e-3), (280.0, 0.9e-3)]
            .into_iter()
            .flat_map(|(volt, field)| [1.0, -1.0].map(|direction| point(volt, field, direction, 15e-6)))
            .collect();
        for (i, point) in points.iter_mut().enumerate() {
            point.radius_m += 0.8e-3 * (1.7 * i as f64).sin();
        }
        let fitted = fit(&points, RoomAxial::Free).unwrap();
        let chi = |charge_to_mass: f64, room: f64| -> f64 {
            points
                .iter()
                .map(|p| {
                    ((p.radius_m - p.model_m(1.0 / charge_to_mass.sqrt(), room)) / p.uncertainty_m).powi(2)
                })
                .sum()
        };
        let (q, b) = (fitted.charge_to_mass, fitted.room_axial_tesla);
        for (dq, db) in [(1e-4, 0.0), (-1e-4, 0.0), (0.0, 1e-8), (0.0, -1e-8), (1e-4, 1e-8)] {
            assert!(chi(q * (1.0 + dq), b + db) > fitted.chi_square);
        }
        // Chi-square rises by 1 at one standard uncertainty if the other parameter follows along the correlation.
        let u = fitted.uncertainty;
        let follow = fitted.correlation.unwrap() * fitted.room_axial_uncertainty_tesla.unwrap();
        let rise = 0.5 * (chi(q + u, b + follow) + chi(q - u, b - follow)) - fitted.chi_square;
        assert_relative_eq!(rise, 1.0, max_relative = 0.01);
    }

    #[test]
    fn runs_with_voltage_and_current_swapped_are_fitted_too() {
        let points: Vec<Point> = [(140.0, 1.2e-3), (220.0, 1.6e-3), (260.0, 1.4e-3)]
            .into_iter()
            .flat_map(|(volt, field)| [1.0, -1.0].map(|direction| point(volt, field, direction, 10e-6)))
            // 1 mT/A: the current is entered as the voltage, and the voltage as the current.
            .map(|point| Point {
                voltage_volt: 1e3 * point.field_tesla,
                field_tesla: 1e-3 * point.voltage_volt,
                ..point
            })
            .collect();
        let fitted = fit(&points, RoomAxial::Free).unwrap();
        assert!((1e3..1e6).contains(&fitted.charge_to_mass), "{}", fitted.charge_to_mass);
    }

    #[test]
    fn too_few_runs_are_refused() {
        assert!(fit(&[], RoomAxial::Held(0.0)).is_err());
        assert!(fit(&[point(100.0, 1e-3, 1.0, 0.0)], RoomAxial::Free).is_err());
        // Two runs with the same direction cannot separate e/m from the room's field.
        let alike = [point(100.0, 1e-3, 1.0, 0.0), point(100.0, 1e-3, 1.0, 0.0)];
        assert!(fit(&alike, RoomAxial::Free).is_err());
    }
}
