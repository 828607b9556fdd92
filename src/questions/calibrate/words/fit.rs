//! The fit in words: its method, chi-square and the errors that its readings share.

use crate::questions::calibrate::SharedQuantity;
use crate::questions::calibrate::fit::{Fit, FitMethod, SharedEstimate};
use crate::units::{Dimension, display, number_of_six, scientific};

/// The method of the fit in words.
pub fn method(method: FitMethod) -> &'static str {
    match method {
        FitMethod::Weighted => "weighted least squares, uncertainty in the field only",
        FitMethod::Generalised => "generalised distance regression, uncertainty in both",
        FitMethod::Correlated => "generalised Gauss-Markov regression, with errors that readings share",
        FitMethod::EqualScatter => "least squares, one common uncertainty from the scatter",
    }
}

/// An error that readings share: its name, its limits, and its estimate from the readings.
pub(crate) fn shared_error_sentence(error: &SharedEstimate) -> String {
    let (of, dimension) = match error.quantity {
        SharedQuantity::Current => ("currents", Dimension::Current),
        SharedQuantity::Field => ("fields", Dimension::FluxDensity),
    };
    let name =
        if error.shared_by.is_empty() { String::new() } else { format!(" of \"{}\"", error.shared_by) };
    format!(
        "{} {of}{name} have one in common, u = {}; the readings show {:+.2} of it, which residuals over u leave out",
        error.readings,
        display(error.largest_standard_uncertainty, dimension, 2),
        error.estimate_in_standard_uncertainties + 0.0
    )
}

/// What a column of residuals over their uncertainties leaves out.
pub(crate) const WITHOUT_SHARED: &str =
    "Residuals over u leave out what a zero of the ammeter, or another error that readings share, explains.";

/// A chi-square. A very large one is written as a power of ten.
fn chi_square_number(chi_square: f64) -> String {
    if chi_square < 1e6 { number_of_six(chi_square, 2) } else { scientific(chi_square, 2) }
}

/// How chi-square follows from the printed residuals over their u, if errors that readings share are taken out of these.
pub(crate) fn chi_square_parts_sentence(fit: &Fit) -> Option<String> {
    let chi_square = fit.chi_square.filter(|_| fit.weighs_without_shared_errors())?;
    let of_readings = fit.sum_of_squares_tested();
    let of_line = fit.sum_of_squares_of_line();
    let field = |tesla: &f64| display(*tesla, Dimension::FluxDensity, 5);
    let zero = fit.ammeter_zero_taken_out.as_ref().map_or_else(
        || "errors that readings share taken out".to_owned(),
        |zero| {
            let intercepts: Vec<String> = zero.intercepts_tesla.iter().map(field).collect();
            let others = if fit.shared.is_empty() { "" } else { ", and the shared errors taken out" };
            format!(
                "a zero of the ammeter of {}, u = {}, taken out of the size of each current{others}, at the slope {} and the intercept{} {}",
                display(zero.ampere, Dimension::Current, 3),
                display(zero.stated_standard_uncertainty_ampere, Dimension::Current, 3),
                display(zero.slope_tesla_per_ampere, Dimension::FieldConstant, 6),
                if intercepts.len() == 1 { "" } else { "s" },
                intercepts.join(" and ")
            )
        },
    );
    Some(format!(
        "{}, the sum of squares of the printed residuals over u, with {zero}; and {}, the square of what is taken out over its own u. \
         The residuals of the line itself over the printed u give {}.",
        chi_square_number(of_readings),
        chi_square_number((chi_square - of_readings).max(0.0)),
        chi_square_number(of_line)
    ))
}

/// Chi-square with its meaning.
pub(crate) fn chi_square_sentence(fit: &Fit) -> String {
    match (fit.chi_square, fit.chi_square_probability) {
        (Some(chi_square), Some(probability)) => format!(
            "{} with {} degrees of freedom; at least as large with probability {}",
            chi_square_number(chi_square),
            fit.degrees_of_freedom,
            if probability < 1e-3 { "below 0.001".into() } else { format!("{probability:.3}") }
        ),
        (Some(chi_square), None) => {
            format!("{} with no degrees of freedom left", chi_square_number(chi_square))
        }
        _ => format!("none; {} degrees of freedom behind the scatter", fit.degrees_of_freedom),
    }
}
