//! The coils' field in the bulb, as the page carries it: one zonal series for each winding.

use crate::physics::beam::BeamBench;
use crate::physics::field::{ZonalExpansion, clearance_m};
use crate::{Error, Result};
use nalgebra::Vector3;
use serde::Serialize;

/// Radius that the series should reach, as a fraction of the distance to the nearest conductor.
const NEAREST: f64 = 0.9;
/// Largest field left out, relative to that at the middle. It is 1e-5 of the error of 1e-5 that the radius may have.
const TOLERANCE: f64 = 1e-10;
/// Accuracy of the engine's field, relative to the centre field. A smaller difference says nothing.
const ENGINE: f64 = 1e-12;
/// Number of points at which the series are compared with the engine.
const COMPARED: u32 = 200;

/// The field of the coils, per ampere through the ammeter, in a ball that contains the bulb.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FieldInBulb {
    /// Centre of the ball, which is that of the bulb.
    pub centre_m: [f64; 3],
    /// Radius of the ball.
    pub reach_m: f64,
    /// One series for each winding.
    pub coils: Vec<ZonalExpansion>,
    /// Largest difference from the engine's field, relative to the field at the pair's centre. It is taken at 200
    /// points on eight shells, from half the bulb's radius to just inside the glass. At least 1e-12, the engine's own
    /// accuracy.
    pub largest_difference_fraction: f64,
}

impl FieldInBulb {
    /// The field in the bulb of a bench, and beyond it as far as the series converge.
    ///
    /// # Errors
    /// If a conductor is too near to the bulb for a series.
    pub(super) fn of(beams: &BeamBench<'_>) -> Result<Self> {
        let centre_m = beams.tube.bulb_centre_m;
        let bulb_m = beams.tube.bulb_radius_m.unwrap_or(0.0);
        let windings = beams.assembly().windings();
        let room = |winding| {
            let clearance = clearance_m(winding, &centre_m)?;
            let above = (winding.centre_m - centre_m).dot(&winding.axis);
            let foot_m = winding.centre_m - winding.axis * above;
            Some(NEAREST * clearance - (foot_m - centre_m).norm())
        };
        let served = windings.iter().map(room).try_fold(f64::INFINITY, |least, one| Some(least.min(one?)));
        let reach_m = served.map(|served| served.max(bulb_m)).ok_or_else(no_room)?;
        let coils: Vec<ZonalExpansion> = windings
            .iter()
            .map(|winding| ZonalExpansion::of(winding, &centre_m, reach_m, TOLERANCE).ok_or_else(no_room))
            .collect::<Result<_>>()?;
        let mut field = Self { centre_m: centre_m.into(), reach_m, coils, largest_difference_fraction: 0.0 };
        field.largest_difference_fraction = field.compared(beams, bulb_m).max(ENGINE);
        Ok(field)
    }

    /// The field at a point of the ball, T/A.
    pub fn field_per_ampere(&self, point_m: &Vector3<f64>) -> Vector3<f64> {
        self.coils.iter().map(|coil| coil.field_per_ampere(point_m)).sum()
    }

    fn compared(&self, beams: &BeamBench<'_>, bulb_m: f64) -> f64 {
        let centre = Vector3::from(self.centre_m);
        (0..COMPARED)
            .map(|i| {
                // A spiral from pole to pole, its points spread over eight shells of equal volume up to just inside the
                // glass.
                let z = (2.0 * f64::from(i) + 1.0) / f64::from(COMPARED) - 1.0;
                let (sin, cos) = (2.4 * f64::from(i)).sin_cos();
                let across = (1.0 - z * z).sqrt();
                let out = 0.999 * bulb_m * (f64::from(i % 8 + 1) / 8.0).cbrt();
                let point = centre + Vector3::new(across * cos, across * sin, z) * out;
                (self.field_per_ampere(&point) - beams.assembly().field_per_ampere(&point)).norm()
            })
            .fold(0.0, f64::max)
            / beams.field_constant_tesla_per_ampere.abs()
    }
}

fn no_room() -> Error {
    Error::value_with_hint(
        "the winding leaves no room round its axis for a bulb",
        "check `winding.mean_radius` and `winding.depth`",
    )
}
