//! The known axial field of the room and its uncertainty.

use super::fit::RoomAxial;
use super::record::RoomSource;
use crate::pair::{AxisPosition, Bench};
use crate::physics::beam::BeamBench;
use crate::physics::room;

/// Standard uncertainty if nothing is known and the axis is horizontal: the earth's horizontal part, up to 40 µT, at an
/// unknown bearing (common practice, no source).
const UNKNOWN_HORIZONTAL_TESLA: f64 = 20e-6;
/// Standard uncertainty if nothing is known and the axis is vertical: the earth's vertical part, up to 60 µT.
const UNKNOWN_VERTICAL_TESLA: f64 = 45e-6;

/// The room's axial field as known before the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct KnownRoom {
    pub(crate) source: RoomSource,
    /// Along +z; zero if nothing is known.
    pub(crate) axial_tesla: f64,
    pub(crate) standard_uncertainty_tesla: f64,
    /// Its correlation with the slope of the line, with which it was measured.
    pub(crate) correlation_with_slope: f64,
    /// Whether spec or calibration states it.
    pub(crate) stated: bool,
}

impl KnownRoom {
    pub(crate) fn of(beams: &BeamBench<'_>, both_directions: bool) -> Self {
        let stated_u = |axial| room::stated_standard_uncertainty_tesla(beams.bench(), axial);
        let spec = beams.room_tesla.map(|field| (RoomSource::Spec, field.z, stated_u(field.z), 0.0));
        let calibration = beams.line.room.map(|found| {
            let u = found.standard_uncertainty_tesla.unwrap_or_else(|| stated_u(found.axial_tesla));
            (RoomSource::Calibration, found.axial_tesla, u, found.correlation_with_slope)
        });
        let unknown = (RoomSource::Unknown, 0.0, unknown_tesla(beams.bench()), 0.0);
        let (source, axial_tesla, standard_uncertainty_tesla, correlation_with_slope) =
            spec.or(calibration).unwrap_or(unknown);
        Self {
            source: if both_directions { RoomSource::Runs } else { source },
            axial_tesla,
            standard_uncertainty_tesla,
            correlation_with_slope,
            stated: source != RoomSource::Unknown,
        }
    }

    /// Whether the fit determines it or holds it.
    pub(super) fn in_fit(&self) -> RoomAxial {
        match self.source {
            RoomSource::Runs => RoomAxial::Free,
            _ => RoomAxial::Held(self.axial_tesla),
        }
    }
}

fn unknown_tesla(bench: &Bench) -> f64 {
    match bench.axis {
        AxisPosition::Horizontal => UNKNOWN_HORIZONTAL_TESLA,
        AxisPosition::Vertical => UNKNOWN_VERTICAL_TESLA,
    }
}
