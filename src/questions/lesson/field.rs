//! The coils' field in the bulb as a page carries it.

use crate::physics::beam::BeamBench;
use crate::physics::field::{ZonalExpansion, clearance_m};
use crate::{Error, Result};
use nalgebra::Vector3;
use serde::Serialize;

/// How near to the nearest conductor the series are asked to reach, over its distance.
const NEAREST: f64 = 0.9;
/// Field left out, over that at the middle: a hundred-thousandth of what the radius may be off by.
const TOLERANCE: f64 = 1e-10;
/// The engine's own accuracy, below which a difference says nothing.
const ENGINE: f64 = 1e-12;
/// Points at which the series are compared with the engine.
const COMPARED: u32 = 200;

/// The field of the coils, per ampere through the ammeter, in a ball that holds the bulb.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FieldInBulb {
    /// The ball's middle: that of the bulb.
    pub centre_m: [f64; 3],
    /// Its radius.
    pub reach_m: f64,
    /// One series for each winding.
    pub coils: Vec<ZonalExpansion>,
    /// Largest difference from the engine at points all over the bulb, over the field at the pair's centre; 1e-12 where
    /// it is smaller, which is the engine's own accuracy.
    pub largest_difference_fraction: f64,
}

impl FieldInBulb {
    /// The field in the bulb of a bench, and as far beyond as the series serve.
    pub(super) fn of(beams: &BeamBench<'_>) -> Result<Self> {
        let centre_m = beams.tube.bulb_centre_m;
        let bulb_m = beams.tube.bulb_radius_m.unwrap_or(0.0);
        let windings = beams.assembly.windings();
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
                // A spiral from pole to pole on shells from the middle to just inside the glass.
                let z = (2.0 * f64::from(i) + 1.0) / f64::from(COMPARED) - 1.0;
                let (sin, cos) = (2.4 * f64::from(i)).sin_cos();
                let across = (1.0 - z * z).sqrt();
                let out = 0.999 * bulb_m * (f64::from(i % 8 + 1) / 8.0).cbrt();
                let point = centre + Vector3::new(across * cos, across * sin, z) * out;
                (self.field_per_ampere(&point) - beams.assembly.field_per_ampere(&point)).norm()
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
