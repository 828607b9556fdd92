//! The errors that all runs share. They move every run the same way, so more runs do not reduce them.

use super::Request;
use super::fit::{RoomAxial, fit};
use super::prepared::Prepared;
use super::record::{RoomSource, SharedPart};
use super::room::KnownRoom;
use super::shift::Shift;
use crate::Result;
use crate::pair::{AmmeterPosition, Distribution};
use crate::physics::beam::BeamBench;

/// Every shared source, with the change of the fitted e/m for one standard uncertainty of it.
///
/// A room field that the calibration of the line found is correlated with its slope, r: the slope moves by u(k) and the room
/// with it by r u(R), and what is left of the room's, √(1 − r²) u(R), is a source of its own.
pub(super) fn parts(
    beams: &BeamBench<'_>,
    prepared: &Prepared<'_>,
    room: &KnownRoom,
    request: &Request,
    charge_to_mass: f64,
) -> Result<Vec<SharedPart>> {
    let rectangular = |limit: f64| Distribution::Rectangular.standard_uncertainty(limit);
    let line = &beams.line;
    let mut sources: Vec<(&'static str, f64, &'static str, Shift)> = Vec::new();
    let slope = line.slope.standard_uncertainty().unwrap_or(0.0) / line.slope.tesla_per_ampere.abs();
    let with_slope = if slope > 0.0 { room.correlation_with_slope } else { 0.0 };
    let room_tesla = line.slope.tesla_per_ampere.signum() * with_slope * room.standard_uncertainty_tesla;
    if slope > 0.0 {
        sources.push(("slope of the line", slope, "1", Shift { slope, room_tesla, ..Shift::none() }));
    }
    let mut add = |source, uncertainty: f64, unit, shift: fn(f64) -> Shift| {
        if uncertainty > 0.0 {
            sources.push((source, uncertainty, unit, shift(uncertainty)));
        }
    };
    if let Some(meter) = beams.bench().ammeter {
        let gain = rectangular(meter.gain_limit());
        add("ammeter gain", gain, "1", |current_gain| Shift { current_gain, ..Shift::none() });
        let digits = rectangular(meter.digits_limit());
        // If the place is not stated, the worse one for e/m counts: before the reversal, where the error does not
        // cancel between the two directions.
        if beams.bench().ammeter_position == Some(AmmeterPosition::AfterReversal) {
            add("ammeter digits", digits, "A", |current_ampere| Shift { current_ampere, ..Shift::none() });
        } else {
            let shift = |current_size_ampere| Shift { current_size_ampere, ..Shift::none() };
            add("ammeter digits", digits, "A", shift);
        }
    }
    if let Some(meter) = beams.bench().voltmeter {
        let gain = rectangular(meter.gain_limit());
        add("voltmeter gain", gain, "1", |voltage_gain| Shift { voltage_gain, ..Shift::none() });
        let digits = rectangular(meter.digits_limit());
        add("voltmeter digits", digits, "V", |voltage_volt| Shift { voltage_volt, ..Shift::none() });
    }
    if let Some([_, uncertainty]) = beams.tube.gun_voltage_offset_volt {
        add("gun voltage offset", uncertainty, "V", |voltage_volt| Shift { voltage_volt, ..Shift::none() });
    }
    if room.source != RoomSource::Runs {
        let uncertainty = (1.0 - with_slope.powi(2)).sqrt() * room.standard_uncertainty_tesla;
        add("room field along the axis", uncertainty, "T", |room_tesla| Shift {
            room_tesla,
            ..Shift::none()
        });
    }
    let scale = request.scale_uncertainty_fraction.unwrap_or(0.0);
    add("scale", scale, "1", |radius| Shift { radius, ..Shift::none() });
    sources
        .into_iter()
        .map(|(source, standard_uncertainty, unit, shift)| {
            let held = match room.in_fit() {
                RoomAxial::Held(tesla) => RoomAxial::Held(tesla + shift.room_tesla),
                RoomAxial::Free => RoomAxial::Free,
            };
            let moved = fit(&prepared.points(&shift)?, held)?.charge_to_mass;
            Ok(SharedPart {
                source,
                standard_uncertainty,
                unit,
                contribution_coulomb_per_kg: (moved - charge_to_mass).abs(),
            })
        })
        .collect()
}
