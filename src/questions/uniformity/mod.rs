//! How far off-centre may the beam go?
//!
//! Deviations are those of [`Deviation`]: the field along the centre field's direction over the centre field, minus
//! one. Reaches are distances to the first crossing of the limit. The regions are the beam's (every circle of the given
//! radii from the gun exit, at positive current) and the bulb's.

mod reach;
mod region;
#[cfg(feature = "paper")]
pub mod words;

pub use reach::{Reach, reach};
pub use region::{RegionDeviation, over_beam, over_bulb};

use crate::numeric::calendar::Day;
use crate::pair::{Bulb, Model, Provenance, Tube};
use crate::physics::beam;
use crate::physics::field::{Accuracy, Assembly, AxisTerms, Deviation, PreparedPair};
use crate::physics::room::RoomAdded;
use crate::questions::words::notes::{SourceNote, Told, as_sentences, left_out};
use crate::{Error, Result};
use nalgebra::Vector3;
use serde::Serialize;

/// The answer to "how far off-centre may the beam go?".
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Uniformity {
    /// Program, spec and digest.
    pub provenance: Provenance,
    /// Which geometry was used.
    pub model: Model,
    /// Whether the room's field was added.
    pub with_room: bool,
    /// The limit on |deviation|.
    pub limit_fraction: f64,
    /// The coils' field at the centre per ampere through the ammeter, always without the room's.
    pub centre_field_tesla_per_ampere: [f64; 3],
    /// The added field of the room, and the centre field with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub room: Option<CentreWithRoom>,
    /// Terms of the coils' field along the axis about the centre.
    pub axis_terms: Option<AxisTerms>,
    /// Distances to the limit.
    pub reach: Reach,
    /// Deviation over the beam region; `None` if the spec gives no beam radii.
    pub beam: Option<RegionDeviation>,
    /// Deviation over the bulb; `None` if the spec gives no bulb radius.
    pub bulb: Option<RegionDeviation>,
    /// Effective field of the smallest and the largest beam circle, for the coils alone; empty if the spec gives no
    /// beam radii.
    pub beam_circles: Vec<BeamCircle>,
    /// Results left out because the spec lacks something they need.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// The field at the centre with the room's field.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CentreWithRoom {
    /// The coil current at which it is added.
    pub current_ampere: f64,
    /// Sum of the coils' and the room's field at the centre.
    pub centre_field_tesla: [f64; 3],
    /// Angle between this sum and the coils' own field.
    pub direction_error_rad: f64,
}

/// The effect of the non-uniform field on one beam circle.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct BeamCircle {
    /// Radius of the circle.
    pub beam_radius_m: f64,
    /// Uniform field with the same crossing opposite the gun, over the centre field; from the integrated orbit.
    pub effective_field_ratio: f64,
    /// This ratio to first order: the sine-weighted mean over the first half circle.
    pub first_order_field_ratio: f64,
    /// Relative error of e/m = 2V/(B r)² if B is the centre field: the square of the ratio, minus one.
    pub charge_to_mass_bias_fraction: f64,
}

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Request {
    /// Limit on |deviation|, from 1e-9 to 0.5.
    pub limit_fraction: f64,
    /// The room's field to add to the coils'; `None` for the coils alone.
    pub room: Option<RoomAdded>,
    /// The date to print, if any.
    pub date: Option<Day>,
}

impl Request {
    /// The coils alone within a limit, without a date.
    #[must_use]
    pub fn within(limit_fraction: f64) -> Self {
        Self { limit_fraction, room: None, date: None }
    }
}

/// Answers for a pair.
///
/// # Errors
/// The limit is not between 1e-9 and 0.5, or the coils cancel at the centre.
pub fn uniformity(pair: &PreparedPair, request: &Request) -> Result<Uniformity> {
    let Request { limit_fraction, room, date } = *request;
    let bench = pair.bench();
    let finer = pair.assembly().clone().with_accuracy(fine_enough(pair.assembly(), limit_fraction));
    let assembly = &finer;
    let background = room.map_or_else(Vector3::zeros, |room| room.per_ampere());
    let coils_alone = assembly.field_per_ampere(&Vector3::zeros());
    let deviation = Deviation::new(assembly, background)?;
    let (tube, bulb) = (bench.tube_with_beam(), bench.bulb());
    let mut notes: Vec<Note> = regions_left_out(&tube, &bulb).into_iter().map(Note::Source).collect();
    let beam_circles = match &tube {
        Ok(tube) => beam_circles(assembly, tube).or_else(|error| circles_left_out(error, &mut notes))?,
        Err(_) => Vec::new(),
    };
    Ok(Uniformity {
        provenance: Provenance::of(bench, date),
        model: bench.model,
        with_room: background != Vector3::zeros(),
        limit_fraction,
        centre_field_tesla_per_ampere: match room {
            None => deviation.centre_field_per_ampere().into(),
            Some(_) => coils_alone.into(),
        },
        room: room.map(|room| CentreWithRoom {
            current_ampere: room.current_ampere(),
            centre_field_tesla: room.at(&coils_alone).into(),
            direction_error_rad: deviation.direction_error_rad(&coils_alone),
        }),
        axis_terms: axis_terms(assembly),
        reach: reach(&deviation, limit_fraction)?,
        beam: tube.as_ref().ok().and_then(|tube| over_beam(&deviation, tube)),
        bulb: bulb.as_ref().ok().map(|bulb| over_bulb(&deviation, bulb)),
        beam_circles,
        notes,
    })
}

/// One note.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// About the files.
    Source(SourceNote),
    /// The beam makes no circle.
    NoBeamCircles {
        /// The error that ended its calculation.
        why: String,
    },
}

impl Told for Note {
    fn sentence(&self) -> String {
        match self {
            Self::Source(note) => note.sentence(),
            Self::NoBeamCircles { why } => {
                format!("The effective field of the beam circles is left out: {why}.")
            }
        }
    }
}

/// The requested accuracy, but at least a ten-thousandth of the limit. A deviation is a difference of fields; with less
/// accurate fields it crosses the limit in steps.
fn fine_enough(assembly: &Assembly, limit_fraction: f64) -> Accuracy {
    Accuracy::relative(assembly.accuracy().value().min(1e-4 * limit_fraction))
}

/// If the beam makes no circle, for example because the gun points far out of the beam plane, the rest is answered
/// nevertheless.
fn circles_left_out(error: Error, notes: &mut Vec<Note>) -> Result<Vec<BeamCircle>> {
    match error {
        Error::Value { .. } | Error::Refused(_) | Error::NotConverged { .. } => {
            notes.push(Note::NoBeamCircles { why: error.to_string() });
            Ok(Vec::new())
        }
        other => Err(other),
    }
}

/// A note for each region left out because the spec lacks something it needs.
pub(crate) fn regions_left_out(tube: &Result<Tube>, bulb: &Result<Bulb>) -> Vec<SourceNote> {
    let beam = left_out("what concerns the beam is", tube);
    beam.into_iter().chain(left_out("the deviation over the bulb is", bulb)).collect()
}

/// The terms of the field along the axis, from its values within a third of the distance to the nearest conductor.
pub(crate) fn axis_terms(assembly: &Assembly) -> Option<AxisTerms> {
    let distances = assembly.windings().iter().map(|winding| {
        let inner = winding.section.mean_radius_m - 0.5 * winding.section.depth_m;
        let near_side = winding.centre_m.norm() - 0.5 * winding.section.width_m;
        inner.hypot(near_side.max(0.0))
    });
    assembly.axis_terms(distances.fold(f64::INFINITY, f64::min) / 3.0)
}

/// The effective field of the smallest and the largest beam circle.
fn beam_circles(assembly: &Assembly, tube: &Tube) -> Result<Vec<BeamCircle>> {
    let radii = tube.beam_radius_m.iter().flatten();
    radii
        .filter(|_| tube.towards_circle_centre() != Vector3::zeros())
        .map(|&beam_radius_m| {
            let ratio = beam::effective_field_ratio(assembly, tube, beam_radius_m)?;
            Ok(BeamCircle {
                beam_radius_m,
                effective_field_ratio: ratio,
                first_order_field_ratio: beam::first_order_effective_field_ratio(
                    assembly,
                    tube,
                    beam_radius_m,
                )?,
                charge_to_mass_bias_fraction: ratio * ratio - 1.0,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{PlacedWinding, Section};
    use std::f64::consts::{PI, TAU};

    /// A thin pair of radius 1 m with the given spacing.
    fn thin_pair(spacing: f64) -> Assembly {
        let winding =
            |z| PlacedWinding::on_axis(Section { mean_radius_m: 1.0, width_m: 1e-6, depth_m: 1e-6 }, 1.0, z);
        Assembly::new(vec![winding(-0.5 * spacing), winding(0.5 * spacing)])
    }

    fn reach_of(assembly: &Assembly, limit: f64) -> Reach {
        reach(&Deviation::new(assembly, Vector3::zeros()).unwrap(), limit).unwrap()
    }

    fn tube(bulb_radius_m: f64) -> Tube {
        Tube {
            bulb_radius_m: Some(bulb_radius_m),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.3, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: Some([0.1, 0.25]),
        }
    }

    #[test]
    fn axial_reach_of_a_thin_pair_is_the_published_half_length() {
        // Half-lengths of a pair one radius apart, and at the spacing that is best for each limit (cf. R. K. Cacak and
        // J. R. Craig, Rev. Sci. Instrum. 40, 1468 (1969)); values for thin coils by 30-digit root finding in the exact
        // axis field, spacings as re-derived on a grid of 1e-4.
        for (spacing, limit, want) in [
            (1.0, 1e-4, 0.0967727041),
            (1.0, 1e-3, 0.173070507),
            (1.0, 5e-3, 0.261599588),
            (1.0, 1e-2, 0.313746025),
            (1.0, 2e-2, 0.377860883),
            (1.0112, 1e-4, 0.150708418),
            (1.0358, 1e-3, 0.271527),
            (1.0813, 5e-3, 0.415270645),
            (1.1163, 1e-2, 0.502343371),
            (1.1670, 2e-2, 0.612001695),
        ] {
            let got = reach_of(&thin_pair(spacing), limit).axial_half_length_m;
            assert!((got - want).abs() < 1e-8, "spacing {spacing}, limit {limit}: got {got}, want {want}");
        }
    }

    #[test]
    fn a_crest_that_tops_the_limit_between_two_scan_steps_is_a_crossing() {
        // Slightly above the best spacing for 1 %, the rise off-centre just exceeds 1 %.
        let limit = 1e-2;
        let narrow = reach_of(&thin_pair(1.1163), limit).axial_half_length_m;
        let wide = reach_of(&thin_pair(1.1175), limit).axial_half_length_m;
        assert!(wide < 0.8 * narrow, "{narrow} {wide}");
    }

    #[test]
    fn everything_inside_the_sphere_is_within_the_limit_and_something_on_it_is_at_the_limit() {
        for (spacing, limit) in [(1.0, 0.01), (1.05, 0.003), (0.9, 0.02)] {
            let assembly = thin_pair(spacing);
            let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
            let reach = reach_of(&assembly, limit);
            let mut largest: f64 = 0.0;
            for i in 0..=400 {
                let polar = PI * f64::from(i) / 400.0;
                for part in [0.2, 0.7, 0.95, 1.0] {
                    let r = part * reach.sphere_radius_m;
                    let value = deviation.at(&Vector3::new(r * polar.sin(), 0.0, r * polar.cos())).abs();
                    largest = largest.max(value);
                }
            }
            assert!(largest < limit * (1.0 + 1e-6), "{spacing}: {largest}");
            assert!(largest > limit * (1.0 - 1e-4), "{spacing}: {largest}");
            assert!(reach.sphere_radius_m <= reach.axial_half_length_m * (1.0 + 1e-9));
            assert!(reach.sphere_radius_m <= reach.mid_plane_radius_m * (1.0 + 1e-9));
        }
    }

    #[test]
    fn a_tilted_pair_reaches_least_along_its_worst_azimuth() {
        // Turning the pair about z turns the worst azimuth but changes no reach.
        let tilted = |about: f64| {
            let mut windings = thin_pair(1.0).windings().to_vec();
            let tilt = Vector3::new(0.02 * about.cos(), 0.02 * about.sin(), 0.0);
            windings[0].axis = nalgebra::Rotation3::new(tilt) * Vector3::z();
            windings[1].centre_m += Vector3::new(0.01 * about.cos(), 0.01 * about.sin(), 0.0);
            reach_of(&Assembly::new(windings), 0.002)
        };
        let (one, two) = (tilted(0.0), tilted(0.713));
        let close = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-5;
        assert!(close(one.mid_plane_radius_m, two.mid_plane_radius_m), "{one:?} {two:?}");
        assert!(close(one.sphere_radius_m, two.sphere_radius_m), "{one:?} {two:?}");
        assert!(one.mid_plane_radius_m < reach_of(&thin_pair(1.0), 0.002).mid_plane_radius_m);
    }

    #[test]
    fn deviation_over_a_small_bulb_is_that_of_the_fourth_order_term() {
        // −(144/125) (r/R)^4 P4: worst at the poles, rms (144/125) a^4 sqrt(3/11 · 1/9) over the ball. The next
        // term is (19712/15625)/(144/125) a² = 1.1 a² of it: 0.3 % at a = 0.05.
        let a: f64 = 0.05;
        let assembly = thin_pair(1.0);
        let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
        let got = over_bulb(&deviation, &tube(a).bulb().unwrap());
        let fourth = -1.152 * a.powi(4);
        approx::assert_relative_eq!(got.worst_deviation, fourth, max_relative = 5e-3);
        approx::assert_relative_eq!(got.rms_deviation, -fourth * (3f64 / 99.0).sqrt(), max_relative = 5e-3);
    }

    #[test]
    fn the_beam_region_holds_its_circles_and_no_point_of_them_is_worse_than_the_worst() {
        let assembly = thin_pair(1.0);
        let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
        let tube = tube(0.4);
        let got = over_beam(&deviation, &tube).unwrap();
        let mut worst: f64 = 0.0;
        for i in 0..=50 {
            for j in 0..400 {
                let radius = 0.1 + 0.15 * f64::from(i) / 50.0;
                worst = worst.min(deviation.at(&tube.circle_point_m(radius, TAU * f64::from(j) / 400.0)));
            }
        }
        // The gun exit, 0.3 m off-centre, is the farthest point from the centre, where −(54/125) 0.3^4 dominates.
        assert!((got.worst_deviation / worst - 1.0).abs() < 1e-9, "{got:?} {worst}");
        assert!(got.rms_deviation < worst.abs() && got.rms_deviation > 0.0);
        assert!(got.worst_direction_error_rad < 1e-15);
    }

    #[test]
    fn coils_that_cancel_at_the_centre_are_refused() {
        let mut windings = thin_pair(1.0).windings().to_vec();
        windings[1].current_share = -1.0;
        let assembly = Assembly::new(windings);
        let error = Deviation::new(&assembly, Vector3::zeros()).unwrap_err();
        assert!(error.to_string().contains("cancel"), "{error}");
    }

    #[test]
    fn a_limit_out_of_range_is_refused() {
        let assembly = thin_pair(1.0);
        let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
        for limit in [0.0, -0.01, 0.6, f64::NAN, f64::INFINITY] {
            assert!(reach(&deviation, limit).is_err(), "{limit}");
        }
    }

    #[test]
    fn the_error_of_direction_is_largest_on_the_glass_and_counts_the_room_against_the_axis() {
        let bench = crate::files::spec::read_bench("coil-specs/window-bench.json").unwrap();
        let pair = PreparedPair::of(&bench);
        let assembly = pair.assembly();
        let alone = uniformity(&pair, &Request::within(0.01)).unwrap();
        let bulb = bench.bulb().unwrap();
        // A scan of the glass, finer than that of the search.
        let deviation = Deviation::new(assembly, Vector3::zeros()).unwrap();
        let mut worst = 0f64;
        for i in 0..=180 {
            let (sin, cos) = (PI * f64::from(i) / 180.0).sin_cos();
            for j in 0..90 {
                let azimuth = TAU * f64::from(j) / 90.0;
                let out = Vector3::new(sin * azimuth.cos(), sin * azimuth.sin(), cos) * bulb.radius_m;
                let field = assembly.field_per_ampere(&(bulb.centre_m + out));
                worst = worst.max(deviation.direction_error_rad(&field));
            }
        }
        let found = alone.bulb.unwrap().worst_direction_error_rad;
        assert!(found >= worst - 1e-9 && found < 1.01 * worst, "{found} for {worst}");
        // 45 µT across 794 µT: atan(45/794) = 3.24°.
        let centre = assembly.field_per_ampere(&Vector3::zeros()).z;
        let current_ampere = 794e-6 / centre;
        let room = RoomAdded::new(Vector3::new(45e-6, 0.0, 0.0), current_ampere).unwrap();
        let with_room = uniformity(&pair, &Request { room: Some(room), ..Request::within(0.01) }).unwrap();
        let turned = with_room.room.unwrap().direction_error_rad;
        assert!((turned.to_degrees() - 3.24).abs() < 0.02, "{}", turned.to_degrees());
        assert_eq!(with_room.centre_field_tesla_per_ampere[2], centre);
        assert!(with_room.beam.unwrap().worst_direction_error_rad >= turned);
    }
}
