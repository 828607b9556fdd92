//! A register as files.

use super::picture::control_chart;
use super::words::due_sentence;
use super::{CalibrationRow, Overview, Reason};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::questions::files::{FileRow, FileTable};

/// The table of the files.
pub fn files() -> FileTable<(), Overview> {
    FileTable(vec![
        FileRow::figure("control-chart", "slope against time, with limits and events", control_chart),
        FileRow::csv("register.csv", "every calibration as a table", |record, format| {
            Some(calibrations_csv(record, format))
        }),
        FileRow::json("register.json", "everything, for scripts"),
    ])
}

fn calibrations_csv(record: &Overview, format: NumberFormat) -> String {
    let heading = [
        "number",
        "date",
        "measured",
        "by",
        "certificate",
        "as",
        "slope_tesla_per_ampere",
        "expanded_uncertainty_tesla_per_ampere",
        "coverage_factor",
        "intercept_tesla",
        "intercept_standard_uncertainty_tesla",
        "state",
        "reason",
        "digest",
        "fitted_slope_tesla_per_ampere",
        "fitted_slope_unshared_standard_uncertainty_tesla_per_ampere",
        "in_dispute",
        "replaced_by",
    ];
    let mut comments: Vec<String> = record.title.iter().map(|title| format!("register of {title}")).collect();
    let in_force = record.in_force.map_or("none".to_owned(), |number| format!("entry {number}"));
    let due = due_sentence(record).map_or(String::new(), |due| format!("; next calibration due: {due}"));
    comments.extend(record.on.map(|on| format!("in force on {on}: {in_force}{due}")));
    let mut file = TableFile::new(format, &comments, &heading);
    for row in &record.entries {
        file.row(&cells(row, format));
    }
    file.into_text()
}

fn cells(row: &CalibrationRow, format: NumberFormat) -> Vec<String> {
    let text = |text: Option<&String>| format.text(text.map_or("", String::as_str));
    vec![
        row.number.to_string(),
        row.date.to_string(),
        row.measured.map_or_else(String::new, |day| day.to_string()),
        text(row.by.as_ref()),
        text(row.certificate.as_ref()),
        row.condition.word().into(),
        format.number(Some(row.slope_tesla_per_ampere)),
        format.number(row.slope_expanded_uncertainty_tesla_per_ampere),
        format.number(row.coverage_factor),
        format.number(Some(row.intercept_tesla)),
        format.number(Some(row.intercept_standard_uncertainty_tesla)),
        row.state.words().into(),
        text(row.reason.as_ref().map(Reason::sentence).as_ref()),
        row.digest.to_string(),
        format.number(row.fitted_slope_tesla_per_ampere),
        format.number(row.fitted_slope_unshared_standard_uncertainty_tesla_per_ampere),
        if row.in_dispute { "yes" } else { "no" }.into(),
        row.replaced_by.map_or_else(String::new, |number| number.to_string()),
    ]
}
