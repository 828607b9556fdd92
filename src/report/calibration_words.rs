//! A calibration in words: the sentences that the text page and the handout share.

use super::uniformity::{percent, signed_percent};
use crate::calibration::agreement::{Agreement, Cause, Explanation};
use crate::calibration::drift::Drift;
use crate::calibration::fit::{Fit, FitMethod};
use crate::calibration::room_effect::{RoomEffect, RoomSource};
use crate::calibration::{Calibration, InterceptMeaning};
use crate::spec::Connection;
use crate::units::{Dimension, Unit, display, fixed, uncertain, unit};
use std::fmt::Write;

/// The line in the form people copy: k = (0.8562 ± 0.0034) mT/A, coverage factor 2.
pub fn slope_sentence(record: &Calibration) -> String {
    format!(
        "k = {}, coverage factor {}",
        uncertain(
            record.slope_tesla_per_ampere,
            record.slope_expanded_uncertainty_tesla_per_ampere,
            Dimension::FieldConstant
        ),
        factor(record.coverage_factor)
    )
}

/// B0, its standard uncertainty, and what it is.
pub fn intercept_sentence(record: &Calibration) -> String {
    let value = uncertain(
        record.intercept_tesla,
        record.intercept_standard_uncertainty_tesla,
        Dimension::FluxDensity,
    );
    match record.intercept_meaning {
        InterceptMeaning::CoilsAlone => "0 mT: the coils alone make no field without current".into(),
        InterceptMeaning::RoomAxial => format!("{value}, standard uncertainty: the room's axial field"),
        InterceptMeaning::RoomAndMeterZero => {
            format!("{value}, standard uncertainty: the room's axial field plus the meter's zero")
        }
    }
}

/// A coverage factor: `2`, or `2.28`.
pub fn factor(coverage_factor: f64) -> String {
    let text = format!("{coverage_factor:.2}");
    text.trim_end_matches('0').trim_end_matches('.').into()
}

/// A number alone, in a unit, with so many decimals.
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

/// Which fit it was, in words.
pub fn method(method: FitMethod) -> &'static str {
    match method {
        FitMethod::Weighted => "weighted least squares, uncertainty in the field only",
        FitMethod::Generalised => "generalised distance regression, uncertainty in both",
        FitMethod::EqualScatter => "least squares, one common uncertainty from the scatter",
    }
}

/// Chi-square with its meaning.
pub fn chi_square_sentence(fit: &Fit) -> String {
    match (fit.chi_square, fit.chi_square_probability) {
        (Some(chi_square), Some(probability)) => format!(
            "{chi_square:.3} with {} degrees of freedom; at least as large with probability {probability:.3}",
            fit.degrees_of_freedom
        ),
        (Some(chi_square), None) => format!("{chi_square:.3} with no degrees of freedom left"),
        _ => format!("none; {} degrees of freedom behind the scatter", fit.degrees_of_freedom),
    }
}

/// The verdict in words.
pub fn verdict(agreement: &Agreement) -> &'static str {
    if agreement.agree { "agree: |E_n| is at most 1" } else { "disagree: |E_n| is above 1" }
}

/// One explanation in words.
pub fn explanation_sentence(explanation: &Explanation) -> String {
    let amount = explanation.amount.unwrap_or(0.0);
    let size = amount.abs();
    let length = display(size, Dimension::Length, 2);
    let share = percent(size);
    let pick =
        |positive: &'static str, negative: &'static str| if amount > 0.0 { positive } else { negative };
    let sentence = match explanation.cause {
        Cause::CoilReversed => "one coil works against the other".into(),
        Cause::LeadsReversed => "the leads of the pair, or the probe, are the wrong way round".into(),
        Cause::OneCoilOrParallel => "only one coil carries the current, or the pair is in parallel".into(),
        Cause::SeriesNotParallel => "the coils are in series, not in parallel as the spec says".into(),
        Cause::TurnsMissing => {
            format!("{size:.1} turns {}, over both coils together", pick("missing", "too many"))
        }
        Cause::Spacing => format!("spacing {} by {length}", pick("too large", "too small")),
        Cause::MeanRadius => {
            format!("mean radius of both coils {} by {length}", pick("too large", "too small"))
        }
        Cause::ProbeAlongAxis => format!("probe {length} from the centre along the axis"),
        Cause::ProbeOffAxis => format!("probe {length} off the axis"),
        Cause::ProbeGain => format!("probe shows {share} too {}", pick("much", "little")),
        Cause::AmmeterGain => format!("ammeter shows {share} too {}", pick("little", "much")),
    };
    match (explanation.stated_limit, explanation.unit) {
        (None, _) => sentence,
        (Some(limit), "m") => {
            format!("{sentence} (the spec allows {})", display(limit, Dimension::Length, 2))
        }
        (Some(limit), "turn") => format!("{sentence} (the spec allows {limit})"),
        (Some(limit), _) => format!("{sentence} (the spec allows {})", percent(limit)),
    }
}

/// What the room does, a sentence each.
pub fn room_sentences(room: &RoomEffect) -> Vec<String> {
    let tesla = |value| display(value, Dimension::FluxDensity, 3);
    let source = match room.source {
        RoomSource::Measured => "as measured, from the spec".into(),
        RoomSource::Readings => "from the readings with the probe turned round".into(),
        RoomSource::Model => room.model.as_ref().map_or_else(String::new, |model| {
            format!("{}, which holds from {} to {}", model.model, model.valid_from, model.valid_until)
        }),
    };
    let mut sentences = vec![format!(
        "Along the axis: {}{} ({source}).",
        tesla(room.axial_tesla),
        room.axial_standard_uncertainty_tesla.map_or_else(String::new, |u| format!(
            ", standard uncertainty {}",
            display(u, Dimension::FluxDensity, 2)
        ))
    )];
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
                    fixed(rise.abs(), unit::MILLIMETRE, 1),
                    fixed(largest, unit::MILLIMETRE, 1)
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

/// What became of an older line, label and value.
pub fn drift_rows(drift: &Drift) -> Vec<(&'static str, String)> {
    vec![
        ("older calibration", drift.previous.to_string()),
        (
            "older slope",
            uncertain(
                drift.previous_slope_tesla_per_ampere,
                drift.previous_slope_expanded_uncertainty_tesla_per_ampere,
                Dimension::FieldConstant,
            ),
        ),
        ("change of the slope", signed_percent(drift.relative_change)),
        (
            "normalised difference E_n",
            drift.normalised_difference.map_or("not known".into(), |difference| format!("{difference:.2}")),
        ),
        (
            "older table",
            if drift.old_table_holds {
                "still holds: the change is within its expanded uncertainty"
            } else {
                "no longer holds: the change is beyond its expanded uncertainty"
            }
            .into(),
        ),
        (
            "spec",
            if drift.same_spec { "the same file" } else { "another file than the older calibration's" }
                .into(),
        ),
    ]
}

/// What the tables hold for, label and value.
pub fn validity_rows(record: &Calibration) -> Vec<(&'static str, String)> {
    let validity = &record.validity;
    let ammeter = match validity.ammeter {
        Some(meter) => format!(
            "resolution {}, limit of error {} of reading + {} digits",
            display(meter.resolution, Dimension::Current, 1),
            percent(meter.accuracy_of_reading),
            meter.accuracy_digits
        ),
        None => "taken as exact".into(),
    };
    let connection = match validity.connection {
        Connection::Series => "in series",
        Connection::Parallel => "in parallel; the current is that of the supply",
    };
    vec![
        (
            "currents",
            format!(
                "0 A to {}, and the other way round with every sign of the coil field changed",
                display(validity.current_limit_ampere, Dimension::Current, 3)
            ),
        ),
        (
            "coils",
            format!(
                "{connection}; within {:.0} K of {}",
                validity.warming_kelvin,
                fixed(validity.room_temperature_celsius, unit::CELSIUS, 1)
            ),
        ),
        ("place", validity.place.into()),
        ("ammeter", ammeter),
        ("spec", format!("\"{}\", {}", record.provenance.spec_title, record.provenance.spec_digest)),
        ("program", record.provenance.program.clone()),
    ]
}
