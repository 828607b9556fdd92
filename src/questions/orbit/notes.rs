//! The notes on an orbit, a chart or a bias table. Each is a variant with its numbers, and has its sentence.

use crate::physics::beam::{BeamBench, GUN_BODY_LENGTH_M, GUN_BODY_RADIUS_M, Halt, Path, Setting};
use crate::physics::room;
use crate::physics::room::Unknown;
use crate::questions::words::notes::{SourceNote, Told, on_bulb, on_line, on_meters, room_unknown};
use crate::units::{Dimension, display, fixed, unit};

/// One note.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// About the spec or the line.
    Source(SourceNote),
    /// The coil current is zero.
    NoCurrent {
        /// Whether the room's field is known; it then bends the beam alone.
        room_known: bool,
    },
    /// The beam does not come round, so there is no radius to read.
    DoesNotComeRound {
        /// How the path ends before the opposite crossing.
        halt: Halt,
        /// Whether the circle would fit in the bulb with the current reversed.
        fits_other_side: bool,
    },
    /// The room's field is not known and is taken as zero.
    RoomUnknown {
        /// Why it is not known.
        unknown: Unknown,
        /// Where zero is used, which decides the advice.
        taken: TakenAsNone,
        /// What the calibration of the line found along the axis.
        found_axial_tesla: Option<f64>,
    },
    /// The spec does not describe the gun's body; the usual size is taken.
    GunBody,
    /// The gun voltage lies outside the tube's range.
    OutsideGunVoltage {
        /// Lowest and highest gun voltage of the tube.
        range_volt: [f64; 2],
    },
    /// The current is beyond the supply's limit.
    BeyondSupply {
        /// The supply's current limit.
        limit_ampere: f64,
    },
}

/// Where an unknown room field is taken as zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakenAsNone {
    /// In one orbit, for which the spec could be completed.
    OfOrbit,
    /// In a chart.
    OfChart,
    /// In the room's part of a bias.
    PartOfBias,
}

impl Told for Note {
    fn sentence(&self) -> String {
        match self {
            Self::Source(note) => note.sentence(),
            Self::NoCurrent { room_known: true } => {
                "No coil current: only the room's field bends the beam.".into()
            }
            Self::NoCurrent { room_known: false } => {
                "No coil current and no known room field: the beam runs straight to the glass.".into()
            }
            Self::DoesNotComeRound { halt, fits_other_side } => format!(
                "The beam does not come round: it {} before it is opposite the gun, so there is no radius to read. More \
                 current or a lower gun voltage makes the circle smaller{}.",
                match halt {
                    Halt::Bulb => "strikes the glass",
                    Halt::Gun => "strikes the gun",
                    Halt::GoneRound | Halt::LengthLimit => "drifts away",
                },
                if *fits_other_side {
                    "; the other current direction bends it to the other side of the gun, where it would fit, and so \
                     would turning the tube half round"
                } else {
                    ""
                }
            ),
            Self::RoomUnknown { unknown, taken, found_axial_tesla } => {
                let why = room_unknown(*unknown);
                let though = found_axial_tesla.map_or(String::new(), |axial| {
                    let axial = display(axial, Dimension::FluxDensity, 2);
                    format!(", though the calibration found {axial} along the axis")
                });
                match taken {
                    TakenAsNone::OfOrbit => {
                        format!("{why}; zero is assumed{though}. Write `room.field` or `room.site`.")
                    }
                    TakenAsNone::OfChart => format!("{why}; zero is assumed{though}."),
                    TakenAsNone::PartOfBias => format!("{why}; its part is taken as none{though}."),
                }
            }
            Self::GunBody => format!(
                "The gun's body is taken as {} across and {} long behind its exit (common practice); the spec does not \
                 describe it. If the gun cuts a turn short, period and pitch are those of the whole turn.",
                display(2.0 * GUN_BODY_RADIUS_M, Dimension::Length, 2),
                display(GUN_BODY_LENGTH_M, Dimension::Length, 2),
            ),
            Self::OutsideGunVoltage { range_volt: [lowest, highest] } => format!(
                "The gun voltage lies outside the tube's range, {} to {}.",
                display(*lowest, Dimension::Voltage, 3),
                display(*highest, Dimension::Voltage, 3)
            ),
            Self::BeyondSupply { limit_ampere } => {
                format!("The supply gives at most {}.", fixed(*limit_ampere, unit::AMPERE, 2))
            }
        }
    }
}

/// The notes on one orbit.
pub(super) fn on_orbit(beams: &BeamBench<'_>, setting: &Setting, path: &Path) -> Vec<Note> {
    let mut notes = Vec::from_iter(on_line(beams).map(Note::Source));
    if setting.current_ampere == 0.0 {
        notes.push(Note::NoCurrent { room_known: beams.room_tesla.is_some() });
    } else if path.opposite_crossing.is_none() {
        let fits_other_side = circle_leaves_on_this_side_only(beams, setting);
        notes.push(Note::DoesNotComeRound { halt: path.halt, fits_other_side });
    }
    notes.extend(on_room(beams, TakenAsNone::OfOrbit));
    if path.halt == Halt::Gun || !path.turns.is_empty() {
        notes.push(Note::GunBody);
    }
    if let Some([lowest, highest]) = beams.tube.gun_voltage_volt
        && !(lowest..=highest).contains(&setting.gun_voltage_volt)
    {
        notes.push(Note::OutsideGunVoltage { range_volt: [lowest, highest] });
    }
    if let Some(limit_ampere) = beams.bench().supply.and_then(|supply| supply.current_limit_ampere)
        && setting.current_ampere.abs() > limit_ampere
    {
        notes.push(Note::BeyondSupply { limit_ampere });
    }
    notes.extend(on_bulb(beams).into_iter().chain(on_meters(beams.bench())).map(Note::Source));
    notes
}

/// The notes on a chart.
pub(super) fn on_chart(beams: &BeamBench<'_>) -> Vec<Note> {
    let line = on_line(beams).map(Note::Source);
    let room = on_room(beams, TakenAsNone::OfChart);
    line.chain(room).chain(on_bulb(beams).map(Note::Source)).collect()
}

/// The notes on a bias table.
pub(super) fn on_bias(beams: &BeamBench<'_>) -> Vec<Note> {
    let line = on_line(beams).map(Note::Source);
    let room = on_room(beams, TakenAsNone::PartOfBias);
    let last = on_bulb(beams).into_iter().chain(on_meters(beams.bench())).map(Note::Source);
    line.chain(room).chain(last).collect()
}

fn on_room(beams: &BeamBench<'_>, taken: TakenAsNone) -> Option<Note> {
    let unknown = beams.room_tesla.is_none();
    unknown.then(|| Note::RoomUnknown {
        unknown: room::unknown(beams.bench()),
        taken,
        found_axial_tesla: beams.line.room.map(|found| found.axial_tesla),
    })
}

/// Whether the textbook circle at this current leaves the bulb while the mirrored circle, at the reversed current,
/// stays inside.
fn circle_leaves_on_this_side_only(beams: &BeamBench<'_>, setting: &Setting) -> bool {
    let tube = &beams.tube;
    let radius = beams.textbook_radius_m(setting)
        * (setting.current_ampere * beams.field_constant_tesla_per_ampere).signum();
    !tube.circle_fits(radius) && tube.circle_fits(-radius)
}
