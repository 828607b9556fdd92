//! Notes shared by several questions: what a file lacks and what is assumed for it, and where a line or a table comes
//! from.
//!
//! A note holds its numbers; one sentence tells it, the same on page and in JSON.

use crate::pair::{Bench, BuildTolerance, NotStated};
use crate::physics::beam::{BeamBench, OtherLine, RoomContradiction};
use crate::physics::heat::HeldFor;
use crate::physics::heat::expansion::Expansion;
use crate::physics::may_flow::MayFlow;
use crate::physics::room::Unknown;
use crate::units::{Dimension, brief, display, fixed, fixed_down, shortened, unit};
use crate::{Document, Error, Result};
use serde::{Serialize, Serializer};

/// Something that a sentence or two tell to people.
pub trait Told {
    /// The sentence.
    fn sentence(&self) -> String;
}

/// The sentences of a list.
#[cfg(any(test, feature = "paper"))]
pub(crate) fn told<T: Told>(list: &[T]) -> Vec<String> {
    list.iter().map(T::sentence).collect()
}

/// Serialises a list as its sentences.
pub(crate) fn as_sentences<T: Told, S: Serializer>(
    list: &[T],
    serializer: S,
) -> std::result::Result<S::Ok, S::Error> {
    serializer.collect_seq(list.iter().map(T::sentence))
}

/// Serialises each item of a list with a `sentence` besides its own keys.
pub(crate) fn with_sentences<T: Told + Serialize, S: Serializer>(
    list: &[T],
    serializer: S,
) -> std::result::Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct WithSentence<'a, T> {
        #[serde(flatten)]
        one: &'a T,
        sentence: String,
    }
    serializer.collect_seq(list.iter().map(|one| WithSentence { one, sentence: one.sentence() }))
}

/// A note on the files that an answer depends on.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum SourceNote {
    /// Something is left out because a file lacks a part.
    LeftOut {
        /// The file.
        file: Document,
        /// The part's dotted path.
        part: &'static str,
        /// What is left out, with its verb, as in "the deviation over the beam is".
        what: &'static str,
    },
    /// The line B = k I was made from another spec, or another state of it.
    OtherLine(OtherLine),
    /// The spec's room field is not what the calibration of the line found.
    RoomContradicted(RoomContradiction),
    /// No bulb radius is stated, so the largest that fits between the coils is assumed.
    BulbAsLargeAsFits {
        /// Its radius.
        radius_m: f64,
    },
    /// Parts of the meters' limits of error that are not stated.
    MetersUnstated(Vec<String>),
    /// Without a former, the spacing is assumed constant as the coils warm.
    SpacingStays,
    /// The thermal expansion of the pair.
    Grows {
        /// Its rates.
        expansion: Expansion,
        /// The former's material, if stated.
        former_material: Option<String>,
    },
    /// A current that may flow only for a limited time.
    MayFlow {
        /// What the current is for, as in "the largest current of the settings".
        what: &'static str,
        /// The current.
        current_ampere: f64,
        /// Time from cold; `None` if the spec does not determine it.
        time_s: Option<f64>,
    },
    /// The table was read from this sheet of a workbook.
    FromSheet {
        /// What the table holds, as in "runs".
        what: &'static str,
        /// The sheet's name.
        sheet: String,
    },
}

impl Told for SourceNote {
    fn sentence(&self) -> String {
        match self {
            Self::LeftOut { file, part, what } => {
                let file = file.to_string().replacen('t', "T", 1);
                format!("{file} has no `{part}`: {what} left out.")
            }
            Self::OtherLine(line) => other_line(line),
            Self::RoomContradicted(room) => {
                let told = room_contradicted(room);
                told.replacen('t', "T", 1)
                    + ". The spec's is used. Measure the field with the coils off, and correct the one that is wrong."
            }
            Self::BulbAsLargeAsFits { radius_m } => format!(
                "The spec has no `tube.bulb_radius`: the largest bulb that the coils leave room for, of radius {}, is \
                 taken; the glass may be in the way before.",
                display(*radius_m, Dimension::Length, 3)
            ),
            Self::MetersUnstated(parts) => {
                let parts: Vec<String> = parts.iter().map(|part| format!("no `{part}`")).collect();
                format!(
                    "The spec has {}: what they add to the uncertainty is not counted.",
                    parts.join(" and ")
                )
            }
            Self::SpacingStays => {
                "The spec has no `former`: as the coils warm, their spacing is taken to stay.".into()
            }
            Self::Grows { expansion, former_material } => {
                let per_million = |per_kelvin: f64| format!("{:.1}e-6/K", 1e6 * per_kelvin);
                format!(
                    "As the coils warm, the winding grows by {} and the spacing by {}: what holds the coils apart is \
                     taken as of the former's material ({}), as thick as its wall and cooled by the room's air.",
                    per_million(expansion.winding_per_kelvin),
                    per_million(expansion.spacing_per_kelvin),
                    former_material.as_deref().unwrap_or("not stated")
                )
            }
            Self::MayFlow { what, current_ampere, time_s } => {
                let current = brief(current_ampere.abs(), Dimension::Current);
                match time_s {
                    Some(time_s) => format!(
                        "{what}, {current}, is above what the coils carry for as long as one likes: from cold they carry it \
                         for {}. Turn it down before that, and let the coils cool.",
                        fixed_down(time_s / 60.0, unit::ONE, 0) + " min"
                    ),
                    None => format!(
                        "How long the coils carry {current} ({}) is not known, because their heat cannot be computed from \
                         the spec: ask a competent person before it flows.",
                        what.replacen('T', "t", 1)
                    ),
                }
            }
            Self::FromSheet { what, sheet } => {
                format!("The {what} come from the sheet `{}` of the workbook.", shortened(sheet))
            }
        }
    }
}

fn other_line(line: &OtherLine) -> String {
    let OtherLine { made_for_title, made_for_digest, title, digest } = line;
    if made_for_title == title {
        format!(
            "The line B = k I was made from another state of this spec: \"{title}\" was {made_for_digest} then and is \
             {digest} now. Calibrate again if coils or meters were changed since."
        )
    } else {
        format!(
            "The line B = k I is that of another spec: the calibration is of \"{made_for_title}\" ({made_for_digest}), \
             the spec in hand is \"{title}\" ({digest}). If they are two pairs, every number that rests on the line is \
             wrong."
        )
    }
}

/// A note if a file lacks a part that is needed; `None` if the part was found.
///
/// `what` is written as in "the deviation over the beam is".
pub(crate) fn left_out<T>(what: &'static str, needed: &Result<T>) -> Option<SourceNote> {
    match needed {
        Err(Error::MissingPart { file, part, .. }) => Some(SourceNote::LeftOut { file: *file, part, what }),
        _ => None,
    }
}

/// The notes on the line B = k I of a bench: if it is another one's, and if it found another room.
pub(crate) fn on_line(beams: &BeamBench<'_>) -> impl Iterator<Item = SourceNote> {
    let contradiction = RoomContradiction::of(beams.bench(), beams.line.room);
    let other = beams.other_line().map(SourceNote::OtherLine);
    other.into_iter().chain(contradiction.map(SourceNote::RoomContradicted))
}

/// Both values of a contradiction.
pub(crate) fn room_contradicted(room: &RoomContradiction) -> String {
    let told = |tesla: f64| display(tesla, Dimension::FluxDensity, 2);
    format!(
        "the spec states {} of the room along the axis, and the calibration found {} (U of the difference {})",
        told(room.stated_tesla),
        told(room.found_tesla),
        told(room.expanded_tesla)
    )
}

/// A note if the bulb radius is assumed.
pub(crate) fn on_bulb(beams: &BeamBench<'_>) -> Option<SourceNote> {
    beams.assumed_bulb_radius_m().map(|radius_m| SourceNote::BulbAsLargeAsFits { radius_m })
}

/// A note if the meters' limits of error are not stated.
pub(crate) fn on_meters(bench: &Bench) -> Option<SourceNote> {
    Some(bench.unstated_of_meters()).filter(|parts| !parts.is_empty()).map(SourceNote::MetersUnstated)
}

/// A note on a current that may flow only for a limited time, if it is one.
pub(crate) fn on_may_flow(what: &'static str, current_ampere: f64, may_flow: MayFlow) -> Option<SourceNote> {
    let time_s = match may_flow {
        MayFlow::ForEver => return None,
        MayFlow::For { time_s } => Some(time_s),
        MayFlow::NotKnown => None,
    };
    Some(SourceNote::MayFlow { what, current_ampere, time_s })
}

/// A note on the assumed thermal expansion of the pair.
pub(crate) fn on_growth(bench: &Bench) -> SourceNote {
    match &bench.former {
        None => SourceNote::SpacingStays,
        Some(former) => SourceNote::Grows {
            expansion: Expansion::of(bench, bench.room_temperature_celsius()),
            former_material: former.material.clone(),
        },
    }
}

/// A note on the sheet of a workbook from which a table was read.
pub(crate) fn on_sheet(what: &'static str, sheet: Option<&str>) -> Option<SourceNote> {
    sheet.map(|sheet| SourceNote::FromSheet { what, sheet: sheet.to_owned() })
}

/// Such as `for 15 min`; `None` if no wish states a time.
pub(crate) fn held_words(held: HeldFor) -> Option<String> {
    match held {
        HeldFor::SwitchOn => None,
        HeldFor::Seconds(seconds) => Some(format!("for {}", display(seconds, Dimension::Time, 3))),
        HeldFor::Ever => Some("for ever".into()),
    }
}

/// Serialises such a time as its words.
pub(crate) fn as_held_words<S: Serializer>(
    held: &HeldFor,
    serializer: S,
) -> std::result::Result<S::Ok, S::Error> {
    held_words(*held).serialize(serializer)
}

/// Why the room's field is not known, as the start of a sentence.
pub(crate) fn room_unknown(unknown: Unknown) -> String {
    match unknown {
        Unknown::Lacks(part) => format!("The spec has no `{part}`, so the room's field is not known"),
        Unknown::Unsaid => "The spec says nothing of the room's field".into(),
    }
}

/// The limits that a spec's build tolerance leaves out, and what is taken for them, as the rest of a sentence.
pub(crate) fn ordinary_limits(not_stated: NotStated) -> String {
    let (lengths, tilt): (Vec<&str>, Vec<&str>) = not_stated.keys().partition(|key| *key != "tilt");
    let ordinary = BuildTolerance::ORDINARY;
    let of_lengths = (!lengths.is_empty())
        .then(|| format!("{} for {}", brief(ordinary.offset_m, Dimension::Length), lengths.join(", ")));
    let of_tilt =
        tilt.first().map(|tilt| format!("{} for {tilt}", fixed(ordinary.tilt_rad, unit::DEGREE, 2)));
    let taken: Vec<String> = of_lengths.into_iter().chain(of_tilt).collect();
    format!(
        "`build_tolerance` leaves out some limits: {} is taken (common practice, no source)",
        taken.join(" and ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_out_is_said_with_the_part_it_needs() {
        let bench = Bench::thin_pair();
        assert_eq!(
            left_out("the table is", &bench.current_limit_ampere()).unwrap().sentence(),
            "The spec has no `supply`: the table is left out."
        );
        assert_eq!(left_out("the table is", &Ok(1.0)), None);
        let meters = on_meters(&bench).unwrap().sentence();
        assert!(meters.starts_with("The spec has no `ammeter` and no `voltmeter`: "), "{meters}");
    }
}
