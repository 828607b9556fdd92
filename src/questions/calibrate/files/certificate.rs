//! The certificate: everything that ISO/IEC 17025:2017, 7.8, asks of a calibration certificate, to print on A4 or Letter.
//!
//! Where each item stands, by the `id` of its section; a test holds the page against this table.
//!
//! | clause | item | section |
//! |---|---|---|
//! | 7.8.2.1 a | title | page heading |
//! | 7.8.2.1 b | laboratory, name and address | `laboratory` |
//! | 7.8.2.1 c | where it was performed | `dates` |
//! | 7.8.2.1 d | unique identification of every part, clear end | margin of each page; `authorised` |
//! | 7.8.2.1 e | customer | `customer` |
//! | 7.8.2.1 f | method | `method` |
//! | 7.8.2.1 g | item: description, identification, condition | `item` |
//! | 7.8.2.1 h | date of receipt | `dates` |
//! | 7.8.2.1 i | date of performance | `dates` |
//! | 7.8.2.1 j | date of issue | `dates` |
//! | 7.8.2.1 k | sampling | `dates`: none |
//! | 7.8.2.1 l | results relate only to the item | `statements` |
//! | 7.8.2.1 m | results with units | `result`, `tables` |
//! | 7.8.2.1 n | additions, deviations, exclusions | `method` |
//! | 7.8.2.1 o | who authorises | `authorised` |
//! | 7.8.2.1 p | results of external providers | `statements` |
//! | 7.8.2.2 | data provided by the customer | `statements` |
//! | 7.8.4.1 a | uncertainty in the unit of the result | `result`, `budget` |
//! | 7.8.4.1 b | conditions that influence the result | `conditions` |
//! | 7.8.4.1 c | traceability | `instruments` |
//! | 7.8.4.1 d | results before and after adjustment | `item`, `adjustment` |
//! | 7.8.4.1 e | statement of conformity, where relevant | `conformity` |
//! | 7.8.4.1 f | opinions and interpretations, where appropriate | `notes` |
//! | 7.8.4.2 | sampling by the laboratory | `dates`: none |
//! | 7.8.4.3 | no recommended interval unless agreed | `validity` |
//! | 7.8.6.1 | decision rule with its risk | `conformity` |
//! | 7.8.6.2 a, b, c | which result, which specification, which rule | `conformity` |
//! | 7.8.8.1 | change identified, reason | `reissue` |
//! | 7.8.8.2 | amendment as a further document or a new one | `reissue` |
//! | 7.8.8.3 | new certificate identified, reference to the replaced one | `reissue` |

use crate::judgement::limit::{Limits, Rule, Verdict, decide};
use crate::numeric::coverage::COVERAGE_PROBABILITY;
use crate::pair::{AxisPosition, CoilsWere, Instrument, Party};
use crate::questions::calibrate::fit::Fit;
use crate::questions::calibrate::notes::Note;
use crate::questions::calibrate::picture::{Against, calibration_residuals};
use crate::questions::calibrate::words::causes::verdict_sentence;
use crate::questions::calibrate::words::sentences::{
    chi_square_sentence, current_cells, dispute_box, drift_rows, factor, field_cells, has_intercept_columns,
    has_room_column, intercept_sentence, method, number, slope_sentence, table_sentence, validity_rows,
};
use crate::questions::calibrate::{AdoptedFrom, Calibration, Condition, InterceptMeaning};
use crate::questions::words::cautions::{Caution, sentences};
use crate::questions::words::phrases::{model_sentence, percent, signed_percent};
use crate::units::{Dimension, degrees_of_freedom, display, fixed, significant, uncertain, unit};
use crate::{Error, Result};
use askama::Template;

/// Stands where the spec says nothing, so that it is not overlooked.
const NOT_STATED: &str = "not stated";

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "calibrate/files/certificate.html")]
struct Certificate {
    number: String,
    number_in_css: String,
    title: String,
    laboratory: Vec<String>,
    customer: Vec<String>,
    sections: Vec<Section>,
    by: Option<String>,
}

/// One section: what is boxed, labelled values, sentences, tables, a picture, in this order.
#[derive(Default)]
struct Section {
    id: &'static str,
    title: &'static str,
    boxed: Vec<String>,
    rows: Vec<(&'static str, String)>,
    paragraphs: Vec<String>,
    tables: Vec<Table>,
    picture: Option<String>,
}

/// A table with what stands above it; columns listed in `left` are text.
struct Table {
    caption: String,
    headings: Vec<&'static str>,
    left: Vec<usize>,
    rows: Vec<Vec<String>>,
}

impl Section {
    fn new(id: &'static str, title: &'static str) -> Self {
        Self { id, title, ..Self::default() }
    }

    fn row(mut self, label: &'static str, value: impl Into<String>) -> Self {
        self.rows.push((label, value.into()));
        self
    }

    fn sentence(mut self, sentence: impl Into<String>) -> Self {
        self.paragraphs.push(sentence.into());
        self
    }

    /// Whether it fits on a page whole, and is not broken.
    fn short(&self) -> bool {
        self.tables.iter().all(|table| table.rows.len() <= 12)
    }
}

/// The page as HTML.
pub fn html(record: &Calibration) -> Result<String> {
    let certificate_number = number_of(record);
    let page = Certificate {
        number_in_css: in_css(&certificate_number),
        number: certificate_number,
        title: record.provenance.spec_title.clone(),
        laboratory: party(record.paperwork.laboratory.as_ref()),
        customer: party(record.paperwork.customer.as_ref()),
        sections: sections(record)?,
        by: record.issue.by.clone(),
    };
    page.render().map_err(|error| Error::value(format!("cannot write the certificate: {error}")))
}

/// The number given, else one that other input files do not share.
fn number_of(record: &Calibration) -> String {
    record.issue.certificate.clone().unwrap_or_else(|| {
        let digits = |part: &str| {
            let input = record.inputs.iter().find(|input| input.part == part);
            input.map(|input| input.sha256[..8].to_owned())
        };
        let parts = [
            Some(digits("spec").unwrap_or_else(|| record.provenance.spec_digest.clone())),
            digits("readings"),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().chain(record.provenance.date.clone()).collect();
        format!("none given ({})", parts.join("-"))
    })
}

/// A text inside a string of a style sheet, every character but plain letters, digits, blanks and hyphens by its number.
fn in_css(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || " -()".contains(c);
    text.chars().map(|c| if plain(c) { c.to_string() } else { format!("\\{:06x}", u32::from(c)) }).collect()
}

fn party(party: Option<&Party>) -> Vec<String> {
    match party {
        Some(party) => std::iter::once(party.name.clone()).chain(party.address.clone()).collect(),
        None => vec![NOT_STATED.into()],
    }
}

fn sections(record: &Calibration) -> Result<Vec<Section>> {
    let all = [
        reissue(record),
        Some(item(record)),
        Some(dates(record)),
        Some(conditions(record)),
        Some(method_section(record)),
        Some(instruments(record)),
        Some(result(record)),
        Some(tables(record)),
        Some(validity(record)),
        conformity(record)?,
        adjustment(record),
        Some(budget(record)),
        monte_carlo(record),
        readings(record),
        Some(notes(record)),
        Some(files(record)),
        Some(statements(record)),
    ];
    Ok(all.into_iter().flatten().collect())
}

fn stated(text: Option<&String>) -> String {
    text.cloned().unwrap_or_else(|| NOT_STATED.into())
}

fn reissue(record: &Calibration) -> Option<Section> {
    let replaced = record.issue.replaces.as_ref()?;
    Some(
        Section::new("reissue", "Re-issue")
            .sentence(format!(
                "This is a new certificate. It replaces certificate {}, which is no longer valid.",
                replaced.certificate
            ))
            .row("changed, and why", &replaced.reason),
    )
}

fn item(record: &Calibration) -> Section {
    let condition = match record.issue.condition {
        Condition::Found => "as found: no adjustment before these readings",
        Condition::Left => "as left: after an adjustment",
    };
    Section::new("item", "Item calibrated")
        .row("coil pair", record.provenance.spec_title.as_str())
        .row("serial or label", stated(record.paperwork.serial.as_ref()))
        .row("spec, digest", record.provenance.spec_digest.as_str())
        .row("condition", condition)
        .row("geometry", model_sentence(record.model).trim_start_matches("Geometry: "))
}

fn dates(record: &Calibration) -> Section {
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
        .row("date of receipt", "none: the item was calibrated where it stands")
        .row("sampling", "none")
}

fn conditions(record: &Calibration) -> Section {
    let stated_conditions = &record.paperwork.conditions;
    let coils = match stated_conditions.coils {
        Some(CoilsWere::Cold) => "cold, at room temperature",
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
    let winding = stated_conditions.winding_temperature_celsius;
    Section::new("conditions", "Conditions")
        .row("room temperature", fixed(record.validity.room_temperature_celsius, unit::CELSIUS, 1))
        .row(
            "winding temperature",
            winding.map_or(NOT_STATED.into(), |celsius| fixed(celsius, unit::CELSIUS, 1)),
        )
        .row("coils", coils)
        .row("orientation", orientation)
        .row("iron and steel nearby", stated(stated_conditions.iron_nearby.as_ref()))
}

fn method_section(record: &Calibration) -> Section {
    let section = Section::new("method", "Method");
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
    let deviations = match dispute_box(record) {
        Some(dispute) => format!("in dispute: {dispute}"),
        None => "none".into(),
    };
    section
        .row("adopted", adopted)
        .row("uncertainty", "JCGM 100:2008; effective degrees of freedom by Welch-Satterthwaite")
        .row("deviations, additions, exclusions", deviations)
}

fn instruments(record: &Calibration) -> Section {
    let section = Section::new("instruments", "Instruments and traceability");
    let list = &record.paperwork.instruments;
    if list.is_empty() {
        return section.sentence(
            "Instruments and what their readings can be traced to: not stated. Metrological traceability is not shown by this \
             certificate.",
        );
    }
    let row = |instrument: &Instrument| {
        let calibrated = instrument
            .calibrated
            .map_or(NOT_STATED.into(), |(year, month, day)| format!("{year:04}-{month:02}-{day:02}"));
        vec![
            instrument.name.clone(),
            stated(instrument.serial.as_ref()),
            stated(instrument.certificate.as_ref()),
            calibrated,
            stated(instrument.traceable_to.as_ref()),
        ]
    };
    let untraced = list.iter().any(|instrument| instrument.traceable_to.is_none());
    let mut section = match untraced {
        true => {
            section.sentence("Metrological traceability is shown only for the instruments that state it.")
        }
        false => section,
    };
    section.tables.push(Table {
        caption: "Each with its own certificate and what its readings are traceable to:".into(),
        headings: vec!["instrument", "serial", "certificate", "calibrated", "traceable to"],
        left: vec![0, 1, 2, 3, 4],
        rows: list.iter().map(row).collect(),
    });
    section
}

fn result(record: &Calibration) -> Section {
    let slope = &record.slope;
    let mut section = Section::new("result", "Result");
    section.boxed = vec![
        format!("B = k I + B0, {}", slope_sentence(record)),
        format!("B0 = {}", intercept_sentence(record)),
        "I is what the ammeter shows. k I is the coil field, the coils' part alone, along the axis at the centre, positive along +z; \
         k I + B0 is the field there with what is found without current."
            .into(),
    ];
    let probability = percent(COVERAGE_PROBABILITY);
    let section = section
        .row(
            "expanded uncertainty of k",
            format!(
                "U = {}, {} of k; coverage factor {}, coverage probability {probability}",
                display(slope.expanded_uncertainty_tesla_per_ampere, Dimension::FieldConstant, 2),
                percent(slope.relative_expanded_uncertainty()),
                factor(slope.coverage_factor)
            ),
        )
        .row(
            "standard uncertainty of k",
            format!(
                "{}; effective degrees of freedom {}",
                display(slope.standard_uncertainty_tesla_per_ampere, Dimension::FieldConstant, 2),
                degrees_of_freedom(slope.degrees_of_freedom)
            ),
        );
    let section = match record.intercept_covariance_with_slope {
        Some(covariance) if record.intercept_meaning != InterceptMeaning::CoilsAlone => {
            let product =
                slope.standard_uncertainty_tesla_per_ampere * record.intercept_standard_uncertainty_tesla;
            section
                .row(
                    "standard uncertainty of B0",
                    display(record.intercept_standard_uncertainty_tesla, Dimension::FluxDensity, 2),
                )
                .row(
                    "covariance of k and B0",
                    format!("{}; counted in every U with B0", covariance_words(covariance, product)),
                )
        }
        _ => section,
    };
    let Some(fit) = &record.fit else { return section };
    with_fit(section, record, fit)
}

/// A covariance and its correlation, without the sign of a zero.
fn covariance_words(covariance: f64, product: f64) -> String {
    let correlation = if product > 0.0 { covariance / product } else { 0.0 };
    let correlation = (1e3 * correlation).round() / 1e3 + 0.0;
    format!("{:.2e} T²/A; correlation {correlation:.3}", covariance + 0.0)
}

fn with_fit(section: Section, record: &Calibration, fit: &Fit) -> Section {
    let fitted = uncertain(
        fit.slope_tesla_per_ampere,
        fit.slope_standard_uncertainty_tesla_per_ampere,
        Dimension::FieldConstant,
    );
    let intercept =
        uncertain(fit.intercept_tesla, fit.intercept_standard_uncertainty_tesla, Dimension::FluxDensity);
    let mut section = section
        .row(
            "fitted line, by scatter alone",
            format!("slope {fitted}, intercept {intercept}, standard uncertainties"),
        )
        .row(
            "covariance of the fit",
            covariance_words(
                fit.covariance,
                fit.slope_standard_uncertainty_tesla_per_ampere * fit.intercept_standard_uncertainty_tesla,
            ),
        )
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
        .row("chi-square", chi_square_sentence(fit));
    if let Some(agreement) = &record.agreement {
        section = section.row(
            "against the computed slope",
            format!("{} off; {}", signed_percent(agreement.relative_difference), verdict_sentence(agreement)),
        );
    }
    section
}

fn tables(record: &Calibration) -> Section {
    let mut section = Section::new("tables", "Tables");
    let with_intercept = has_intercept_columns(record);
    let mut headings = vec!["I in A", "coil field k I in mT", "U in mT", "coverage factor"];
    let mut inverse = vec!["B in mT", "I in A, B the coil field", "U in A", "coverage factor"];
    if with_intercept {
        headings.extend(["field with B0 in mT", "its U in mT"]);
        inverse.extend(["I in A, B with B0", "its U in A"]);
    }
    if has_room_column(record) {
        headings.push("with the room's field in mT");
    }
    let table = |caption: String, headings, rows| Table { caption, headings, left: Vec::new(), rows };
    let told = format!(
        "{} Coverage probability {}.{}",
        table_sentence(record),
        percent(COVERAGE_PROBABILITY),
        if with_intercept { " U of the field with B0 counts u(k), u(B0) and their correlation." } else { "" }
    );
    section.tables = vec![
        table(format!("Field from current. {told}"), headings, field_cells(record)),
        table("Current from field.".into(), inverse, current_cells(record)),
    ];
    section
}

fn validity(record: &Calibration) -> Section {
    let due = match &record.issue.next_due {
        Some(due) => format!("{}, as agreed: {}", due.date, due.rule),
        None => "no date is stated, for none was agreed".into(),
    };
    let mut section = Section::new("validity", "Range of validity");
    section.rows = validity_rows(record);
    section.row("next calibration", due)
}

/// A statement of conformity, only where it was asked for, with its rule.
fn conformity(record: &Calibration) -> Result<Option<Section>> {
    let Some(allowed) = record.issue.allowed_error_fraction else { return Ok(None) };
    let section = Section::new("conformity", "Statement of conformity");
    let Some(fitted) = &record.fit_slope_with_meters else {
        return Ok(Some(
            section.sentence("None: without readings there is nothing to compare with the specification."),
        ));
    };
    let computed = record.computed.tesla_per_ampere;
    let difference = fitted.tesla_per_ampere / computed - 1.0;
    let u = (fitted.standard_uncertainty_tesla_per_ampere / computed).abs();
    let limits = Limits { low: Some(-allowed), high: Some(allowed) };
    let decision = decide(difference, u, limits, Rule::Guarded { coverage_factor: fitted.coverage_factor })?;
    let verdict = match decision.verdict {
        Verdict::Met => "PASS: the result lies within the specification by at least U",
        Verdict::Missed => "FAIL: the result lies outside the specification by more than U",
        Verdict::TooCloseToTell => "UNDECIDED: the result lies within U of a limit, and neither is stated",
    };
    Ok(Some(
        section
            .row("statement", verdict)
            .row(
                "result it applies to",
                format!(
                    "fitted slope {}, {} from the computed one",
                    uncertain(
                        fitted.tesla_per_ampere,
                        fitted.expanded_uncertainty_tesla_per_ampere,
                        Dimension::FieldConstant
                    ),
                    signed_percent(difference)
                ),
            )
            .row(
                "specification",
                format!(
                    "slope computed from the spec of digest {}, {}, within {}",
                    record.provenance.spec_digest,
                    display(computed, Dimension::FieldConstant, 5),
                    percent(allowed)
                ),
            )
            .row(
                "decision rule",
                format!(
                    "non-binary acceptance with a guard band of U = {} on both sides of each limit (ILAC-G8:09/2019, 4.2.3; \
                     JCGM 106:2012, 8.3); probability that a PASS is wrong at most 2.3 % for each limit, and of a FAIL the same",
                    percent(decision.guard_band)
                ),
            ),
    ))
}

fn adjustment(record: &Calibration) -> Option<Section> {
    let drift = record.drift.as_ref();
    let adjusted = record.issue.condition == Condition::Left;
    if drift.is_none() && !adjusted {
        return None;
    }
    let mut section = Section::new("adjustment", "Before and after");
    if adjusted {
        section = section.sentence(match drift {
            Some(_) => "This result is as left, after an adjustment. The result named below is the one before it.",
            None => "This result is as left, after an adjustment. The result as found has a certificate of its own.",
        });
    }
    section.rows = drift.map_or(Vec::new(), drift_rows);
    Some(section)
}

fn budget(record: &Calibration) -> Section {
    let mut section = Section::new("budget", "Uncertainty budget of k");
    let slope = record.slope.tesla_per_ampere;
    let rows = record.slope.budget.iter().map(|entry| {
        vec![
            entry.name(),
            entry.spread_name().into(),
            format!("{:.2e}", entry.standard_uncertainty),
            if entry.unit == "1" { "-".into() } else { entry.unit.to_string() },
            format!("{:.3e}", entry.sensitivity_tesla_per_ampere_per_unit),
            significant(entry.contribution_tesla_per_ampere, unit::MICROTESLA_PER_AMPERE, 2),
            percent((entry.contribution_tesla_per_ampere / slope).abs()),
            degrees_of_freedom(entry.degrees_of_freedom),
        ]
    });
    let mut rows: Vec<Vec<String>> = rows.collect();
    rows.push(vec![
        "combined".into(),
        String::new(),
        String::new(),
        String::new(),
        String::new(),
        significant(record.slope.standard_uncertainty_tesla_per_ampere, unit::MICROTESLA_PER_AMPERE, 2),
        percent((record.slope.standard_uncertainty_tesla_per_ampere / slope).abs()),
        degrees_of_freedom(record.slope.degrees_of_freedom),
    ]);
    section.tables.push(Table {
        caption: "Every contribution, none left out:".into(),
        headings: vec![
            "source",
            "distribution",
            "std. uncertainty",
            "unit",
            "sensitivity, T/A per unit",
            "in µT/A",
            "of k",
            "deg. of freedom",
        ],
        left: vec![0, 1],
        rows,
    });
    section
}

fn monte_carlo(record: &Calibration) -> Option<Section> {
    let run = record.monte_carlo.as_ref()?;
    let milli = |interval: [f64; 2]| {
        let [low, high] = interval.map(|end| significant(end, unit::MILLITESLA_PER_AMPERE, 6));
        format!("{low} mT/A to {high} mT/A")
    };
    let verdict = match record.monte_carlo_difference {
        None => "agrees with the budget".to_owned(),
        Some(difference) => format!("differs from the budget: {}", difference.sentence()),
    };
    Some(
        Section::new("monte-carlo", "Propagation of distributions (JCGM 101:2008)")
            .row("samples", run.samples.to_string())
            .row(
                "standard uncertainty",
                display(run.standard_uncertainty_tesla_per_ampere, Dimension::FieldConstant, 3),
            )
            .row(
                "interval",
                format!(
                    "{}, coverage probability {}",
                    milli(run.interval_tesla_per_ampere),
                    percent(run.coverage_probability)
                ),
            )
            .row("by the budget", milli(run.linear_interval_tesla_per_ampere))
            .row("verdict", verdict),
    )
}

fn readings(record: &Calibration) -> Option<Section> {
    let fit = record.fit.as_ref()?;
    let mut section = Section::new("readings", "Readings, in the order taken");
    let rows = fit.residuals.iter().enumerate().map(|(place, reading)| {
        let micro = |tesla| number(tesla, unit::MICROTESLA, 2);
        vec![
            (place + 1).to_string(),
            reading.label.clone().unwrap_or_default(),
            number(reading.current_ampere, unit::AMPERE, 4),
            number(reading.field_tesla, unit::MILLITESLA, 5),
            format!("{:.4}", reading.position_factor),
            micro(reading.residual_tesla),
            micro(reading.standard_uncertainty_tesla),
            format!("{:+.2}", reading.weighted_residual),
            if reading.outlier { "yes".into() } else { String::new() },
        ]
    });
    section.tables.push(Table {
        caption: "As read, with what each is off the line and its standard uncertainty u:".into(),
        headings: vec![
            "no.",
            "label",
            "I in A",
            "shown in mT",
            "coil field over that at the centre",
            "residual in µT",
            "u in µT",
            "residual / u",
            "stands out",
        ],
        left: vec![1],
        rows: rows.collect(),
    });
    section.picture = calibration_residuals(record, Against::Order).map(|figure| {
        let picture = figure.svg();
        picture[picture.find("<svg").unwrap_or(0)..].to_owned()
    });
    Some(section)
}

fn notes(record: &Calibration) -> Section {
    let mut section = Section::new("notes", "Notes and cautions");
    section.paragraphs = record.notes.iter().map(Note::sentence).collect();
    section.paragraphs.extend(sentences(&Caution::ALL).into_iter().map(str::to_owned));
    section
}

fn files(record: &Calibration) -> Section {
    let mut section = Section::new("files", "Files this certificate was made from");
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
            .row("digest of the entry", registered.digest.as_str()),
        None => section.row("register", "entered in none"),
    }
}

fn statements(record: &Calibration) -> Section {
    let from_customer = match record.paperwork.customer {
        Some(_) => "Names, addresses and the identification of the item are as the spec states them.",
        None => "What the spec states of the item is taken from it.",
    };
    Section::new("statements", "Statements")
        .sentence(
            "The results relate only to the item calibrated, at the time and under the conditions stated.",
        )
        .sentence(from_customer)
        .sentence("No result comes from an external provider.")
        .sentence("The laboratory claims no accreditation by this certificate.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calibrate::words::sentences::tests::calibration;

    #[test]
    fn a_number_cannot_break_out_of_the_style_sheet() {
        assert_eq!(in_css("K-17"), "K-17");
        let broken = in_css("\"; } body { display: none } </style><script>");
        assert!(!broken.contains(['"', ';', '}', '<', '/']), "{broken}");
    }

    #[test]
    fn a_title_is_text_and_never_markup() {
        let page = html(&calibration("<script>alert(1)</script> & co")).unwrap();
        assert!(!page.contains("<script"));
    }

    #[test]
    fn what_is_not_known_is_said_to_be_not_stated_and_nothing_is_claimed() {
        let page = html(&calibration("Pair")).unwrap();
        assert!(page.contains(NOT_STATED) && page.contains("Metrological traceability is not shown"));
        assert!(page.contains("no date is stated, for none was agreed"));
        assert!(!page.contains("accredited") && !page.contains("id=\"conformity\""));
    }
}
