//! e/m from many runs together, the room's axial field with it where both current directions are there.
//!
//! A run with voltage V in the effective field B (coils, and the room's transverse part) has the radius
//!
//! ```text
//! r = θ c / (B + s b),   c = √(2 V + (e/m) V²/c₀²),   θ = 1/√(e/m)
//! ```
//!
//! with s the current's direction, b the room's field along the axis and c₀ the speed of light: (B r)² =
//! 2 V/(e/m) + V²/c₀² is the relativistic p²/e². θ, and b where it is free, are those with the least
//! Σ ((r_read − r)/u)², by Gauss–Newton: least squares in what was read, so that scatter of the radius does not
//! pull the mean.

use crate::constants::SPEED_OF_LIGHT_M_PER_S;
use crate::{Error, Result};

/// One run as the fit sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    /// What the beam got.
    pub voltage_volt: f64,
    /// Size of the effective field of coils and transverse room field.
    pub field_tesla: f64,
    /// +1 or −1: whether that field lies along +z or −z.
    pub direction: f64,
    /// Radius in the beam plane.
    pub radius_m: f64,
    /// Standard uncertainty of the radius with those of this voltage and current expressed in it.
    pub uncertainty_m: f64,
}

/// What came out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fitted {
    pub charge_to_mass: f64,
    /// Standard uncertainty from the points' own alone.
    pub uncertainty: f64,
    pub room_axial_tesla: f64,
    /// Standard uncertainty of the room's axial field; none where it was held.
    pub room_axial_uncertainty_tesla: Option<f64>,
    /// Correlation of e/m and the room's axial field.
    pub correlation: Option<f64>,
    pub chi_square: f64,
    pub degrees_of_freedom: usize,
    /// (read − fitted)/u of each point.
    pub weighted_residuals: Vec<f64>,
    /// Share of each point in its own fitted value, 0 to 1.
    pub leverages: Vec<f64>,
}

/// What is known of the room's axial field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum RoomAxial {
    Held(f64),
    Free,
}

impl Point {
    /// The radius that the model gives, θ = 1/√(e/m).
    pub fn model_m(&self, theta: f64, room_tesla: f64) -> f64 {
        let relativistic = self.voltage_volt / (theta * SPEED_OF_LIGHT_M_PER_S);
        let momentum = (2.0 * self.voltage_volt + relativistic * relativistic).sqrt();
        theta * momentum / (self.field_tesla + self.direction * room_tesla)
    }

    /// e/m of this run alone: 2 V/((B r)² − V²/c₀²), B with the room's axial field.
    pub fn charge_to_mass(&self, room_tesla: f64) -> f64 {
        let rigidity = (self.field_tesla + self.direction * room_tesla) * self.radius_m;
        let electric = self.voltage_volt / SPEED_OF_LIGHT_M_PER_S;
        2.0 * self.voltage_volt / (rigidity * rigidity - electric * electric)
    }
}

/// Fits e/m, and the room's axial field where it is free.
pub(super) fn fit(points: &[Point], room: RoomAxial) -> Result<Fitted> {
    let (free, mut room_tesla) = match room {
        RoomAxial::Held(tesla) => (false, tesla),
        RoomAxial::Free => (true, 0.0),
    };
    let unknowns = if free { 2 } else { 1 };
    if points.len() < unknowns {
        return Err(Error::value(format!("{} runs are too few to fit {unknowns} numbers", points.len())));
    }
    // From the runs themselves: with columns swapped e/m is millions of times off, and a step from the accepted value
    // would throw the room's field away.
    let alone = |point: &Point| point.field_tesla * point.radius_m / (2.0 * point.voltage_volt).sqrt();
    let mut theta = points.iter().map(alone).sum::<f64>() / points.len() as f64;
    let mut normal = Normal::default();
    let mut change = f64::INFINITY;
    for _ in 0..60 {
        normal = Normal::of(points, theta, room_tesla, free);
        let Some([theta_step, room_step]) = normal.step() else { break };
        // A step never more than halves or doubles: far-off runs approach instead of overshooting.
        let next = (theta + theta_step).clamp(0.5 * theta, 2.0 * theta);
        change = (next / theta - 1.0).abs();
        theta = next;
        room_tesla += room_step;
        let field = points.iter().map(|point| point.field_tesla).fold(f64::INFINITY, f64::min);
        change = change.max(room_step.abs() / field);
        if change < 1e-13 {
            break;
        }
    }
    let charge_to_mass = 1.0 / (theta * theta);
    if !(change < 1e-9 && charge_to_mass.is_finite()) {
        return Err(Error::NotConverged {
            what: "e/m from the runs together, in C/kg,",
            best: charge_to_mass,
            error_estimate: 2.0 * change * charge_to_mass,
        });
    }
    let [[theta_variance, covariance], [_, room_variance]] = normal.covariance();
    let weighted_residuals: Vec<f64> = points
        .iter()
        .map(|point| (point.radius_m - point.model_m(theta, room_tesla)) / point.uncertainty_m)
        .collect();
    let leverages = points.iter().map(|point| normal.leverage(point, theta, room_tesla, free)).collect();
    Ok(Fitted {
        charge_to_mass,
        uncertainty: 2.0 * charge_to_mass * theta_variance.sqrt() / theta,
        room_axial_tesla: room_tesla,
        room_axial_uncertainty_tesla: free.then(|| room_variance.sqrt()),
        // e/m falls as θ grows.
        correlation: free.then(|| -covariance / (theta_variance * room_variance).sqrt()),
        chi_square: weighted_residuals.iter().map(|residual| residual * residual).sum(),
        degrees_of_freedom: points.len() - unknowns,
        weighted_residuals,
        leverages,
    })
}

/// The normal equations of θ and b; those of b are left at the unit when it is held.
#[derive(Clone, Copy, Debug, Default)]
struct Normal {
    matrix: [[f64; 2]; 2],
    right: [f64; 2],
}

impl Normal {
    fn of(points: &[Point], theta: f64, room_tesla: f64, free: bool) -> Self {
        let mut normal = Self::default();
        for point in points {
            let slope = slopes(point, theta, room_tesla, free);
            let rest = (point.radius_m - point.model_m(theta, room_tesla)) / point.uncertainty_m;
            for i in 0..2 {
                normal.right[i] += slope[i] * rest;
                for j in 0..2 {
                    normal.matrix[i][j] += slope[i] * slope[j];
                }
            }
        }
        if !free {
            normal.matrix[1][1] = 1.0;
        }
        normal
    }

    fn covariance(&self) -> [[f64; 2]; 2] {
        let [[a, b], [_, d]] = self.matrix;
        let determinant = a * d - b * b;
        [[d / determinant, -b / determinant], [-b / determinant, a / determinant]]
    }

    /// None where the runs cannot part the two unknowns.
    fn step(&self) -> Option<[f64; 2]> {
        let [[a, b], [_, d]] = self.matrix;
        if a * d - b * b <= 1e-10 * a * d {
            return None;
        }
        let covariance = self.covariance();
        let step = covariance.map(|row| row[0] * self.right[0] + row[1] * self.right[1]);
        step.iter().all(|part| part.is_finite()).then_some(step)
    }

    fn leverage(&self, point: &Point, theta: f64, room_tesla: f64, free: bool) -> f64 {
        let slope = slopes(point, theta, room_tesla, free);
        let covariance = self.covariance();
        let sum: f64 = (0..2)
            .flat_map(|i| (0..2).map(move |j| (i, j)))
            .map(|(i, j)| slope[i] * covariance[i][j] * slope[j])
            .sum();
        sum.clamp(0.0, 1.0)
    }
}

/// ∂r/∂θ and ∂r/∂b over the point's uncertainty. The relativistic term, a ten-thousandth, is left out of ∂/∂θ: it
/// changes the points' weights by that much.
fn slopes(point: &Point, theta: f64, room_tesla: f64, free: bool) -> [f64; 2] {
    let radius = point.model_m(theta, room_tesla);
    let field = point.field_tesla + point.direction * room_tesla;
    let room = if free { -radius * point.direction / field } else { 0.0 };
    [radius / theta / point.uncertainty_m, room / point.uncertainty_m]
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
        // Chi-square rises by 1 at one standard uncertainty, the other number following along the correlation.
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
            // 1 mT/A: the ampere as a volt, the volt as an ampere.
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
        // Both runs one way round cannot part e/m from the room.
        let alike = [point(100.0, 1e-3, 1.0, 0.0), point(100.0, 1e-3, 1.0, 0.0)];
        assert!(fit(&alike, RoomAxial::Free).is_err());
    }
}
