//! The effect of the room's field on a lesson, along the axis and across it, and the best direction of the bench.

use super::fit::{Fit, Separated};
use super::without_current;
use crate::Result;
use crate::pair::{AxisPosition, Bench};
use crate::physics::beam::Electron;
use crate::physics::room;
use crate::physics::room::EarthField;
use nalgebra::Vector3;
use serde::{Deserialize, Serialize};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// The room's field and its effects.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct RoomEffect {
    /// Source of the axial part.
    pub source: RoomSource,
    /// The field in bench axes, if the spec gives or implies one.
    pub field_tesla: Option<[f64; 3]>,
    /// Its part along +z.
    pub axial_tesla: f64,
    /// u(axial), if it is known.
    pub axial_standard_uncertainty_tesla: Option<f64>,
    /// What the field meter's gain contributes to that, where readings found the axial part and the spec states the gain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub axial_probe_gain_contribution_tesla: Option<f64>,
    /// The size of its part across the axis.
    pub transverse_tesla: Option<f64>,
    /// The bearing of +z, clockwise from true north, at which the axial part is smallest in magnitude: the nearer of
    /// the two. `None` if the bench's own bearing is not known, or the axis is vertical.
    pub best_bearing_rad: Option<f64>,
    /// Turn of the bench to get there, clockwise as seen from above. `None` for a vertical axis.
    pub turn_to_best_rad: Option<f64>,
    /// The axial part that then remains.
    pub axial_at_best_tesla: Option<f64>,
    /// The magnetic model that gives the field, if one does.
    pub model: Option<EarthField>,
    /// The effects at the smallest and the largest field in use.
    pub effects: Vec<RoomAtField>,
}

/// Source of the room's axial field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RoomSource {
    /// A vector in the spec.
    Measured,
    /// A magnetic model for the spec's site and date.
    Model,
    /// Readings with the probe turned round.
    Readings,
}

/// The effects of the room at one coil field.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct RoomAtField {
    /// The coil current.
    pub current_ampere: f64,
    /// The coils' field.
    pub coil_field_tesla: f64,
    /// Relative error of e/m at this current if the axial part is ignored: (1 + R/B)² − 1.
    pub charge_to_mass_bias_fraction: f64,
    /// That error with the current reversed. The mean of the two is R²/B².
    pub charge_to_mass_bias_reversed_fraction: f64,
    /// The beam radius for which the rise is computed.
    pub beam_radius_m: Option<f64>,
    /// Rise of the beam along z in one turn because of the transverse part, for this gun.
    pub rise_per_turn_m: Option<f64>,
    /// The largest such rise, over all directions of the gun in the beam plane.
    pub largest_rise_per_turn_m: Option<f64>,
    /// Growth of |B| by the transverse part: √(1 + (T/B)²) − 1, which reversing the current does not cancel.
    pub field_growth_fraction: Option<f64>,
}

/// The effects of the room on this bench with this slope. `None` if nothing is known of its field.
///
/// For the axial part, readings with the probe turned round along the axis take precedence over the spec.
pub(crate) fn room_effect(
    bench: &Bench,
    slope_tesla_per_ampere: f64,
    current_limit_ampere: f64,
    fit: Option<&Fit>,
) -> Result<Option<RoomEffect>> {
    let field = room::field_tesla(bench)?;
    let separated = fit.and_then(|fit| fit.separated).filter(|separated| separated.along_axis);
    // An incomplete site gives no field; a note says so.
    let model = match bench.site() {
        Ok(Some(site)) => Some((room::earth_field(&site)?, site.axis_bearing_rad)),
        _ => None,
    };
    let (source, axial_tesla) = match (separated, field, &model) {
        (Some(separated), ..) => (RoomSource::Readings, separated.room_tesla),
        (None, Some(field), Some(_)) => (RoomSource::Model, field.z),
        (None, Some(field), None) => (RoomSource::Measured, field.z),
        (None, None, _) => return Ok(None),
    };
    let turn_to_best_rad = field.and_then(|field| turn_to_best(bench.axis, &field));
    let best_bearing_rad = match (&model, turn_to_best_rad) {
        (Some((_, bearing_rad)), Some(turn)) => Some((bearing_rad + turn).rem_euclid(TAU)),
        _ => None,
    };
    Ok(Some(RoomEffect {
        source,
        field_tesla: field.map(Into::into),
        axial_tesla,
        axial_standard_uncertainty_tesla: axial_uncertainty(bench, fit, separated, model.as_ref()),
        axial_probe_gain_contribution_tesla: fit
            .filter(|_| separated.is_some())
            .and_then(|fit| without_current::from_gain_tesla(bench, fit)),
        transverse_tesla: field.map(|field| field.xy().norm()),
        best_bearing_rad,
        turn_to_best_rad,
        axial_at_best_tesla: turn_to_best_rad.map(|_| 0.0),
        model: model.map(|(earth, _)| earth),
        effects: effects(bench, slope_tesla_per_ampere, current_limit_ampere, axial_tesla, field)?,
    }))
}

/// u(axial): of readings, that of B0, the ammeter's zero counted, which imitates a room field; of the model, its own; of a
/// stated field, not known.
fn axial_uncertainty(
    bench: &Bench,
    fit: Option<&Fit>,
    separated: Option<Separated>,
    model: Option<&(EarthField, f64)>,
) -> Option<f64> {
    if let (Some(_), Some(fit)) = (separated, fit) {
        let [_, u] = without_current::of_fit(bench, fit);
        return Some(u);
    }
    let (earth, bearing_rad) = model?;
    let [north, east, down] = earth.standard_uncertainty_tesla;
    Some(match bench.axis {
        AxisPosition::Horizontal => (north * bearing_rad.cos()).hypot(east * bearing_rad.sin()),
        AxisPosition::Vertical => down,
    })
}

/// The smaller turn, clockwise as seen from above, that puts the axis across the horizontal part of the field.
///
/// Seen from above, x points to the left of z. z turned clockwise by τ is cos τ z − sin τ x, so the axial part is R_z
/// cos τ − R_x sin τ, which is zero at τ = atan(R_z / R_x).
fn turn_to_best(axis: AxisPosition, field: &Vector3<f64>) -> Option<f64> {
    if axis == AxisPosition::Vertical {
        return None;
    }
    let turn = field.z.atan2(field.x);
    // Half a turn more gives zero as well, so the nearer one is taken.
    Some(if turn > FRAC_PI_2 {
        turn - PI
    } else if turn < -FRAC_PI_2 {
        turn + PI
    } else {
        turn
    })
}

fn effects(
    bench: &Bench,
    slope: f64,
    current_limit_ampere: f64,
    axial: f64,
    field: Option<Vector3<f64>>,
) -> Result<Vec<RoomAtField>> {
    let fields_in_use = fields_in_use(bench, (slope * current_limit_ampere).abs())?;
    let gun_direction = bench.tube.as_ref().and_then(|tube| tube.gun_direction);
    Ok(fields_in_use
        .into_iter()
        .map(|(coil_field_tesla, beam_radius_m)| {
            let room = field.map(|field| Vector3::new(field.x, field.y, axial));
            let total = |sign: f64| coil_field_tesla + sign * axial;
            let bias = |sign: f64| (total(sign) / coil_field_tesla).powi(2) - 1.0;
            let rise = |direction: Option<Vector3<f64>>| {
                let (room, radius) = (room?, beam_radius_m?);
                let along = (room + Vector3::z() * coil_field_tesla).normalize();
                // Distance along the field in one turn, 2π r (d·b), times the z component of b.
                Some(TAU * radius * direction?.dot(&along) * along.z)
            };
            let across = room.and_then(|room| Vector3::new(room.x, room.y, 0.0).try_normalize(0.0));
            RoomAtField {
                current_ampere: coil_field_tesla / slope,
                coil_field_tesla,
                charge_to_mass_bias_fraction: bias(1.0),
                charge_to_mass_bias_reversed_fraction: bias(-1.0),
                beam_radius_m,
                rise_per_turn_m: rise(gun_direction.map(|direction| in_beam_plane(&direction))),
                largest_rise_per_turn_m: rise(across).map(f64::abs),
                field_growth_fraction: room.map(|room| (room.xy().norm() / total(1.0)).hypot(1.0) - 1.0),
            }
        })
        .collect())
}

/// The direction of a gun without its part along the axis, which makes the beam rise in any field.
fn in_beam_plane(direction: &Vector3<f64>) -> Vector3<f64> {
    Vector3::new(direction.x, direction.y, 0.0).try_normalize(1e-9).unwrap_or_else(Vector3::zeros)
}

/// The weakest and the strongest coil field in use, each with its beam radius. They follow from gun voltages and beam
/// radii if the spec gives them (B = p/(e r)), else from a tenth of the largest current and all of it.
fn fields_in_use(bench: &Bench, strongest: f64) -> Result<Vec<(f64, Option<f64>)>> {
    let tube = bench.tube.as_ref();
    let ranges = tube.and_then(|tube| Some((tube.gun_voltage_volt?, tube.beam_radius_m?)));
    let Some(([low_volt, high_volt], [small_m, large_m])) = ranges else {
        return Ok(vec![(0.1 * strongest, None), (strongest, None)]);
    };
    let mut fields = Vec::new();
    for (volt, radius_m) in [(low_volt, large_m), (high_volt, small_m)] {
        let wanted = Electron::after(volt)?.rigidity_tesla_m() / radius_m;
        let field = wanted.min(strongest);
        // If the supply cannot make the field, the circle is larger.
        fields.push((field, Some(radius_m * wanted / field)));
    }
    Ok(fields)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::calendar::Day;
    use crate::pair::{Room, RoomField, StatedSite, StatedTube, Tube};
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn bench(field: RoomField) -> Bench {
        let mut bench = crate::questions::calibrate::tests::bench();
        bench.room = Some(Room { temperature_celsius: None, field: Some(field) });
        bench
    }

    fn effect(bench: &Bench) -> RoomEffect {
        room_effect(bench, 0.8e-3, 3.0, None).unwrap().unwrap()
    }

    #[test]
    fn the_axial_part_changes_e_over_m_by_twice_its_share() {
        let effect = effect(&bench(RoomField::Measured(Vector3::new(12e-6, -44e-6, 18e-6))));
        assert_eq!(effect.source, RoomSource::Measured);
        assert_eq!(effect.axial_tesla, 18e-6);
        // 3 A × 0.8 mT/A = 2.4 mT: (1 + 18/2400)² − 1 = 1.50563 %, and −1.49438 % reversed.
        let strongest = effect.effects.last().unwrap();
        assert_relative_eq!(strongest.charge_to_mass_bias_fraction, 0.0150563, max_relative = 1e-5);
        assert_relative_eq!(strongest.charge_to_mass_bias_reversed_fraction, -0.0149438, max_relative = 1e-5);
        assert_relative_eq!(effect.transverse_tesla.unwrap(), 12e-6f64.hypot(44e-6));
    }

    #[test]
    fn turning_the_bench_by_what_is_said_leaves_no_axial_field() {
        let mut bearing = 20f64;
        while bearing < 360.0 {
            let site = |bearing_rad| StatedSite {
                latitude_rad: Some(0.95),
                longitude_rad: Some(0.17),
                height_m: 10.0,
                date: Day::new(2026, 9, 1),
                axis_bearing_rad: Some(bearing_rad),
            };
            let effect = effect(&bench(RoomField::Site(site(bearing.to_radians()))));
            let best = effect.best_bearing_rad.unwrap();
            let turned = room::field_tesla(&bench(RoomField::Site(site(best)))).unwrap().unwrap();
            assert_abs_diff_eq!(turned.z, 0.0, epsilon = 1e-12);
            assert!(effect.turn_to_best_rad.unwrap().abs() <= FRAC_PI_2 + 1e-12);
            // Magnetic east or west: the declination there is within a few degrees of zero.
            let from_east = (best.to_degrees() - 90.0).rem_euclid(180.0);
            assert!(from_east.min(180.0 - from_east) < 6.0, "{best}");
            bearing += 55.0;
        }
    }

    #[test]
    fn the_transverse_part_lifts_the_beam_by_its_share_of_the_circumference() {
        let mut bench = bench(RoomField::Measured(Vector3::new(0.0, 40e-6, 0.0)));
        bench.tube = Some(StatedTube::from(Tube {
            bulb_radius_m: Some(0.08),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.046, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: Some([120.0, 280.0]),
            gun_voltage_offset_volt: None,
            beam_radius_m: Some([0.026, 0.05]),
        }));
        let effect = effect(&bench);
        let weakest = effect.effects[0];
        // 120 V and 50 mm: B = √(2 m V/e)/r = 0.7388 mT; the beam leaves along the transverse field, so it climbs
        // 2π × 50 mm × 40/738.8 = 17.0 mm a turn (helix pitch in a uniform field).
        assert_relative_eq!(weakest.coil_field_tesla, 0.7388e-3, max_relative = 1e-3);
        assert_relative_eq!(weakest.rise_per_turn_m.unwrap(), 0.0170, max_relative = 5e-3);
        assert_relative_eq!(weakest.rise_per_turn_m.unwrap(), weakest.largest_rise_per_turn_m.unwrap());
        // |B| grows by half the square of the share.
        assert_relative_eq!(
            weakest.field_growth_fraction.unwrap(),
            0.5 * (40.0 / 738.8f64).powi(2),
            max_relative = 2e-3
        );
    }

    #[test]
    fn a_vertical_axis_has_no_better_bearing() {
        let mut bench = bench(RoomField::Measured(Vector3::new(12e-6, 5e-6, -44e-6)));
        bench.axis = AxisPosition::Vertical;
        let effect = effect(&bench);
        assert_eq!((effect.best_bearing_rad, effect.turn_to_best_rad), (None, None));
    }
}
