//! Quantities as a file holds them: text with a unit on the page, an SI number inside.

use crate::numeric::calendar::Day;
use crate::units;
use crate::units::{Dimension, QuantityError};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;

/// The schema keyword that names how a text is to be read; validators ignore it, the checker uses it.
pub(super) const FORM_KEYWORD: &str = "x-form";

macro_rules! quantities {
    ($($name:ident)*) => {
        $(
            #[doc = concat!("A quantity of dimension `", stringify!($name), "`, in the unit inside.")]
            #[derive(Clone, Copy, Debug, PartialEq)]
            pub(super) struct $name(pub f64);

            impl<'de> Deserialize<'de> for $name {
                fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                    let text = Cow::<str>::deserialize(deserializer)?;
                    units::parse(&text, Dimension::$name).map(Self).map_err(D::Error::custom)
                }
            }

            impl JsonSchema for $name {
                fn schema_name() -> Cow<'static, str> {
                    stringify!($name).into()
                }

                fn json_schema(_: &mut SchemaGenerator) -> Schema {
                    quantity_schema(Dimension::$name, stringify!($name))
                }
            }
        )*

        /// Why a text does not have the form that a schema's keyword names, if it has not.
        pub(super) fn refused(form: &str, text: &str) -> Option<QuantityError> {
            match form {
                $(stringify!($name) => units::parse(text, Dimension::$name).err(),)*
                "Date" => date(text).err(),
                "Currency" => currency(text).err(),
                "Period" => units::parse_period(text).err(),
                _ => None,
            }
        }

        /// The dimension that a schema's keyword names, if it names one.
        pub(super) fn dimension_named(form: &str) -> Option<Dimension> {
            match form {
                $(stringify!($name) => Some(Dimension::$name),)*
                _ => None,
            }
        }
    };
}

quantities! {
    Length Angle Current Voltage Resistance FluxDensity FieldConstant Temperature TemperatureDifference Time Frequency Mass Inductance
    Fraction
}

fn quantity_schema(dimension: Dimension, name: &str) -> Schema {
    json_schema!({
        "type": "string",
        "description": format!(
            "{}{} with its unit: {}",
            dimension.name()[..1].to_uppercase(),
            &dimension.name()[1..],
            dimension.allowed()
        ),
        "pattern": units::quantity_pattern(dimension),
        "examples": [dimension.example()],
        FORM_KEYWORD: name,
    })
}

/// A count: a whole number of at least one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Count(pub u32);

/// The largest count a file may hold.
const LARGEST_COUNT: u32 = 100_000;

impl<'de> Deserialize<'de> for Count {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let number = f64::deserialize(deserializer)?;
        let whole = number.fract() == 0.0 && (1.0..=f64::from(LARGEST_COUNT)).contains(&number);
        if whole { Ok(Self(number as u32)) } else { Err(D::Error::custom("not a whole number")) }
    }
}

impl JsonSchema for Count {
    fn schema_name() -> Cow<'static, str> {
        "Count".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "integer", "minimum": 1, "maximum": LARGEST_COUNT, "examples": [8] })
    }
}

/// Which way round a coil is connected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sense(pub f64);

impl<'de> Deserialize<'de> for Sense {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let number = f64::deserialize(deserializer)?;
        if number.abs() == 1.0 { Ok(Self(number)) } else { Err(D::Error::custom("neither 1 nor -1")) }
    }
}

impl JsonSchema for Sense {
    fn schema_name() -> Cow<'static, str> {
        "Sense".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "enum": [1, -1], "examples": [1] })
    }
}

/// A day of the calendar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Date(pub Day);

fn date(text: &str) -> Result<Date, QuantityError> {
    let in_calendar = |text: &str| Day::parse(text).filter(|day| day.year() > 0);
    if let Some(day) = in_calendar(text) {
        return Ok(Date(day));
    }
    // A month that exists, and a number that is none of its days.
    let day_of_month = |(month, day): (&str, &str)| {
        let first = in_calendar(&format!("{month}-01"))?;
        let is_number = day.len() == 2 && day.bytes().all(|byte| byte.is_ascii_digit());
        is_number.then(|| {
            (format!("{month} has no day {day}"), format!("allowed: 1 to {}", first.days_in_month()))
        })
    };
    let (message, hint) = text.rsplit_once('-').and_then(day_of_month).unwrap_or_else(|| {
        let message = format!("`{}` is not a date", units::shortened(text));
        (message, "write year, month and day, such as `2026-02-14`".into())
    });
    Err(QuantityError { message, hint })
}

impl<'de> Deserialize<'de> for Date {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        date(&Cow::<str>::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}

impl JsonSchema for Date {
    fn schema_name() -> Cow<'static, str> {
        "Date".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "Year, month and day",
            "pattern": "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$",
            "examples": ["2026-02-14"],
            FORM_KEYWORD: "Date",
        })
    }
}

/// Three capital letters.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Currency(pub String);

fn currency(text: &str) -> Result<Currency, QuantityError> {
    if text.len() == 3 && text.bytes().all(|byte| byte.is_ascii_uppercase()) {
        return Ok(Currency(text.into()));
    }
    Err(QuantityError {
        message: format!("`{}` is not a currency code", units::shortened(text)),
        hint: "write three capital letters as ISO 4217 has them, such as `EUR`".into(),
    })
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        currency(&Cow::<str>::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}

impl JsonSchema for Currency {
    fn schema_name() -> Cow<'static, str> {
        "Currency".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "Three capital letters, as ISO 4217 has them",
            "pattern": "^[A-Z]{3}$",
            "examples": ["EUR"],
            FORM_KEYWORD: "Currency",
        })
    }
}

/// A span of the calendar, in days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Period(pub f64);

impl<'de> Deserialize<'de> for Period {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        units::parse_period(&Cow::<str>::deserialize(deserializer)?).map(Self).map_err(D::Error::custom)
    }
}

impl JsonSchema for Period {
    fn schema_name() -> Cow<'static, str> {
        "Period".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A number of days, weeks, months or years",
            "pattern": "^\\s*[0-9]+(\\.[0-9]+)?\\s+(day|week|month|year)s?\\s*$",
            "examples": ["6 weeks"],
            FORM_KEYWORD: "Period",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wrong_with_a_date_is_said_of_what_was_written() {
        for (text, message) in [
            ("2026-02-30", "2026-02 has no day 30"),
            ("2026-02-00", "2026-02 has no day 00"),
            ("2024-02-30", "2024-02 has no day 30"),
            ("2026-13-01", "`2026-13-01` is not a date"),
            ("2026-02-ab", "`2026-02-ab` is not a date"),
            ("0000-01-05", "`0000-01-05` is not a date"),
            ("2026-02-\u{e9}", "`2026-02-\u{e9}` is not a date"),
            ("30.2.2026", "`30.2.2026` is not a date"),
            ("", "`` is not a date"),
        ] {
            assert_eq!(date(text).unwrap_err().message, message, "{text}");
        }
        assert_eq!(date("2024-02-30").unwrap_err().hint, "allowed: 1 to 29");
        assert!(date("2024-02-29").is_ok());
    }
}
