//! The true-size reading scale to put behind the tube, with the circles to expect on it.

use super::chart::{SettingsRequest, usual_currents_ampere, voltages_or_range};
use crate::numeric::calendar::Day;
use crate::pair::{BeamEdge, Model, Provenance};
use crate::physics::beam::parallax::magnification;
use crate::physics::beam::{BeamBench, PathLength, Setting};
use crate::physics::safety::SafetyFigures;
use crate::{Error, Result};
use rayon::prelude::*;
use serde::Serialize;

/// The printed scale's record.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct ReadingScale {
    /// Program version and spec.
    pub provenance: Provenance,
    /// Figures that the cautions quote.
    pub safety: SafetyFigures,
    /// Geometry used: as built or nominal.
    pub model: Model,
    /// Factor by which a length in the beam plane appears longer on the scale; 1 if the spec describes no scale.
    pub magnification: f64,
    /// Distance from the camera to the beam plane. `None` if the spec does not give it.
    pub camera_distance_m: Option<f64>,
    /// Distance of the scale behind the beam plane.
    pub scale_offset_m: f64,
    /// Which edge of the glow is read. `None` if the spec does not say.
    pub edge: Option<BeamEdge>,
    /// Seen from +z, with the gun pointing up the page: -1 if the circles lie to the left of the gun, +1 if to the
    /// right.
    pub side: f64,
    /// The circles to expect, largest first.
    pub circles: Vec<ScaleCircle>,
    /// Settings asked for at which the beam does not come round: gun voltage in V and current in A.
    pub left_out: Vec<[f64; 2]>,
}

/// A circle on the scale.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ScaleCircle {
    /// Voltmeter reading.
    pub gun_voltage_volt: f64,
    /// Ammeter reading.
    pub current_ampere: f64,
    /// Radius in the beam plane: half the distance from the gun exit to the opposite crossing.
    pub read_radius_m: f64,
    /// Radius on the scale, parallax included.
    pub radius_on_scale_m: f64,
}

/// The circles for every combination of the gun voltages and currents asked for.
///
/// Without gun voltages: a round one near the middle of the tube's range. Without currents: those that make five beam
/// radii across the tube's range.
///
/// # Errors
/// If currents of both signs are given, because their circles lie on opposite sides of the gun. If the beam comes round
/// at none of the settings.
pub fn reading_scale(beams: &BeamBench<'_>, request: &SettingsRequest) -> Result<ReadingScale> {
    let SettingsRequest { gun_voltages_volt, currents_ampere, date, .. } = request;
    if currents_ampere.iter().any(|current| *current > 0.0)
        && currents_ampere.iter().any(|current| *current < 0.0)
    {
        return Err(Error::value_with_hint(
            "positive and negative currents bend the beam to opposite sides of the gun",
            "print one scale for each current direction",
        ));
    }
    let mut settings = Vec::new();
    let mut voltages = voltages_or_range(beams, gun_voltages_volt, 2.0)?;
    if gun_voltages_volt.is_empty() {
        voltages = vec![voltages[voltages.len() / 2]];
    }
    for gun_voltage_volt in voltages {
        let currents = match &currents_ampere[..] {
            [] => usual_currents_ampere(beams, gun_voltage_volt, 5)?,
            given => given.to_vec(),
        };
        let setting = |current_ampere| Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: 0.0 };
        settings.extend(currents.into_iter().map(setting));
    }
    reading_scale_of(beams, &settings, *date)
}

/// The circles at these settings. All currents must have the same sign, and the gun lies in the beam plane.
pub(crate) fn reading_scale_of(
    beams: &BeamBench<'_>,
    settings: &[Setting],
    date: Option<Day>,
) -> Result<ReadingScale> {
    let magnification = beams.bench().reading.as_ref().map_or(Ok(1.0), magnification)?;
    let radii: Vec<Option<f64>> = settings
        .par_iter()
        .map(|setting| Ok(beams.path(setting, PathLength::HalfCircle)?.read_radius_m()))
        .collect::<Result<_>>()?;
    let (mut circles, mut left_out) = (Vec::new(), Vec::new());
    for (setting, radius) in settings.iter().zip(radii) {
        match radius {
            Some(read_radius_m) => circles.push(ScaleCircle {
                gun_voltage_volt: setting.gun_voltage_volt,
                current_ampere: setting.current_ampere,
                read_radius_m,
                radius_on_scale_m: read_radius_m * magnification,
            }),
            None => left_out.push([setting.gun_voltage_volt, setting.current_ampere]),
        }
    }
    if circles.is_empty() {
        return Err(Error::value_with_hint(
            "none of these settings makes a beam that comes round inside the bulb",
            "give more current or a lower gun voltage; `orbit SPEC --chart` shows what fits",
        ));
    }
    circles.sort_by(|a, b| b.read_radius_m.total_cmp(&a.read_radius_m));
    // Seen from +z, a field along +z bends a beam that runs up the page to the left.
    let side = -(beams.field_constant_tesla_per_ampere * circles[0].current_ampere).signum();
    let reading = beams.bench().reading;
    Ok(ReadingScale {
        provenance: Provenance::of(beams.bench(), date),
        safety: beams.safety(),
        model: beams.bench().model,
        magnification,
        camera_distance_m: reading.and_then(|reading| reading.camera_distance_m),
        scale_offset_m: reading.map_or(0.0, |reading| reading.scale_offset_m),
        edge: reading.map(|reading| reading.edge),
        side,
        circles,
        left_out,
    })
}
