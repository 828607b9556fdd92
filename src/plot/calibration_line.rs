//! The calibration line as a picture: the coil field against the current, with its expanded uncertainty.

use super::{Axis, Chart, Figure};
use crate::calibration::Calibration;
use crate::units::{Dimension, uncertain, unit};

/// Draws the adopted line and its band.
pub fn calibration_line(calibration: &Calibration) -> Figure {
    let mut chart = Chart::new(
        format!("Calibration line: {}", calibration.provenance.spec_title),
        Axis::new("coil current", unit::AMPERE).from_zero(),
        Axis::new("coil field at the centre", unit::MILLITESLA).from_zero(),
    );
    let rows = &calibration.table;
    let slope = uncertain(
        calibration.slope_tesla_per_ampere,
        calibration.slope_expanded_uncertainty_tesla_per_ampere,
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
        format!("coil field, {slope} ({})", calibration.adopted_from.name()),
        rows.iter().map(|row| [row.current_ampere, row.coil_field_tesla]),
    );
    if rows.iter().any(|row| row.axial_field_with_room_tesla.is_some()) {
        chart.curve(
            "with the room's axial field",
            rows.iter().filter_map(|row| Some([row.current_ampere, row.axial_field_with_room_tesla?])),
        );
    }
    chart.figure(&calibration.provenance.to_string())
}
