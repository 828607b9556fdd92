//! The calibration line as a picture: the coil field against the current, with its expanded uncertainty.

mod budget;

pub(crate) use budget::calibration_budget;

use super::Calibration;
use super::fit::{Fit, Residual};
use super::table::FieldRow;
use crate::pair::Provenance;
use crate::paper::{Axis, Chart, Figure, Measured};
use crate::questions::words::phrases::with_expanded;
use crate::units::unit;

/// Draws the adopted line and its band.
pub fn calibration_line(calibration: &Calibration) -> Figure {
    let mut chart = Chart::new(
        titled("Calibration line", calibration.is_in_dispute(), &calibration.provenance),
        Axis::new("coil current", unit::AMPERE).from_zero(),
        Axis::new("coil field at the centre", unit::MILLITESLA).from_zero(),
    );
    let rows = drawn_rows(calibration);
    let slope = &calibration.slope;
    let told = with_expanded(slope.tesla_per_ampere, slope.expanded_uncertainty());
    chart.band(
        "expanded uncertainty",
        rows.iter().map(|row| {
            let half = row.expanded_uncertainty_tesla;
            [row.current_ampere, row.coil_field_tesla - half, row.coil_field_tesla + half]
        }),
    );
    chart.curve(
        format!("coil field, {told} ({})", slope.from.name()),
        rows.iter().map(|row| [row.current_ampere, row.coil_field_tesla]),
    );
    if rows.iter().any(|row| row.axial_field_with_room_tesla.is_some()) {
        chart.curve(
            "with the room's axial field",
            rows.iter().filter_map(|row| Some([row.current_ampere, row.axial_field_with_room_tesla?])),
        );
    }
    if let Some(fit) = &calibration.fit {
        let point = |reading: &Residual| Measured::at(reading.current_ampere, fit.coil_field_tesla(reading));
        let (outliers, others): (Vec<_>, Vec<_>) = fit.residuals.iter().partition(|reading| reading.outlier);
        chart.points("readings, less the intercept", others.into_iter().map(point));
        if !outliers.is_empty() {
            chart.points("stand out, kept in the fit", outliers.into_iter().map(point));
        }
    }
    chart.figure(&calibration.provenance.to_string())
}

/// A title with the name of the pair. It says so if the line is in dispute.
fn titled(what: &str, in_dispute: bool, provenance: &Provenance) -> String {
    let disputed = if in_dispute { ", in dispute" } else { "" };
    format!("{what}{disputed}: {}", provenance.spec_title)
}

/// The rows of the table, and their mirror image if there are readings at reversed current.
fn drawn_rows(calibration: &Calibration) -> Vec<FieldRow> {
    let reversed = calibration.fit.as_ref().is_some_and(|fit| fit.current_range_ampere[0] < 0.0);
    let mirrored = calibration.table.iter().skip(1).rev().filter(|_| reversed).map(FieldRow::reversed);
    mirrored.chain(calibration.table.iter().copied()).collect()
}

/// The quantity against which residuals are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// The current: a bend shows.
    Current,
    /// The order of the readings: a drift shows.
    Order,
}

/// Draws the distance of each reading from the fitted line. `None` without readings.
pub(crate) fn calibration_residuals(calibration: &Calibration, against: Against) -> Option<Figure> {
    let provenance = &calibration.provenance;
    let chart = residuals_chart(calibration.fit.as_ref()?, provenance, against, calibration.is_in_dispute());
    Some(chart.figure(&provenance.to_string()))
}

/// Draws the distance of each reading from a fitted line, whether or not a line was adopted.
pub fn fit_residuals(fit: &Fit, provenance: &Provenance, against: Against) -> Figure {
    residuals_chart(fit, provenance, against, false).figure(&provenance.to_string())
}

/// Draws those distances for a page that explains them, in the size that the page has for them: 186 mm by 70 mm at 96
/// points to the inch.
pub(crate) fn calibration_residuals_on_page(calibration: &Calibration, against: Against) -> Option<Figure> {
    const ON_PAGE: [f64; 2] = [186.0 / 25.4 * 96.0, 70.0 / 25.4 * 96.0];
    let fit = calibration.fit.as_ref()?;
    let chart = residuals_chart(fit, &calibration.provenance, against, calibration.is_in_dispute());
    Some(chart.inset_figure(ON_PAGE))
}

fn residuals_chart(fit: &Fit, provenance: &Provenance, against: Against, in_dispute: bool) -> Chart {
    let across = match against {
        Against::Current => Axis::new("coil current", unit::AMPERE).from_zero(),
        Against::Order => Axis::new("number of the reading in the file", unit::ONE).from_zero(),
    };
    let mut chart = Chart::new(
        titled("Readings against the fitted line", in_dispute, provenance),
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
    chart
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::read_bench;
    use crate::questions::calibrate::readings::read_readings;
    use crate::questions::calibrate::{AdoptedFrom, Request, calibrate};

    fn example(file: &str) -> String {
        format!("{}/{file}", env!("CARGO_MANIFEST_DIR"))
    }

    /// The readings of the window bench, one of them off by this.
    fn calibrated(off_tesla: f64, at: usize) -> Calibration {
        let mut readings = read_readings(example("lab-files/readings.csv").as_ref()).unwrap();
        readings.readings[at].field_tesla += off_tesla;
        let request =
            Request { readings: Some(readings), adopt: Some(AdoptedFrom::Fit), ..Request::default() };
        calibrate(&read_bench(example("coil-specs/window-bench.json")).unwrap(), &request).unwrap()
    }

    #[test]
    fn the_name_of_the_line_touches_no_reading_and_no_bar() {
        for at in 0..8 {
            let record = calibrated(10e-6, at);
            let figures = [
                Some(calibration_line(&record)),
                calibration_residuals(&record, Against::Current),
                calibration_residuals(&record, Against::Order),
                calibration_residuals_on_page(&record, Against::Order),
            ];
            for figure in figures.into_iter().flatten() {
                assert_eq!(figure.struck_texts(), Vec::<String>::new(), "{at}");
            }
        }
    }

    #[test]
    fn a_reading_that_stands_out_is_marked_in_every_picture_that_shows_it() {
        let sound = calibration_line(&calibrated(0.0, 3)).svg();
        assert!(!sound.contains("stand out"));
        // Five times the uncertainty of a reading: what its row states, and its current rounded to 0.01 A.
        let record = calibrated(16e-6, 3);
        assert_eq!(record.fit.as_ref().unwrap().outliers().count(), 1);
        let residuals = calibration_residuals(&record, Against::Current).unwrap();
        for figure in [calibration_line(&record), residuals] {
            assert!(figure.svg().contains("stand out, kept in the fit"));
        }
    }
}
