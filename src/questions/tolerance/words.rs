//! What must be held while building, as text.

use super::{Sensitivity, Tolerance};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::physics::build_error::CoilName;
use crate::questions::words::notes::{Told, told};
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{model_sentence, signed_percent};
use crate::units::{Dimension, display, significant, uncertain, unit};

/// The page for people.
pub fn text(record: &Tolerance) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &on_page(&record.provenance));
    page.paragraph(model_sentence(record.model));
    page.section("Without build errors");
    let constant = record.field_constant_tesla_per_ampere;
    page.row("field constant", &display(constant, Dimension::FieldConstant, 5));
    if let Some(worst) = record.worst_beam_deviation {
        page.row("worst deviation over the beam", &signed_percent(worst));
    }
    page.section("With each error on its own");
    page.block(&sensitivities(record));
    page.paragraph(
        "constant: standard uncertainty of the field constant, over the constant; worst deviation: by how much it grows \
         at the worse end of the limit.",
    );
    let builds = &record.monte_carlo;
    page.section(&format!("{} pairs built at random", builds.builds));
    let spread = &builds.field_constant_tesla_per_ampere;
    page.row(
        "field constant ± standard deviation",
        &uncertain(spread.mean, spread.standard_deviation, Dimension::FieldConstant),
    );
    page.row(
        "linear budget, ± standard uncertainty",
        &uncertain(
            constant,
            record.field_constant_standard_uncertainty_tesla_per_ampere,
            Dimension::FieldConstant,
        ),
    );
    if let Some(worst) = &builds.worst_beam_deviation {
        page.row(
            "size of worst deviation",
            &format!(
                "median {}, 95 % below {}",
                display(worst.median, Dimension::Fraction, 3),
                display(worst.percentile_95, Dimension::Fraction, 3)
            ),
        );
    }
    for (name, share) in [
        ("constant near enough", builds.share.field_constant),
        ("beam deviation met", builds.share.beam_deviation),
        ("everything wished met", builds.share.everything),
    ] {
        if let Some(share) = share {
            page.row(name, &format!("{:.1} % of the builds", 100.0 * share));
        }
    }
    page.section("What is worth holding");
    let sentences: Vec<String> =
        record.hold.iter().map(|hold| format!("{}: {}", hold.wish, hold.sentence())).collect();
    page.list(sentences.iter().map(String::as_str));
    page.notes(&told(&record.notes));
    page.into_text()
}

fn sensitivities(record: &Tolerance) -> String {
    let rows: Vec<Vec<String>> = record
        .sensitivities
        .iter()
        .map(|sensitivity| {
            vec![
                sensitivity.name.to_owned(),
                sensitivity.coil.map_or("", coil_name).to_owned(),
                format!("±{}", limit(sensitivity)),
                fraction(sensitivity.field_constant_relative_contribution),
                sensitivity.beam_deviation_growth_at_limit.map_or_else(String::new, fraction),
            ]
        })
        .collect();
    columns(&["error", "coil", "limit", "constant", "worst deviation"], &[0, 1], &rows)
}

fn coil_name(coil: CoilName) -> &'static str {
    match coil {
        CoilName::A => "a",
        CoilName::B => "b",
    }
}

fn limit(sensitivity: &Sensitivity) -> String {
    match sensitivity.unit {
        "m" => display(sensitivity.limit, Dimension::Length, 2),
        "rad" => format!("{}°", significant(sensitivity.limit, unit::DEGREE, 2)),
        "turn" => format!("{} turns", sensitivity.limit),
        _ => display(sensitivity.limit, Dimension::Fraction, 2),
    }
}

/// In percent with four decimals.
fn fraction(value: f64) -> String {
    format!("{:.4} %", 100.0 * value)
}
