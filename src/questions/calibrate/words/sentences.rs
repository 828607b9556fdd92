//! A calibration in words: the sentences that the text page and the handout share.

use super::causes::{cause_sentences, dispute_sentence};
use crate::numeric::coverage::{COVERAGE_PROBABILITY, coverage_factor};
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::AdoptedFrom;
use crate::questions::calibrate::beam_correction::BeamCorrection;
use crate::questions::calibrate::monte_carlo::MonteCarlo;
use crate::questions::calibrate::room_effect::{RoomEffect, RoomSource};
use crate::questions::calibrate::{Calibration, Change, EndedBeforeIssue, InterceptMeaning, Slope};
use crate::questions::words::phrases::{percent, signed_percent, with_expanded};
use crate::units::{
    Dimension, Unit, display, fixed, length, rounded, uncertain, unit, value_and_uncertainty,
};
use std::fmt::Write;

/// The line in the form people copy: k = (0.8562 ± 0.0034) mT/A, coverage factor 2.
pub(crate) fn slope_sentence(record: &Calibration) -> String {
    format!("k = {}", with_factor(&record.slope))
}

/// A slope with its expanded uncertainty after ± and the coverage factor in that.
pub(crate) fn with_factor(slope: &Slope) -> String {
    let value = with_expanded(slope.tesla_per_ampere, slope.expanded_uncertainty());
    match slope.uncertainty {
        Some(uncertainty) => format!("{value}, coverage factor {}", factor(uncertainty.coverage_factor)),
        None => value,
    }
}

/// The form of the line: with B0, or that of the coils alone.
pub(crate) fn line_form(record: &Calibration) -> &'static str {
    match record.intercept_meaning {
        InterceptMeaning::CoilsAlone => "B = k I",
        InterceptMeaning::RoomAxial | InterceptMeaning::RoomAndMeterZero => "B = k I + B0",
    }
}

/// B0 with its expanded uncertainty and its meaning. `None` if the line is that of the coils alone.
pub(crate) fn intercept_sentence(record: &Calibration) -> Option<String> {
    let what = match record.intercept_meaning {
        InterceptMeaning::CoilsAlone => return None,
        InterceptMeaning::RoomAxial => "the room's axial field",
        InterceptMeaning::RoomAndMeterZero if record.counts_meter_zero() => {
            "the room's axial field plus the meter's zero. U counts what that zero may be, because k I + B0 is taken for the true \
             field"
        }
        InterceptMeaning::RoomAndMeterZero => "the room's axial field plus the meter's zero",
    };
    Some(format!(
        "{}, coverage factor {}: {what}",
        uncertain(
            record.intercept_tesla,
            record.intercept_expanded_uncertainty_tesla,
            Dimension::FluxDensity
        ),
        factor(record.intercept_coverage_factor)
    ))
}

/// The room's axial field that the readings show beside a line of the coils alone, with its expanded uncertainty. `None` if
/// it is B0, or if the readings do not tell it.
pub(crate) fn room_beside_line_sentence(record: &Calibration) -> Option<String> {
    let room = record.room.as_ref().filter(|room| room.source == RoomSource::Readings)?;
    let (standard, fit) = (room.axial_standard_uncertainty_tesla?, record.fit.as_ref()?);
    let coverage = coverage_factor(fit.degrees_of_freedom_of_uncertainty());
    (record.intercept_meaning == InterceptMeaning::CoilsAlone).then(|| {
        format!(
            "{}, coverage factor {}: found by the readings, no part of this line",
            uncertain(room.axial_tesla, coverage * standard, Dimension::FluxDensity),
            factor(coverage)
        )
    })
}

/// The coverage probability of every U, as it may be stated: not of a line in dispute.
pub(crate) fn probability_phrase(record: &Calibration) -> String {
    match record.is_in_dispute() {
        true => "no coverage probability claimed, for the line is in dispute".into(),
        false => format!("coverage probability {}", percent(COVERAGE_PROBABILITY)),
    }
}

/// The line in words, by what it is adopted from.
pub(crate) fn line_name(from: AdoptedFrom) -> &'static str {
    match from {
        AdoptedFrom::Computed => "computed line",
        AdoptedFrom::Fit => "fitted line",
        AdoptedFrom::Combined => "combined line",
    }
}

/// Whether in any row the U with B0 has another coverage factor than the U beside it.
pub(crate) fn has_own_factor_with_intercept(record: &Calibration) -> bool {
    let differs = |own: Option<f64>, of_coils: f64| own.is_some_and(|own| factor(own) != factor(of_coils));
    record.table.iter().any(|row| differs(row.field_with_intercept_coverage_factor, row.coverage_factor))
        || record
            .current_table
            .iter()
            .any(|row| differs(row.current_with_intercept_coverage_factor, row.coverage_factor))
}

/// A coverage factor: `2`, or with two decimals, `2.10`.
pub fn factor(coverage_factor: f64) -> String {
    let text = format!("{coverage_factor:.2}");
    if text == "2.00" { "2".into() } else { text }
}

/// A number in a unit with this many decimals, without the unit's symbol.
pub fn number(si: f64, unit: Unit, decimals: usize) -> String {
    fixed(si, unit, decimals).trim_end_matches(unit.symbol).trim_end().into()
}

/// Decimals that show every multiple of a step.
pub fn decimals(step: f64) -> usize {
    (0..9)
        .find(|decimals| {
            let shown: f64 = format!("{step:.decimals$}").parse().unwrap_or(0.0);
            (shown / step - 1.0).abs() < 1e-9
        })
        .unwrap_or(9)
}

/// Whether the field including the room's has a column of its own. If B0 comes from a turned probe it is the room's
/// field, and one column shows both.
pub(crate) fn has_room_column(record: &Calibration) -> bool {
    let known = record.table.iter().any(|row| row.axial_field_with_room_tesla.is_some());
    known && record.intercept_meaning != InterceptMeaning::RoomAxial
}

/// Whether the tables have columns with B0.
pub(crate) fn has_intercept_columns(record: &Calibration) -> bool {
    record.table.iter().any(|row| row.field_with_intercept_tesla.is_some())
}

/// A value and its expanded uncertainty in millitesla, two digits of the latter.
fn milli_with(tesla: f64, expanded: f64) -> [String; 2] {
    let (value, expanded) = rounded(unit::MILLITESLA.from_si(tesla), unit::MILLITESLA.from_si(expanded));
    [value, expanded]
}

/// The cells of the table from current to field: I in A, coil field and U in mT, coverage factor. Then, if B0 comes
/// from readings, the field with B0 and its U in mT, and the coverage factor of that U if it differs. Then the field
/// including the room's in mT.
pub(crate) fn field_cells(record: &Calibration) -> Vec<Vec<String>> {
    let current_decimals = decimals(record.table_step_ampere);
    let with_room = has_room_column(record);
    let own_factor = has_own_factor_with_intercept(record);
    let rows = record.table.iter().map(|row| {
        let [field, expanded] = milli_with(row.coil_field_tesla, row.expanded_uncertainty_tesla);
        let mut cells = vec![
            format!("{:.current_decimals$}", row.current_ampere),
            field,
            expanded,
            factor(row.coverage_factor),
        ];
        let with_intercept =
            row.field_with_intercept_tesla.zip(row.field_with_intercept_expanded_uncertainty_tesla);
        cells.extend(with_intercept.into_iter().flat_map(|(field, expanded)| milli_with(field, expanded)));
        cells.extend(row.field_with_intercept_coverage_factor.filter(|_| own_factor).map(factor));
        cells.extend(
            row.axial_field_with_room_tesla
                .filter(|_| with_room)
                .map(|tesla| milli_with(tesla, row.expanded_uncertainty_tesla)[0].clone()),
        );
        cells
    });
    rows.collect()
}

/// The cells of the table from field to current: B in mT, I and U in A for the coil field, coverage factor. Then, if B0
/// comes from readings, I and U for the field with B0, and the coverage factor of that U if it differs.
pub(crate) fn current_cells(record: &Calibration) -> Vec<Vec<String>> {
    let step = record.current_table.get(1).map_or(1e-6, |row| row.coil_field_tesla.abs());
    let field_decimals = decimals(unit::MILLITESLA.from_si(step));
    let own_factor = has_own_factor_with_intercept(record);
    let rows = record.current_table.iter().map(|row| {
        let (current, expanded) = rounded(row.current_ampere, row.expanded_uncertainty_ampere);
        let mut cells = vec![
            number(row.coil_field_tesla, unit::MILLITESLA, field_decimals),
            current,
            expanded,
            factor(row.coverage_factor),
        ];
        let with_intercept =
            row.current_with_intercept_ampere.zip(row.current_with_intercept_expanded_uncertainty_ampere);
        if let Some((current, expanded)) = with_intercept {
            let (current, expanded) = rounded(current, expanded);
            cells.extend([current, expanded]);
        }
        cells.extend(row.current_with_intercept_coverage_factor.filter(|_| own_factor).map(factor));
        cells
    });
    rows.collect()
}

/// The errors that the tables' uncertainty includes.
pub(crate) fn table_sentence(record: &Calibration) -> &'static str {
    if record.same_ammeter {
        "U is the expanded uncertainty with the ammeter of the readings in the lesson: its gain's error cancels; its zero's \
         cancels in part if the meter stands before the reversal, and behind it in the field with B0 alone."
    } else if record.validity.ammeter.is_some() {
        "U is the expanded uncertainty, the lesson's ammeter counted."
    } else {
        "U is the expanded uncertainty of the line; the spec states no ammeter, and the current counts as exact."
    }
}

/// What the register shows to be different in a re-issue; `None` if nothing is.
pub(crate) fn changes_sentence(changes: &[Change]) -> Option<String> {
    let told = |change: &Change| match *change {
        Change::Readings => "other readings".to_owned(),
        Change::FileOfReadings => "another file of readings".into(),
        Change::NoReadings => "no readings any more".into(),
        Change::Line { was, is } => format!("a {} line in place of a {} one", is.name(), was.name()),
        Change::Result {
            was_tesla_per_ampere,
            was_expanded_uncertainty_tesla_per_ampere,
            is_tesla_per_ampere,
            is_expanded_uncertainty_tesla_per_ampere,
        } => format!(
            "k was {} and is {}, ± expanded uncertainty",
            with_expanded(was_tesla_per_ampere, was_expanded_uncertainty_tesla_per_ampere),
            with_expanded(is_tesla_per_ampere, is_expanded_uncertainty_tesla_per_ampere)
        ),
    };
    (!changes.is_empty()).then(|| changes.iter().map(told).collect::<Vec<_>>().join("; "))
}

/// What speaks against the line, for the box on page and handout. The possible causes stand elsewhere.
pub(crate) fn dispute_box(record: &Calibration) -> Option<String> {
    let hides = record.issue.hides.as_ref().map(|hides| {
        format!(
            "Told by the register: {hides}. This {} line rests on the geometry and hardly follows that: find the cause before \
             anything rests on it.",
            record.slope.from.name()
        )
    });
    let told: Vec<String> = disputed(record).into_iter().chain(hides).collect();
    (!told.is_empty()).then(|| told.join(" "))
}

/// The reason that was overruled.
fn disputed(record: &Calibration) -> Option<String> {
    let (dispute, agreement) = (record.dispute?, record.agreement.as_ref()?);
    let enlarged = record.slope.entry_of(&BudgetSource::Contradiction).map_or(
        "",
        |_| " U is enlarged by the Birge ratio of the two slopes, which contradict each other (Birge 1932).",
    );
    Some(format!(
        "{}. The {} is used all the same, as asked. No coverage probability is claimed for U.{enlarged}",
        dispute_sentence(dispute, agreement),
        line_name(record.slope.from)
    ))
}

/// What ended the line, or B0 alone, before the certificate was issued.
pub(crate) fn ended_sentences(record: &Calibration) -> Vec<String> {
    let day = |ended: &EndedBeforeIssue| {
        ended.happened.date.map_or("a day that is not stated".to_owned(), |day| day.to_string())
    };
    let line = record.issue.ended.as_ref().map(|ended| {
        format!(
            "This line ended on {}, after the measurement and before the issue: {} (entry {} of the register). It says how the \
             pair was until then, and is not in force; calibrate anew.",
            day(ended),
            ended.happened.what,
            ended.entry
        )
    });
    let intercept = record.issue.intercept_ended.as_ref().map(|ended| {
        format!(
            "B0 ended on {}, after the measurement: {} (entry {} of the register). It belongs to the place and orientation of \
             the measurement, and so does every field with B0.",
            day(ended),
            ended.happened.what,
            ended.entry
        )
    });
    let has_intercept = record.intercept_meaning != InterceptMeaning::CoilsAlone;
    line.into_iter().chain(intercept.filter(|_| has_intercept)).collect()
}

/// What the program takes for the cause, most probable first. `None` if nothing is worth naming.
pub(crate) fn opinion_sentences(record: &Calibration) -> Option<Vec<String>> {
    let agreement = record.agreement.as_ref()?;
    (agreement.has_finding() || record.dispute.is_some()).then(|| cause_sentences(agreement))
}

/// The effects of the room, one sentence each.
pub(crate) fn room_sentences(room: &RoomEffect) -> Vec<String> {
    let tesla = |value| display(value, Dimension::FluxDensity, 3);
    let source = match room.source {
        RoomSource::Measured => "as measured, from the spec".into(),
        RoomSource::Readings => "from the readings with the probe turned round".into(),
        RoomSource::Model => room.model.as_ref().map_or_else(String::new, |model| {
            format!("{}, which holds from {} to {}", model.model, model.valid_from, model.valid_until)
        }),
    };
    let axial = match room.axial_standard_uncertainty_tesla {
        Some(u) => {
            let (value, u) = value_and_uncertainty(room.axial_tesla, u, Dimension::FluxDensity);
            format!("{value}, standard uncertainty {u}")
        }
        None => tesla(room.axial_tesla),
    };
    let mut sentences = vec![format!("Along the axis: {axial} ({source}).")];
    if let [weak, strong] = room.effects[..] {
        sentences.push(format!(
            "Ignored, it makes e/m come out {} at {} and {} at {}; {} and {} with the current reversed.",
            signed_percent(weak.charge_to_mass_bias_fraction),
            display(weak.current_ampere, Dimension::Current, 3),
            signed_percent(strong.charge_to_mass_bias_fraction),
            display(strong.current_ampere, Dimension::Current, 3),
            signed_percent(weak.charge_to_mass_bias_reversed_fraction),
            signed_percent(strong.charge_to_mass_bias_reversed_fraction),
        ));
        if let (Some(transverse), Some(growth)) = (room.transverse_tesla, weak.field_growth_fraction) {
            let mut sentence = format!(
                "Across the axis: {}. It makes the whole field {} larger at {}, which reversing the current does \
                 not cancel",
                tesla(transverse),
                percent(growth),
                display(weak.current_ampere, Dimension::Current, 3),
            );
            if let (Some(rise), Some(largest)) = (weak.rise_per_turn_m, weak.largest_rise_per_turn_m) {
                let _ = write!(
                    sentence,
                    ", and moves the beam {} along the axis in one turn (at most {} for any gun direction)",
                    length(rise.abs(), 1),
                    length(largest, 1)
                );
            }
            sentences.push(sentence + ".");
        }
    }
    match (room.best_bearing_rad, room.turn_to_best_rad) {
        (Some(bearing), Some(turn)) => sentences.push(format!(
            "The axial part is least with the axis at a bearing of {} from true north: turn the bench {}.",
            fixed(bearing, unit::DEGREE, 0),
            turn_words(turn)
        )),
        (None, Some(turn)) => {
            sentences.push(format!("The axial part is least with the bench turned {}.", turn_words(turn)));
        }
        _ => {}
    }
    sentences
}

/// A turn of the bench, seen from above.
fn turn_words(turn_rad: f64) -> String {
    let way = if turn_rad < 0.0 { "anticlockwise" } else { "clockwise" };
    format!("{} {way}, seen from above", fixed(turn_rad.abs(), unit::DEGREE, 0))
}

/// What to know about the circles of the beam with the current reversed. `None` if nothing.
pub(crate) fn reversed_sentence(rows: &[BeamCorrection]) -> Option<&'static str> {
    if rows.iter().any(|row| row.reversed.is_some_and(|reversed| reversed.tube_turned)) {
        return Some(
            "With the current reversed the circle lies on the gun's other side, and the bulb holds it only with the tube \
             turned half round the line along which the gun points.",
        );
    }
    let lost = rows.iter().any(|row| row.reversed.is_none());
    lost.then_some("With the current reversed the beam does not come round at every radius.")
}

/// The number of samples, and that they are few for the ends of an interval.
pub(crate) fn samples_sentence(run: &MonteCarlo) -> String {
    match run.few_samples {
        true => format!(
            "{}; fewer than the 10⁴/(1 − p) that JCGM 101:2008, 7.2.2, asks for, so that the ends of the interval are rough",
            run.samples
        ),
        false => run.samples.to_string(),
    }
}

/// The standard uncertainty of the sampled slopes, if there is one.
pub(crate) fn sampled_uncertainty(run: &MonteCarlo) -> String {
    run.standard_uncertainty_tesla_per_ampere.map_or_else(
        || "none: Student's distribution with two degrees of freedom or fewer has none".into(),
        |standard| display(standard, Dimension::FieldConstant, 3),
    )
}

/// The ends of an interval of slopes, to the second digit of U.
pub(crate) fn interval_ends(record: &Calibration, interval: [f64; 2]) -> String {
    let milli = |slope| unit::MILLITESLA_PER_AMPERE.from_si(slope);
    let expanded = milli(record.slope.expanded_uncertainty().unwrap_or(0.0));
    // One digit more where two intervals differ, so that they do so in print.
    let precision = if record.monte_carlo_difference.is_some() { 0.1 * expanded } else { expanded };
    let [low, high] = interval.map(|end| rounded(milli(end), precision).0);
    format!("{low} mT/A to {high} mT/A")
}

#[cfg(test)]
pub(in crate::questions::calibrate) mod tests {
    use super::*;
    use crate::pair::{Room, RoomField};
    use crate::questions::calibrate::tests::bench;
    use crate::questions::calibrate::{Request, calibrate};
    use nalgebra::Vector3;

    /// A computed calibration of a made-up pair with this title.
    pub(in crate::questions::calibrate) fn calibration(title: &str) -> Calibration {
        let mut bench = bench();
        bench.title = title.into();
        bench.room = Some(Room {
            temperature_celsius: None,
            field: Some(RoomField::Measured(Vector3::new(12e-6, -44e-6, 18e-6))),
        });
        calibrate(&bench, &Request::default()).unwrap()
    }

    #[test]
    fn the_line_is_in_the_form_people_copy() {
        let sentence = slope_sentence(&calibration("Pair"));
        // 0.8^(3/2) mu0 136/0.15 m = 0.81525 mT/A; u/k = √(2 × 0.08² + 0.18²) mm/150 mm/√3 = 8.18e-4 from the build, to
        // which the growth with warmth comes in quadrature; U twice that, 1.33e-6 T/A and a little more.
        assert_eq!(sentence, "k = (0.8153 ± 0.0014) mT/A, coverage factor 2");
    }

    #[test]
    fn a_coverage_factor_is_as_short_as_it_can_be() {
        assert_eq!([factor(2.0), factor(2.284), factor(2.0999)], ["2", "2.28", "2.10"]);
    }

    #[test]
    fn decimals_show_every_multiple_of_the_step() {
        assert_eq!((decimals(0.1), decimals(0.05), decimals(5.0), decimals(0.001)), (1, 2, 0, 3));
    }
}
