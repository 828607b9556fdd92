//! Parallax of a scale that does not lie in the beam plane.

use crate::Result;
use crate::error::Refused;
use crate::pair::{RadiusReading, missing};

/// The length on the scale that a length in the beam plane covers, seen from the camera. The beam plane is at distance
/// D, the scale s behind it; by similar triangles the factor is (D + s)/D.
///
/// ```
/// # use coilwright::{pair::{BeamEdge, RadiusReading}, physics::beam::parallax::on_scale_m};
/// let reading = RadiusReading {
///     edge: BeamEdge::Outer,
///     radius_uncertainty_m: None,
///     camera_distance_m: Some(0.8),
///     scale_offset_m: 0.08,
/// };
/// assert!((on_scale_m(&reading, 0.050)? - 0.055).abs() < 1e-15); // a tenth too long
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn on_scale_m(reading: &RadiusReading, in_beam_plane_m: f64) -> Result<f64> {
    Ok(in_beam_plane_m * magnification(reading)?)
}

/// The length in the beam plane that covers `on_scale_m` of the scale: the inverse of [`on_scale_m`].
pub(crate) fn in_beam_plane_m(reading: &RadiusReading, on_scale_m: f64) -> Result<f64> {
    Ok(on_scale_m / magnification(reading)?)
}

/// (D + s)/D; 1 for a scale in the beam plane.
///
/// Refused: an offset without a camera distance, a camera that is not in front of both scale and beam.
pub fn magnification(reading: &RadiusReading) -> Result<f64> {
    if reading.scale_offset_m == 0.0 {
        return Ok(1.0);
    }
    let Some(distance_m) = reading.camera_distance_m else {
        return Err(missing(
            "reading.camera_distance",
            "a scale off the beam plane reads wrong by an amount that depends on it",
        ));
    };
    let magnification = 1.0 + reading.scale_offset_m / distance_m;
    if distance_m > 0.0 && magnification > 0.0 {
        Ok(magnification)
    } else {
        Err(Refused::ScaleOutOfSight {
            scale_offset_m: reading.scale_offset_m,
            camera_distance_m: distance_m,
        }
        .into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;
    use crate::pair::BeamEdge;

    fn reading(camera_distance_m: Option<f64>, scale_offset_m: f64) -> RadiusReading {
        RadiusReading { edge: BeamEdge::Outer, radius_uncertainty_m: None, camera_distance_m, scale_offset_m }
    }

    #[test]
    fn a_scale_before_or_behind_the_beam_is_corrected_by_similar_triangles() {
        // By hand: with the camera at 0.75 m, a scale 0.15 m behind the beam shows 60 mm for 50 mm, one 0.15 m before
        // it 40 mm.
        for (offset, shown) in [(0.15, 0.060), (-0.15, 0.040), (0.0, 0.050)] {
            let reading = reading(Some(0.75), offset);
            assert!((on_scale_m(&reading, 0.050).unwrap() - shown).abs() < 1e-15);
            assert!((in_beam_plane_m(&reading, shown).unwrap() - 0.050).abs() < 1e-15);
        }
    }

    #[test]
    fn an_offset_needs_a_camera_that_sees_scale_and_beam() {
        assert_eq!(magnification(&reading(None, 0.0)).unwrap(), 1.0);
        assert!(matches!(magnification(&reading(None, 0.01)), Err(Error::MissingPart { .. })));
        for distance in [0.0, -1.0, 0.1] {
            assert!(magnification(&reading(Some(distance), -0.1)).is_err(), "{distance}");
        }
    }
}
