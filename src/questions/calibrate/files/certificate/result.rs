//! Sections on the result: line, tables, budget, readings, validity, conformity.

use super::circumstances::happened;
use super::section::{Section, Table};
use crate::judgement::limit::Verdict;
use crate::numeric::coverage::COVERAGE_PROBABILITY;
use crate::questions::calibrate::fit::Fit;
use crate::questions::calibrate::picture::{Against, calibration_residuals_on_page};
use crate::questions::calibrate::room_effect::RoomSource;
use crate::questions::calibrate::words::causes::verdict_sentence;
use crate::questions::calibrate::words::drift as drift_words;
use crate::questions::calibrate::words::fit::{
    WITHOUT_SHARED, chi_square_parts_sentence, chi_square_sentence, shared_error_sentence,
};
use crate::questions::calibrate::words::sentences::{
    current_cells, dispute_box, ended_sentences, factor, field_cells, has_intercept_columns,
    has_own_factor_with_intercept, has_room_column, intercept_sentence, line_form, number, opinion_sentences,
    probability_phrase, room_beside_line_sentence, room_sentences, slope_sentence, table_sentence,
};
use crate::questions::calibrate::words::validity::{
    extrapolated_sentence, not_counted_sentence, validity_rows,
};
use crate::questions::calibrate::{AsFound, Calibration, Condition, InterceptMeaning, NotDecided};
use crate::questions::words::phrases::{e_n, percent, percent_of, signed_percent, with_expanded};
use crate::units::{
    Dimension, degrees_of_freedom, display, number_of_six, scientific, uncertain, unit,
    with_standard_uncertainty,
};

pub(super) fn result(record: &Calibration) -> Section {
    let slope = &record.slope;
    let probability = probability_phrase(record);
    let mut section = Section::new("result", "Result");
    section.boxed = vec![format!("{}, {}", line_form(record), slope_sentence(record))];
    section.boxed.extend(ended_sentences(record));
    section.boxed.extend(dispute_box(record).map(|dispute| format!("In dispute: {dispute}")));
    let intercept = intercept_sentence(record);
    section.boxed.extend(intercept.as_ref().map(|sentence| format!("B0 = {sentence}")));
    section.boxed.push(format!("After ± stands the expanded uncertainty U, {probability}."));
    let coil = "I is what the ammeter shows. k I is the coil field, the coils' part alone, along the axis at the centre, positive \
                along +z";
    section.boxed.push(match intercept {
        Some(_) => format!("{coil}; k I + B0 is the field there with what is found without current."),
        None => format!("{coil}."),
    });
    section.boxed.extend(not_counted_sentence(record));
    let section = match slope.uncertainty {
        Some(uncertainty) => section
            .row(
                "expanded uncertainty of k",
                format!(
                    "U = {}, {} of k; coverage factor {}, {probability}",
                    display(uncertainty.expanded_tesla_per_ampere, Dimension::FieldConstant, 2),
                    percent_of((uncertainty.expanded_tesla_per_ampere / slope.tesla_per_ampere).abs(), 2),
                    factor(uncertainty.coverage_factor)
                ),
            )
            .row(
                "standard uncertainty of k",
                format!(
                    "{}; effective degrees of freedom {}",
                    display(uncertainty.standard_tesla_per_ampere, Dimension::FieldConstant, 2),
                    degrees_of_freedom(uncertainty.degrees_of_freedom)
                ),
            ),
        None => section,
    };
    let section = match record.slope_standard_uncertainty_same_ammeter_tesla_per_ampere {
        Some(u) => section.row("why U(k) is so large", same_ammeter_sentence(u)),
        None => section,
    };
    let section = match record.intercept_covariance_with_slope {
        Some(covariance) if record.intercept_meaning != InterceptMeaning::CoilsAlone => {
            let correlation = record.correlation_of_slope_and_intercept().unwrap_or_default();
            section
                .row(
                    "expanded uncertainty of B0",
                    format!(
                        "U = {}; coverage factor {}, {probability}",
                        display(record.intercept_expanded_uncertainty_tesla, Dimension::FluxDensity, 2),
                        factor(record.intercept_coverage_factor)
                    ),
                )
                .row(
                    "standard uncertainty of B0",
                    display(record.intercept_standard_uncertainty_tesla, Dimension::FluxDensity, 2),
                )
                .row(
                    "covariance of k and B0",
                    format!("{}; counted in every U with B0", covariance_words(covariance, correlation)),
                )
        }
        _ => section,
    };
    let section = section.row_if("room's axial field", room_beside_line_sentence(record));
    let Some(fit) = &record.fit else { return section };
    with_fit(section, record, fit)
}

/// The sentence why k of a line for one ammeter is no better known than that ammeter.
fn same_ammeter_sentence(u_as_shown: f64) -> String {
    format!(
        "k is chosen for lessons with the ammeter of the readings, and U(k) holds for any other: it counts all that this ammeter \
         may be off by. Per ampere that it shows itself, the standard uncertainty is {}, and that is what the tables use",
        display(u_as_shown, Dimension::FieldConstant, 2)
    )
}

/// A covariance and its correlation, without the sign of a zero.
fn covariance_words(covariance: f64, correlation: f64) -> String {
    // A small remainder of a sum that cancels is rounding.
    let covariance = if correlation.abs() < 1e-9 { 0.0 } else { covariance };
    let correlation = (1e3 * correlation).round() / 1e3 + 0.0;
    format!("{} T²/A; correlation {correlation:.3}", scientific(covariance, 2))
}

fn with_fit(section: Section, record: &Calibration, fit: &Fit) -> Section {
    let fitted = with_standard_uncertainty(
        fit.slope_tesla_per_ampere,
        fit.slope_standard_uncertainty_tesla_per_ampere,
        Dimension::FieldConstant,
    );
    let intercept = with_standard_uncertainty(
        fit.intercept_tesla,
        fit.intercept_standard_uncertainty_tesla,
        Dimension::FluxDensity,
    );
    let mut section = section
        .row(
            match fit.shared.is_empty() {
                true => "fitted line, by scatter alone",
                false => "fitted line, by scatter and shared errors",
            },
            format!("slope {fitted}; intercept {intercept} (u: standard uncertainty)"),
        )
        .row_if(
            "room and zero of the same fit",
            fit.separated.map(|separated| {
                let field = |tesla, u| with_standard_uncertainty(tesla, u, Dimension::FluxDensity);
                format!(
                    "room's field along the probe {}; field meter's zero {}. The intercept is their sum: what the probe shows \
                     at no current, not turned round",
                    field(separated.room_tesla, separated.room_standard_uncertainty_tesla),
                    field(separated.meter_zero_tesla, separated.meter_zero_standard_uncertainty_tesla)
                )
            }),
        )
        .row("covariance of the fit", covariance_words(fit.covariance, fit.correlation()))
        .row(
            "residual standard deviation",
            fit.residual_standard_deviation_tesla.map_or(
                "none: no degree of freedom is left".into(),
                |deviation| {
                    format!(
                        "{}, {} degrees of freedom",
                        display(deviation, Dimension::FluxDensity, 2),
                        fit.degrees_of_freedom
                    )
                },
            ),
        )
        .row("chi-square", chi_square_sentence(fit))
        .row_if("how it follows", chi_square_parts_sentence(fit));
    for error in &fit.shared {
        section = section.row("shared error", shared_error_sentence(error));
    }
    if let Some(agreement) = &record.agreement {
        let normalised =
            agreement.normalised_difference.map_or(String::new(), |found| format!("E_n = {}; ", e_n(found)));
        section = section.row(
            "fitted slope less the computed one",
            format!(
                "{}; {normalised}{}",
                signed_percent(agreement.relative_difference),
                verdict_sentence(agreement)
            ),
        );
    }
    section
}

/// What the program takes for the cause of a finding, marked as its opinion.
pub(super) fn opinion(record: &Calibration) -> Option<Section> {
    let causes = opinion_sentences(record)?;
    Some(
        Section::new("opinion", "Opinion of the program")
            .sentence(
                "This is an opinion of the program, no result of the measurement (ISO/IEC 17025:2017, 7.8.7). It rests on the readings, \
                 on the spec and on how common each fault is.",
            )
            .row("what may be wrong, most probable first", causes.join("; ")),
    )
}

/// What U of the field with B0 counts.
fn intercept_in_tables(record: &Calibration) -> &'static str {
    let place = record.measuring.as_ref().and_then(|measuring| measuring.ammeter_position);
    match record.validity.ammeter.is_some() && place.is_none() {
        true => {
            " U of the field with B0 counts u(k), u(B0) and their correlation. The ammeter's place is not stated: for k, for B0 and for \
             each row its zero counts as in the one place that makes that one the more uncertain, so that U of a row may be less than \
             what u(k) and u(B0) together would give."
        }
        false => " U of the field with B0 counts u(k), u(B0) and their correlation.",
    }
}

pub(super) fn tables(record: &Calibration) -> Section {
    let mut section = Section::new("tables", "Tables");
    let with_intercept = has_intercept_columns(record);
    let mut headings = vec!["I in A", "coil field k I in mT", "U in mT", "coverage factor"];
    let mut inverse = vec!["B in mT", "I in A, B the coil field", "U in A", "coverage factor"];
    if with_intercept {
        headings.extend(["field with B0 in mT", "its U in mT"]);
        inverse.extend(["I in A, B with B0", "its U in A"]);
    }
    if has_own_factor_with_intercept(record) {
        headings.push("its factor");
        inverse.push("its factor");
    }
    if has_room_column(record) {
        headings.push("with the room's field in mT");
    }
    let room = record.room.as_ref().filter(|_| has_room_column(record));
    let of_room = room.map_or(String::new(), |room| {
        let whose = match room.source {
            RoomSource::Readings => "",
            RoomSource::Measured | RoomSource::Model => {
                " It was stated for this calibration, not measured in it."
            }
        };
        let about = room_sentences(room).into_iter().next().unwrap_or_default();
        format!(" The last column adds the room's field to k I, and U does not count it. {about}{whose}")
    });
    let table = |caption: String, headings, rows| Table { caption, headings, left: Vec::new(), rows };
    let told = format!(
        "{} Of every U: {}{}.{}",
        table_sentence(record),
        probability_phrase(record),
        // k = 2 of a rectangular distribution is 1.15 times its half width.
        match record.validity.ammeter {
            Some(_) if !record.is_in_dispute() =>
                "; near I = 0, where the ammeter's digits make most of U and have hard limits, up to 100 %",
            _ => "",
        },
        if with_intercept { intercept_in_tables(record) } else { "" }
    ) + &of_room
        + &extrapolated_sentence(record);
    section.tables = vec![
        table(format!("Field from current. {told}"), headings, field_cells(record)),
        table("Current from field.".into(), inverse, current_cells(record)),
    ];
    section
}

pub(super) fn validity(record: &Calibration) -> Section {
    let due = match &record.issue.next_due {
        None if record.issue.ended.is_some() => {
            "due now: the line ended before the issue, see the result".into()
        }
        Some(due) if record.issue.measured.is_none() && record.provenance.date == Some(due.date) => {
            format!("{}, as agreed: {}; what is allowed to drift is used up already", due.date, due.rule)
        }
        Some(due) => format!("{}, as agreed: {}", due.date, due.rule),
        None => "no date is stated, for none was agreed".into(),
    };
    let mut section = Section::new("validity", "Range of validity");
    section.rows = validity_rows(record);
    section.row("next calibration", due)
}

/// A statement of conformity, only where it was asked for, with its rule.
pub(super) fn conformity(record: &Calibration) -> Option<Section> {
    let conformity = record.conformity?;
    let section = Section::new("conformity", "Statement of conformity");
    let (Some(decided), Some(fitted)) = (conformity.decided, record.fitted_with_warmth()) else {
        return Some(section.sentence(match conformity.undecided {
            Some(NotDecided::InDispute) => {
                "None is made: the line is in dispute. What speaks against it stands with the result."
            }
            Some(NotDecided::NoReadings) | None => {
                "None: without readings there is nothing to compare with the specification."
            }
        }));
    };
    let verdict = match decided.verdict {
        Verdict::Met => "PASS: the result lies within the specification by at least U",
        Verdict::Missed => "FAIL: the result lies outside the specification by more than U",
        Verdict::TooCloseToTell if conformity.too_wide_a_guard_band().is_some() => {
            "UNDECIDED: U alone is no smaller than what is allowed, so that no result could pass"
        }
        Verdict::TooCloseToTell => "UNDECIDED: the result lies within U of a limit, and neither is stated",
    };
    let result = format!(
        "fitted slope {}, coverage factor {}{}; {} from the computed one. U counts the readings, the meters and how warm the coils \
         may be in use",
        with_expanded(fitted.tesla_per_ampere, fitted.expanded_uncertainty()),
        factor(decided.coverage_factor),
        match decided.in_dispute {
            true => String::new(),
            false => format!(", coverage probability {}", percent(COVERAGE_PROBABILITY)),
        },
        signed_percent(decided.difference_fraction)
    );
    let specification = format!(
        "slope computed from the spec of digest {}, {}, within {}",
        record.provenance.spec_digest,
        display(record.computed.tesla_per_ampere, Dimension::FieldConstant, 5),
        percent(conformity.allowed_error_fraction)
    );
    let rule = format!(
        "acceptance with a guard band w = U = {} on both sides of each limit; the two answers of the non-binary rule for a result \
         within U of a limit, conditional pass and conditional fail, are joined here as UNDECIDED (ILAC-G8:09/2019, 4.2.3; \
         JCGM 106:2012, 8.3); {}",
        percent_of(decided.guard_band_fraction, 2),
        match decided.in_dispute {
            true => {
                "the probability that this FAIL is wrong is not known: it rests on the readings, and what speaks against the line \
                 stands with the result"
            }
            false => "probability that a PASS is wrong at most 2.3 % for each limit, and of a FAIL the same",
        }
    );
    Some(
        section
            .row("statement", verdict)
            .row("result it applies to", result)
            .row("specification", specification)
            .row("decision rule", rule),
    )
}

pub(super) fn adjustment(record: &Calibration) -> Option<Section> {
    let drift = record.drift.as_ref();
    let adjusted = record.issue.condition == Condition::Left;
    let repaired = !record.issue.happened.is_empty();
    if drift.is_none() && !adjusted && !repaired {
        return None;
    }
    let mut section = Section::new("adjustment", "Before and after");
    if adjusted {
        let after = if repaired { "what was done to the pair" } else { "an adjustment" };
        let other = match (drift, &record.issue.no_as_found) {
            (Some(_), _) => " The older calibration named here is the one before it.",
            (None, None) => " The result as found has a certificate of its own.",
            (None, Some(_)) => "",
        };
        section = section.sentence(format!("This result is as left, after {after}.{other}"));
    } else if repaired {
        section = section.sentence("The pair was repaired or changed since the calibration before.");
    }
    if repaired {
        section = section.row("what was done", happened(record));
    }
    let found = record.issue.as_found.as_ref().map(as_found);
    let found = found.or(record.issue.no_as_found.as_ref().map(|none| format!("none: {}", none.sentence())));
    section = section.row_if(drift_words::result_before(record.issue.as_found.as_ref()), found);
    let change = record.issue.as_found.as_ref().and_then(|found| found.fitted_change.as_ref());
    section.rows.extend(change.map(drift_words::found_rows).into_iter().flatten());
    if record.issue.as_found.is_some() && change.is_none() {
        let sentence = "not told: not both results hold a slope fitted to readings";
        section = section.row("change of the fitted slope", sentence);
    }
    section.rows.extend(drift.map_or(Vec::new(), drift_words::rows));
    Some(section)
}

fn as_found(found: &AsFound) -> String {
    let state = if found.as_left { ", as left" } else { "" };
    let day = found.measured.map(|day| format!(", measured on {day}{state}"));
    let result = found.slope_and_expanded_uncertainty_tesla_per_ampere.map(|[slope, expanded]| {
        format!(
            "; adopted k = {}, ± expanded uncertainty",
            uncertain(slope, expanded, Dimension::FieldConstant)
        )
    });
    let dispute = if found.in_dispute { "; adopted in spite of a dispute about its readings" } else { "" };
    format!(
        "certificate {}{}{}{dispute}",
        found.certificate,
        day.unwrap_or_default(),
        result.unwrap_or_default()
    )
}

/// Number of decimals that a column needs to show every value as the file has it, up to six digits.
fn decimals_read(values: impl Iterator<Item = f64>) -> usize {
    let needed = |value: f64| {
        let text = number_of_six(value, 6);
        text.split_once('.').map_or(0, |(_, decimals)| decimals.trim_end_matches('0').len())
    };
    values.map(needed).max().unwrap_or(0)
}

pub(super) fn readings(record: &Calibration) -> Option<Section> {
    let fit = record.fit.as_ref()?;
    let mut section = Section::new("readings", "Readings, in the order of the file");
    let shown = |tesla| unit::MILLITESLA.from_si(tesla);
    let current_decimals = decimals_read(fit.residuals.iter().map(|reading| reading.current_ampere));
    let field_decimals = decimals_read(fit.residuals.iter().map(|reading| shown(reading.field_tesla)));
    let rows = fit.residuals.iter().enumerate().map(|(place, reading)| {
        let micro = |tesla| number(tesla, unit::MICROTESLA, 2);
        vec![
            (place + 1).to_string(),
            reading.label.clone().unwrap_or_default(),
            format!("{:.current_decimals$}", reading.current_ampere),
            format!("{:.field_decimals$}", shown(reading.field_tesla)),
            format!("{:.4}", reading.position_factor),
            micro(reading.residual_tesla),
            micro(reading.standard_uncertainty_tesla),
            format!("{:+.2}", reading.weighted_residual),
            if reading.outlier { "yes".into() } else { String::new() },
        ]
    });
    section.tables.push(Table {
        caption: format!(
            "As read. Place: the coil field at the probe, along its direction, over that at the centre. Residual: reading less \
             fitted line; u: its standard uncertainty.{}",
            match fit.weighs_without_shared_errors() {
                true => format!(" {WITHOUT_SHARED}"),
                false => String::new(),
            }
        ),
        headings: vec![
            "no.",
            "label",
            "I in A",
            "shown in mT",
            "place",
            "residual in µT",
            "u in µT",
            "residual / u",
            "stands out",
        ],
        left: vec![1],
        rows: rows.collect(),
    });
    section.picture = calibration_residuals_on_page(record, Against::Order).map(|figure| {
        let picture = figure.svg();
        picture[picture.find("<svg").unwrap_or(0)..].to_owned()
    });
    Some(section)
}
