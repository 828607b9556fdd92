//! Parts of the page that a calibration and a refusal share.

use super::causes::verdict_sentence;
use super::fit::{WITHOUT_SHARED, chi_square_sentence, method, shared_error_sentence};
use super::sentences::number;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::calibrate::agreement::Agreement;
use crate::questions::calibrate::fit::Fit;
use crate::questions::calibrate::{Slope, table};
use crate::questions::words::phrases::{e_n, signed_percent};
use crate::units::{Dimension, display, significant, uncertain, unit};

/// The fitted line and each reading against it.
pub(super) fn fit(page: &mut Page, fit: &Fit) {
    page.section("Line fitted to the readings");
    page.row("method", method(fit.method));
    page.row(
        "slope ± standard uncertainty",
        &uncertain(
            fit.slope_tesla_per_ampere,
            fit.slope_standard_uncertainty_tesla_per_ampere,
            Dimension::FieldConstant,
        ),
    );
    page.row(
        "intercept ± standard uncertainty",
        &uncertain(fit.intercept_tesla, fit.intercept_standard_uncertainty_tesla, Dimension::FluxDensity),
    );
    page.row("correlation of the two", &correlation(fit));
    if let Some(separated) = fit.separated {
        let along =
            if separated.along_axis { "room's axial field, by scatter" } else { "room's field, by scatter" };
        page.row(
            along,
            &uncertain(
                separated.room_tesla,
                separated.room_standard_uncertainty_tesla,
                Dimension::FluxDensity,
            ),
        );
        page.row(
            "meter's zero, by scatter",
            &uncertain(
                separated.meter_zero_tesla,
                separated.meter_zero_standard_uncertainty_tesla,
                Dimension::FluxDensity,
            ),
        );
        page.paragraph(
            "By scatter: ± the standard uncertainty from the readings' scatter alone. What the ammeter's zero adds is in B0.",
        );
    }
    page.row("chi-square", &chi_square_sentence(fit));
    for error in &fit.shared {
        page.row("shared error", &shared_error_sentence(error));
    }
    let rows: Vec<Vec<String>> = fit
        .residuals
        .iter()
        .take(table::PRINTED_ROWS)
        .map(|residual| {
            vec![
                residual.line.to_string(),
                residual.label.clone().unwrap_or_default(),
                significant(residual.current_ampere, unit::AMPERE, 4),
                significant(residual.field_tesla, unit::MILLITESLA, 5),
                format!("{:+.4}", residual.position_factor),
                number(residual.residual_tesla, unit::MICROTESLA, 2),
                number(residual.weighted_residual, unit::ONE, 2),
                if residual.outlier { "stands out".into() } else { String::new() },
            ]
        })
        .collect();
    let headings = ["line", "label", "I in A", "B in mT", "place", "off by, µT", "over its u", ""];
    page.block(&columns(&headings, &[1, 7], &rows));
    if fit.weighs_without_shared_errors() {
        page.paragraph(WITHOUT_SHARED);
    }
    if fit.residuals.len() > table::PRINTED_ROWS {
        page.paragraph(&format!(
            "… and {} more, in residuals.csv and in the JSON.",
            fit.residuals.len() - table::PRINTED_ROWS
        ));
    }
}

/// cov(k, B0)/(u(k) u(B0)).
fn correlation(fit: &Fit) -> String {
    let product = fit.slope_standard_uncertainty_tesla_per_ampere * fit.intercept_standard_uncertainty_tesla;
    let correlation = if product > 0.0 { fit.covariance / product } else { 0.0 };
    number(correlation, unit::ONE, 2)
}

/// Computed and fitted slope side by side.
pub(super) fn slopes(page: &mut Page, computed: &Slope, fitted: &Slope, agreement: &Agreement) {
    page.section("Computed and fitted slope");
    for (label, slope) in [("computed", computed), ("fitted", fitted)] {
        let value = match slope.expanded_uncertainty() {
            Some(expanded) => uncertain(slope.tesla_per_ampere, expanded, Dimension::FieldConstant),
            None => display(slope.tesla_per_ampere, Dimension::FieldConstant, 5),
        };
        page.row(&format!("{label} ± expanded uncertainty"), &value);
    }
    page.paragraph(
        "Both with the coils at room temperature: their U leaves out how warm the coils may be in use.",
    );
    page.row("fitted less computed", &signed_percent(agreement.relative_difference));
    if let Some(normalised) = agreement.normalised_difference {
        page.row("normalised difference E_n", &e_n(normalised));
    }
    page.row("verdict", &verdict_sentence(agreement));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Bench;
    use crate::physics::field::Assembly;
    use crate::questions::calibrate::fit::fit;
    use crate::questions::calibrate::reading::Reading;
    use crate::questions::calibrate::readings::Readings;

    /// The line through readings at these currents, the last off by a microtesla.
    fn fitted(currents_ampere: [f64; 4]) -> Fit {
        let reading = |(i, current_ampere): (usize, f64)| {
            let off = if i == 3 { 1e-6 } else { 0.0 };
            Reading::new(current_ampere, 0.8e-3 * current_ampere + off).unwrap()
        };
        let readings = currents_ampere.into_iter().enumerate().map(reading).collect();
        let file = Readings {
            path: "readings.csv".into(),
            sheet: None,
            readings,
            same_ammeter: false,
            rounding_ampere: None,
            zero_before_reversal_ampere: None,
            left_out: Vec::new(),
        };
        fit(&file, &Assembly::of(&Bench::thin_pair())).unwrap()
    }

    #[test]
    fn a_correlation_that_rounds_to_nought_has_no_sign() {
        // Without uncertainties the correlation is −ΣI/√(n ΣI²): −0.01 A/√(4 × 10.02 A²) = −0.0016.
        let nearly_none = fitted([-2.0, -1.0, 1.0, 2.01]);
        assert!(nearly_none.covariance < 0.0);
        assert_eq!(correlation(&nearly_none), "0.00");
        assert_eq!(correlation(&fitted([-2.01, -1.0, 1.0, 2.0])), "0.00");
        // −5 A/√(4 × 11 A²) and 8 A/√(4 × 20 A²).
        assert_eq!(correlation(&fitted([0.0, 1.0, 1.0, 3.0])), "-0.75");
        assert_eq!(correlation(&fitted([-1.0, -1.0, -3.0, -3.0])), "0.89");
    }
}
