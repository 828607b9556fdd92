//! A calibration as CSV files.

use crate::files::out::csv::{NumberFormat, TableFile};
use crate::questions::calibrate::Calibration;
use crate::questions::calibrate::words::sentences::{
    dispute_box, ended_sentences, intercept_sentence, line_form, room_beside_line_sentence, slope_sentence,
};
use crate::questions::calibrate::words::validity::validity_rows;

/// The comment lines of a CSV file of this calibration.
fn comments(record: &Calibration) -> Vec<String> {
    let mut comments = vec![
        record.provenance.to_string(),
        format!("{}, {} ({})", line_form(record), slope_sentence(record), record.slope.from.name()),
    ];
    comments.push(match intercept_sentence(record) {
        Some(sentence) => format!("B0 = {sentence}; the coil field is k I, the field with B0 is k I + B0"),
        None => "the coil field is k I, the coils' part alone".into(),
    });
    comments
        .extend(room_beside_line_sentence(record).map(|sentence| format!("room's axial field: {sentence}")));
    comments.extend(ended_sentences(record));
    comments.extend(dispute_box(record).map(|dispute| format!("In dispute: {dispute}")));
    comments.extend(validity_rows(record).iter().take(4).map(|(label, value)| format!("{label}: {value}")));
    comments
}

/// `calibration.csv`: current to coil field at every step of the ammeter.
pub(crate) fn field_csv(record: &Calibration, format: NumberFormat) -> String {
    let with_room = record.every_step.iter().any(|row| row.axial_field_with_room_tesla.is_some());
    let with_intercept = record.every_step.iter().any(|row| row.field_with_intercept_tesla.is_some());
    let mut heading =
        vec!["current_ampere", "coil_field_tesla", "expanded_uncertainty_tesla", "coverage_factor"];
    if with_room {
        heading.push("axial_field_with_room_tesla");
    }
    if with_intercept {
        heading.extend([
            "field_with_b0_tesla",
            "field_with_b0_expanded_uncertainty_tesla",
            "field_with_b0_coverage_factor",
        ]);
    }
    let mut file = TableFile::new(format, &comments(record), &heading);
    for row in &record.every_step {
        let mut cells = vec![
            Some(row.current_ampere),
            Some(row.coil_field_tesla),
            Some(row.expanded_uncertainty_tesla),
            Some(row.coverage_factor),
        ];
        if with_room {
            cells.push(row.axial_field_with_room_tesla);
        }
        if with_intercept {
            cells.extend([
                row.field_with_intercept_tesla,
                row.field_with_intercept_expanded_uncertainty_tesla,
                row.field_with_intercept_coverage_factor,
            ]);
        }
        file.numbers(&cells);
    }
    file.into_text()
}

/// `current.csv`: field to current.
pub(crate) fn current_csv(record: &Calibration, format: NumberFormat) -> String {
    let mut heading =
        vec!["coil_field_tesla", "current_ampere", "expanded_uncertainty_ampere", "coverage_factor"];
    let with_intercept = record.current_table.iter().any(|row| row.current_with_intercept_ampere.is_some());
    if with_intercept {
        heading.extend([
            "current_with_b0_ampere",
            "current_with_b0_expanded_uncertainty_ampere",
            "current_with_b0_coverage_factor",
        ]);
    }
    let mut file = TableFile::new(format, &comments(record), &heading);
    for row in &record.current_table {
        let mut cells = vec![
            Some(row.coil_field_tesla),
            Some(row.current_ampere),
            Some(row.expanded_uncertainty_ampere),
            Some(row.coverage_factor),
        ];
        if with_intercept {
            cells.extend([
                row.current_with_intercept_ampere,
                row.current_with_intercept_expanded_uncertainty_ampere,
                row.current_with_intercept_coverage_factor,
            ]);
        }
        file.numbers(&cells);
    }
    file.into_text()
}

/// `residuals.csv`: each reading against the line; `None` without readings.
pub(crate) fn residuals_csv(record: &Calibration, format: NumberFormat) -> Option<String> {
    let fit = record.fit.as_ref()?;
    let heading = [
        "line",
        "label",
        "current_ampere",
        "field_tesla",
        "position_factor",
        "residual_tesla",
        "weighted_residual",
        "stands_out",
    ];
    let mut file = TableFile::new(format, &comments(record), &heading);
    for residual in &fit.residuals {
        file.row(&[
            residual.line.to_string(),
            format.text(residual.label.as_deref().unwrap_or_default()),
            format.number(Some(residual.current_ampere)),
            format.number(Some(residual.field_tesla)),
            format.number(Some(residual.position_factor)),
            format.number(Some(residual.residual_tesla)),
            format.number(Some(residual.weighted_residual)),
            if residual.outlier { "yes".into() } else { "no".into() },
        ]);
    }
    Some(file.into_text())
}

/// `beam_correction.csv`: the effective field of beam circles. `None` if the spec gives no beam radii.
pub(crate) fn beam_correction_csv(record: &Calibration, format: NumberFormat) -> Option<String> {
    if record.beam_correction.is_empty() {
        return None;
    }
    let heading = [
        "read_radius_m",
        "effective_field_ratio",
        "first_order_effective_field_ratio",
        "reversed_effective_field_ratio",
    ];
    let mut file = TableFile::new(format, &comments(record), &heading);
    for row in &record.beam_correction {
        file.numbers(&[
            Some(row.read_radius_m),
            Some(row.effective_field_ratio),
            Some(row.first_order_effective_field_ratio),
            row.reversed.map(|reversed| reversed.effective_field_ratio),
        ]);
    }
    Some(file.into_text())
}
