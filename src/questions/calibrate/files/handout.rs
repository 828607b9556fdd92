//! The handout for pupils: one page with the formula, how to use it, a worked example and the table.

use crate::Result;
use crate::numeric::coverage::COVERAGE_PROBABILITY;
use crate::paper::markup::rendered;
use crate::questions::calibrate::beam_correction::BeamCorrection;
use crate::questions::calibrate::table::FieldRow;
use crate::questions::calibrate::words::sentences::{
    dispute_box, ended_sentences, factor, field_cells, has_intercept_columns, has_own_factor_with_intercept,
    intercept_sentence, number, reversed_sentence, slope_sentence, table_sentence,
};
use crate::questions::calibrate::words::validity::{measured_range_sentence, not_counted_sentence};
use crate::questions::calibrate::{Calibration, ContinuousCurrent};
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{percent, signed_percent};
use crate::units::{fixed_down, rounded, unit};
use askama::Template;

/// Most rows of a table in one column. A longer one is set in two columns side by side.
const ROWS_IN_ONE_COLUMN: usize = 14;
/// Most rows of the table on one page, in two columns. A box about the line leaves room for fewer.
const MOST_ROWS: usize = 40;
const MOST_ROWS_BESIDE_A_BOX: usize = 20;
/// Most beam radii on one page.
const MOST_RADII: usize = 7;
/// Most times above the continuous current.
const MOST_TIMES: usize = 3;

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "calibrate/files/handout.html")]
struct Handout {
    title: String,
    serial: Option<String>,
    slope: String,
    with_intercept: bool,
    intercept: String,
    ended: Vec<String>,
    dispute: Option<String>,
    truth: String,
    not_counted: Option<String>,
    example: String,
    caption: String,
    headings: Vec<&'static str>,
    parts: Vec<Vec<TableRow>>,
    beam: Vec<Vec<String>>,
    beam_reversed_column: bool,
    beam_reversed: Option<&'static str>,
    continuous: Option<String>,
    minutes: Vec<(String, String)>,
    cautions: Vec<String>,
    provenance: String,
    certificate: Option<String>,
}

/// One row of a table; a rule under every fifth leads the eye.
struct TableRow {
    cells: Vec<String>,
    fifth: bool,
}

/// The page as HTML.
pub fn html(record: &Calibration) -> Result<String> {
    let factors: Vec<f64> = record.table.iter().map(|row| row.coverage_factor).collect();
    let uniform = factors.windows(2).all(|pair| pair[0] == pair[1]);
    let with_intercept = has_intercept_columns(record);
    let mut headings = vec!["I in A", "k I in mT", "U in mT"];
    if !uniform {
        headings.push("factor");
    }
    if with_intercept {
        headings.extend(["with B0 in mT", "its U in mT"]);
    }
    if has_own_factor_with_intercept(record) {
        headings.push("its factor");
    }
    let wanted = headings.len();
    let dispute = dispute_box(record);
    let ended = ended_sentences(record);
    let most = if dispute.is_some() || !ended.is_empty() { MOST_ROWS_BESIDE_A_BOX } else { MOST_ROWS };
    let every = every(record.table.len(), most);
    let shown = field_cells(record).into_iter().enumerate().filter(|(n, _)| n % every == 0);
    let is_outside = |row: usize| {
        let current = record.table[row].current_ampere;
        let measured = record.validity.measured.as_ref();
        measured.is_some_and(|measured| measured.is_below(current) || measured.is_above(current))
    };
    let any_outside = (0..record.table.len()).step_by(every).any(is_outside);
    let cells = shown.map(|(row, mut cells)| {
        if uniform {
            cells.remove(3);
        }
        cells.truncate(wanted);
        if is_outside(row) {
            cells[0].push('*');
        }
        cells
    });
    let page = Handout {
        title: record.provenance.spec_title.clone(),
        serial: record.paperwork.serial.clone(),
        slope: slope_sentence(record),
        with_intercept,
        intercept: intercept_sentence(record).unwrap_or_default(),
        ended,
        dispute,
        truth: match record.is_in_dispute() {
            true => {
                "U is what the line would have if nothing spoke against it: no probability is claimed".into()
            }
            false => format!(
                "U says how far the true value may be off: within ±U with a probability of {}",
                percent(COVERAGE_PROBABILITY)
            ),
        },
        not_counted: not_counted_sentence(record),
        example: worked_example(record, every),
        caption: match factors.first().filter(|_| uniform) {
            Some(first) => format!("{} Coverage factor {}.", table_sentence(record), factor(*first)),
            None => table_sentence(record).to_owned(),
        } + &match every {
            1 => String::new(),
            every => format!(" Of the steps one in {every} is shown; all are in calibration.csv."),
        } + &measured_range_sentence(record, any_outside)
            .map_or(String::new(), |told| format!(" {told}")),
        headings,
        parts: parts(cells),
        beam: beam_rows(&record.beam_correction),
        beam_reversed_column: differs_reversed(&record.beam_correction),
        beam_reversed: reversed_sentence(&record.beam_correction),
        continuous: record
            .continuous
            .as_ref()
            .map(|continuous| fixed_down(continuous.reliable_continuous_current_ampere, unit::AMPERE, 2)),
        minutes: record.continuous.as_ref().map_or(Vec::new(), minutes),
        cautions: sentences_with(
            &Caution::ALL,
            &record.continuous.as_ref().map(ContinuousCurrent::safety).unwrap_or_default(),
        ),
        provenance: on_page(&record.provenance),
        certificate: record.issue.certificate.clone(),
    };
    rendered(&page, "handout")
}

/// A row of the table worked through in numbers; of its rows one in `every` is shown.
fn worked_example(record: &Calibration, every: usize) -> String {
    let Some(Example { row, k, current, field, expanded }) = example(record, every) else {
        return String::new();
    };
    let coil = format!(
        "The ammeter shows {current} A. The coils make k I = {k} mT/A × {current} A = {field} mT, and U = {expanded} mT: the \
         field is ({field} ± {expanded}) mT."
    );
    match row.field_with_intercept_tesla.zip(row.field_with_intercept_expanded_uncertainty_tesla) {
        None => coil,
        Some((with, expanded)) => {
            let milli = |tesla| unit::MILLITESLA.from_si(tesla);
            let (with, expanded) = rounded(milli(with), milli(expanded));
            format!("{coil} With B0 it is ({with} ± {expanded}) mT.")
        }
    }
}

/// A row of the table with the numbers that are printed for it.
struct Example<'a> {
    row: &'a FieldRow,
    /// In mT/A.
    k: String,
    /// In A.
    current: String,
    /// In mT.
    field: String,
    /// In mT.
    expanded: String,
}

/// Most digits that k has in the example beyond those of the line.
const MORE_DIGITS: usize = 4;

/// The row nearest to the middle of the table where k as the line prints it, times the current, gives the field as printed. Where
/// no row near the middle does, k has more digits.
fn example(record: &Calibration, every: usize) -> Option<Example<'_>> {
    let milli = |slope| unit::MILLITESLA_PER_AMPERE.from_si(slope);
    let slope = milli(record.slope.tesla_per_ampere);
    let (k, _) = rounded(slope, milli(record.slope.expanded_uncertainty().unwrap_or(0.0)));
    let decimals = k.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let more = (1..=MORE_DIGITS).map(|more| format!("{slope:.*}", decimals + more));
    let cells = field_cells(record);
    let middle = cells.len() / 2;
    let mut near: Vec<usize> = (0..cells.len())
        .filter(|row| row % every == 0 && 4 * row.abs_diff(middle) <= cells.len())
        .filter(|row| record.table[*row].current_ampere > 0.0)
        .collect();
    near.sort_by_key(|row| row.abs_diff(middle));
    let of = |row: usize, k: &str| {
        let [current, field, expanded] = [0, 1, 2].map(|cell| cells[row][cell].clone());
        let current = match current.contains('.') {
            true => current.trim_end_matches('0').trim_end_matches('.').to_owned(),
            false => current,
        };
        Example { row: &record.table[row], k: k.into(), current, field, expanded }
    };
    let all: Vec<String> = std::iter::once(k).chain(more).collect();
    let mut tried = all.iter().flat_map(|k| near.iter().map(move |row| (*row, k)));
    let found = tried.find(|(row, k)| {
        let example = of(*row, k);
        multiplies_out(&example.k, &example.current, &example.field)
    });
    let fallback = || near.first().zip(all.last()).map(|(row, k)| (*row, k));
    found.or_else(fallback).map(|(row, k)| of(row, k))
}

/// Whether two decimal numbers multiply to a third as it is rounded: the product is less than half a unit of its last digit away.
fn multiplies_out(one: &str, other: &str, product: &str) -> bool {
    // As whole numbers of their last digit; each has fewer than ten digits.
    let whole = |text: &str| -> Option<(i128, usize)> {
        let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        Some((text.replacen('.', "", 1).parse().ok()?, decimals)).filter(|(_, decimals)| *decimals < 12)
    };
    let (Some(one), Some(other), Some(product)) = (whole(one), whole(other), whole(product)) else {
        return false;
    };
    let decimals = (one.1 + other.1).max(product.1);
    let shifted = |number: i128, has: usize| number * 10i128.pow((decimals - has) as u32);
    let away = shifted(one.0 * other.0, one.1 + other.1) - shifted(product.0, product.1);
    2 * away.abs() < 10i128.pow((decimals - product.1) as u32)
}

fn minutes(continuous: &ContinuousCurrent) -> Vec<(String, String)> {
    let above = continuous.above.iter().take(MOST_TIMES);
    above
        .map(|above| {
            let current = fixed_down(above.current_ampere, unit::AMPERE, 2);
            (current.trim_end_matches(" A").to_owned(), time_at_most(above.time_s))
        })
        .collect()
}

/// Whether the reversed current has numbers of its own, which then need a column.
fn differs_reversed(rows: &[BeamCorrection]) -> bool {
    rows.iter().any(|row| {
        row.reversed
            .is_none_or(|reversed| ratio(reversed.effective_field_ratio) != ratio(row.effective_field_ratio))
    })
}

fn ratio(effective_field_ratio: f64) -> String {
    format!("{effective_field_ratio:.4}")
}

/// At most as many radii as the page has room for, including the first and the last.
fn beam_rows(rows: &[BeamCorrection]) -> Vec<Vec<String>> {
    let with_reversed = differs_reversed(rows);
    let every = rows.len().saturating_sub(1).div_ceil(MOST_RADII - 1).max(1);
    let last = rows.len().saturating_sub(1);
    let chosen = rows.iter().enumerate().filter(|(place, _)| place % every == 0 || *place == last);
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
    chosen.map(|(_, row)| cells(row)).collect()
}

/// Every how many rows one is shown, so that the table fits and its currents stay round.
fn every(rows: usize, most: usize) -> usize {
    let tens = (0..9).map(|power| 10usize.pow(power));
    tens.flat_map(|ten| [ten, 2 * ten, 5 * ten]).find(|every| rows / every <= most).unwrap_or(rows)
}

/// Cuts a long table into two halves side by side.
fn parts(rows: impl Iterator<Item = Vec<String>>) -> Vec<Vec<TableRow>> {
    let mut rows: Vec<TableRow> =
        rows.enumerate().map(|(n, cells)| TableRow { cells, fifth: n % 5 == 4 }).collect();
    if rows.len() <= ROWS_IN_ONE_COLUMN {
        return vec![rows];
    }
    let second = rows.split_off(rows.len().div_ceil(2));
    vec![rows, second]
}

/// A time that is safe up to the printed value: whole minutes, or seconds below two minutes.
fn time_at_most(seconds: f64) -> String {
    if seconds < 120.0 { fixed_down(seconds, unit::SECOND, 0) } else { fixed_down(seconds, unit::MINUTE, 0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calibrate::words::sentences::tests::calibration;

    #[test]
    fn the_page_stands_alone_and_holds_what_a_pupil_needs() {
        let page = html(&calibration("Pair")).unwrap();
        for outside in ["<script", "http", "<link", "src=", "@import", "url("] {
            assert!(!page.contains(outside), "{outside}");
        }
        for part in [
            "B = k I",
            "coverage factor 2",
            "How to read it off",
            "Worked example",
            "Serial or label",
            "Reversal",
            "Cautions",
        ] {
            assert!(page.contains(part), "{part}");
        }
    }

    #[test]
    fn the_worked_example_is_a_row_of_the_table_and_multiplies_out_as_printed() {
        let mut record = calibration("Pair");
        let currents: Vec<f64> = record.table.iter().map(|row| row.current_ampere).collect();
        let mut with_more_digits = 0;
        // U of 1.7 % and of 0.17 %; slopes in steps that no table shares.
        for (case, relative) in (0..4000).zip([1.7e-2, 1.7e-3].into_iter().cycle()) {
            let slope = 0.4e-3 * 1.000_777f64.powi(case) * if case % 7 == 0 { -1.0 } else { 1.0 };
            record.slope.tesla_per_ampere = slope;
            if let Some(uncertainty) = &mut record.slope.uncertainty {
                uncertainty.expanded_tesla_per_ampere = relative * slope.abs();
            }
            for (row, current) in record.table.iter_mut().zip(&currents) {
                row.coil_field_tesla = slope * current;
                row.expanded_uncertainty_tesla = (relative * row.coil_field_tesla).hypot(8e-6);
            }
            let every = 1 + (case as usize % 2);
            let example = worked_example(&record, every);
            let between = |from: &str, to: &str| {
                let rest = example.split(from).nth(1).unwrap();
                rest.split(to).next().unwrap().to_owned()
            };
            let [k, current, field] =
                [between("k I = ", " mT/A"), between(" × ", " A ="), between(" A = ", " mT, and U")];
            let [k_number, current_number] = [&k, &current].map(|text| text.parse::<f64>().unwrap());
            let decimals = field.split_once('.').map_or(0, |(_, decimals)| decimals.len());
            // What a pupil's calculator shows, rounded to the digits of the table.
            let product = format!("{:.decimals$}", k_number * current_number);
            assert_eq!(product, field, "{example}");
            let row = currents.iter().position(|one| (one - current_number).abs() < 1e-9).unwrap();
            let cells = field_cells(&record);
            assert_eq!((row % every, &cells[row][1]), (0, &field), "{example}");
            assert!(example.contains(&format!("({} ± {}) mT", cells[row][1], cells[row][2])), "{example}");
            assert!(row.abs_diff(currents.len() / 2) <= currents.len() / 4, "{example}");
            let of_line = slope_sentence(&record).replace(['(', ')'], " ");
            with_more_digits += usize::from(!of_line.split(' ').any(|word| word == k));
        }
        println!("{with_more_digits} of 4000 examples need more digits of k than the line has");
        assert!(with_more_digits < 400, "{with_more_digits}");
    }

    #[test]
    fn a_product_is_judged_by_its_printed_digits() {
        assert!(multiplies_out("0.8436", "1.4", "1.181"));
        assert!(!multiplies_out("0.844", "1.4", "1.181"), "a pupil finds 1.1816");
        assert!(multiplies_out("0.844", "1.4", "1.182") && multiplies_out("-0.844", "1.4", "-1.182"));
        // A half is rounded in either way.
        assert!(!multiplies_out("0.5", "0.5", "0.3") && !multiplies_out("0.5", "0.5", "0.2"));
        assert!(multiplies_out("84", "2", "168") && !multiplies_out("84", "2", "170"));
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
