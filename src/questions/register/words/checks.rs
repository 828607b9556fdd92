//! Quick checks in words: the verdict against the spec, and what they tell of the line in force.

use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::register::{AgainstLine, Overview};
use crate::questions::words::phrases::{e_n, percent_of};
use crate::units::{Dimension, uncertain};

/// All quick checks.
pub(super) fn checks(page: &mut Page, record: &Overview) {
    if record.checks.is_empty() {
        return;
    }
    page.section("Quick checks between");
    let rows: Vec<Vec<String>> = record
        .checks
        .iter()
        .map(|check| {
            let said = &check.said;
            let field = said.field_tesla_per_ampere.map_or("-".into(), |k| {
                let u = said.field_standard_uncertainty_tesla_per_ampere.unwrap_or(0.0);
                uncertain(k, 2.0 * u, Dimension::FieldConstant)
            });
            let number = |value: Option<f64>| value.map_or("-".into(), e_n);
            let line = check.against_line;
            vec![
                check.number.to_string(),
                said.date.to_string(),
                said.by.clone().unwrap_or_else(|| "-".into()),
                field,
                said.verdict.clone(),
                number(line.map(|line| line.normalised_difference)),
                number(line.and_then(|line| line.normalised_difference_same_meters)),
                line.map_or("-".into(), |line| percent_of(line.unseen_change_fraction, 2)),
            ]
        })
        .collect();
    page.block(&columns(
        &[
            "entry",
            "day",
            "by",
            "field per ampere, U (k = 2)",
            "by the spec",
            "E_n",
            "E_n, same meters",
            "sees from",
        ],
        &[1, 2, 3, 4],
        &rows,
    ));
    page.paragraph(
        "By the spec: the verdict of the check, which says nothing of the line. E_n: field per ampere against the line that held \
         on that day. \"Same meters\", where the check says that it was made with those of the calibration: against the slope of \
         its readings, without the meters' part of its uncertainty. Sees from: the smallest change that shows, U of the \
         difference.",
    );
}

/// What the last quick check that the pair failed tells of the line in force; `None` if it failed none.
pub(super) fn failed_row(record: &Overview) -> Option<String> {
    let check = record.checks.iter().find(|check| Some(check.number) == record.failed_check)?;
    let (date, entry) = (check.said.date, check.number);
    Some(match record.failed_check_against_line {
        Some(line) if line.agrees() => format!(
            "failed against the SPEC on {date} (entry {entry}), and its field agrees with this line, {}: the pair is not as its \
             spec says",
            sees(&line)
        ),
        Some(_) => format!("FAILED on {date} (entry {entry}): the line may no longer hold; calibrate anew"),
        None => format!(
            "FAILED against the spec on {date} (entry {entry}), and no check since tells of the line: it may no longer hold; \
             measure the field, or calibrate anew"
        ),
    })
}

/// How far a check agrees with a line, and what it cannot see.
pub(super) fn sees(line: &AgainstLine) -> String {
    let meters = if line.normalised_difference_same_meters.is_some() { " with the same meters" } else { "" };
    format!(
        "E_n = {}{meters} (a change below {} does not show)",
        e_n(line.decisive()),
        percent_of(line.unseen_change_fraction, 2)
    )
}

/// A quick check against the line of an entry, as one line.
pub fn check_against_line(entry: u64, line: &AgainstLine) -> String {
    let verdict = if line.agrees() { "agrees with" } else { "is OFF" };
    format!("the field {verdict} the line of entry {entry}, {}\n", sees(line))
}
