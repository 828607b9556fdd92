//! Values that a calculation cannot take: what each is, its sentence and what to do about it.

use super::winding_fault::WindingFault;
use crate::units::{Dimension, display};
use std::fmt;

/// A value that a calculation cannot take. SI units, temperatures in °C.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
#[allow(
    missing_docs,
    reason = "the variants say what was found and what is allowed by the names of their values"
)]
pub enum Refused {
    /// Points for one line, or for several parallel ones.
    TooFewPoints { points: usize, lines: usize, needed: usize },
    /// Points whose common uncertainty is to come from their scatter.
    TooFewPointsForScatter { points: usize, needed: usize },
    /// A point, numbered from 1, without a finite positive uncertainty.
    PointWithoutUncertainty { number: usize, x: [f64; 2], y: [f64; 2], covariance: f64 },
    /// Points that are all at one x.
    NoSlopeFromOneAbscissa { x: f64 },
    /// A value of a reading that no line can be fitted to, and what is allowed.
    UnusableReading { line: u64, quantity: &'static str, value: f64, allowed: &'static str },
    /// Readings of which only some state the uncertainty of their current or field.
    UncertaintyNotOfAll { quantity: &'static str, stating: usize, readings: usize },
    /// Runs, for so many numbers to be fitted.
    TooFewRuns { runs: usize, unknowns: usize },

    /// The coils cancel, so something has no field to rest on.
    CoilsCancel { wanted: CentreFieldFor },
    /// A point without three finite coordinates.
    PointNotFinite { point_m: [f64; 3] },
    /// A point on a winding of no section, where the field is infinite.
    PointOnFilament { point_m: [f64; 3] },
    /// Dimensions with which no pair can be wound.
    Winding(WindingFault),
    /// A former's wall that fills the winding's bore.
    FormerFillsBore { wall_m: f64, inner_radius_m: f64 },
    /// A supply's setting that is not a number, or that limits neither current nor voltage.
    SupplySetting { current_ampere: f64, voltage_volt: f64 },
    /// A time of a duty cycle outside what is allowed; the part is its `on-time` or its `off-time`.
    DutyTime { part: &'static str, seconds: f64, allowed_s: [f64; 2] },
    /// A room for which the heating model does not hold.
    RoomTemperature { celsius: f64, allowed_celsius: [f64; 2] },
    /// A current at which the coils make no field beside the room's.
    NoCurrentForRoom { current_ampere: f64 },
    /// A room's field without three finite components.
    RoomFieldNotFinite { field_tesla: [f64; 3] },
    /// A day for which the magnetic model does not hold; its first and last day as people write them.
    DayOutsideMagneticModel { year: i32, month: u8, day: u8, valid: [&'static str; 2] },
    /// A height for which the magnetic model does not hold.
    HeightOutsideMagneticModel { height_m: f64, allowed_m: [f64; 2] },
    /// A latitude beyond the poles.
    Latitude { degrees: f64 },
    /// A longitude that is none.
    Longitude { degrees: f64 },

    /// A voltage after which an electron is no beam of such a tube.
    BeamVoltage { volt: f64, most_volt: f64 },
    /// A gun voltage that is not above zero.
    GunVoltage { volt: f64 },
    /// A gun voltage of which the stated offset leaves nothing.
    GunVoltageWithinOffset { volt: f64, offset_volt: f64 },
    /// A gun tilt of more than a right angle.
    GunTilt { rad: f64 },
    /// A vector that has no direction: zero, or not finite.
    NoDirection { vector: [f64; 3] },
    /// A gun whose direction is not a vector of length one, or whose exit is not finite.
    GunNotUsable { exit_m: [f64; 3], direction: [f64; 3] },
    /// A gun that points along the axis.
    GunAlongAxis,
    /// A gun exit outside the bulb.
    GunOutsideBulb { from_centre_m: f64, bulb_radius_m: f64 },
    /// A beam radius that is not above zero.
    BeamRadius { radius_m: f64 },
    /// A beam of this radius does not come back to the gun.
    BeamDoesNotComeRound { radius_m: f64 },
    /// A beam too straight or too tight to be followed.
    BeamCannotBeFollowed { radius_m: f64 },
    /// A camera that cannot see the scale.
    ScaleOutOfSight { scale_offset_m: f64, camera_distance_m: f64 },

    /// A limit on the deviation, as a fraction.
    DeviationLimit { fraction: f64 },
    /// A wish for a build, as a fraction.
    WishedFraction { name: &'static str, fraction: f64 },
    /// A number of builds.
    Builds { asked: usize },
    /// A number of samples.
    Samples { asked: u64, allowed: [u64; 2] },
    /// An uncertainty wanted of a calibration, as a fraction.
    WantedUncertainty { fraction: f64 },
    /// A scatter of one reading of the field.
    ReadingScatter { tesla: f64 },
    /// A largest current that the ammeter does not show.
    CurrentBelowAmmeterStep { largest_ampere: f64, step_ampere: f64 },
    /// A standard uncertainty of the scale, as a fraction of the radius.
    ScaleUncertainty { fraction: f64 },
    /// A step of a map's grid.
    GridStep { step_m: f64 },
    /// Fewer than two points along a grid's longest side.
    GridOfOnePoint,
    /// A grid between whose points everything lies.
    GridOfNoPoint,
    /// A grid of more points than are computed; `None` where they cannot be counted.
    TooManyGridPoints { points: Option<u64>, most: u64 },
    /// A step of a calibration's table.
    TableStep { step_ampere: f64, limit_ampere: f64 },
    /// A table of more rows than are written.
    TooManyTableRows { step_ampere: f64, limit_ampere: f64, rows: f64, most: usize },
    /// A picture of more pixels than are drawn.
    PictureTooLarge { width: f64, height: f64, most: f64 },
    /// A limit of the surfaces' temperature that the room leaves no warmth under.
    SurfaceLimitBelowRoom { limit_celsius: f64, room_celsius: f64 },
}

/// What the field at the centre is wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum CentreFieldFor {
    /// The deviation from it.
    Deviation,
    /// The effective field of a beam circle over it.
    EffectiveField,
    /// Bending a beam.
    Beam,
    /// A calibration.
    Calibration,
}

fn length(metre: f64) -> String {
    display(metre, Dimension::Length, 4)
}

fn voltage(volt: f64) -> String {
    display(volt, Dimension::Voltage, 4)
}

/// The sentence of each.
impl fmt::Display for Refused {
    #[expect(clippy::too_many_lines, reason = "one arm a sentence")]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewPoints { points, lines: 0 | 1, needed } => {
                write!(f, "{points} points make no line; at least {needed} are needed")
            }
            Self::TooFewPoints { points, lines, needed } => {
                write!(f, "{points} points make no {lines} parallel lines; at least {needed} are needed")
            }
            Self::TooFewPointsForScatter { points, needed } => write!(
                f,
                "{points} points leave no scatter to take an uncertainty from; at least {needed} are needed"
            ),
            Self::PointWithoutUncertainty { number, x: [x, x_u], y: [y, y_u], covariance } => write!(
                f,
                "point {number} has no usable uncertainty: x {x} ± {x_u}, y {y} ± {y_u}, covariance {covariance}"
            ),
            Self::NoSlopeFromOneAbscissa { x } => {
                write!(f, "all points have the same x, {x}; no slope follows")
            }
            Self::UnusableReading { line: 0, quantity, value, allowed } => {
                write!(f, "the {quantity} of a reading is {value}, and it must be {allowed}")
            }
            Self::UnusableReading { line, quantity, value, allowed } => {
                write!(f, "the {quantity} of reading {line} is {value}, and it must be {allowed}")
            }
            Self::UncertaintyNotOfAll { quantity, stating, readings } => write!(
                f,
                "{stating} of {readings} readings state the uncertainty of the {quantity}, and the others do not"
            ),
            Self::TooFewRuns { runs, unknowns } => {
                write!(f, "{runs} runs are too few to fit {unknowns} numbers")
            }
            Self::CoilsCancel { wanted } => f.write_str(match wanted {
                CentreFieldFor::Deviation => {
                    "the coils cancel at the centre, so there is no centre field to compare with"
                }
                CentreFieldFor::EffectiveField => {
                    "the coils make no field along the axis at the centre, so no beam circle can be compared with it"
                }
                CentreFieldFor::Beam => {
                    "the coils make no field along the axis at the centre, so they bend no beam there"
                }
                CentreFieldFor::Calibration => {
                    "the coils cancel at the centre, so there is no field constant to calibrate"
                }
            }),
            Self::PointNotFinite { point_m: [x, y, z] } => {
                write!(f, "a point must have finite coordinates, not ({x} m, {y} m, {z} m)")
            }
            Self::PointOnFilament { point_m: [x, y, z] } => write!(
                f,
                "the point ({x} m, {y} m, {z} m) lies on a filament, where the field has no finite value"
            ),
            Self::Winding(fault) => fault.fmt(f),
            Self::FormerFillsBore { wall_m, inner_radius_m } => write!(
                f,
                "the former's wall of {:.4} mm leaves no bore in a winding of inner radius {:.4} mm",
                wall_m * 1e3,
                inner_radius_m * 1e3
            ),
            Self::SupplySetting { current_ampere, voltage_volt } => write!(
                f,
                "a supply set to {current_ampere} A and {voltage_volt} V has no definite current"
            ),
            Self::DutyTime { part, seconds, allowed_s: [least, most] } => {
                write!(f, "an {part} of {seconds} s is not {least} s to {} h", most / 3600.0)
            }
            Self::RoomTemperature { celsius, allowed_celsius: [least, most] } => write!(
                f,
                "the room is at {celsius} °C, and the heating model holds from {least} °C to {most} °C"
            ),
            Self::NoCurrentForRoom { current_ampere } => write!(
                f,
                "the current is {current_ampere} A, and then the coils make no field to compare with"
            ),
            Self::RoomFieldNotFinite { field_tesla: [x, y, z] } => {
                write!(f, "the room's field must have finite components, not ({x} T, {y} T, {z} T)")
            }
            Self::DayOutsideMagneticModel { year, month, day, valid: [from, until] } => write!(
                f,
                "the date {year:04}-{month:02}-{day:02} lies outside the magnetic model's validity, {from} to {until}"
            ),
            Self::HeightOutsideMagneticModel { height_m, allowed_m: [least, most] } => write!(
                f,
                "the site's height {height_m} m lies outside the magnetic model's range, {least} m to {most} m"
            ),
            Self::Latitude { degrees } => {
                write!(f, "the site's latitude {degrees} deg lies outside -90 deg to 90 deg")
            }
            Self::Longitude { degrees } => write!(f, "the site's longitude {degrees} deg is not a longitude"),
            Self::BeamVoltage { volt, .. } => {
                write!(
                    f,
                    "an electron that has fallen through {} makes no beam here",
                    voltage(*volt)
                )
            }
            Self::GunVoltage { volt } => write!(f, "the gun voltage is {} and makes no beam", voltage(*volt)),
            Self::GunVoltageWithinOffset { volt, offset_volt } => write!(
                f,
                "the gun voltage {} is used up by `tube.gun_voltage_offset` of {}",
                voltage(*volt),
                voltage(*offset_volt)
            ),
            Self::GunTilt { rad } => write!(f, "the gun tilt is {}", display(*rad, Dimension::Angle, 4)),
            Self::NoDirection { vector: [x, y, z] } => {
                write!(f, "the vector ({x}, {y}, {z}) has no direction")
            }
            Self::GunNotUsable { exit_m: [x, y, z], direction: [dx, dy, dz] } => write!(
                f,
                "a gun at ({x} m, {y} m, {z} m) that points along ({dx}, {dy}, {dz}) makes no beam"
            ),
            Self::GunAlongAxis => f.write_str("a gun that points along the axis makes no beam circle"),
            Self::GunOutsideBulb { from_centre_m, bulb_radius_m } => write!(
                f,
                "the gun exit lies {} from the bulb's centre, outside the bulb of radius {}",
                length(*from_centre_m),
                length(*bulb_radius_m)
            ),
            Self::BeamRadius { radius_m } => {
                write!(f, "the beam radius is {} and must be above 0 mm", length(*radius_m))
            }
            Self::BeamDoesNotComeRound { radius_m } => {
                write!(f, "a beam of radius {} does not come round in this field", length(*radius_m))
            }
            Self::BeamCannotBeFollowed { radius_m } => write!(
                f,
                "the field at the gun exit makes a beam of radius {radius_m} m, which cannot be followed"
            ),
            Self::ScaleOutOfSight { scale_offset_m, camera_distance_m } => write!(
                f,
                "a scale {} behind the beam plane cannot be seen from a camera {} before it",
                length(*scale_offset_m),
                length(*camera_distance_m)
            ),
            Self::DeviationLimit { fraction } => write!(
                f,
                "the limit on the deviation is {} %, and it must lie between 1e-7 % and 50 %",
                100.0 * fraction
            ),
            Self::WishedFraction { name, fraction } => {
                write!(f, "{name} is {} %, and it must lie between 1e-7 % and 100 %", 100.0 * fraction)
            }
            Self::Builds { asked } => {
                write!(f, "{asked} builds were asked for, and it takes 10 to 10 000 000")
            }
            Self::Samples { asked, allowed: [least, most] } => {
                write!(f, "{asked} samples were asked for; from {least} to {most} are allowed")
            }
            Self::WantedUncertainty { fraction } => write!(
                f,
                "the wanted uncertainty is {}, and it must lie between 0.001 % and 50 %",
                display(*fraction, Dimension::Fraction, 3)
            ),
            Self::ReadingScatter { tesla } => write!(
                f,
                "the scatter of one reading is {}, and it must be above nought",
                display(*tesla, Dimension::FluxDensity, 3)
            ),
            Self::CurrentBelowAmmeterStep { largest_ampere, step_ampere } => write!(
                f,
                "the largest current, {}, is below one step of the ammeter, {}",
                display(*largest_ampere, Dimension::Current, 3),
                display(*step_ampere, Dimension::Current, 3)
            ),
            Self::ScaleUncertainty { fraction } => {
                write!(f, "the scale uncertainty is {}", display(*fraction, Dimension::Fraction, 3))
            }
            Self::GridStep { step_m } => write!(f, "a grid step of {} is not possible", length(*step_m)),
            Self::GridOfOnePoint => f.write_str("a grid needs at least 2 points along its longest side"),
            Self::GridOfNoPoint => f.write_str("the grid has no point"),
            Self::TooManyGridPoints { points: None, most } => {
                write!(f, "a grid of more points than can be counted is too large: at most {most}")
            }
            Self::TooManyGridPoints { points: Some(points), most } => {
                write!(f, "a grid of {points} points is too large: at most {most}")
            }
            Self::TableStep { step_ampere, limit_ampere } => write!(
                f,
                "the step {step_ampere} A must be more than 0 A and at most the limit, {limit_ampere} A"
            ),
            Self::TooManyTableRows { step_ampere, limit_ampere, rows, most } => write!(
                f,
                "a step of {step_ampere} A up to {limit_ampere} A makes {rows:.0} rows; at most {most} are written"
            ),
            Self::PictureTooLarge { width, height, most } => {
                write!(f, "a picture of {width} × {height} pixels is too large: at most {most} in all")
            }
            Self::SurfaceLimitBelowRoom { limit_celsius, room_celsius } => write!(
                f,
                "`surface_temperature_limit` is {limit_celsius} °C, and the room is at {room_celsius} °C"
            ),
        }
    }
}

impl std::error::Error for Refused {}

impl Refused {
    /// What to do about it, if anything is known.
    pub(super) fn hint(&self) -> Option<String> {
        Some(match self {
            Self::TooFewPoints { .. }
            | Self::TooFewPointsForScatter { .. }
            | Self::PointWithoutUncertainty { .. }
            | Self::NoSlopeFromOneAbscissa { .. }
            | Self::TooFewRuns { .. }
            | Self::UnusableReading { .. }
            | Self::PointNotFinite { .. }
            | Self::PointOnFilament { .. }
            | Self::Winding(_)
            | Self::FormerFillsBore { .. }
            | Self::RoomFieldNotFinite { .. }
            | Self::HeightOutsideMagneticModel { .. }
            | Self::Latitude { .. }
            | Self::Longitude { .. }
            | Self::BeamRadius { .. }
            | Self::BeamCannotBeFollowed { .. }
            | Self::ReadingScatter { .. }
            | Self::PictureTooLarge { .. } => return None,
            Self::TooManyTableRows { limit_ampere, most, .. } => {
                let step = display(limit_ampere / (*most as f64 - 1.0), Dimension::Current, 2);
                return Some(format!("take a step of {step} or more"));
            }
            Self::UncertaintyNotOfAll { .. } => "state it for every reading, or for none",
            Self::BeamVoltage { most_volt, .. } => {
                return Some(format!("the gun voltage must be above 0 V and at most {most_volt} V"));
            }
            Self::CoilsCancel { wanted: CentreFieldFor::Deviation } => {
                "look for a coil connected backwards: `sense` in `as_built`"
            }
            Self::CoilsCancel { wanted: CentreFieldFor::EffectiveField | CentreFieldFor::Beam } => {
                "check `sense` in `as_built`: one coil connected backwards cancels the other"
            }
            Self::CoilsCancel { wanted: CentreFieldFor::Calibration } => {
                "check `sense` of each coil under `as_built`"
            }
            Self::SupplySetting { .. } => "give a current in A, or a voltage in V that limits it",
            Self::DutyTime { .. } => "give both times in seconds",
            Self::RoomTemperature { .. } => {
                r#"write the air temperature, as in "room": { "temperature": "22 degC" }"#
            }
            Self::NoCurrentForRoom { .. } => "give a current, such as --current \"1 A\"",
            Self::DayOutsideMagneticModel { .. } => {
                "the earth's field drifts, so the model is not extrapolated: measure the field with the coils off \
                 and give it as `room.field`, or use a date inside the range"
            }
            Self::GunVoltage { .. } => "give a gun voltage above 0 V, such as --gun-voltage \"200 V\"",
            Self::GunVoltageWithinOffset { .. } => "raise the gun voltage, or correct the offset",
            Self::GunTilt { .. } => "give a tilt from -90 deg to 90 deg out of the beam plane",
            Self::NoDirection { .. } => "give finite components that are not all zero",
            Self::GunNotUsable { .. } => "give a finite place and a direction of length one",
            Self::GunAlongAxis => "give `tube.gun_direction` a part in the beam plane, such as [0, 1, 0]",
            Self::GunOutsideBulb { .. } => {
                "correct `tube.gun_exit`, `tube.bulb_centre` or `tube.bulb_radius`"
            }
            Self::BeamDoesNotComeRound { .. } => {
                "choose a smaller beam radius, or a gun exit nearer the middle"
            }
            Self::ScaleOutOfSight { .. } => {
                "the camera must stand before the beam plane and before the scale"
            }
            Self::DeviationLimit { .. } | Self::WishedFraction { .. } => "write it like this: --within 1%",
            Self::Builds { .. } => "write it like this: --builds 2000",
            Self::Samples { .. } => "a million is a good number: --monte-carlo 1000000",
            Self::WantedUncertainty { .. } => "write it like this: --want \"1 %\"",
            Self::CurrentBelowAmmeterStep { .. } => {
                "correct `ammeter.resolution`, or `supply.current_limit`"
            }
            Self::ScaleUncertainty { .. } => {
                "give a standard uncertainty from 0 % to below 100 % of the radius"
            }
            Self::GridStep { .. } => "give a step above zero, such as --step \"2 mm\"",
            Self::GridOfOnePoint => "give a number such as --grid 101",
            Self::GridOfNoPoint => "take a smaller --step",
            Self::TooManyGridPoints { .. } => "take a larger --step or a smaller --grid",
            Self::TableStep { .. } => "write it like this: --step \"0.1 A\"",
            Self::SurfaceLimitBelowRoom { .. } => {
                "a coil that carries current is warmer than the room: allow a few kelvin"
            }
        }
        .into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;
    use crate::numeric::line_fit::fit_line;
    use crate::physics::beam::Electron;

    #[test]
    fn a_caller_can_tell_refusals_apart_and_read_their_values() {
        let refused = fit_line(&[]).unwrap_err();
        assert!(
            matches!(refused, Error::Refused(Refused::TooFewPoints { points: 0, needed: 2, .. })),
            "{refused:?}"
        );
        let Err(Error::Refused(Refused::BeamVoltage { volt, most_volt })) = Electron::after(-80.0) else {
            panic!("an electron does not fall through −80 V");
        };
        assert_eq!((volt, most_volt), (-80.0, 1e5));
    }

    #[test]
    fn one_fault_has_one_sentence_for_each_thing_that_suffers_and_a_hint() {
        let wanted = [
            CentreFieldFor::Deviation,
            CentreFieldFor::EffectiveField,
            CentreFieldFor::Beam,
            CentreFieldFor::Calibration,
        ];
        let told: Vec<String> = wanted.map(|wanted| Refused::CoilsCancel { wanted }.to_string()).into();
        assert!(told.iter().all(|told| told.contains("at the centre")), "{told:?}");
        for (index, one) in told.iter().enumerate() {
            assert!(!told[index + 1..].contains(one), "{one}");
        }
        for wanted in wanted {
            let hint = Error::from(Refused::CoilsCancel { wanted }).hint().unwrap();
            assert!(hint.contains("`sense`"), "{hint}");
        }
    }
}
