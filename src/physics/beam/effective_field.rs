//! The uniform field that bends the beam as much as the real field does.

use super::electron::Electron;
use super::gun::Gun;
use super::path::{PathLength, PathOptions, trace};
use crate::error::{CentreFieldFor, Refused};
use crate::numeric::quadrature::gauss_legendre;
use crate::pair::Tube;
use crate::physics::field::Assembly;
use crate::{Error, Result};
use nalgebra::Vector3;
use std::f64::consts::PI;

/// The direction of the coil current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CurrentDirection {
    /// The current whose field is along +z.
    Positive,
    /// The opposite: the beam bends to the gun's other side.
    Negative,
}

impl CurrentDirection {
    /// The direction of a current; zero counts as positive.
    pub fn of(current_ampere: f64) -> Self {
        if current_ampere < 0.0 { Self::Negative } else { Self::Positive }
    }

    /// +1 or −1.
    pub fn sign(self) -> f64 {
        match self {
            Self::Positive => 1.0,
            Self::Negative => -1.0,
        }
    }
}

/// Effective field of the beam circle of read radius `beam_radius_m` at positive current, over the field at the
/// centre; see [`effective_field_ratio_towards`].
pub fn effective_field_ratio(assembly: &Assembly, tube: &Tube, beam_radius_m: f64) -> Result<f64> {
    effective_field_ratio_towards(CurrentDirection::Positive, assembly, tube, beam_radius_m)
}

/// Effective field of the beam circle of read radius `beam_radius_m`, over the field at the centre: the uniform
/// field along z that gives the same distance from the gun exit to the opposite crossing.
///
/// It is computed from the integrated orbit in the field of the coils alone. Current and gun voltage enter only in a
/// combination that the radius fixes. Both fields are components along z, so that k I times this ratio is the B of
/// e/m = 2 V/(B r)². Accurate to about 1e-11; [`first_order_effective_field_ratio`] is the check, good to the square of
/// the deviation. The bulb does not stop this beam.
///
/// Errors: zero field at the centre, a radius that is not above zero, a beam that never comes round.
pub fn effective_field_ratio_towards(
    direction: CurrentDirection,
    assembly: &Assembly,
    tube: &Tube,
    beam_radius_m: f64,
) -> Result<f64> {
    let centre = centre_field_per_ampere(assembly)?;
    check_radius(beam_radius_m)?;
    // Positive means field along +z here, however the pair is connected.
    let per_centre = direction.sign() / centre;
    let guess = first_order_effective_field_ratio_towards(direction, assembly, tube, beam_radius_m)?;
    effective_field_tesla(
        |point| assembly.field_per_ampere(point) * per_centre,
        &Gun::of(tube, 0.0),
        beam_radius_m,
        guess,
    )
}

/// The uniform field along z that gives the beam of this gun the same distance from the gun exit to the opposite
/// crossing, twice `beam_radius_m`, as the field `field_tesla`(position) does. `guess_tesla` is the start value: the
/// size of the field.
///
/// Accurate to about 1e-11. Errors: a radius that is not above zero, a beam that never comes round.
pub fn effective_field_tesla(
    field_tesla: impl Fn(&Vector3<f64>) -> Vector3<f64>,
    gun: &Gun,
    beam_radius_m: f64,
    guess_tesla: f64,
) -> Result<f64> {
    check_radius(beam_radius_m)?;
    let transverse = gun.transverse_share();
    if transverse < 1e-9 {
        return Err(Refused::GunAlongAxis.into());
    }
    // Any electron will do: only field over rigidity matters, so the field is scaled instead of the voltage.
    let electron = Electron::after(100.0)?;
    let rigidity = electron.rigidity_tesla_m() * transverse;
    // Effective field = rigidity/radius for the rigidity that gives the wanted radius. This fixed-point iteration
    // contracts by the relative change of the effective field with radius, some percent per iteration.
    let mut effective = guess_tesla.abs();
    let mut change = f64::INFINITY;
    for _ in 0..40 {
        let scale = rigidity / (effective * beam_radius_m);
        let field = |point: &Vector3<f64>| field_tesla(point) * scale;
        let path = trace(field, &electron, gun, &PathOptions::in_the_open(PathLength::HalfCircle))?;
        let Some(read_radius_m) = path.read_radius_m() else {
            return Err(Refused::BeamDoesNotComeRound { radius_m: beam_radius_m }.into());
        };
        let excess = read_radius_m / beam_radius_m;
        change = (excess - 1.0).abs();
        effective /= excess;
        if change < 1e-12 {
            return Ok(effective);
        }
    }
    Err(Error::NotConverged { what: "the effective field", best: effective, error_estimate: change })
}

/// Effective field ratio to first order in the deviation, at positive current; see
/// [`first_order_effective_field_ratio_towards`].
pub fn first_order_effective_field_ratio(
    assembly: &Assembly,
    tube: &Tube,
    beam_radius_m: f64,
) -> Result<f64> {
    first_order_effective_field_ratio_towards(CurrentDirection::Positive, assembly, tube, beam_radius_m)
}

/// Effective field ratio to first order in the deviation: (1/2) ∫₀^π sin φ (B_z/B_centre) dφ over the first half of the
/// circle of radius `beam_radius_m` from the gun exit.
///
/// The sine is the weight of the field along the half circle: half-way round the field moves the opposite crossing
/// most, at the gun and at the crossing not at all.
pub fn first_order_effective_field_ratio_towards(
    direction: CurrentDirection,
    assembly: &Assembly,
    tube: &Tube,
    beam_radius_m: f64,
) -> Result<f64> {
    const NODES: usize = 32;
    let centre = centre_field_per_ampere(assembly)?;
    check_radius(beam_radius_m)?;
    let integral: f64 = gauss_legendre(NODES)
        .iter()
        .map(|&(node, weight)| {
            let angle = 0.5 * PI * (1.0 + node);
            let point = match direction {
                CurrentDirection::Positive => tube.circle_point_m(beam_radius_m, angle),
                CurrentDirection::Negative => tube.circle_point_m(-beam_radius_m, -angle),
            };
            0.5 * PI * weight * angle.sin() * assembly.field_per_ampere(&point).z / centre
        })
        .sum();
    Ok(0.5 * integral)
}

fn check_radius(beam_radius_m: f64) -> Result<()> {
    if beam_radius_m > 0.0 && beam_radius_m.is_finite() {
        Ok(())
    } else {
        Err(Refused::BeamRadius { radius_m: beam_radius_m }.into())
    }
}

fn centre_field_per_ampere(assembly: &Assembly) -> Result<f64> {
    let at_centre = assembly.field_per_ampere(&Vector3::zeros());
    // If the coils cancel, only rounding remains of the field.
    if at_centre.z.abs() > 1e-6 * assembly.separate_fields_at_centre() {
        Ok(at_centre.z)
    } else {
        Err(Refused::CoilsCancel { wanted: CentreFieldFor::EffectiveField }.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{PlacedWinding, Section};
    use approx::assert_relative_eq;

    fn tube(exit_x_m: f64) -> Tube {
        Tube {
            bulb_radius_m: Some(0.09),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(exit_x_m, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: None,
        }
    }

    fn pair(senses: [f64; 2]) -> Assembly {
        let winding = |z: f64, current_share: f64| PlacedWinding {
            section: Section { mean_radius_m: 0.2, width_m: 1e-6, depth_m: 1e-6 },
            turns: 150.0,
            centre_m: Vector3::new(0.0, 0.0, z),
            axis: Vector3::z(),
            current_share,
        };
        Assembly::new(vec![winding(-0.1, senses[0]), winding(0.1, senses[1])])
    }

    #[test]
    fn the_integrated_and_the_first_order_ratio_agree_to_the_square_of_the_deviation() {
        let pair = pair([1.0, 1.0]);
        let centre = pair.field_per_ampere(&Vector3::zeros()).z;
        for (exit, radius) in [(0.05, 0.02), (0.05, 0.05), (0.07, 0.07), (0.09, 0.06), (0.14, 0.066)] {
            let worst = (0..=64)
                .map(|i| tube(exit).circle_point_m(radius, PI * f64::from(i) / 64.0))
                .map(|point| (pair.field_per_ampere(&point).z / centre - 1.0).abs())
                .fold(0.0, f64::max);
            let ratio = effective_field_ratio(&pair, &tube(exit), radius).unwrap();
            let first_order = first_order_effective_field_ratio(&pair, &tube(exit), radius).unwrap();
            assert!(
                (ratio - first_order).abs() < 2.0 * worst * worst + 1e-11,
                "{exit} {radius}: {ratio} {first_order}"
            );
            assert!((ratio - 1.0).abs() <= worst, "{exit} {radius}: {ratio}, worst deviation {worst}");
        }
    }

    #[test]
    fn the_ratio_agrees_with_a_second_integration_to_a_billionth() {
        // Computed with scipy 1.17: Radau (implicit, order 5, tolerance 1e-11) in the field of the same filaments
        // from scipy's elliptic integrals, and a fixed-point iteration of its own.
        for (exit, radius, wanted) in
            [(0.05, 0.05, 0.998_214_802_66), (0.07, 0.07, 0.992_773_748_35), (0.09, 0.06, 0.992_349_376_03)]
        {
            let ratio = effective_field_ratio(&pair([1.0, 1.0]), &tube(exit), radius).unwrap();
            assert_relative_eq!(ratio, wanted, epsilon = 1e-9);
        }
    }

    #[test]
    fn the_centre_circle_agrees_with_the_series_of_the_ideal_pair() {
        // Mid-plane B/B0 = 1 − (54/125)(rho/R)^4 − (1232/3125)(rho/R)^6 (exact series of the ideal pair). A circle
        // round the centre has one rho, so the first-order ratio is the local field itself.
        let (pair, rho) = (pair([1.0, 1.0]), 0.04);
        let s = (rho / 0.2f64).powi(2);
        let series = 1.0 - 54.0 / 125.0 * s * s - 1232.0 / 3125.0 * s * s * s;
        let first_order = first_order_effective_field_ratio(&pair, &tube(rho), rho).unwrap();
        assert_relative_eq!(first_order, series, epsilon = 5e-6);
    }

    #[test]
    fn a_pair_connected_backwards_throughout_gives_the_same_ratio_and_one_coil_backwards_none() {
        let ratio = |senses| effective_field_ratio(&pair(senses), &tube(0.05), 0.05);
        assert_relative_eq!(ratio([1.0, 1.0]).unwrap(), ratio([-1.0, -1.0]).unwrap(), max_relative = 1e-11);
        assert!(ratio([1.0, -1.0]).unwrap_err().hint().unwrap().contains("sense"));
    }

    #[test]
    fn the_other_current_direction_is_the_mirror_image() {
        // The pair is symmetric about x = 0, so a gun at −x with the current reversed sees the same field.
        let there = effective_field_ratio(&pair([1.0, 1.0]), &tube(0.05), 0.04).unwrap();
        for ratio in [effective_field_ratio_towards, first_order_effective_field_ratio_towards] {
            let pair = pair([1.0, 1.0]);
            let back = ratio(CurrentDirection::Negative, &pair, &tube(-0.05), 0.04).unwrap();
            assert_relative_eq!(back, there, epsilon = 1e-5);
            let outward = ratio(CurrentDirection::Negative, &pair, &tube(0.05), 0.04).unwrap();
            assert!(outward < there - 1e-3, "{outward}");
        }
    }

    #[test]
    fn radii_that_make_no_circle_are_refused() {
        let pair = pair([1.0, 1.0]);
        for radius in [0.0, -0.05, f64::NAN, f64::INFINITY, 3.0] {
            assert!(effective_field_ratio(&pair, &tube(0.05), radius).is_err(), "{radius}");
        }
        let along = Tube { gun_direction: Vector3::z_axis(), ..tube(0.05) };
        assert!(effective_field_ratio(&pair, &along, 0.05).is_err());
    }
}
