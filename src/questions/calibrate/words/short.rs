//! The result of readings in a few facts, for a page that shows them while they are typed.

use super::causes::dispute_sentence;
use super::fit::chi_square_sentence;
use super::sentences::{slope_sentence, with_factor};
use crate::questions::calibrate::fit::Fit;
use crate::questions::calibrate::{Outcome, Slope};

/// Names and values: the slope with its expanded uncertainty, chi-square, and which line is adopted or why none.
pub fn facts(outcome: &Outcome) -> Vec<(&'static str, String)> {
    let of_fit = |fit: &Fit, fitted: &Slope| {
        vec![
            ("readings", fit.residuals.len().to_string()),
            ("fitted slope ± expanded uncertainty", format!("k = {}", with_factor(fitted))),
            ("chi-square", chi_square_sentence(fit)),
        ]
    };
    match outcome {
        Outcome::Calibrated(record) => {
            let fitted = record.fit.as_ref().zip(record.fit_slope_with_meters.as_ref());
            let mut facts = fitted.map(|(fit, slope)| of_fit(fit, slope)).unwrap_or_default();
            facts.push(("adopted from", record.slope.from.name().to_owned()));
            facts.push(("adopted slope ± expanded uncertainty", slope_sentence(record)));
            facts
        }
        Outcome::Refused(refusal) => {
            let mut facts = of_fit(&refusal.fit, &refusal.fit_slope_with_meters);
            facts.push((
                "no line is adopted",
                format!("{}.", dispute_sentence(refusal.dispute, &refusal.agreement)),
            ));
            facts
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::bench_from_text;
    use crate::questions::calibrate::{Request, outcome, readings_from_text};

    fn told(readings: &str) -> Vec<(&'static str, String)> {
        let bench = include_str!("../../../../coil-specs/window-bench.json");
        let bench = bench_from_text("window-bench.json", bench).unwrap();
        let readings = Some(readings_from_text("readings.csv", readings).unwrap());
        facts(&outcome(&bench, &Request { readings, ..Request::default() }).unwrap())
    }

    #[test]
    fn readings_are_told_with_slope_chi_square_and_verdict() {
        let text = include_str!("../../../../lab-files/readings.csv");
        let right = told(text);
        assert!(
            right.iter().any(|(name, value)| *name == "chi-square" && value.contains("degrees of freedom"))
        );
        assert!(right.iter().any(|(name, value)| name.starts_with("fitted slope") && value.contains("mT/A")));
        assert!(right.iter().any(|(name, _)| *name == "adopted from"), "{right:?}");
        // One field is a fifth too small: no line is adopted, and the reason is stated.
        let wrong = told(&text.replace("-2.40,-2.0206", "-2.40,-1.6206"));
        assert!(wrong.iter().any(|(name, _)| *name == "no line is adopted"), "{wrong:?}");
    }
}
