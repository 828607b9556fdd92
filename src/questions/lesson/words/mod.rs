//! The lesson in words: the text that the command prints, and the table of words for page and sheets.

mod quantities;
mod table;

pub(crate) use quantities::{Quantities, caution_lines};
pub use table::WordTable;

use super::Lesson;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{line_origin, model_sentence, percent_of, signed_percent};
use crate::units::{fixed, significant, unit};

/// The text page for the person who prepares the lesson.
pub fn text(lesson: &Lesson) -> String {
    let mut page = Page::new(&lesson.provenance.spec_title, &on_page(&lesson.provenance));
    page.paragraph(model_sentence(lesson.model));
    page.section(if lesson.settings_suggested { "Suggested settings" } else { "Settings" });
    page.paragraph(
        "The diameter is as a perfect reader sees it on the scale, with its standard uncertainty from reading, meters and \
         line. k I: deviation of e/m from the accepted value when B = k I is used.",
    );
    let rows: Vec<Vec<String>> = lesson
        .settings
        .iter()
        .map(|one| {
            let expected = &one.expected;
            vec![
                fixed(one.gun_voltage_volt, unit::VOLT, 0),
                fixed(one.current_ampere, unit::AMPERE, 2),
                if one.tube_turned { "turned" } else { "as it is" }.into(),
                fixed(expected.scale_diameter_m, unit::MILLIMETRE, 1),
                fixed(expected.scale_diameter_standard_uncertainty_m, unit::MILLIMETRE, 1),
                signed_percent(expected.bias_fraction),
            ]
        })
        .collect();
    page.block(&columns(&["V", "I", "tube", "diameter", "u", "k I"], &[2], &rows));
    page.section("What the page carries");
    page.row(
        "field in the bulb",
        &format!(
            "{} series of {} terms at most; largest difference from the engine {} of the field at the centre",
            lesson.field.coils.len(),
            lesson.field.coils.iter().map(|coil| coil.terms_tesla_per_ampere.len()).max().unwrap_or(0),
            crate::units::scientific(lesson.field.largest_difference_fraction, 2)
        ),
    );
    page.row(
        "line",
        &format!(
            "k = {} mT/A ({})",
            significant(lesson.line.slope.tesla_per_ampere, unit::MILLITESLA_PER_AMPERE, 6)
                .trim_end_matches(" mT/A"),
            line_origin(&lesson.line)
        ),
    );
    page.row(
        "room's field",
        if lesson.room_tesla.is_some() { "as the spec states it" } else { "not known, taken as none" },
    );
    page.row(
        "example in the worksheet",
        &format!(
            "{} and {}, k I {}, beam-radius correction {}",
            fixed(lesson.example.gun_voltage_volt, unit::VOLT, 0),
            fixed(lesson.example.current_ampere, unit::AMPERE, 2),
            signed_percent(lesson.example.expected.bias_fraction),
            lesson
                .example
                .expected
                .corrected_bias_fraction
                .map_or("-".into(), |fraction| percent_of(fraction, 3))
        ),
    );
    page.notes(&told(&lesson.notes));
    page.section("Cautions");
    let cautions = sentences_with(&Caution::ALL, &lesson.safety);
    page.list(cautions.iter().map(String::as_str));
    page.into_text()
}
