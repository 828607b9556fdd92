//! Readings on which no line is adopted, in words: what disagrees, the possible reasons, what to measure.

use super::causes::{cause_sentences, dispute_sentence, measurement_sentences};
use super::parts;
use crate::Error;
use crate::paper::page::Page;
use crate::questions::calibrate::Refusal;
use crate::questions::calibrate::notes::left_out_phrase;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::model_sentence;

/// The page for people.
pub fn text(refusal: &Refusal) -> String {
    let title = format!("No calibration: {}", refusal.provenance.spec_title);
    let mut page = Page::new(&title, &on_page(&refusal.provenance));
    page.paragraph(model_sentence(refusal.model));
    page.section("Why no line is adopted");
    page.paragraph(&format!("{}.", dispute_sentence(refusal.dispute, &refusal.agreement)));
    if !refusal.readings_left_out.is_empty() {
        page.paragraph(&format!("{}.", left_out_phrase(&refusal.readings_left_out)));
    }
    page.section("What it may be");
    page.list(cause_sentences(&refusal.agreement).iter().map(String::as_str));
    page.section("What to measure");
    page.list(measurement_sentences(&refusal.agreement));
    parts::fit(&mut page, &refusal.fit);
    parts::slopes(&mut page, &refusal.computed, &refusal.fit_slope_with_meters, &refusal.agreement);
    page.into_text()
}

/// The error, with what to do as its hint.
pub fn error(refusal: &Refusal) -> Error {
    let sentence = dispute_sentence(refusal.dispute, &refusal.agreement);
    let mut letters = sentence.chars();
    let first = letters.next().map(|letter| letter.to_lowercase().to_string()).unwrap_or_default();
    let causes = cause_sentences(&refusal.agreement);
    let way_out = match refusal.computed.is_judged() {
        true => "To adopt a line in spite of it, name it: --adopt computed, fit or combined.",
        false => {
            "State `build_tolerance` if the pair may be built so, or adopt the fit in spite of it: --adopt fit."
        }
    };
    Error::value_with_hint(
        format!("{first}{}; {}", letters.as_str(), causes.first().map_or("", String::as_str)),
        format!("{} {way_out}", measurement_sentences(&refusal.agreement).join(" ")),
    )
}
