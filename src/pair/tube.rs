//! The beam tube, and the textbook's circle of the beam from its gun exit.

use crate::Result;
use crate::error::Refused;
use nalgebra::{UnitVector3, Vector3};

/// The beam tube as far as the spec states it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StatedTube {
    /// Inner radius of the bulb.
    pub bulb_radius_m: Option<f64>,
    /// Centre of the bulb; the origin if the spec does not state it.
    pub bulb_centre_m: Vector3<f64>,
    /// Where the beam leaves the gun.
    pub gun_exit_m: Option<Vector3<f64>>,
    /// Direction in which it leaves; [`direction_of`] makes one from any vector.
    pub gun_direction: Option<UnitVector3<f64>>,
    /// Lowest and highest gun voltage used.
    pub gun_voltage_volt: Option<[f64; 2]>,
    /// Voltmeter reading minus the beam's accelerating voltage: value, standard uncertainty.
    pub gun_voltage_offset_volt: Option<[f64; 2]>,
    /// Smallest and largest beam radius used.
    pub beam_radius_m: Option<[f64; 2]>,
}

impl StatedTube {
    /// The tube with its gun. `None` if the gun's exit or its direction is not stated.
    pub fn with_gun(&self) -> Option<Tube> {
        Some(Tube {
            bulb_radius_m: self.bulb_radius_m,
            bulb_centre_m: self.bulb_centre_m,
            gun_exit_m: self.gun_exit_m?,
            gun_direction: self.gun_direction?,
            gun_voltage_volt: self.gun_voltage_volt,
            gun_voltage_offset_volt: self.gun_voltage_offset_volt,
            beam_radius_m: self.beam_radius_m,
        })
    }

    /// The bulb, if the spec states its radius.
    pub fn bulb(&self) -> Option<Bulb> {
        Some(Bulb { centre_m: self.bulb_centre_m, radius_m: self.bulb_radius_m? })
    }
}

impl From<Tube> for StatedTube {
    fn from(tube: Tube) -> Self {
        Self {
            bulb_radius_m: tube.bulb_radius_m,
            bulb_centre_m: tube.bulb_centre_m,
            gun_exit_m: Some(tube.gun_exit_m),
            gun_direction: Some(tube.gun_direction),
            gun_voltage_volt: tube.gun_voltage_volt,
            gun_voltage_offset_volt: tube.gun_voltage_offset_volt,
            beam_radius_m: tube.beam_radius_m,
        }
    }
}

/// The direction of a vector of any length.
///
/// ```
/// use coilwright::pair::direction_of;
/// use nalgebra::Vector3;
/// let direction = direction_of(Vector3::new(0.0, 3.0, 4.0))?;
/// assert!((direction.into_inner() - Vector3::new(0.0, 0.6, 0.8)).norm() < 1e-15);
/// assert!(direction_of(Vector3::zeros()).is_err());
/// # Ok::<(), coilwright::Error>(())
/// ```
///
/// # Errors
/// [`Refused::NoDirection`] if the vector is zero or has a component that is not finite.
pub fn direction_of(vector: Vector3<f64>) -> Result<UnitVector3<f64>> {
    // The largest component comes out first, so that no square overflows or vanishes.
    let largest = vector.amax();
    let found = match vector.iter().all(|part| part.is_finite()) && largest > 0.0 {
        true => UnitVector3::try_new(vector / largest, 0.0),
        false => None,
    };
    found.ok_or_else(|| Refused::NoDirection { vector: vector.into() }.into())
}

/// The glass bulb.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bulb {
    /// Its centre.
    pub centre_m: Vector3<f64>,
    /// Its inner radius.
    pub radius_m: f64,
}

/// A beam tube whose gun is known, as computing a beam requires.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    /// Inner radius of the bulb; if it is not known, no glass stops the beam.
    pub bulb_radius_m: Option<f64>,
    /// Centre of the bulb.
    pub bulb_centre_m: Vector3<f64>,
    /// Where the beam leaves the gun.
    pub gun_exit_m: Vector3<f64>,
    /// Direction in which it leaves; [`direction_of`] makes one from any vector.
    pub gun_direction: UnitVector3<f64>,
    /// Lowest and highest gun voltage used.
    pub gun_voltage_volt: Option<[f64; 2]>,
    /// Voltmeter reading minus the beam's accelerating voltage: value, standard uncertainty.
    pub gun_voltage_offset_volt: Option<[f64; 2]>,
    /// Smallest and largest beam radius used.
    pub beam_radius_m: Option<[f64; 2]>,
}

impl Tube {
    /// Unit vector from the gun exit to the circle's centre at positive current: z × d for a beam leaving along d
    /// (charge −e, field along +z), d taken in the beam plane.
    ///
    /// A gun that points along the axis makes no circle; the result is then the zero vector.
    pub(crate) fn towards_circle_centre(&self) -> Vector3<f64> {
        Vector3::z().cross(&self.gun_direction).try_normalize(1e-12).unwrap_or_else(Vector3::zeros)
    }

    /// Centre of the circle of a given radius at positive current; a negative radius gives the circle at negative
    /// current, on the other side of the gun.
    pub(crate) fn circle_centre_m(&self, radius_m: f64) -> Vector3<f64> {
        self.gun_exit_m + self.towards_circle_centre() * radius_m
    }

    /// The bulb, if its radius is known.
    pub fn bulb(&self) -> Option<Bulb> {
        Some(Bulb { centre_m: self.bulb_centre_m, radius_m: self.bulb_radius_m? })
    }

    /// Whether the whole circle of a given radius, negative for negative current, lies inside the bulb. Always true if
    /// the bulb is not known.
    pub(crate) fn circle_fits(&self, radius_m: f64) -> bool {
        self.bulb().is_none_or(|bulb| {
            (self.circle_centre_m(radius_m) - bulb.centre_m).norm() + radius_m.abs() < bulb.radius_m
        })
    }

    /// The largest circle at positive current (`side` 1) or negative current (`side` -1) that stays inside the bulb.
    /// `None` if the bulb is not known or the gun makes no circle.
    ///
    /// The circle r with |d + r t| + r = R', d from the bulb's centre to the gun exit in the gun's plane, t towards
    /// the circle's centre, R' the radius of the bulb's section in that plane: r = (R'² − d²)/(2 (R' + d·t)).
    pub(crate) fn largest_radius_in_bulb_m(&self, side: f64) -> Option<f64> {
        let bulb = self.bulb()?;
        let exit = self.gun_exit_m - bulb.centre_m;
        let section_m = (bulb.radius_m.powi(2) - exit.z.powi(2)).max(0.0).sqrt();
        let towards = self.towards_circle_centre() * side;
        let across = exit.xy();
        (towards.norm() > 0.0).then(|| {
            (section_m.powi(2) - across.norm_squared()) / (2.0 * (section_m + across.dot(&towards.xy())))
        })
    }

    /// The larger of the two radii for the two directions of the current.
    pub(crate) fn largest_radius_in_bulb_either_way_m(&self) -> Option<f64> {
        [1.0, -1.0].into_iter().filter_map(|side| self.largest_radius_in_bulb_m(side)).reduce(f64::max)
    }

    /// The tube in the position that holds the whole circle of a given radius, negative for negative current. If only
    /// the tube turned half round holds it, that tube is returned and the second value is true.
    pub(crate) fn as_it_holds(&self, radius_m: f64) -> (Self, bool) {
        let turned = self.turned_half_round();
        if !self.circle_fits(radius_m) && turned.circle_fits(radius_m) {
            (turned, true)
        } else {
            (self.clone(), false)
        }
    }

    /// The tube turned half round the line through the bulb's centre in the direction of its gun. The reversed current
    /// then makes the same circle, mirrored.
    pub(crate) fn turned_half_round(&self) -> Self {
        let along = self.gun_direction.into_inner();
        let turned = |vector: Vector3<f64>| along * (2.0 * along.dot(&vector)) - vector;
        Self { gun_exit_m: self.bulb_centre_m + turned(self.gun_exit_m - self.bulb_centre_m), ..self.clone() }
    }

    /// The point reached after turning through `angle_rad` on the circle of a given radius, from the gun exit (0)
    /// to the opposite crossing (π) and back (2π).
    pub(crate) fn circle_point_m(&self, radius_m: f64, angle_rad: f64) -> Vector3<f64> {
        let towards = self.towards_circle_centre();
        let along = towards.cross(&Vector3::z());
        self.gun_exit_m + (towards * (1.0 - angle_rad.cos()) + along * angle_rad.sin()) * radius_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn tube() -> Tube {
        Tube {
            bulb_radius_m: Some(0.08),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.05, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: None,
        }
    }

    #[test]
    fn a_direction_has_length_one_whatever_the_vector_and_none_follows_from_no_vector() {
        for length in [1e-300, 1e-200, 1e-3, 2.0, 1e200, 1e308] {
            let direction = direction_of(Vector3::new(0.6, 0.0, -0.8) * length).unwrap();
            assert!((direction.into_inner() - Vector3::new(0.6, 0.0, -0.8)).norm() < 1e-15, "{length}");
        }
        for none in [[0.0; 3], [f64::NAN, 1.0, 0.0], [0.0, f64::INFINITY, 0.0]] {
            let refused = direction_of(none.into()).unwrap_err();
            assert!(
                matches!(refused, crate::Error::Refused(Refused::NoDirection { .. })),
                "{none:?}: {refused}"
            );
        }
    }

    #[test]
    fn a_beam_leaving_upward_on_the_right_bends_toward_the_middle() {
        // Force on −e at v along +y in +z field: −e (y × z) = −e x, so the centre lies toward −x.
        assert!((tube().circle_centre_m(0.04) - Vector3::new(0.01, 0.0, 0.0)).norm() < 1e-16);
    }

    #[test]
    fn the_largest_circle_in_the_bulb_touches_the_glass_opposite() {
        // From x = 50 mm in a bulb of 80 mm: a circle toward the middle is 130 mm across, one away from it 30 mm.
        for (side, radius) in [(1.0, 0.065), (-1.0, 0.015)] {
            let found = tube().largest_radius_in_bulb_m(side).unwrap();
            assert!((found - radius).abs() < 1e-15, "{found}");
            assert!(tube().circle_fits(side * (found - 1e-9)) && !tube().circle_fits(side * (found + 1e-9)));
        }
        let unknown = Tube { bulb_radius_m: None, ..tube() };
        assert_eq!(unknown.largest_radius_in_bulb_m(1.0), None);
        assert!(unknown.circle_fits(1.0));
        assert_eq!(Tube { gun_direction: Vector3::z_axis(), ..tube() }.largest_radius_in_bulb_m(1.0), None);
    }

    #[test]
    fn a_tube_turned_half_round_holds_the_circle_of_the_other_current_direction() {
        assert!(tube().circle_fits(0.04) && !tube().circle_fits(-0.04));
        let turned = tube().turned_half_round();
        assert!((turned.gun_exit_m - Vector3::new(-0.05, 0.0, 0.0)).norm() < 1e-16);
        assert!(turned.circle_fits(-0.04) && !turned.circle_fits(0.04));
        assert_eq!(turned.turned_half_round(), tube());
        assert_eq!(tube().as_it_holds(0.04), (tube(), false));
        assert_eq!(tube().as_it_holds(-0.04), (turned, true));
    }

    #[test]
    fn the_circle_starts_along_the_gun_and_crosses_opposite_after_half_a_turn() {
        let tube = tube();
        let early = tube.circle_point_m(0.04, 1e-6) - tube.gun_exit_m;
        assert!((early.normalize() - Vector3::y()).norm() < 1e-5);
        let opposite = tube.circle_point_m(0.04, PI);
        assert!((opposite - Vector3::new(-0.03, 0.0, 0.0)).norm() < 1e-15);
        for angle in [0.3, 2.0, 5.0] {
            let radius = (tube.circle_point_m(0.04, angle) - tube.circle_centre_m(0.04)).norm();
            assert!((radius - 0.04).abs() < 1e-15);
        }
    }
}
