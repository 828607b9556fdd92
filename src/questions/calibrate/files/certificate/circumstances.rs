//! Sections on the item, the days, the circumstances, the method and the people responsible.

use super::section::{NOT_STATED, Section, Table, stated};
use crate::numeric::calendar::Day;
use crate::pair::{AmmeterPosition, AxisPosition, CoilsWere, Instrument, Read};
use crate::questions::calibrate::notes::{Note, left_out_phrase};
use crate::questions::calibrate::words::fit::method;
use crate::questions::calibrate::words::sentences::changes_sentence;
use crate::questions::calibrate::words::validity::not_counted_sentence;
use crate::questions::calibrate::{
    AdoptedFrom, Calibration, Condition, ContinuousCurrent, Happened, Measuring,
};
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::phrases::{model_sentence, percent_of};
use crate::units::{Dimension, display, fixed, uncertain, unit};

/// An instrument calibrated longer than this before the readings is remarked on (common practice, no source).
const OLD_YEARS: f64 = 5.0;

/// Printed for what belongs to readings if there are none.
const NO_READINGS: &str = "not applicable: no readings were taken";

pub(super) fn reissue(record: &Calibration) -> Option<Section> {
    let replaced = record.issue.replaces.as_ref()?;
    Some(
        Section::new("reissue", "Re-issue")
            .sentence(format!(
                "This is a new certificate. It replaces certificate {}, which is no longer valid.",
                replaced.certificate
            ))
            .row("changed, and why", &replaced.reason)
            .row_if("changed results", changes_sentence(&replaced.changed)),
    )
}

pub(super) fn item(record: &Calibration) -> Section {
    let condition = match (&record.fit, record.issue.condition) {
        (None, _) => "not looked at: no readings were taken".into(),
        (Some(_), Condition::Found) if record.issue.happened.is_empty() => {
            "as found: no adjustment is stated".to_owned()
        }
        (Some(_), Condition::Found) => format!("as found after this: {}", happened(record)),
        (Some(_), Condition::Left) if record.issue.happened.is_empty() => {
            "as left: after an adjustment".into()
        }
        (Some(_), Condition::Left) => format!("as left after this: {}", happened(record)),
    };
    Section::new("item", if record.fit.is_some() { "Item calibrated" } else { "Item" })
        .row("coil pair", record.provenance.spec_title.as_str())
        .row("serial or label", stated(record.paperwork.serial.as_ref()))
        .row("spec, digest", record.provenance.spec_digest.as_str())
        .row("condition", condition)
        .row("geometry", model_sentence(record.model).trim_start_matches("Geometry: "))
}

/// What was done to the pair since the calibration before, in the order of the days.
pub(super) fn happened(record: &Calibration) -> String {
    record.issue.happened.iter().map(Happened::sentence).collect::<Vec<_>>().join("; ")
}

/// The day of measurement; `None` if it is not stated.
fn day_of_measurement(record: &Calibration) -> Option<Day> {
    record.issue.measured.or(record.provenance.date)
}

pub(super) fn dates(record: &Calibration) -> Section {
    let issued = stated(record.provenance.date.as_ref());
    let measured = match (record.issue.measured, record.fit.is_some()) {
        (Some(day), _) => day.to_string(),
        (None, true) if record.provenance.date.is_some() => format!("{issued}, the day of issue"),
        (None, true) => NOT_STATED.into(),
        (None, false) => "none: no readings were taken".into(),
    };
    Section::new("dates", "Dates and place")
        .row("date of measurement", measured)
        .row("date of issue", issued)
        .row("place", stated(record.paperwork.conditions.place.as_ref()))
        .row_if("place, orientation and instruments by the register", places_by_the_register(record))
        .row(
            "date of receipt",
            match record.fit {
                Some(_) => NOT_STATED,
                None => "not applicable: the item was not looked at",
            },
        )
        .row("sampling", "none stated")
}

/// Where the register does not agree with the place, the orientation or the instruments that this certificate prints.
fn places_by_the_register(record: &Calibration) -> Option<String> {
    let told = &record.issue.place_contradictions;
    (!told.is_empty()).then(|| format!("in doubt: {}", told.join("; ")))
}

pub(super) fn conditions(record: &Calibration) -> Section {
    let stated_conditions = &record.paperwork.conditions;
    let coils = match stated_conditions.coils {
        _ if record.fit.is_none() => NO_READINGS,
        Some(CoilsWere::Cold) => "cold: no current before the readings",
        Some(CoilsWere::Warmed) => "warmed by current",
        None => NOT_STATED,
    };
    let axis = match record.axis {
        AxisPosition::Horizontal => "axis horizontal",
        AxisPosition::Vertical => "axis vertical",
    };
    let orientation = match &stated_conditions.orientation {
        Some(orientation) => format!("{axis}; {orientation}"),
        None => format!("{axis}; direction {NOT_STATED}"),
    };
    let winding = match (&record.fit, stated_conditions.winding_temperature_celsius) {
        (None, _) => NO_READINGS.into(),
        (Some(_), Some(celsius)) => fixed(celsius, unit::CELSIUS, 1),
        (Some(_), None) => NOT_STATED.into(),
    };
    let room = fixed(record.validity.room_temperature_celsius, unit::CELSIUS, 1);
    let room = match record.validity.room_temperature_is_stated {
        true => format!("{room}, as the spec states it"),
        false => format!("{NOT_STATED}; {room} is taken"),
    };
    Section::new("conditions", "Conditions")
        .row("room temperature", room)
        .row("winding temperature", winding)
        .row("coils", coils)
        .row("orientation", orientation)
        .row("iron and steel nearby", stated(stated_conditions.iron_nearby.as_ref()))
}

/// How the field was measured: where the probe was and which way round, which currents flowed, on which ammeter they were read,
/// and whether the coils were cold.
fn measurement(record: &Calibration, measuring: &Measuring) -> String {
    let instrument = |reads: Read| -> Option<String> {
        let of_kind = |instrument: &&Instrument| instrument.meter() == Some(reads);
        let names: Vec<String> = record.paperwork.instruments.iter().filter(of_kind).map(named).collect();
        (!names.is_empty()).then(|| names.join(" and "))
    };
    let probe = instrument(Read::Field).unwrap_or_else(|| "a field probe that is not named".into());
    let place = match measuring.farthest_from_centre_m {
        0.0 => "at the centre".to_owned(),
        farthest => format!(
            "up to {} from the centre, corrected to it by the computed field",
            display(farthest, Dimension::Length, 2)
        ),
    };
    let along = if measuring.along_axis { "along the axis" } else { "not along the axis in every reading" };
    let turned = match measuring.turned_round {
        true => "turned round between readings, which tells the room's field from the field meter's zero",
        false => "not turned round, so that B0 holds the field meter's zero",
    };
    let current = match measuring.both_directions {
        true => "the current in both directions",
        false => "the current in one direction",
    };
    let ammeter = instrument(Read::Current).unwrap_or_else(|| match record.validity.ammeter {
        Some(_) => "the ammeter that the spec describes".into(),
        None => "an ammeter that is not described".into(),
    });
    let stands = match measuring.ammeter_position {
        Some(AmmeterPosition::BeforeReversal) => ", before the reversal",
        Some(AmmeterPosition::AfterReversal) => ", behind the reversal",
        None => "",
    };
    let coils = match record.paperwork.conditions.coils {
        Some(CoilsWere::Cold) => "the coils cold",
        Some(CoilsWere::Warmed) => "the coils warmed by current",
        None => "whether the coils were cold or warm is not stated",
    };
    format!("the field {place} by {probe}, {along}, {turned}; {current}, read on {ammeter}{stands}; {coils}")
}

/// An instrument by its name, and its serial number where that is stated.
fn named(instrument: &Instrument) -> String {
    match &instrument.serial {
        Some(serial) => format!("{} {serial}", instrument.name),
        None => instrument.name.clone(),
    }
}

pub(super) fn method_section(record: &Calibration) -> Section {
    let section = Section::new("method", "Method")
        .row_if("measurement", record.measuring.as_ref().map(|measuring| measurement(record, measuring)));
    let section = match &record.fit {
        Some(fit) => section.row(
            "line",
            format!(
                "straight line through readings of the field against the current: {} (ISO/TS 28037:2010)",
                method(fit.method)
            ),
        ),
        None => section,
    };
    let adopted = match record.slope.from {
        AdoptedFrom::Computed => {
            "slope computed from the geometry of the windings (Biot-Savart law, section integrated)"
        }
        AdoptedFrom::Fit => "slope of the fitted line",
        AdoptedFrom::Combined => {
            "least-squares combination of the fitted slope and of the one computed from the geometry"
        }
    };
    let mut deviations: Vec<String> = Vec::new();
    if record.is_in_dispute() {
        deviations.push("The line is in dispute, see the result.".into());
    }
    if !record.readings_left_out.is_empty() {
        deviations.push(format!("{}.", left_out_phrase(&record.readings_left_out)));
    }
    deviations.extend(not_counted_sentence(record));
    let deviations = if deviations.is_empty() { "none stated".into() } else { deviations.join(" ") };
    section
        .row("adopted", adopted)
        .row("uncertainty", 
            "JCGM 100:2008; effective degrees of freedom by Welch-Satterthwaite, cut to the next lower whole number (G.4.1, note 1)",
        )
        .row("deviations, additions, exclusions", deviations)
}

pub(super) fn instruments(record: &Calibration) -> Section {
    let section = Section::new("instruments", "Instruments and traceability");
    if record.fit.is_none() {
        return section.sentence(
            "None was used: no readings were taken. Metrological traceability is not shown by this statement.",
        );
    }
    let section = match what_k_rests_on(record) {
        Some(sentence) => section.sentence(sentence),
        None => section,
    };
    let list = &record.paperwork.instruments;
    if list.is_empty() {
        return section.sentence(
            "Instruments and what their readings can be traced to: not stated. Metrological traceability is not shown by this \
             certificate.",
        );
    }
    let row = |instrument: &Instrument| {
        vec![
            instrument.name.clone(),
            stated(instrument.serial.as_ref()),
            stated(instrument.certificate.as_ref()),
            stated(instrument.calibrated.as_ref()),
            stated(instrument.traceable_to.as_ref()),
        ]
    };
    let is_traced = |instrument: &Instrument| {
        instrument.traceable_to.is_some()
            && instrument.certificate.is_some()
            && instrument.calibrated.is_some()
    };
    let day = day_of_measurement(record);
    let later: Vec<&str> = list
        .iter()
        .filter(|instrument| {
            let calibrated = instrument.calibrated;
            calibrated.zip(day).is_some_and(|(calibrated, measured)| calibrated > measured)
        })
        .map(|instrument| instrument.name.as_str())
        .collect();
    let section = match &later[..] {
        [] => section,
        names => section.sentence(format!(
            "Calibrated after these readings were taken: {}. That calibration traces none of them.",
            names.join(", ")
        )),
    };
    let old: Vec<&str> = list
        .iter()
        .filter(|instrument| {
            let years = instrument.calibrated.zip(day).map(|(calibrated, day)| day.years_since(calibrated));
            years.is_some_and(|years| years > OLD_YEARS)
        })
        .map(|instrument| instrument.name.as_str())
        .collect();
    let section = match &old[..] {
        [] => section,
        names => section.sentence(format!(
            "Calibrated more than {OLD_YEARS} years before these readings were taken: {}. Whether its errors are still those of its \
             certificate is not shown here.",
            names.join(", ")
        )),
    };
    let mut section = match list.iter().all(is_traced) {
        true => section,
        false => section.sentence(
            "Metrological traceability is shown only by an instrument with its certificate, the day of its calibration and what \
             it is traceable to; where one of these is not stated, it is not shown.",
        ),
    };
    section.tables.push(Table {
        caption: "The instruments that the spec names; readings by any other are not traced here:".into(),
        headings: vec!["instrument", "serial", "certificate", "calibrated", "traceable to"],
        left: vec![0, 1, 2, 3, 4],
        rows: list.iter().map(row).collect(),
    });
    section
}

/// How far a slope rests on dimensions that no certificate covers. `None` if it rests on the readings alone.
fn what_k_rests_on(record: &Calibration) -> Option<String> {
    let part_of_geometry = match record.slope.from {
        AdoptedFrom::Fit => return None,
        AdoptedFrom::Combined => 1.0 - record.combined.as_ref()?.weight_of_fit,
        AdoptedFrom::Computed => 1.0,
    };
    let fitted = record.fitted_slope.as_ref();
    let fitted = fitted.and_then(|fitted| Some((fitted.tesla_per_ampere, fitted.expanded_uncertainty()?)));
    let readings = fitted.map_or(String::new(), |(slope, expanded)| {
        format!(
            " What the instruments can support is the slope of the readings alone, {}, ± its expanded uncertainty.",
            uncertain(slope, expanded, Dimension::FieldConstant)
        )
    });
    Some(format!(
        "k rests to {} on the geometry that the spec states. It names no certificate for those dimensions, so for that part \
         metrological traceability is not shown.{readings}",
        percent_of(part_of_geometry, 2)
    ))
}

pub(super) fn notes(record: &Calibration) -> Section {
    let mut section = Section::new("notes", "Notes and cautions");
    section.paragraphs = record.notes.iter().map(Note::sentence).collect();
    let safety = record.continuous.as_ref().map(ContinuousCurrent::safety).unwrap_or_default();
    section.paragraphs.extend(sentences_with(&Caution::ALL, &safety));
    section
}

pub(super) fn files(record: &Calibration) -> Section {
    let title = match record.fit {
        Some(_) => "Files this certificate was made from",
        None => "Files this statement was made from",
    };
    let mut section = Section::new("files", title);
    section.tables.push(Table {
        caption: "Other readings or another spec have other digests:".into(),
        headings: vec!["file", "name", "SHA-256"],
        left: vec![0, 1, 2],
        rows: record
            .inputs
            .iter()
            .map(|input| vec![input.part.into(), input.name.clone(), input.sha256.clone()])
            .collect(),
    });
    let section = section.row("program", record.provenance.program.as_str());
    match &record.issue.registered {
        Some(registered) => section
            .row("register", format!("{}, entry {}", registered.register, registered.entry))
            .row("digest of the entry", registered.digest.as_str())
            .row("entered by", stated(record.issue.by.as_ref())),
        None => section.row("register", "entered in none"),
    }
}

pub(super) fn statements(record: &Calibration) -> Section {
    let from_customer = match record.paperwork.customer {
        Some(_) => "Names, addresses and the identification of the item are as the spec states them.",
        None => "What the spec states of the item is taken from it.",
    };
    let related = match record.fit {
        Some(_) => {
            "The results relate only to the item calibrated, at the time and under the conditions stated."
        }
        None => "The results relate only to a pair built as the spec says.",
    };
    let document = if record.fit.is_some() { "certificate" } else { "statement" };
    Section::new("statements", "Statements")
        .sentence(related)
        .sentence(from_customer)
        .sentence("Nothing here is marked as the result of an external provider.")
        .sentence(format!("The laboratory claims no accreditation by this {document}."))
}
