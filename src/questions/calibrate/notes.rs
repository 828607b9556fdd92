//! The notes to the reader of a calibration: each with its numbers and its sentence.

use super::adoption::Choice;
use super::agreement::Agreement;
use super::conformity::Conformity;
use super::fit::{AmmeterZeroSeen, Fit, FitMethod, Residual};
use super::reading::LeftOutReading;
use super::without_current::{Unaccounted, WithoutCurrent, of_fit, unaccounted};
use crate::judgement::agreement::Agreement as Verdict;
use crate::pair::{Bench, Distribution, NotStated, circuit, unstated_of_meter};
use crate::physics::room;
use crate::physics::room::Unknown;
use crate::physics::slope::{AdoptedFrom, Slope};
use crate::questions::words::notes::{SourceNote, Told, on_growth, room_unknown};
use crate::units::{Dimension, brief, display, fixed_down, unit};
use std::collections::BTreeSet;

/// Most lines named in a note. If there are more, only their number is given.
const MOST_NAMED: usize = 8;

/// One note.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// About the spec or the table of the readings.
    Source(SourceNote),
    /// The room's field is not known.
    RoomUnknown(Unknown),
    /// The effective field of beam circles of neighbouring radii could not be found, for one reason.
    NoBeamCorrection {
        /// The smallest and the largest of these radii.
        read_radius_m: [f64; 2],
        /// The reason, without the radius.
        why: String,
    },
    /// The probe was turned round, but not along the axis.
    TurnedOffAxis,
    /// The current was reversed but the probe was not turned round, so the room's field and the meter's zero are known
    /// only together.
    RoomAndZeroTogether,
    /// The field at zero current is larger than room and meter explain.
    Unaccounted(Unaccounted),
    /// Lines of the file that stand out.
    StandsOut(Vec<u64>),
    /// Lines of the file that repeat current, field and place of an earlier line to the last digit.
    Repeated(Vec<u64>),
    /// Readings that a `#` leaves out.
    LeftOut(Vec<LeftOutReading>),
    /// Readings at both current directions show a zero of the ammeter.
    AmmeterZeroSeen(AmmeterZeroSeen),
    /// The stated uncertainties are too small for the scatter.
    ExcessScatter {
        /// The Birge ratio.
        factor: f64,
    },
    /// No uncertainties are stated.
    CommonScatter,
    /// The currents are taken as rounded to the ammeter's resolution.
    CurrentsRounded {
        /// That rounding, as a standard uncertainty.
        standard_uncertainty_ampere: f64,
    },
    /// B0 differs from the room's field that the spec states.
    RoomNotAsStated {
        /// The spec's axial field.
        stated_tesla: f64,
        /// The value from the readings.
        found_tesla: f64,
        /// U of the difference.
        expanded_tesla: f64,
    },
    /// The largest reading lies below the end of the tables.
    EndsBelow {
        /// The largest current read.
        largest_ampere: f64,
    },
    /// The supply's voltage limit drives less than its current limit.
    SupplyDrives {
        /// The largest current with cold copper.
        largest_ampere: f64,
        /// The current limit.
        limit_ampere: f64,
        /// The largest current read, if that is larger.
        read_ampere: Option<f64>,
    },
    /// The probe's gain is not known.
    ProbeGainExact(&'static str),
    /// A part of the ammeter's error is not known.
    AmmeterExact(String),
    /// The spec does not say where the ammeter stands.
    AmmeterPositionUnknown,
    /// Limits that the build tolerance leaves out, so that the computed slope takes the dimensions as kept exactly.
    BuildExact(NotStated),
    /// The computed slope has no uncertainty.
    ComputedNotJudged,
    /// The readings cannot decide between the lines. The one with the smaller uncertainty is used.
    NotTested {
        /// The line used.
        adopted: AdoptedFrom,
        /// U of the difference over the computed slope.
        expanded_fraction: f64,
        /// The difference that would matter, over the computed slope.
        mattering_fraction: f64,
    },
    /// No result could pass the statement of conformity asked for, because U alone is as large as the allowed error.
    NothingCanPass {
        /// Largest error allowed, over the computed slope.
        allowed_fraction: f64,
        /// Expanded uncertainty of the fitted slope, over the computed one.
        guard_band_fraction: f64,
    },
    /// The spec does not state the field meter's zero, which is part of B0.
    MeterZeroExact,
    /// A turned probe shows the sign of the others.
    TurnedProbeSameSign,
    /// Positive current makes field along -z.
    NegativeSlope,
}

impl Note {
    /// The note that no result can pass the statement of conformity. `None` if one can.
    pub(super) fn of_conformity(asked: &Conformity) -> Option<Self> {
        Some(Self::NothingCanPass {
            allowed_fraction: asked.allowed_error_fraction,
            guard_band_fraction: asked.too_wide_a_guard_band()?,
        })
    }

    /// The quantity that counts as exact because the spec does not state its error. `None` for other notes.
    pub(crate) fn taken_as_exact(&self) -> Option<&'static str> {
        match self {
            Self::ProbeGainExact(_) => Some("the probe's gain"),
            Self::MeterZeroExact => Some("the field meter's zero, in B0"),
            Self::BuildExact(_) => Some("dimensions without a limit"),
            Self::AmmeterExact(part) => Some(match part.as_str() {
                "ammeter.resolution" => "the ammeter's digits",
                "ammeter.accuracy_of_reading" => "the ammeter's gain",
                _ => "the current",
            }),
            _ => None,
        }
    }

    /// The note in a sentence or two.
    pub fn sentence(&self) -> String {
        match self {
            Self::Source(note) => note.sentence(),
            Self::RoomUnknown(unknown) => format!("{}.", room_unknown(*unknown)),
            Self::NoBeamCorrection { read_radius_m: [smallest, largest], why } => {
                let [from, to] = [smallest, largest].map(|radius| brief(*radius, Dimension::Length));
                match from == to {
                    true => format!("No beam-radius correction for a radius of {from}: {why}."),
                    false => format!("No beam-radius correction for radii of {from} to {to}: {why}."),
                }
            }
            Self::TurnedOffAxis => "The probe was turned round, but not along the axis: the field found beside the \
                                    meter's zero is the room's along the probe, not its axial part."
                .into(),
            Self::RoomAndZeroTogether => "The intercept is the room's axial field plus the meter's zero. Reversing the \
                                          current separates the coils from both; only turning the probe round \
                                          (`probe_flipped`) separates the two."
                .into(),
            Self::Unaccounted(found) => unaccounted_for(*found),
            Self::NothingCanPass { allowed_fraction, guard_band_fraction } => format!(
                "No result could PASS within {}: U = {} alone is no smaller, and it is the guard band on both sides. Allow \
                 more, or measure the slope better; a measuring plan says how.",
                display(*allowed_fraction, Dimension::Fraction, 2),
                display(*guard_band_fraction, Dimension::Fraction, 2)
            ),
            Self::StandsOut(lines) => format!(
                "Stands out from the other readings, and is kept in the fit: line {} of the file. Look into it; to \
                 leave a reading out, take it out of the file and say why.",
                lines.iter().map(u64::to_string).collect::<Vec<_>>().join(", ")
            ),
            Self::Repeated(lines) => format!(
                "The same current, field and place as an earlier reading, to the last digit: line {}{} of the file. Each counts in the fit \
                 as a reading of its own, but a copy is none, and what lies below a meter's last digit does not average out: \
                 leave copies out, and count no more readings than were taken.",
                lines.iter().take(MOST_NAMED).map(u64::to_string).collect::<Vec<_>>().join(", "),
                match lines.len().saturating_sub(MOST_NAMED) {
                    0 => String::new(),
                    more => format!(" and {more} more"),
                },
            ),
            Self::LeftOut(readings) => {
                let advice = match readings.iter().all(|reading| reading.reason.is_some()) {
                    true => "",
                    false => " To give the reason, write it after the last column of the row.",
                };
                format!("{}.{advice}", left_out_phrase(readings))
            }
            Self::AmmeterZeroSeen(zero) => {
                let limit = zero.stated_standard_uncertainty_ampere * 3f64.sqrt();
                format!(
                    "The two directions of the current show that the ammeter reads about {} too {}; its digits allow {}. \
                     Chi-square and the readings that stand out allow for that, the line does not: it holds for currents as \
                     shown, and U counts what the digits allow. Look what the ammeter shows without current.",
                    display(zero.ampere.abs(), Dimension::Current, 1),
                    if zero.ampere > 0.0 { "much" } else { "little" },
                    display(limit, Dimension::Current, 2)
                )
            }
            Self::ExcessScatter { factor } => format!(
                "The readings scatter more than their stated uncertainties allow; the uncertainties of slope, B0 and \
                 room that come from the scatter are multiplied by {factor:.2}, the Birge ratio (Birge 1932). What the \
                 meters share, and errors that readings are said to share, are not."
            ),
            Self::MeterZeroExact => "The spec does not state how far the field meter's zero may be off (`field_meter.zero`): it is \
                                     part of B0, and U does not count it. Turn the probe round in further readings."
                .into(),
            Self::CommonScatter => "No uncertainty is stated for the readings: one common one is taken from their \
                                    scatter, so chi-square says nothing."
                .into(),
            Self::CurrentsRounded { standard_uncertainty_ampere } => format!(
                "No uncertainty is stated for the currents: each counts as rounded to the ammeter's resolution, u = {}.",
                display(*standard_uncertainty_ampere, Dimension::Current, 2)
            ),
            Self::RoomNotAsStated { stated_tesla, found_tesla, expanded_tesla } => format!(
                "B0 does not agree with the room's axial field of the spec: {} found, {} stated, and U of the difference is {}. \
                 The ammeter's zero may be off (behind the reversal it moves B0 as the room does), the bench may have been \
                 turned, or the spec's value may be wrong: find out which before B0 is taken for the room's field.",
                display(*found_tesla, Dimension::FluxDensity, 2),
                display(*stated_tesla, Dimension::FluxDensity, 2),
                display(*expanded_tesla, Dimension::FluxDensity, 2)
            ),
            Self::EndsBelow { largest_ampere } => format!(
                "The readings end at {largest_ampere} A; above it the tables trust the line to stay straight, which a \
                 coil without iron does."
            ),
            Self::SupplyDrives { largest_ampere, limit_ampere, read_ampere } => {
                let ampere = |current: f64| fixed_down(current, unit::AMPERE, 2);
                let drives = format!(
                    "The supply's voltage limit drives at most {} through the coils, the copper cold; its current limit is {}.",
                    ampere(*largest_ampere),
                    ampere(*limit_ampere)
                );
                match read_ampere {
                    None => format!("{drives} The tables end there."),
                    Some(read) => format!(
                        "{drives} The readings go up to {}: either another supply was used, or the spec's resistance or supply \
                         is wrong.",
                        ampere(*read)
                    ),
                }
            }
            Self::ProbeGainExact(part) => format!("The spec has no `{part}`: the probe's gain is taken as exact."),
            Self::AmmeterExact(part) => {
                let exact = self.taken_as_exact().unwrap_or_default();
                let verb = if exact.ends_with("digits") { "are" } else { "is" };
                format!("The spec has no `{part}`: {exact} {verb} taken as exact.")
            }
            Self::AmmeterPositionUnknown => "The spec has no `ammeter.position`: whether the ammeter's zero acts on the \
                                             slope (`before_reversal`) or on B0 (`after_reversal`) is not known, and \
                                             the worse is counted for each."
                .into(),
            Self::ComputedNotJudged => "The spec has no `build_tolerance`: the computed slope has no uncertainty, and \
                                        whether the two slopes agree cannot be said."
                .into(),
            Self::NotTested { adopted, expanded_fraction, mattering_fraction } => format!(
                "The readings cannot tell whether the computed slope is right: the expanded uncertainty of the \
                 difference is {} of the slope, and {} would matter. The {} slope, the better known one, is used; these \
                 readings do not test it.",
                display(*expanded_fraction, Dimension::Fraction, 2),
                display(*mattering_fraction, Dimension::Fraction, 1),
                if *adopted == AdoptedFrom::Fit { "fitted" } else { "computed" }
            ),
            Self::TurnedProbeSameSign => "Readings of the probe turned round have the sign of the others. Write what \
                                          the meter shows: a probe turned round reads the same field with the other \
                                          sign."
                .into(),
            Self::BuildExact(not_stated) => format!(
                "`build_tolerance` leaves out limits ({}): U counts these dimensions as kept exactly, and is too small as far as \
                 they are not.",
                not_stated.keys().collect::<Vec<_>>().join(", ")
            ),
            Self::NegativeSlope => "Positive current makes field along -z: exchange the leads, or keep the signs of \
                                    the table."
                .into(),
        }
    }
}

/// The readings that a `#` leaves out, each with its line and the reason given.
pub(crate) fn left_out_phrase(readings: &[LeftOutReading]) -> String {
    let one = |reading: &LeftOutReading| {
        let label = reading.label.as_ref().map_or(String::new(), |label| format!(" \"{label}\""));
        let reason = reading.reason.as_deref().unwrap_or("no reason stated");
        format!("line {}{label}: {reason}", reading.line)
    };
    let named: Vec<String> = readings.iter().take(MOST_NAMED).map(one).collect();
    let more = match readings.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    let count = match readings.len() {
        1 => "One reading of the file is".to_owned(),
        count => format!("{count} readings of the file are"),
    };
    format!("{count} left out by a # before the row ({}{more})", named.join("; "))
}

fn unaccounted_for(found: Unaccounted) -> String {
    let [tesla, at_most] =
        [found.tesla, found.at_most_tesla].map(|tesla| display(tesla, Dimension::FluxDensity, 2));
    match found.what {
        WithoutCurrent::Room => format!(
            "The room's field comes out as {tesla}, and the earth's is nowhere above {at_most}: a magnet or iron is near, \
             or the current is not what the ammeter shows. Find it before the line is used."
        ),
        WithoutCurrent::MeterZero => format!(
            "The field meter's zero comes out as {tesla}, and the spec allows {at_most} (`field_meter.zero`): set the \
             zero anew, or correct the spec."
        ),
        WithoutCurrent::RoomAndMeterZero => format!(
            "Without current the fit leaves {tesla}, and the earth's field and the field meter's zero together account \
             for {at_most} at most: set the meter's zero, look for a magnet or iron, and turn the probe round to tell \
             the two apart."
        ),
    }
}

/// The notes on a calibration.
pub(super) fn notes(
    bench: &Bench,
    slope: &Slope,
    choice: &Choice,
    fit: Option<&Fit>,
    agreement: Option<&Agreement>,
    limit_ampere: f64,
    rounding_ampere: Option<f64>,
) -> Vec<Note> {
    let mut notes = Vec::new();
    if let Some(fit) = fit {
        notes.extend(on_readings(bench, fit, limit_ampere, rounding_ampere));
        if !choice.computed_is_judged {
            notes.push(Note::ComputedNotJudged);
        }
        if let (Some(agreement), false) = (agreement, choice.asked) {
            notes.extend(not_tested(agreement, choice.from));
        }
    }
    notes.extend(on_supply(bench, fit));
    notes.extend(unstated_of_meter("ammeter", bench.ammeter).into_iter().map(Note::AmmeterExact));
    if bench.site().is_err() {
        notes.push(Note::RoomUnknown(room::unknown(bench)));
    }
    if bench.former.is_none() {
        notes.push(Note::Source(on_growth(bench)));
    }
    let rests_on_the_build = slope.from != AdoptedFrom::Fit;
    let left_out = bench.build_tolerance.map(|tolerance| tolerance.not_stated);
    let left_out = left_out.filter(|limits| rests_on_the_build && !limits.is_empty());
    notes.extend(left_out.map(Note::BuildExact));
    if slope.tesla_per_ampere < 0.0 {
        notes.push(Note::NegativeSlope);
    }
    notes
}

/// Lines of the readings that repeat an earlier one to the last digit.
fn repeated(fit: &Fit) -> Vec<u64> {
    let digits = |reading: &Residual| {
        [reading.current_ampere, reading.field_tesla, reading.position_factor].map(f64::to_bits)
    };
    let mut seen = BTreeSet::new();
    fit.residuals.iter().filter(|reading| !seen.insert(digits(reading))).map(|reading| reading.line).collect()
}

fn on_supply(bench: &Bench, fit: Option<&Fit>) -> Option<Note> {
    let limit_ampere = bench.current_limit_ampere().ok()?;
    let largest_ampere = circuit::largest_current_ampere(bench).ok()?;
    let read_ampere = fit.map(|fit| fit.largest_current_ampere).filter(|read| *read > 1.02 * largest_ampere);
    (largest_ampere < limit_ampere).then_some(Note::SupplyDrives {
        largest_ampere,
        limit_ampere,
        read_ampere,
    })
}

fn not_tested(agreement: &Agreement, adopted: AdoptedFrom) -> Option<Note> {
    (agreement.verdict == Some(Verdict::CannotTell)).then(|| Note::NotTested {
        adopted,
        expanded_fraction: agreement.expanded_uncertainty_fraction.unwrap_or(f64::NAN),
        mattering_fraction: agreement.mattering_fraction,
    })
}

/// The note that B0 differs from the spec's axial room field by more than U of the difference. `None` if it does not.
fn room_not_as_stated(bench: &Bench, fit: &Fit) -> Option<Note> {
    let stated_tesla = room::field_tesla(bench).ok()??.z;
    let [found_tesla, u] = of_fit(bench, fit);
    let along_axis = fit.separated.is_some_and(|separated| separated.along_axis);
    // If the probe was not turned round, B0 contains the field meter's zero as well.
    let meter_zero_tesla = match (along_axis, bench.field_meter.and_then(|meter| meter.zero_tesla)) {
        (true, _) => 0.0,
        (false, Some(limit)) => Distribution::Rectangular.standard_uncertainty(limit),
        (false, None) => return None,
    };
    let of_spec = room::stated_standard_uncertainty_tesla(bench, stated_tesla);
    let expanded_tesla = 2.0 * u.hypot(of_spec).hypot(meter_zero_tesla);
    let differs = (found_tesla - stated_tesla).abs() > expanded_tesla;
    differs.then_some(Note::RoomNotAsStated { stated_tesla, found_tesla, expanded_tesla })
}

fn on_readings(bench: &Bench, fit: &Fit, limit_ampere: f64, rounding_ampere: Option<f64>) -> Vec<Note> {
    let mut notes = Vec::new();
    match fit.separated {
        Some(separated) if separated.along_axis => {}
        Some(_) => notes.push(Note::TurnedOffAxis),
        None => {
            notes.push(Note::RoomAndZeroTogether);
            if bench.field_meter.and_then(|meter| meter.zero_tesla).is_none() {
                notes.push(Note::MeterZeroExact);
            }
        }
    }
    notes.extend(unaccounted(bench, fit).into_iter().map(Note::Unaccounted));
    notes.extend(room_not_as_stated(bench, fit));
    if fit.turned_probe_shows_the_same_sign {
        notes.push(Note::TurnedProbeSameSign);
    }
    let outliers: Vec<u64> = fit.outliers().map(|reading| reading.line).collect();
    if !outliers.is_empty() {
        notes.push(Note::StandsOut(outliers));
    }
    let repeated = repeated(fit);
    if !repeated.is_empty() {
        notes.push(Note::Repeated(repeated));
    }
    notes.extend(fit.ammeter_zero_seen.map(Note::AmmeterZeroSeen));
    if let Some(factor) = fit.scatter_factor.filter(|factor| *factor > 1.0) {
        notes.push(Note::ExcessScatter { factor });
    }
    if fit.method == FitMethod::EqualScatter {
        notes.push(Note::CommonScatter);
    }
    notes.extend(rounding_ampere.map(|u| Note::CurrentsRounded { standard_uncertainty_ampere: u }));
    if fit.largest_current_ampere < 0.999 * limit_ampere {
        notes.push(Note::EndsBelow { largest_ampere: fit.largest_current_ampere });
    }
    match bench.field_meter {
        None => notes.push(Note::ProbeGainExact("field_meter")),
        Some(meter) if meter.accuracy_of_reading.is_none() => {
            notes.push(Note::ProbeGainExact("field_meter.accuracy_of_reading"));
        }
        Some(_) => {}
    }
    if bench.ammeter.is_some() && bench.ammeter_position.is_none() {
        notes.push(Note::AmmeterPositionUnknown);
    }
    notes
}
