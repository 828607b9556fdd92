//! The handout: one self-contained page to print for the lab, A4 or Letter, without script or network.

use crate::questions::calibrate::beam_correction::BeamCorrection;
use crate::questions::calibrate::notes::Note;
use crate::questions::calibrate::words::causes::verdict_sentence;
use crate::questions::calibrate::words::sentences::{
    chi_square_sentence, current_cells, dispute_box, factor, field_cells, intercept_sentence, method, number,
    reversed_sentence, room_sentences, slope_sentence, table_sentence, validity_rows,
};
use crate::questions::calibrate::{AdoptedFrom, Calibration, ContinuousCurrent};
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::notes::Told;
use crate::questions::words::phrases::signed_percent;
use crate::units::{fixed_down, unit};
use crate::{Error, Result};
use askama::Template;

/// Rows of a table before it is set in two columns side by side.
const ROWS_IN_ONE_COLUMN: usize = 14;

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "calibrate/files/handout.html")]
struct Handout {
    title: String,
    slope: String,
    adopted: &'static str,
    intercept: String,
    field_caption: String,
    field_headings: Vec<&'static str>,
    field_parts: Vec<Vec<TableRow>>,
    picture: String,
    current_caption: String,
    current_headings: Vec<&'static str>,
    current_parts: Vec<Vec<TableRow>>,
    beam_headings: Vec<&'static str>,
    beam: Vec<Vec<String>>,
    beam_reversed: Option<&'static str>,
    continuous: Option<String>,
    minutes: Vec<[String; 2]>,
    room: Vec<String>,
    checks: Vec<(&'static str, String)>,
    validity: Vec<(&'static str, String)>,
    notes: Vec<String>,
    dispute: Option<String>,
    cautions: Vec<String>,
    date: Option<String>,
    provenance: String,
}

/// One row of a table; a rule under every fifth leads the eye.
struct TableRow {
    cells: Vec<String>,
    fifth: bool,
}

/// The page as HTML.
pub fn html(record: &Calibration) -> Result<String> {
    let with_room = record.table.iter().any(|row| row.axial_field_with_room_tesla.is_some());
    let factors: Vec<f64> = record.table.iter().map(|row| row.coverage_factor).collect();
    let uniform = factors.windows(2).all(|pair| pair[0] == pair[1]);
    let caption = match (uniform, factors.first()) {
        (true, Some(first)) => format!("{} Coverage factor {}.", table_sentence(record), factor(*first)),
        _ => format!("{} The coverage factor stands beside it.", table_sentence(record)),
    };
    let mut field_headings = vec!["I in A", "B in mT", "U in mT"];
    let mut current_headings = vec!["B in mT", "I in A", "U in A"];
    if !uniform {
        field_headings.push("factor");
        current_headings.push("factor");
    }
    if with_room {
        field_headings.push("with room, mT");
    }
    let picture = super::super::picture::calibration_line(record).svg();
    let page = Handout {
        title: record.provenance.spec_title.clone(),
        slope: slope_sentence(record),
        adopted: match record.slope.from {
            AdoptedFrom::Computed => "computed from the geometry of the pair",
            AdoptedFrom::Fit => "fitted to readings of the field",
            AdoptedFrom::Combined => "the least-squares combination of the computed and the fitted slope",
        },
        intercept: intercept_sentence(record),
        field_caption: if with_room {
            format!("{caption} The last column adds the room's axial field.")
        } else {
            caption.clone()
        },
        field_headings,
        field_parts: parts(field_cells(record).into_iter().map(|cells| without_factor(cells, uniform))),
        picture: picture[picture.find("<svg").unwrap_or(0)..].to_owned(),
        current_caption: caption,
        current_headings,
        current_parts: parts(current_cells(record).into_iter().map(|cells| without_factor(cells, uniform))),
        beam_headings: beam_headings(&record.beam_correction),
        beam: beam_rows(&record.beam_correction),
        beam_reversed: reversed_sentence(&record.beam_correction),
        continuous: record.continuous.as_ref().map(|continuous| {
            format!(
                "{} (computed: {}, less what is not known for certain; set by: {})",
                fixed_down(continuous.reliable_continuous_current_ampere, unit::AMPERE, 2),
                fixed_down(continuous.continuous_current_ampere, unit::AMPERE, 2),
                continuous.limited_by.sentence()
            )
        }),
        minutes: record.continuous.as_ref().map_or(Vec::new(), |continuous| {
            continuous
                .above
                .iter()
                .map(|above| {
                    [
                        fixed_down(above.current_ampere, unit::AMPERE, 2).trim_end_matches(" A").to_owned(),
                        time_at_most(above.time_s),
                    ]
                })
                .collect()
        }),
        room: record.room.as_ref().map_or(Vec::new(), room_sentences),
        checks: checks(record),
        validity: validity_rows(record),
        notes: record.notes.iter().map(Note::sentence).collect(),
        dispute: dispute_box(record),
        cautions: sentences_with(
            &Caution::ALL,
            &record.continuous.as_ref().map(ContinuousCurrent::safety).unwrap_or_default(),
        ),
        date: record.provenance.date.clone(),
        provenance: record.provenance.on_page(),
    };
    page.render().map_err(|error| Error::value(format!("cannot write the handout: {error}")))
}

/// A column for the current reversed only where it prints other numbers.
fn differs_reversed(rows: &[BeamCorrection]) -> bool {
    rows.iter().any(|row| {
        row.reversed
            .is_none_or(|reversed| ratio(reversed.effective_field_ratio) != ratio(row.effective_field_ratio))
    })
}

fn ratio(effective_field_ratio: f64) -> String {
    format!("{effective_field_ratio:.4}")
}

fn beam_headings(rows: &[BeamCorrection]) -> Vec<&'static str> {
    let mut headings = vec!["r in mm", "ratio", "e/m off without it"];
    headings.extend(differs_reversed(rows).then_some("ratio, current reversed"));
    headings
}

fn beam_rows(rows: &[BeamCorrection]) -> Vec<Vec<String>> {
    let with_reversed = differs_reversed(rows);
    let cells = |row: &BeamCorrection| {
        let mut cells = vec![
            number(row.read_radius_m, unit::MILLIMETRE, 1),
            ratio(row.effective_field_ratio),
            signed_percent(row.charge_to_mass_bias_fraction()),
        ];
        let reversed = || row.reversed.map_or("-".into(), |reversed| ratio(reversed.effective_field_ratio));
        cells.extend(with_reversed.then(reversed));
        cells
    };
    rows.iter().map(cells).collect()
}

/// Cuts a table into two halves side by side where it is long.
fn parts(rows: impl Iterator<Item = Vec<String>>) -> Vec<Vec<TableRow>> {
    let mut rows: Vec<TableRow> =
        rows.enumerate().map(|(n, cells)| TableRow { cells, fifth: n % 5 == 4 }).collect();
    if rows.len() <= ROWS_IN_ONE_COLUMN {
        return vec![rows];
    }
    let second = rows.split_off(rows.len().div_ceil(2));
    vec![rows, second]
}

/// Leaves out the coverage factor (the fourth cell) where the caption names it.
fn without_factor(mut cells: Vec<String>, uniform: bool) -> Vec<String> {
    if uniform && cells.len() > 3 {
        cells.remove(3);
    }
    cells
}

/// How the slope was found, where readings had a part in it.
fn checks(record: &Calibration) -> Vec<(&'static str, String)> {
    let Some(fit) = &record.fit else { return Vec::new() };
    let mut checks = vec![
        ("readings", format!("{}; {}", fit.residuals.len(), method(fit.method))),
        ("chi-square", chi_square_sentence(fit)),
    ];
    if let Some(agreement) = &record.agreement {
        checks.push((
            "computed slope",
            format!(
                "the fitted one is {} off; {}",
                signed_percent(agreement.relative_difference),
                verdict_sentence(agreement)
            ),
        ));
    }
    checks
}

/// A time that may be used up to what is printed: whole minutes, seconds below two.
fn time_at_most(seconds: f64) -> String {
    if seconds < 120.0 { fixed_down(seconds, unit::SECOND, 0) } else { fixed_down(seconds, unit::MINUTE, 0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calibrate::words::sentences::tests::calibration;

    #[test]
    fn the_page_stands_alone_and_holds_what_a_lab_needs() {
        let page = html(&calibration("Pair")).unwrap();
        assert!(
            !page.contains("<script") && !page.contains("http://") || page.contains("www.w3.org/2000/svg")
        );
        for outside in ["<link", "src=", "@import", "url("] {
            assert!(!page.contains(outside), "{outside}");
        }
        for part in [
            "coverage factor 2",
            "Serial or label",
            "Calibrated by",
            "Next due",
            "Reversal",
            "Cautions",
            "<svg",
        ] {
            assert!(page.contains(part), "{part}");
        }
    }

    #[test]
    fn a_title_is_text_and_never_markup() {
        let page = html(&calibration("<script>alert(1)</script> & co")).unwrap();
        assert!(!page.contains("<script>"));
        assert!(
            page.contains("&#60;script&#62;") || page.contains("&lt;script&gt;"),
            "not escaped as expected"
        );
    }
}
