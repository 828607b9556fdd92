//! Arguments shared by all commands that write files for people: the number format and the date.

use coilwright::files::out::csv::NumberFormat;
use coilwright::numeric::calendar::Day;
use coilwright::{Error, Result};

/// How CSV files write numbers: flatten it into the arguments of a command that writes any.
#[derive(clap::Args)]
pub struct NumberFormatArgs {
    /// How the CSV files write numbers
    #[arg(long, value_enum, default_value_t = Decimal::Point)]
    number_format: Decimal,
}

/// How numbers are written.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Decimal {
    /// 0.5, cells separated by commas
    Point,
    /// 0,5, cells separated by semicolons
    Comma,
}

impl NumberFormatArgs {
    /// The chosen format.
    pub fn format(&self) -> NumberFormat {
        match self.number_format {
            Decimal::Point => NumberFormat::Point,
            Decimal::Comma => NumberFormat::Comma,
        }
    }
}

/// The date in the files: flatten it into the arguments of a command that writes any.
#[derive(clap::Args)]
pub struct DateArgs {
    /// Date to print, as 2026-03-01; none by default
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<String>,
}

impl DateArgs {
    /// The given day.
    pub fn day(&self) -> Result<Option<Day>> {
        self.date.as_deref().map(day_of).transpose()
    }
}

/// The day that a date as `--date` takes it names: year-month-day.
///
/// # Errors
/// It is not written so, or there is no such day.
pub fn day_of(text: &str) -> Result<Day> {
    let hint = "write it like this: --date 2026-03-01";
    let is_shaped = text.len() == 10
        && text.bytes().enumerate().all(|(at, byte)| match at {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    match Day::parse(text) {
        Some(day) if day.year() > 0 => Ok(day),
        _ if is_shaped => Err(Error::value_with_hint(format!("there is no date {text}"), hint)),
        _ => Err(Error::value_with_hint(
            format!("the date `{}` is not written year-month-day", coilwright::units::shortened(text)),
            hint,
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_real_dates_pass() {
        assert_eq!(day_of("2026-03-01").unwrap().to_string(), "2026-03-01");
        for wrong in ["2026-02-30", "26-3-1", "01.03.2026", "", "2026-03-0x", "0000-01-01", "+026-03-01"] {
            assert!(day_of(wrong).is_err(), "{wrong}");
        }
    }
}
