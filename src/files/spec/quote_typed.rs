//! One cell of a quote form as people type it.

use super::quote_doubt::Meanings;
use super::quote_form::{QUOTE_FIELDS, QuoteField, Written};
use super::quote_number::{Money, Typed, money_typed, number_typed};
use super::table_text::{json, with_unit};
use crate::Result;
use crate::files::tables::Row;
use crate::units::currencies_named;

/// What a cell says.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reading {
    /// A value as JSON, and the currency written with it, with the codes that this may mean.
    Value { json: String, currency: Option<(String, Vec<&'static str>)> },
    /// The currency of the prices.
    Currency(String),
    /// It may be meant in more than one way.
    Doubtful(Meanings),
}

/// Fields that hold an amount of money.
const AMOUNTS: [&str; 2] = ["price.amount", "price.carriage"];

/// Reads the value of a row, written as its field requires. What cannot be understood stays as it is, and is refused by
/// the reader of the file.
pub(super) fn reading(name: &str, row: &Row) -> Result<Reading> {
    let field = QUOTE_FIELDS.iter().find(|field| field.path == name);
    let cell = row.text("value").unwrap_or_default().trim();
    let plain = |json: String| Reading::Value { json, currency: None };
    if AMOUNTS.contains(&name) {
        return Ok(amount(&with_beside(cell, row)));
    }
    if name == "price.currency" {
        return Ok(Reading::Currency(match currencies_named(cell)[..] {
            [only] => only.into(),
            _ => cell.into(),
        }));
    }
    Ok(match field.map(|field| field.written) {
        Some(Written::Number | Written::Count) => match number_typed(&with_beside(cell, row)) {
            Some(Typed::Doubtful(meanings)) if field.is_some_and(counts_turns) => Reading::Doubtful(meanings),
            _ => {
                let number = with_unit(row, "value")?;
                plain(
                    number.trim().parse::<f64>().map_or_else(|_| json(&number), |number| format!("{number}")),
                )
            }
        },
        Some(Written::With(_)) => plain(json(&with_unit(row, "value")?)),
        // A metric size typed as a number without its unit.
        _ if name == "winding.wire.size" && cell.replace(',', ".").parse::<f64>().is_ok() => {
            plain(json(&format!("{} mm", cell.replace(',', "."))))
        }
        _ => plain(json(cell)),
    })
}

/// A cell with what stands in the column of units, which is blank in the form for a number.
fn with_beside(cell: &str, row: &Row) -> String {
    row.text("unit").map_or_else(|| cell.to_owned(), |beside| format!("{cell} {beside}"))
}

/// Whether a field holds a number of turns, of which there may be thousands.
fn counts_turns(field: &QuoteField) -> bool {
    field.path.ends_with(".turns") && !field.path.starts_with("build_tolerance")
}

fn amount(text: &str) -> Reading {
    match money_typed(text) {
        Some(Money { amount: Typed::Number(amount), currency }) => {
            Reading::Value { json: format!("{amount}"), currency }
        }
        Some(Money { amount: Typed::Doubtful(meanings), .. }) => Reading::Doubtful(meanings),
        None => Reading::Value { json: json(text), currency: None },
    }
}
