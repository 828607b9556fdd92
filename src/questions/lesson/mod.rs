//! `lesson`: the settings that a class takes, the readings to expect of them, and all that the lesson page needs to
//! show this bench's beam without this program.
//!
//! The page carries the coils' field as a zonal series for each winding and integrates the path itself; see `page/`.

mod carried;
mod field;
#[cfg(feature = "paper")]
pub mod files;
mod notes;
mod record;
mod setting_list;
mod settings;
#[cfg(feature = "paper")]
pub mod words;

use crate::numeric::calendar::Day;
pub use field::FieldInBulb;
pub use notes::Note;
pub use record::{
    Expected, Lesson, LessonMeter, LessonReading, LessonSetting, LessonTube, RoomKnown, Winding,
};
pub use setting_list::read_settings;
pub use settings::MOST_SETTINGS;

use crate::Result;
use crate::numeric::ode::tableau;
use crate::pair::{Meter, Provenance};
use crate::physics::beam::parallax::magnification;
use crate::physics::beam::{BeamBench, GUN_BODY_LENGTH_M, GUN_BODY_RADIUS_M, Setting};
use crate::physics::heat::AllowedTime;
use crate::physics::may_flow::{MayFlow, may_flow};
use crate::questions::orbit::{ReadingScale, reading_scale_of};
use crate::questions::weigh::KnownRoom;
use record::{Constants, GunBody};

/// What a lesson is asked for, besides its bench.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Request {
    /// The settings that the class takes: gun voltage in V and current in A. If empty, settings are suggested.
    pub settings: Vec<[f64; 2]>,
    /// The date to print, if any.
    pub date: Option<Day>,
}

/// The lesson on this bench.
///
/// # Errors
/// If there are more than [`MOST_SETTINGS`] settings. If a setting is outside the tube's range of gun voltage or beyond
/// what supply or coils allow. If the beam does not come round at a setting, or at no suggested one.
pub fn lesson(beams: &BeamBench<'_>, request: &Request) -> Result<Lesson> {
    let bench = beams.bench();
    let suggested = request.settings.is_empty();
    let safety = beams.safety();
    let settings = match suggested {
        true => settings::suggested(beams, safety.reliable_continuous_current_ampere)?,
        false => settings::given(beams, &request.settings, &safety)?,
    };
    let largest_ampere = settings.iter().map(|one| one.current_ampere.abs()).fold(0.0, f64::max);
    let may_flow = may_flow(bench, &safety, largest_ampere)?;
    let example = settings::example(beams, &settings)?;
    let reading = bench.reading;
    Ok(Lesson {
        provenance: Provenance::of(bench, request.date),
        model: bench.model,
        constants: Constants::of_codata(),
        tableau: tableau(),
        field: FieldInBulb::of(beams)?,
        field_constant_tesla_per_ampere: beams.field_constant_tesla_per_ampere,
        line: beams.line.clone(),
        room_tesla: beams.room_tesla.map(Into::into),
        room_known: room_known(beams),
        tube: LessonTube::of(beams),
        gun_body: GunBody { radius_m: GUN_BODY_RADIUS_M, length_m: GUN_BODY_LENGTH_M },
        windings: beams.assembly().windings().iter().map(Winding::of).collect(),
        connection: bench.connection,
        axis: bench.axis,
        reading: LessonReading {
            magnification: reading.as_ref().map_or(Ok(1.0), magnification)?,
            edge: reading.map(|reading| reading.edge),
            camera_distance_m: reading.and_then(|reading| reading.camera_distance_m),
            scale_offset_m: reading.map_or(0.0, |reading| reading.scale_offset_m),
            radius_uncertainty_m: reading.and_then(|reading| reading.radius_uncertainty_m),
        },
        ammeter: bench.ammeter.map(LessonMeter::of),
        ammeter_position: bench.ammeter_position,
        voltmeter: bench.voltmeter.map(LessonMeter::of),
        current_limit_ampere: bench.supply.and_then(|supply| supply.current_limit_ampere),
        allowed_times: carried::allowed_times(bench, &safety),
        largest_setting_time: match may_flow {
            MayFlow::For { time_s } => Some(AllowedTime { current_ampere: largest_ampere, time_s }),
            MayFlow::ForEver | MayFlow::NotKnown => None,
        },
        notes: notes::notes(beams, largest_ampere, may_flow),
        safety,
        settings_suggested: suggested,
        settings,
        example,
    })
}

fn room_known(beams: &BeamBench<'_>) -> RoomKnown {
    let known = KnownRoom::of(beams, false);
    RoomKnown {
        source: known.source,
        axial_tesla: known.axial_tesla,
        standard_uncertainty_tesla: known.standard_uncertainty_tesla,
        correlation_with_slope: Some(known.correlation_with_slope).filter(|correlation| *correlation != 0.0),
    }
}

/// The reading scales for a lesson's settings, one for each direction of the current that they have.
pub fn scales(beams: &BeamBench<'_>, lesson: &Lesson) -> Result<Vec<ReadingScale>> {
    let date = lesson.provenance.date;
    let of_sign = |sign: f64| {
        let settings: Vec<&LessonSetting> =
            lesson.settings.iter().filter(|setting| setting.current_ampere * sign > 0.0).collect();
        let turned = settings.first().is_some_and(|setting| setting.tube_turned);
        let settings: Vec<Setting> = settings
            .iter()
            .map(|setting| settings::level(setting.gun_voltage_volt, setting.current_ampere))
            .collect();
        (settings, settings::with_tube(beams, turned))
    };
    [1.0, -1.0]
        .map(of_sign)
        .into_iter()
        .filter(|(settings, _)| !settings.is_empty())
        .map(|(settings, beams)| reading_scale_of(&beams, &settings, date))
        .collect()
}

impl LessonMeter {
    fn of(meter: Meter) -> Self {
        Self {
            resolution: meter.resolution,
            gain_limit: meter.gain_limit(),
            digits_limit: meter.digits_limit(),
        }
    }
}

#[cfg(test)]
mod tests;
