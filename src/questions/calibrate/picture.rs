//! The calibration line as a picture: the coil field against the current, with its expanded uncertainty.

use super::Calibration;
use super::fit::Residual;
use super::table::FieldRow;
use crate::paper::{Axis, Chart, Figure, Measured};
use crate::units::{Dimension, uncertain, unit};

/// Draws the adopted line and its band.
pub fn calibration_line(calibration: &Calibration) -> Figure {
    let mut chart = Chart::new(
        format!("Calibration line: {}", calibration.provenance.spec_title),
        Axis::new("coil current", unit::AMPERE).from_zero(),
        Axis::new("coil field at the centre", unit::MILLITESLA).from_zero(),
    );
    let rows = drawn_rows(calibration);
    let slope = uncertain(
        calibration.slope.tesla_per_ampere,
        calibration.slope.expanded_uncertainty_tesla_per_ampere,
        Dimension::FieldConstant,
    );
    chart.band(
        "expanded uncertainty",
        rows.iter().map(|row| {
            let half = row.expanded_uncertainty_tesla;
            [row.current_ampere, row.coil_field_tesla - half, row.coil_field_tesla + half]
        }),
    );
    chart.curve(
        format!("coil field, {slope} ({})", calibration.slope.from.name()),
        rows.iter().map(|row| [row.current_ampere, row.coil_field_tesla]),
    );
    if rows.iter().any(|row| row.axial_field_with_room_tesla.is_some()) {
        chart.curve(
            "with the room's axial field",
            rows.iter().filter_map(|row| Some([row.current_ampere, row.axial_field_with_room_tesla?])),
        );
    }
    if let Some(fit) = &calibration.fit {
        chart.points(
            "readings, less the intercept",
            fit.residuals
                .iter()
                .map(|reading| Measured::at(reading.current_ampere, fit.coil_field_tesla(reading))),
        );
    }
    chart.figure(&calibration.provenance.to_string())
}

/// The rows of the table, and their mirror image where there are readings of reversed current.
fn drawn_rows(calibration: &Calibration) -> Vec<FieldRow> {
    let reversed = calibration.fit.as_ref().is_some_and(|fit| fit.current_range_ampere[0] < 0.0);
    let mirrored = calibration.table.iter().skip(1).rev().filter(|_| reversed).map(FieldRow::reversed);
    mirrored.chain(calibration.table.iter().copied()).collect()
}

/// What residuals are drawn against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Against {
    /// The current: a bend shows.
    Current,
    /// The order of the readings: a drift shows.
    Order,
}

/// Draws how far each reading is off the fitted line; `None` without readings.
pub(crate) fn calibration_residuals(calibration: &Calibration, against: Against) -> Option<Figure> {
    let fit = calibration.fit.as_ref()?;
    let across = match against {
        Against::Current => Axis::new("coil current", unit::AMPERE).from_zero(),
        Against::Order => Axis::new("number of the reading in the file", unit::ONE).from_zero(),
    };
    let mut chart = Chart::new(
        format!("Readings against the fitted line: {}", calibration.provenance.spec_title),
        across,
        Axis::new("reading less line", unit::MICROTESLA).from_zero(),
    );
    let numbered = fit.residuals.iter().enumerate();
    let (outliers, others): (Vec<_>, Vec<_>) = numbered.partition(|(_, reading)| reading.outlier);
    let point = |(number, reading): &(usize, &Residual)| Measured {
        y_bar: reading.standard_uncertainty_tesla,
        ..Measured::at(
            match against {
                Against::Current => reading.current_ampere,
                Against::Order => *number as f64 + 1.0,
            },
            reading.residual_tesla,
        )
    };
    chart.points("readings, with one standard uncertainty", others.iter().map(point));
    if !outliers.is_empty() {
        chart.points("stand out, kept in the fit", outliers.iter().map(point));
    }
    chart.level("fitted line", 0.0);
    Some(chart.figure(&calibration.provenance.to_string()))
}
