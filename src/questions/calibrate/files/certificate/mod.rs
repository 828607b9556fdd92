//! The certificate: everything that ISO/IEC 17025:2017, 7.8, asks of a calibration certificate, to print on A4 or Letter.
//!
//! `items.md` beside this file lists the section of each item, by the `id` of the section. A test compares the page
//! with it.

mod circumstances;
mod result;
mod section;
mod uncertainty;

use crate::Result;
use crate::pair::Party;
use crate::paper::markup::rendered;
use crate::questions::calibrate::Calibration;
use askama::Template;
use circumstances::{
    conditions, dates, files, instruments, item, method_section, notes, reissue, statements,
};
use result::{adjustment, conformity, opinion, readings, result, tables, validity};
use section::{NOT_STATED, Section};
use sha2::{Digest, Sha256};
use uncertainty::{budget, monte_carlo};

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "calibrate/files/certificate.html")]
struct Certificate {
    heading: &'static str,
    document: &'static str,
    number: String,
    number_in_css: String,
    title: String,
    laboratory: Vec<String>,
    customer: Vec<String>,
    sections: Vec<Section>,
    by: Option<String>,
}

/// The page as HTML.
pub fn html(record: &Calibration) -> Result<String> {
    let certificate_number = number_of(record);
    let page = Certificate {
        // A result without readings is not called a calibration.
        heading: match record.fit {
            Some(_) => "Calibration certificate",
            None => "Statement of a computed line",
        },
        document: if record.fit.is_some() { "certificate" } else { "statement" },
        number_in_css: in_css(&certificate_number),
        number: certificate_number,
        title: record.provenance.spec_title.clone(),
        laboratory: party(record.paperwork.laboratory.as_ref()),
        customer: party(record.paperwork.customer.as_ref()),
        sections: sections(record)?,
        by: record.issue.by.clone(),
    };
    rendered(&page, "certificate")
}

/// The stated number, else one made from the input files, the adopted line and the options, so that whatever gives another
/// certificate gives another number.
fn number_of(record: &Calibration) -> String {
    record.issue.certificate.clone().unwrap_or_else(|| {
        let digits = |part: &str| {
            let input = record.inputs.iter().find(|input| input.part == part);
            input.map(|input| input.sha256[..8].to_owned())
        };
        let parts = [
            Some(digits("spec").unwrap_or_else(|| record.provenance.spec_digest.clone())),
            digits("readings"),
        ];
        let asked = [record.slope.from.name().to_owned(), options_digest(record)];
        let date = record.provenance.date.map(|date| date.to_string());
        let parts: Vec<String> = parts.into_iter().flatten().chain(asked).chain(date).collect();
        format!("none given ({})", parts.join("-"))
    })
}

/// Eight digits that stand for all files and options of a certificate.
fn options_digest(record: &Calibration) -> String {
    let inputs: Vec<&str> = record.inputs.iter().map(|input| input.sha256.as_str()).collect();
    let options = (
        inputs,
        record.slope.from,
        record.same_ammeter,
        record.table_step_ampere,
        record.monte_carlo.map(|run| run.samples),
        record.conformity.map(|conformity| conformity.allowed_error_fraction),
        &record.issue,
    );
    // Serialising plain values into memory does not fail.
    let text = serde_json::to_vec(&options).unwrap_or_default();
    Sha256::digest(&text).iter().take(4).map(|byte| format!("{byte:02x}")).collect()
}

/// A text as it stands inside a string of a style sheet. Every character but plain letters, digits, blanks and hyphens
/// is written as its number. The blank behind a number ends it and is not shown.
fn in_css(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || " -()".contains(c);
    text.chars().map(|c| if plain(c) { c.to_string() } else { format!("\\{:06x} ", u32::from(c)) }).collect()
}

fn party(party: Option<&Party>) -> Vec<String> {
    match party {
        Some(party) => std::iter::once(party.name.clone()).chain(party.address.clone()).collect(),
        None => vec![NOT_STATED.into()],
    }
}

fn sections(record: &Calibration) -> Result<Vec<Section>> {
    let all = [
        reissue(record),
        Some(item(record)),
        Some(dates(record)),
        Some(conditions(record)),
        Some(method_section(record)),
        Some(instruments(record)),
        Some(result(record)),
        Some(tables(record)),
        Some(validity(record)),
        conformity(record),
        adjustment(record),
        Some(budget(record)),
        monte_carlo(record),
        readings(record),
        opinion(record),
        Some(notes(record)),
        Some(files(record)),
        Some(statements(record)),
    ];
    Ok(all.into_iter().flatten().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calibrate::words::sentences::tests::calibration;

    #[test]
    fn a_number_cannot_break_out_of_the_style_sheet() {
        assert_eq!(in_css("K-17"), "K-17");
        // CSS drops one blank behind an escape, whatever its length.
        assert_eq!(in_css("A & B"), "A \\000026  B");
        let broken = in_css("\"; } body { display: none } </style><script>");
        assert!(!broken.contains(['"', ';', '}', '<', '/']), "{broken}");
    }

    #[test]
    fn a_title_is_text_and_never_markup() {
        let page = html(&calibration("<script>alert(1)</script> & co")).unwrap();
        assert!(!page.contains("<script"));
    }

    #[test]
    fn what_is_not_known_is_said_to_be_not_stated_and_nothing_is_claimed() {
        let page = html(&calibration("Pair")).unwrap();
        assert!(page.contains(NOT_STATED) && page.contains("Metrological traceability is not shown"));
        assert!(page.contains("no date is stated, for none was agreed"));
        assert!(!page.contains("accredited") && !page.contains("id=\"conformity\""));
    }
}
