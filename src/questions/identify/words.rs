//! The identification of an unlabelled pair, as text.

use super::{Identification, OneOf, Slip};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::words::faults::Fault;
use crate::questions::words::notes::told;
use crate::units::{Dimension, display, length, significant, unit};

/// The page for people.
pub fn text(record: &Identification) -> String {
    let mut page = Page::new(&record.source.title, &record.source.on_page("measurements"));
    for sentence in slip_sentences(record) {
        page.paragraph(&sentence);
    }
    let length = |si: f64| length(si, 1);
    page.section("Size");
    page.row("mean radius", &length(record.mean_radius_m));
    page.row("section, width x depth", &format!("{} x {}", length(record.width_m), length(record.depth_m)));
    page.row("spacing", &length(record.spacing_m));
    page.list(told(&record.assumed).iter().map(String::as_str));

    page.section("Turns per coil, whatever the wire");
    let rows: Vec<Vec<String>> = record
        .turns
        .iter()
        .filter(|turns| turns.probability >= 0.001)
        .map(|turns| vec![turns.turns.to_string(), percent(turns.probability)])
        .collect();
    page.block(&columns(&["turns", "probability"], &[], &rows));

    page.section("Turns and wire");
    let rows: Vec<Vec<String>> = record
        .candidates
        .iter()
        .map(|candidate| {
            vec![
                candidate.turns.to_string(),
                candidate.wire.clone(),
                percent(candidate.probability),
                crate::units::number_of_six(candidate.chi_square, 1),
                display(candidate.resistance_ohm, Dimension::Resistance, 4),
                significant(candidate.field_constant_tesla_per_ampere, unit::MILLITESLA_PER_AMPERE, 4),
                display(candidate.inductance_henry, Dimension::Inductance, 3),
                display(candidate.conductor_mass_kg, Dimension::Mass, 3),
            ]
        })
        .collect();
    let headings = ["turns", "wire", "probability", "chi2", "resistance", "mT/A", "inductance", "mass"];
    page.block(&columns(&headings, &[1], &rows));
    page.paragraph(&format!(
        "{} combinations of stock wire and whole turns compared on {} measurements. Beforehand all that fill three \
         quarters of the section are equally likely, looser ones a fiftieth of that. Wire that is not in stock, half turns and aluminium painted as copper are not among them.",
        record.compared, record.measurements
    ));
    if !record.fits() {
        page.paragraph(
            "Even the likeliest fits badly: look for a coil connected backwards, shorted turns, a wrong connection or a \
             slip in one of the measurements before trusting the list.",
        );
    }
    page.section("What to measure next");
    if !record.fits() {
        page.paragraph("What is measured already, once more: as it stands it fits nothing.");
    } else if record.next_measurements.is_empty() {
        page.paragraph("No further measurement from outside would change this noticeably.");
    }
    page.list(told(&record.next_measurements).iter().map(String::as_str));
    page.into_text()
}

/// The slips assumed in the measurements for the list to hold, and the alternatives.
fn slip_sentences(record: &Identification) -> Vec<String> {
    let named = record.slips.iter().take(3).filter(|slip| slip.probability >= 0.05);
    named
        .enumerate()
        .map(|(number, found)| {
            let chance = format!("{:.0} %", (100.0 * found.probability).clamp(1.0, 99.0));
            match number {
                0 => format!(
                    "As they are written the measurements fit no winding. A gross slip would explain them ({chance} of those \
                     looked at): {}. The list below is for the measurements so put right; check that first.",
                    slip_sentence(found.slip)
                ),
                _ => format!("Or ({chance}): {}.", slip_sentence(found.slip)),
            }
        })
        .collect()
}

pub(crate) fn slip_sentence(slip: Slip) -> String {
    match slip {
        Slip::GaussForMillitesla => Fault::GAUSS_FOR_MILLITESLA.phrase(),
        Slip::MilliteslaForGauss => Fault::MILLITESLA_FOR_GAUSS.phrase(),
        Slip::Connection { really } => Fault::Connection { really }.phrase(),
        Slip::Aluminium => Fault::Aluminium.phrase(),
        Slip::RadiusForDiameter => Fault::RadiusForDiameter.phrase(),
        Slip::CoilReversed => Fault::CoilReversed.and("the fields cancel at the centre"),
        Slip::OneReading { reading } => format!(
            "the {} contradicts all other readings, which fit each other: it is left out",
            match reading {
                OneOf::Resistance => "resistance",
                OneOf::Field => "field",
                OneOf::Inductance => "inductance",
                OneOf::Mass => "mass",
                OneOf::OverallWireDiameter => "diameter of the wire",
                OneOf::Width => "width",
                OneOf::Spacing => "spacing",
            }
        ),
        Slip::LeadsCounted { lead_ohm } => format!(
            "about {} of leads or contacts was measured with the coils",
            display(lead_ohm, Dimension::Resistance, 1)
        ),
    }
}

fn percent(probability: f64) -> String {
    format!("{:.1} %", 100.0 * probability)
}
