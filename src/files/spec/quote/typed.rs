//! One cell of a quote form as people type it.

use super::doubt::Meanings;
use super::form::{QUOTE_FIELDS, QuoteField, Written};
use super::number::{Money, Typed, money_typed, number_typed};
use super::words::{day_typed, period_typed, thermal_class_typed, without_both_signs, word_typed};
use crate::files::spec::table_text::{json, quantity_text};
use crate::files::tables::Row;
use crate::units::{currencies_named, parse_period};

/// Whether a text is still to be filled in: empty, or as in the blank form.
pub(super) fn is_blank_text(text: &str) -> bool {
    let text = text.trim();
    text.is_empty() || text.starts_with('_')
}

/// The value in a row of a form, with the unit beside it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry<'a> {
    pub(super) value: &'a str,
    pub(super) unit: Option<&'a str>,
}

/// What a cell says.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reading {
    /// A value as JSON.
    Value(String),
    /// An amount as JSON, and the currency written with it, with the codes that this may mean.
    Amount(String, Option<(String, Vec<&'static str>)>),
    /// The currency of the prices.
    Currency(String),
    /// A time of delivery as JSON, with its shorter end in days.
    Between(String, f64),
    /// It may be meant in more than one way.
    Doubtful(Meanings),
}

/// Fields that hold an amount of money.
const AMOUNTS: [&str; 2] = ["price.amount", "price.carriage"];

/// The field of a row, by its name.
pub(super) fn field_of(row: &Row) -> Option<&'static QuoteField> {
    row.text("name").and_then(|name| QUOTE_FIELDS.iter().find(|field| field.path == name))
}

impl<'a> Entry<'a> {
    /// The value of a row; `None` if it is blank. A number in the column of units is a value in the wrong column.
    pub(super) fn of(row: &'a Row) -> Option<Self> {
        let (value, unit) = (row.text("value").filter(|value| !is_blank_text(value)), row.text("unit"));
        let is_number = |text: &&str| without_both_signs(text).starts_with(|c: char| c.is_ascii_digit());
        match value {
            Some(value) => Some(Self { value: value.trim(), unit }),
            None if field_of(row).is_some() => unit.filter(is_number).map(|value| Self { value, unit: None }),
            None => None,
        }
    }

    /// The value with what stands beside it.
    pub(super) fn whole(self) -> String {
        self.unit.map_or_else(|| self.value.to_owned(), |unit| format!("{} {unit}", self.value))
    }
}

/// Reads a value, written as its field requires. What cannot be understood stays as it is, and is refused by the reader
/// of the file.
pub(super) fn reading(name: &str, entry: Entry) -> Reading {
    let Some(field) = QUOTE_FIELDS.iter().find(|field| field.path == name) else {
        return Reading::Value(json(entry.value));
    };
    match name {
        _ if AMOUNTS.contains(&name) => amount(&entry.whole()),
        "price.currency" => Reading::Currency(match currencies_named(entry.value)[..] {
            [only] => only.into(),
            _ => entry.value.into(),
        }),
        "price.delivery" => match period_typed(entry.value) {
            Some((period, Some(from))) => match parse_period(&from) {
                Ok(days) => Reading::Between(json(&period), days),
                Err(_) => Reading::Value(json(entry.value)),
            },
            period => Reading::Value(json(&period.map_or_else(|| entry.value.into(), |(period, _)| period))),
        },
        // The shorter end of a warranty would be a guess at what is granted.
        "price.warranty" => Reading::Value(json(&match period_typed(entry.value) {
            Some((period, None)) => period,
            _ => entry.value.into(),
        })),
        "price.valid_until" => {
            Reading::Value(json(&day_typed(entry.value).unwrap_or_else(|| entry.value.into())))
        }
        "winding.wire.thermal_class" => match thermal_class_typed(&entry.whole()) {
            Some(celsius) => Reading::Value(format!("{celsius}")),
            None => Reading::Value(json(&entry.whole())),
        },
        // A metric size typed as a number without its unit.
        "winding.wire.size" if entry.value.replace(',', ".").parse::<f64>().is_ok() => {
            Reading::Value(json(&format!("{} mm", entry.value.replace(',', "."))))
        }
        _ => by_kind(field, entry),
    }
}

fn by_kind(field: &QuoteField, entry: Entry) -> Reading {
    let is_limit = field.path.starts_with("build_tolerance");
    let value = if is_limit { without_both_signs(entry.value) } else { entry.value };
    match field.written {
        Written::Number | Written::Count => {
            let whole = Entry { value, ..entry }.whole();
            if let Some(Typed::Doubtful(meanings)) = number_typed(&whole).filter(|_| counts_turns(field)) {
                return Reading::Doubtful(meanings);
            }
            let number = quantity_text(value, entry.unit);
            let number = number.trim();
            Reading::Value(number.parse::<f64>().map_or_else(|_| json(number), |number| format!("{number}")))
        }
        Written::With(unit) => {
            // The form prints the unit beside the cell.
            let beside = entry.unit.filter(|unit| !unit.trim().is_empty()).unwrap_or(unit.names[0]);
            Reading::Value(json(&quantity_text(value, Some(beside))))
        }
        Written::OneOf(words) => Reading::Value(json(word_typed(value, words).unwrap_or(value))),
        Written::Text => Reading::Value(json(value)),
    }
}

/// Whether a field holds a number of turns, of which there may be thousands.
fn counts_turns(field: &QuoteField) -> bool {
    field.path.ends_with(".turns") && !field.path.starts_with("build_tolerance")
}

fn amount(text: &str) -> Reading {
    match money_typed(text) {
        Some(Money { amount: Typed::Number(amount), currency }) => {
            Reading::Amount(format!("{amount}"), currency)
        }
        Some(Money { amount: Typed::Doubtful(meanings), .. }) => Reading::Doubtful(meanings),
        None => Reading::Value(json(text)),
    }
}
